"""What set the dates, summed over many aircraft: work days on the chain by place and reason.

The same chain as of a single stay (`measures/chain.py`), all stays swept at once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..line.records import Records
from ..line.sheet import HOUR, Sheet
from .chain import Chains
from .columns import Numbers
from .ledger import RANKS, Ledger, sweep


@dataclass(frozen=True, slots=True, eq=False)
class ChainDays:
    """Sums over the aircraft of one run, by place and rank, shape (places, RANKS). Together they equal the stays."""

    run: int
    aircraft: int
    work_days: Numbers      # of the reference shift
    outside_hours: Numbers  # clock hours outside it: nights, meals, other shifts


def chain_days(sheet: Sheet, records: Records, begin: float, end: float) -> ChainDays:
    """Chains of the aircraft launched in the run and delivered from `begin` to `end` (instants)."""
    standing = set(records.standing)
    serials = [n for n, at in records.delivered.items() if begin <= at < end and n not in standing]
    ledger = Ledger(sheet, records)
    chains, columns = Chains(ledger), ledger.columns
    visits = [visit for serial in serials for visit in chains.visits_that_set_the_date(serial)]
    links = [(visit.place, *link[:3]) for visit in visits for link in chains.links(visit)]
    places = len(sheet.places)
    if not links:
        return ChainDays(records.replication, len(serials), np.zeros((places, RANKS)), np.zeros((places, RANKS)))
    place, row, first, last = (np.array(column) for column in zip(*links, strict=True))
    chosen = np.zeros(len(columns.serial), dtype=bool)
    chosen[row] = True
    link_of = np.full(len(columns.serial), -1)
    link_of[row] = np.arange(len(row))  # a segment is a link of one stay at most
    pieces = columns.pieces(chosen)
    of = link_of[pieces.row]
    start, stop = np.maximum(pieces.start, first[of]), np.minimum(pieces.end, last[of])
    keep = start < stop
    swept = sweep(of[keep], start[keep], stop[keep], pieces.rank[keep])
    clock = columns.clocks.shift_clock(sheet.calendar.reference_shift)
    worked = columns.clocks.reading(clock, swept.end) - columns.clocks.reading(clock, swept.start)
    cell = place[swept.group] * RANKS + swept.rank

    def summed(minutes: Numbers) -> Numbers:
        return np.asarray(np.bincount(cell, minutes, places * RANKS), dtype=float).reshape(places, RANKS)

    return ChainDays(records.replication, len(serials), summed(worked) / sheet.calendar.work_day,
                     summed(swept.end - swept.start - worked) / HOUR)
