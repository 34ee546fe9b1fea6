"""Weeks of overtime: which days are longer, by how much, for whom (F64)."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from functools import cached_property

from audit.overtime import Overtime
from recorded.clocks import Clocks
from recorded.run import Broken

from linesim.scenario.calendar import shift_day


class LongerWeeks(Overtime, Clocks):
    """Longer weeks."""

    def longer_weeks(self) -> Iterator[Broken]:
        """F64: which days are longer, by how much, for whom."""
        rules = self.scenario.attendance.overtime if self.scenario.attendance else None
        if rules is None:
            return
        bad, seen = [], 0
        monday, start = self.scenario.start.weekday(), self.scenario.start
        for e in self.records.overtime:
            seen += 1
            weekday = (e.day + monday) % 7
            day = shift_day(self.scenario.shifts[e.shift], self.scenario.tool_control)
            cap = rules.max_hours_per_week * 60
            if rules.when == "Saturday":
                paid = min(cap, day.paid)
                right = weekday == 5 and e.work == paid - day.checked - day.breaks and e.checked == day.checked
            else:
                names = self.scenario.shifts[e.shift].weekdays or self.scenario.work_weekdays
                paid = cap / max(5, len(names)) // 15 * 15
                right = weekday < 5 and e.work == paid and not e.checked
            there = self.present(e.trade, e.shift)
            before = max(d for d in there if d <= e.day)
            people = there[before] if rules.people is None else min(there[before], rules.people)
            if not right or e.paid != paid or e.people != people or e.trade not in rules.trades:
                bad.append(f"{e}: {paid} minutes paid, {people} people")
        asked = {(e.day + monday) // 7 for e in self.records.overtime}
        for week in (n for n in asked if self.calendar.midnights[7 * n + 7 - monday] <= self.over):
            for trade in rules.trades:
                for shift in self.scenario.trades[trade].people:
                    days = [d for _, d in self._dates_of[shift] if (d + monday) // 7 == week
                            and self.calendar.midnights[d + 1] <= self.over]
                    got = [e for e in self.records.overtime if e.trade == trade and e.shift == shift
                           and (e.day + monday) // 7 == week]
                    seen += 1
                    closed = start + timedelta(days=7 * week + 5 - monday) in self.scenario.calendar.closed
                    if len(got) != (len(days) if rules.when != "Saturday" else int(not closed)):
                        bad.append(f"week {week}: {trade} on {shift} {len(got)} of {len(days)} days")
        if rules.trigger_work_days_late is not None and rules.trigger_launches_behind_work_days is None:
            wrong = self._wrong_weeks(rules.trigger_work_days_late, monday, self.over - 6 * 1440)
            seen += 1
            if wrong:
                bad.append(f"{wrong} weeks asked, or not, against the lateness")
        yield "overtime on other days, of another length, or of others", bad, seen

    @cached_property
    def over(self) -> float:
        """When the last aircraft has left the floor, or the end of the run."""
        left = set(self.records.delivered) | set(self.records.stock_ready)
        if {*self.launched, *self.records.standing} <= left and self.launched:
            return max(*self.records.delivered.values(), *self.records.stock_ready.values(), self.calendar.end)
        return self.records.ended
