"""Holds by engineering: named aircraft stand still until an inspection of each is closed.

From 00:00 of the date (or from its launch) all work on the aircraft but the inspection is put down; nothing moves,
flies or begins an appointment. What is under way ends, and holds run on.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ..scenario.risks import FleetHold
from .job import Job
from .records import State
from .sheet import HOUR

if TYPE_CHECKING:
    from .aircraft import Unit
    from .floor import Floor

FIRST: Final = -1  # the inspection stands before all packages in file order


class Engineering:
    """Fleet holds of one run, and the work that waits for them."""

    def __init__(self, floor: Floor) -> None:
        self.floor = floor
        self.in_force: dict[int, list[FleetHold]] = {}  # serial -> holds that have begun and have not reached it
        self.ahead = list(floor.scenario.fleet_holds)
        self._waiting: dict[int, dict[Job, float]] = {}  # serial -> work put down, since when
        self._kept: dict[Unit, int] = {}  # wings that wait for their fuselage -> holds that it will have to end

    def begin(self, number: int) -> None:
        """A fleet hold begins: it reaches the aircraft on the floor, and the others at their launch."""
        hold = self.ahead[number]
        serials = {order.serial: n for n, order in enumerate(self.floor.fleet.orders)}
        for name in hold.serials:
            self.in_force.setdefault(serials[name], []).append(hold)
        for unit in [unit for unit in self.floor.units if unit.serial in self.in_force and unit.half != "wing"]:
            self.reach(unit)
        for wing in [unit for unit in self.floor.units if unit.serial in self.in_force]:  # its fuselage is yet to come
            self._keep(wing)

    def launched(self, serial: int) -> None:
        """Holds that began before its launch reach an aircraft now; a half that follows is held with the other."""
        halves = [unit for unit in self.floor.units if unit.serial == serial]
        if all(unit.half == "wing" for unit in halves):
            for unit in halves:
                self._keep(unit)
            return
        for unit in halves:
            unit.held -= self._kept.pop(unit, 0)
        for unit in halves:
            unit.held = max(half.held for half in halves)
            if unit.half != "wing":
                self.reach(unit)

    def _keep(self, wing: Unit) -> None:
        """A wing without its fuselage stands still from now on; the inspection that ends it is of the fuselage."""
        wing.held += len(self.in_force.get(wing.serial, ())) - self._kept.get(wing, 0)
        self._kept[wing] = len(self.in_force.get(wing.serial, ()))
        if wing.held:
            self._stop(wing)

    def reach(self, unit: Unit) -> None:
        """Hold an aircraft: once for each hold, its inspection on the fuselage half."""
        for hold in self.in_force.pop(unit.serial, ()):
            self._hold(unit, hold)

    def _hold(self, unit: Unit, hold: FleetHold) -> None:
        floor, halves = self.floor, [one for one in self.floor.units if one.serial == unit.serial]
        for one in halves:
            one.held += 1
            self._stop(one)
        scope = floor.side_scope(unit)
        parked = floor.traffic.parked_before(unit)
        if parked is not None:
            scope.place = parked
        job = Job(scope, f"fleet inspection {hold.day}", hold.trade, hold.hours * HOUR, (FIRST, 0))
        job.inspects, job.parked = True, parked is not None
        scope.begin([job]).callbacks.append(lambda _: self._release(unit.serial))

    def _stop(self, unit: Unit) -> None:
        """Work on it is put down and waits for engineering."""
        floor, now = self.floor, self.floor.env.now
        floor.put_down_work_on(unit)
        for pool in floor.pools.values():
            for job in [job for job in pool.waiting if job.unit is unit and not job.inspects]:
                pool.lay_aside(job)
                self.wait(job)
        for line in floor.flight_lines():
            line.wait_for_engineering(unit, now)

    def wait(self, job: Job) -> None:
        """A job of a held aircraft would be startable."""
        self._waiting.setdefault(job.unit.serial, {})[job] = self.floor.env.now

    def take_back(self, job: Job) -> None:
        """A job that was put down is not startable any more: something else comes before it."""
        since = self._waiting.get(job.unit.serial, {}).pop(job, None)
        if since is not None:
            self.floor.note(job, State.PARTS, since, self.floor.env.now)

    def _release(self, serial: int) -> None:
        floor, now = self.floor, self.floor.env.now
        for unit in [unit for unit in floor.units if unit.serial == serial]:
            unit.held -= 1
            if not unit.held:
                for line in floor.flight_lines():
                    line.go_on_waiting(unit, now)
        if any(unit.held for unit in floor.units if unit.serial == serial):
            return
        for job, since in self._waiting.pop(serial, {}).items():
            floor.note(job, State.PARTS, since, now)
            floor.pool(job.trade).queue(job)
        floor.may_go_on()

    def close_the_books(self, end: float) -> None:
        """Cut what waits at the end of the run."""
        for jobs in self._waiting.values():
            for job, since in jobs.items():
                self.floor.note(job, State.PARTS, since, end)
