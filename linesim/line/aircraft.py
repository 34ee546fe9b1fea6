"""One aircraft, or one half before mate, on its way through the plant: it reads like the traveller sheet."""

from __future__ import annotations

from collections.abc import Generator
from datetime import date
from typing import TYPE_CHECKING, Any

from ..scenario.orders import OnTheLine
from .acceptance import acceptance
from .flight import flight_test
from .job import Scope
from .records import PARKING, State
from .traffic import Move, Place
from .work import jobs_here

if TYPE_CHECKING:
    from .floor import Floor

NO_PROMISE = float("inf")


class Unit:
    """An aircraft, or a half of one before mate."""

    __slots__ = (
        "arrived",
        "booked",
        "flights",
        "floor",
        "flying",
        "half",
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
        "scheme",
        "scope",
        "serial",
        "serial_flight",
        "sibling",
        "stock",
        "visits",
        "whole_unit",
    )

    def __init__(self, floor: Floor, serial: int, half: str) -> None:
        order = floor.order(serial)
        self.floor, self.serial, self.half, self.order = floor, serial, half, serial
        self.name, self.model, self.scheme = order.serial, order.model, order.scheme
        self.promised: date | None = order.promised
        self.promise = float(order.promised.toordinal()) if order.promised else NO_PROMISE
        self.number = floor.unit_number(serial)
        self.stock = floor.is_stock(serial)
        self.place: Place = floor.traffic.places[0]
        self.scope: Scope | None = None
        self.rank, self.arrived = 0, 0.0
        self.ready_at: float | None = None
        self.parked_at: float | None = None  # since when it stands before its next place
        self.locked = self.flying = False
        self.flights = 0
        self.notice_from: float | None = None
        self.booked: date | None = None
        self.sibling: Unit | None = None
        self.whole_unit: Unit | None = None
        self.visits: dict[int, int] = {}
        self.serial_flight = -1

    @property
    def whole(self) -> Unit:
        """The aircraft that the two halves become at mate."""
        if self.whole_unit is None:
            self.whole_unit = Unit(self.floor, self.serial, "")
            if self.sibling is not None:
                self.sibling.whole_unit = self.whole_unit
        return self.whole_unit


def traveller(floor: Floor, unit: Unit, standing: OnTheLine | None = None) -> Generator[Any, Any, None]:
    """From the first dock to delivery (or to mate, for a half)."""
    while True:
        yield from _work_in_place(floor, unit, standing)
        standing = None
        target = _next_place(floor, unit)
        if target is unit.place:
            continue
        unit.ready_at = floor.env.now
        if unit.half and target is not None and not target.plan.half:
            _ready_for_mate(floor, unit, target)
            return
        gone = floor.env.event()
        floor.traffic.ready(Move([unit], target, floor.env.now, gone.succeed))
        left = unit.place
        since = floor.env.now
        yield gone
        now = floor.env.now
        if now > since:
            gone_at, unit.parked_at = now if unit.parked_at is None else unit.parked_at, None
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
    yield unit.scope.begin(jobs_here(floor, unit, repeat, standing=standing))
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
    if plan.position.acceptance:
        yield from acceptance(floor, unit, plan.position.acceptance, standing)


def _next_place(floor: Floor, unit: Unit) -> Place | None:
    plan = unit.place.plan
    if plan.back_to is not None and floor.goes_back(unit, plan):
        return floor.traffic.places[plan.back_to]
    if unit.stock and floor.has_certificate(plan):
        return None
    return None if plan.next is None else floor.traffic.places[plan.next]


def _ready_for_mate(floor: Floor, unit: Unit, mate: Place) -> None:
    """Both halves leave in the same instant, when both are ready and the mate dock is free."""
    other = unit.sibling
    if other is None or other.ready_at is None:
        return
    now = floor.env.now
    halves = sorted((unit, other), key=lambda half: half.half)

    def mated() -> None:
        whole = unit.whole
        for half in halves:
            since = now if half is unit else floor.ready_since[half]
            if since < now:
                floor.stand(half, half.place.index, State.OTHER_HALF, since, now)
            if now < floor.env.now:
                floor.stand(half, half.place.index, State.BLOCKED, now, floor.env.now)
            floor.units.pop(half, None)
        floor.units[whole] = None
        floor.env.process(traveller(floor, whole))

    floor.ready_since[other] = other.ready_at
    floor.traffic.ready(Move(halves, mate, now, mated))
