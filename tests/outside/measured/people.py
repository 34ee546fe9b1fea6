"""Hours of people: paid, worked, checked, breaks, trained, absent, idle; wages; work that stands in aircraft (F108)."""

from __future__ import annotations

import itertools
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator
from datetime import date, timedelta
from functools import cache
from math import inf, isclose

from recorded.run import Broken
from spans import Spans, lasts

from linesim.line.records import State
from linesim.measures.labour import ACCOUNT
from linesim.scenario.calendar import shift_day, taken_out

from .by_reason import Hours, differ
from .pieces import Pieces


class HoursOfPeople(Pieces):
    """The account of people."""

    def hours_of_people(self) -> Iterator[Broken]:
        """By months cut at the window, and by weeks; what is paid more; what stands in aircraft not delivered."""
        bad, run, scenario = [], self.run, self.scenario
        window = scenario.window
        firsts = sorted({scenario.start, window.first, window.last + timedelta(days=1), *(
            date(2027, month, 1) for month in range(2, 13))})
        firsts = [first for first in firsts if scenario.start <= first <= scenario.end]
        edges = [*map(self.calendar.instant, firsts), self.calendar.end]
        account, trades = self._account(edges), list(scenario.trades)
        for (trade, n), minutes in account.items():
            row = run.labour[trades.index(trade), n].tolist()
            bad += differ(f"{trade} {firsts[n]}", dict(zip(ACCOUNT, [m / 60 for m in minutes], strict=True)),
                          dict(zip(ACCOUNT, row, strict=True)))
        weeks = [self.calendar.instant(scenario.start + timedelta(days=7 * n)) for n in range(
            (scenario.end - scenario.start).days // 7 + 1)]
        by_week = self._account([*weeks, self.calendar.end] if weeks[-1] < self.calendar.end else weeks)
        for (trade, n), minutes in by_week.items():
            load = run.load_by_week[:, trades.index(trade), n].tolist()
            if not isclose(load[0] * 60, minutes[1], abs_tol=1e-3) or not isclose(
                    load[1] * 60, minutes[1] + minutes[6], abs_tol=1e-3):
                bad.append(f"{trade} week {n}: {load} for {minutes}")
        bad += self._wages(edges, account)
        bad += self._standing(edges)
        yield "hours of people", bad, len(account) + len(by_week)

    def _account(self, edges: list[float]) -> dict[tuple[str, int], list[float]]:
        """F108: minutes by trade and stretch: paid, worked, checked, breaks, trained, absent, idle."""
        scenario, rules = self.scenario, self.scenario.attendance
        leave_paid = rules is None or rules.leave is None or rules.leave.paid
        absence_paid = rules is None or rules.absence is None or rules.absence.paid
        found: dict[tuple[str, int], list[float]] = defaultdict(lambda: [0.0] * 7)

        def add(trade: str, t: float, *minutes: float) -> None:
            if edges[0] <= t < edges[-1]:
                cell = found[trade, bisect_right(edges, t) - 1]
                for n, m in enumerate(minutes):
                    cell[n] += m

        for trade in scenario.trades:
            for shift in self.rostered(trade):
                day = shift_day(scenario.shifts[shift], scenario.tool_control)
                there = self.records.attended.get((trade, shift))
                rows = zip(*there[2:7], strict=True) if there is not None else (
                    (number, people, 0, 0, 0) for number, people in self.present(trade, shift).items())
                for number, present, leave, absent, trained in rows:
                    if number < 0:
                        continue
                    away = leave * leave_paid + absent * absence_paid
                    add(trade, self.calendar.midnights[number], (present + trained + away) * day.paid, 0.0,
                        present * day.checked, present * day.breaks, trained * day.paid, away * day.paid,
                        present * day.work)
        for e in self.records.overtime:
            add(e.trade, self.calendar.midnights[e.day], e.people * e.paid, 0.0, e.people * e.checked,
                e.people * (e.paid - e.work - e.checked), 0.0, 0.0, e.people * e.work)
        for s in (s for s in self.worked if s.trade):
            minutes = s.people * lasts(self.crew(s.shift, s.place), s.start, min(s.end, edges[-1]))
            add(s.trade, s.start, 0.0, minutes, 0.0, 0.0, 0.0, 0.0, -minutes)
        for s in (s for s in self.segments if s.state == State.FLIGHT):  # over a break worked, over the meal paid, too
            last = min(s.end, edges[-1])
            work, meal = lasts(self.blocks_of(s.shift), s.start, last), lasts(self._meals(s.shift), s.start, last)
            add(s.trade, s.start, meal, last - s.start, 0.0, work + meal - (last - s.start), 0.0, 0.0, -work)
        return found

    @cache  # noqa: B019
    def _meals(self, shift: str) -> Spans:
        control = self.scenario.tool_control
        meals = [(a, b) for kind, a, b in taken_out(self.calendar.shifts[shift], control) if kind == "meal"]
        return [(self.calendar.midnights[day] + a, self.calendar.midnights[day] + b)
                for _, day in self._dates_of[shift] for a, b in meals]

    def _wages(self, edges: list[float], account: dict[tuple[str, int], list[float]]) -> list[str]:
        rules, trades = self.scenario.attendance, list(self.scenario.trades)
        expected = {key: minutes[0] for key, minutes in account.items()}
        leave_paid = rules is None or rules.leave is None or rules.leave.paid
        absence_paid = rules is None or rules.absence is None or rules.absence.paid
        for trade in trades:
            if "evening" in self.rostered(trade):
                paid = shift_day(self.scenario.shifts["evening"], self.scenario.tool_control).paid
                there = self.records.attended.get((trade, "evening"))
                rows = zip(*there[2:7], strict=True) if there is not None else (
                    (number, people, 0, 0, 0) for number, people in self.present(trade, "evening").items())
                for number, present, leave, absent, trained in rows:
                    t = self.calendar.midnights[max(number, 0)]
                    if number >= 0 and t < edges[-1]:
                        heads = present + trained + leave * leave_paid + absent * absence_paid
                        expected[trade, bisect_right(edges, t) - 1] += 0.1 * heads * paid
        for e in self.records.overtime:
            t = self.calendar.midnights[e.day]
            if t < edges[-1]:
                more = self.scenario.attendance.overtime.premium - 1 + 0.1 * (e.shift == "evening")
                expected[e.trade, bisect_right(edges, t) - 1] += more * e.people * e.paid
        return differ("wages", {key: m / 60 for key, m in expected.items()},
                      {(trade, n): float(self.run.wage_hours[trades.index(trade), n]) for trade, n in expected})

    def _standing(self, edges: list[float]) -> list[str]:
        """Work put in at the middle of a stretch of work stands in the aircraft until it is delivered."""
        trades = list(self.scenario.trades)
        at_end: Hours = defaultdict(float)
        mean: Hours = defaultdict(float)
        flown = [s for s in self.segments if s.state == State.FLIGHT]
        for s in (s for s in (*self.worked, *flown) if s.trade and s.start < edges[-1]):
            last = min(s.end, edges[-1])
            hours = (last - s.start if s.state == State.FLIGHT else
                     s.people * lasts(self.crew(s.shift, s.place), s.start, last)) / 60
            middle, gone = (s.start + last) / 2, self.records.delivered.get(s.serial, inf)
            for n, (a, b) in enumerate(itertools.pairwise(edges)):
                if middle < b <= gone:
                    at_end[trades.index(s.trade), n] += hours
                mean[trades.index(s.trade), n] += hours * max(0.0, min(gone, b) - max(middle, a)) / (b - a)
        found = self.run.standing_labour
        keys = [(k, n) for k in range(len(trades)) for n in range(len(edges) - 1)]
        return differ("work in aircraft at the end", at_end, {key: float(found[0][key]) for key in keys}) + differ(
            "work in aircraft in the mean", mean, {key: float(found[1][key]) for key in keys})
