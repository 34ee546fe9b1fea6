"""Travelled work and line stops of a pulse line: counted where the work was planned, and by who stopped the line."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from ..line.records import LineStop, Travel
from ..line.sheet import HOUR
from ..scenario.clock import Clock


@dataclass(frozen=True, slots=True)
class Travelled:
    """Labour hours that travelled from a position, at their price, and what the price added."""

    packages: int
    hours: float
    extra: float


def travelled_by_origin(travels: Sequence[Travel]) -> dict[int, Travelled]:
    """By the place where the work was planned; a package counts once, at its first move."""
    first: dict[tuple[int, str], Travel] = {}
    for travel in travels:
        first.setdefault((travel.serial, travel.job), travel)
    found: dict[int, list[Travel]] = defaultdict(list)
    for travel in first.values():
        found[travel.origin].append(travel)
    return {place: Travelled(len(of), sum(t.after for t in of) / HOUR, sum(t.after - t.before for t in of) / HOUR)
            for place, of in sorted(found.items())}


def stop_hours(stops: Sequence[LineStop], reference: Clock, begin: float, end: float) -> float:
    """Working hours of the reference shift in a window in which the line stood."""
    return sum(max(0.0, reference.reading(min(stop.end, end)) - reference.reading(max(stop.start, begin)))
               for stop in stops if stop.start < end and stop.end > begin) / HOUR


def stops_by_serial(stops: Sequence[LineStop]) -> dict[int, int]:
    """How many stops each serial had a part in."""
    counts: dict[int, int] = defaultdict(int)
    for stop in stops:
        for serial in stop.caused_by:
            counts[serial] += 1
    return dict(counts)
