"""Numbers of the window: working hours of places, waits, aircraft in the areas, deliveries and flow."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from math import isclose

from recorded.run import Broken
from spans import lasts

from linesim.line.records import State

from .by_reason import Hours, by_reason, differ, lowest
from .pieces import Pieces


class InWindow(Pieces):
    """The window."""

    def in_window(self) -> Iterator[Broken]:
        """Working hours by place and reason, waits by place and trade, aircraft in the areas, deliveries and flow."""
        begin, end = self.measured
        bad, run = [], self.run
        for place in self.sheet.places:
            expected: Hours = defaultdict(float)
            for (_, n), pieces in self._by_spot(parked=False).items():
                on_shift = [piece for piece in pieces if piece[2] != State.OFF_SHIFT]  # off shift is what is left
                for a, b, state in lowest(on_shift) if n == place.index else ():
                    expected[state] += lasts(self.manned, max(a, begin), min(b, end)) / 60
            stood = sum(lasts(self.manned, max(v.arrived, begin), min(v.left, end)) for v in self.stays
                        if v.place == place.index and not v.parked) / 60
            expected[int(State.OFF_SHIFT)] = max(stood - sum(expected.values()), 0.0)
            bad += differ(f"working hours of {place.id}", expected, dict(enumerate(run.places[place.index].tolist())))
        trades = ["", *self.scenario.trades]
        waits: Hours = defaultdict(float)
        for s, pieces in zip(self.segments, self.pieces, strict=True):
            for a, b, state in lowest(pieces):
                if state in (State.PEOPLE, State.INSPECTOR, State.PILOT):
                    waits[s.place, trades.index(s.trade)] += max(0.0, min(b, end) - max(a, begin)) / 60
        bad += differ("waits", waits, {(n, k): float(run.waits[n, k]) for n in range(len(self.names))
                                       for k in range(len(trades))})
        stood_in: Hours = defaultdict(float)
        for v in self.stays:
            position = self.sheet.places[v.place].position
            stood_in[position.area or position.id] += (0.5 if v.half else 1.0) * max(
                0.0, min(v.left, end) - max(v.arrived, begin)) / (end - begin)
        bad += differ("area", stood_in, run.in_process)
        counted = [n for n, t in self.records.delivered.items() if begin <= t < end and n in self.launched]
        flow = {self.records.serials[n]: (self.records.delivered[n] - self.launched[n]) / 60 for n in counted}
        bad += differ("flow", flow, run.flow_hours)
        total: Hours = defaultdict(float)
        for n in counted:
            for state, hours in by_reason(lowest(self.pieces_of(n)), *self.life(n)).items():
                total[state] += hours
        if not isclose(sum(total.values()), sum(run.reasons.values()), abs_tol=1e-5) or run.counted != len(counted):
            bad.append(f"{run.counted} aircraft with {run.reasons}, for {len(counted)} with {dict(total)}")
        yield "numbers of the window", bad, len(self.names) + len(waits) + len(flow)
