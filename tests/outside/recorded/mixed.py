"""A run of a plant in which many rules meet: packages to their closing, promises, the order of the file."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from functools import cached_property
from typing import Any

from linesim.line.records import Closing, Segment
from linesim.scenario.plant import Position

from .clocks import Clocks
from .run import TINY

Key = tuple[int, str]  # serial, package


class Mixed(Clocks):
    """One run of a mixed plant."""

    def __init__(self, sheet: Any, records: Any) -> None:
        super().__init__(sheet, records)
        self.rules = self.scenario.work_rules
        self.closings: list[Closing] = records.closings
        self.where: dict[str, Position] = {p.id: one for one in self.scenario.positions for p in one.packages}
        self.pulse_on = self.scenario.pulse is not None and self.scenario.pulse.in_force
        self.promise = {n: records.promised.get(n, order.promised)
                        for n, order in enumerate(self.scenario.orders or ())}
        self.last_travel = {(t.serial, t.job): t for t in records.travelled}
        self.first_travel = {(t.serial, t.job): t for t in reversed(records.travelled)}

    @cached_property
    def _goes_back(self) -> bool:
        return any(p.back_to for p in self.scenario.positions)

    @cached_property
    def _file_order(self) -> dict[str, int]:
        names = [p.id for position in self.scenario.positions for p in position.packages]
        return {name: n for n, name in enumerate(names)}

    @cached_property
    def of_job(self) -> dict[Key, list[Segment]]:
        found: dict[Key, list[Segment]] = defaultdict(list)
        for s in sorted(self.segments, key=lambda s: (s.start, s.end)):
            if s.job and s.job != "parking":
                found[s.serial, s.job].append(s)
        return found

    @cached_property
    def closed(self) -> dict[tuple[int, str, int], float]:
        return {(c.serial, c.job, c.repeat): c.closed for c in self.closings}

    def lives(self) -> Iterator[tuple[Closing, list[Segment]]]:
        """Every closing with the segments of the package since its last closing."""
        last: dict[Key, float] = {}
        for c in sorted(self.closings, key=lambda c: c.closed):
            key = (c.serial, c.job)
            since = last.get(key, -1.0)
            yield c, [s for s in self.of_job.get(key, ()) if s.start >= since and s.end <= c.closed + TINY]
            last[key] = c.closed

    @cached_property
    def lent(self) -> set[str]:
        """Trades that lend or borrow."""
        if not self.rules.cover_in_force:
            return set()
        return {name for trade, of in self.scenario.trades.items() if of.cover for name in (trade, *of.cover)}
