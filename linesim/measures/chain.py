"""Why late: the chain of what set the date of each stay, back from departure to arrival.

From departure back to the closing of what closed last the aircraft was blocked or waited for its other half, the pulse
or the line; from there each package is followed back from its closing to the instant it could have started, then the
one that closed at that instant (or, on a pulse line, the work that was let go then). A package that is worked while
another waits for an inspector shows as hands-on work in the ledger, and as inspector on the chain if that wait ended
the stay.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from dataclasses import dataclass
from itertools import count, pairwise
from operator import itemgetter
from typing import Any, Final

import numpy as np

from ..line.records import PARKING, Closing, State, Visit
from ..line.sheet import HOUR
from .columns import HALVES
from .ledger import Ledger, sweep

CLOSED = itemgetter(*(Closing._fields.index(name) for name in ("serial", "half", "place", "job", "closed")))
INF: Final = float("inf")
LAST: Final = 1_000_000_000  # what the file does not order comes after all that it does
Links = tuple[list[int], list[float]]  # numbers of segments, and from when on each counts; the last first


@dataclass(frozen=True, slots=True)
class Stay:
    """One stay in a dock or before it. Per reason two figures that together equal the stay: work days of the
    reference shift, and clock hours outside it (nights, meals, other shifts)."""

    serial: int
    half: str
    place: int
    parked: bool
    arrived: float
    left: float
    through: tuple[str, ...]  # the packages that set the date, in order of time
    work_days: dict[State, float]
    outside_hours: dict[State, float]


class Chains:
    """The chains of one run."""

    def __init__(self, ledger: Ledger) -> None:
        self.ledger = ledger
        self._file_order = {job.id: job.order for place in ledger.sheet.places for job in place.jobs}
        self._jobs, self._states = ledger.columns.jobs, ledger.columns.states
        self._by_spot = _BySpot(ledger)
        self._visits_of = self._in_order()
        self._closed = dict(zip(map(CLOSED, ledger.records.closing_rows), count(), strict=False))

    def stays(self, serial: int) -> list[Stay]:
        """All stays of an aircraft and of its halves, in order of arrival."""
        return [self._stay(visit) for visit in self._visits_of[serial]]

    def visits_that_set_the_date(self, serial: int) -> list[Visit]:
        """As `that_set_the_date`, not yet followed back."""
        visits = self._visits_of[serial]
        slower = self._slower(serial)
        return [visit for visit in visits if visit.half in ("", slower)]

    def that_set_the_date(self, serial: int) -> list[Stay]:
        """From launch to delivery without a gap: before mate the stays of the half that closed last."""
        return [self._stay(visit) for visit in self.visits_that_set_the_date(serial)]

    def _in_order(self) -> dict[int, list[Visit]]:
        """Stays by serial, in order of arrival."""
        records, found = self.ledger.records, defaultdict[int, list[Visit]](list)
        for visit in sorted((*records.visits, *records.unfinished), key=lambda visit: (visit.arrived, visit.half)):
            found[visit.serial].append(visit)
        return found

    def _slower(self, serial: int) -> str:
        """The half that closed last."""
        last = {half: max((visit.ready for visit in self._visits_of[serial] if visit.half == half), default=-1.0)
                for half in HALVES if half}
        return max(last, key=lambda half: last[half])

    def _stay(self, visit: Visit) -> Stay:
        numbers, begins = self.links(visit)
        jobs = [self._jobs[n] for n in reversed(numbers)]
        through = tuple(dict.fromkeys(job for job in jobs if job and job != PARKING))
        days, outside = self._figures(numbers, begins, visit.left)
        return Stay(visit.serial, visit.half, visit.place, visit.parked, visit.arrived, visit.left, through, days,
                    outside)

    def links(self, visit: Visit) -> Links:
        """Segments of the chain of a stay, the last first: the first counts until departure, each other one until the
        one before it here begins to."""
        spots, (_, _, _, _, arrived, ready, t) = self._by_spot, visit
        numbers, starts, ends, reach, alone = spots.numbers, spots.starts, spots.ends, spots.reach, spots.alone
        found: list[int] = []
        begins: list[float] = []
        first, last = spots.of(visit)
        held = spots.held(first, last)
        free = min((starts[k] for k in held), default=INF)  # until then nothing kept it
        at = bisect_left(ends, t, first, last)
        is_alone = at < last and ends[at] == t > starts[at] and (at + 1 == last or ends[at + 1] > t)
        only = at if is_alone else -1
        while t > arrived:
            if ready < t:
                k = next((k for k in held if starts[k] < t <= ends[k]), None)
            elif only >= 0 and t <= free:
                k = only
            else:
                k = self._link(visit, at, last, held, t, self._jobs[found[-1]] if found else "")
            if k is None:
                break
            t = starts[k] if starts[k] > arrived else arrived
            at, only = reach[k], alone[k]
            found.append(numbers[k])
            begins.append(t)
        return found, begins

    def _link(self, visit: Visit, at: int, last: int, held: list[int], t: float, job: str) -> int | None:
        """What lasted until `t`, by its place in the order of spots: the package followed so far; else what closed
        then, first in file order; else what the aircraft itself was in (flight, appointment, blocked). Those from `at`
        on end at `t` or later."""
        spots, states = self._by_spot, self._states
        numbers, starts, ends = spots.numbers, spots.starts, spots.ends
        then = at
        while then < last and ends[then] == t:
            then += 1
        ending = [k for k in range(at, then) if starts[k] < t]
        if held:
            ending += [k for k in held if k >= then and starts[k] < t]
        ending.sort(key=numbers.__getitem__)
        names = [self._jobs[numbers[k]] for k in ending]
        if job in names and job:
            return ending[names.index(job)]
        key, closed = visit[:3], self._closed
        found = [(self._file_order.get(name, LAST), closed[of], k) for k, name in zip(ending, names, strict=True)
                 if (of := (*key, name, t)) in closed]
        if found:
            return min(found)[2]
        rest = [k for k in range(at, last) if starts[k] < t and states[numbers[k]] < State.OTHER_HALF]
        return min(rest, key=lambda k: (ends[k] != t, states[numbers[k]], numbers[k]), default=None)

    def _figures(self, numbers: list[int], begins: list[float],
                 left: float) -> tuple[dict[State, float], dict[State, float]]:
        """Work days and outside hours by reason, each link by its own states only."""
        if not numbers:
            return {}, {}
        columns, calendar = self.ledger.columns, self.ledger.sheet.calendar
        number = np.full(len(columns.serial), -1)
        number[numbers] = np.arange(len(numbers))
        first, last = np.array(begins), np.array([left, *begins[:-1]])
        chosen = number >= 0
        pieces = columns.pieces(chosen)
        of = number[pieces.row]
        start, stop = np.maximum(pieces.start, first[of]), np.minimum(pieces.end, last[of])
        keep = start < stop
        swept = sweep(of[keep], start[keep], stop[keep], pieces.rank[keep])
        reference = columns.clocks.shift_clock(calendar.reference_shift)
        worked = columns.clocks.reading(reference, swept.end) - columns.clocks.reading(reference, swept.start)
        days: dict[State, float] = defaultdict(float)
        outside: dict[State, float] = defaultdict(float)
        for rank, inside, whole in zip(swept.rank, worked, swept.end - swept.start, strict=True):
            days[State(rank)] += float(inside) / calendar.work_day
            outside[State(rank)] += float(whole - inside) / HOUR
        tiny = 1e-9
        return ({state: value for state, value in days.items() if value > tiny},
                {state: value for state, value in outside.items() if value > tiny})


class _BySpot:
    """The segments of a run by who is where, sorted by their ends: lists of all, and where those of a stay stand in
    them. Of each the first of its spot that ends when it begins, or later (`reach`), and the one that does, if it is
    the only one (`alone`, else -1)."""

    def __init__(self, ledger: Ledger) -> None:
        columns, self._places = ledger.columns, len(ledger.sheet.places)
        key = self._key(columns.serial, columns.half, columns.place, columns.parked)
        order = np.argsort(columns.end, kind="stable")  # nearly sorted as they come
        order = order[np.argsort(key[order].astype(np.min_scalar_type(key.max(initial=0))), kind="stable")]
        keys, starts, ends = key[order], columns.start[order], columns.end[order]
        bounds = np.flatnonzero(np.diff(keys, prepend=-1, append=-1))
        reach = _first_to_end(np.repeat(np.arange(len(bounds) - 1), np.diff(bounds)), starts, ends)
        self.numbers: list[int] = order.tolist()
        self.starts: list[float] = starts.tolist()
        self.ends: list[float] = ends.tolist()
        self.reach: list[int] = reach.tolist()
        self.alone: list[int] = _only_to_end(reach, keys, starts, ends).tolist()
        self._spans = dict(zip(keys[bounds[:-1]].tolist(), pairwise(bounds.tolist()), strict=True))
        self._held: list[int] = np.flatnonzero(columns.state[order] >= State.OTHER_HALF).tolist()

    def _key(self, serial: Any, half: Any, place: Any, parked: Any) -> Any:
        return ((serial * len(HALVES) + half) * self._places + place) * 2 + parked

    def of(self, visit: Visit) -> tuple[int, int]:
        """First and one past the last of a stay."""
        return self._spans.get(self._key(visit.serial, HALVES[visit.half], visit.place, visit.parked), (0, 0))

    def held(self, first: int, last: int) -> list[int]:
        """Those of them in which the aircraft is kept by others, in the order of their numbers."""
        some = self._held[bisect_left(self._held, first):bisect_left(self._held, last)]
        return sorted(some, key=self.numbers.__getitem__)


def _first_to_end(spot: Any, starts: Any, ends: Any) -> Any:
    """Of each span the first of the same spot that ends when it begins, or later. They are in order of spots, numbered
    from 0, and of ends."""
    longest = float(ends.max(initial=0.0)) + 1.0
    found = np.searchsorted(spot * longest + ends, spot * longest + starts)
    while len(early := np.flatnonzero(ends[found] < starts)):  # the sum of two numbers is rounded, so it may be short
        found[early] += 1
    return found


def _only_to_end(reach: Any, keys: Any, starts: Any, ends: Any) -> Any:
    """Of each span the one before it in the same spot that ends as it begins; -1 if there is none or more than one."""
    after = np.minimum(reach + 1, len(ends) - 1)
    another = (after > reach) & (keys[after] == keys[reach]) & (ends[after] == starts)
    return np.where((ends[reach] == starts) & (starts[reach] < starts) & ~another, reach, -1)
