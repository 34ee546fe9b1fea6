"""How many deliveries in each quarter, and what they bring: the answer of `linesim quarters`.

A delivery is an acceptance: there the customer takes the aircraft, and there its price counts as revenue. Deliveries
are counted exactly as `linesim run` counts them. Counts are read as at least: the careful side of a count is the low
one. The whole window has its own range, never the sum of those of its quarters.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from ..line.cautions import cautions_of
from ..line.sheet import Sheet
from ..measures.estimates import at_least, chance, percentile
from ..measures.run import RunNumbers, deliveries_by_month, promise_in
from ..measures.window import months_between, quarter_of, quarters_of, window_of
from ..scenario.calendar import months_on
from ..scenario.declared import WEEKDAYS
from ..scenario.faults import did_you_mean
from ..scenario.scenario import Scenario
from .amounts import mean_of, reached
from .baseline import Answer, deliveries_of
from .by_run import deliveries_by_run, whole_quarters

LAST_DAYS = 14  # of a quarter
NO_POLICY = ("no quarter-end policy is declared, and nothing here works faster or slower for the end of a quarter: "
             "what differs from an even pace comes from launches, work days, weather and the order book")


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked beside the quarters themselves."""

    model: str | None = None    # only deliveries of this model; left out: of all
    at_least: int | None = None  # aircraft in the window; left out: as many as are promised in it


class UnknownModel(ValueError):
    """A model that no order has; says which there are."""

    def __init__(self, found: str, known: list[str]) -> None:
        super().__init__(found, known)
        self.found, self.known = found, known

    def __str__(self) -> str:
        allowed = f"the order book has {', '.join(self.known)}" if self.known else "no order names a model"
        return f"no order is of model {self.found!r}; {allowed}{did_you_mean(self.found, self.known)}"


def quarters(sheet: Sheet, runs: Sequence[RunNumbers], seed: int, asked: Asked | None = None) -> Answer:
    """The answer from at least one run; raises UnknownModel."""
    from .money import money_of
    from .quarter_words import sentences

    asked, scenario = asked or Asked(), sheet.scenario
    models = models_of(scenario)
    if asked.model is not None and asked.model not in models:
        raise UnknownModel(asked.model, models)
    of, counted = (scenario, runs) if asked.model is None else only(scenario, runs, asked.model)
    by_run = deliveries_by_run(of, counted)
    weeks, money = last_weeks(sheet, of, counted), money_of(sheet, runs)
    numbers: dict[str, Any] = {
        "scenario": scenario.name, "runs": len(runs), "seed": seed,
        "window": [str(day) for day in window_of(scenario)], "model": asked.model,
        **deliveries_of(sheet if of is scenario else Sheet(of), counted),
        "promised in the window": promised_in(of, *window_of(of)),
        "at least": _at_least(of, by_run, asked.at_least),
        "runs that deliver at least": chance_table(of, by_run),
        "kept up with": falls_behind(of, counted),
        "late, mean": _late(of, counted),
        "deliveries by month": _months(of, counted),
        "delivered by the end of the month": _so_far(of, counted),
        "deliveries by model": {} if asked.model else _by_model(scenario, runs, models),
        "last two weeks": weeks,
        "money": money,
        "cautions": [*_cautions(of, weeks), *(money or {}).get("cautions", ()),
                     *(str(caution) for caution in cautions_of(scenario))]}
    return Answer(numbers, sentences(numbers))


def models_of(scenario: Scenario) -> list[str]:
    """Models of the order book, in its order."""
    return list(dict.fromkeys(order.model for order in scenario.orders or () if order.model))


def only(scenario: Scenario, runs: Sequence[RunNumbers], model: str) -> tuple[Scenario, Sequence[RunNumbers]]:
    """The order book and the deliveries of one model."""
    orders = tuple(order for order in scenario.orders or () if order.model == model)
    names = {order.serial for order in orders}
    return scenario.model_copy(update={"orders": orders}), [
        run.with_delivered({name: at for name, at in run.delivered.items() if name in names}) for run in runs]


def promised_in(scenario: Scenario, first: date, last: date) -> int:
    """Orders promised from one date to another, by the order book."""
    return sum(first <= order.promised <= last for order in scenario.orders or () if order.promised)


def _at_least(scenario: Scenario, by_run: Sequence[Mapping[str, int | None]], wanted: int | None) -> dict[str, Any]:
    """In how many runs the window brings so many aircraft, with the exact 95 % interval of that share."""
    number = promised_in(scenario, *window_of(scenario)) if wanted is None else wanted
    reach = sum((row["in the window"] or 0) >= number for row in by_run)
    share = chance(reach, len(by_run))
    return {"aircraft": number, "runs": reach, "of": len(by_run), "share": round(share.point, 4),
            "low": round(share.low, 4), "high": round(share.high, 4)}


def chance_table(scenario: Scenario, by_run: Sequence[Mapping[str, int | None]]) -> dict[str, dict[str, int]]:
    """Runs that deliver at least 9, 10, 11 ... aircraft, by quarter: from the largest count that every run reaches in
    every quarter to the smallest that none reaches in any."""
    names = whole_quarters(scenario)
    counts = {name: [int(row[name] or 0) for row in by_run] for name in names}
    if not names:
        return {}
    least, most = min(map(min, counts.values())), max(map(max, counts.values()))
    return {str(n): {name: sum(count >= n for count in counts[name]) for name in names}
            for n in range(least, most + 2)}


def falls_behind(scenario: Scenario, runs: Sequence[RunNumbers]) -> dict[str, Any]:
    """Aircraft delivered since the window began, in half the runs, against those promised by the end of each quarter;
    and the quarter from which on half the runs stay short of it (None: they do not at the end)."""
    rows, first = {}, window_of(scenario)[0]
    for name in whole_quarters(scenario):
        last = _last_day(name)
        half = at_least([float(sum(str(first) <= at[:10] <= str(last) for at in run.delivered.values()))
                         for run in runs], 0.5)
        rows[name] = {"promised": promised_in(scenario, first, last), "half the runs": int(half)}
    behind: str | None = None
    for name, row in rows.items():
        short = row["half the runs"] < row["promised"]
        behind = (behind or name) if short else None
    return {"by the end of": rows, "gap opens": behind}


def _last_day(quarter: str) -> date:
    return months_on(date(int(quarter[:4]), 3 * int(quarter[-1]) - 2, 1), 3) - timedelta(days=1)


def _late(scenario: Scenario, runs: Sequence[RunNumbers]) -> dict[str, float]:
    """Aircraft delivered in each quarter after their promised date, mean of the runs."""
    names = whole_quarters(scenario)
    total = dict.fromkeys(names, 0)
    for run in runs:
        for order in scenario.orders or ():
            at, promised = run.delivered.get(order.serial, "")[:10], promise_in(run, order)
            if at and promised and at > promised and quarter_of(at) in total:
                total[quarter_of(at)] += 1
    return {name: round(total[name] / len(runs), 2) for name in names}


def _months(scenario: Scenario, runs: Sequence[RunNumbers]) -> dict[str, dict[str, float]]:
    first, last = window_of(scenario)
    months = [str(day)[:7] for day in months_between(first, last)]
    inside = [{name: at for name, at in run.delivered.items() if str(first) <= at[:10] <= str(last)} for run in runs]
    each = [deliveries_by_month(delivered, months) for delivered in inside]
    promised = [str(order.promised)[:7] for order in scenario.orders or ()
                if order.promised and first <= order.promised <= last]
    return {month: {"promised": promised.count(month), **mean_of([float(run[month]) for run in each], 2)}
            for month in months}


def _so_far(scenario: Scenario, runs: Sequence[RunNumbers]) -> dict[str, dict[str, Any]]:
    """Aircraft delivered and promised from the beginning of the window to the end of each of its months."""
    first, last = window_of(scenario)
    ends = [min(months_on(day, 1) - timedelta(days=1), last) for day in months_between(first, last)]
    return {str(end)[:7]: {"promised": promised_in(scenario, first, end), **reached(
        [float(sum(str(first) <= at[:10] <= str(end) for at in run.delivered.values())) for run in runs], 2)}
        for end in ends}


def _by_model(scenario: Scenario, runs: Sequence[RunNumbers],
              models: list[str]) -> dict[str, dict[str, dict[str, float]]]:
    """Mean deliveries of each model by quarter and in the window; they sum to those of all, where all have a model."""
    found = {}
    for model in models:
        of, few = only(scenario, runs, model)
        rows = deliveries_by_run(of, few)
        found[model] = {name: mean_of([float(row[name] or 0) for row in rows], 2)
                        for name in [*whole_quarters(of), "in the window"]}
    return found


def last_weeks(sheet: Sheet, scenario: Scenario, runs: Sequence[RunNumbers]) -> dict[str, dict[str, Any]]:
    """Deliveries of the last two weeks of each quarter: mean, share of the quarter's, the share that an even pace over
    its work days would give, acceptances that may begin then, and how many the plan still lacks when they begin."""
    found = {}
    for name in whole_quarters(scenario):
        last = _last_day(name)
        first, late = months_on(last + timedelta(days=1), -3), last - timedelta(days=LAST_DAYS - 1)
        counts = [sum(str(late) <= at[:10] <= str(last) for at in run.delivered.values()) for run in runs]
        whole = [sum(quarter_of(at) == name for at in run.delivered.values()) for run in runs]
        plan = promised_in(scenario, first, last)
        before = percentile([float(all_of - few) for all_of, few in zip(whole, counts, strict=True)], 0.5)
        days, in_all = _work_days(sheet, late, last), _work_days(sheet, first, last)
        found[name] = {
            "from": str(late), **mean_of([float(count) for count in counts], 2),
            "share of the quarter": round(sum(counts) / sum(whole), 4) if sum(whole) else None,
            "even pace": round(days / in_all, 4) if in_all else None,
            "acceptance slots": acceptance_slots(sheet, late, last),
            "still to deliver for the plan": max(0, plan - int(before))}
    return found


def _days(first: date, last: date) -> list[date]:
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]


def _work_days(sheet: Sheet, first: date, last: date) -> int:
    return sum(sheet.calendar.is_work_day(day) for day in _days(first, last))


def acceptance_slots(sheet: Sheet, first: date, last: date) -> int | None:
    """Acceptances that may begin from one date to another; None without an acceptance in the plant."""
    declared = [position.acceptance for position in sheet.scenario.positions if position.acceptance]
    if not declared:
        return None
    return sum(one.slots_per_day for one in declared for day in _days(first, last)
               if sheet.calendar.is_work_day(day) and WEEKDAYS[day.weekday()] in one.weekdays)


def _cautions(scenario: Scenario, weeks: Mapping[str, Mapping[str, Any]]) -> list[str]:
    """Of the end of a quarter and of quarters that are not counted."""
    said = [NO_POLICY] if weeks else []
    for name, row in weeks.items():
        slots, wanted = row["acceptance slots"], row["still to deliver for the plan"]
        if slots is not None and wanted > slots:
            said.append(f"{name}: in half the runs {wanted} aircraft of its plan are still to be delivered when its "
                        f"last two weeks begin, and {slots} acceptances may begin in them: it would need acceptances "
                        "or flights outside the declared days, which nothing here does")
    said += [f"{name} is not counted: the window holds only a part of it"
             for name, whole in quarters_of(window_of(scenario)).items() if not whole]
    return said
