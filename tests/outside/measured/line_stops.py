"""Hours in which the line stood, shared by what those who held it were in."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from math import isclose

from recorded.run import Broken
from spans import lasts

from linesim.line.records import State

from .by_reason import Hours, differ, lowest
from .pieces import Pieces


class LineStops(Pieces):
    """Stops by cause."""

    def stopped(self) -> Iterator[Broken]:
        """Hours in which the line stood in the window, shared by what those who held it were in."""
        if not self.pulse_on:
            return
        begin, end = self.measured
        reference, run = self.blocks_of(self.calendar.reference_shift), self.run
        expected: Hours = defaultdict(float)
        hours = 0.0
        for stop in self.records.stops:
            first, last = max(stop.start, begin), min(stop.end, end)
            stood = lasts(reference, first, last) / 60 if first < last else 0.0
            hours += stood
            shares: Hours = defaultdict(float)
            for one in stop.held:
                since, until = max(one.start, first), min(one.end, last)
                pieces = [(max(a, since), min(b, until), state)
                          for s, of in zip(self.segments, self.pieces, strict=True)
                          if (s.serial, s.half, s.place) == (one.serial, one.half, one.place)
                          for a, b, state in of if a < until and b > since]
                for a, b, state in lowest(pieces):
                    closed = state in (State.PULSE, State.LINE_STOP)  # and may not move: no place beyond
                    shares[one.place, int(State.BLOCKED) if closed else state] += lasts(reference, a, b)
            whole = sum(shares.values())
            for key, minutes in shares.items():
                expected[key] += stood * minutes / whole if whole else 0.0
        bad = [] if isclose(hours, run.stop_hours, abs_tol=1e-5) else [f"{run.stop_hours} hours for {hours}"]
        if run.line_stops != sum(begin <= stop.start < end for stop in self.records.stops):
            bad.append(f"{run.line_stops} stops")
        found = {(n, k): float(run.stop_causes[n, k]) for n in range(len(self.names))
                 for k in range(run.stop_causes.shape[1])}
        if isclose(sum(expected.values()), hours, abs_tol=1e-6):
            bad += differ("cause", expected, found)
        yield "hours of stops by cause", bad, len(self.records.stops)
