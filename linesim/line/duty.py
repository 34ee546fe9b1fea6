"""The people of one trade on one shift: how many are there, how able they are, when they work and where."""

from __future__ import annotations

from collections.abc import Sequence

from ..scenario.clock import Clock
from ..scenario.extra_hours import WITH_OVERTIME
from .records import Attended
from .sheet import ALWAYS, Sheet


class Duty:
    """The people of one trade on one shift: how many are present and how many are free."""

    __slots__ = ("_in_places", "attended", "clock", "clocks", "closes", "effectiveness", "elsewhere", "free", "name",
                 "number_of", "opens", "present", "productivity", "roster", "sheet", "shift")

    def __init__(self, sheet: Sheet, shift: str, roster: int, productivity: float = 1.0,
                 attended: Attended | None = None) -> None:
        self.shift, self.roster, self.productivity, self.effectiveness = shift, roster, productivity, productivity
        self.attended = attended  # None where the same people are there every day
        self.number_of = {} if attended is None else sheet.shift_date_numbers(shift)
        self.sheet, self.name = sheet, ""
        self.clock: Clock = ALWAYS
        self._in_places: dict[str, list[Clock]] = {}  # by its name
        self.present = self.free = 0
        self.read_clock(overtime=False)

    def read_clock(self, *, overtime: bool) -> None:
        """From now on its working time is that of its shift, or of its shift with overtime."""
        name = f"{self.shift}{WITH_OVERTIME}" if overtime else self.shift
        if name != self.name or not name:
            self.name, sheet = name, self.sheet
            self.clock = sheet.clock(name) if name else ALWAYS
            if name not in self._in_places:
                self._in_places[name] = [sheet.crew_clock(name, place.index) for place in sheet.places]
            self.clocks = self._in_places[name]  # in each place
            self.elsewhere = [clock is not self.clock for clock in self.clocks]
            self.opens, self.closes = 0.0, 0.0  # the block of its clock that was looked at last

    def come(self, day: int) -> int:
        """People present on a shift date; from now on they are as able as on this day."""
        self.effectiveness, there = self.productivity, self.attended
        n = self.number_of.get(day)
        if n is None and there is not None:  # an extra Saturday: as on the shift date before
            n = next((n for date, n in reversed(self.number_of.items()) if date < day), None)
        if n is None or there is None:
            return self.roster
        self.effectiveness *= there.effectiveness[n]
        return there.present[n]

    @property
    def most(self) -> int:
        """Most people on any shift date of the run; none, if the shift has no date in it."""
        if self.shift and not self.sheet.shift_date_numbers(self.shift):
            return 0
        return self.roster if self.attended is None else max(self.attended.present, default=0)

    def is_on(self, now: float) -> bool:
        """Whether the shift is at work (not at a meal or break)."""
        if not self.opens <= now < self.closes:
            self.opens, self.closes = self.clock.block(now)
        return self.opens <= now < self.closes

    def may_work(self, place: int, now: float) -> bool:
        """Whether the place is open to people who are at work now."""
        return not self.elsewhere[place] or self.clocks[place].is_open(now)


def crews_that_stay(running: Sequence[tuple[int, int]], stay: int) -> list[int]:
    """People each running crew keeps when only `stay` remain: (people, least) in order of serving.

    Each keeps its crew while people last; one that does not fit is cut to what is left if that is at least its least,
    else put down.
    """
    kept = []
    for people, least in running:
        keep = people if people <= stay else stay if stay >= least else 0
        kept.append(keep)
        stay -= keep
    return kept
