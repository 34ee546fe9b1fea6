"""Longer days and Saturdays: the clock of a shift with overtime, and the hours that are scheduled and paid with it."""

from __future__ import annotations

from datetime import timedelta
from functools import cached_property
from typing import Final

from .calendar import ShiftDay, WorkCalendar, shift_day, work_blocks
from .clock import Block, Clock
from .declared import WEEKDAYS
from .people import Overtime, Shift

WITH_OVERTIME: Final = " with overtime"
SHIFTS_A_WEEK = 5
QUARTERS = 4  # of an hour


def hours_a_day(cap: float, shifts: int = SHIFTS_A_WEEK) -> float:
    """Extra hours of one shift under a weekly cap, rounded down to a quarter of an hour."""
    return (cap / shifts * QUARTERS + 1e-9) // 1 / QUARTERS


class ExtraHours:
    """The clocks of shifts in overtime weeks, by the name of the shift and WITH_OVERTIME."""

    def __init__(self, calendar: WorkCalendar, rules: Overtime) -> None:
        self.calendar, self.rules = calendar, rules
        self.names = {f"{name}{WITH_OVERTIME}": name for name in calendar.shifts}
        self._clocks: dict[str, Clock] = {}
        self._scheduled: dict[tuple[str, int], float] = {}
        self._minutes = {name: self._longer(name) for name in calendar.shifts}

    def minutes(self, shift: str) -> float:
        """Extra minutes of a normal shift date."""
        return self._minutes[shift]

    def _longer(self, shift: str) -> float:
        if self.rules.when == "Saturday":
            return 0.0
        weekdays = self.calendar.shifts[shift].weekdays or self.calendar.scenario.work_weekdays
        return 60.0 * hours_a_day(self.rules.max_hours_per_week, max(SHIFTS_A_WEEK, len(weekdays)))

    def clock(self, name: str) -> Clock:
        """Clock of a shift in which every week has overtime; clean-down and check move back by its length."""
        if name not in self._clocks:
            self._clocks[name] = Clock(self._blocks(self.names[name]))
        return self._clocks[name]

    def _blocks(self, shift: str) -> list[Block]:
        calendar, extra = self.calendar, self.minutes(shift)
        spans = {end for _, end in calendar.clock(shift).spans()}
        row = [(start, end + extra if end in spans else end, day) for start, end, day in calendar.clock(shift).blocks()]
        for day in self._saturdays(shift):
            date_of = calendar.scenario.start + timedelta(days=day)
            blocks = self._saturday[shift][1]
            row += [(calendar.instant(date_of, a), calendar.instant(date_of, b), day) for a, b in blocks]
        return sorted(row)

    def _saturdays(self, shift: str) -> list[int]:
        """Day numbers of the Saturdays on which an extra shift may be worked."""
        calendar = self.calendar
        if self.rules.when != "Saturday":
            return []
        closed = calendar.scenario.calendar.closed
        dates = [(n, calendar.scenario.start + timedelta(days=n)) for n in range(calendar.days)]
        return [n for n, day in dates if WEEKDAYS[day.weekday()] == "Sat" and day not in closed
                and not calendar.is_work_day(day, calendar.shifts[shift])]

    @cached_property
    def _saturday(self) -> dict[str, tuple[ShiftDay, list[tuple[float, float]]]]:
        return {name: saturday_of(shift, self.calendar, 60.0 * self.rules.max_hours_per_week)
                for name, shift in self.calendar.shifts.items()}

    def saturday(self, shift: str) -> ShiftDay:
        """What one person is paid for on an extra Saturday."""
        return self._saturday[shift][0]

    def week(self, day: int) -> int:
        """Number of the week from Monday to Sunday of a day; that of the start is 0."""
        return (day + self.calendar.scenario.start.weekday()) // 7

    def scheduled_hours(self, shift: str, week: int) -> float:
        """Paid hours of one person in an overtime week: the shift dates of that week, and the overtime."""
        if (shift, week) not in self._scheduled:
            self._scheduled[shift, week] = self._hours_scheduled(shift, week)
        return self._scheduled[shift, week]

    def _hours_scheduled(self, shift: str, week: int) -> float:
        calendar = self.calendar
        monday = calendar.scenario.start + timedelta(days=7 * week - calendar.scenario.start.weekday())
        dates = [monday + timedelta(days=n) for n in range(7)]
        normal = sum(calendar.is_work_day(day, calendar.shifts[shift]) for day in dates)
        paid = normal * (shift_day(calendar.shifts[shift], calendar.scenario.tool_control).paid + self.minutes(shift))
        if any((day - calendar.scenario.start).days in self._saturdays(shift) for day in dates):
            paid += self.saturday(shift).paid
        return paid / 60.0


def saturday_of(shift: Shift, calendar: WorkCalendar, cap: float) -> tuple[ShiftDay, list[tuple[float, float]]]:
    """What is paid of an extra shift of at most `cap` paid minutes, and its work blocks in minutes after midnight."""
    checks = calendar.scenario.tool_control
    whole, blocks = shift_day(shift, checks), work_blocks(shift, checks)
    if whole.paid <= cap:
        return whole, blocks
    less = whole.paid - cap
    kept: list[tuple[float, float]] = []
    for a, b in reversed(blocks):  # the last working minutes are left out; clean-down and check move forward
        cut = min(less, b - a)
        less -= cut
        if b - cut > a:
            kept.insert(0, (a, b - cut))
    work = sum(b - a for a, b in kept)
    return ShiftDay(work, whole.checked, whole.breaks), kept

