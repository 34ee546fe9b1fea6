"""A run: its stays, its stretches of work, and the people who were there."""

from __future__ import annotations

from collections import defaultdict
from functools import cached_property
from typing import Any

from linesim.line.records import Segment, State, Visit
from linesim.line.sheet import Sheet
from linesim.scenario.plant import Package

AT_WORK = (State.WORK, State.REWORK)
TINY = 1e-6  # minutes
OVERTIME = " with overtime"
Row = tuple[str, int, int]  # of a check that counts: rule, breaks, how often it was looked at
Broken = tuple[str, list[str], int]  # of a check to the minute: rule, breaks in words, how often it was looked at


class Recorded:
    """One run."""

    def __init__(self, sheet: Sheet, records: Any) -> None:
        self.sheet, self.records, self.scenario, self.calendar = sheet, records, sheet.scenario, sheet.calendar
        self.segments: list[Segment] = records.segments
        self.stays: list[Visit] = [*records.visits, *records.unfinished]
        self.names = [place.id for place in sheet.places]
        self.launched = {entry.serial: entry.made for entry in records.launches}
        self.packages: dict[str, Package] = {p.id: p for position in self.scenario.positions for p in position.packages}

    @cached_property
    def by_aircraft(self) -> dict[tuple[int, str], list[Visit]]:
        found: dict[tuple[int, str], list[Visit]] = defaultdict(list)
        for stay in sorted(self.stays, key=lambda stay: (stay.arrived, stay.left)):
            found[stay.serial, stay.half].append(stay)
        return found

    @cached_property
    def worked(self) -> list[Segment]:
        return [s for s in self.segments if s.state in AT_WORK and s.people]

    @cached_property
    def _of_serial(self) -> dict[int, list[Segment]]:
        found: dict[int, list[Segment]] = defaultdict(list)
        for s in self.segments:
            found[s.serial].append(s)
        return found

    def _blocks(self, shift: str) -> list[tuple[float, float, int]]:
        if shift.endswith(OVERTIME) and self.sheet.extra is not None:
            return self.sheet.extra.clock(shift).blocks()
        return self.calendar.clock(shift).blocks()

    @cached_property
    def _extra(self) -> dict[tuple[str, str, int], int]:
        return {(e.trade, e.shift, e.day): e.people for e in self.records.overtime}

    def present(self, trade: str, shift: str) -> dict[int, int]:
        """People there by shift date."""
        there = self.records.attended.get((trade, shift))
        if there is not None:
            return dict(zip(there.days, there.present, strict=True))
        heads = self.scenario.trades[trade].people
        number = heads.get(shift, 0) if isinstance(heads, dict) else heads
        return dict.fromkeys((day for _, _, day in self._blocks(shift)), number)

    def _minutes(self, shift: str, a: float, b: float) -> float:
        clock = self.calendar.clock(shift)
        return clock.reading(b) - clock.reading(a)
