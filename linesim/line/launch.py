"""When aircraft are launched: planned moments, owed launches, the first aircraft on the floor."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..scenario.clock import NEVER
from ..scenario.plan import planned_moments
from .aircraft import Unit, traveller
from .instant import LAUNCH
from .records import Launch
from .sheet import HOUR

if TYPE_CHECKING:
    from .floor import Floor


class LaunchDesk:
    """Planned launches in the order of the order book; those that are due and not made are owed."""

    def __init__(self, floor: Floor) -> None:
        self.floor = floor
        standing = {entry.serial for entry in floor.scenario.on_the_line}
        self.next = 0
        self.skip = {n for n, order in enumerate(floor.fleet.orders) if order.serial in standing}
        self.owed: list[tuple[int, float]] = []
        self.moments = self._moments()

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
            if len(units) == 2:
                units[0].sibling, units[1].sibling = units[1], units[0]
            for unit, place in zip(units, places, strict=True):
                self.floor.traffic.enter(unit, place)
                self.floor.units[unit] = None
                self.floor.env.process(traveller(self.floor, unit, entry))
            self.floor.records.standing.append(serial)
        if self.floor.scenario.launches.saturated:
            self.floor.launch_if_owed()
        else:
            self._plan_next()

    def _plan_next(self) -> None:
        moment = next(self.moments, NEVER)
        serial = self._next_serial()
        if serial is not None and moment < self.floor.calendar.end:
            self.next = serial + 1
            self.floor.at(max(moment, self.floor.env.now), LAUNCH, lambda: self._due(serial, moment))

    def _next_serial(self) -> int | None:
        n = self.next
        while n in self.skip:
            n += 1
        if self.floor.is_stock(n) and self.floor.scenario.stock.unsold_slots == "hold":
            return None
        return n

    def _due(self, serial: int, planned: float) -> None:
        self.owed.append((serial, planned))
        self.floor.records.planned.append((serial, planned))
        self._plan_next()
        self.make()

    def make(self) -> None:
        """Make every owed launch for which the first places are free."""
        now = self.floor.env.now
        if now >= self.floor.calendar.end:
            return
        if self.floor.scenario.launches.saturated:
            self._saturate()
            return
        while self.owed and self._free():
            serial, planned = self.owed[0]
            not_before = self._not_before(serial)
            if not_before > now:
                self.floor.at(not_before, LAUNCH, self.make)
                return
            del self.owed[0]
            self._launch(serial, planned)

    def _saturate(self) -> None:
        while self._free():
            serial = self._next_serial()
            if serial is None:
                return
            self.next = serial + 1
            self._launch(serial, self.floor.env.now)

    def _not_before(self, serial: int) -> float:
        order = self.floor.order(serial)
        if self.floor.scenario.launches.launch_dates == "hold" and order.launch:
            return self.floor.calendar.instant(order.launch)
        return 0.0

    def _free(self) -> bool:
        places = [self.floor.traffic.places[first] for first in self.floor.sheet.first]
        return all(place.has_dock and not place.parked and not place.wanting for place in places)

    def _launch(self, serial: int, planned: float) -> None:
        floor = self.floor
        places = [floor.traffic.places[first] for first in floor.sheet.first]
        units = [Unit(floor, serial, place.plan.half) for place in places]
        if len(units) == 2:
            units[0].sibling, units[1].sibling = units[1], units[0]
        floor.records.launches.append(Launch(serial, planned, floor.env.now))
        for unit, place in zip(units, places, strict=True):
            floor.traffic.enter(unit, place)
            floor.units[unit] = None
            floor.env.process(traveller(floor, unit))
