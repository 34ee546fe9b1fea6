"""Where everything stands at an instant, since when, and why."""

from __future__ import annotations

from collections.abc import Iterator
from math import isclose

from recorded.run import Broken
from spans import lasts

from linesim.line.records import State
from linesim.measures.moment import floor_of

from .pieces import Pieces


class Moments(Pieces):
    """Instants of a run."""

    def moments(self) -> Iterator[Broken]:
        """Where everything stands at some instants: its place and reason, since when, what is full, beyond the takt."""
        bad, seen, floor = [], 0, floor_of(self.sheet, self.records)
        takt, reference = self.scenario.launches.takt_work_days, self.blocks_of(self.calendar.reference_shift)
        for t in (self.records.ended * n / 13 + 7.0 for n in range(12)):
            standing = {(one.serial, one.half): one for one in floor.at(t)}
            there = {(self.records.serials[v.serial], v.half): v for v in self.stays if v.arrived <= t < v.left}
            if set(standing) != set(there):
                bad.append(f"{t}: {set(standing) ^ set(there)}")
                continue
            for key, v in there.items():
                one, seen = standing[key], seen + 1
                true = [(state, s) for s, of in zip(self.segments, self.pieces, strict=True)
                        if s.serial == v.serial and s.half == v.half and s.start <= t < s.end
                        for a, b, state in of if a <= t < b]
                state = min((of for of, _ in true), default=None)
                days = lasts(reference, v.arrived, t) / self.calendar.work_day
                place = self.sheet.places[v.place]
                allowed = None if takt is None else takt * (place.parking if v.parked else place.docks)
                full = (v.place if v.parked else place.next) if state == State.BLOCKED else None
                trades = {s.trade for of, s in true if of == state and s.trade}
                jobs = {s.job for of, s in true if of == state and s.job}
                got = (one.place, one.parked, one.state, one.since, one.full, set(one.trades), set(one.jobs))
                if got != (v.place, v.parked, state, v.arrived, full, trades, jobs) or not isclose(
                        one.work_days, days, abs_tol=1e-9) or (one.over_takt is None) != (allowed is None) or (
                        allowed is not None and not isclose(one.over_takt or 0.0, days - allowed, abs_tol=1e-9)):
                    bad.append(f"{t}: {one} for {v} in {state}, {days} days")
        yield "where everything stands at an instant", bad, seen
