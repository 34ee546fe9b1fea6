"""One instant of one run: where every aircraft stands, in which dock or parking spot, and in which reason it is.

The reason is that of the ledger (the first true one in the order of ranks), of each half by itself before mate. Docks
have no numbers in the records: who arrives takes the lowest free one.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from dataclasses import dataclass

import numpy as np

from ..line.records import Records, State, Visit
from ..line.sheet import Sheet
from ..scenario.plan import takt_on
from .columns import HALVES, Counts, Numbers
from .ledger import Ledger, sweep

FAMILIES: dict[State, str] = {
    State.FLIGHT: "work", State.WORK: "work", State.REWORK: "rework", State.HOLD: "hold", State.APPOINTMENT: "hold",
    State.LOCKED: "waiting", State.PEOPLE: "waiting", State.INSPECTOR: "waiting", State.PILOT: "waiting",
    State.WEATHER: "waiting", State.OFF_SHIFT: "off shift", State.PARTS: "waiting", State.CUSTOMER: "waiting",
    State.OTHER_HALF: "waiting", State.LINE_STOP: "blocked", State.PULSE: "blocked", State.BLOCKED: "blocked"}


@dataclass(frozen=True, slots=True)
class Standing:
    """An aircraft, or a half before mate, at one instant. Times in minutes since the start."""

    serial: str
    half: str                   # fuselage, wing, or "" for the whole aircraft
    place: int
    parked: bool                # before the place, not in it
    spot: int                   # number of the dock or parking spot, from 0
    state: State | None         # None: its records stand under another serial (halves paired anew)
    jobs: tuple[str, ...]       # packages that are in this state
    trades: tuple[str, ...]     # their trades
    since: float                # when it came here
    work_days: float            # here so far, on the reference shift
    over_takt: float | None     # work days here beyond takt x docks (or spots); None without a takt
    full: int | None            # blocked: the place that is full

    @property
    def family(self) -> str:
        """work, rework, hold, waiting, blocked or off shift."""
        return "off shift" if self.state is None else FAMILIES[self.state]


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of time of one aircraft or half in one reason, in minutes since the start."""

    state: State
    start: float
    end: float


@dataclass(frozen=True, slots=True)
class Jam:
    """An aircraft that stood blocked for more than a work day, and what the place in front of it was in."""

    serial: str
    half: str
    place: int
    since: float
    at: float                   # when a work day of the reference shift had passed
    front: int | None           # the first place ahead whose aircraft were not all blocked
    state: State | None         # what they were in most of that time, nights aside
    trades: tuple[str, ...]     # whom they waited for, if for people


class Floor:
    """Where everything stands in one run; made once, asked for any number of instants."""

    def __init__(self, ledger: Ledger) -> None:
        self.ledger, self.sheet, self.records = ledger, ledger.sheet, ledger.records
        self.segments = self.records.segments
        self.stays = numbered_stays(self.records)
        self._arrivals = [stay.arrived for stay, _ in self.stays]

    def at(self, t: float) -> list[Standing]:
        """Everything that stands on the floor at an instant, most downstream last, then by dock."""
        columns = self.ledger.columns
        now = (columns.start <= t) & (t < columns.end)
        pieces = columns.pieces(now)
        true = np.flatnonzero((pieces.start <= t) & (t < pieces.end))
        ranks: dict[tuple[int, int], list[tuple[int, int]]] = defaultdict(list)
        for row, rank in zip(pieces.row[true].tolist(), pieces.rank[true].tolist(), strict=True):
            ranks[int(columns.serial[row]), int(columns.half[row])].append((rank, row))
        here = [(stay, spot) for stay, spot in self.stays[:bisect_right(self._arrivals, t)] if t < stay.left]
        found = [self._standing(stay, spot, ranks[stay.serial, HALVES[stay.half]], t) for stay, spot in here]
        return sorted(found, key=lambda one: (one.place, not one.parked, one.spot))

    def _standing(self, stay: Visit, spot: int, ranks: list[tuple[int, int]], t: float) -> Standing:
        lowest = min((rank for rank, _ in ranks), default=None)
        segments = [self.segments[row] for rank, row in sorted(ranks) if rank == lowest]
        state = None if lowest is None else State(lowest)
        calendar = self.sheet.calendar
        days = (calendar.reference.reading(t) - calendar.reference.reading(stay.arrived)) / calendar.work_day
        return Standing(
            self.records.serials[stay.serial], stay.half, stay.place, stay.parked, spot, state,
            tuple(dict.fromkeys(s.job for s in segments if s.job)), tuple(dict.fromkeys(
                s.trade for s in segments if s.trade)), stay.arrived, days, self._over(stay, days),
            self.full(stay.place, stay.parked, state))

    def full(self, place: int, parked: bool, state: State | None) -> int | None:
        """The place that is full, for who is blocked in a place or parked before it."""
        if state is not State.BLOCKED:
            return None
        return place if parked else self.sheet.places[place].next

    def allowed(self, stay: Visit) -> float | None:
        """Work days that the takt leaves a stay: takt x docks (or spots); None without a takt."""
        launches, place = self.sheet.scenario.launches, self.sheet.places[stay.place]
        if launches.takt_work_days is None:
            return None
        takt = takt_on(self.sheet.calendar.date_of(stay.arrived), launches.takt_work_days, launches.steps)
        return takt * (place.parking if stay.parked else place.docks)

    def _over(self, stay: Visit, days: float) -> float | None:
        allowed = self.allowed(stay)
        return None if allowed is None else days - allowed


def numbered_stays(records: Records) -> list[tuple[Visit, int]]:
    """All stays in order of arrival, each with the number of its dock or parking spot, from 0."""
    stays = [stay for stay in (*records.visits, *records.unfinished) if stay.left > stay.arrived]
    stays.sort(key=lambda stay: (stay.arrived, stay.place, stay.serial))
    taken: dict[tuple[int, bool], list[float]] = defaultdict(list)  # until when each spot is taken
    numbered = []
    for stay in stays:
        spots = taken[stay.place, stay.parked]
        free = next((n for n, until in enumerate(spots) if until <= stay.arrived), len(spots))
        spots[free:free + 1] = [stay.left]
        numbered.append((stay, free))
    return numbered


def spans_of(ledger: Ledger, serial: int, half: str | None = None) -> list[Span]:
    """The life of an aircraft in order of time, one span for each change of reason, without a gap: from launch (or the
    start) to delivery, finished stock or the end of the run. With `half`, only what is recorded of that half, or of the
    whole aircraft after mate ("")."""
    columns = ledger.columns
    begin, end = ledger.span(serial)
    chosen = columns.serial == serial
    if half is not None:
        chosen &= columns.half == HALVES[half]
    pieces = columns.pieces(chosen)
    start, stop = np.maximum(pieces.start, begin), np.minimum(pieces.end, end)
    keep = start < stop
    return _joined(start[keep], stop[keep], pieces.rank[keep])


def _joined(start: Numbers, stop: Numbers, rank: Counts) -> list[Span]:
    swept = sweep(np.zeros(len(rank), dtype=np.int64), start, stop, rank)
    spans: list[Span] = []
    for one, first, last in zip(swept.rank.tolist(), swept.start.tolist(), swept.end.tolist(), strict=True):
        if spans and spans[-1].state == one and spans[-1].end == first:
            spans[-1] = Span(spans[-1].state, spans[-1].start, last)
        else:
            spans.append(Span(State(one), first, last))
    return spans


def first_jam(floor: Floor) -> Jam | None:
    """The first aircraft that stood in a dock, blocked or on a line that stood, for more than one work day of the
    reference shift; parking is there to be stood in and is not counted. None: there was none."""
    calendar, segments, columns = floor.sheet.calendar, floor.segments, floor.ledger.columns
    rows = np.flatnonzero(np.isin(columns.state, (State.BLOCKED, State.LINE_STOP)) & ~columns.parked)
    stood = [(calendar.reference.finish(segments[n].start, calendar.work_day), -segments[n].place, n)
             for n in rows.tolist()]
    at, _, row = min((one for one in stood if one[0] < segments[one[2]].end), default=(0.0, 0, -1))
    if row < 0:
        return None
    segment = segments[row]
    front = _front(floor, segment.place, segment.serial, at)
    state, trades = _mostly(floor, front, segment.start, at) if front is not None else (None, ())
    serial = floor.records.serials[segment.serial]
    return Jam(serial, segment.half, segment.place, segment.start, at, front, state, trades)


def _front(floor: Floor, place: int, serial: int, t: float) -> int | None:
    """The first place ahead in which not all aircraft are blocked; on a line that stands, where its cause stands."""
    causes = [one.serial for stop in floor.records.stops for one in stop.held if one.start <= t < one.end]
    docked = [one for one in floor.at(t) if not one.parked]
    if causes and serial not in causes:
        names = {floor.records.serials[n] for n in causes}
        return next((one.place for one in reversed(docked) if one.serial in names), None)
    passed = {place}
    ahead = floor.sheet.places[place].next
    while ahead is not None and ahead not in passed:
        if any(one.place == ahead and one.family != "blocked" for one in docked):
            return ahead
        passed.add(ahead)
        ahead = floor.sheet.places[ahead].next
    return None


def _mostly(floor: Floor, place: int, begin: float, end: float) -> tuple[State | None, tuple[str, ...]]:
    """What the aircraft in the docks of a place were in most of a stretch of time, off shift aside, and the trades."""
    columns = floor.ledger.columns
    chosen = (columns.place == place) & ~columns.parked & (columns.start < end) & (columns.end > begin)
    pieces = columns.pieces(chosen)
    start, stop = np.maximum(pieces.start, begin), np.minimum(pieces.end, end)
    keep = (start < stop) & (pieces.rank != State.OFF_SHIFT)
    swept = sweep(columns.serial[pieces.row[keep]], start[keep], stop[keep], pieces.rank[keep])
    minutes = np.bincount(swept.rank, swept.end - swept.start, len(State) + 1)
    if not minutes.any():
        return None, ()
    state = State(int(minutes.argmax()))
    rows = np.unique(pieces.row[keep][pieces.rank[keep] == state]).tolist()
    return state, tuple(dict.fromkeys(trade for n in rows if (trade := floor.segments[n].trade)))


def floor_of(sheet: Sheet, records: Records) -> Floor:
    """The floor of one run, from its records."""
    return Floor(Ledger(sheet, records))


