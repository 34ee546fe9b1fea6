"""What the calendar appoints: slots of a day, and the weekly service of a place."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Final

from ..scenario.calendar import WorkCalendar
from ..scenario.clock import NEVER
from ..scenario.plant import Position

HOUR: Final = 60.0
Spans = list[tuple[float, float]]


def slots_of_day(calendar: WorkCalendar, day: date, number: int) -> list[tuple[float, float]]:
    """Begin and end of the slots of a date: slot k of n begins at fraction (k-1)/n of that day's working time."""
    if not calendar.is_work_day(day):
        return []
    clock = calendar.reference
    midnight = calendar.instant(day)
    first = clock.next_open(midnight)
    if first == NEVER:
        return []
    before, length = clock.reading(first), calendar.work_day
    return [(clock.latest(before + length * k / number), clock.earliest(before + length * (k + 1) / number))
            for k in range(number)]


def service_spans(calendar: WorkCalendar, position: Position, hours: float) -> Spans:
    """Service of a place: the first working hours of the first work day of each week, by the place's own shifts."""
    clock = calendar.union_clock(position.shifts) if position.shifts else calendar.reference
    last = {block[2]: block[1] for block in clock.blocks()}  # the end of each shift date
    first: dict[date, tuple[float, int]] = {}  # of each week its first working minute
    for start, _, day in clock.blocks():
        on = calendar.scenario.start + timedelta(days=day)
        first.setdefault(on - timedelta(days=on.weekday()), (start, day))
    return [(start, min(clock.finish(start, hours * HOUR), last[day])) for start, day in first.values()]
