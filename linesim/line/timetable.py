"""What the calendar brings, in order of time and the same in every run: shifts, breaks, opening hours, light, locks."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from datetime import timedelta
from functools import lru_cache
from operator import itemgetter
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ..scenario.calendar import paid_span
from ..scenario.extra_hours import WITH_OVERTIME

if TYPE_CHECKING:
    from .plans import PlacePlan
    from .sheet import Sheet


IN_ORDER = itemgetter(0, 1)  # by time, then by order


class Bell(NamedTuple):
    """Something the calendar brings. `order` within one instant: who goes off comes before who comes on."""

    at: float
    order: int
    # week, off, late off, on, saturday, open or outage (of a place), light, dusk, fleet hold, lock, start check,
    # closing check
    what: str
    trade: str = ""
    duty: int = 0    # which of the trade's shifts (of a check: of the plant's)
    number: int = 0  # week, shift date (on, off, check), place (open), serial (lock), which (fleet hold)
    until: float = 0.0


def timetable_of(sheet: Sheet) -> list[Bell]:
    """All bells of the calendar before the end of the run."""
    bells = [*_shifts(sheet), *_overtime(sheet), *_openings(sheet, sheet.places), *_light(sheet), *_locks(sheet),
             *_checks(sheet), *_fleet_holds(sheet)]
    return sorted((bell for bell in bells if bell.at < sheet.calendar.run_end), key=IN_ORDER)


def in_run(planned: Sheet, sheet: Sheet) -> list[Bell]:
    """The bells of one run: those of its places that are out of service by chance are others than planned."""
    places = [place for place in sheet.places if place.id in sheet.by_chance]
    same, order = _without(planned, frozenset(place.index for place in places))
    bells: list[Bell] = []
    done = 0
    others = [bell for bell in _openings(sheet, places) if bell.at < sheet.calendar.run_end]
    for bell in sorted(others, key=IN_ORDER):
        here = bisect_right(order, IN_ORDER(bell), done)
        bells += same[done:here]
        bells.append(bell)
        done = here
    return bells + same[done:]


@lru_cache(maxsize=4)
def _without(sheet: Sheet, places: frozenset[int]) -> tuple[list[Bell], list[tuple[float, int]]]:
    """The planned bells without those of some places, and where each stands in the order."""
    same = [bell for bell in sheet.timetable if bell.number not in places or bell.what not in ("open", "outage")]
    return same, [IN_ORDER(bell) for bell in same]


def _shifts(sheet: Sheet) -> Iterator[Bell]:
    for trade in sheet.scenario.trades:
        for n, shift in enumerate(sheet.rostered(trade)):
            clock, previous = sheet.calendar.clock(shift), None
            for start, _, day in clock.blocks():
                if day != previous:
                    yield Bell(start, 1, "on", trade, n, day)
                previous = day
            for (_, end), day in zip(clock.spans(), dict.fromkeys(clock.dates), strict=True):
                yield Bell(end, 0, "off", trade, n, day)


def _overtime(sheet: Sheet) -> Iterator[Bell]:
    """The first shift of each week, the ends of longer days, and the extra Saturdays."""
    if sheet.extra is None:
        return
    weeks: dict[int, float] = {}
    for shift in sheet.calendar.shifts:
        clock = sheet.calendar.clock(shift)
        for start, day in zip(clock.starts, clock.dates, strict=True):
            week = sheet.extra.week(day)
            weeks[week] = min(start, weeks.get(week, start))
    yield from (Bell(start, -1, "week", number=week) for week, start in weeks.items())
    for trade in sheet.extra.rules.trades:
        for n, shift in enumerate(sheet.rostered(trade)):
            longer, normal = sheet.extra.clock(f"{shift}{WITH_OVERTIME}"), set(sheet.calendar.clock(shift).dates)
            for (start, end), day in zip(longer.spans(), dict.fromkeys(longer.dates), strict=True):
                if day not in normal:
                    yield Bell(start, 1, "saturday", trade, n, day)
                yield Bell(end, 0, "late off", trade, n, day)


def _openings(sheet: Sheet, places: list[PlacePlan]) -> Iterator[Bell]:
    for place in places:
        if place.clock is not None:
            for start in _missed(sheet, place):
                yield Bell(start, 2, "open", number=place.index)
        for begins, _ in sheet.outages(place.position):
            yield Bell(begins, 2, "outage", number=place.index)


def _light(sheet: Sheet) -> Iterator[Bell]:
    if sheet.light is not None and any(job.package.needs_daylight for place in sheet.places for job in place.jobs):
        for first, last in sheet.light:
            yield Bell(first, 2, "light")
            yield Bell(last, 2, "dusk")


def _missed(sheet: Sheet, place: PlacePlan) -> list[float]:
    """Openings of a place before which somebody was at work while it was closed; others need no bell, for whoever
    comes on duty or back from a break looks for work anyway."""
    assert place.clock is not None
    shifts = {shift for trade in sheet.scenario.trades for shift in sheet.rostered(trade)}
    at_work = sheet.calendar.union_clock(tuple(sorted(shifts)))
    # work that needs nobody waits for hours: the place's own, and what travels to it
    nobody = any(job.kind == "work" and not job.trade and (job.place == place.index or job.package.can_travel)
                 for one in sheet.places for job in one.jobs)
    if nobody:
        return place.clock.starts
    starts, closed_since = np.array(place.clock.starts), np.array([0.0, *place.clock.ends[:-1]])
    begun, over = np.searchsorted(at_work.starts, starts), np.searchsorted(at_work.ends, closed_since, side="right")
    missed: list[float] = starts[(begun > over) & (starts > closed_since)].tolist()
    return missed


def _fleet_holds(sheet: Sheet) -> Iterator[Bell]:
    for n, hold in enumerate(sheet.scenario.fleet_holds):
        yield Bell(max(0.0, sheet.calendar.instant(hold.day)), -2, "fleet hold", number=n)


def _locks(sheet: Sheet) -> Iterator[Bell]:
    serials = {order.serial: n for n, order in enumerate(sheet.scenario.orders or ())}
    for lock in sheet.scenario.known.tool_locks:
        begins, ends = sheet.calendar.of_moment(lock.begins), sheet.calendar.of_moment(lock.ends)
        if ends <= 0:
            continue  # it was over before the start
        yield Bell(max(0.0, begins), 2, "lock", number=serials[lock.serial], until=ends)


def _checks(sheet: Sheet) -> Iterator[Bell]:
    """Tool checks at both ends of every shift date on which anybody stands on the roster."""
    calendar, control = sheet.calendar, sheet.scenario.tool_control
    if control is None or (control.missing_tool is None and control.torque_recall is None):
        return
    for n, (name, shift) in enumerate(calendar.shifts.items()):
        if any(sheet.is_ever_manned(trade, name) for trade in sheet.scenario.trades):
            first, check, _ = paid_span(shift, control)
            for day in dict.fromkeys(calendar.clock(name).dates):
                date = sheet.scenario.start + timedelta(days=day)
                yield Bell(max(0.0, calendar.instant(date, first)), 2, "start check", duty=n, number=day)
                yield Bell(calendar.instant(date, check), 2, "closing check", duty=n, number=day)
