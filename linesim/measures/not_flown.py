"""Why was not flown: each date on which pilots are on shift, and what stood in the way of a flight.

A date counts by the largest share of the hours of its pilots' shifts, over all aircraft on the flight line: no weather,
no daylight, no pilot, nobody for the work on the spot, or an aircraft that is not ready (work under way, parts, holds).
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from datetime import date, timedelta

import numpy as np

from ..line.records import State
from .columns import Numbers, cut
from .ledger import RANKS, Ledger, sweep

FLOWN, WEATHER, DAYLIGHT, NO_PILOT, NO_MECHANIC, NOT_READY, NO_AIRCRAFT = WHY = (
    "flown", "weather", "daylight", "no pilot", "no mechanic", "aircraft not ready", "no aircraft")
_OF_RANK: dict[int, str] = {State.WEATHER: WEATHER, State.PILOT: NO_PILOT, State.PEOPLE: NO_MECHANIC,
                            State.INSPECTOR: NO_MECHANIC}
_NO_REASON = frozenset((State.OFF_SHIFT, State.FLIGHT))


def flying_days(ledger: Ledger) -> dict[date, str]:
    """Of each date with a pilots' shift: `flown`, or why not (a word of WHY). Empty without a flight test."""
    sheet, columns = ledger.sheet, ledger.columns
    places = [place.index for place in sheet.places if place.position.flights]
    starts, ends = _shifts(ledger)
    if not places or not len(starts):
        return {}
    calendar = sheet.calendar
    days = [calendar.day_number(float(start)) for start in starts]
    pieces = ledger.pieces
    on_the_spot = np.zeros(len(sheet.places), dtype=bool)
    on_the_spot[places] = True
    row = np.flatnonzero((on_the_spot[columns.place] & ~columns.parked)[pieces.row])
    swept = sweep(columns.serial[pieces.row[row]], pieces.start[row], pieces.end[row], pieces.rank[row])
    number, start, end = cut(starts, ends, swept.start, swept.end)
    shift = np.searchsorted(starts, start, side="right") - 1
    counted_up = np.bincount(shift * RANKS + swept.rank[number], end - start, len(starts) * RANKS)
    minutes = np.asarray(counted_up, dtype=float).reshape(-1, RANKS)
    flown = {calendar.day_number(flight.start) for flight in ledger.records.flights}
    found: dict[date, str] = {}
    for day, of_shift in zip(days, minutes.tolist(), strict=True):
        on = sheet.scenario.start + timedelta(days=day)
        found[on] = FLOWN if day in flown else _why(of_shift, bool(day < len(ledger.records.bad_hours) and
                                                                 ledger.records.bad_hours[day]))
    return found


def _shifts(ledger: Ledger) -> tuple[Numbers, Numbers]:
    """The pilots' shifts, from first to last instant, one a date; those of two trades of pilots are joined."""
    sheet, clocks = ledger.sheet, ledger.columns.clocks
    spans: dict[int, tuple[float, float]] = {}
    for pilots in dict.fromkeys(place.position.flights.pilots for place in sheet.places if place.position.flights):
        for start, end in zip(*clocks.blocks[clocks.roster(pilots, 0, spans=True)], strict=True):
            day = sheet.calendar.day_number(float(start))
            first, last = spans.get(day, (float(start), float(end)))
            if start < ledger.records.ended:
                spans[day] = min(first, float(start)), max(last, float(end))
    order = [spans[day] for day in sorted(spans)]
    return np.array([a for a, _ in order]), np.array([b for _, b in order])


def _why(minutes: Sequence[float], weather_was_bad: bool) -> str:
    by_reason = defaultdict[str, float](float)
    for rank, lasted in enumerate(minutes):
        if lasted > 0 and rank not in _NO_REASON:
            by_reason[_OF_RANK.get(rank, NOT_READY)] += lasted
    if not by_reason:
        return NO_AIRCRAFT
    reason = max(WHY, key=lambda word: by_reason[word])
    return DAYLIGHT if reason == WEATHER and not weather_was_bad else reason


def counted(days: dict[date, str], first: date, last: date) -> dict[str, int]:
    """Dates of a window by reason, all words of WHY."""
    found = Counter(why for day, why in days.items() if first <= day <= last)
    return {why: found[why] for why in WHY}
