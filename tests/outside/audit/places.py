"""Docks and parking: who stands where, and who moves on.

F10, F11, F12: no more aircraft than there is room for, stays that follow one another, nobody kept for nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from recorded.run import TINY, Recorded, Row
from spans import most_at_once

from linesim.line.records import State, Visit


class Places(Recorded):
    """Aircraft in their places."""

    def places(self) -> Iterator[Row]:
        """F10, F11: no more aircraft than docks and parking; nobody in two places; stays follow one another."""
        over = 0
        for place in self.sheet.places:
            for parked, room in ((False, place.docks), (True, place.parking)):
                spans = [(v.arrived, v.left, 1) for v in self.stays if v.place == place.index and v.parked == parked]
                over += most_at_once(spans) > room
        yield "more aircraft than docks or parking spots, places", over, len(self.sheet.places)
        gaps = [a.left != b.arrived for stays in self.by_aircraft.values() for a, b in pairwise(stays)]
        yield "a stay that does not begin where the one before ends", sum(gaps), len(gaps)
        order = [not (v.arrived <= v.ready <= v.left) for v in self.records.visits if not v.parked]
        yield "left before it was ready, or ready before it came", sum(order), len(order)
        away = [self._goes_wrong(a, b) for stays in self.by_aircraft.values() for a, b in pairwise(stays)]
        yield "a move to a place that is not next", sum(away), len(away)

    def _goes_wrong(self, a: Visit, b: Visit) -> bool:
        return b.place != a.place if a.parked else b.place != self.sheet.places[a.place].next

    def idle_docks(self) -> Iterator[Row]:
        """F11, F12: nobody stands blocked, or parked, while a dock beyond is free (night or day)."""
        if self.scenario.pulse and self.scenario.pulse.in_force:
            return
        free = seen = 0
        for v in self.stays:
            stays = [(v.arrived, v.left)] if v.parked else [(v.ready, v.left)] if not v.half else []
            target = v.place if v.parked else self.sheet.places[v.place].next
            if target is None or not stays or stays[0][1] - stays[0][0] < TINY or self._is_kept(v, *stays[0]):
                continue
            begin, end = stays[0]
            room = self.sheet.places[target].docks
            there = [(max(o.arrived, begin), min(o.left, end), 1) for o in self.stays
                     if o.place == target and not o.parked and o.arrived < end and o.left > begin]
            free += sum(b - a for a, b, _ in there) < room * (end - begin) - TINY
            seen += 1
        yield "blocked or parked while a dock beyond is free", free, seen

    def _is_kept(self, v: Visit, begin: float, end: float) -> bool:
        """Whether something else may keep it there: a lock, a fleet hold, the inspection of one."""
        return any(s.serial == v.serial and s.start < end and s.end > begin
                   and (s.state in (State.LOCKED, State.PARTS, State.REWORK, State.INSPECTOR, State.WORK))
                   for s in self._of_serial[v.serial])
