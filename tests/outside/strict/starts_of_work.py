"""A package waits, is worked on, is held, is closed: one after the other, from the instant at which it could start.

F25, F37: from the closing of its predecessors; F26-F29, F56: without a gap to its closing.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterator
from math import inf

from recorded.mixed import Mixed
from recorded.run import TINY, Broken

from linesim.line.records import Closing, State, Visit
from linesim.scenario.plant import Package, Position


class StartsOfWork(Mixed):
    """Packages from their start to their closing."""

    def without_gaps(self) -> Iterator[Broken]:
        """F26-F29, F56: from the instant at which it could start to its closing a package is in one state at a time."""
        bad, seen = [], 0
        for c, life in self.lives():
            spans = sorted({(s.start, s.end) for s in life})
            seen += len(spans)
            for (_, b), (a, _) in itertools.pairwise(spans):
                if abs(a - b) > TINY and not (self._is_returned(c) or self._is_recalled(c.serial, a, a)
                                              or self._is_locked_to(c.serial, a)):
                    bad.append(f"{c} from {b} to {a}")
            if spans and abs(spans[-1][1] - c.closed) > TINY:
                bad.append(f"{c} closed, last worked or waited {spans[-1]}")
            states = defaultdict(set)
            for s in life:
                states[s.start].add(s.state)
            bad += [f"{c}: two states at {t}" for t, of in states.items() if len(of) > 1]
        yield "gaps or two states in the life of a package", bad, seen

    def _is_returned(self, c: Closing) -> bool:
        return c.job in self.packages and self.packages[c.job].kind == "appointment"

    def _is_locked_to(self, serial: int, t: float) -> bool:
        return any(s.state == State.LOCKED and abs(s.end - t) < TINY for s in self._of_serial[serial])

    def starts(self) -> Iterator[Broken]:
        """F25, F37: a package is there from the instant at which the aircraft stands in the place and all before it is
        closed; a lock, and no more, puts that off."""
        bad, seen = [], 0
        for c, life in self.lives():
            if c.job not in self.packages or c.serial in self.records.standing:
                continue
            position, package = self.where[c.job], self.packages[c.job]
            if position.repeat_chance or (self.pulse_on and package.kind == "buy-off"):
                continue
            stay = self._stay_of(c)
            if stay is None or (c.repeat and not self._goes_back):
                continue
            free = max([stay.arrived, *(self._closed_before(c, name) for name in self._before(position, package))])
            begins = life[0].start if life else c.closed
            seen += 1
            for s in self._of_serial[c.serial]:
                if s.state == State.LOCKED and s.start <= free < s.end and s.half == c.half and package.kind != "hold":
                    free = s.end
            if abs(begins - free) > TINY and not self._is_recalled(c.serial, free, begins):
                bad.append(f"{c} from {begins}, could start at {free}")
        yield "packages that begin or wait from another instant", bad, seen

    def _stay_of(self, c: Closing) -> Visit | None:
        """The stay in which a package was planned."""
        names = {self.where[c.job].id}
        stays = [v for v in self.stays if v.serial == c.serial and not v.parked and self.names[v.place] in names]
        stays.sort(key=lambda v: v.arrived)
        n = c.repeat if self._goes_back else 0
        return stays[n] if n < len(stays) else None

    def _before(self, position: Position, package: Package) -> list[str]:
        ids = [p.id for p in position.packages]
        n = ids.index(package.id)
        return list(package.after) if package.after is not None else ids[max(0, n - 1):n]

    def _closed_before(self, c: Closing, name: str) -> float:
        times = [t for (serial, job, repeat), t in self.closed.items() if serial == c.serial and job == name
                 and (repeat == c.repeat or (self.packages[name].gate and not self._goes_back))]
        return max(times, default=inf)

    def _is_recalled(self, serial: int, free: float, begins: float) -> bool:
        """A re-torque that the last buy-off waits for (F68)."""
        return any(c.serial == serial and c.job.startswith("re-torque") and free - TINY <= c.closed <= begins + TINY
                   for c in self.closings)
