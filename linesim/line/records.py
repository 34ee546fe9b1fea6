"""What a run writes down: immutable records, appended as things happen. Every measure is worked out from them.

Times are minutes since 00:00 of the start. Serials and places are numbers, named in `Records.serials` and the sheet.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from enum import IntEnum
from typing import Any, Final, NamedTuple

from ..scenario.hourly import ALL_HOURS


class State(IntEnum):
    """What an aircraft, half or job is in; the order is the rank of the ledger (the lowest true one counts)."""

    FLIGHT = 1
    WORK = 2
    REWORK = 3
    HOLD = 4
    APPOINTMENT = 5
    LOCKED = 6
    PEOPLE = 7
    INSPECTOR = 8
    PILOT = 9
    WEATHER = 10
    OFF_SHIFT = 11
    PARTS = 12
    CUSTOMER = 13
    OTHER_HALF = 14
    LINE_STOP = 15
    PULSE = 16
    BLOCKED = 17


REASON_WORDS = {
    State.FLIGHT: "flight", State.WORK: "hands-on work", State.REWORK: "rework", State.HOLD: "hold",
    State.APPOINTMENT: "appointment", State.LOCKED: "tool stop", State.PEOPLE: "people", State.INSPECTOR: "inspector",
    State.PILOT: "pilot", State.WEATHER: "weather or daylight", State.OFF_SHIFT: "off shift", State.PARTS: "parts",
    State.CUSTOMER: "appointment or customer's date", State.OTHER_HALF: "other half", State.LINE_STOP: "line stop",
    State.PULSE: "pulse", State.BLOCKED: "blocked"}


class Segment(NamedTuple):
    """A job in one state for a while. Work counts only on its crew's clock; waiting only on its trade's."""

    serial: int
    half: str
    place: int
    job: str
    state: int
    start: float
    end: float
    trade: str
    shift: str
    people: int
    daylight: bool


FIELDS = len(Segment._fields)
_END = Segment._fields.index("end")
PARKING: Final = "parking"  # job of a segment of an aircraft that stands before a place, not in it


class Visit(NamedTuple):
    """A stay: arrived, ready to leave, left. `parked` stays are before the place."""

    serial: int
    half: str
    place: int
    parked: bool
    arrived: float
    ready: float
    left: float


class Closing(NamedTuple):
    """A job closed (or bought off): when it was startable and when it closed."""

    serial: int
    half: str
    place: int
    job: str
    repeat: int
    startable: float
    closed: float


class Flight(NamedTuple):
    """A flight block."""

    serial: int
    number: int
    start: float
    end: float
    pilot: int
    squawks: int


class Launch(NamedTuple):
    """A launch: planned and made."""

    serial: int
    planned: float
    made: float


class PulseMade(NamedTuple):
    """A pulse: when it was due and when the line moved."""

    due: float
    made: float


class Hindered(NamedTuple):
    """While a pulse was due an aircraft or half might not move: from when to when, and where it stood."""

    serial: int
    half: str
    place: int
    start: float
    end: float


class LineStop(NamedTuple):
    """A pulse line that stood: from the due moment to the pulse, the serials that could not move, and when each of them
    held it."""

    start: float
    end: float
    caused_by: tuple[int, ...]
    held: tuple[Hindered, ...] = ()


class Travel(NamedTuple):
    """Work that moved on with its aircraft: where it was planned, where it goes, hours left before and after the
    price of its first move (in minutes of labour)."""

    serial: int
    job: str
    origin: int
    to: int
    at: float
    before: float
    after: float


class Attended(NamedTuple):
    """People of a trade on a shift by shift date (day numbers): how many are there and why the others are not, and how
    much they do an hour against fully able ones."""

    trade: str
    shift: str
    days: tuple[int, ...]
    present: tuple[int, ...]
    on_leave: tuple[int, ...]
    absent: tuple[int, ...]
    in_training: tuple[int, ...]
    employed: tuple[int, ...]
    effectiveness: tuple[float, ...]


class Extra(NamedTuple):
    """Overtime of a trade on a shift date: people who stayed or came, and what each is paid for, in minutes."""

    trade: str
    shift: str
    day: int
    people: int
    paid: float
    work: float
    checked: float


class Found(NamedTuple):
    """A defect found by a gate: where and by which package it was planted, and the hours that it takes there."""

    serial: int
    place: int
    package: str
    gate: str
    at: float
    hours: float


class Changed(NamedTuple):
    """An order that changed before its launch: cancelled, sold again, deferred (by days), swapped (with a serial)."""

    serial: int
    at: float
    what: str
    by: int = 0


class Stuck(NamedTuple):
    """Aircraft that can never move on: since when, where, which, and why."""

    since: float
    places: tuple[int, ...]
    serials: tuple[int, ...]
    why: str


@dataclass(slots=True)
class Records:
    """All records of one run."""

    replication: int
    serials: list[str]
    # written tens of thousands of times a run: plain values, named when they are read; of segments all fields of all of
    # them, one behind the other
    segment_fields: list[Any] = field(default_factory=list)
    parked_rows: list[int] = field(default_factory=list)  # segments of aircraft that stand before the place
    closing_rows: list[tuple[Any, ...]] = field(default_factory=list)
    visits: list[Visit] = field(default_factory=list)
    flights: list[Flight] = field(default_factory=list)
    launches: list[Launch] = field(default_factory=list)
    delivered: dict[int, float] = field(default_factory=dict)
    stock_ready: dict[int, float] = field(default_factory=dict)
    found: list[Found] = field(default_factory=list)
    escaped: dict[int, tuple[int, float]] = field(default_factory=dict)  # defects on it at its first flight; expected
    order_changes: list[Changed] = field(default_factory=list)
    promised: dict[int, date | None] = field(default_factory=dict)  # where it is not what the order book says
    unordered: frozenset[int] = frozenset()  # serials of the book that are built for stock
    stuck: list[Stuck] = field(default_factory=list)
    standing: list[int] = field(default_factory=list)  # serials that stood on the floor at the start
    planned: list[tuple[int, float]] = field(default_factory=list)  # launches due so far: serial, planned instant
    pulses: list[PulseMade] = field(default_factory=list)
    stops: list[LineStop] = field(default_factory=list)
    travelled: list[Travel] = field(default_factory=list)
    unfinished: list[Visit] = field(default_factory=list)  # stays that the end of the run cut; `left` is that end
    slots: list[tuple[int, str, float, float]] = field(default_factory=list)  # serial, what, begins, ends
    attended: dict[tuple[str, str], Attended] = field(default_factory=dict)  # where numbers are not always the same
    overtime: list[Extra] = field(default_factory=list)
    outages: dict[str, list[tuple[float, float]]] = field(default_factory=dict)  # by chance, by position
    bad_hours: list[int] = field(default_factory=list)  # of each date: bit h: the hour from h:00 cannot be flown
    ended: float = 0.0

    @property
    def good_days(self) -> list[bool]:
        """Of each date whether any of its hours can be flown."""
        return [hours != ALL_HOURS for hours in self.bad_hours]

    @property
    def segments(self) -> list[Segment]:
        """The segments, each with its fields by name: made anew at each call."""
        return list(map(Segment._make, zip(*[iter(self.segment_fields)] * FIELDS, strict=True)))

    @property
    def segment_count(self) -> int:
        """How many segments there are so far."""
        return len(self.segment_fields) // FIELDS

    def segment(self, n: int) -> Segment:
        """The n-th segment."""
        return Segment._make(self.segment_fields[n * FIELDS:(n + 1) * FIELDS])

    def ends_at(self, n: int, end: float) -> None:
        """The n-th segment ends at another instant than was thought when it was written down."""
        self.segment_fields[n * FIELDS + _END] = end

    @property
    def closings(self) -> list[Closing]:
        """The closings, each with its fields by name: made anew at each call."""
        return list(map(Closing._make, self.closing_rows))
