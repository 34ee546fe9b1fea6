"""Where the paid hours go: per trade and month, worked, tool checks, breaks and meetings, absent, idle.

They sum to the paid hours; the unpaid meal is in neither. A flight block over a break counts as worked, not as break;
over the meal it adds paid worked time. Read up to the end of the scenario.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from datetime import date, timedelta
from functools import lru_cache

import numpy as np

from ..line.records import Attended, Extra, State
from ..line.sheet import HOUR, Sheet
from ..scenario.calendar import shift_day, taken_out
from ..scenario.scenario import Scenario
from .columns import Columns, Counts, Numbers, arrays_of
from .window import periods_of

ACCOUNT = ("paid", "worked", "checked", "breaks and meetings", "trained", "absent", "idle")


class Roster:
    """Paid time of every trade by period, before anybody works; of people who are the same every day in all runs.
    `firsts`: the first dates of the periods, the first of them the start."""

    def __init__(self, sheet: Sheet, firsts: Sequence[date]) -> None:
        self.sheet, calendar = sheet, sheet.calendar
        self.bounds = np.array([*map(calendar.instant, firsts), calendar.end])
        trades = list(sheet.scenario.trades)
        self._nothing = np.zeros((len(trades), len(firsts), len(ACCOUNT)))
        self.starts = [(first - sheet.scenario.start).days for first in firsts]
        self._last_day = (sheet.scenario.end - sheet.scenario.start).days
        self._same: dict[tuple[str, str], Numbers] = {}
        self.cells = {(trade, shift): (n, shift_day(calendar.shifts[shift], sheet.scenario.tool_control))
                      for n, trade in enumerate(trades) for shift in sheet.rostered(trade)}
        self.meals = {shift: self._meals(shift) for shift in calendar.shifts}

    def paid(self, attended: dict[tuple[str, str], Attended], overtime: list[Extra]) -> Numbers:
        """Minutes before anybody works, all of the working time idle: shape (trades, periods, len(ACCOUNT))."""
        found = self._nothing.copy()
        for key, (n, _) in self.cells.items():
            found[n] += self._of(key, attended)
        if counted := [extra for extra in overtime if extra.day <= self._last_day]:
            trades, periods, people = zip(*((self.cells[extra.trade, extra.shift][0], self.period(extra.day),
                                             extra.people) for extra in counted), strict=True)
            minutes = np.array([(extra.paid, 0.0, extra.checked, extra.paid - extra.work - extra.checked, 0.0, 0.0,
                                 extra.work) for extra in counted])
            np.add.at(found, (trades, periods), np.array(people)[:, None] * minutes)
        return found

    def period(self, day: int) -> int:
        """Number of the period in which a day (number of the date) lies."""
        return bisect_right(self.starts, day) - 1

    def paid_on(self, shift: str, attended: dict[tuple[str, str], Attended]) -> Numbers:
        """Minutes paid on one shift, without overtime: shape (trades, periods)."""
        found = np.zeros(self._nothing.shape[:2])
        for key, (n, _) in self.cells.items():
            if key[1] == shift:
                found[n] += self._of(key, attended)[:, ACCOUNT.index("paid")]
        return found

    def _of(self, key: tuple[str, str], attended: dict[tuple[str, str], Attended]) -> Numbers:
        if key in attended:
            return self._account(key, attended[key])
        if key not in self._same:
            self._same[key] = self._account(key, self._every_day(*key))
        return self._same[key]

    def _every_day(self, trade: str, shift: str) -> Attended:
        """All of a roster there on every shift date."""
        days = tuple(sorted({day for day in self.sheet.calendar.clock(shift).dates if day >= 0}))
        nobody, heads = (0,) * len(days), (self.sheet.heads(trade, shift),) * len(days)
        return Attended(trade, shift, days, heads, nobody, nobody, nobody, heads, (1.0,) * len(days))

    def _account(self, key: tuple[str, str], there: Attended) -> Numbers:
        """Minutes by period; leave and absence are paid and absent, or neither."""
        day, rules = self.cells[key][1], self.sheet.scenario.attendance
        days, present, leave, absent, trained = (np.array(column) for column in there[2:7])
        within = days <= self._last_day
        whole = day.paid
        leave = leave * (rules is None or rules.leave is None or rules.leave.paid)
        absent = absent * (rules is None or rules.absence is None or rules.absence.paid)
        rows = np.array([(present + trained + leave + absent) * whole, 0 * present, present * day.checked,
                         present * day.breaks, trained * whole, (leave + absent) * whole, present * day.work])
        period = np.searchsorted(self.starts, days, side="right") - 1
        return np.array([np.bincount(period[within], row[within], len(self.starts)) for row in rows]).T

    def _meals(self, shift: str) -> tuple[Numbers, Numbers]:
        declared, calendar = self.sheet.calendar.shifts[shift], self.sheet.calendar
        spans = [(a, b) for kind, a, b in taken_out(declared, self.sheet.scenario.tool_control) if kind == "meal"]
        days = sorted({block[2] for block in calendar.clock(shift).blocks()})
        start = self.sheet.scenario.start
        dates = [start + timedelta(days=n) for n in days]
        return arrays_of([(calendar.instant(day, a), calendar.instant(day, b)) for day in dates for a, b in spans])


@lru_cache(maxsize=4)
def roster_of(sheet: Sheet) -> Roster:
    """The roster of a sheet by the periods of the scenario, made once."""
    return Roster(sheet, [first for first, _ in periods_of(sheet.scenario)])


@lru_cache(maxsize=4)
def weekly_roster_of(sheet: Sheet) -> Roster:
    """The roster of a sheet by week, made once."""
    return Roster(sheet, weeks_of(sheet.scenario))


def weeks_of(scenario: Scenario) -> list[date]:
    """First dates of the weeks of a run: its start, then every Monday up to its end."""
    first = scenario.start + timedelta(days=7 - scenario.start.weekday())
    return [scenario.start, *(first + timedelta(weeks=n) for n in range((scenario.end - first).days // 7 + 1))]


def load_by_week(sheet: Sheet, columns: Columns) -> Numbers:
    """Hours worked, and working hours of the people who are there, by trade and week: shape (2, trades, weeks)."""
    account = _account_of(weekly_roster_of(sheet), columns)
    worked, idle = (account[:, :, ACCOUNT.index(name)] for name in ("worked", "idle"))
    return np.array((worked, worked + idle))


def labour(sheet: Sheet, columns: Columns) -> Numbers:
    """The account in hours: shape (trades, periods, len(ACCOUNT)); idle is what is left of the working time."""
    return _account_of(roster_of(sheet), columns)


def _account_of(roster: Roster, columns: Columns) -> Numbers:
    account = roster.paid(columns.records.attended, columns.records.overtime)
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


@lru_cache(maxsize=1)  # asked for three times of each run
def worked_minutes(columns: Columns, until: float) -> tuple[Counts, Numbers]:
    """Segments in which people work, and their minutes (of all of the crew together) up to an instant."""
    clocks = columns.clocks
    rows = np.flatnonzero(np.isin(columns.state, (State.WORK, State.REWORK)) & (columns.shift > 0)
                          & (columns.start < until))
    minutes = np.zeros(len(rows))
    crews = columns.shift[rows] * len(clocks.of_opening) + clocks.opening[columns.place[rows]]
    shifts = list(clocks.shifts)
    for crew in np.unique(crews):
        shift, opening = divmod(int(crew), len(clocks.of_opening))
        name, these = clocks.crew(shifts[shift], opening), crews == crew
        end = np.minimum(columns.end[rows[these]], until)
        minutes[these] = clocks.reading(name, end) - clocks.reading(name, columns.start[rows[these]])
    return rows, minutes * columns.people[rows]


def _worked(roster: Roster, columns: Columns) -> tuple[Numbers, Counts, Counts]:
    """People's minutes at work by segment, with period and trade. Work never runs over the end of its shift date."""
    rows, minutes = worked_minutes(columns, roster.bounds[-1])
    period = np.searchsorted(roster.bounds, columns.start[rows], side="right") - 1
    return minutes, period, columns.trade[rows] - 1


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
