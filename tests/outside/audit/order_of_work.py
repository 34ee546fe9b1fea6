"""Packages in their order, and how long they last.

F25, F37: predecessors; holds and cures to the minute; F34, F35: hours of buy-offs.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from math import isclose

from recorded.run import TINY, Recorded, Row

from linesim.line.records import State


class OrderOfWork(Recorded):
    """Packages one after the other."""

    def order_of_work(self) -> Iterator[Row]:
        """F25, F37: predecessors are closed before a package starts; holds last to the minute; F97: what is begun is
        done once."""
        first: dict[tuple[int, str, str], float] = {}
        for c in self.records.closings:
            if c.repeat == 0:
                first.setdefault((c.serial, c.half, c.job), c.closed)
        began: dict[tuple[int, str, str], float] = {}
        for s in self.worked:
            began[s.serial, s.half, s.job] = min(s.start, began.get((s.serial, s.half, s.job), s.start))
        early = seen = 0
        for position in self.scenario.positions:
            ids = [p.id for p in position.packages]
            for n, package in enumerate(position.packages):
                before = package.after if package.after is not None else ids[max(0, n - 1):n]
                for (serial, half, _), t in ((key, t) for key, t in began.items() if key[2] == package.id):
                    for name in before:
                        seen += 1
                        early += first.get((serial, half, name), -1.0) > t + TINY and not self.packages[name].can_travel
        yield "begun before its predecessor is closed", early, seen
        holds = [abs(s.end - s.start - self.packages[s.job].elapsed_hours.mean * 60) > TINY  # type: ignore[union-attr]
                 for s in self.segments if s.state == State.HOLD and s.job in self.packages
                 and self.packages[s.job].kind == "hold" and self.packages[s.job].elapsed_hours.is_fixed  # type: ignore[union-attr]
                 and s.serial in self.launched]
        yield "holds of another length", sum(holds), len(holds)
        cures = [abs(s.end - s.start - self.packages[s.job.removesuffix(" cure")].cure_hours * 60) > TINY
                 for s in self.segments if s.state == State.HOLD and s.job.removesuffix(" cure") in self.packages
                 and s.job.endswith(" cure") and s.serial in self.launched]
        yield "cures of another length", sum(cures), len(cures)

    def buy_offs(self) -> Iterator[Row]:
        """F34, F35: the hours of buy-offs are as written (inspectors are fully able, work no overtime)."""
        done: dict[tuple[int, str, str], float] = defaultdict(float)
        for s in self.worked:
            if s.job in self.packages and s.trade == (self.packages[s.job].inspector or "INS"):
                done[s.serial, s.half, s.job] += s.people * self._minutes("day", s.start, s.end)
        closed: dict[tuple[int, str, str], int] = defaultdict(int)
        for c in self.records.closings:
            closed[c.serial, c.half, c.job] += 1
        bad = seen = 0
        for key, minutes in done.items():
            package = self.packages[key[2]]
            if key[0] not in self.launched or not closed.get(key):
                continue
            each = package.hours.mean if package.kind == "buy-off" else package.inspection_hours
            if package.kind == "work" and package.trade == "INS":
                continue
            seen += 1
            bad += not isclose(minutes, closed[key] * each * 60, abs_tol=1e-3)
        yield "buy-offs of other hours than written", bad, seen
