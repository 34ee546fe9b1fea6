"""The flight line: preflight, flight block, squawks, and again while a flight is due; pilots, daylight, weather.

A flight block never pauses. It starts at the earliest instant at which it lies inside a pilot's shift, take-off and
landing lie in daylight, the weather is flyable for all of the airborne time, and the pilot is under both caps.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Generator
from dataclasses import dataclass
from itertools import compress
from typing import TYPE_CHECKING, Any, Final

from ..scenario.clock import NEVER
from ..scenario.laws import negative_binomial, pick_by_share
from ..scenario.orders import OnTheLine
from ..scenario.plant import Flights, Squawks
from .duty import Duty
from .instant import CALENDAR, COMPLETION, FLIGHTS
from .job import Job, Loan
from .people import Pool
from .records import Flight, State
from .sheet import HOUR

if TYPE_CHECKING:
    from .aircraft import Unit
    from .floor import Floor

LAST: Final = 1_000_000  # squawks stand after all packages in file order
PREFLIGHT: Final = LAST - 1


@dataclass(slots=True)
class Squawk:
    """A fault written up, with its traits."""

    trade: str
    minutes: float
    grounding: bool = False
    needs_reflight: bool = False
    part_work_days: float = 0.0
    part_at: float | None = None


def flight_test(floor: Floor, unit: Unit, flights: Flights, standing: OnTheLine | None) -> Generator[Any, Any, None]:
    """All flights of one aircraft on its spot, until none is due and all squawks are closed."""
    found = _open_at_start(floor, standing) if standing else []
    unit.flights = standing.flights_flown if standing else 0
    fixes: list[Any] = []
    while True:
        due = unit.flights < flights.min_flights or any(squawk.needs_reflight for squawk in found)
        holding: list[Job] = []
        others: list[Job] = []
        for n, squawk in enumerate(found):
            holds = due and (squawk.grounding or squawk.needs_reflight)
            bought_off = flights.squawks.inspection_hours * HOUR if flights.squawks else 0.0
            (holding if holds else others).append(
                squawk_job(floor, unit, squawk, n, minor=not holds, inspection=bought_off))
        fixes.append(floor.side_scope(unit).begin(others))
        if not due:
            break
        yield floor.side_scope(unit).begin(holding)
        yield from _preflight_and_flight(floor, unit, flights)
        unit.flights += 1
        found = _written_up(floor, unit, flights)
    yield floor.env.all_of(fixes)
    unit.notice_from = floor.env.now


def _preflight_and_flight(floor: Floor, unit: Unit, flights: Flights) -> Generator[Any, Any, None]:
    while True:
        if flights.preflight_hours and flights.mechanics:
            job = Job(floor.side_scope(unit), f"preflight {unit.flights + 1}", flights.mechanics,
                      flights.preflight_hours * HOUR, (PREFLIGHT, unit.flights))
            yield job.scope.begin([job])
        flown = yield floor.flight_line(flights.pilots).wait(unit, flights)
        if flown:
            return


def squawk_job(floor: Floor, unit: Unit, squawk: Squawk, number: int, *, minor: bool, inspection: float = 0.0) -> Job:
    """The fixing of one squawk, by one person."""
    job = Job(floor.side_scope(unit), f"squawk {unit.flights}.{number + 1}", squawk.trade, squawk.minutes,
              (LAST + 1 + unit.flights, number))
    job.minor, job.work_state, job.part_at = minor, State.REWORK, squawk.part_at
    job.delay = squawk.part_work_days or None
    job.inspection, job.inspector = inspection, "INS"
    return job


def _open_at_start(floor: Floor, standing: OnTheLine) -> list[Squawk]:
    clock = floor.calendar.reference
    return [Squawk(s.trade, s.hours * HOUR, s.grounding, s.needs_reflight,
                   part_at=clock.next_open(floor.calendar.instant(s.part_due)) if s.part_due else None)
            for s in standing.open_squawks]


def _written_up(floor: Floor, unit: Unit, flights: Flights) -> list[Squawk]:
    """Squawks known at the end of the debrief."""
    known = floor.facts.squawks.get((unit.name, "flight", unit.flights))
    if known is not None:
        found = [Squawk(s.trade, s.hours * HOUR, s.grounding, s.needs_reflight, s.part_work_days) for s in known]
    elif flights.squawks is None:
        found = []
    else:
        level = floor.common.squawk_level(floor.calendar.day_number(floor.env.now))
        mean = level * squawk_mean(flights.squawks.mean_by_flight, unit.flights, flights.squawks.dial,
                                   floor.squawk_learning(unit, flights.squawks),
                                   1.0 if floor.quality is None else floor.quality.escapes(unit))
        count = negative_binomial(mean, flights.squawks.k,
                                  floor.luck.uniform("squawk count", unit.name, unit.flights))
        found = [drawn(floor, unit, flights.squawks, ("squawk", unit.name, unit.flights, n)) for n in range(count)]
    last = floor.records.flights[unit.serial_flight]
    floor.records.flights[unit.serial_flight] = last._replace(squawks=len(found))
    return found


def squawk_mean(table: tuple[float, ...], flight: int, dial: float = 1.0, learning: float = 1.0,
                escapes: float = 1.0) -> float:
    """Mean count of a flight (1 first): table (the last value repeats) x dial x learning x escapes found."""
    return table[min(flight, len(table)) - 1] * dial * learning * escapes


def drawn(floor: Floor, unit: Unit, squawks: Squawks, key: tuple[Any, ...]) -> Squawk:
    """One squawk with traits by their own draws."""
    trade, hours, grounding, reflight, part, delay, _, _ = floor.luck.eight(*key)
    needs_part = part < squawks.needs_part_share
    return Squawk(pick_by_share(squawks.trades, trade), squawks.fix_hours.value(hours) * HOUR,
                  grounding < squawks.grounding_share, reflight < squawks.needs_reflight_share,
                  squawks.part_delay_work_days.value(delay) if needs_part else 0.0)


class Pilot:
    """One pilot of a shift: flights of the day and first block start."""

    __slots__ = ("busy", "day", "duty", "first_start", "flights", "here", "number", "on_ground")

    def __init__(self, number: int, duty: Duty) -> None:
        self.number, self.duty = number, duty
        self.busy, self.here, self.day, self.flights, self.first_start = False, False, -1, 0, 0.0
        self.on_ground: Job | None = None

    def flown(self, day: int) -> int:
        """Flights flown on a local date."""
        return self.flights if self.day == day else 0


class PilotPool(Pool):
    """Pilots as people: ground hours take the free pilot with most flights, then highest number."""

    __slots__ = ("line", "pilots", "there")

    def __init__(self, floor: Floor, trade: str, duties: list[Duty], *, grows: bool, reserve: bool) -> None:
        super().__init__(floor, trade, duties, grows=grows, reserve=reserve)
        there = {duty: floor.there.get((trade, duty.shift)) for duty in duties}
        self.there: dict[Duty, list[list[bool]] | None] = {  # of each shift date, who is there
            duty: None if states is None else states.T.tolist() for duty, states in there.items()}
        self.pilots = [Pilot(n, duty) for duty in duties for n in range(self._numbers(duty))]
        self.line = FlightLine(floor, self)

    def _numbers(self, duty: Duty) -> int:
        there = self.there[duty]
        return duty.roster if there is None else max(len(there[0]) if there else 0, duty.most)

    def free_pilots(self) -> list[Pilot]:
        """Pilots present and free."""
        return [pilot for pilot in self.pilots if pilot.here and not pilot.busy]

    def start(self, job: Job, duty: Duty, people: int, now: float, lent: list[Loan] | None = None) -> None:
        day = self.line.shift_date(duty.shift, now)
        free = [p for p in self.free_pilots() if p.duty is duty]
        for pilot in sorted(free, key=lambda p: (-p.flown(day), -p.number))[:people]:
            pilot.busy, pilot.on_ground = True, job
        super().start(job, duty, people, now, lent)

    def _here(self, duty: Duty, number: int, day: int) -> set[int]:
        """Numbers of the pilots present; of people stated beyond the roll the next ones."""
        there = self.there[duty]
        if there is None or not number or day not in duty.number_of:
            return set(range(number))
        here = there[duty.number_of[day]]
        return {*compress(range(len(here)), here), *range(len(here), len(here) + number - sum(here))}

    def _leave(self, job: Job) -> None:
        for pilot in self.pilots:
            if pilot.on_ground is job:
                pilot.busy, pilot.on_ground = False, None
        super()._leave(job)
        self.line.look()

    def _stop_for_the_night(self, job: Job, duty: Duty, reading: float, now: float) -> None:
        self.put_down(job)

    def on_duty(self, duty: Duty, number: int, day: int = -1) -> None:
        super().on_duty(duty, number, day)
        here = self._here(duty, number, day)
        for pilot in self.pilots:
            if pilot.duty is duty:
                pilot.here = pilot.number in here
        self.line.look()


class FlightLine:
    """Aircraft that wait for a pilot, and the choice of who flies which."""

    def __init__(self, floor: Floor, pool: PilotPool) -> None:
        self.floor, self.pool = floor, pool
        self.waiting: dict[Unit, tuple[Flights, Any, float]] = {}
        declared = floor.scenario.trades.get(pool.trade)
        self.order = floor.order_of_units((declared.dispatch if declared else None)
                                          or floor.scenario.work_rules.dispatch)
        self.spans = {duty.shift: duty.clock.spans() for duty in pool.duties}
        self.starts = {shift: [a for a, _ in spans] for shift, spans in self.spans.items()}

    def wait(self, unit: Unit, flights: Flights) -> Any:
        """The aircraft is ready to fly; gives the event of having flown (or of the preflight having run out)."""
        event = self.floor.env.event()
        self.waiting[unit] = (flights, event, self.floor.env.now)
        self.look()
        if flights.preflight_valid == "same shift":
            ends = self._shift_end(self.floor.env.now)
            self.floor.at(ends, CALENDAR, lambda: self._run_out(unit, event))
        return event

    def wait_for_engineering(self, unit: Unit, now: float) -> None:
        """An aircraft that is ready to fly is held."""
        if unit in self.waiting:
            flights, event, since = self.waiting[unit]
            self.floor.stand(unit, unit.place.index, State.PILOT, since, now, flights.pilots)
            self.waiting[unit] = (flights, event, now)

    def go_on_waiting(self, unit: Unit, now: float) -> None:
        """It is held no longer."""
        if unit in self.waiting:
            flights, event, since = self.waiting[unit]
            self.floor.stand(unit, unit.place.index, State.PARTS, since, now)
            self.waiting[unit] = (flights, event, now)
            self.look()

    def look(self) -> None:
        """Who flies is looked at again in this instant."""
        if self.waiting:
            self.floor.look_at_flights(self)

    def _shift_end(self, t: float) -> float:
        return min((b for spans in self.spans.values() for _, b in spans if b > t), default=NEVER)

    def _run_out(self, unit: Unit, event: Any) -> None:
        if unit in self.waiting and self.waiting[unit][1] is event:
            flights, _, since = self.waiting.pop(unit)
            self.floor.stand(unit, unit.place.index, State.PILOT, since, self.floor.env.now, flights.pilots)
            event.succeed(False)

    def assign(self) -> None:
        """Start every flight that can start now; plan to look again at the next instant at which one may."""
        now, wake = self.floor.env.now, NEVER
        if not any(duty.free for duty in self.pool.duties):  # who comes back looks again
            return
        starts: dict[tuple[Pilot, int], float] = {}  # one flight leaves the other pilots as they were
        for unit in sorted(self.waiting, key=lambda unit: self.order(unit, self.waiting[unit][2])):
            if unit.locked or unit.recalled or unit.held:
                continue
            flights = self.waiting[unit][0]
            able = []
            for pilot in self.pool.free_pilots():
                key = (pilot, id(flights))
                if key not in starts:
                    starts[key] = self.earliest_start(now, pilot, flights)
                if starts[key] <= now:
                    able.append(pilot)
                elif starts[key] < wake:
                    wake = starts[key]
            if able:
                self._fly(unit, min(able, key=lambda p: (p.flown(self.shift_date(p.duty.shift, now)), p.number)))
        if wake != NEVER and self.waiting:
            self.floor.at(wake, FLIGHTS, self.assign)

    def _fly(self, unit: Unit, pilot: Pilot) -> None:
        floor, now = self.floor, self.floor.env.now
        flights, event, since = self.waiting.pop(unit)
        if now > since:
            floor.stand(unit, unit.place.index, State.PILOT, since, now, flights.pilots)
        ends = now + flights.pilot_hours * HOUR
        day = self.shift_date(pilot.duty.shift, now)
        if pilot.day != day:
            pilot.day, pilot.flights, pilot.first_start = day, 0, now
        pilot.flights += 1
        pilot.busy = True
        pilot.duty.free -= 1
        unit.flying = True
        floor.put_down_work_on(unit)
        floor.stand(unit, unit.place.index, State.FLIGHT, now, ends, flights.pilots, shift=pilot.duty.shift, people=1)
        unit.serial_flight = len(floor.records.flights)
        floor.records.flights.append(Flight(unit.serial, unit.flights + 1, now, ends, pilot.number, 0))
        floor.at(ends, COMPLETION, lambda: self._landed(unit, pilot, event))

    def _landed(self, unit: Unit, pilot: Pilot, event: Any) -> None:
        pilot.busy = False
        pilot.duty.free = min(pilot.duty.present, pilot.duty.free + 1)
        unit.flying = False
        self.floor.deal_all()
        self.look()
        event.succeed(True)

    def earliest_start(self, t: float, pilot: Pilot, flights: Flights) -> float:
        """Earliest start of a block at or after `t` for a pilot who stays free, by shift, caps, light and weather."""
        block, brief = flights.pilot_hours * HOUR, (flights.pilot_hours - flights.flight_hours) / 2 * HOUR
        airborne = flights.flight_hours * HOUR
        spans = self.spans[pilot.duty.shift]
        while t < self.floor.calendar.run_end:
            i = self.shift_date(pilot.duty.shift, t)
            if t + block > spans[i][1] + 1e-9 or (pilot.day == i and _over_cap(t, block, pilot, flights)):
                i += 1
                if i >= len(spans):
                    return NEVER
                t = max(t, spans[i][0])
            later = max(t, spans[i][0], self.floor.sky.earliest_take_off(t + brief, airborne) - brief)
            if later <= t:
                return t
            t = later
        return NEVER

    def shift_date(self, shift: str, t: float) -> int:
        """Which shift date of the pilots' shift an instant belongs to (before the first: to that); hours after midnight
        belong to the date on which the shift began."""
        return max(bisect_right(self.starts[shift], t) - 1, 0)


def _over_cap(t: float, block: float, pilot: Pilot, flights: Flights) -> bool:
    """Whether one more block on the shift date of those it has flown is too much."""
    if flights.max_flights_per_day is not None and pilot.flights >= flights.max_flights_per_day:
        return True
    return flights.max_duty_hours is not None and t + block - pilot.first_start > flights.max_duty_hours * HOUR + 1e-9
