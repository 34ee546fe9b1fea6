"""What chance decides on the floor, each by its own keyed draw, and the facts that take the place of draws."""

from __future__ import annotations

from itertools import islice
from typing import TYPE_CHECKING, Protocol

from ..scenario.calendar import WorkCalendar
from ..scenario.hours import effective_unit, learning_factor, natural_key, next_serial
from ..scenario.known import KnownDefect
from ..scenario.orders import Order
from ..scenario.plan import planned_moments
from ..scenario.plant import Acceptance, Package, Squawks
from ..scenario.scenario import Scenario
from .common import PARTS, Common
from .job import Job
from .luck import Luck
from .plans import JobPlan, PlacePlan
from .sheet import HOUR

if TYPE_CHECKING:
    from .aircraft import Unit


class WorkedOn(Protocol):
    """An aircraft as far as the hours of its work depend on it."""

    name: str
    factor: float   # of its model and paint scheme
    learned: float  # of its unit number


class Facts:
    """Facts of `known`, found by key."""

    def __init__(self, scenario: Scenario, calendar: WorkCalendar) -> None:
        known = scenario.known
        self.hours = {(f.serial, f.package, f.repeat): f.hours for f in known.hours}
        self.exists = {(f.serial, f.package): f.exists for f in known.packages}
        self.defects: dict[tuple[str, str], list[KnownDefect]] = {}
        for defect in known.defects:
            self.defects.setdefault((defect.serial, defect.package), []).append(defect)
        self.answers = {(f.serial, f.package): f.work_days or None for f in known.answers}
        self.late = {(f.serial, f.package): f.work_days for f in known.late_parts}
        self.squawks = {(f.serial, "acceptance" if f.acceptance else "flight", f.acceptance or f.flight): f.squawks
                        for f in known.squawks}
        self.times: dict[str, dict[tuple[str, str | None], int]] = {
            what: {(f.serial, f.position): f.times for f in getattr(known, what)}
            for what in ("repeats", "repaints", "returns", "refusals", "goings_back")}

    def times_of(self, what: str, serial: str, position: str) -> int | None:
        """How often something is known to happen to an aircraft in a place; None: it is drawn."""
        stated = self.times[what]
        if not stated:
            return None
        return stated.get((serial, position), stated.get((serial, None)))


class Fleet:
    """The aircraft of a scenario: order book, then stock, with unit numbers for learning."""

    def __init__(self, scenario: Scenario) -> None:
        self.scenario = scenario
        self.orders: list[Order] = list(scenario.orders or ())
        self.unlimited = scenario.orders is None
        self.ordered = len(self.orders)
        ranked = sorted(range(self.ordered), key=lambda n: natural_key(self.orders[n].serial))
        before = scenario.work_time.learning.units_before_start if scenario.work_time.learning else 0
        self._numbers = {serial: before + rank + 1 for rank, serial in enumerate(ranked)}
        self._before = before
        self.positions = {order.serial: n for n, order in enumerate(self.orders)}

    def order(self, n: int) -> Order:
        """The n-th aircraft; past the order book stock, or the next of unlimited orders."""
        while n >= len(self.orders):
            if self.unlimited:
                order = Order(serial=str(len(self.orders) + 1))
            else:
                stock = self.scenario.stock
                last = self.orders[-1].serial if self.orders else "stock-0"
                order = Order(serial=next_serial(last), model=stock.model, scheme=stock.scheme)
            self.orders.append(order)
        return self.orders[n]

    def is_stock(self, n: int) -> bool:
        """Whether the n-th aircraft has no order."""
        return not self.unlimited and n >= self.ordered

    def unit_number(self, n: int) -> int:
        """Unit number for learning: units before the start plus rank in serial order."""
        return self._numbers.get(n, self._before + n + 1)


class Draws:
    """The draws of one run."""

    def __init__(self, scenario: Scenario, calendar: WorkCalendar, luck: Luck) -> None:
        self.scenario, self.calendar, self.luck = scenario, calendar, luck
        self.facts = Facts(scenario, calendar)
        self.common = Common(scenario.common_luck, luck, scenario.start, calendar.days)
        self.fleet = Fleet(scenario)
        self.unordered: set[int] = set()  # serials of the book whose cancelled orders are built for stock
        self.planned_launch: dict[int, float] = {}  # of the serials launched so far
        self._most_short = self.common.most_short(PARTS, scenario.parts.short_chance if scenario.parts else 0.0)
        self._learned: dict[int, float] = {}
        self._factors: dict[tuple[str | None, str | None], float] = {}
        self.spread = scenario.work_time.spread.value  # of actual over standard hours, at one uniform
        self.base_unit = self._base_unit()
        self.flight_squawks: Squawks | None = next(
            (p.flights.squawks for p in scenario.positions if p.flights and p.flights.squawks), None)

    def order(self, n: int) -> Order:
        """Order of the n-th aircraft."""
        return self.fleet.order(n)

    def is_stock(self, n: int) -> bool:
        """Whether the n-th aircraft is built for stock."""
        return self.fleet.is_stock(n) or n in self.unordered

    def unit_number(self, n: int) -> int:
        """Unit number of the n-th aircraft."""
        return self.fleet.unit_number(n)

    def _base_unit(self) -> float:
        learning = self.scenario.work_time.learning
        if learning is None:
            return 1.0
        if learning.hours_stated_at is not None and learning.hours_stated_at in self.fleet.positions:
            return float(self.fleet.unit_number(self.fleet.positions[learning.hours_stated_at]))
        return float(learning.hours_stated_at_unit or learning.units_before_start + 1)

    def learned(self, number: int) -> float:
        """Learning factor of a unit number."""
        if number not in self._learned:
            learning = self.scenario.work_time.learning
            factor = 1.0
            if learning is not None:
                changes = [(self.fleet.unit_number(self.fleet.positions[c.serial]), c.share_reset)
                           for c in learning.configuration_changes if c.serial in self.fleet.positions]
                factor = learning_factor(learning, effective_unit(number, self.base_unit, sorted(changes)),
                                         self.base_unit)
            self._learned[number] = factor
        return self._learned[number]

    def minutes_of(self, unit: WorkedOn, plan: JobPlan, repeat: int, uniform: float, rework: bool) -> float:
        """Actual labour of a job, in minutes of one person."""
        if self.facts.hours:
            known = self.facts.hours.get((unit.name, plan.name, repeat))
            if known is not None:
                return known * HOUR
        if plan.kind == "buy-off":  # as written
            return plan.package.hours.value(uniform) * HOUR
        hours = plan.package.hours.value(uniform) if plan.stated is None else plan.stated * self.spread(uniform)
        hours *= unit.factor
        if not (rework or plan.rework):
            hours *= unit.learned
        return hours * HOUR

    def paint_and_model(self, model: str | None, scheme: str | None) -> float:
        """Factor of an aircraft's model and paint scheme."""
        key = (model, scheme)
        if key not in self._factors:
            factors = self.scenario.work_time
            self._factors[key] = factors.model_factors.get(model or "", 1.0) * factors.scheme_factors.get(
                scheme or "", 1.0)
        return self._factors[key]

    def exists(self, unit: Unit, plan: JobPlan, uniform: float) -> bool:
        """Whether the aircraft has the package."""
        if self.facts.exists:
            known = self.facts.exists.get((unit.name, plan.name))
            if known is not None:
                return known
        if plan.always:
            return True
        package = plan.package
        if package.models is not None and unit.model not in package.models:
            return False
        if package.schemes is not None and unit.scheme not in package.schemes:
            return False
        return uniform < package.chance

    def look_for_part(self, unit: Unit, job: Job, plan: JobPlan, short: float, delay: float) -> None:
        """Whether a part of the job is short, or its long-lead item late."""
        if job.repeat:
            return
        if self.facts.late:
            known = self.facts.late.get((unit.name, plan.name))
            if known is not None:
                job.delay = known or None
                return
        parts = self.scenario.parts
        if parts is None or not (plan.can_be_short or plan.long_lead):
            return
        if plan.can_be_short and short < self._most_short:
            job.delay, job.short = parts.delay_work_days.value(delay), short
        item = plan.long_lead
        if item is not None:
            late, how_late, *_ = self.luck.eight("long lead", unit.name, item.item)
            day = self.calendar.day_number(unit.arrived)
            if late < self.common.short_chance(item.item, day, item.late_chance):
                since = unit.arrived if item.counts_from == "arrival" else self.planned_arrival(unit)
                job.part_at = self.calendar.work_days_later(since, item.delay_work_days.value(how_late))

    def is_short(self, job: Job, now: float) -> bool:
        """Whether the part that may be short is short when it is looked for: a supplier's bad time comes and goes."""
        parts = self.scenario.parts
        return parts is None or job.short is None or job.short < self.common.short_chance(
            PARTS, self.calendar.day_number(now), parts.short_chance)

    def planned_arrival(self, unit: Unit) -> float:
        """When the plan has an aircraft where it now stands: a takt after its launch for each move from place to place.
        Without a takt, or for one that stood on the floor at the start, its real arrival."""
        launches, planned = self.scenario.launches, self.planned_launch.get(unit.serial)
        if planned is None or launches.takt_work_days is None:
            return unit.arrived
        moments = planned_moments(self.calendar, launches.takt_work_days, launches.steps, planned)
        return next(islice(moments, unit.place.plan.rank, None), unit.arrived)

    def repeats(self, unit: Unit, plan: PlacePlan, rounds: int) -> bool:
        """Whether all packages of the place are done again (engine run)."""
        return self._again("repeats", unit, plan.id, rounds, plan.position.repeat_chance, "engine repeat")

    def repaints(self, unit: Unit, plan: PlacePlan, rounds: int) -> bool:
        """Whether another repaint round follows."""
        chance = plan.repaint.chance if plan.repaint else 0.0
        return self._again("repaints", unit, plan.id, rounds, chance, "repaint")

    def returned(self, unit: Unit, package: Package, tries: int) -> bool:
        """Whether the certificate's papers are returned."""
        return self._again("returns", unit, unit.place.plan.id, tries - 1, package.return_chance, "return")

    def refused(self, unit: Unit, declared: Acceptance, tries: int) -> bool:
        """Whether the customer refuses."""
        return self._again("refusals", unit, unit.place.plan.id, tries - 1, declared.refusal_chance, "refusal")

    def goes_back(self, unit: Unit, plan: PlacePlan) -> bool:
        """Whether a finished aircraft goes back (textbook feedback)."""
        chance = plan.position.back_to.chance if plan.position.back_to else 0.0
        return self._again("goings_back", unit, plan.id, unit.visits[plan.index], chance, "going back")

    def _again(self, fact: str, unit: Unit, place: str, before: int, chance: float, purpose: str) -> bool:
        known = self.facts.times_of(fact, unit.name, place)
        if known is not None:
            return before < known
        return chance > 0 and self.luck.uniform(purpose, unit.name, place, before) < chance

    def squawk_learning(self, unit: Unit, squawks: Squawks) -> float:
        """Learning factor of squawk counts."""
        if squawks.learning_slope is None:
            return 1.0
        from math import log2

        return float((unit.number / self.base_unit) ** log2(squawks.learning_slope))
