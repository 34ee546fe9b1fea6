"""Where the paid hours go: per trade and month, worked, tool checks, breaks and meetings, absent, idle.

They sum to the paid hours; the unpaid meal is in neither. A flight block over a break counts as worked, not as break;
over the meal it adds paid worked time. Read up to the end of the scenario.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from dataclasses import dataclass
from datetime import timedelta
from functools import lru_cache

import numpy as np

from ..line.records import State
from ..line.sheet import HOUR, Sheet
from ..scenario.calendar import taken_out, work_blocks
from .columns import Columns, Counts, Numbers, arrays_of
from .window import periods_of

ACCOUNT = ("paid", "worked", "checked", "breaks and meetings", "trained", "absent", "idle")


@dataclass(frozen=True, slots=True)
class ShiftDay:
    """What one person is paid for on one shift date, in minutes."""

    work: float
    checked: float
    breaks: float


def shift_day(sheet: Sheet, shift: str) -> ShiftDay:
    """Minutes of a full shift date. Work blocks written outright are all that is paid."""
    declared, checks = sheet.calendar.shifts[shift], sheet.scenario.tool_control
    work = sum(b - a for a, b in work_blocks(declared, checks))
    if declared.work is not None:
        return ShiftDay(work, 0.0, 0.0)
    out: dict[str, float] = defaultdict(float)
    for kind, a, b in taken_out(declared, checks):
        out["check" if kind == "check" else "meal" if kind == "meal" else "break"] += b - a
    return ShiftDay(work, out["check"], out["break"])


class Roster:
    """Paid time of every trade by period, before anybody works: the same in all runs."""

    def __init__(self, sheet: Sheet) -> None:
        self.sheet, calendar = sheet, sheet.calendar
        self.periods = periods_of(sheet.scenario)
        self.bounds = np.array([calendar.instant(first) for first, _ in self.periods] + [calendar.end])
        trades = list(sheet.scenario.trades)
        self.full = np.zeros((len(trades), len(self.periods), len(ACCOUNT)))  # minutes
        for n, trade in enumerate(trades):
            for shift in sheet.rostered(trade):
                self._add(n, trade, shift)
        self.meals = {shift: self._meals(shift) for shift in calendar.shifts}

    def _add(self, n: int, trade: str, shift: str) -> None:
        sheet, day = self.sheet, shift_day(self.sheet, shift)
        declared = sheet.scenario.trades[trade]
        roster = declared.people.get(shift, declared.people.get("", 0))
        known = {(fact.day - sheet.scenario.start).days: fact.people for fact in sheet.scenario.known.present
                 if fact.trade == trade and (fact.shift or sheet.calendar.reference_shift) == shift}
        for number in sorted({block[2] for block in sheet.calendar.clock(shift).blocks()}):
            date_of = sheet.scenario.start + timedelta(days=number)
            if number < 0 or date_of > sheet.scenario.end:
                continue
            period = bisect_right(self.periods, (date_of, True)) - 1
            present = known.get(number, roster)
            paid = max(present, roster) * (day.work + day.checked + day.breaks)
            absent = max(0, roster - present) * (day.work + day.checked + day.breaks)
            self.full[n, period] += (paid, 0.0, present * day.checked, present * day.breaks, 0.0, absent,
                                    present * day.work)

    def _meals(self, shift: str) -> tuple[Numbers, Numbers]:
        declared, calendar = self.sheet.calendar.shifts[shift], self.sheet.calendar
        spans = [(a, b) for kind, a, b in taken_out(declared, self.sheet.scenario.tool_control) if kind == "meal"]
        days = sorted({block[2] for block in calendar.clock(shift).blocks()})
        start = self.sheet.scenario.start
        dates = [start + timedelta(days=n) for n in days]
        return arrays_of([(calendar.instant(day, a), calendar.instant(day, b)) for day in dates for a, b in spans])


@lru_cache(maxsize=4)
def roster_of(sheet: Sheet) -> Roster:
    """The roster of a sheet, made once."""
    return Roster(sheet)


def labour(sheet: Sheet, columns: Columns) -> Numbers:
    """The account in hours: shape (trades, periods, len(ACCOUNT)); idle is what is left of the working time."""
    roster = roster_of(sheet)
    account = roster.full.copy()
    paid, worked, breaks, idle = (ACCOUNT.index(name) for name in ("paid", "worked", "breaks and meetings", "idle"))
    hands_on, period, trade = _worked(roster, columns)
    shape = account.shape[:2]
    minutes = _by_cell(trade, period, hands_on, shape)
    account[:, :, worked] += minutes
    account[:, :, idle] -= minutes
    flown, over_work, over_meal, period, trade = _flown(roster, columns)
    account[:, :, worked] += _by_cell(trade, period, flown, shape)
    account[:, :, idle] -= _by_cell(trade, period, over_work, shape)
    account[:, :, paid] += _by_cell(trade, period, over_meal, shape)
    account[:, :, breaks] -= _by_cell(trade, period, flown - over_work - over_meal, shape)
    return account / HOUR


def _by_cell(trade: Counts, period: Counts, minutes: Numbers, shape: tuple[int, int]) -> Numbers:
    found = np.bincount(trade * shape[1] + period, minutes, shape[0] * shape[1])
    return np.asarray(found, dtype=float).reshape(shape)


def _worked(roster: Roster, columns: Columns) -> tuple[Numbers, Counts, Counts]:
    """People's minutes at work by segment, with period and trade. Work never runs over the end of its shift date."""
    clocks = columns.clocks
    rows = np.flatnonzero(np.isin(columns.state, (State.WORK, State.REWORK)) & (columns.shift > 0)
                          & (columns.start < roster.bounds[-1]))
    minutes = np.zeros(len(rows))
    crews = columns.shift[rows] * len(clocks.of_opening) + clocks.opening[columns.place[rows]]
    shifts = list(clocks.shifts)
    for crew in np.unique(crews):
        shift, opening = divmod(int(crew), len(clocks.of_opening))
        name, these = clocks.crew(shifts[shift], opening), crews == crew
        end = np.minimum(columns.end[rows[these]], roster.bounds[-1])
        minutes[these] = clocks.reading(name, end) - clocks.reading(name, columns.start[rows[these]])
    period = np.searchsorted(roster.bounds, columns.start[rows], side="right") - 1
    return minutes * columns.people[rows], period, columns.trade[rows] - 1


def _flown(roster: Roster, columns: Columns) -> tuple[Numbers, Numbers, Numbers, Counts, Counts]:
    """Pilots' minutes in flight blocks: all, over working time, over the meal; with period and trade."""
    clocks = columns.clocks
    rows = np.flatnonzero((columns.state == State.FLIGHT) & (columns.shift > 0) & (columns.start < roster.bounds[-1]))
    start, end = columns.start[rows], np.minimum(columns.end[rows], roster.bounds[-1])
    over_work, over_meal = np.zeros(len(rows)), np.zeros(len(rows))
    for shift in np.unique(columns.shift[rows]):
        name, these = list(clocks.shifts)[shift], columns.shift[rows] == shift
        clock = clocks.shift_clock(name)
        over_work[these] = clocks.reading(clock, end[these]) - clocks.reading(clock, start[these])
        over_meal[these] = _overlap(*roster.meals[name], start[these], end[these])
    period = np.searchsorted(roster.bounds, start, side="right") - 1
    return end - start, over_work, over_meal, period, columns.trade[rows] - 1


def _overlap(starts: Numbers, ends: Numbers, first: Numbers, last: Numbers) -> Numbers:
    if not len(starts):
        return np.zeros_like(first)
    total = np.concatenate(([0.0], np.cumsum(ends - starts)))
    at, passed = np.column_stack((starts, ends)).ravel(), np.column_stack((total[:-1], total[1:])).ravel()
    return np.asarray(np.interp(last, at, passed) - np.interp(first, at, passed))
