"""Who waits for people and who is free, between every two changes.

F26: least and most people of a package; F32: a trade that keeps a reserve; F33: lenders; F75, F85: what is held.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from functools import cache, cached_property
from typing import NamedTuple

from spans import inside

from linesim.line.records import Segment, State

from .mixed import Mixed
from .run import AT_WORK, OVERTIME


class Instant(NamedTuple):
    """Between two changes: who waits, who works."""

    t: float
    waiting: list[Segment]
    working: list[Segment]


class FreePeople(Mixed):
    """People at work, free and waited for in one run."""

    @cached_property
    def instants(self) -> list[Instant]:
        """Between every two changes, as far as anybody is at work."""
        times = {t for s in self.segments for t in (s.start, s.end)}
        names = [*self.calendar.shifts, *(self.sheet.extra.names if self.sheet.extra else ())]
        times |= {t for name in names for span in self.blocks_of(name) for t in span}
        times |= {t for n in range(len(self.names)) for span in self.crew("", n) for t in span}
        cuts = sorted(t for t in times if t <= self.records.ended)
        segments = sorted((s for s in self.segments if s.state in (State.PEOPLE, State.INSPECTOR)
                           or (s.state in (*AT_WORK, State.FLIGHT) and s.people and s.trade)), key=lambda s: s.start)
        found, active, n = [], [], 0
        for a, b in itertools.pairwise(cuts):
            active = [s for s in active if s.end > a]
            while n < len(segments) and segments[n].start <= a:
                active.append(segments[n])
                n += 1
            if b - a > 1e-3 and active:
                found.append(Instant((a + b) / 2, [s for s in active if s.state in (State.PEOPLE, State.INSPECTOR)],
                                     [s for s in active if s.state in (*AT_WORK, State.FLIGHT)]))
        return found

    def free_at(self, at: Instant, trade: str, shift: str, place: int) -> int:
        """People of a trade and shift who are at work and have none, for a place that is open to them."""
        people = self.present_at(trade, shift, at.t)
        name = shift if inside(self.blocks_of(shift), at.t) else f"{shift}{OVERTIME}"
        if not people or not inside(self.crew(name, place), at.t):
            return 0
        return people - sum(s.people for s in at.working if s.trade == trade
                            and s.shift.removesuffix(OVERTIME) == shift and (s.state == State.FLIGHT or inside(
                                self.crew(s.shift, s.place), at.t)))

    def present_at(self, trade: str, shift: str, t: float) -> int:
        """People of a trade on a shift who are at work at an instant; 0 outside their blocks."""
        if inside(self.blocks_of(shift), t):
            return self.there(trade, shift).get(self.date_at(shift, t), 0)
        name = f"{shift}{OVERTIME}"
        if self.sheet.extra is not None and inside(self.blocks_of(name), t):
            return self._extra.get((trade, shift, self.date_at(name, t)), 0)
        return 0

    @cache  # noqa: B019
    def there(self, trade: str, shift: str) -> dict[int, int]:
        return self.present(trade, shift)

    @cache  # noqa: B019
    def _is_held(self, s: Segment, t: float) -> bool:
        return (s.daylight and not self._light(t)) or any(
            one.serial == s.serial and one.half == s.half and one.state in (State.LOCKED, State.FLIGHT)
            and one.start <= t < one.end for one in self._kept_spans[s.serial])

    @cached_property
    def _kept_spans(self) -> dict[int, list[Segment]]:
        found: dict[int, list[Segment]] = defaultdict(list)
        for s in self.segments:
            if s.state in (State.LOCKED, State.FLIGHT):
                found[s.serial].append(s)
        return found

    def _crew_of(self, s: Segment) -> tuple[int, int]:
        package = self.packages.get(s.job)
        if package is None or package.kind != "work" or s.trade != package.trade or self._is_bought_off(s):
            return 1, 1
        return package.people

    def _is_bought_off(self, s: Segment) -> bool:
        return s.state == State.INSPECTOR

    def _lenders(self, trade: str) -> list[str]:
        if not self.rules.cover_in_force or trade not in self.scenario.trades:
            return []
        return list(self.scenario.trades[trade].cover)

    def _keeps(self, trade: str) -> bool:
        of = self.scenario.trades[trade].reserve
        return self.rules.reserve if of is None else of
