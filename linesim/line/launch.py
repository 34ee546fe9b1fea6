"""When aircraft are launched: planned moments, owed launches, the first aircraft on the floor."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..scenario.clock import NEVER
from ..scenario.plan import planned_moments
from .aircraft import Unit
from .instant import LAUNCH
from .records import Launch
from .sheet import HOUR

if TYPE_CHECKING:
    from .floor import Floor


Branch = tuple[int, ...]  # first places that are filled in one instant


@dataclass(slots=True)
class Owed:
    """A launch that is due: the branches that still wait for it."""

    serial: int
    planned: float
    branches: list[Branch]


class LaunchDesk:
    """Planned launches in the order of the order book; those that are due and not made are owed."""

    def __init__(self, floor: Floor) -> None:
        self.floor = floor
        standing = {entry.serial for entry in floor.scenario.on_the_line}
        self.next = 0
        self.skip = {n for n, order in enumerate(floor.fleet.orders) if order.serial in standing}
        firsts = floor.sheet.first
        together = floor.scenario.work_rules.halves == "together"
        self.branches: list[Branch] = [tuple(firsts)] if together else [(first,) for first in firsts]
        self.next_of = dict.fromkeys(self.branches, 0)
        self.owed: list[Owed] = []
        self.launched: set[int] = set()
        self.moments = self._moments()
        self.most, self.counted = floor.scenario.launches.most_on_line, floor.sheet.before_roll_out
        self._owed_since: float | None = None  # of the pulse whose launch the cap held

    def _moments(self) -> Iterator[float]:
        launches, calendar = self.floor.scenario.launches, self.floor.calendar
        if launches.moments is not None:
            yield from (calendar.of_moment(moment) for moment in launches.moments)
        elif launches.between_hours is not None:
            t, n = 0.0, 0
            while True:
                t += launches.between_hours.value(self.floor.luck.uniform("between launches", n)) * HOUR
                n += 1
                yield t
        elif launches.takt_work_days is not None:
            first = calendar.of_moment(launches.first) if launches.first else None
            yield from planned_moments(calendar, launches.takt_work_days, launches.steps, first)

    def open(self) -> None:
        """Put the aircraft that stand at the start in their places and plan the first launch."""
        for entry in self.floor.scenario.on_the_line:
            serial = self.floor.fleet.positions[entry.serial]
            places = [next(p for p in self.floor.traffic.places if p.plan.id == name) for name in entry.at]
            units = [Unit(self.floor, serial, place.plan.half) for place in places]
            for unit, place in zip(units, places, strict=True):
                self.floor.traffic.enter(unit, place)
                self.floor.on_the_floor(unit, entry)
            self.floor.records.standing.append(serial)
        if self.floor.pulse is not None:
            self.floor.pulse.open()
        elif self.floor.scenario.launches.saturated:
            self.floor.launch_if_owed()
        else:
            self._plan_next()

    def _plan_next(self) -> None:
        moment = next(self.moments, NEVER)
        serial = self._next_serial(self.next)
        if serial is not None and moment < self.floor.calendar.end:
            self.next = serial + 1
            self.floor.at(max(moment, self.floor.env.now), LAUNCH, lambda: self._due(serial, moment))

    def _next_serial(self, n: int) -> int | None:
        while n in self.skip:
            n += 1
        if self.floor.is_stock(n) and self.floor.scenario.stock.unsold_slots == "hold":
            return None
        return n

    def has_more(self) -> bool:
        """Whether an aircraft is still to be launched."""
        return self._next_serial(self.next) is not None

    def _due(self, serial: int, planned: float) -> None:
        self.owed.append(Owed(serial, planned, list(self.branches)))
        self.floor.records.planned.append((serial, planned))
        self._plan_next()
        self.make()

    def launch_on_pulse(self, due: float) -> bool:
        """Launch the next aircraft in the instant of a pulse; False if the first place is still taken."""
        now, serial = self.floor.env.now, self._next_serial(self.next)
        if serial is None or now >= self.floor.calendar.end or self._not_before(serial) > now:
            return True  # the line has a gap
        planned = due if self._owed_since is None else self._owed_since
        if self._is_capped(serial):
            if self._owed_since is None:
                self.floor.records.planned.append((serial, due))
            self._owed_since = planned
            return True  # owed at the next pulse
        if not all(self._is_free(branch) for branch in self.branches):
            return False
        self.next = serial + 1
        if self._owed_since is None:
            self.floor.records.planned.append((serial, due))
        self._owed_since = None
        for branch in self.branches:
            self._launch(serial, planned, branch)
        return True

    def make(self) -> None:
        """Make every owed launch for which the first places are free."""
        now = self.floor.env.now
        if now >= self.floor.calendar.end or not self.floor.traffic.are_allowed(self.floor.launch_if_owed):
            return
        if self.floor.scenario.launches.saturated:
            for branch in self.branches:
                self._saturate(branch)
            return
        free = set(self.branches)  # those for which no earlier launch waits
        for owed in list(self.owed):
            not_before = self._not_before(owed.serial)
            if not_before > now:
                self.floor.at(not_before, LAUNCH, self.make)
                break
            if self._is_capped(owed.serial):
                break
            for branch in list(owed.branches):
                if branch in free and self._is_free(branch):
                    owed.branches.remove(branch)
                    self._launch(owed.serial, owed.planned, branch)
                else:
                    free.discard(branch)
            if not owed.branches:
                self.owed.remove(owed)
            if not free:
                break

    def _saturate(self, branch: Branch) -> None:
        while self._is_free(branch):
            serial = self._next_serial(self.next_of[branch])
            if serial is None or self._is_capped(serial):
                return
            if self._not_before(serial) > self.floor.env.now:
                self.floor.at(self._not_before(serial), LAUNCH, self.make)
                return
            self.next_of[branch] = serial + 1
            self._launch(serial, self.floor.env.now, branch)

    def _not_before(self, serial: int) -> float:
        order = self.floor.order(serial)
        if self.floor.scenario.launches.launch_dates == "hold" and order.launch:
            return self.floor.calendar.instant(order.launch)
        return 0.0

    def _is_capped(self, serial: int) -> bool:
        """Whether as many aircraft as may be stand between launch and the named place; two halves are one, and parking
        beyond the place does not count."""
        if self.most is None or serial in self.launched:
            return False
        traffic = self.floor.traffic
        beyond = {unit for place in traffic.places if place.index not in self.counted for unit in place.parked}
        here = {unit.serial for unit in self.floor.units if unit.place.index in self.counted and unit not in beyond}
        return len(here) >= self.most

    def _is_free(self, branch: Branch) -> bool:
        places = [self.floor.traffic.places[first] for first in branch]
        return all(place.has_dock and not place.is_awaited and not place.wanting for place in places)

    def _launch(self, serial: int, planned: float, branch: Branch) -> None:
        floor = self.floor
        if serial not in self.launched:  # the first half of it counts
            self.launched.add(serial)
            floor.records.launches.append(Launch(serial, planned, floor.env.now))
            floor.planned_launch[serial] = planned
        for first in branch:
            place = floor.traffic.places[first]
            unit = Unit(floor, serial, place.plan.half)
            if unit.half == "wing":
                unit.carry(floor.mating.labels.get(serial, serial))
            floor.traffic.enter(unit, place)
            floor.on_the_floor(unit)
            if floor.stated_locks.get(serial, 0.0) > floor.env.now:
                floor.lock(unit, floor.stated_locks[serial])
        if self.floor.scenario.fleet_holds:
            self.floor.engineering.launched(serial)
