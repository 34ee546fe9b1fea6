"""Why late: the chain of what set the date of each stay, back from departure to arrival.

From departure back to the closing of what closed last the aircraft was blocked or waited for its other half, the pulse
or the line; from there each package is followed back from its closing to the instant it could have started, then the
one that closed at that instant (or, on a pulse line, the work that was let go then). A package that is worked while
another waits for an inspector shows as hands-on work in the ledger, and as inspector on the chain if that wait ended
the stay.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..line.records import PARKING, Closing, Segment, State, Visit
from ..line.sheet import HOUR
from .columns import HALVES
from .ledger import Ledger, sweep


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
        self._order = {job.id: job.order for place in ledger.sheet.places for job in place.jobs}
        self._of: dict[tuple[int, str, int], list[int]] = defaultdict(list)
        self._segments = ledger.records.segments
        for n, segment in enumerate(self._segments):
            self._of[segment.serial, segment.half, segment.place].append(n)
        self._closed: dict[tuple[int, str, int], list[Closing]] = defaultdict(list)
        for closing in ledger.records.closings:
            self._closed[closing.serial, closing.half, closing.place].append(closing)

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

    @cached_property
    def _visits_of(self) -> dict[int, list[Visit]]:
        records, found = self.ledger.records, defaultdict(list)
        for visit in sorted((*records.visits, *records.unfinished), key=lambda visit: (visit.arrived, visit.half)):
            found[visit.serial].append(visit)
        return found

    def _slower(self, serial: int) -> str:
        """The half that closed last."""
        last = {half: max((visit.ready for visit in self._visits_of[serial] if visit.half == half), default=-1.0)
                for half in HALVES if half}
        return max(last, key=lambda half: last[half])

    def _stay(self, visit: Visit) -> Stay:
        links = list(self.links(visit))
        through = tuple(dict.fromkeys(job for _, _, _, job in reversed(links) if job and job != PARKING))
        days, outside = self._figures(links)
        return Stay(visit.serial, visit.half, visit.place, visit.parked, visit.arrived, visit.left, through, days,
                    outside)

    def links(self, visit: Visit) -> Iterator[tuple[int, float, float, str]]:
        """Segments of the chain of a stay, last first: number, the span that counts, package."""
        key = (visit.serial, visit.half, visit.place)
        here = [(n, self._segments[n]) for n in self._of[key]]
        here = [(n, s) for n, s in here if (s.job == PARKING) is visit.parked
                and s.end > visit.arrived and s.start < visit.left]
        t, job = visit.left, ""
        while t > visit.arrived:
            found = self._link(here, self._closed[key], t, job, standing=visit.ready < t)
            if found is None:
                return
            n, segment = found
            start = max(segment.start, visit.arrived)
            yield n, start, t, segment.job
            t, job = start, segment.job

    def _link(self, here: list[tuple[int, Segment]], closed: list[Closing], t: float, job: str,
              *, standing: bool) -> tuple[int, Segment] | None:
        """What lasted until `t`: the package followed so far; else what closed then, first in file order; else what the
        aircraft itself was in (flight, appointment, blocked)."""
        lasting = [(n, s) for n, s in here if s.start < t <= s.end]
        ending = [(n, s) for n, s in lasting if s.end == t or s.state >= State.OTHER_HALF]
        if standing:
            ending = [(n, s) for n, s in ending if s.state >= State.OTHER_HALF]
            return ending[0] if ending else None
        own = [(n, s) for n, s in ending if s.job == job and job]
        if own:
            return own[0]
        names = [closing.job for closing in closed if closing.closed == t]
        order = {name: self._file_order(name, n) for n, name in enumerate(names)}
        last = sorted(((n, s) for n, s in ending if s.job in order), key=lambda link: order[link[1].job])
        if last:
            return last[0]
        rest = [(n, s) for n, s in lasting if s.state < State.OTHER_HALF]
        return min(rest, key=lambda link: (link[1].end != t, link[1].state), default=None)

    def _file_order(self, name: str, n: int) -> tuple[int, int]:
        return self._order.get(name, 10**9), n

    def _figures(self, links: list[tuple[int, float, float, str]]) -> tuple[dict[State, float], dict[State, float]]:
        """Work days and outside hours by reason, each link by its own states only."""
        if not links:
            return {}, {}
        columns, calendar = self.ledger.columns, self.ledger.sheet.calendar
        chosen = np.zeros(len(columns.serial), dtype=bool)
        number = np.full(len(columns.serial), -1)
        first, last = np.zeros(len(links)), np.zeros(len(links))
        for k, (n, start, end, _) in enumerate(links):
            chosen[n], number[n], first[k], last[k] = True, k, start, end
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
