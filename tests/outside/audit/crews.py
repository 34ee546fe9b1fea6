"""Crews on packages: how many, of which trade, where.

F25, F26, F35, F36, F75, F85: least and most people, the inspector's buy-off, in a dock, never on an aircraft that flies
or is locked.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from typing import Any

from recorded.run import AT_WORK, TINY, Recorded, Row
from spans import most_at_once

from linesim.line.records import State


class Crews(Recorded):
    """Crews and the place of their work."""

    def crews(self) -> Iterator[Row]:
        """F26: never fewer people than the least, nor more than the most; F35, F36: the buy-off by one inspector."""
        crews: dict[tuple[Any, ...], list[tuple[float, float, int]]] = defaultdict(list)
        for s in self.worked:
            if s.job in self.packages:
                package = self.packages[s.job]
                inspects = s.trade == (package.inspector or "INS") and s.trade != package.trade
                crews[s.serial, s.half, s.job, inspects].append((s.start, s.end, s.people))
        over = under = 0
        for (_, _, job, inspects), spans in crews.items():
            least, most = (1, 1) if inspects or self.packages[job].kind == "buy-off" else self.packages[job].people
            over += most_at_once(spans) > most
            together: dict[tuple[float, float], int] = defaultdict(int)
            for a, b, n in spans:
                together[a, b] += n
            under += any(n < least for (a, b), n in together.items() if b > a)
        yield "crews over the most people", over, len(crews)
        yield "crews under the least people", under, len(crews)
        wrong = [s for s in self.worked if s.job in self.packages and s.trade not in self._trades_of(s.job)]
        yield "work by a trade that is not the package's, its inspector's or a lender", len(wrong), len(self.worked)

    def _trades_of(self, job: str) -> set[str]:
        package = self.packages[job]
        own = package.trade or "INS"
        lend = set(self.scenario.trades[own].cover) if self.scenario.work_rules.cover_in_force else set()
        return {own, *lend, *([package.inspector or "INS"] if package.inspection_hours else [])}

    def in_docks(self) -> Iterator[Row]:
        """F25: hands-on work lies inside a stay of its aircraft in a dock of its place (a fleet hold's: anywhere)."""
        outside = 0
        for s in self.worked:
            stays = self.by_aircraft.get((s.serial, s.half), [])
            outside += not any(v.place == s.place and v.arrived <= s.start and s.end <= v.left for v in stays
                               if not v.parked) and not s.job.startswith(("fleet", "inspection", "re-torque"))
        yield "work outside a stay in its place", outside, len(self.worked)

    def nothing_beside_flights_and_locks(self) -> Iterator[Row]:
        """F75, F85: nobody works on an aircraft that flies or is locked."""
        bad = seen = 0
        for segments in self._of_serial.values():
            closed = [(s.start, s.end, s.half) for s in segments if s.state in (State.FLIGHT, State.LOCKED)]
            for s in segments if closed else ():
                if s.state in AT_WORK and s.people:
                    seen += 1
                    bad += any(s.start < b - TINY and s.end > a + TINY and s.half == half for a, b, half in closed)
        yield "worked on while it flies or is locked", bad, seen
