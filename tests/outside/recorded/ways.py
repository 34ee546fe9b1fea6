"""Where an aircraft goes from a place, and what keeps it there.

F12: when moves are made; F31: how far along a place is.
"""

from __future__ import annotations

import itertools
from functools import cached_property

from spans import Spans, joined

from linesim.line.records import State, Visit

from .mixed import Mixed


class Ways(Mixed):
    """The ways through the places of one run."""

    @cached_property
    def ranks(self) -> dict[int, int]:
        """F31: the longest way from launch."""
        found = dict.fromkeys(range(len(self.names)), 0)
        for _ in self.names:
            for place in self.sheet.places:
                if place.next is not None:
                    found[place.next] = max(found[place.next], found[place.index] + 1)
        return found

    def allowed(self) -> Spans:
        """When aircraft move in free flow."""
        if self.rules.moves == "day and night":
            return [(0.0, self.records.ended)]
        return self.blocks_of(self.calendar.reference_shift)

    def _room(self, spans: list[tuple[float, float]], room: int, begin: float, end: float) -> Spans:
        """When fewer than so many of the spans last, between two instants."""
        cuts = sorted({begin, end, *(t for span in spans for t in span if begin < t < end)})
        return [(a, b) for a, b in itertools.pairwise(cuts)
                if sum(x <= a and y >= b for x, y in spans) < room]

    def _next_stay(self, v: Visit) -> Visit | None:
        return next((o for o in self.by_aircraft[v.serial, v.half] if o.arrived == v.left and o is not v), None)

    def _kept_times(self, serial: int) -> Spans:
        """When an aircraft is kept where it stands by something else than the place beyond."""
        return joined([(s.start, s.end) for s in self._of_serial[serial] if s.state == State.LOCKED
                       or s.job.startswith(("re-torque", "fleet"))])
