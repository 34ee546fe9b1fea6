"""Dates and clock times of the plant against real elapsed time, and the clock of every shift.

One instant has one wall time. With a time zone the two change-over days have 23 and 25 hours, so a cure over that
night is never one real hour short.
"""

from __future__ import annotations

from bisect import bisect_right
from calendar import monthrange
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import cached_property
from itertools import pairwise
from zoneinfo import ZoneInfo

from .clock import TOLERANCE, Block, Clock, union
from .declared import WEEKDAYS, span_minutes
from .people import Shift, ToolControl
from .scenario import Scenario

QUARTER_HOUR = 15
DAY_MINUTES = 1440.0
LOOK_BEYOND_DAYS = 400  # delays and appointments may fall after the last day of the run
ROUND_THE_CLOCK = "round the clock"


def months_on(day: date, months: int) -> date:
    """The same day `months` later, or the last day of a shorter month."""
    index = day.year * 12 + day.month - 1 + months
    year, month = divmod(index, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def weeks_with_work(scenario: Scenario, year: int) -> list[date]:
    """Mondays that lie in a year and whose week, Monday to Sunday, has a work day."""
    monday = date(year, 1, 1) + timedelta(days=-date(year, 1, 1).weekday() % 7)
    weeks = [monday + timedelta(days=7 * n) for n in range(53)]
    closed, weekdays = set(scenario.calendar.closed), scenario.work_weekdays
    return [week for week in weeks if week.year == year and any(
        WEEKDAYS[n] in weekdays and week + timedelta(days=n) not in closed for n in range(7))]


def _down_to_quarter(minutes: float) -> float:
    return minutes // QUARTER_HOUR * QUARTER_HOUR


def taken_out(shift: Shift, checks: ToolControl | None) -> list[tuple[str, float, float]]:
    """What is not work in a shift: kind, first and last minute after midnight of its date.

    Order at the start: tool check, meeting; at the end: clean-down, tool check. When only lengths are given the meal
    lies in the middle and half of the paid breaks in the middle of each half, each start rounded down to a quarter
    hour.
    """
    if shift.start is None or shift.end is None:
        return []
    first, last = span_minutes(f"{shift.start}-{shift.end}")
    at_start, at_end = (checks.start_check, checks.end_check_minutes) if checks else (0, 0)
    meal = (0.0, 0.0)
    if shift.meal:
        meal = _within(first, shift.meal)
    elif shift.meal_minutes:
        begins = _down_to_quarter(first + (last - first - shift.meal_minutes) / 2)
        meal = (begins, begins + shift.meal_minutes)
    elif shift.paid_break_minutes:
        meal = ((first + last) / 2, (first + last) / 2)
    out: list[tuple[str, float, float]] = [
        ("check", first, first + at_start),
        ("meeting", first + at_start, first + at_start + shift.meeting_minutes),
        ("meal", *meal),
        ("clean-down", last - at_end - shift.clean_down_minutes, last - at_end),
        ("check", last - at_end, last)]
    for span in shift.breaks or ():
        out.append(("break", *_within(first, span)))
    if shift.paid_break_minutes:
        half = shift.paid_break_minutes / 2
        for begin, end in ((first, meal[0]), (meal[1], last)):
            at = _down_to_quarter((begin + end) / 2 - half / 2)
            out.append(("break", at, at + half))
    return sorted((kind, a, b) for kind, a, b in out if b > a)


def _within(first: float, span: str) -> tuple[float, float]:
    """A span as minutes after midnight of the shift date, on the next day if it lies before the shift's start."""
    a, b = span_minutes(span)
    shift_on = DAY_MINUTES if a < first else 0
    return a + shift_on, b + shift_on


def work_blocks(shift: Shift, checks: ToolControl | None = None) -> list[tuple[float, float]]:
    """Work blocks of a shift as minutes after midnight of its date (over 1440: the next day)."""
    if shift.work is not None:
        blocks, previous = [], 0.0
        for span in shift.work:
            a, b = (float(part) for part in span_minutes(span))
            if a < previous:
                a, b = a + DAY_MINUTES, b + DAY_MINUTES
            blocks.append((a, b))
            previous = b
        return blocks
    assert shift.start is not None
    assert shift.end is not None
    first, last = span_minutes(f"{shift.start}-{shift.end}")
    blocks = [(float(first), float(last))]
    for _, a, b in taken_out(shift, checks):
        blocks = [piece for s, e in blocks for piece in ((s, min(e, a)), (max(s, b), e)) if piece[0] < piece[1]]
    return blocks


@dataclass(frozen=True, slots=True)
class ShiftDay:
    """What one person is paid for on one shift date, in minutes."""

    work: float
    checked: float
    breaks: float

    @property
    def paid(self) -> float:
        """All of it."""
        return self.work + self.checked + self.breaks


def shift_day(shift: Shift, checks: ToolControl | None = None) -> ShiftDay:
    """Minutes of a full shift date. Work blocks written outright are all that is paid."""
    work = sum(b - a for a, b in work_blocks(shift, checks))
    if shift.work is not None:
        return ShiftDay(work, 0.0, 0.0)
    checked = breaks = 0.0
    for kind, a, b in taken_out(shift, checks):
        checked += b - a if kind == "check" else 0.0
        breaks += b - a if kind not in ("check", "meal") else 0.0
    return ShiftDay(work, checked, breaks)


def paid_span(shift: Shift, checks: ToolControl | None = None) -> tuple[float, float, float]:
    """Start, start of the closing check and end of a shift as minutes after midnight of its date."""
    blocks = work_blocks(shift, checks)
    if shift.start is None or shift.end is None:
        return blocks[0][0], blocks[-1][1], blocks[-1][1]
    first, last = span_minutes(f"{shift.start}-{shift.end}")
    return float(first), float(last - (checks.end_check_minutes if checks else 0)), float(last)


class WorkCalendar:
    """Dates, instants and shift clocks of one scenario, up to `LOOK_BEYOND_DAYS` after its run."""

    def __init__(self, scenario: Scenario) -> None:
        self.scenario = scenario
        self.zone = ZoneInfo(scenario.time_zone) if scenario.time_zone else None
        self._zero = self._utc(scenario.start, 0.0)
        self.midnights: list[float] = []
        self.end = self.instant(scenario.end + timedelta(days=1))
        self.last_day = months_on(scenario.end, scenario.run_on_months) if scenario.run_on_months else scenario.end
        self.run_end = self.instant(self.last_day + timedelta(days=1))
        self.days = (self.last_day - scenario.start).days + 1 + LOOK_BEYOND_DAYS
        self.midnights = [self.instant(scenario.start + timedelta(days=n)) for n in range(self.days + 1)]
        self._plain = [b - a == DAY_MINUTES for a, b in pairwise(self.midnights)]  # no clock is put on or back
        self.shifts = dict(scenario.shifts) or {ROUND_THE_CLOCK: Shift(work=("00:00-24:00",))}
        self.reference_shift = next(iter(self.shifts))
        self._clocks: dict[str, Clock] = {}

    def _utc(self, day: date, minutes: float) -> float:
        wall = datetime(day.year, day.month, day.day) + timedelta(minutes=minutes)
        if self.zone is None:
            return (wall - datetime(2000, 1, 1)).total_seconds() / 60
        return (wall.replace(tzinfo=self.zone).astimezone(UTC) - datetime(2000, 1, 1, tzinfo=UTC)).total_seconds() / 60

    def instant(self, day: date, minutes: float = 0.0) -> float:
        """Instant of a clock time, given as minutes after midnight of a date."""
        if self.midnights and 0 <= minutes < 2 * DAY_MINUTES and minutes * 4 % 1 == 0:  # exact, and much quicker
            first = (day - self.scenario.start).days
            last = first if minutes < DAY_MINUTES else first + 1
            if first >= 0 and last < self.days and self._plain[first] and self._plain[last]:
                return self.midnights[first] + minutes
        return self._utc(day, minutes) - self._zero

    def of_moment(self, moment: datetime) -> float:
        """Instant of a wall-clock moment."""
        return self.instant(moment.date(), moment.hour * 60 + moment.minute)

    def wall(self, t: float) -> datetime:
        """Wall-clock time of an instant, to the microsecond."""
        since = timedelta(minutes=self._zero + t)
        if self.zone is None:
            return datetime(2000, 1, 1) + since
        return (datetime(2000, 1, 1, tzinfo=UTC) + since).astimezone(self.zone).replace(tzinfo=None)

    def wall_text(self, t: float) -> str:
        """Wall-clock time rounded to the nearest minute, YYYY-MM-DD HH:MM."""
        return (self.wall(t) + timedelta(seconds=30)).strftime("%Y-%m-%d %H:%M")

    def day_number(self, t: float) -> int:
        """Number of the local date of an instant, 0 for the start."""
        return bisect_right(self.midnights, t) - 1

    def date_of(self, t: float) -> date:
        """Local date of an instant."""
        return self.scenario.start + timedelta(days=self.day_number(t))

    def is_work_day(self, day: date, shift: Shift | None = None) -> bool:
        """Whether a shift may start on the date."""
        listed = (shift.weekdays if shift else None) or self.scenario.work_weekdays
        return WEEKDAYS[day.weekday()] in listed and day not in self.scenario.calendar.closed

    def clock(self, name: str) -> Clock:
        """Clock of a shift."""
        if name not in self._clocks:
            self._clocks[name] = Clock(self._shift_blocks(self.shifts[name]))
        return self._clocks[name]

    def _shift_blocks(self, shift: Shift) -> list[Block]:
        row: list[Block] = []
        blocks = work_blocks(shift, self.scenario.tool_control)
        for number in range(-1, self.days):  # a shift of the evening before may run into the first day
            day = self.scenario.start + timedelta(days=number)
            if not self.is_work_day(day, shift):
                continue
            for a, b in blocks:
                start, end = max(self.instant(day, a), 0.0), self.instant(day, b)
                if end > start:
                    row.append((start, end, number))
        return row

    def union_clock(self, names: tuple[str, ...]) -> Clock:
        """Clock on which any of the shifts works."""
        key = "+".join(names)
        if key not in self._clocks:
            self._clocks[key] = Clock(union(self.clock(name).blocks() for name in names))
        return self._clocks[key]

    @property
    def reference(self) -> Clock:
        """Clock of the plant's reference shift."""
        return self.clock(self.reference_shift)

    @cached_property
    def dates(self) -> list[date]:
        """All dates from the start."""
        return [self.scenario.start + timedelta(days=n) for n in range(self.days)]

    @cached_property
    def names_of_dates(self) -> list[str]:
        """The dates as YYYY-MM-DD."""
        return [str(day) for day in self.dates]

    @cached_property
    def work_day(self) -> float:
        """Minutes of one work day as a length: productive time of the reference shift."""
        return sum(b - a for a, b in work_blocks(self.shifts[self.reference_shift], self.scenario.tool_control))

    def work_days_later(self, t: float, work_days: float) -> float:
        """Latest instant `work_days` after `t` on the reference clock (a delay, a notice, a planned moment); the start,
        if they were over before it."""
        minutes = work_days * self.work_day
        if t >= 0:
            return self.reference.later(t, minutes)
        left = minutes - self._before_start(t)
        return self.reference.latest(left) if left > -TOLERANCE else 0.0

    def _before_start(self, t: float) -> float:
        """Working minutes of the reference shift from an instant before the start up to the start."""
        shift, day = self.shifts[self.reference_shift], self.wall(t).date() - timedelta(days=1)
        found = 0.0
        while day < self.scenario.start:
            if self.is_work_day(day, shift):
                spans = [(self.instant(day, a), self.instant(day, b))
                         for a, b in work_blocks(shift, self.scenario.tool_control)]
                found += sum(max(0.0, min(b, 0.0) - max(a, t)) for a, b in spans)
            day += timedelta(days=1)
        return found
