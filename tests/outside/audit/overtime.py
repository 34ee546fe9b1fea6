"""Weeks of overtime: which ones, how long, for whom (F64)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import timedelta
from math import inf

from recorded.run import TINY, Recorded, Row


class Overtime(Recorded):
    """Longer weeks."""

    def overtime(self) -> Iterator[Row]:
        """F64: no more than the cap of a week, rounded down to a quarter hour a day; only the trades named; all the
        week or not at all."""
        rules = self.scenario.attendance.overtime if self.scenario.attendance else None
        if rules is None:
            return
        weeks: dict[tuple[str, str, int], list[float]] = defaultdict(list)
        monday = self.scenario.start.weekday()
        for e in self.records.overtime:
            weeks[e.trade, e.shift, (e.day + monday) // 7].append(e.paid)
        bad = sum(sum(paid) > rules.max_hours_per_week * 60 + TINY or len({*paid}) > 1 or len(paid) > 5
                  for paid in weeks.values())
        named = sum(e.trade not in rules.trades or e.work > e.paid for e in self.records.overtime)
        yield "weeks over the cap, or people asked who are not named", bad + named, len(weeks)
        daily = rules.max_hours_per_week * 60 / 5 // 15 * 15
        yield "overtime days of another length", sum(e.paid != daily for e in self.records.overtime), len(weeks)
        yield "weeks of overtime without a late aircraft, or a late one without overtime", self._wrong_weeks(
            rules.trigger_work_days_late or 0.0, monday), len(self._weeks(monday))

    def _weeks(self, monday: int) -> dict[int, float]:
        """First working instant of each week."""
        weeks: dict[int, float] = {}
        for shift in self.calendar.shifts:
            for a, _, day in self.calendar.clock(shift).blocks():
                week = (day + monday) // 7
                weeks[week] = min(a, weeks.get(week, a))
        return weeks

    def _wrong_weeks(self, least: float, monday: int, until: float = inf) -> int:
        asked = {(e.day + monday) // 7 for e in self.records.overtime}
        promised = {order.serial: order.promised for order in self.scenario.orders or ()}
        if self.records.promised or self.records.unordered:
            return 0
        wrong = 0
        clock = self.calendar.reference
        for week, t in self._weeks(monday).items():
            late = -1e9
            for n, name in enumerate(self.records.serials):
                here = self.launched.get(n, 0.0 if n in self.records.standing else 1e18)
                gone = self.records.delivered.get(n, 1e18)
                if here < t < gone and promised.get(name):
                    due = max(0.0, self.calendar.instant(promised[name] + timedelta(days=1)))
                    late = max(late, (clock.reading(t) - clock.reading(due)) / self.calendar.work_day)
            wrong += (late >= least - 1e-9) != (week in asked) and t < min(until, self.records.ended)
        return wrong
