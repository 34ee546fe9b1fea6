"""The traveller sheet: for each place the jobs planned in it, made ready once and shared by all runs.

A cure becomes a hold of its own beside its step; stripe and cure bays become places of their own behind the booth.
Nothing here moves: these are the printed sheets, not the floor.
"""

from __future__ import annotations

from collections.abc import Callable
from copy import copy
from dataclasses import replace
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING

from ..scenario.calendar import WorkCalendar
from ..scenario.clock import Always, Clock, joint, union, without
from ..scenario.daylight import daylight_spans
from ..scenario.extra_hours import WITH_OVERTIME, ExtraHours
from ..scenario.hourly import HourlyRecord
from ..scenario.plant import Package, Position
from ..scenario.risks import LongLead, Quality
from ..scenario.scenario import Scenario
from ..scenario.spread import Spread
from .appointed import HOUR, Spans, service_spans, slots_of_day
from .order_of_work import in_order, positions_of
from .plans import INSPECTOR, NOBODY, JobPlan, PlacePlan
from .timetable import Bell, in_run, timetable_of

if TYPE_CHECKING:
    from .gates import Gates

OUT = "out"


class Sheet:
    """All places and jobs of a scenario, its clocks and its order of serving."""

    def __init__(self, scenario: Scenario) -> None:
        self.scenario = scenario
        self.calendar = WorkCalendar(scenario)
        rules = scenario.attendance.overtime if scenario.attendance else None
        self.extra = None if rules is None else ExtraHours(self.calendar, rules)
        self.light = daylight_spans(self.calendar)
        self.hourly = HourlyRecord(scenario.weather) if scenario.weather and scenario.weather.hourly else None
        self.by_chance: dict[str, Spans] = {}   # outages of one run, by position
        self._planned: Sheet | None = None      # of the sheet of one run: the sheet of all runs
        self._services_of: dict[str, Spans] = {}
        self._gates: Gates | None = None
        self._latest: Sheet | None = None       # the sheet of the run that was looked at last
        self.places: list[PlacePlan] = []
        for position in positions_of(scenario):
            self._lay_out(position)
        self._route()
        self._rank()
        self._number_jobs()
        self.first = self._first_places()
        self.before_roll_out = self._up_to(scenario.launches.most_on_line_until)
        self._clocks: dict[tuple[str, int], Clock] = {}
        self._date_numbers: dict[str, dict[int, int]] = {}
        self._rosters: dict[str, list[str]] = {}
        self._slots: dict[tuple[date, int], list[tuple[float, float]]] = {}
        self.need_light = list(dict.fromkeys(job.trade for place in self.places for job in place.jobs
                                             if job.package.needs_daylight))

    @cached_property
    def timetable(self) -> list[Bell]:
        """What the calendar brings, in order of time; not made where nothing is run."""
        return timetable_of(self)

    # places --------------------------------------------------------------------------------------------------
    def _lay_out(self, position: Position) -> None:
        """The place of a position, and its stripe and cure bays."""
        steps = list(position.packages)
        stripe_at = next((i for i, step in enumerate(steps) if step.stripe), None)
        parts = [(position, steps, position.docks, position.parking)]
        if position.stripe_bays and stripe_at is not None:
            bay = position.model_copy(update={"id": f"{position.id} stripe bay", "name": "Stripe bay"})
            parts = [(position, steps[:stripe_at], position.docks, position.parking),
                     (bay, steps[stripe_at:], position.stripe_bays, 0)]
        for part, packages, docks, parking in parts:
            self._add_place(part, packages, docks, parking)
        if position.cure_bays and steps and steps[-1].cure_hours and not steps[-1].cure_first:
            cure = self.places[-1].jobs.pop()
            bay = position.model_copy(update={"id": f"{position.id} cure bay", "name": "Cure bay"})
            place = PlacePlan(bay, len(self.places), position.cure_bays, 0)
            place.jobs.append(replace(cure, id=cure.package.id, after=(), place=place.index, part_of=""))
            self.places.append(place)
        self.places[-1].repaint = position.repaint

    def _add_place(self, position: Position, packages: list[Package], docks: int, parking: int) -> None:
        place = PlacePlan(position, len(self.places), docks, parking)
        closes_at: dict[str, int] = {}  # job whose closing closes the package
        for n, package in enumerate(packages):
            before = package.after if package.after is not None else tuple(p.id for p in packages[max(0, n - 1):n])
            after = tuple(closes_at[name] for name in before if name in closes_at)
            pending = [p for p in before if p not in closes_at and any(q.id == p for q in packages)]
            if pending:  # written further down: ordered by a second pass
                packages = in_order(packages)
                place.jobs.clear()
                self._add_place(position, packages, docks, parking)
                return
            closes_at[package.id] = self._add_jobs(place, package, after)
        place.clock = self._area_clock(position)
        self.places.append(place)

    def _add_jobs(self, place: PlacePlan, package: Package, after: tuple[int, ...]) -> int:
        job = self._job(place, package, after)
        if not package.cure_hours:
            place.jobs.append(job)
            return len(place.jobs) - 1
        cure = replace(job, id=f"{package.id} cure", kind="hold", trade=NOBODY, part_of=package.id, inspection=0.0,
                       elapsed=Spread("fixed", (package.cure_hours,)))
        if package.cure_first:
            place.jobs.append(cure)
            place.jobs.append(replace(job, after=(len(place.jobs) - 1,)))
        else:
            place.jobs.append(job)
            place.jobs.append(replace(cure, after=(len(place.jobs) - 1,)))
        return len(place.jobs) - 1

    def _job(self, place: PlacePlan, package: Package, after: tuple[int, ...]) -> JobPlan:
        least, most = package.people
        trade = package.trade or (INSPECTOR if package.kind == "buy-off" else NOBODY)
        return JobPlan(package.id, package, place.index, 0, package.kind, trade, least, most, after,
                       package.inspection_hours * HOUR, package.inspector or INSPECTOR,
                       elapsed=package.elapsed_hours, long_lead=self._long_lead(place.id, package.id),
                       always=package.chance >= 1 and package.models is None and package.schemes is None,
                       draws=_draws(package),
                       stated=package.hours.parts[0] if package.hours is not None and package.hours.is_fixed else None,
                       name=package.id, rework=package.rework, daylight=package.needs_daylight, torque=package.torque,
                       close_up=package.close_up, can_be_short=package.can_be_short)

    def _long_lead(self, position: str, package: str) -> LongLead | None:
        for item in self.scenario.parts.long_lead if self.scenario.parts else ():
            if item.position == position and (item.packages is None or package in item.packages):
                return item
        return None

    def gates(self, rules: Quality) -> Gates:
        """Which gate sees whose defects, made once."""
        from .gates import Gates

        if self._gates is None:
            self._gates = Gates(self, rules)
        return self._gates

    def in_run(self, outages: dict[str, Spans]) -> Sheet:
        """The sheet of a run in which places are out of service at these times by chance, too."""
        if outages == self.by_chance:
            return self
        if self._latest is not None and outages == self._latest.by_chance:
            return self._latest
        found = copy(self)
        found.by_chance, found._clocks, found._planned, found._latest = outages, {}, self, None
        found.places = [replace(place, clock=found._with_gaps(place.clock, place.index)) if place.id in outages and
                        place.clock is not None else place for place in self.places]
        found.timetable = in_run(self, found)
        self._latest = found
        return found

    def _with_gaps(self, clock: Clock, place: int) -> Clock:
        return Clock(without(clock.blocks(), self.by_chance[self.places[place].id]))

    def _in_this_run(self, key: tuple[str, int], planned: Callable[[], Clock]) -> Clock:
        """A clock of a place: as planned, unless the place is out of service at times of this run."""
        if self.places[key[1]].id not in self.by_chance:
            return planned()
        if key not in self._clocks:
            self._clocks[key] = self._with_gaps(planned(), key[1])
        return self._clocks[key]

    def outages(self, position: Position) -> Spans:
        """Spans in which a position is out of service: weekly service, what is known, and by chance in a run."""
        calendar, spans = self.calendar, [*self.by_chance.get(position.id, ()), *self._services(position)]
        for fact in self.scenario.known.out_of_service:
            if fact.position == position.id and fact.day:
                spans.append((calendar.instant(fact.day), calendar.instant(fact.day, 1440)))
            elif fact.position == position.id and fact.begins and fact.ends:
                spans.append((calendar.of_moment(fact.begins), calendar.of_moment(fact.ends)))
        return spans

    def _services(self, position: Position) -> Spans:
        """The first working hours of the first work day of each week, by the position's own shifts."""
        hours = position.out_of_service.weekly_hours if position.out_of_service else 0.0
        if not hours:
            return []
        if position.id not in self._services_of:
            self._services_of[position.id] = service_spans(self.calendar, position, hours)
        return self._services_of[position.id]

    def _area_clock(self, position: Position, overtime: str = "") -> Clock | None:
        """When work may be done in a position. A shift with `overtime` keeps the place open that names the shift."""
        calendar, gaps = self.calendar, self.outages(position)
        if not position.shifts and not gaps and position.out_of_service is None:
            return None
        whole = [(0.0, calendar.midnights[-1], 0)]
        blocks = calendar.union_clock(position.shifts).blocks() if position.shifts else whole
        if self.extra is not None and self.extra.names.get(overtime) in (position.shifts or ()):
            blocks = union((blocks, self.extra.clock(overtime).blocks()))
        return Clock(without(blocks, gaps))

    # routing -------------------------------------------------------------------------------------------------
    def _route(self) -> None:
        names = {place.id: place.index for place in self.places}
        for place in self.places:
            place.next = self._default_next(place)
            own_last = place.index + 1 == len(self.places) or self.places[place.index + 1].id.split(" ")[0] != place.id
            if place.position.next and own_last:
                place.next = None if place.position.next == OUT else names[place.position.next]
            if place.position.back_to:
                place.back_to = names[place.position.back_to.position]

    def _default_next(self, place: PlacePlan) -> int | None:
        later = self.places[place.index + 1:]
        same = next((other.index for other in later if other.half == place.half), None)
        if same is not None or not place.half:
            return same
        return next((other.index for other in self.places if not other.half), None)

    def _rank(self) -> None:
        for _ in self.places:
            for place in self.places:
                if place.next is not None:
                    after = self.places[place.next]
                    after.rank = max(after.rank, place.rank + 1)

    def _up_to(self, named: str | None) -> frozenset[int]:
        """Places from launch up to the named one; if none is named, up to roll-out."""
        last = named or roll_out_position(self.scenario)
        found = {place.index for place in self.places if place.id == last}
        for _ in self.places:
            found |= {place.index for place in self.places if place.next in found}
        return frozenset(found)

    def _number_jobs(self) -> None:
        order = 0
        for place in self.places:
            for n, job in enumerate(place.jobs):
                place.jobs[n] = replace(job, order=order)
                order += 1

    def _first_places(self) -> list[int]:
        """Where a launch puts the halves, or the aircraft."""
        halves = [next((place.index for place in self.places if place.half == half), None)
                  for half in ("fuselage", "wing")]
        return [first for first in halves if first is not None] or [0]

    def slots(self, day: date, number: int) -> list[tuple[float, float]]:
        """Slots of a date, looked up once."""
        if (day, number) not in self._slots:
            self._slots[day, number] = slots_of_day(self.calendar, day, number)
        return self._slots[day, number]

    # clocks --------------------------------------------------------------------------------------------------
    def crew_clock(self, shift: str, place: int) -> Clock:
        """When a crew of a shift (or of one with overtime) may work in a place; shift "" is work that needs nobody."""
        area = self.places[place].clock
        if area is None:
            return self.clock(shift) if shift else ALWAYS
        if not shift:
            return area
        key = (shift, place)
        if self._planned is not None:
            sheet = self._planned
            return self._in_this_run(key, lambda: sheet.crew_clock(shift, place))
        if key not in self._clocks:
            opening = self._area_clock(self.places[place].position, shift) or area
            self._clocks[key] = Clock(joint(self.clock(shift).blocks(), opening.blocks()))
        return self._clocks[key]

    def clock(self, shift: str) -> Clock:
        """Clock of a shift, or of one with overtime."""
        if self.extra is not None and shift in self.extra.names:
            return self.extra.clock(shift)
        return self.calendar.clock(shift)

    def search_clock(self, place: PlacePlan) -> Clock:
        """Working time in which a missing tool is looked for: of the place's shifts, else of the reference shift."""
        shifts = place.position.shifts
        return self.calendar.union_clock(shifts) if shifts else self.calendar.reference

    def rostered(self, trade: str) -> list[str]:
        """Shifts on whose roster a trade stands at any time, in file order, also with 0 people."""
        if trade not in self._rosters:
            self._rosters[trade] = self._roster_of(trade)
        return self._rosters[trade]

    def _roster_of(self, trade: str) -> list[str]:
        declared = self.scenario.trades.get(trade)
        if declared is None:
            return []
        named = {shift or self.calendar.reference_shift for shift in declared.people}
        named |= {step.shift for step in declared.headcount_steps}
        return [shift for shift in self.calendar.shifts if shift in named]

    def shift_date_numbers(self, shift: str) -> dict[int, int]:
        """Shift dates of the run (day numbers), in order, each with its place in the row."""
        if shift not in self._date_numbers:
            horizon = self.calendar.day_number(self.calendar.run_end)
            days = sorted({day for day in self.calendar.clock(shift).dates if 0 <= day < horizon})
            self._date_numbers[shift] = {day: n for n, day in enumerate(days)}
        return self._date_numbers[shift]

    def heads(self, trade: str, shift: str) -> int:
        """People of a trade on the roster of a shift at the start."""
        people = self.scenario.trades[trade].people
        return people.get(shift, people.get("", 0) if shift == self.calendar.reference_shift else 0)

    def is_ever_manned(self, trade: str, shift: str) -> bool:
        """Whether anybody of a trade stands on the roster of a shift at any time."""
        steps = self.scenario.trades[trade].headcount_steps
        return shift in self.rostered(trade) and (
            self.heads(trade, shift) > 0 or any(step.people for step in steps if step.shift == shift))

    def manned_clock(self) -> Clock:
        """When anybody is rostered; the reference shift's clock, if nobody ever is."""
        reference = self.calendar.reference_shift
        manned = {shift or reference for trade in self.scenario.trades.values()
                  for shift, people in trade.people.items() if people} or {reference}
        return self.calendar.union_clock(tuple(shift for shift in self.calendar.shifts if shift in manned))

    def roster_clock(self, trade: str, place: int, *, overtime: bool = False) -> Clock:
        """When a trade has working time in a place; a trade on no roster is read on the reference shift."""
        key = (f"roster {trade}{overtime or ''}", place)
        if self._planned is not None:
            sheet = self._planned
            return self._in_this_run(key, lambda: sheet.roster_clock(trade, place, overtime=overtime))
        if key not in self._clocks:
            shifts = self.rostered(trade) or [self.calendar.reference_shift]
            names = [f"{shift}{WITH_OVERTIME}" if overtime else shift for shift in shifts]
            self._clocks[key] = Clock(union(self.crew_clock(name, place).blocks() for name in names))
        return self._clocks[key]


def _draws(package: Package) -> bool:
    spread = package.elapsed_hours if package.kind == "hold" else package.hours
    return package.kind == "work" or package.chance < 1 or spread is None or not spread.is_fixed


def roll_out_position(scenario: Scenario) -> str | None:
    """The position that an aircraft leaves at roll-out: the last of the pulse line."""
    return scenario.pulse.positions[-1] if scenario.pulse and scenario.pulse.positions else None


ALWAYS = Always()
