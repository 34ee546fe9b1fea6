"""When aircraft are launched: planned moments, owed launches, the first aircraft on the floor."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..scenario.clock import NEVER
from ..scenario.plan import planned_moments
from .aircraft import Unit
from .instant import LAUNCH
from .order_book import OrderBook
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
    row: int  # where it stands among the launches planned


class LaunchDesk:
    """Planned launches in the order of the order book; those that are due and not made are owed."""

    def __init__(self, floor: Floor) -> None:
        self.floor = floor
        self.book = OrderBook(floor)
        firsts = floor.sheet.first
        together = floor.scenario.work_rules.halves == "together"
        self.branches: list[Branch] = [tuple(firsts)] if together else [(first,) for first in firsts]
        self.given: list[int] = []  # of saturated launches: the serials in order, and how many a branch has had
        self.next_of = dict.fromkeys(self.branches, 0)
        self.owed: list[Owed] = []
        self.launched: set[int] = set()
        self.moments = self._moments()
        self.most, self.counted = floor.scenario.launches.most_on_line, floor.sheet.before_roll_out
        self._held: Owed | None = None  # the launch of a pulse that the cap held

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
        if self.has_more() and moment < self.floor.calendar.end:
            self.floor.at(max(moment, self.floor.env.now), LAUNCH, lambda: self._due(moment))

    def has_more(self) -> bool:
        """Whether a slot after those that are owed may find an aircraft."""
        return self.book.has_more(len(self._not_begun()))

    def _not_begun(self) -> list[Owed]:
        return [owed for owed in self.owed if owed.serial not in self.launched]

    def _due(self, planned: float) -> None:
        """A slot is there; without an aircraft for it, it passes."""
        before = len(self._not_begun())
        serials = self.book.first(before + 1, self.floor.env.now)
        if len(serials) > before:
            self.owed.append(self._owe(serials[-1], planned))
        self._plan_next()
        self.make()

    def _owe(self, serial: int, planned: float) -> Owed:
        self.floor.records.planned.append((serial, planned))
        return Owed(serial, planned, list(self.branches), len(self.floor.records.planned) - 1)

    def _look_up_orders(self) -> None:
        """Orders may have changed since slots were due: they are for the first that wait, unless begun."""
        slots = self._not_begun()
        serials = self.book.first(len(slots), self.floor.env.now)
        for owed, serial in zip(slots, serials, strict=False):
            self._give(owed, serial)
        for owed in slots[len(serials):]:
            self._drop(owed)

    def _give(self, owed: Owed, serial: int) -> None:
        if owed.serial != serial:
            owed.serial = serial
            self.floor.records.planned[owed.row] = (serial, owed.planned)

    def _drop(self, owed: Owed) -> None:
        """No aircraft is left for a slot that is owed: it passes."""
        self.owed.remove(owed)
        del self.floor.records.planned[owed.row]
        for other in self.owed:
            other.row -= other.row > owed.row

    def launch_on_pulse(self, due: float) -> bool:
        """Launch the next aircraft in the instant of a pulse; False if the first place is still taken."""
        now = self.floor.env.now
        serial = next(iter(self.book.first(1, now)), None)
        if serial is None and self._held is not None:  # its order has gone, and no other waits
            del self.floor.records.planned[self._held.row]
            self._held = None
        if serial is None or now >= self.floor.calendar.end or self._not_before(serial) > now:
            return True  # the line has a gap
        is_capped = self._is_capped(serial)
        if not is_capped and not all(self._is_free(branch) for branch in self.branches):
            return False
        if self._held is None:
            self._held = self._owe(serial, due)
        self._give(self._held, serial)
        if is_capped:
            return True  # owed at the next pulse
        for branch in self.branches:
            self._launch(serial, self._held.planned, branch)
        self._held = None
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
        if self.floor.scenario.order_changes is not None:
            self._look_up_orders()
        free = set(self.branches)  # those for which no earlier launch waits
        for owed in list(self.owed):
            not_before = self._not_before(owed.serial)
            if not_before > now:
                self.floor.at(not_before, LAUNCH, self.make)
                break
            for branch in list(owed.branches):
                if branch not in free or not self._is_free(branch):
                    free.discard(branch)
                elif self._is_capped(owed.serial):
                    return
                else:
                    owed.branches.remove(branch)
                    self._launch(owed.serial, owed.planned, branch)
            if not owed.branches:
                self.owed.remove(owed)
            if not free:
                break

    def _saturate(self, branch: Branch) -> None:
        now = self.floor.env.now
        while self._is_free(branch):
            ahead = self.given[self.next_of[branch]:] or self.book.first(1, now)
            if not ahead:  # every order that waits is put off or for sale
                if (later := self.book.next_change(now)) < self.floor.calendar.end:
                    self.floor.at(later, LAUNCH, self.make)
                return
            serial = ahead[0]
            if self._is_capped(serial):
                return
            if self._not_before(serial) > now:
                self.floor.at(self._not_before(serial), LAUNCH, self.make)
                return
            if serial not in self.launched:
                self.given.append(serial)
            self.next_of[branch] += 1
            self._launch(serial, now, branch)

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
            self.book.launched(serial)
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
