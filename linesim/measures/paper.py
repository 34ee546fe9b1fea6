"""Paper arithmetic: what a spreadsheet would say, from averages alone, before anything is run.

Loads are hours of work per aircraft over hours of people per takt, at the hours of the reference serial: without
learning, absence, waiting or variation. They are what the runs are to be compared with, not an answer.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from ..line.plans import JobPlan, PlacePlan
from ..line.sheet import HOUR, Sheet
from ..scenario.plant import Flights, Package
from ..scenario.scenario import Scenario


@dataclass(frozen=True, slots=True)
class Load:
    """Labour hours per aircraft against people's hours per takt."""

    name: str
    hours_per_aircraft: float
    hours_per_takt: float

    @property
    def share(self) -> float:
        """Load as a share; infinite where there is work and nobody."""
        if self.hours_per_takt:
            return self.hours_per_aircraft / self.hours_per_takt
        return float("inf") if self.hours_per_aircraft else 0.0


def share_with(scenario: Scenario, package: Package) -> float:
    """Share of the ordered aircraft that have a package."""
    orders = scenario.orders or ()
    if not orders:
        return package.chance
    have = sum((package.models is None or order.model in package.models)
               and (package.schemes is None or order.scheme in package.schemes) for order in orders)
    return package.chance * have / len(orders)


def model_factor(scenario: Scenario) -> float:
    """Average model factor of the order book."""
    factors = [scenario.work_time.model_factors.get(order.model or "", 1.0) for order in scenario.orders or ()]
    return sum(factors) / len(factors) if factors else 1.0


def flights_per_aircraft(flights: Flights) -> list[float]:
    """Chance that flight 1, 2, ... is flown: the least number, then while the last one needs a re-flight.

    No squawk of a flight needs one with chance (1 + m r / k)^-k: the negative binomial thinned by the share r.
    """
    chances, squawks = [1.0] * flights.min_flights, flights.squawks
    if squawks is None or not chances:
        return chances
    while chances[-1] > 1e-9 and len(chances) < 1000:
        mean = squawks.mean_by_flight[min(len(chances), len(squawks.mean_by_flight)) - 1] * squawks.dial
        thinned = mean * squawks.needs_reflight_share
        none = 2.718281828459045 ** -thinned if squawks.k is None else (1 + thinned / squawks.k) ** -squawks.k
        chances.append(chances[-1] * (1 - none))
    return chances


def hours_by_trade(sheet: Sheet) -> dict[str, float]:
    """Labour hours per aircraft of each trade, at the reference serial, with what gates find and repeat."""
    from .paper_quality import gates_on_paper

    scenario, hours = sheet.scenario, defaultdict[str, float](float)
    gates = {gate.order: gate for gate in gates_on_paper(sheet)}
    factor = model_factor(scenario)
    for place in sheet.places:
        rounds = 1 / (1 - place.position.repeat_chance) if place.position.repeat_chance < 1 else float("inf")
        for job in place.jobs:
            share = share_with(scenario, job.package) * rounds
            if job.order in gates:
                share *= 1 + gates[job.order].done_again
            if is_sized_by_finds(sheet, job):
                continue
            if job.kind in ("work", "buy-off") and job.trade:
                hours[job.trade] += share * job.package.hours.mean * (factor if job.kind == "work" else 1.0)
            if job.inspection:
                hours[job.inspector] += share * job.inspection / HOUR
        if place.repaint and place.repaint.chance < 1:
            again = place.repaint.chance / (1 - place.repaint.chance)
            hours[place.repaint.trade] += again * place.repaint.hours.mean
        if place.position.flights:
            _flight_hours(place.position.flights, hours)
        _acceptance_hours(scenario, place, hours)
    for gate in gates.values():
        for trade, repair in gate.repair_hours.items():
            hours[trade] += repair
    return dict(hours)


def is_sized_by_finds(sheet: Sheet, job: JobPlan) -> bool:
    """Whether a package is the fixing of what an avionics check finds of planted defects."""
    rules = sheet.scenario.quality
    return rules is not None and sheet.gates(rules).is_fixing(job)


def _flight_hours(flights: Flights, hours: dict[str, float]) -> None:
    chances, squawks = flights_per_aircraft(flights), flights.squawks
    hours[flights.pilots] += sum(chances) * flights.pilot_hours
    if flights.mechanics:
        hours[flights.mechanics] += sum(chances) * flights.preflight_hours
    if squawks is None:
        return
    found = sum(chance * squawks.mean_by_flight[min(n, len(squawks.mean_by_flight) - 1)] * squawks.dial
                for n, chance in enumerate(chances))
    total = sum(squawks.trades.values())
    for trade, share in squawks.trades.items():
        hours[trade] += found * share / total * squawks.fix_hours.mean


def _acceptance_hours(scenario: Scenario, place: PlacePlan, hours: dict[str, float]) -> None:
    taken = place.position.acceptance
    if taken is None:
        return
    tries = 1 / (1 - taken.refusal_chance) if taken.refusal_chance < 1 else float("inf")
    if taken.delivery_trade:
        hours[taken.delivery_trade] += tries * taken.delivery_hours.mean
    if taken.pilots:
        hours[taken.pilots] += tries * taken.pilot_hours
    flown = next((p.flights.squawks for p in scenario.positions if p.flights and p.flights.squawks), None)
    fix = (taken.squawks.fix_hours if taken.squawks else None) or (flown.fix_hours if flown else None)
    if taken.squawks and fix:
        total = sum(taken.squawks.trades.values())
        for trade, share in taken.squawks.trades.items():
            hours[trade] += tries * taken.squawks.mean * share / total * fix.mean


def trade_loads(sheet: Sheet, takt_work_days: float) -> list[Load]:
    """Load of every trade at a takt, highest first."""
    scenario, calendar = sheet.scenario, sheet.calendar
    per_day = {shift: _shift_hours(sheet, shift) for shift in calendar.shifts}
    loads = []
    for name, hours in hours_by_trade(sheet).items():
        people = scenario.trades[name].people if name in scenario.trades else {}
        present = sum(number * per_day[shift or calendar.reference_shift]
                      * calendar.shifts[shift or calendar.reference_shift].productivity
                      for shift, number in people.items())
        loads.append(Load(name, hours, present * takt_work_days))
    return sorted(loads, key=lambda load: -load.share)


def _shift_hours(sheet: Sheet, shift: str) -> float:
    from ..scenario.calendar import work_blocks

    return sum(b - a for a, b in work_blocks(sheet.calendar.shifts[shift], sheet.scenario.tool_control)) / HOUR


def critical_path_work_days(sheet: Sheet, place: PlacePlan) -> float:
    """Longest chain of hands-on work and buy-offs of a place at crew maximum, in work days.

    Holds are left out: they run at night too. No hire can bring a position under this.
    """
    factor, lengths = model_factor(sheet.scenario), []
    for job in place.jobs:
        labour = job.package.hours.mean * (factor if job.kind == "work" else 1.0)
        lengths.append(labour / job.crew_max + job.inspection / HOUR if job.kind in ("work", "buy-off") else 0.0)
    return longest_path(place, lengths) * HOUR / sheet.calendar.work_day


def longest_path(place: PlacePlan, lengths: list[float]) -> float:
    """Longest chain of jobs of a place, in the unit of their lengths."""
    ends: list[float] = []
    for job, length in zip(place.jobs, lengths, strict=True):
        ends.append(max((ends[n] for n in job.after), default=0.0) + length)
    return max(ends, default=0.0)
