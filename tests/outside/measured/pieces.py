"""What a package is in at every instant, by the words of the rules (F105, F106): worked on, or what it waits for."""

from __future__ import annotations

import itertools
from bisect import bisect_right
from collections import defaultdict
from functools import cached_property
from math import inf

from recorded.mixed import Mixed
from recorded.run import AT_WORK, OVERTIME
from spans import Spans, inside

from linesim.line.records import Segment, State
from linesim.measures.ledger import Ledger
from linesim.measures.run import RunNumbers, numbers_of

from .by_reason import Piece
from .rosters import Rosters


class Pieces(Rosters, Mixed):
    """Segments of one run, cut where their reason changes."""

    @cached_property
    def ledger(self) -> Ledger:
        return Ledger(self.sheet, self.records)

    @cached_property
    def run(self) -> RunNumbers:
        return numbers_of(self.sheet, self.records)

    @cached_property
    def pieces(self) -> list[list[Piece]]:
        """Of every segment, cut where anything may change."""
        return [self._cut(s) for s in self.segments]

    def _cut(self, s: Segment) -> list[Piece]:
        if s.state not in (*AT_WORK, State.PEOPLE, State.INSPECTOR, State.PILOT):
            return [(s.start, s.end, s.state)]
        rows: list[Spans] = []
        if s.state == State.PILOT:
            rows += [self._pilots_there, self._could_begin]
        elif s.trade:
            rows.append(self.roster(s.trade, s.place, s.shift.endswith(OVERTIME)))
        rows.append(self.crew(s.shift if s.state in AT_WORK else "", s.place))
        if s.daylight:
            rows.append(self._light_spans)
        cuts = {s.start, s.end}
        for spans in rows:
            n = max(bisect_right(spans, (s.start, inf)) - 1, 0)
            while n < len(spans) and spans[n][0] < s.end:
                cuts |= {t for t in spans[n] if s.start < t < s.end}
                n += 1
        edges = sorted(cuts)
        return [(a, b, int(self.state(s, (a + b) / 2))) for a, b in itertools.pairwise(edges)]

    def state(self, s: Segment, t: float) -> int:
        """What a package is in at an instant."""
        if s.state in AT_WORK and s.shift:
            if inside(self.crew(s.shift, s.place), t):
                return s.state
            if self.rostered(s.trade) == [s.shift.removesuffix(OVERTIME)] and not s.daylight:
                return State.OFF_SHIFT
            return self._waits(s, State.INSPECTOR if s.trade == "INS" else State.PEOPLE, t)
        if s.state in (State.PEOPLE, State.INSPECTOR):
            return self._waits(s, s.state, t)
        if s.state == State.PILOT:
            if not inside(self._pilots_there, t):
                return State.OFF_SHIFT
            return State.PILOT if inside(self._could_begin, t) else State.WEATHER
        return s.state

    def _waits(self, s: Segment, state: int, t: float) -> int:
        hours = self.roster(s.trade, s.place, s.shift.endswith(OVERTIME)) if s.trade else self.crew("", s.place)
        if not inside(hours, t):
            return State.OFF_SHIFT
        if s.daylight and self.sheet.light is not None and not self._light(t):
            return State.WEATHER
        return state

    @cached_property
    def parked(self) -> set[int]:
        return set(self.records.parked_rows)

    def pieces_of(self, serial: int, half: str | None = None) -> list[Piece]:
        return [piece for s, pieces in zip(self.segments, self.pieces, strict=True) for piece in pieces
                if s.serial == serial and half in (None, s.half)]

    def life(self, serial: int) -> tuple[float, float]:
        return (self.launched.get(serial, 0.0),
                self.records.delivered.get(serial, self.records.ended))

    def _by_spot(self, parked: bool) -> dict[tuple[int, int], list[Piece]]:
        """Pieces of an aircraft in a place, or parked before it."""
        found: dict[tuple[int, int], list[Piece]] = defaultdict(list)
        for n, (s, pieces) in enumerate(zip(self.segments, self.pieces, strict=True)):
            if (n in self.parked) == parked:
                found[s.serial, s.place] += pieces
        return found
