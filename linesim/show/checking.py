"""`linesim check`: the cautions of a file that can run, and the paper arithmetic."""

from __future__ import annotations

import json
from typing import Any

from ..line.cautions import cautions_of
from ..line.sheet import Sheet
from ..questions.on_paper import on_paper
from ..scenario.reading import read_scenario
from ..scenario.scenario import Scenario
from .words import wrapped


def check_file(file: str, *, as_json: bool) -> int:
    """Print what the file holds, its paper arithmetic and its cautions; faults are raised."""
    scenario = read_scenario(file)
    answer = on_paper(Sheet(scenario))
    found = {"name": scenario.name, "faults": [], "paper": answer.numbers if answer else None,
             "cautions": [str(caution) for caution in cautions_of(scenario)]}
    print(json.dumps(found, indent=2) if as_json else "\n".join(_in_words(scenario, found)))
    return 0


def _in_words(scenario: Scenario, found: dict[str, Any]) -> list[str]:
    packages = sum(len(position.packages) for position in scenario.positions)
    ordered = "unlimited orders" if scenario.orders is None else f"{len(scenario.orders)} orders"
    lines = wrapped(f"{scenario.name}: no faults. {len(scenario.positions)} positions, {packages} packages, "
                    f"{len(scenario.trades)} trades, {ordered}, {scenario.start} to {scenario.end}.")
    lines += ["", *(_paper_lines(found["paper"]) if found["paper"] else [
        "No launch is planned ahead here, so there is no paper arithmetic."]), ""]
    return lines + [line for caution in found["cautions"] for line in wrapped(f"Caution  {caution}", 9)]


def _paper_lines(paper: dict[str, Any]) -> list[str]:
    takt = paper["takt, work days"]
    at = f", at a takt of {takt:g} work day{'s' * (takt != 1)}" if takt else ""
    lines = wrapped(f"On paper{at}: averages at the reference serial, each launch counted in its month; no learning, "
                    "absence, waiting or variation. The runs show what those make of it.")
    lines += ["", f"{'trade':<22}{'hours per':>10}{'load at':>10}{'all':>10}{'fullest':>10}",
              f"{'':<22}{'aircraft':>10}{'the takt':>10}{'months':>10}{'month':>10}"]
    for row in paper["trades"]:
        hours = "" if row["hours per aircraft"] is None else f"{row['hours per aircraft']:.1f}"
        lines.append(f"{row['trade']:<22}{hours:>10}{_cell(row['load']) if takt else '':>10}"
                     f"{_cell(_all_months(row)):>10}{_cell(row['load in it']):>10}  {row['fullest month']}")
    lines += ["", *_people_lines(paper["people present"])]
    lines += ["", f"{'place':<22}{'docks':>10}{'chain of':>10}{'shortest':>10}{'load of':>10}{'fullest':>10}",
              f"{'':<22}{'':>10}{'takt':>10}{'stay, d':>10}{'docks':>10}{'month':>10}"]
    for row in paper["places"]:
        chain = "" if row["critical path over takt"] is None else _cell(row["critical path over takt"])
        lines.append(f"{row['place']:<22}{row['docks']:>10}{chain:>10}{row['shortest stay, work days']:>10.1f}"
                     f"{_cell(row['load']):>10}{_cell(row['load in it']):>10}  {row['fullest month']}")
    lines += _gate_lines(paper["gates"])
    for row in paper["flight lines"]:
        lines += ["", *wrapped(f"Flight line {row['place']}: {row['flights asked for']:.0f} flights asked for, "
                               f"{row['flights possible']:.0f} possible on flyable days ({_cell(row['load'])}; "
                               f"{row['fullest month']}: {_cell(row['load in it'])}).")]
    lines += ["", *(line for sentence in paper["what would change it"] or [
        "On paper nothing is over its limit."] for line in wrapped(sentence))]
    return lines


def _people_lines(rows: list[dict[str, Any]]) -> list[str]:
    """Who is really there; nothing, if it is everybody on every day."""
    if all(row["present"] == row["roster"] == row["work of fully able people"] for row in rows):
        return ["Everybody on the roster is there every day: no absence, leave, training or leavers are declared."]
    lines = [f"{'people':<22}{'roster':>10}{'really':>10}{'as fully':>10}{'load of':>10}{'days with nobody,':>20}",
             f"{'':<22}{'':>10}{'there':>10}{'able':>10}{'those':>10}{'with one':>20}"]
    for row in rows:
        days = row["share of days with 0, 1, 2 ... present"]
        alone = "" if days is None else ", ".join(_days_cell(share) for share in [*days, 0.0][:2])
        load = "" if row["load of those present"] is None else _cell(row["load of those present"])
        lines.append(f"{row['trade']:<22}{row['roster']:>10.1f}{row['present']:>10.1f}"
                     f"{row['work of fully able people']:>10.1f}{load:>10}{alone:>20}".rstrip())
    return lines


def _gate_lines(rows: list[dict[str, Any]]) -> list[str]:
    """What the gates find of the planted defects; nothing without them."""
    if not rows:
        return []
    lines = ["", f"{'gate, per aircraft':<22}{'defects':>10}{'repair':>10}{'done':>10}{'the same found':>20}",
             f"{'':<22}{'found':>10}{'hours':>10}{'again':>10}{'on the flight line':>20}"]
    for row in rows:
        again = "" if row["kind"] == "avionics check" else f"{row['done again']:.0%}"
        hours, on_the_line = row["repair hours per aircraft"], row["repair hours if found on the flight line"]
        lines.append(f"{row['gate']:<22}{row['defects found per aircraft']:>10.1f}{hours:>10.1f}{again:>10}"
                     f"{on_the_line:>18.1f} h")
    return lines


def _days_cell(share: float) -> str:
    return "under 1%" if 0 < share < 0.01 else f"{share:.0%}"


def _all_months(row: dict[str, Any]) -> float | None:
    loads: list[float | None] = list(row["load by month"].values())
    known = [load for load in loads if load is not None]
    return None if len(known) < len(loads) else sum(known) / len(known) if known else 0.0


def _cell(share: float | None) -> str:
    return "nobody" if share is None else f"{share:.0%}"
