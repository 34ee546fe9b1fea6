"""Hours of docks and parking by reason; empty ones starved while a place is open for work (F109)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from recorded.run import Broken
from spans import lasts

from linesim.line.records import State

from .by_reason import Hours, by_reason, differ, lowest
from .pieces import Pieces


class PlacesByReason(Pieces):
    """Reasons of places."""

    def hours_of_places(self) -> Iterator[Broken]:
        """F109: hours of the docks, and of the parking, of every place by reason; empty ones starved while it is open
        for work, else off shift; parking spots always starved."""
        bad = []
        ended = self.records.ended
        for parked in (False, True):
            spots, table = self._by_spot(parked), self.ledger.of_places(parking=parked)
            for place in self.sheet.places:
                expected: Hours = defaultdict(float)
                for (_, n), pieces in spots.items():
                    if n == place.index:
                        for state, hours in by_reason(lowest(pieces), 0.0, ended).items():
                            expected[state] += hours
                stays = [(v.arrived, v.left) for v in self.stays if v.place == place.index and v.parked == parked]
                room = place.parking if parked else place.docks
                limited = bool(place.position.shifts or place.position.out_of_service or self.outages(place.index))
                hours = self.crew("", place.index) if limited else self.manned
                empty = (room * ended - sum(b - a for a, b in stays)) / 60
                starved = (room * lasts(hours, 0.0, ended) - sum(lasts(hours, a, b) for a, b in stays)) / 60
                expected[0] += empty if parked else starved
                expected[int(State.OFF_SHIFT)] += 0.0 if parked else empty - starved
                row = dict(enumerate(table[place.index].tolist()))
                bad += differ(f"{place.id} parked {parked}", expected, row)
        yield "hours of a place by reason", bad, len(self.sheet.places)
