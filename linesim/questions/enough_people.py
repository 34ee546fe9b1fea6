"""The most that launches and places allow: as if every trade had enough people, and only the hours were left to luck.

A bound, not a forecast: on the same luck no run of the floor delivers more. It is a recursion over all runs at once
(max-plus algebra: Baccelli, Cohen, Olsder & Quadrat, Synchronization and Linearity, 1992; source from memory), made so
that it stays a bound when aircraft overtake each other, and without looking at parking, holds, weather, defects, parts
or the customer, all of which only take longer. Time is counted on the union of all shifts (with overtime, where it is
declared), on which every crew's working time lies. Of the n aircraft that leave a place first, at least k came to it no
earlier than the (n - k + 1)-th aircraft to come; so the n-th leaves no earlier than that, and the k shortest stays of
all aircraft shared by the docks. A stay is the longest chain of hands-on packages with their largest crews.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import takewhile

import numpy as np
from numpy.typing import NDArray

from ..line.draws import Draws, WorkedOn
from ..line.luck import Luck
from ..line.sheet import HOUR, PlacePlan, Sheet
from ..measures.run import window_instants
from ..scenario.clock import Clock
from ..scenario.extra_hours import WITH_OVERTIME
from ..scenario.plan import planned_moments

Numbers = NDArray[np.float64]  # runs x aircraft, minutes of the common clock; inf: none
CLOSE = 1e-3    # minutes: what rounding of instants may come to


@dataclass(frozen=True, slots=True)
class MostAllowed:
    """For each run the largest number of aircraft that can be delivered by the end of the window."""

    runs: tuple[int, ...]
    delivered: tuple[int, ...]


@dataclass(slots=True)
class _Aircraft:
    """What its hours depend on, without an aircraft on a floor (line/draws.py, WorkedOn)."""

    name: str
    factor: float
    learned: float


def most_allowed(sheet: Sheet, seed: int, runs: Sequence[int]) -> MostAllowed | str:
    """The bound for runs of a scenario, or why it does not apply, in words."""
    scenario = sheet.scenario
    if scenario.pulse is not None and scenario.pulse.in_force:
        return "a pulse line carries unfinished work on"
    if scenario.launches.saturated and (scenario.orders is None or scenario.stock.unsold_slots == "build"):
        return "aircraft are launched without an end"
    clock = _common_clock(sheet)
    each = [_run(sheet, clock, Draws(scenario, sheet.calendar, Luck(seed, run))) for run in runs]
    launches = _padded([launches for launches, _ in each])
    stays = [_padded([stays[place.index] for _, stays in each]) for place in sheet.places]
    left = _through(sheet, launches, stays)
    by_then = clock.reading(window_instants(sheet)[1]) + CLOSE
    return MostAllowed(tuple(runs), tuple(int(n) for n in (left <= by_then).sum(axis=1)))


def _common_clock(sheet: Sheet) -> Clock:
    """When anybody could work; day and night, if work needs nobody."""
    from ..line.sheet import ALWAYS

    shifts = list(sheet.calendar.shifts)
    if not sheet.scenario.shifts or any(not job.trade for place in sheet.places for job in place.jobs
                                        if job.kind == "work"):
        return ALWAYS
    if sheet.extra is None:
        return sheet.calendar.union_clock(tuple(shifts))
    from ..scenario.clock import union

    names = [*shifts, *(f"{shift}{WITH_OVERTIME}" for shift in shifts)]
    return Clock(union(sheet.clock(name).blocks() for name in names))


# one run -------------------------------------------------------------------------------------------------------------
def _run(sheet: Sheet, clock: Clock, draws: Draws) -> tuple[list[float], list[list[float]]]:
    """Planned launches on the common clock, and for each place the shortest stays of all aircraft that may come."""
    moments = list(takewhile(lambda t: t < sheet.calendar.end, _moments(sheet, draws)))
    if sheet.scenario.launches.saturated:
        moments = [0.0] * draws.fleet.ordered
    pace = max((shift.productivity for shift in sheet.calendar.shifts.values()), default=1.0)
    able = max((able for trade in sheet.scenario.trades.values() for able in trade.cover.values()), default=1.0)
    pace = max(1.0, pace) * max(1.0, able)
    aircraft = [_Aircraft(order.serial, draws.paint_and_model(order.model, order.scheme),
                          draws.learned(draws.unit_number(n)))
                for n, order in ((n, draws.order(n)) for n in _that_may_come(sheet, draws, len(moments)))]
    stays = [[_stay(draws, place, one, pace) for one in aircraft] for place in sheet.places]
    return [clock.reading(t) for t in moments], stays


def _moments(sheet: Sheet, draws: Draws) -> Iterator[float]:
    launches, calendar = sheet.scenario.launches, sheet.calendar
    if launches.moments is not None:
        yield from sorted(calendar.of_moment(moment) for moment in launches.moments)
    elif launches.between_hours is not None:
        t, n = 0.0, 0
        while True:
            t += launches.between_hours.value(draws.luck.uniform("between launches", n)) * HOUR
            n += 1
            yield t
    elif launches.takt_work_days is not None:
        first = calendar.of_moment(launches.first) if launches.first else None
        yield from planned_moments(calendar, launches.takt_work_days, launches.steps, first)


def _that_may_come(sheet: Sheet, draws: Draws, slots: int) -> list[int]:
    """Aircraft that stand on the floor at the start, and those that the slots may be for."""
    scenario, fleet = sheet.scenario, draws.fleet
    standing = {fleet.positions[entry.serial] for entry in scenario.on_the_line}
    book = [n for n in range(fleet.ordered) if n not in standing]
    stock = fleet.unlimited or scenario.stock.unsold_slots == "build"
    beyond = list(range(fleet.ordered, fleet.ordered + slots)) if stock else []
    in_order = scenario.order_changes is None and scenario.launches.launch_dates != "hold"
    return sorted(standing) + ([*book, *beyond][:slots] if in_order else [*book, *beyond])


def _stay(draws: Draws, place: PlacePlan, aircraft: WorkedOn, pace: float) -> float:
    """The longest chain of hands-on packages that every aircraft has, with the largest crews at the best pace."""
    ends: dict[int, float] = {}

    def end(n: int) -> float:
        if n not in ends:
            plan, minutes = place.jobs[n], 0.0
            ends[n] = 0.0  # chains have no rings
            if plan.kind == "work" and plan.always and not plan.package.rework and (
                    (aircraft.name, plan.package.id) not in draws.facts.exists):
                uniform = draws.luck.first(f"package/{aircraft.name}/{plan.package.id}/0") if plan.draws else 0.5
                minutes = draws.minutes_of(aircraft, plan, 0, uniform, rework=False) / (plan.crew_max * pace)
            ends[n] = minutes + max((end(before) for before in plan.after), default=0.0)
        return ends[n]

    return max((end(n) for n in range(len(place.jobs))), default=0.0)


# all runs ------------------------------------------------------------------------------------------------------------
def _padded(rows: Sequence[Sequence[float]]) -> Numbers:
    found = np.full((len(rows), max(map(len, rows), default=0)), np.inf)
    for row, values in zip(found, rows, strict=True):
        row[:len(values)] = values
    return found


def _through(sheet: Sheet, launches: Numbers, stays: Sequence[Numbers]) -> Numbers:
    """When the n-th aircraft leaves the last place, at the earliest."""
    standing = [0] * len(sheet.places)
    ids = {place.id: place.index for place in sheet.places}
    for entry in sheet.scenario.on_the_line:
        for name in entry.at:
            standing[ids[name]] += 1
    left: dict[int, Numbers] = {}

    def departures(n: int) -> Numbers:
        if n not in left:
            here = np.zeros((len(launches), standing[n]))
            came = _sorted([here, _arrivals(n)])
            times = np.sort(np.concatenate([here, stays[n]], axis=1), axis=1)
            left[n] = _leave(came, times, sheet.places[n].docks)
        return left[n]

    def _arrivals(n: int) -> Numbers:
        feeders = [place for place in sheet.places if place.next == n]
        own = [launches] if n in sheet.first else []
        halves = sorted({place.half for place in feeders}) if not sheet.places[n].half else []
        if len(halves) > 1 and "" not in halves:
            branches = [_sorted([departures(place.index) for place in feeders if place.half == half])
                        for half in halves]
            both = min(branch.shape[1] for branch in branches)
            own.append(np.max([branch[:, :both] for branch in branches], axis=0))
        else:
            own += [departures(place.index) for place in feeders]
        return _sorted(own) if own else np.zeros((len(launches), 0))

    return _sorted([departures(place.index) for place in sheet.places if place.next is None])


def _sorted(rows: Sequence[Numbers]) -> Numbers:
    found: Numbers = np.sort(np.concatenate(rows, axis=1), axis=1)
    return found


def _leave(came: Numbers, shortest: Numbers, docks: int) -> Numbers:
    """Earliest n-th departure: max over k of the (n - k + 1)-th arrival + the time that k aircraft take at least: the
    k shortest stays shared evenly; the longest; and, as one dock has ceil(k / docks) of them, the shortest so many."""
    n = came.shape[1]
    left, total = came.copy(), np.cumsum(shortest, axis=1)
    for k in range(1, min(n, shortest.shape[1]) + 1):
        time = np.maximum(np.maximum(total[:, k - 1] / docks, shortest[:, k - 1]), total[:, -(-k // docks) - 1])
        np.maximum(left[:, k - 1:], came[:, :n - k + 1] + time[:, None], out=left[:, k - 1:])
    return left
