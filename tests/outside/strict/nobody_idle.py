"""Nobody stands by while a package waits for people, or while a crew could have one more (F27, F28, F33)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from recorded.free_people import FreePeople
from recorded.run import AT_WORK, OVERTIME, Broken
from spans import inside

from linesim.line.records import Segment


class NobodyIdle(FreePeople):
    """People who could work."""

    def nobody_idle(self) -> Iterator[Broken]:
        """F27, F28, F33: no package waits that the free people of its trade on a shift, with those that may be lent to
        it, could begin; and none runs below its most people while they are free."""
        waits, grows, seen = [], [], 0
        for at in self.instants:
            for s in at.waiting:
                if self._is_held(s, at.t) or s.trade not in self.scenario.trades or self._keeps(s.trade):
                    continue
                least, _ = self._crew_of(s)
                for shift in self.calendar.shifts:
                    free = self.free_at(at, s.trade, shift, s.place)
                    lent = sum(self.free_at(at, other, shift, s.place) for other in self._lenders(s.trade)
                               if not self._keeps(other))
                    seen += 1
                    if free >= least or (lent and free + lent >= least):
                        waits.append(f"{at.t}: {s} with {free} + {lent} free on {shift}")
            if not self.rules.crew_grows:
                continue
            crews: dict[tuple[int, str, str], list[Segment]] = defaultdict(list)
            for s in (s for s in at.working if s.state in AT_WORK):
                crews[s.serial, s.half, s.job].append(s)
            for (_, _, job), crew in crews.items():
                package = self.packages.get(job)
                if package is None or package.kind != "work" or any(
                        s.trade == (package.inspector or "INS") for s in crew):
                    continue
                people, shift = sum(s.people for s in crew), crew[0].shift.removesuffix(OVERTIME)
                if people >= package.people[1] or not inside(self.crew(crew[0].shift, crew[0].place), at.t):
                    continue
                free = sum(self.free_at(at, trade, shift, crew[0].place)
                           for trade in (package.trade or "", *self._lenders(package.trade or ""))
                           if trade and not self._keeps(trade))
                seen += 1
                if free > 0:
                    grows.append(f"{at.t}: {crew[0]} with {free} free")
        yield "waiting although people are free", waits, seen
        yield "a crew below its most although people are free", grows, seen
