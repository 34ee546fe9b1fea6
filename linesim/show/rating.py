"""`linesim rate`: the rates tried on common luck, what each delivers, which hold, and what breaks first."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from ..line.sheet import Sheet
from ..questions.rate import answer_of, row_of
from ..questions.rate_plans import NoRate, plans_to_try, takts_from
from ..scenario.reading import read_scenario
from . import words
from .answered import faults_of, show, stopped_before
from .asking import EXIT_FAULTS, EXIT_STOPPED, Variant, Where, asking, most_runs

if TYPE_CHECKING:
    from .report.blocks import Section, Table


def rate_of_file(file: str, *, takts: str | None, runs: int | None, until_precision: float | None, seed: int | None,
                 jobs: int, out: str | None, as_json: bool, picture: str | None, page: str | None) -> int:
    """Try the rates asked for; without any the plans of the file, or takts about its own."""
    if (wrong := faults_of(picture, page)) is not None:
        print(wrong, file=sys.stderr)
        return EXIT_FAULTS
    scenario = read_scenario(file)
    try:
        plans = plans_to_try(scenario, takts_from(takts) if takts else ())
        most = most_runs(scenario, runs, until_precision)
    except NoRate as why:
        print(f"{file}: {why}", file=sys.stderr)
        return EXIT_FAULTS
    except ValueError as why:
        print(why if str(why).startswith("--") else f"--takts: {why}", file=sys.stderr)
        return EXIT_FAULTS
    where = Where.of(file, scenario, seed, jobs, out)
    with asking(where) as ask:
        tried = [Variant(plan.name, plan.scenario) for plan in plans]
        done = [(plan, variant, numbers) for plan, variant, numbers in zip(
            plans, tried, ask.do(tried, most, until_precision), strict=True) if numbers]
        rows = [row_of(plan, list(ask.read(variant, numbers)), where.seed) for plan, variant, numbers in done]
    if not rows:
        stopped_before("the first run was done")
        return EXIT_STOPPED
    ground = Sheet(scenario)
    answer = answer_of(ground, [plan for plan, _, _ in done], rows, where.seed)
    answer.numbers.update({"stopped": ask.stopped, "sentences": answer.sentences})
    show(section(answer.numbers), answer.numbers, ground, as_json=as_json, picture=picture, page=page)
    return EXIT_STOPPED if ask.stopped else 0


def section(numbers: Mapping[str, Any]) -> Section:
    """The answer as a section: sentences, figure, tables, cautions."""
    from .charts import rate
    from .palette import LIGHT
    from .report import cautions
    from .report.blocks import Section, picture

    tables = [_table(numbers["plans"]), _more(numbers["plans"])]
    tables += [_hires(numbers["hire by"])] if numbers["hire by"] else []
    return Section("rate", words.PAGES["rate"], numbers["sentences"],
                   [picture(rate.plate(LIGHT, numbers), "rate", rate.finding(numbers))], tables,
                   [cautions.RATE, *([cautions.TRAVEL] if any(_of(row, "travelled hours") for row in numbers["plans"])
                                     else [])])


def _of(row: Mapping[str, Any], name: str) -> float:
    found = row[name]
    return found["mean"] if found else 0.0


def _takt(row: Mapping[str, Any]) -> str:
    """The plan as a table calls it: its takt, or its name."""
    return str(row["plan"])


def _table(rows: Sequence[Mapping[str, Any]]) -> Table:
    from .report.blocks import Table

    few = "note" in rows[0]["achieved a month"]
    head = ("Rate", "Planned a month", *(("Mean a month",) if few else ("Half the runs", "8 in 10 from", "to")),
            "Takt achieved, d", "Keeps the plan", "Falls behind, half by")
    printed = []
    for row in rows:
        made, every, behind = row["achieved a month"], row["work days between deliveries"], row["falls behind"]
        keeps = row["keeps the plan"]
        printed.append((
            _takt(row), words.tenths(row["planned a month"]),
            *((words.tenths(made["mean"]),) if few else
              tuple(words.tenths(made[name]) for name in ("half the runs", "8 in 10 runs from", "to"))),
            words.tenths(every["mean"]) if every else "",
            words.chance(keeps["runs"], keeps["of"]) + (", holds" if keeps["holds"] else ""),
            behind["half by"] if behind and not keeps["holds"] else ""))
    return Table("Rates tried (takts in work days, d), aircraft a month in the window. Holds: 8 in 10 runs or more "
                 "keep the plan.", head, tuple(printed))


def _more(rows: Sequence[Mapping[str, Any]]) -> Table:
    from .report.blocks import Table

    head = ("Rate", "Delivered", "Promised", "In time", "Flow, days", "In work", "Travelled, h", "Line stops",
            "Orders added")
    printed = [(_takt(row), words.tenths(_of(row, "mean deliveries in the window")),
                words.count(row["promised in the window"]), words.tenths(_of(row, "delivered by the promised date")),
                words.tenths(_of(row, "flow, calendar days")), words.tenths(_of(row, "aircraft in process")),
                words.hours(_of(row, "travelled hours")), words.tenths(_of(row, "line stops")),
                words.count(row["orders added"])) for row in rows]
    return Table("Means of the runs: delivered in the window; of those promised in it how many in time; flow in "
                 "calendar days, aircraft in work, travelled labour hours in a run, stops of a pulse line.", head,
                 tuple(printed))


def _hires(rows: Sequence[Mapping[str, Any]]) -> Table:
    from .report.blocks import Table

    head = ("Plan", "Takt, d", "From", "Trade", "People now", "At least", "Load now", "Ask for them by",
            "They start by")
    return Table("People that a step of the takt asks for, on paper: at least so many bring the load of those really "
                 "there under all of their hours. They are fully able when the step comes.", head, tuple(
                     (row["plan"], f"{row['takt, work days']:g}", row["from"], row["trade"], str(row["people now"]),
                      str(row["people needed"]), words.percent(row["load of those there"]),
                      row["ask for them by"] or "no time of hiring given", row["start by"]) for row in rows))
