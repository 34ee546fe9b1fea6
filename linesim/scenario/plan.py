"""The rate plan as moments: when each launch is planned."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from .calendar import WorkCalendar
from .clock import NEVER
from .orders import TaktStep


def planned_moments(calendar: WorkCalendar, takt: float, steps: tuple[TaktStep, ...] = (),
                    first: float | None = None) -> Iterator[float]:
    """Planned launch moments by takt (work days), without end; NEVER is not given out.

    The first is the first working minute on or after `first` (an instant; the start if left out). Each next one is a
    takt later on the reference clock, at the latest instant with that reading; the takt is the one in force at the
    moment counted from.
    """
    clock = calendar.reference
    moment = clock.next_open(first or 0.0)
    reading = clock.reading(moment)
    while moment != NEVER:
        yield moment
        reading += takt_on(calendar.date_of(moment), takt, steps) * calendar.work_day
        moment = clock.latest(reading)


def takt_on(day: date, takt: float, steps: tuple[TaktStep, ...]) -> float:
    """Takt in force on a date, in work days."""
    for step in steps:
        if step.day <= day:
            takt = step.takt_work_days
    return takt
