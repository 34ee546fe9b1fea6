"""`linesim rate`: the rates tried on common luck, what each delivers, which hold, and what breaks first."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from ..line.sheet import Sheet
from ..measures.run import RunNumbers
from ..questions.baseline import verdict
from ..questions.rate import answer_of, row_of
from ..questions.rate_plans import NoRate, RatePlan, plans_to_try, takts_from
from ..scenario.reading import read_scenario
from ..scenario.scenario import Scenario
from . import words
from .answered import faults_of, show, stopped_before
from .asking import EXIT_FAULTS, EXIT_STOPPED, Answered, Asking, Variant, Where, WrongOption, asking, most_runs

if TYPE_CHECKING:
    import pandas as pd

    from .report.blocks import Section, Table

LOST = "lost"  # the table of the hours lost at each rate tried, by its `plan`


def rate_of_file(file: str, *, takts: str | None, runs: int | None, until_precision: float | None, seed: int | None,
                 jobs: int, out: str | None, as_json: bool, picture: str | None, page: str | None,
                 cluster: str | None = None) -> int:
    """Try the rates asked for; without any the plans of the file, or takts about its own."""
    if (wrong := faults_of(picture, page)) is not None:
        print(wrong, file=sys.stderr)
        return EXIT_FAULTS
    scenario = read_scenario(file)
    try:
        most = most_runs(scenario, runs, until_precision)
    except ValueError as why:
        print(why, file=sys.stderr)
        return EXIT_FAULTS
    try:
        with asking(Where.of(file, scenario, seed, jobs, out, cluster)) as ask:
            found = answered(ask, scenario, {"takts": takts}, most, until_precision)
    except WrongOption as refused:
        print(f"--{refused.option}: {refused}" if refused.option else f"{file}: {refused}", file=sys.stderr)
        return EXIT_FAULTS
    if found is None:
        stopped_before("the first run was done")
        return EXIT_STOPPED
    show(section(found.numbers), found.numbers, Sheet(scenario), as_json=as_json, picture=picture, page=page)
    return EXIT_STOPPED if ask.stopped else 0


def answered(ask: Asking, scenario: Scenario, options: Mapping[str, Any], runs: int,
             until_precision: float | None = None) -> Answered | None:
    """The answer from so many runs of each rate, with the table of the hours lost at each of them; None if it was
    stopped before the first run. `options`: `takts`, as the command takes them. Raises WrongOption."""
    takts = options.get("takts")
    try:
        plans = _plans(ask, scenario, takts)
    except NoRate as why:
        raise WrongOption("", str(why)) from None
    except ValueError as why:
        raise WrongOption("takts", str(why)) from None
    ask.first_part(len(plans), lambda first: _of_plans(first, scenario, plans[:1], runs))
    return _of_plans(ask, scenario, plans, runs, until_precision)


def _of_plans(ask: Asking, scenario: Scenario, plans: Sequence[RatePlan], runs: int,
              until_precision: float | None = None) -> Answered | None:
    tried = [Variant(plan.name, plan.scenario, plan.scenario == scenario) for plan in plans]
    done = [(plan, variant, numbers) for plan, variant, numbers in zip(
        plans, tried, ask.do(tried, runs, until_precision), strict=True) if numbers]
    rows, lost = [], []
    for plan, variant, numbers in done:
        of_plan, sheet = ask.hold(variant, numbers), ask.sheet(plan.scenario)
        rows.append(row_of(plan, of_plan, ask.where.seed, sheet))
        lost.append(_lost(sheet, of_plan).assign(plan=plan.name))
        del of_plan  # before those of the next plan are held
    if not rows:
        return None
    import pandas as pd

    answer = answer_of(ask.sheet(scenario), [plan for plan, _, _ in done], rows, ask.where.seed, ask.sheet)
    answer.numbers.update({"stopped": ask.stopped, "sentences": answer.sentences})
    return Answered(answer.numbers, {LOST: pd.concat(lost, ignore_index=True)})


def _plans(ask: Asking, scenario: Scenario, takts: str | None) -> list[RatePlan]:
    """What is tried; made once for all steps. Raises ValueError and NoRate."""
    if takts not in ask.beside:
        ask.beside[takts] = plans_to_try(scenario, takts_from(takts) if takts else (), ask.sheet)
    found: list[RatePlan] = ask.beside[takts]
    return found


def _lost(sheet: Sheet, runs: Sequence[RunNumbers]) -> pd.DataFrame:
    """Hours lost, place by place: of questions.figures.lost."""
    from ..questions import figures
    from .folder import places_of

    return figures.lost(sheet, {"places": places_of(sheet, runs)}, verdict(sheet, runs).numbers)


def section(numbers: Mapping[str, Any]) -> Section:
    """The answer as a section: sentences, figure, tables, cautions."""
    from .charts import rate
    from .palette import LIGHT
    from .report import cautions
    from .report.blocks import Section, picture

    return Section("rate", words.PAGES["rate"], numbers["sentences"],
                   [picture(rate.plate(LIGHT, numbers), "rate", rate.finding(numbers))], tables(numbers),
                   [cautions.RATE, *([cautions.TRAVEL] if any(_of(row, "travelled hours") for row in numbers["plans"])
                                     else [])])


def tables(numbers: Mapping[str, Any]) -> list[Table]:
    """The rates tried, their other means, and who is to be hired."""
    return [_table(numbers["plans"]), _more(numbers["plans"]),
            *([_hires(numbers["hire by"])] if numbers["hire by"] else [])]


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

    head = ("Rate", "Delivered", "At most", "Promised", "In time", "Flow, days", "In work", "Travelled, h",
            "Line stops", "Orders added")
    some = {name: any(_of(row, name) for row in rows) for name in ("travelled hours", "line stops")}
    added = any(row["orders added"] for row in rows)
    printed = [(_takt(row), words.tenths(_of(row, "mean deliveries in the window")), _at_most(row),
                words.count(row["promised in the window"]), words.tenths(_of(row, "delivered by the promised date")),
                words.tenths(_of(row, "flow, calendar days")), words.tenths(_of(row, "aircraft in process")),
                words.hours(_of(row, "travelled hours")) if some["travelled hours"] else "",
                words.tenths(_of(row, "line stops")) if some["line stops"] else "",
                words.count(row["orders added"]) if added else "") for row in rows]
    return Table("Means of the runs: delivered in the window; of those promised in it how many in time; flow in "
                 "calendar days, aircraft in work, travelled labour hours in a run, stops of a pulse line. At most: "
                 "upper bound by the end of the window, as if every trade had enough people.", head,
                 tuple(printed))


def _at_most(row: Mapping[str, Any]) -> str:
    """The upper bound of a plan; nothing where there is none."""
    found = row["upper bound, as if every trade had enough people"]
    return words.tenths(found["delivered by the end of the window, mean"]) if "runs" in found else ""


def _hires(rows: Sequence[Mapping[str, Any]]) -> Table:
    from .report.blocks import Table

    head = ("Plan", "Takt, d", "From", "Trade", "People now", "At least", "Load now", "Ask for them by",
            "They start by")
    return Table("People that a step of the takt asks for, on paper: at least so many bring the load of those really "
                 "there under all of their hours. They are fully able when the step comes.", head, tuple(
                     (row["plan"], f"{row['takt, work days']:g}", row["from"], row["trade"], str(row["people now"]),
                      str(row["people needed"]), words.percent(row["load of those there"]),
                      row["ask for them by"] or "no time of hiring given", row["start by"]) for row in rows))
