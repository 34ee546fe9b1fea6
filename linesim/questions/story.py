"""The life of one aircraft in one run: where it stood, what was done on it and by whom, and what it waited for.

It is told so that a supervisor can check it against life: from launch to delivery without a gap, each stretch of each
package with its people and hours, then what set its date and where its hours went. Before mate the halves have lives of
their own. Times are minutes since 00:00 of the start.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from ..line.records import Records, State, Visit
from ..line.sheet import HOUR, Sheet
from ..measures.chain import Chains
from ..measures.chain import Stay as ChainStay
from ..measures.columns import HALVES
from ..measures.ledger import RANKS, Ledger, sweep
from ..measures.moment import FAMILIES, Floor, Span, spans_of
from ..scenario.faults import unknown

WORKED = (State.WORK, State.REWORK)


class UnknownSerial(ValueError):
    """A serial that is neither in the order book nor built in the run."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A package, or the aircraft itself (job ""), in one state for a while."""

    half: str
    place: int
    job: str
    state: State
    start: float
    end: float
    trade: str
    shift: str
    people: int
    labour_hours: float        # hours of people; 0 where nobody is needed
    hours: dict[State, float]  # clock hours by reason; they sum to its length


@dataclass(frozen=True, slots=True)
class Stay:
    """A stay in a dock, or parked before a place."""

    half: str
    place: int
    parked: bool
    spot: int
    arrived: float
    left: float
    work_days: float           # of the reference shift
    labour_hours: float
    hours: dict[State, float]  # clock hours by reason; they sum to the stay

    @property
    def largest_wait(self) -> tuple[State, float] | None:
        """The reason of waiting or being blocked with most clock hours, and those."""
        waits = {state: hours for state, hours in self.hours.items() if FAMILIES[state] in ("waiting", "blocked")}
        longest = max(waits, key=lambda state: waits[state], default=None)
        return None if longest is None else (longest, waits[longest])


@dataclass(frozen=True, slots=True)
class Story:
    """One aircraft's life; lists are in order of time."""

    serial: str
    number: int                     # place in the order book, from 0
    run: int
    launched: float | None          # None: on the line at the start, or never launched
    planned: float | None           # launch as planned
    began: float | None             # launch, or the start; None: never launched
    ended: float | None             # delivery, finished stock, or the end of the run
    how: str                        # delivered, finished stock, open at the end, not launched
    lives: dict[str, list[Span]]    # "" (the whole aircraft, from mate on), fuselage, wing: spans without a gap
    ledger: dict[State, float]      # hours by reason; they sum to the flow time
    chain: list[ChainStay]          # what set its date; its figures sum to the flow time
    stays: list[Stay]
    stretches: list[Stretch]

    @property
    def flow_hours(self) -> float:
        """From launch (or the start) to its end."""
        return 0.0 if self.began is None or self.ended is None else (self.ended - self.began) / HOUR

    @property
    def labour_hours(self) -> float:
        """Hours of people on it."""
        return sum(stretch.labour_hours for stretch in self.stretches)


def number_of(records: Records, serial: str) -> int:
    """Place of a serial in the order book; raises UnknownSerial with the nearest name."""
    if serial not in records.serials:
        raise UnknownSerial(unknown("serial", serial, records.serials))
    return records.serials.index(serial)


def story(sheet: Sheet, records: Records, serial: str) -> Story:
    """The life of a serial in one run; raises UnknownSerial."""
    return Lives(sheet, records).of(serial)


class Lives:
    """The lives of all aircraft of one run."""

    def __init__(self, sheet: Sheet, records: Records) -> None:
        self.records, self.ledger = records, Ledger(sheet, records)
        self.floor, self.chains = Floor(self.ledger), Chains(self.ledger)

    def of(self, serial: str) -> Story:
        """The life of a serial; raises UnknownSerial."""
        records, ledger, number = self.records, self.ledger, number_of(self.records, serial)
        launch = next((launch for launch in records.launches if launch.serial == number), None)
        planned = launch.planned if launch else dict(records.planned).get(number)
        if launch is None and number not in records.standing:
            return Story(serial, number, records.replication, None, planned, None, None, "not launched", {}, {}, [],
                         [], [])
        began, ended = ledger.span(number)
        stretches = stretches_of(self.floor, number)
        lives = {half: spans for half in HALVES if (spans := spans_of(ledger, number, half))}
        return Story(serial, number, records.replication, launch.made if launch else None, planned, began, ended,
                     _how(records, number), lives, ledger.of(number), self.chains.that_set_the_date(number),
                     _stays(self.floor, number, lives, stretches), stretches)


def _how(records: Records, number: int) -> str:
    if number in records.delivered:
        return "delivered"
    return "finished stock" if number in records.stock_ready else "open at the end"


def stretches_of(floor: Floor, number: int) -> list[Stretch]:
    """Everything that is recorded of an aircraft and its halves, each with its hours of people and of the clock."""
    columns = floor.ledger.columns
    chosen = columns.serial == number
    rows = np.flatnonzero(chosen)
    order = np.zeros(len(columns.serial), dtype=np.int64)
    order[rows] = np.arange(len(rows))
    pieces = columns.pieces(chosen)
    start = np.maximum(pieces.start, columns.start[pieces.row])
    end = np.minimum(pieces.end, columns.end[pieces.row])
    keep = start < end
    hours = sweep(order[pieces.row[keep]], start[keep], end[keep], pieces.rank[keep]).minutes(len(rows)) / HOUR
    found = []
    for n, row in enumerate(rows.tolist()):
        one = floor.segments[row]
        by_reason = {State(rank): float(hours[n, rank]) for rank in range(1, RANKS) if hours[n, rank]}
        found.append(Stretch(one.half, one.place, one.job, State(one.state), one.start, one.end, one.trade, one.shift,
                             one.people, _labour(floor.sheet, one.state, one.start, one.end, one.place, one.shift,
                                                 one.people), by_reason))
    return sorted(found, key=lambda one: (one.start, one.end))


def _labour(sheet: Sheet, state: int, start: float, end: float, place: int, shift: str, people: int) -> float:
    """Hours of people: on their clock at work, by the clock in flight; work without a trade needs nobody."""
    if not shift or state not in (State.FLIGHT, *WORKED):
        return 0.0
    if state == State.FLIGHT:
        return (end - start) * people / HOUR
    clock = sheet.crew_clock(shift, place)
    return (clock.reading(end) - clock.reading(start)) * people / HOUR


def _stays(floor: Floor, number: int, lives: dict[str, list[Span]], stretches: list[Stretch]) -> list[Stay]:
    calendar = floor.sheet.calendar
    found = []
    for visit, spot in floor.stays:
        if visit.serial != number:
            continue
        days = (calendar.reference.reading(visit.left) - calendar.reference.reading(visit.arrived)) / calendar.work_day
        labour = sum(one.labour_hours for one in stretches if one.half == visit.half and one.place == visit.place
                     and visit.arrived <= one.start < visit.left and not visit.parked)
        found.append(Stay(visit.half, visit.place, visit.parked, spot, visit.arrived, visit.left, days, labour,
                          _hours_in(lives.get(visit.half, ()), visit)))
    return found


def _hours_in(spans: Iterable[Span], visit: Visit) -> dict[State, float]:
    hours: dict[State, float] = defaultdict(float)
    for span in spans:
        begin, end = max(span.start, visit.arrived), min(span.end, visit.left)
        if begin < end:
            hours[span.state] += (end - begin) / HOUR
    return dict(sorted(hours.items()))
