"""The first jam: who stood for more than a work day, and what lies ahead of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from recorded.run import Broken

from linesim.line.records import Segment, State, Visit
from linesim.measures.moment import FAMILIES, first_jam, floor_of

from .by_reason import Hours, lowest
from .pieces import Pieces


class Jam(Pieces):
    """The first jam of a run."""

    def jam(self) -> Iterator[Broken]:
        """The first aircraft that stood in a dock, blocked or on a line that stood, for more than a work day: since
        when, where; ahead of it the first place that is not all blocked, and what that was in most of the time."""
        floor, reference = floor_of(self.sheet, self.records), self.calendar.reference
        found = first_jam(floor)
        stood = []
        for n, s in enumerate(self.segments):
            if s.state in (State.BLOCKED, State.LINE_STOP) and n not in self.parked:
                at = reference.finish(s.start, self.calendar.work_day)
                if at < s.end:
                    stood.append((at, -s.place, n, s))
        if not stood or found is None:
            yield "the first jam", [] if not stood and found is None else [f"{found} for {stood[:1]}"], 1
            return
        at, _, _, s = min(stood)
        bad = []
        if (found.serial, found.half, found.place, found.since, found.at) != (
                self.records.serials[s.serial], s.half, s.place, s.start, at):
            bad.append(f"{found} for {s} until {at}")
        front = self._front(s, at)
        if found.front != front:
            bad.append(f"{found}: in front {front}")
        elif front is not None:
            most = self._mostly(front, s.start, at)
            if most and found.state not in most:
                bad.append(f"{found}: in front {most}")
        yield "the first jam", bad, 1

    def _reason_at(self, v: Visit, t: float) -> int | None:
        return min((state for s, of in zip(self.segments, self.pieces, strict=True) if s.serial == v.serial
                    and s.half == v.half and s.start <= t < s.end for a, b, state in of if a <= t < b), default=None)

    def _front(self, s: Segment, t: float) -> int | None:
        docked = [v for v in self.stays if not v.parked and v.arrived <= t < v.left]
        causes = {one.serial for stop in self.records.stops for one in stop.held if one.start <= t < one.end}
        if causes and s.serial not in causes:
            return max((v.place for v in docked if v.serial in causes), default=None)
        passed, ahead = {s.place}, self.sheet.places[s.place].next
        while ahead is not None and ahead not in passed:
            if any(v.place == ahead and FAMILIES.get(State(self._reason_at(v, t) or 11), "off shift") != "blocked"
                   for v in docked):
                return ahead
            passed.add(ahead)
            ahead = self.sheet.places[ahead].next
        return None

    def _mostly(self, place: int, begin: float, end: float) -> set[int]:
        """Reasons of most of the time, off shift aside; the halves of an aircraft together."""
        minutes: Hours = defaultdict(float)
        for (_, n), pieces in self._by_spot(parked=False).items():
            on_shift = [(max(a, begin), min(b, end), state) for a, b, state in pieces if n == place
                        and state != State.OFF_SHIFT and a < end and b > begin]
            for a, b, state in lowest(on_shift):
                minutes[state] += b - a
        most = max(minutes.values(), default=0.0)
        return {state for state, m in minutes.items() if most - m < 1e-6}
