"""What rate the line can hold: every plan tried on common luck, what it delivers, when it breaks, what breaks first.

A run keeps a plan if its backlog grows by at most MAY_GROW aircraft over the last six months of the window; a rate
holds if at least 8 of 10 runs keep it. The counts are those of `linesim run` of the same scenario: both are read by the
same functions.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date, timedelta
from typing import Any

import numpy as np

from ..line.cautions import cautions_of
from ..line.sheet import Sheet
from ..measures.estimates import chance, percentile
from ..measures.paper import critical_path_work_days
from ..measures.paper_months import stay_work_days
from ..measures.run import RunNumbers
from ..measures.window import window_of
from ..scenario.scenario import Scenario
from .amounts import mean_of, ranged
from .baseline import HOLDS_IN, LEAST_RUNS, MAY_GROW, Answer, verdict
from .compare import MEASURES, deliveries
from .enough_people import most_allowed
from .hire_by import Hire, hires
from .rate_plans import RatePlan, planned_in_run

BOUNDED = 10  # runs whose upper bound is worked out: it hardly varies
MONTH = 365.25 / 12  # calendar days: rates are aircraft a month
ON_TIME, TAKT, FLOW, IN_WORK, TRAVELLED, STOPS = MEASURES[1:]


def row_of(plan: RatePlan, runs: Sequence[RunNumbers], seed: int, sheet: Sheet | None = None) -> dict[str, Any]:
    """All that the answer says of one plan, from at least one run of it; `sheet`: of its scenario, if it is at hand."""
    sheet = sheet or Sheet(plan.scenario)
    whole = verdict(sheet, runs)
    first, last = window_of(plan.scenario)
    months = ((last - first).days + 1) / MONTH
    planned = len(_in_window(sheet, [sheet.calendar.date_of(t) for t in planned_in_run(sheet, sheet.calendar.end)]))
    keeps = whole.numbers["keeps the plan"]
    found = {measure.name: _mean([value for run in runs if (value := measure.of(sheet, run)) is not None])
             for measure in (ON_TIME, TAKT, FLOW, IN_WORK, TRAVELLED, STOPS)}
    return {
        "plan": plan.name, "words": plan.words, "takt, work days": plan.takt, "orders added": plan.added,
        "steps": [{"from": str(step.day), "takt, work days": step.takt_work_days}
                  for step in plan.scenario.launches.steps],
        "runs": len(runs), "planned launches in the window": planned, "planned a month": round(planned / months, 3),
        "deliveries in the window": whole.numbers["deliveries in the window"],
        "mean deliveries in the window": _mean([deliveries(sheet, run) for run in runs]),
        "achieved a month": ranged([deliveries(sheet, run) / months for run in runs], 3),
        "work days between deliveries": found[TAKT.name], "flow, calendar days": found[FLOW.name],
        "aircraft in process": found[IN_WORK.name], "delivered by the promised date": found[ON_TIME.name],
        "promised in the window": sum(first <= order.promised <= last for order in plan.scenario.orders or ()
                                      if order.promised),
        "travelled hours": found[TRAVELLED.name], "line stops": found[STOPS.name],
        "keeps the plan": {"runs": keeps["runs"], "of": keeps["of"], "holds": keeps["holds"],
                           **_limits(keeps["runs"], keeps["of"])},
        "falls behind": _behind(sheet, runs),
        "what stops it": [text for text in whole.sentences if "fullest place" in text or "loses most" in text
                          or "also loses" in text],
        "places under which no takt goes": _under(sheet, fastest_takt(plan)),
        "upper bound, as if every trade had enough people": _most(sheet, seed, [run.run for run in runs[:BOUNDED]])}


def _most(sheet: Sheet, seed: int, runs: Sequence[int]) -> dict[str, Any]:
    """What no run can exceed, on the same luck; or why there is no such bound."""
    found = most_allowed(sheet, seed, runs)
    if isinstance(found, str):
        return {"none, because": found}
    return {"runs": len(found.runs), "delivered by the end of the window, mean": round(
        sum(found.delivered) / len(found.delivered), 2)}


def fastest_takt(plan: RatePlan) -> float:
    """The shortest takt that a plan comes to."""
    launches = plan.scenario.launches
    assert launches.takt_work_days is not None
    return min([launches.takt_work_days, *(step.takt_work_days for step in launches.steps)])


def answer_of(ground: Sheet, plans: Sequence[RatePlan], rows: Sequence[dict[str, Any]], seed: int,
              sheet_of: Callable[[Scenario], Sheet] = Sheet) -> Answer:
    """The answer from the rows of the plans that were run; `sheet_of` gives a sheet, where it is at hand."""
    from .rate_words import sentences

    highest = highest_that_holds(rows)
    hire = [one for plan in plans for one in _of_plan(plan, seed, sheet_of)]
    numbers: dict[str, Any] = {
        "scenario": ground.scenario.name, "seed": seed, "runs": min(row["runs"] for row in rows),
        "start": str(ground.scenario.start), "window": [str(day) for day in window_of(ground.scenario)],
        "plans": list(rows),
        "highest that holds": None if highest is None else highest["plan"], "hire by": hire,
        "assumed": list(_assumed(rows)),
        "cautions": [str(caution) for caution in cautions_of(ground.scenario)]}
    return Answer(numbers, sentences(numbers))


def highest_that_holds(rows: Sequence[Mapping[str, Any]]) -> Mapping[str, Any] | None:
    """The fastest plan that holds and with it every slower one that was tried; None if the slowest does not."""
    found = None
    for row in sorted(rows, key=lambda row: row["planned launches in the window"]):
        if not row["keeps the plan"]["holds"]:
            break
        found = row
    return found


def _mean(values: Sequence[float]) -> dict[str, float] | None:
    return mean_of(values, 3) if values else None


def _limits(kept: int, of: int) -> dict[str, Any]:
    """The exact 95 % interval of the share of runs that keep the plan, and whether it settles that the rate holds."""
    found = chance(kept, of)
    sure = found.low >= HOLDS_IN or found.high < HOLDS_IN
    return {"share from": round(found.low, 4), "to": round(found.high, 4), "settled": sure}


def _in_window(sheet: Sheet, days: Sequence[date]) -> list[date]:
    first, last = window_of(sheet.scenario)
    return [day for day in days if first <= day <= last]


def _behind(sheet: Sheet, runs: Sequence[RunNumbers]) -> dict[str, Any] | None:
    """In how many runs that do not keep the plan the backlog passes its first level for good inside the window, and
    from which date on: half of them, and the range of 8 in 10."""
    failed = [run for run in runs if run.backlog_growth is not None and run.backlog_growth > MAY_GROW]
    planned = [sheet.calendar.date_of(t) for t in planned_in_run(sheet, sheet.calendar.end)]
    days = [float(day.toordinal()) for run in failed if (day := falls_behind(sheet, planned, run)) is not None]
    if not days:
        return None
    shares = {"half by": 0.5, **({"8 in 10 from": 0.1, "to": 0.9} if len(days) >= LEAST_RUNS else {})}
    return {"runs": len(days), **{name: str(date.fromordinal(int(percentile(days, share))))
                                  for name, share in shares.items()}}


def falls_behind(sheet: Sheet, planned: Sequence[date], run: RunNumbers) -> date | None:
    """The first date of the window after which the backlog (launches planned less deliveries) is never again within
    MAY_GROW aircraft of what it was when the window began; None if it is so at the window's end."""
    first, last = window_of(sheet.scenario)
    size = (last - first).days + 1
    change = np.zeros(size, dtype=int)
    for day in planned:
        if first <= day <= last:
            change[(day - first).days] += 1
    for moment in run.delivered.values():
        day = date.fromisoformat(moment[:10])
        if first <= day <= last:
            change[(day - first).days] -= 1
    within = np.flatnonzero(change.cumsum() <= MAY_GROW)
    after = int(within[-1]) + 1 if len(within) else 0
    return first + timedelta(days=after) if after < size else None


def _under(sheet: Sheet, takt: float) -> list[dict[str, Any]]:
    """Places whose longest chain of work at crew maximum, or whose shortest stay with its holds, is over the takt."""
    found = []
    for place in sheet.places:
        chain, stay = (of(sheet, place) / place.docks for of in (critical_path_work_days, stay_work_days))
        if max(chain, stay) > takt:
            found.append({"place": place.id, "name": place.position.name, "docks": place.docks,
                          "chain of work over docks, work days": round(chain, 3),
                          "shortest stay over docks, work days": round(stay, 3), "work alone": chain > takt})
    return found


def _of_plan(plan: RatePlan, seed: int, sheet_of: Callable[[Scenario], Sheet]) -> list[dict[str, Any]]:
    def said(one: Hire) -> dict[str, Any]:
        return {"plan": plan.name, "from": str(one.step), "takt, work days": one.takt, "trade": one.trade,
                "people now": one.now, "people needed": one.needed, "load of those there": round(one.load, 3),
                "start by": str(one.start_by), "ask for them by": None if one.ask_by is None else str(one.ask_by)}

    return [said(one) for one in hires(sheet_of(plan.scenario), seed)] if plan.scenario.launches.steps else []


def _assumed(rows: Sequence[Mapping[str, Any]]) -> list[str]:
    added = [row for row in rows if row["orders added"]]
    said = []
    if added:
        most = max(row["orders added"] for row in added)
        said.append(f"The order book ends inside the window at {', '.join(str(row['plan']) for row in added)}: up to "
                    f"{most} more aircraft of the same models and schemes are launched there, promised at the pace of "
                    "the book. So every plan has work to the end of the window.")
    said.append("People, places and shifts are the same at every rate.")
    said.append("Promised dates do not move with the rate.")
    return said
