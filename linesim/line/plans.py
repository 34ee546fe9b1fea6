"""What is planned in one place: its docks and parking, the jobs in it, and where the aircraft goes next."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from ..scenario.clock import Clock
from ..scenario.plant import Package, Position, Repaint
from ..scenario.risks import LongLead
from ..scenario.spread import Spread

NOBODY: Final = ""  # trade of work that needs no people
INSPECTOR: Final = "INS"


@dataclass(frozen=True, slots=True, eq=False)
class JobPlan:
    """One line of the sheet. Times in minutes."""

    id: str  # the package's name, or "... cure"
    package: Package
    place: int
    order: int  # place in the file, over all positions
    kind: str   # work, hold, buy-off, appointment
    trade: str
    crew_min: int
    crew_max: int
    after: tuple[int, ...]  # indexes in the place's jobs
    inspection: float = 0.0
    inspector: str = INSPECTOR
    part_of: str = ""  # a cure exists only with its step
    elapsed: Spread | None = None
    long_lead: LongLead | None = None
    always: bool = True  # all aircraft have it, whatever their model and luck
    draws: bool = True   # something about it is drawn
    stated: float | None = None  # its hours, if they are one number
    name: str = ""  # of the package; what follows is as it is declared there
    rework: bool = False
    daylight: bool = False
    torque: bool = False
    close_up: bool = False
    can_be_short: bool = False


@dataclass(slots=True, eq=False)
class PlacePlan:
    """One place: its docks, parking, jobs and where the aircraft goes next."""

    position: Position
    index: int
    docks: int
    parking: int
    jobs: list[JobPlan] = field(default_factory=list)
    next: int | None = None
    back_to: int | None = None
    rank: int = 0            # longest number of moves from launch
    clock: Clock | None = None  # when work may be done here; None: always
    repaint: Repaint | None = None

    @property
    def id(self) -> str:
        """Name of the place."""
        return self.position.id

    @property
    def half(self) -> str:
        """fuselage, wing, or "" for the whole aircraft."""
        return self.position.half or ""
