"""What differs between scenarios: the inputs first, then the measures, each with its paired interval on common luck.

Run n of one scenario meets the same luck as run n of another, so the difference of the two is that of the scenarios;
its interval is the paired t interval of the runs (Law, Simulation Modeling and Analysis, chapter 10).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ..line.cautions import cautions_of
from ..line.sheet import Sheet
from ..measures.estimates import Difference, difference_words, mean_interval, paired_difference
from ..measures.run import RunNumbers, promise_in, window_instants
from ..measures.window import window_of
from ..scenario.differences import differences
from .baseline import HOLDS_IN, MAY_GROW, Answer


@dataclass(frozen=True, slots=True)
class Read:
    """What is read of one run: its number, the growth of its backlog, and its value of each of MEASURES."""

    run: int
    backlog_growth: int | None
    values: tuple[float | None, ...]


@dataclass(frozen=True, slots=True)
class Alternative:
    """A scenario by name with what was read of its runs."""

    name: str
    sheet: Sheet
    runs: Sequence[Read]

    @classmethod
    def of(cls, name: str, sheet: Sheet, runs: Iterable[RunNumbers]) -> Alternative:
        """Read its runs, each once."""
        return cls(name, sheet, [Read(run.run, run.backlog_growth, tuple(
            measure.of(sheet, run) for measure in MEASURES)) for run in runs])

    def values(self, measure: Measure) -> list[float | None]:
        """A measure of each run."""
        number = MEASURES.index(measure)
        return [run.values[number] for run in self.runs]


@dataclass(frozen=True, slots=True)
class Measure:
    """A number of one run; `more` says whether more of it is a gain."""

    name: str
    unit: str
    digits: int
    more: bool
    of: Callable[[Sheet, RunNumbers], float | None]


def deliveries(sheet: Sheet, run: RunNumbers) -> float:
    """Aircraft delivered in the window."""
    first, last = (str(day) for day in window_of(sheet.scenario))
    return float(sum(first <= moment[:10] <= last for moment in run.delivered.values()))


def _takt(sheet: Sheet, run: RunNumbers) -> float | None:
    begin, end = window_instants(sheet)
    clock, count = sheet.calendar.reference, deliveries(sheet, run)
    return (clock.reading(end) - clock.reading(begin)) / sheet.calendar.work_day / count if count else None


def _flow(_: Sheet, run: RunNumbers) -> float | None:
    return sum(run.flow_hours.values()) / len(run.flow_hours) / 24 if run.flow_hours else None


def _on_time(sheet: Sheet, run: RunNumbers) -> float:
    """Ordered aircraft delivered by their promised date, of those promised in the window."""
    first, last = map(str, window_of(sheet.scenario))
    promised = {order.serial: promise_in(run, order) for order in sheet.scenario.orders or ()}
    return float(sum(first <= day <= last and serial in run.delivered and run.delivered[serial][:10] <= day
                     for serial, day in promised.items() if day))


MEASURES = (
    Measure("deliveries in the window", "aircraft", 1, True, deliveries),
    Measure("delivered by the promised date", "aircraft", 1, True, _on_time),
    Measure("work days between deliveries", "work days", 2, False, _takt),
    Measure("flow time", "calendar days", 1, False, _flow),
    Measure("aircraft in process", "aircraft", 2, False, lambda _, run: sum(run.in_process.values())),
    Measure("travelled hours", "labour hours", 0, False,
            lambda _, run: sum(of.hours for of in run.travelled.values())),
    Measure("line stops", "stops", 1, False, lambda _, run: float(run.line_stops)))


def compare(ground: Alternative, others: Sequence[Alternative], seed: int) -> Answer:
    """The answer: for each other scenario what differs in the input, and every measure against the ground."""
    numbers: dict[str, Any] = {
        "ground": ground.name, "seed": seed, "runs": len(ground.runs),
        "window": [str(day) for day in window_of(ground.sheet.scenario)],
        "measures": {measure.name: measure.unit for measure in MEASURES},
        "scenarios": [_row(ground, None)] + [_row(other, ground) for other in others],
        "cautions": list(dict.fromkeys(str(caution) for one in (ground, *others)
                                       for caution in cautions_of(one.sheet.scenario)))}
    return Answer(numbers, [sentence for other in others for sentence in _sentences(ground, other)])


def _row(one: Alternative, ground: Alternative | None) -> dict[str, Any]:
    growth = [run.backlog_growth for run in one.runs if run.backlog_growth is not None]
    kept = sum(n <= MAY_GROW for n in growth)
    row: dict[str, Any] = {
        "name": one.name,
        "differs in": [] if ground is None else [
            {"path": path, "ground": _plain(a), "here": _plain(b)}
            for path, a, b in differences(ground.sheet.scenario, one.sheet.scenario)],
        "keeps the plan": None if not growth else {
            "runs": kept, "of": len(growth), "holds": kept >= HOLDS_IN * len(growth)},
        "measures": {}}
    for measure in MEASURES:
        values = [value for value in one.values(measure) if value is not None]
        found: dict[str, Any] = {"mean": round(mean_interval(values).point, 3) if values else None}
        if ground is not None:
            found["difference"] = _difference_row(difference_of(measure, ground, one))
        row["measures"][measure.name] = found
    return row


def difference_of(measure: Measure, ground: Alternative, other: Alternative) -> Difference | None:
    """Paired difference over the runs that both have and in which the measure exists; None without any."""
    mine, theirs = (dict(zip((run.run for run in one.runs), one.values(measure), strict=True))
                    for one in (ground, other))
    pairs = [(value, mine[run]) for run, value in theirs.items() if run in mine]
    known = [(a, b) for a, b in pairs if a is not None and b is not None]
    return paired_difference([a for a, _ in known], [b for _, b in known]) if known else None


def _difference_row(found: Difference | None) -> dict[str, Any] | None:
    if found is None:
        return None
    limits = {} if math.isnan(found.low) else {"low": round(found.low, 3), "high": round(found.high, 3)}
    return {"mean": round(found.mean, 3), **limits, "more in": found.better_in, "of": found.n}


def _sentences(ground: Alternative, other: Alternative) -> list[str]:
    found = difference_of(MEASURES[0], ground, other)
    if found is None:
        return [f"{other.name}: no run in common with {ground.name}."]
    words = difference_words(found, "deliveries in the window", 1)
    limits = "" if math.isnan(found.low) or found.low <= 0 <= found.high else (
        f" (95 % interval {found.low:+.1f} to {found.high:+.1f})".replace("-", "\N{MINUS SIGN}"))
    return [f"{other.name}: {words}{limits}."]


def _plain(value: Any) -> Any:
    """A value of a scenario as JSON has it: dates and spreads as text."""
    if isinstance(value, Mapping):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return value if isinstance(value, str | int | float | bool) or value is None else str(value)
