"""Paper arithmetic of the gates: what each finds of the planted defects per aircraft, and the hours that costs."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from functools import lru_cache
from math import exp

from ..line.gates import AVIONICS, Gates
from ..line.plans import JobPlan
from ..line.sheet import Sheet
from ..scenario.risks import WhereFound
from .paper import model_factor, share_with


@dataclass(frozen=True, slots=True)
class GateOnPaper:
    """Per aircraft at the reference serial: defects found, repair hours by trade, chance that the gate is done again,
    and the hours that its finds would take if they were found on the flight line instead."""

    gate: str
    place: int
    order: int
    kind: str
    found: float
    repair_hours: dict[str, float]
    done_again: float
    on_the_flight_line: float


@lru_cache(maxsize=1)  # asked for by every place and month of one plant
def gates_on_paper(sheet: Sheet) -> list[GateOnPaper]:
    """Every gate in the order of the file; empty without planted defects."""
    rules = sheet.scenario.quality
    if rules is None:
        return []
    gates = sheet.gates(rules)
    jobs = [job for place in sheet.places for job in place.jobs]
    rate = rules.defects_per_100_hours / 100 * rules.dial * model_factor(sheet.scenario)
    left = {job.order: rate * job.package.hours.mean * share_with(sheet.scenario, job.package) for job in jobs
            if job.order in gates.planting}
    prices, found = rules.where_found or WhereFound(), []
    closed = _closed_up_before(sheet, gates)
    for gate in (job for job in jobs if gates.is_done(job)):
        number, hours = 0.0, defaultdict[str, float](float)
        for job in (job for job in jobs if job.order in left and gates.sees(gate, job, job.place)):
            here = left[job.order] * gates.chance[gates.kind[gate.order]]
            left[job.order] -= here
            number += here
            price = (prices.after_close_up if gate.order in closed else
                     prices.own_position if job.place == gate.place else prices.later_position)
            trade = _fixer(gates, gate, jobs) or job.trade
            hours[trade] += here * price * rules.repair_hours.mean
        again = 0.0 if gates.kind[gate.order] == AVIONICS else (1 - exp(-number)) / (1 - rules.second_round_chance)
        found.append(GateOnPaper(gate.id, gate.place, gate.order, gates.kind[gate.order], number, dict(hours), again,
                                 number * prices.flight_line * rules.repair_hours.mean))
    return found


def _fixer(gates: Gates, gate: JobPlan, jobs: list[JobPlan]) -> str | None:
    """Trade that fixes what an avionics check finds."""
    order = gates.fixing.get(gate.order)
    return next((job.trade for job in jobs if job.order == order), None)


def _closed_up_before(sheet: Sheet, gates: Gates) -> set[int]:
    """Gates behind which the panels are closed: later in the file than a close-up."""
    jobs = [job for place in sheet.places for job in place.jobs]
    first = next((job.order for job in jobs if job.package.close_up), None)
    return set() if first is None else {order for order in gates.kind if order > first}
