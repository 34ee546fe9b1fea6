"""What a person does in an hour.

F62: by shift, by effectiveness of those who are there, by overtime; F64: the more hours of a week, the less.
"""

from __future__ import annotations

import itertools
from bisect import bisect_right
from datetime import timedelta
from functools import cached_property

from linesim.scenario.calendar import shift_day

from .mixed import Mixed
from .run import OVERTIME, TINY


class Able(Mixed):
    """How able the people of one run are."""

    def able(self, trade: str, shift: str, t: float) -> float:
        """F62: work per person and hour."""
        name = shift.removesuffix(OVERTIME)
        day = self.date_at(shift, t)
        found = self.scenario.shifts[name].productivity if name in self.scenario.shifts else 1.0
        there = self.records.attended.get((trade, name))
        if there is not None:
            n = bisect_right(there.days, day) - 1
            found *= there.effectiveness[n]  # on an extra Saturday as on the date before
        if shift.endswith(OVERTIME):
            rules = self.scenario.attendance.overtime
            after = t > max(b for a, b, d in self._blocks(name) if d == day) - TINY if not self._is_saturday(
                name, day) else True
            if not rules.extra_hours_only or after:
                found *= self.effect(name, (day + self.scenario.start.weekday()) // 7)
        return found

    def effect(self, shift: str, week: int) -> float:
        """F64: by scheduled paid hours of the week, straight between the points, 1 at 40, the last value beyond."""
        rules = self.scenario.attendance.overtime
        monday = self.scenario.start.weekday()
        normal = shift_day(self.scenario.shifts[shift], self.scenario.tool_control).paid / 60
        days = sum((day + monday) // 7 == week for _, day in self._dates_of[shift])
        if rules.when == "Saturday":
            closed = self.scenario.start + timedelta(days=7 * week + 5 - monday) in self.scenario.calendar.closed
            hours = days * normal + (0.0 if closed else min(rules.max_hours_per_week, normal))
        else:
            names = self.scenario.shifts[shift].weekdays or self.scenario.work_weekdays
            hours = days * (normal + rules.max_hours_per_week * 60 / max(5, len(names)) // 15 * 15 / 60)
        points = [(40.0, 1.0), *sorted((float(h), e) for h, e in rules.effect_by_weekly_hours.items())]
        able = points[-1][1]
        for (h0, e0), (h1, e1) in itertools.pairwise(points):
            if hours <= h0:
                able = e0
                break
            if hours < h1:
                able = e0 + (e1 - e0) * (hours - h0) / (h1 - h0)
                break
        if rules.fatigue_after_weeks is not None and self._in_a_row(week) > rules.fatigue_after_weeks:
            able -= rules.extra_loss_after
        return max(able, 0.0)

    @cached_property
    def weeks_in_a_row(self) -> dict[int, int]:
        """Weeks with overtime: how many in a row."""
        monday = self.scenario.start.weekday()
        found: dict[int, int] = {}
        for week in sorted({(e.day + monday) // 7 for e in self.records.overtime}):
            found[week] = found.get(week - 1, 0) + 1
        return found

    def _in_a_row(self, week: int) -> int:
        """Of a week that the end of the run cuts short, too."""
        return self.weeks_in_a_row.get(week, self.weeks_in_a_row.get(week - 1, 0) + 1)
