"""Defects: planted by hours of work, found by gates and mended on the spot; the rest escape to flight test.

A gate that finds something opens rework when it ends, by one person of each trade that planted it, and is then done
again in full. What an avionics check finds is mended in the fault-fixing package behind it, and the check is not done
again. Repairs plant nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import log2
from typing import TYPE_CHECKING, Final

from ..scenario.known import KnownDefect
from ..scenario.laws import negative_binomial
from ..scenario.risks import Quality, WhereFound
from .gates import AVIONICS
from .job import Job
from .plans import JobPlan
from .records import Found, State
from .sheet import HOUR

if TYPE_CHECKING:
    from .aircraft import Unit
    from .floor import Floor

_WORK: Final = int(State.WORK)
REPAIR: Final = 1  # beside the gate in file order: its repairs, then the gate once more
AGAIN: Final = 100


@dataclass(frozen=True, slots=True)
class Defect:
    """One defect on an aircraft: the aircraft whose work it came with, the package, its number there."""

    name: str
    plan: JobPlan
    number: int
    place: int  # where the package was closed
    known: KnownDefect | None = None  # what is stated of it


class QualityLoop:
    """Defects of one run: who plants, who finds, what is done about it."""

    def __init__(self, floor: Floor, rules: Quality) -> None:
        self.floor, self.rules, self.gates = floor, rules, floor.sheet.gates(rules)
        self.prices = rules.where_found or WhereFound()
        self.on: dict[Unit, list[Defect]] = {}
        self._closed_up: set[int] = set()               # serials whose panels are closed
        self._rounds: dict[Job, list[tuple[str, float]]] = {}  # a gate done again: the repairs before it
        self._learned: dict[int, float] = {}            # by unit number
        self._escaped: dict[int, float] = {}            # escapes over those expected, of serials that have flown

    # planting ----------------------------------------------------------------------------------------------------
    def worked(self, job: Job) -> None:
        """The work of a package is done for the first time."""
        plan = job.plan
        if plan is not None and not job.repeat and plan.order in self.gates.planting and job.work_state == _WORK:
            self._plant(job.unit, plan, job.total + job.riskier, job.place)

    def worked_overtime(self, job: Job) -> None:
        """What a crew did of a package since it was formed: hours of overtime count more."""
        duty, rules, now = job.duty, self.rules, self.floor.env.now
        if job.plan is None or duty is None or duty.name == duty.shift:
            return
        longer, normal = duty.clocks[job.place], self.floor.sheet.crew_clock(duty.shift, job.place)
        with_it, without = (clock.reading(now) - clock.reading(job.since) for clock in (longer, normal))
        price = rules.travelled_multiplier if job.travelled else 1.0
        job.riskier += price * (rules.overtime_multiplier - 1) * (with_it - without) * job.rate

    def _plant(self, unit: Unit, plan: JobPlan, minutes: float, place: int) -> None:
        known = self.floor.facts.defects.get((unit.name, plan.id))
        if known is not None:
            self.on.setdefault(unit, []).extend(Defect(unit.name, plan, n, place, fact) for n, fact in enumerate(known))
            return
        mean = self.rules.defects_per_100_hours * minutes / HOUR / 100 * self.rules.dial * self.learned(unit)
        uniform = self.floor.luck.first(f"defects/{unit.name}/{plan.id}")
        on = self.on.setdefault(unit, [])
        if number := negative_binomial(mean, None, uniform):
            on += [Defect(unit.name, plan, n, place) for n in range(number)]

    def learned(self, unit: Unit) -> float:
        """Factor on the defects of a unit number."""
        slope = self.rules.learning_slope
        if slope is None:
            return 1.0
        if unit.number not in self._learned:
            self._learned[unit.number] = float((unit.number / self.floor.base_unit) ** log2(slope))
        return self._learned[unit.number]

    def mated(self, halves: Iterable[Unit], whole: Unit) -> None:
        """The defects of the halves are those of the aircraft."""
        self.on[whole] = [defect for half in halves for defect in self.on.pop(half, ())]

    # gates -------------------------------------------------------------------------------------------------------
    def closed(self, job: Job) -> Sequence[Job]:
        """A package is closed. Of a gate that has found something the work that follows: repairs, then it once more."""
        plan = job.plan
        if plan is None:
            return ()
        if plan.close_up:
            self._closed_up.add(job.unit.serial)
        if job in self._rounds:
            return self._second_round(job, self._rounds.pop(job))
        if job.repeat or not self.gates.is_done(plan):
            return ()
        found = self.look(job.unit, plan)
        if self.gates.kind[plan.order] == AVIONICS:
            self._fix(job, found)
            return ()
        hours: dict[str, float] = {}
        for defect in found:
            hours[defect.plan.trade] = hours.get(defect.plan.trade, 0.0) + self._repair(job.unit, defect, plan)
        return self._again(job, list(hours.items()), 1) if hours else ()

    def look(self, unit: Unit, gate: JobPlan) -> list[Defect]:
        """The defects that a gate finds, each by one draw; they are no longer on the aircraft."""
        found = [defect for defect in self.on.get(unit, ()) if self.gates.sees(gate, defect.plan, defect.place)
                 and self._is_found(defect, self.gates.kind[gate.order])]
        if found:
            self.on[unit] = [defect for defect in self.on[unit] if defect not in found]
        return found

    def _is_found(self, defect: Defect, gate: str) -> bool:
        if defect.known is not None:
            return defect.known.found_by == gate
        name = f"found/{defect.name}/{defect.plan.id}/{defect.number}/{gate}"
        return self.floor.luck.first(name) < self.gates.chance[gate]

    def _repair(self, unit: Unit, defect: Defect, gate: JobPlan, *, noted: bool = True) -> float:
        """Hours of mending a defect that a gate finds, by where it is found."""
        floor, prices = self.floor, self.prices
        uniform = floor.luck.uniform("repair hours", defect.name, defect.plan.id, defect.number)
        price = (prices.after_close_up if unit.serial in self._closed_up else
                 prices.own_position if defect.plan.place == gate.place else prices.later_position)
        hours = defect.known.hours if defect.known else self.rules.repair_hours.value(uniform) * price
        if noted:
            floor.records.found.append(Found(unit.serial, defect.plan.place, defect.plan.id,
                                             self.gates.kind[gate.order], floor.env.now, hours))
        return hours

    def _again(self, gate: Job, repairs: list[tuple[str, float]], number: int) -> list[Job]:
        """Repairs by trade, each by one person, and the gate's buy-off in full behind them."""
        assert gate.plan is not None
        order = gate.plan.order
        jobs = []
        for n, (trade, hours) in enumerate(repairs):
            job = Job(gate.scope, f"{gate.id} repair {trade}" + (f" {number}" if number > 1 else ""), trade,
                      hours * HOUR, (order, REPAIR + n))
            job.work_state, job.repeat = State.REWORK, number - 1
            job.answer = self._answer(gate.unit, job.id)
            jobs.append(job)
        again = Job(gate.scope, gate.id, gate.trade, gate.total, (order, AGAIN + number))
        again.plan, again.repeat, again.least, again.most = gate.plan, number, gate.least, gate.most
        again.successors, gate.successors, again.open_before = gate.successors, [], len(jobs)
        for job in jobs:
            job.successors.append(again)
        self._rounds[again] = repairs
        return [*jobs, again]

    def _second_round(self, again: Job, repairs: list[tuple[str, float]]) -> Sequence[Job]:
        """Repairs are accepted, unless the file gives a chance that they are not: then the same once more."""
        chance = self.rules.second_round_chance
        if chance and self.floor.luck.uniform("second round", again.unit.name, again.id, again.repeat) < chance:
            return self._again(again, repairs, again.repeat + 1)
        return ()

    def _fix(self, check: Job, found: list[Defect]) -> None:
        """What the avionics check finds is the fault-fixing package; nothing found: the aircraft has none."""
        assert check.plan is not None
        order = self.gates.fixing.get(check.plan.order)
        job = next((job for job in check.scope.todo if job.plan is not None and job.plan.order == order), None)
        if job is not None:
            self._size(job, check.unit, [self._repair(check.unit, defect, check.plan) for defect in found])

    def decides(self, unit: Unit, plan: JobPlan) -> bool:
        """Whether a check decides if an aircraft has a package: unless that is known."""
        return self.gates.is_fixing(plan) and (unit.name, plan.id) not in self.floor.facts.exists

    def _size(self, fixing: Job, unit: Unit, found: list[float]) -> None:
        if fixing.plan is None or not self.decides(unit, fixing.plan):
            return
        hours = sum(found)
        fixing.exists, fixing.total, fixing.left = bool(found), hours * HOUR, hours * HOUR
        fixing.answer = self._answer(unit, fixing.id) if found else None

    def _answer(self, unit: Unit, package: str) -> float | None:
        """Work days that an engineering answer takes before the rework may begin; None: none is needed."""
        rules, known = self.rules.engineering, self.floor.facts.answers
        for name in (package, package.split(" repair ")[0]):
            if (unit.name, name) in known:
                return known[unit.name, name]
        if rules is None:
            return None
        needed, days, *_ = self.floor.luck.four(f"disposition/{unit.name}/{package}")
        return rules.work_days.value(days) if needed < rules.chance else None

    # flight ------------------------------------------------------------------------------------------------------
    def escapes(self, unit: Unit) -> float:
        """Escapes of an aircraft over those expected of it with all gates and the dial at 1: factor on its squawks."""
        if unit.serial not in self._escaped:
            escaped, expected = len(self.on.pop(unit, ())), self.expected(unit)
            self.floor.records.escaped[unit.serial] = (escaped, expected)
            self._escaped[unit.serial] = escaped / expected if expected else 1.0
        return self._escaped[unit.serial]

    def expected(self, unit: Unit) -> float:
        """Escapes expected of an aircraft: of its standard hours, at its place on both learning curves."""
        gates, hours = self.gates, 0.0
        for plan in gates.before_flight:
            package = plan.package
            if (package.models is None or unit.model in package.models) and (
                    package.schemes is None or unit.scheme in package.schemes):
                hours += package.hours.mean * package.chance * gates.escaping[plan.order]
        return self.rules.defects_per_100_hours / 100 * hours * unit.factor * unit.learned * self.learned(unit)

    # at the start ------------------------------------------------------------------------------------------------
    def stood_before(self, unit: Unit, jobs: list[Job]) -> None:
        """An aircraft stands on the floor at the start: its earlier places have planted, and their gates looked."""
        for place in self.gates.upstream(unit.place.index):
            self._been_through(unit, place.jobs)
        for job in jobs:  # the fixing of what a check here has found, or will
            if job.plan is not None and self.gates.is_fixing(job.plan):
                check = next(one.plan for one in jobs if one.plan is not None
                             and self.gates.fixing.get(one.plan.order) == job.plan.order)
                assert check is not None
                found = self.look(unit, check) if self.gates.is_done(check) else []
                self.on.setdefault(unit, []).extend(found)
                self._size(job, unit, [self._repair(unit, defect, check, noted=False) for defect in found])

    def crossed_off(self, unit: Unit, done: Sequence[Job]) -> None:
        """Packages of the place in which it stands that are closed at the start."""
        self._been_through(unit, [job.plan for job in done if job.plan is not None])

    def _been_through(self, unit: Unit, plans: Iterable[JobPlan]) -> None:
        floor = self.floor
        for plan in plans:
            draws = floor.luck.four(f"package/{unit.name}/{plan.name}/0")
            if not floor.exists(unit, plan, draws[1]):
                continue
            if plan.order in self.gates.planting:
                self._plant(unit, plan, floor.minutes_of(unit, plan, 0, draws[0], False), plan.place)
            if plan.close_up:
                self._closed_up.add(unit.serial)
            if self.gates.is_done(plan):
                self.look(unit, plan)
