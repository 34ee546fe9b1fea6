"""Aircraft move to the next place, in turn, as soon as it has room, in the time that a move takes.

F11, F12, F13, F15, F21: order of entering, moves and their minutes, goings back, halves that meet.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterator
from math import inf
from typing import Any

from recorded.run import TINY, Broken
from recorded.ways import Ways
from spans import Spans, common, lasts, without

from linesim.line.records import State, Visit


class Moves(Ways):
    """Aircraft between places."""

    def order_of_docks(self) -> Iterator[Broken]:
        """F11: parked aircraft enter first, first come first in; then those who became ready first, by the order."""
        if self.rules.move_minutes or self.pulse_on or self.rules.ring == "exchange":
            return
        if self.rules.dispatch != "promised date":
            return
        bad, seen = [], 0
        waits: dict[int, list[tuple[tuple[Any, ...], float, float, Visit]]] = defaultdict(list)
        for v in self.stays:
            if v.half:
                continue
            promise = self.promise.get(v.serial)
            order = (promise.toordinal() if promise else inf, -self.ranks[v.place], v.serial)
            if v.parked:
                waits[v.place].append(((0, v.arrived), v.arrived, v.left, v))
            elif v in self.records.visits and (after := self._next_stay(v)) is not None:
                waits[after.place].append(((1, v.ready, *order), v.ready, v.left, v))
        for rows in waits.values():
            for key, _, left, v in rows:
                for other, since, until, w in rows:
                    if since < left < until and w is not v and not self._kept_near(w, left):
                        seen += 1
                        if other < key and (not w.parked or not self._next_is_parking(v)):
                            bad.append(f"{v} goes before {w}")
        yield "went before one that is first", bad, seen

    def _next_is_parking(self, v: Visit) -> bool:
        after = self._next_stay(v)
        return after is not None and after.parked

    def _kept_near(self, v: Visit, t: float) -> bool:
        return any(s.state in (State.LOCKED, State.PARTS, State.REWORK, State.INSPECTOR, State.WORK, State.PEOPLE)
                   and s.start <= t + TINY and s.end >= t - TINY for s in self._of_serial[v.serial])

    def next_places(self) -> Iterator[Broken]:
        """F13, F15, F21: from a place to the next, back as often as is known; two halves meet in one instant."""
        bad, seen = [], 0
        times = {(self.records.serials.index(f.serial), f.position): f.times for f in self.scenario.known.goings_back}
        for (serial, half), stays in self.by_aircraft.items():
            been: dict[int, int] = defaultdict(int)
            for a, b in itertools.pairwise(stays):
                seen += 1
                target = a.place
                if not a.parked:
                    place = self.sheet.places[a.place]
                    back = place.position.back_to
                    target = place.next
                    if back is not None and been[a.place] < times.get((serial, place.id), 0):
                        target = self.names.index(back.position)
                    been[a.place] += 1
                if b.place != target:
                    bad.append(f"{a} then {b}")
            if half and (whole := self.by_aircraft.get((serial, ""))):
                seen += 1
                if stays[-1].left != whole[0].arrived or whole[0].parked:
                    bad.append(f"{stays[-1]} and {whole[0]}")
        yield "a move to another place than the next, or halves that do not meet", bad, seen

    def blocked_for_nothing(self) -> Iterator[Broken]:
        """F11, F12: nobody stands ready, or parked, while a dock beyond is free and moves are made."""
        if self.pulse_on or self.rules.move_minutes or self.records.stuck:
            return
        bad, seen = [], 0
        docked: dict[int, Spans] = defaultdict(list)
        for v in self.stays:
            if not v.parked:
                docked[v.place].append((v.arrived, v.left))
        for v in self.stays:
            after = self._next_stay(v) if not v.half else None
            target = v.place if v.parked else after.place if after is not None else None
            begin = v.arrived if v.parked else v.ready
            if target is None or v.left - begin < TINY or begin == inf:
                continue
            if any(o.parked and o.place == target and o is not v and o.arrived < v.left and o.left > begin
                   and self._kept_times(o.serial) for o in self.stays):
                continue
            free = common(self._room(docked[target], self.sheet.places[target].docks, begin, v.left), self.allowed())
            seen += 1
            left = without(free, self._kept_times(v.serial))
            if sum(b - a for a, b in left) > TINY:
                bad.append(f"{v}: room {left}")
        yield "ready or parked while a dock beyond is free", bad, seen

    def moves_take_time(self) -> Iterator[Broken]:
        """F12: a move takes so many working minutes of the reference shift, or none; by day, if so declared."""
        bad, seen = [], 0
        takes, reference = self.rules.move_minutes, self.blocks_of(self.calendar.reference_shift)
        for stays in self.by_aircraft.values():
            for a, b in itertools.pairwise(stays):
                since = a.arrived if a.parked else a.ready
                if self.pulse_on or since == inf:
                    continue
                seen += 1
                if takes and self.rules.ring != "exchange" and lasts(reference, since, b.arrived) < takes - TINY:
                    bad.append(f"{a} to {b}: {lasts(reference, since, b.arrived)} minutes")
                if self.rules.moves != "day and night" and not any(
                        x - TINY <= b.arrived <= y + TINY for x, y in reference):
                    bad.append(f"{a} to {b}: at night")
        yield "moves of another length, or at night", bad, seen
