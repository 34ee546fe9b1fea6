"""Where the time goes: every hour of every aircraft has one reason, the first true one in the order of ranks.

The reasons of an aircraft run from launch (or the start) to delivery (or the end) and sum to its flow time. A place has
its own ledger by the same ranks, over the work in it; there its empty time shows too.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ..line.records import Records, State, Visit
from ..line.sheet import HOUR, Sheet
from .columns import HALVES, Columns, Counts, Numbers, Pieces

RANKS = len(State) + 1
STARVED = 0  # in a place's ledger, beside the ranks: nothing stands there while it is open for work
WAITS_FOR_PEOPLE = (State.PEOPLE, State.INSPECTOR, State.PILOT)
_LONGEST = float(1 << 21)  # minutes: 12 bits of group, 21 of minutes, 20 of the grid of instants
_LOWEST = np.zeros(1 << RANKS, dtype=np.int8)  # lowest bit of a number; 0 of 0
for _bit in range(RANKS - 1, -1, -1):
    _LOWEST[1 << _bit::2 << _bit] = _bit
HALF_NAMES = {n: name for name, n in HALVES.items()}


@dataclass(frozen=True, slots=True)
class Swept:
    """Spans in which one rank is the lowest that is true, of each group."""

    group: Counts
    rank: Counts
    start: Numbers
    end: Numbers

    def minutes(self, groups: int) -> Numbers:
        """Minutes by group and rank, shape (groups, RANKS)."""
        found = np.bincount(self.group * RANKS + self.rank, self.end - self.start, groups * RANKS)
        return np.asarray(found, dtype=float).reshape(groups, RANKS)


def sweep(group: Counts, start: Numbers, end: Numbers, rank: Counts) -> Swept:
    """The lowest true rank of each group at every instant at which any is true."""
    t, groups, small = np.concatenate((start, end)), np.concatenate((group, group)), rank.astype(np.int8)
    order = _in_order(groups, t)
    ranks, begins = np.concatenate((small, small))[order], order < len(start)
    by_rank = np.argsort(ranks, kind="stable")
    true = np.cumsum(np.where(begins[by_rank], 1, -1)) > 0  # of each rank by itself: all that begins ends
    turns = np.flatnonzero(np.diff(true, prepend=False))
    bit = np.left_shift(1, ranks[by_rank[turns]], dtype=np.int64)
    change = np.zeros(len(t), dtype=np.int64)
    change[by_rank[turns]] = np.where(true[turns], bit, -bit)
    lowest = _LOWEST[np.cumsum(change)]  # one bit for each rank that is true
    t = t[order]
    keep = np.flatnonzero((lowest[:-1] > 0) & (t[:-1] < t[1:]))  # between two groups nothing is true
    return Swept(groups[order[keep]], lowest[keep].astype(np.int64), t[keep], t[keep + 1])


def _in_order(group: Counts, t: Numbers) -> Counts:
    """Order by group, then time. One key sorts fastest; it is exact while the grid of instants leaves it room."""
    if len(t) and group.max() < 4096 and t.max() < _LONGEST:
        return np.argsort(group * _LONGEST + t)
    return np.lexsort((t, group))


class Ledger:
    """Reasons of one run."""

    def __init__(self, sheet: Sheet, records: Records) -> None:
        self.sheet, self.records = sheet.in_run(records.outages), records
        self.columns = Columns(sheet, records)
        self._launched = {launch.serial: launch.made for launch in records.launches}

    def span(self, serial: int) -> tuple[float, float]:
        """From launch (the start, if it stood on the floor) to delivery, finished stock or the end of the run."""
        records = self.records
        ends = records.delivered.get(serial, records.stock_ready.get(serial, records.ended))
        return self._launched.get(serial, 0.0), ends

    def aircraft(self) -> list[int]:
        """Serials that were on the floor, in order."""
        return sorted({*self._launched, *self.records.standing})

    def of(self, serial: int, half: str | None = None) -> dict[State, float]:
        """Hours of an aircraft (or of one half of it) by reason; they sum to its span (a half's: to mate)."""
        columns = self.columns
        begin, end = self.span(serial)
        chosen = columns.serial == serial
        if half is not None:
            chosen &= columns.half == HALVES[half]
            end = max((v.left for v in self._stays if v.serial == serial and v.half == half), default=end)
        hours = self._hours(chosen, np.zeros(len(columns.serial), dtype=np.int64), 1, begin, end)[0]
        return {state: float(hours[state]) for state in State if hours[state]}

    def by_aircraft(self, serials: list[int]) -> Numbers:
        """Hours by serial and rank, shape (len(serials), RANKS)."""
        columns = self.columns
        number = np.full(max([columns.serial.max(initial=0), *serials]) + 1, -1)
        number[serials] = np.arange(len(serials))
        group = number[columns.serial]
        spans = np.array([self.span(serial) for serial in serials]).reshape(-1, 2)
        return self._hours(group >= 0, group, len(serials), spans[:, 0], spans[:, 1])

    def _hours(self, chosen: NDArray[np.bool_], group: Counts, groups: int, begin: float | Numbers,
               end: float | Numbers) -> Numbers:
        pieces = self.pieces
        rows = np.flatnonzero(chosen[pieces.row])
        of = group[pieces.row[rows]]
        first, last = (np.broadcast_to(np.asarray(bound, dtype=float), (groups,))[of] for bound in (begin, end))
        start, stop = np.maximum(pieces.start[rows], first), np.minimum(pieces.end[rows], last)
        keep = start < stop
        return sweep(of[keep], start[keep], stop[keep], pieces.rank[rows][keep]).minutes(groups) / HOUR

    @cached_property
    def pieces(self) -> Pieces:
        return self.columns.pieces()

    def of_places(self, *, parking: bool = False) -> Numbers:
        """Hours of the whole run over all docks of a place (or all its parking spots) by rank and STARVED: shape
        (places, RANKS); each row sums to docks x hours of the run.

        Docks are starved while they stand empty and the place is open for work (its own hours, else whenever anybody is
        on the plant's roster), and off shift while empty outside these hours; an empty parking spot counts as starved
        always.
        """
        columns, pieces, places, ended = self.columns, self.pieces, self.sheet.places, self.records.ended
        keep = np.flatnonzero((pieces.start < ended) & (columns.parked[pieces.row] == parking))
        row = pieces.row[keep]
        swept = sweep(columns.serial[row] * len(places) + columns.place[row], pieces.start[keep],
                      np.minimum(pieces.end[keep], ended), pieces.rank[keep])
        found = np.bincount((swept.group % len(places)) * RANKS + swept.rank, swept.end - swept.start,
                            len(places) * RANKS)
        hours = np.asarray(found, dtype=float).reshape(len(places), RANKS) / HOUR
        for place in places:
            stays = [stay for stay in self._stays if stay.place == place.index and stay.parked == parking]
            spans = np.array([(0.0, ended)] * (place.parking if parking else place.docks)
                             + [(stay.left, stay.arrived) for stay in stays]).reshape(-1, 2)  # stays are taken away
            empty = float(np.sum(spans[:, 1] - spans[:, 0]))
            starved = empty if parking else self._read(columns.clocks.open(place.index), spans)
            hours[place.index, STARVED] = starved / HOUR
            hours[place.index, State.OFF_SHIFT] += (empty - starved) / HOUR
        return hours

    def _read(self, clock: str, spans: Numbers) -> float:
        """Minutes of spans on a clock; a span written backwards is taken away."""
        reading = self.columns.clocks.reading(clock, spans)
        return float(np.sum(reading[:, 1] - reading[:, 0]))

    def by_place(self, begin: float, end: float) -> Numbers:
        """Working hours of the plant by place and rank in a window, over all its docks: shape (places, RANKS).

        Off shift is what is left of the stays: in the plant's own hours hardly anything.
        """
        columns, pieces, places = self.columns, self.pieces, len(self.sheet.places)
        start, stop = np.maximum(pieces.start, begin), np.minimum(pieces.end, end)
        keep = np.flatnonzero((start < stop) & (pieces.rank != State.OFF_SHIFT) & ~columns.parked[pieces.row])
        row = pieces.row[keep]
        # an aircraft stands once in a place; its halves stand in different ones
        swept = sweep(columns.serial[row] * places + columns.place[row], start[keep], stop[keep], pieces.rank[keep])
        plant = columns.clocks.plant()
        worked = columns.clocks.reading(plant, swept.end) - columns.clocks.reading(plant, swept.start)
        found = np.bincount((swept.group % places) * RANKS + swept.rank, worked, places * RANKS)
        hours = np.asarray(found, dtype=float).reshape(places, RANKS) / HOUR
        hours[:, State.OFF_SHIFT] = np.maximum(self._hours_stood(begin, end) - hours.sum(axis=1), 0.0)
        return hours

    @cached_property
    def _stays(self) -> list[Visit]:
        return [*self.records.visits, *self.records.unfinished]

    def _hours_stood(self, begin: float, end: float) -> Numbers:
        """Working hours of the plant that aircraft stand in the docks of each place."""
        stays = [visit for visit in self._stays if not visit.parked]
        arrived = np.clip([visit.arrived for visit in stays], begin, end)
        left = np.clip([visit.left for visit in stays], begin, end)
        clocks, plant = self.columns.clocks, self.columns.clocks.plant()
        minutes = clocks.reading(plant, left) - clocks.reading(plant, arrived)
        place = np.array([visit.place for visit in stays], dtype=np.int64)
        return np.asarray(np.bincount(place, minutes, len(self.sheet.places)), dtype=float) / HOUR

    def waiting_by_trade(self, begin: float, end: float) -> Numbers:
        """Job hours that waited for people of a trade in a place, shape (places, trades); trade 0 is nobody."""
        columns, pieces = self.columns, self.pieces
        waits = np.isin(pieces.rank, WAITS_FOR_PEOPLE)
        # of a job that is worked, only while its crew rests and others of the trade are there
        at_work = ~np.isin(columns.state, WAITS_FOR_PEOPLE)[pieces.row]
        resting = np.zeros(len(columns.serial), dtype=bool)
        resting[pieces.row[waits & at_work]] = True
        plain, both = np.flatnonzero(waits & ~at_work), np.flatnonzero(resting[pieces.row])
        swept = sweep(pieces.row[both], pieces.start[both], pieces.end[both], pieces.rank[both])
        left = np.isin(swept.rank, WAITS_FOR_PEOPLE)
        row = np.concatenate((pieces.row[plain], swept.group[left]))
        hours = (np.minimum(np.concatenate((pieces.end[plain], swept.end[left])), end)
                 - np.maximum(np.concatenate((pieces.start[plain], swept.start[left])), begin)) / HOUR
        trades = len(columns.clocks.trades)
        found = np.bincount(columns.place[row] * trades + columns.trade[row], np.maximum(hours, 0.0),
                            len(self.sheet.places) * trades)
        return np.asarray(found, dtype=float).reshape(-1, trades)
