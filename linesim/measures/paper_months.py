"""The paper arithmetic month by month: launches asked for against people, docks and flights that can be had.

What a launch asks for is counted in the month of its launch, though it is worked later: a spreadsheet's view, made to
be compared with the runs.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import timedelta
from itertools import takewhile

from ..line.gates import AVIONICS
from ..line.plans import PlacePlan
from ..line.sheet import HOUR, Sheet
from ..scenario.calendar import work_blocks
from ..scenario.daylight import bad_day_chances
from ..scenario.plan import planned_moments
from ..scenario.plant import Flights
from .paper import (
    flights_per_aircraft,
    hours_by_trade,
    is_sized_by_finds,
    longest_path,
    model_factor,
    share_with,
)
from .paper_quality import gates_on_paper
from .window import months_between


@dataclass(frozen=True, slots=True)
class MonthLoad:
    """What is asked and what can be had in a month, in the unit of the table."""

    asked: float
    had: float

    @property
    def share(self) -> float | None:
        """Load as a share; None where something is asked and nothing can be had."""
        return self.asked / self.had if self.had else None if self.asked else 0.0


Months = dict[str, MonthLoad]


def launches_by_month(sheet: Sheet) -> dict[str, float] | None:
    """Planned launches of each month of the run; None without a plan (saturated)."""
    launches, calendar, scenario = sheet.scenario.launches, sheet.calendar, sheet.scenario
    months = [f"{first:%Y-%m}" for first in months_between(scenario.start, scenario.end)]
    if launches.between_hours is not None:
        days = Counter(f"{scenario.start + timedelta(days=n):%Y-%m}" for n in range(_days(sheet)))
        return {month: days[month] * 24 / launches.between_hours.mean for month in months}
    if launches.moments is not None:
        moments = [calendar.of_moment(moment) for moment in launches.moments]
    elif launches.takt_work_days is not None:
        first = calendar.of_moment(launches.first) if launches.first else None
        moments = list(takewhile(lambda t: t < calendar.end, planned_moments(
            calendar, launches.takt_work_days, launches.steps, first)))
    else:
        return None
    if scenario.orders is not None and scenario.stock.unsold_slots == "hold":
        moments = moments[:len(scenario.orders)]
    counts = Counter(f"{calendar.date_of(t):%Y-%m}" for t in moments if t < calendar.end)
    return {month: float(counts[month]) for month in months}


def _days(sheet: Sheet) -> int:
    return (sheet.scenario.end - sheet.scenario.start).days + 1


def work_days_by_month(sheet: Sheet, shift: str | None = None) -> dict[str, int]:
    """Days of each month on which a shift (the reference shift) works."""
    calendar, start = sheet.calendar, sheet.scenario.start
    declared = calendar.shifts[shift or calendar.reference_shift]
    days = [start + timedelta(days=n) for n in range(_days(sheet))]
    counts = Counter(f"{day:%Y-%m}" for day in days if calendar.is_work_day(day, declared))
    return {f"{first:%Y-%m}": counts[f"{first:%Y-%m}"] for first in months_between(start, sheet.scenario.end)}


def trades_by_month(sheet: Sheet, launches: dict[str, float]) -> dict[str, Months]:
    """Labour hours by trade and month."""
    found = {}
    for trade, hours in hours_by_trade(sheet).items():
        people = sheet.scenario.trades[trade].people if trade in sheet.scenario.trades else {}
        had = dict.fromkeys(launches, 0.0)
        for shift, number in people.items():
            name = shift or sheet.calendar.reference_shift
            declared = sheet.calendar.shifts[name]
            daily = sum(b - a for a, b in work_blocks(declared, sheet.scenario.tool_control)) / HOUR
            for month, days in work_days_by_month(sheet, name).items():
                had[month] += number * daily * declared.productivity * days
        found[trade] = {month: MonthLoad(n * hours, had[month]) for month, n in launches.items()}
    return found


def stay_work_days(sheet: Sheet, place: PlacePlan) -> float:
    """Shortest mean stay of an aircraft in a dock, in work days: crew maximum, nobody missing, holds by the clock, each
    package by the share of the ordered aircraft that have it, and what gates find.

    A hold of 24 hours counts as the share of a week's days that are work days; flights and squawks of a spot are added
    one after the other.
    """
    per_day = sheet.calendar.work_day / HOUR
    week = len(sheet.scenario.work_weekdays) / 7
    factor, in_service = model_factor(sheet.scenario), share_in_service(sheet, place)
    gates = {gate.order: gate for gate in gates_on_paper(sheet)}
    lengths = []
    for job in place.jobs:
        has = share_with(sheet.scenario, job.package)
        if job.elapsed is not None:
            lengths.append(has * job.elapsed.mean / 24 * week)
        elif job.kind == "appointment":
            lengths.append(1 / job.package.slots_per_day)
        else:
            labour = job.package.hours.mean * (factor if job.kind == "work" else 1.0) / job.crew_max / in_service
            lengths.append(has * (labour + job.inspection / HOUR) / per_day)
            gate = gates.get(job.order)
            if gate is not None:  # repairs by one person of each trade side by side, then the gate once more
                repair = max(gate.repair_hours.values(), default=0.0) if gate.done_again else 0.0
                lengths[-1] += (repair + gate.done_again * job.package.hours.mean) / per_day
            elif is_sized_by_finds(sheet, job):
                lengths[-1] = sum(sum(one.repair_hours.values()) for one in gates.values()
                                  if one.kind == AVIONICS and one.place == place.index) / job.crew_max / per_day
    stay = longest_path(place, lengths) / (1 - place.position.repeat_chance)
    if place.repaint and place.repaint.chance < 1:
        again = place.repaint.chance / (1 - place.repaint.chance)
        stay += again * (place.repaint.hours.mean / place.repaint.people[1] / per_day / in_service
                         + place.repaint.cure_hours / 24 * week)
    if place.position.flights:
        stay += _on_the_spot(place.position.flights) / per_day
    if place.position.acceptance:
        stay += place.position.acceptance.duration_work_days + _notice_left(sheet, place)
    return stay


def share_in_service(sheet: Sheet, place: PlacePlan) -> float:
    """Share of a place's working hours that weekly service, climate days and breakdowns leave for work."""
    rules = place.position.out_of_service
    if rules is None or place.id != place.position.id:
        return 1.0
    shifts = place.position.shifts or (sheet.calendar.reference_shift,)
    control = sheet.scenario.tool_control
    daily = sum(b - a for shift in shifts for a, b in work_blocks(sheet.calendar.shifts[shift], control)) / HOUR
    left = 1 - min(1.0, rules.weekly_hours / (daily * len(sheet.scenario.work_weekdays)))
    left *= 1 - rules.climate_share
    if rules.hours_up is not None and rules.hours_down is not None:
        left *= rules.hours_up.mean / (rules.hours_up.mean + rules.hours_down.mean)
    return max(left, 1e-6)


def _notice_left(sheet: Sheet, place: PlacePlan) -> float:
    """Work days of notice that are left when an aircraft comes to acceptance at the shortest stays before it."""
    declared = place.position.acceptance
    assert declared is not None
    gone = 0.0
    if declared.notice_from != "certificate":
        flown = max((p.rank for p in sheet.places if p.position.flights), default=place.rank)
        gone = sum(stay_work_days(sheet, p) for p in sheet.places if flown < p.rank < place.rank)
    return max(0.0, declared.notice_work_days - gone)


def _on_the_spot(flights: Flights) -> float:
    """Hours of flights with their preflights and of the squawks that hold them, one after the other."""
    chances, squawks = flights_per_aircraft(flights), flights.squawks
    hours = sum(chances) * (flights.preflight_hours + flights.pilot_hours)
    if squawks is not None:
        found = sum(chance * squawks.mean_by_flight[min(n, len(squawks.mean_by_flight) - 1)] * squawks.dial
                    for n, chance in enumerate(chances))
        hours += found * max(squawks.grounding_share, squawks.needs_reflight_share) * squawks.fix_hours.mean
    return hours


def places_by_month(sheet: Sheet, launches: dict[str, float]) -> dict[str, Months]:
    """Dock work days by place and month."""
    days = work_days_by_month(sheet)
    return {place.id: {month: MonthLoad(n * stay_work_days(sheet, place), place.docks * float(days[month]))
                       for month, n in launches.items()} for place in sheet.places}


def flights_by_month(sheet: Sheet, launches: dict[str, float]) -> dict[str, Months]:
    """Flights by flight line and month: those the launches ask for against those pilots may fly on flyable days."""
    found: dict[str, Months] = {}
    weather = sheet.scenario.weather
    for place in sheet.places:
        flights = place.position.flights
        if flights is None or flights.pilots not in sheet.scenario.trades:
            continue
        had = dict.fromkeys(launches, 0.0)
        for shift, pilots in sheet.scenario.trades[flights.pilots].people.items():
            name = shift or sheet.calendar.reference_shift
            daily = sum(b - a for a, b in work_blocks(sheet.calendar.shifts[name], sheet.scenario.tool_control)) / HOUR
            most = int(daily // flights.pilot_hours)
            if flights.max_flights_per_day is not None:
                most = min(most, flights.max_flights_per_day)
            for month, days in work_days_by_month(sheet, name).items():
                share = 1 - bad_day_chances(weather, int(month[5:]))[0] if weather else 1.0
                had[month] += pilots * most * days * share
        each = sum(flights_per_aircraft(flights))
        found[place.id] = {month: MonthLoad(n * each, had[month]) for month, n in launches.items()}
    return found


def fullest(months: Months) -> tuple[str, MonthLoad]:
    """The month with the highest load; one in which nothing can be had, if there is one."""
    return max(months.items(), key=lambda item: float("inf") if item[1].share is None else item[1].share)


def whole_run(months: Months) -> MonthLoad:
    """All months together."""
    return MonthLoad(sum(load.asked for load in months.values()), sum(load.had for load in months.values()))
