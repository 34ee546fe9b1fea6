"""`linesim check`: the cautions of a file that can run, and the paper arithmetic."""

from __future__ import annotations

import json
from typing import Any

from ..line.cautions import cautions_of
from ..line.sheet import Sheet
from ..measures.paper import critical_path_work_days, trade_loads
from ..scenario.reading import read_scenario
from ..scenario.scenario import Scenario


def check_file(file: str, *, as_json: bool) -> int:
    """Print what the file holds, its paper arithmetic and its cautions; faults are raised."""
    scenario = read_scenario(file)
    found = {"name": scenario.name, "faults": [], "paper": paper_of(scenario),
             "cautions": [str(caution) for caution in cautions_of(scenario)]}
    print(json.dumps(found, indent=2) if as_json else _in_words(scenario, found))
    return 0


def paper_of(scenario: Scenario) -> dict[str, Any] | None:
    """Loads of trades and critical paths against the takt; None where there is no takt."""
    takt = scenario.launches.takt_work_days
    if takt is None:
        return None
    sheet = Sheet(scenario)
    return {
        "takt, work days": takt,
        "trades": [{"trade": load.name, "hours per aircraft": round(load.hours_per_aircraft, 1),
                    "hours per takt": round(load.hours_per_takt, 1),
                    "load": round(load.share, 3) if load.hours_per_takt else None}
                   for load in trade_loads(sheet, takt)],
        "critical path over takt": {place.id: round(critical_path_work_days(sheet, place) / place.docks / takt, 3)
                                    for place in sheet.places if place.jobs}}


def _in_words(scenario: Scenario, found: dict[str, Any]) -> str:
    packages = sum(len(position.packages) for position in scenario.positions)
    ordered = "unlimited orders" if scenario.orders is None else f"{len(scenario.orders)} orders"
    lines = [f"{scenario.name}: no faults. {len(scenario.positions)} positions, {packages} packages, "
             f"{len(scenario.trades)} trades, {ordered}, {scenario.start} to {scenario.end}.", ""]
    if found["paper"]:
        lines += _paper_lines(found["paper"])
    return "\n".join(lines + [f"Caution  {caution}" for caution in found["cautions"]])


def _paper_lines(paper: dict[str, Any]) -> list[str]:
    lines = [f"On paper, at a takt of {paper['takt, work days']:g} work days (averages at the reference serial; no "
             "learning, absence", "or waiting). The runs show what variation makes of it.", "",
             "trade   hours per aircraft   hours per takt   load"]
    for row in paper["trades"]:
        load = f"{row['load']:5.0%}" if row["load"] is not None else "nobody"
        lines.append(f"{row['trade']:<7}{row['hours per aircraft']:19.1f}{row['hours per takt']:17.1f}   {load}"
                     + ("   over" if row["load"] is None or row["load"] > 1 else ""))
    place, share = max(paper["critical path over takt"].items(), key=lambda item: item[1], default=("", 0.0))
    lines += ["", f"Longest critical path at crew maximum: {place}, {share:.0%} of the takt of each dock"
              + (": no hire can help, only another dock." if share > 1 else "."), ""]
    return lines
