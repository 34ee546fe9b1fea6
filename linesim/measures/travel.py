"""Travelled work and line stops of a pulse line: counted where the work was planned, and by who stopped the line."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from ..line.records import LineStop, State, Travel
from ..line.sheet import HOUR, Sheet
from ..scenario.clock import Clock
from .columns import HALVES, Numbers
from .ledger import RANKS, Ledger, sweep

_WAITS_FOR_THE_LINE = (State.LINE_STOP, State.PULSE)


@dataclass(frozen=True, slots=True)
class Travelled:
    """Labour hours that travelled from a position, at their price, and what the price added."""

    packages: int
    hours: float
    extra: float
    cost: float = 0.0  # of the hours that the price added, in the file's currency; without a rate of the trade nothing


def travelled_by_origin(travels: Sequence[Travel],
                        rate_of: Callable[[str], float] = lambda _: 0.0) -> dict[int, Travelled]:
    """By the place where the work was planned; a package counts once, at its first move. `rate_of`: cost of an hour
    of the trade that works on a package."""
    first: dict[tuple[int, str], Travel] = {}
    for travel in travels:
        first.setdefault((travel.serial, travel.job), travel)
    found: dict[int, list[Travel]] = defaultdict(list)
    for travel in first.values():
        found[travel.origin].append(travel)
    return {place: Travelled(len(of), sum(t.after for t in of) / HOUR, sum(t.after - t.before for t in of) / HOUR,
                             sum((t.after - t.before) * rate_of(t.job) for t in of) / HOUR)
            for place, of in sorted(found.items())}


def rates_by_package(sheet: Sheet) -> dict[str, float]:
    """Cost of an hour on each package, by the rate of its trade; without one 0."""
    trades = sheet.scenario.trades
    return {job.id: float(trades[job.trade].usd_per_hour or 0.0) if job.trade in trades else 0.0
            for place in sheet.places for job in place.jobs}


def stop_hours(stops: Sequence[LineStop], reference: Clock, begin: float, end: float) -> float:
    """Working hours of the reference shift in a window in which the line stood."""
    return sum(max(0.0, reference.reading(min(stop.end, end)) - reference.reading(max(stop.start, begin)))
               for stop in stops if stop.start < end and stop.end > begin) / HOUR


def stop_causes(ledger: Ledger, begin: float, end: float) -> Numbers:
    """Working hours of the reference shift in a window in which the line stood, by the place of the aircraft that held
    it and its reason there: shape (places, RANKS). They sum to `stop_hours`.

    The hours of a stop are shared by the working time in which its hinderers were in each reason, each as long as it
    might not move: what it did afterwards, on the line or beyond it, held nobody up.
    """
    columns, pieces, reference = ledger.columns, ledger.pieces, ledger.sheet.calendar.reference
    found = np.zeros((len(ledger.sheet.places), RANKS))
    serial, half, place = (of[pieces.row] for of in (columns.serial, columns.half, columns.place))
    for stop in ledger.records.stops:
        first, last = max(stop.start, begin), min(stop.end, end)
        hours = (reference.reading(last) - reference.reading(first)) / HOUR if first < last else 0.0
        if hours <= 0:
            continue
        if not stop.held:  # nothing but the launch was late
            continue
        near = np.flatnonzero((pieces.start < last) & (pieces.end > first))
        parts = []
        for n, one in enumerate(stop.held):
            its = near[(serial[near] == one.serial) & (half[near] == HALVES[one.half]) & (place[near] == one.place)]
            parts.append((np.full(len(its), n), np.maximum(pieces.start[its], max(one.start, first)),
                          np.minimum(pieces.end[its], min(one.end, last)), pieces.rank[its]))
        held, since, until, rank = (np.concatenate(part) for part in zip(*parts, strict=True))
        keep = since < until
        swept = sweep(held[keep], since[keep], until[keep], rank[keep])
        worked = np.array([reference.reading(b) - reference.reading(a) for a, b in zip(swept.start, swept.end,
                                                                                       strict=True)])
        total = worked.sum() if len(worked) else 0.0
        if total > 0:
            where = np.array([one.place for one in stop.held])[swept.group]
            # closed and not let go: there was no place beyond
            why = np.where(np.isin(swept.rank, _WAITS_FOR_THE_LINE), State.BLOCKED, swept.rank)
            np.add.at(found, (where, why), worked / total * hours)
    return found


def stops_by_serial(stops: Sequence[LineStop]) -> dict[int, int]:
    """How many stops each serial had a part in."""
    counts: dict[int, int] = defaultdict(int)
    for stop in stops:
        for serial in stop.caused_by:
            counts[serial] += 1
    return dict(counts)
