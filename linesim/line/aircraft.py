"""One aircraft, or one half before mate, on its way through the plant: it reads like the traveller sheet."""

from __future__ import annotations

from collections.abc import Generator
from datetime import date
from typing import TYPE_CHECKING, Any, Final

from ..scenario.orders import OnTheLine
from .acceptance import acceptance
from .flight import flight_test
from .job import Job, Scope
from .records import PARKING, State
from .traffic import Move, Place
from .work import jobs_here

if TYPE_CHECKING:
    from .floor import Floor

NO_PROMISE: Final = float("inf")


class Unit:
    """An aircraft, or a half of one before mate."""

    __slots__ = (
        "arrived",
        "booked",
        "carried",
        "factor",
        "flights",
        "floor",
        "flying",
        "half",
        "held",
        "learned",
        "locked",
        "model",
        "name",
        "notice_from",
        "number",
        "order",
        "parked_at",
        "place",
        "promise",
        "promised",
        "rank",
        "ready_at",
        "recalled",
        "scheme",
        "scope",
        "serial",
        "serial_flight",
        "stock",
        "visits",
        "whole_unit",
    )

    def __init__(self, floor: Floor, serial: int, half: str) -> None:
        order = floor.order(serial)
        self.floor, self.half = floor, half
        self.name, self.model, self.scheme = order.serial, order.model, order.scheme
        self.number = floor.unit_number(serial)
        self.factor, self.learned = floor.paint_and_model(order.model, order.scheme), floor.learned(self.number)
        self.carry(serial)
        self.place: Place = floor.traffic.places[0]
        self.scope: Scope | None = None
        self.rank, self.arrived = 0, 0.0
        self.ready_at: float | None = None
        self.parked_at: float | None = None  # since when it stands before its next place
        self.locked = self.recalled = self.held = 0  # tools missing near it; re-torque called for; fleet holds
        self.flying = False
        self.flights = 0
        self.notice_from: float | None = None
        self.booked: date | None = None
        self.carried: list[Job] = []  # work that travels with it
        self.whole_unit: Unit | None = None  # the aircraft that a half becomes at mate
        self.visits: dict[int, int] = {}
        self.serial_flight = -1

    def is_joined(self) -> bool:
        """Whether this half has become part of a whole aircraft."""
        return self.whole_unit is not None

    def carry(self, serial: int) -> None:
        """Carry the serial, and so the promise, of an order; its luck stays that of the name it was launched with."""
        order = self.floor.order(serial)
        self.serial = self.order = serial
        self.promised = order.promised
        self.promise = float(order.promised.toordinal()) if order.promised else NO_PROMISE
        self.stock = self.floor.is_stock(serial)


def traveller(floor: Floor, unit: Unit, standing: OnTheLine | None = None) -> Generator[Any, Any, None]:
    """From the first dock to delivery (or to mate, for a half)."""
    while True:
        here = unit.place
        yield from _work_in_place(floor, unit, standing)
        standing = None
        if unit.is_joined():
            return
        if unit.place is not here:  # the pulse took it on, with work that travels
            continue
        target = _next_place(floor, unit)
        if target is unit.place:
            continue
        unit.ready_at = floor.env.now
        if floor.pulse is not None and floor.pulse.holds(unit.place):
            yield floor.pulse.wait(unit, target)
            if unit.is_joined():
                return
            if target is None:
                floor.gone(unit)
                return
            continue
        if unit.half and target is not None and not target.plan.half:
            floor.mating.ready(unit, target)
            return
        gone = floor.env.event()
        floor.traffic.ready(Move([unit], target, floor.env.now, gone.succeed))
        left = unit.place
        since = floor.env.now
        yield gone
        now = floor.env.now
        parked_at, unit.parked_at = unit.parked_at, None
        if now > since:
            gone_at = now if parked_at is None else parked_at
            floor.stand(unit, left.index, State.BLOCKED, since, gone_at)
            floor.stand(unit, unit.place.index, State.BLOCKED, gone_at, now, job=PARKING)
        if target is None:
            floor.gone(unit)
            return


def _work_in_place(floor: Floor, unit: Unit, standing: OnTheLine | None) -> Generator[Any, Any, None]:
    plan = unit.place.plan
    repeat = unit.visits.get(plan.index, -1) + 1
    unit.visits[plan.index] = repeat
    unit.scope = Scope(floor, unit)
    jobs = jobs_here(floor, unit, repeat, standing=standing)
    yield unit.scope.begin(jobs, _carried(floor, unit, jobs))
    if unit.place.plan is not plan or unit.is_joined():
        return
    rounds = 0
    while floor.repeats(unit, plan, rounds):
        rounds += 1
        yield unit.scope.begin(jobs_here(floor, unit, repeat + rounds, rework=True))
    rounds = 0
    while floor.repaints(unit, plan, rounds):
        rounds += 1
        yield unit.scope.begin(floor.repaint_jobs(unit, plan, rounds))
    if plan.position.flights:
        yield from flight_test(floor, unit, plan.position.flights, standing)
    if plan.position.acceptance and not unit.stock:  # finished stock has no customer
        yield from acceptance(floor, unit, plan.position.acceptance, standing)


def _carried(floor: Floor, unit: Unit, jobs: list[Job]) -> list[Job]:
    """Work that travelled here; at its latest place it must be closed before the last buy-off."""
    carried, unit.carried = unit.carried, []
    last = next((job for job in reversed(jobs) if job.plan is not None and job.plan.kind == "buy-off"), None)
    line_ends = floor.pulse is not None and unit.place.index in floor.pulse.last
    for job in carried:
        latest = job.plan.package.latest_position if job.plan else None
        if last is not None and (line_ends or unit.place.plan.id == latest):
            job.successors.append(last)
            last.open_before += 1
    return carried


def _next_place(floor: Floor, unit: Unit) -> Place | None:
    plan = unit.place.plan
    if plan.back_to is not None and floor.goes_back(unit, plan):
        return floor.traffic.places[plan.back_to]
    if unit.stock and floor.has_certificate(plan):
        return None
    return None if plan.next is None else floor.traffic.places[plan.next]
