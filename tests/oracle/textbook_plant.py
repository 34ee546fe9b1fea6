"""A plant in plain numbers, and what the textbook model tells of it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import NamedTuple

from textbook_calendar import RatePlan, Shift, Span

Dispatch = str | tuple[str, ...]        # its name, or places in order of serving


@dataclass(frozen=True)
class Package:
    """Planned work. Without a trade nobody is needed."""

    id: str
    kind: str = "work"                  # work, hold or buy-off
    trade: str | None = None
    least: int = 1
    most: int = 1
    after: tuple[str, ...] = ()
    inspection: Fraction = Fraction(0)  # hours
    can_travel: bool = False
    latest: str | None = None           # None: the last pulse position


@dataclass(frozen=True)
class Position:
    """A place with its docks and the parking before it."""

    id: str
    packages: tuple[Package, ...]
    docks: int = 1
    parking: int = 0
    half: str = ""
    shifts: tuple[str, ...] = ()
    goes_to: str | None = None          # None: off the floor
    back_to: str | None = None
    outages: tuple[Span, ...] = ()      # hands-on work is put down


class Order(NamedTuple):
    """An ordered aircraft, its planned launch in minutes after the start, or where it stands at the start."""

    serial: str
    promised: date | None
    moment: Fraction
    at: tuple[str, ...] = ()
    not_before: Fraction = Fraction(0)


@dataclass(frozen=True)
class Pulse:
    """A line that moves all at once."""

    positions: tuple[str, ...]
    first: Fraction | None = None       # else the first launch
    those_behind: bool = False          # else the whole line stands
    keep_the_plan: bool = False         # else the takt starts anew
    decide_before: Fraction = Fraction(0)       # working hours
    roll_out_on_pulse: bool = False
    max_share: Fraction = Fraction(0)
    multiplier: Fraction = Fraction(1)


@dataclass(frozen=True)
class Plant:
    """A plant in plain numbers."""

    start: date
    end: date
    shifts: dict[str, Shift]                                    # the first is the reference shift
    trades: dict[str, dict[str, int]]                           # people on each shift
    positions: tuple[Position, ...]
    orders: tuple[Order, ...]
    hours: dict[tuple[str, str, int], Fraction]                 # by serial, package and repeat
    rate_plan: RatePlan | None = None                           # instead of the moments of the orders
    pulse: Pulse | None = None
    halves_apart: bool = False                                  # each branch is launched by itself
    crew_grows: bool = True
    dispatch: Dispatch = "promised date"
    own_dispatch: dict[str, Dispatch] = field(default_factory=dict)         # of a trade
    reserve: bool = False
    closed: frozenset[date] = frozenset()
    present: dict[tuple[str, str, date], int] = field(default_factory=dict)
    missing: frozenset[tuple[str, str]] = frozenset()           # packages that an aircraft does not have
    late: dict[tuple[str, str], Fraction] = field(default_factory=dict)     # parts, in work days
    goings_back: dict[tuple[str, str], int] = field(default_factory=dict)
    repeats: dict[tuple[str, str], int] = field(default_factory=dict)       # all packages of a place again
    locks: dict[str, tuple[Span, ...]] = field(default_factory=dict)        # of a serial: a tool is missing


class Closing(NamedTuple):
    """When a package closed; the place is the one in which it was planned."""

    serial: str
    half: str
    place: str
    job: str
    repeat: int
    closed: Fraction


class Stay(NamedTuple):
    """An aircraft or half in a dock, from and to."""

    serial: str
    half: str
    place: str
    arrived: Fraction
    left: Fraction


class Travelled(NamedTuple):
    """Work that moved on: hours left before and after the price of its first move, in minutes."""

    serial: str
    job: str
    origin: str
    to: str
    at: Fraction
    before: Fraction
    after: Fraction


class Stop(NamedTuple):
    """The line stood from the due moment to the pulse, because of these serials."""

    due: Fraction
    made: Fraction
    causes: tuple[str, ...]


@dataclass
class Told:
    """What the model says of a plant."""

    closings: list[Closing] = field(default_factory=list)
    launched: dict[str, Fraction] = field(default_factory=dict)
    delivered: dict[str, Fraction] = field(default_factory=dict)
    stays: list[Stay] = field(default_factory=list)
    pulses: list[tuple[Fraction, Fraction]] = field(default_factory=list)      # due, made
    stops: list[Stop] = field(default_factory=list)
    travelled: list[Travelled] = field(default_factory=list)
