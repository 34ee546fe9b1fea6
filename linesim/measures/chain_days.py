"""What set the dates of many aircraft: the chain by aircraft, place and reason, or summed over the aircraft.

The same chain as of a single stay (`measures/chain.py`), all stays swept at once.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import chain

import numpy as np

from ..line.sheet import HOUR
from .chain import Chains
from .columns import Counts, Numbers, real, whole
from .ledger import RANKS, Ledger, sweep


@dataclass(frozen=True, slots=True, eq=False)
class ChainPieces:
    """Spans of the chains: whose, where and why, with the time in and outside the reference shift in minutes."""

    serial: Counts
    place: Counts
    parked: Counts  # 1: before the place, not in it
    rank: Counts
    inside: Numbers
    outside: Numbers


def chain_pieces(ledger: Ledger, serials: Iterable[int]) -> ChainPieces:
    """The chains of these aircraft, from launch to delivery or as far as they came."""
    chains, columns, calendar = Chains(ledger), ledger.columns, ledger.sheet.calendar
    visits = [visit for serial in serials for visit in chains.visits_that_set_the_date(serial)]
    links = [chains.links(visit) for visit in visits]
    row = whole(chain.from_iterable(numbers for numbers, _ in links))
    if not len(row):
        none, nobody = np.zeros(0), np.zeros(0, dtype=np.int64)
        return ChainPieces(nobody, nobody, nobody, nobody, none, none)
    first = real(chain.from_iterable(begins for _, begins in links))
    many = np.array([len(numbers) for numbers, _ in links])
    stay = np.repeat(np.arange(len(links)), many)
    last = np.concatenate((first[:1], first[:-1]))
    heads = np.cumsum(many) - many  # a stay's first link counts until its departure
    last[heads[many > 0]] = [visit.left for visit, of_stay in zip(visits, many, strict=True) if of_stay]
    link_of = np.full(len(columns.serial), -1)
    link_of[row] = np.arange(len(row))  # a segment is a link of one stay at most
    pieces = ledger.pieces
    of = link_of[pieces.row]
    chosen = np.flatnonzero(of >= 0)
    of = of[chosen]
    start, stop = np.maximum(pieces.start[chosen], first[of]), np.minimum(pieces.end[chosen], last[of])
    keep = start < stop
    # the links of a stay follow one another, so it may be swept as one
    swept = sweep(stay[of[keep]], start[keep], stop[keep], pieces.rank[chosen][keep])
    clock = columns.clocks.shift_clock(calendar.reference_shift)
    worked = columns.clocks.reading(clock, swept.end) - columns.clocks.reading(clock, swept.start)
    return ChainPieces(whole(visit.serial for visit in visits)[swept.group],
                       whole(visit.place for visit in visits)[swept.group],
                       whole(visit.parked for visit in visits)[swept.group], swept.rank, worked,
                       swept.end - swept.start - worked)


def chain_days(ledger: Ledger, serials: Iterable[int], followed: ChainPieces | None = None) -> Numbers:
    """Two figures by place and rank that together equal the stays of these aircraft, shape (2, places, RANKS): work
    days of the reference shift, and clock hours outside it (nights, meals, other shifts). `followed`: chains that hold
    theirs, where they were followed already."""
    places, serials = len(ledger.sheet.places), list(serials)
    found = chain_pieces(ledger, serials) if followed is None else followed
    ours = np.isin(found.serial, serials)
    cell = found.place[ours] * RANKS + found.rank[ours]
    inside, outside = (np.bincount(cell, minutes[ours], places * RANKS).reshape(places, RANKS)
                       for minutes in (found.inside, found.outside))
    return np.array((inside / ledger.sheet.calendar.work_day, outside / HOUR))
