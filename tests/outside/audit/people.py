"""The people of a trade on a shift date.

F27, F28, F29, F33, F60: never more at work than are there, in their own hours, nobody free while work waits.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from functools import cache

import numpy as np
from recorded.run import OVERTIME, TINY, Recorded, Row
from spans import most_at_once

from linesim.line.records import Segment, State


class People(Recorded):
    """People at work."""

    def people(self) -> Iterator[Row]:
        """F29, F33, F60: crews work inside one shift date of their shift, never more people than are there; nobody is
        free while one person's work waits (no lock, night, cover, reserve), nor while a crew may grow (F27, F28)."""
        over = outside = waits = grows = seen = looked = 0
        for trade in self.scenario.trades:
            for shift in (one for one in self.calendar.shifts if self.present(trade, one)):
                blocks, longer = self._blocks(shift), {}
                if self.sheet.extra is not None and trade in self.sheet.extra.rules.trades:
                    longer = {day: (a, b) for a, b, day in self._blocks(f"{shift}{OVERTIME}")}
                ours = [s for s in self.worked if s.trade == trade and s.shift.removesuffix(OVERTIME) == shift]
                ours += [s for s in self.segments if s.state == State.FLIGHT and s.trade == trade and s.shift == shift]
                starts = np.array([a for a, _, _ in blocks])
                days: dict[int, list[tuple[float, float, int]]] = defaultdict(list)
                for s in ours:
                    n = int(np.searchsorted(starts, s.start, side="right")) - 1
                    day = blocks[max(n, 0)][2]
                    days[day].append((s.start, s.end, s.people))
                    if s.state != State.FLIGHT:
                        last = self._last(shift, day)
                        outside += s.start < blocks[n][0] - TINY or s.end > max(
                            last, longer.get(day, (0.0, 0.0))[1]) + TINY
                    seen += 1
                there = self.present(trade, shift)
                over += sum(most_at_once(spans) > there.get(day, 0) for day, spans in days.items())
                a, b, c = self._left_idle(trade, shift, blocks, ours, there)
                waits, grows, looked = waits + a, grows + b, looked + c
        yield "more people at work than are there, shift dates", over, seen
        yield "work outside the shift date on which it began", outside, seen
        yield "people free while work of one person waits", waits, looked
        yield "people free while a crew may grow", grows, looked

    @cache  # noqa: B019
    def _last(self, shift: str, day: int) -> float:
        ends: dict[int, float] = self._ends(shift)
        return ends[day]

    @cache  # noqa: B019
    def _ends(self, shift: str) -> dict[int, float]:
        found: dict[int, float] = {}
        for _, b, day in self._blocks(shift):
            found[day] = max(b, found.get(day, 0.0))
        return found

    def _left_idle(self, trade: str, shift: str, blocks: list[tuple[float, float, int]], ours: list[Segment],
                   there: dict[int, int]) -> tuple[int, int, int]:
        """Instants (between two changes, in working time) with free people and work for them."""
        declared = self.scenario.trades[trade]
        if declared.reserve or len(declared.people) > 1 or self.scenario.work_rules.cover_in_force or trade == "FTP":
            return 0, 0, 0
        kept = {s.serial for s in self.segments if s.state == State.LOCKED} | {
            self.records.serials.index(n) for hold in self.scenario.fleet_holds for n in hold.serials
            if n in self.records.serials}
        flying = [(s.serial, s.start, s.end) for s in self.segments if s.state == State.FLIGHT]
        waiting = [s for s in self.segments if s.trade == trade and s.state in (State.PEOPLE, State.INSPECTOR)
                   and s.serial not in kept and not s.daylight and not self.sheet.places[s.place].position.shifts
                   and not any(n == s.serial and a < s.end and b > s.start for n, a, b in flying)
                   and (s.job not in self.packages or self.packages[s.job].people[0] == 1
                        or trade != self.packages[s.job].trade)]
        growing = [s for s in ours if s.job in self.packages and s.trade == self.packages[s.job].trade
                   and self.packages[s.job].kind == "work" and s.people < self.packages[s.job].people[1]
                   and s.serial not in kept and s.state != State.FLIGHT and not s.daylight
                   and not self.sheet.places[s.place].position.shifts]
        times = np.unique(np.array([t for s in (*ours, *waiting) for t in (s.start, s.end)]
                                   + [t for a, b, _ in blocks for t in (a, b)]))
        middle, length = (times[:-1] + times[1:]) / 2, np.diff(times)
        n = np.clip(np.searchsorted([a for a, _, _ in blocks], middle, side="right") - 1, 0, None)
        ends = np.array([b for _, b, _ in blocks])
        number = np.array([there.get(day, 0) for _, _, day in blocks])
        on = (middle < ends[n]) & (length > 1e-3) & (middle > blocks[0][0]) & (middle < self.records.ended)
        free = number[n] - self._count(times, ours)
        idle = on & (free > 0)
        return (int((idle & (self._count(times, waiting, each=True) > 0)).sum()),
                int((idle & (self._count(times, growing, each=True) > 0)).sum()), int(on.sum()))

    @staticmethod
    def _count(times: np.ndarray, segments: list[Segment], *, each: bool = False) -> np.ndarray:
        change = np.zeros(len(times) + 1)
        for s in segments:
            weight = 1 if each else s.people
            change[np.searchsorted(times, s.start)] += weight
            change[np.searchsorted(times, s.end)] -= weight
        return np.cumsum(change)[:-2]
