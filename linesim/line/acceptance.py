"""Appointments: slots on given days, the certificate, and the customer's acceptance in the delivery bay."""

from __future__ import annotations

from collections.abc import Callable, Generator
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from ..scenario.calendar import WorkCalendar
from ..scenario.clock import NEVER
from ..scenario.declared import WEEKDAYS
from ..scenario.laws import negative_binomial
from ..scenario.orders import OnTheLine
from ..scenario.plant import Acceptance, Flights, Squawks
from .flight import Squawk, drawn, flight_test, squawk_job
from .instant import COMPLETION, SLOTS
from .job import Job
from .records import State
from .sheet import HOUR

if TYPE_CHECKING:
    from .aircraft import Unit
    from .floor import Floor


class SlotBook:
    """Slots of one kind of appointment, and who waits for one."""

    def __init__(self, floor: Floor, weekdays: tuple[str, ...], per_day: int) -> None:
        self.floor, self.weekdays, self.per_day = floor, weekdays, per_day
        self.waiting: list[tuple[float, Unit, Callable[[float], object]]] = []
        self.used: set[float] = set()
        self.planned: set[float] = set()
        self.booked: dict[date, str] = {}  # slots that are an aircraft's own

    def wait(self, unit: Unit, begin: Callable[[float], object]) -> None:
        """An aircraft is ready for a slot; `begin(end)` is called when its slot begins."""
        self.waiting.append((self.floor.env.now, unit, begin))
        self._plan_next()

    def _plan_next(self) -> None:
        begins, ends, day = self._next(self.floor.env.now)
        if begins != NEVER and begins not in self.planned:
            self.planned.add(begins)
            self.floor.at(begins, SLOTS, lambda: self._give(begins, ends, day))

    def _next(self, now: float) -> tuple[float, float, date]:
        calendar = self.floor.calendar
        number = calendar.day_number(now)
        while number < calendar.days:
            day = self.floor.scenario.start + timedelta(days=number)
            if WEEKDAYS[day.weekday()] in self.weekdays:
                for begins, ends in self.floor.sheet.slots(day, self.per_day):
                    if begins >= now and begins not in self.used and self._takers(day):
                        return begins, ends, day
            number += 1
        return NEVER, NEVER, calendar.date_of(now)

    def _takers(self, day: date) -> list[tuple[float, Unit, Callable[[float], object]]]:
        """Aircraft that may take a slot of the day: a booked slot is its own, the others keep off it."""
        owner = self.booked.get(day)
        able = [entry for entry in self.waiting
                if (entry[1].booked is None or day >= entry[1].booked) and (owner in (None, entry[1].name))]
        return sorted(able, key=lambda entry: (entry[0], entry[1].promise, -entry[1].rank, entry[1].order))

    def _give(self, begins: float, ends: float, day: date) -> None:
        self.planned.discard(begins)
        takers = [entry for entry in self._takers(day) if not (entry[1].locked or entry[1].held)]
        self.used.add(begins)
        if takers:
            self.waiting.remove(takers[0])
            takers[0][2](ends)
        if self.waiting:
            self._plan_next()


def certificate(floor: Floor, job: Job) -> None:
    """An appointment in the sheet: wait for a slot; returned papers are worked again and wait for a new one."""
    assert job.plan is not None
    package, unit, scope = job.plan.package, job.unit, job.scope
    book = floor.slot_book(package.id, package.weekdays, package.slots_per_day)
    tries = 0

    def wait() -> None:
        since = floor.env.now

        def begin(ends: float) -> None:
            now = floor.env.now
            if now > since:
                floor.note(job, State.CUSTOMER, since, now)
            floor.note(job, State.APPOINTMENT, now, ends)
            floor.records.slots.append((unit.serial, package.id, now, ends))
            floor.at(ends, COMPLETION, end)

        book.wait(unit, begin)

    def end() -> None:
        nonlocal tries
        tries += 1
        if not floor.returned(unit, package, tries):
            if package.certificate:
                floor.certified_at[unit.serial] = floor.env.now
            scope.close(job, job.startable_at)
            return
        again = floor.records_again(job, tries)
        if again is None:
            wait()
            return
        side = floor.side_scope(unit)
        done = side.begin([again])
        done.callbacks.append(lambda _: wait())

    wait()


def acceptance(floor: Floor, unit: Unit, declared: Acceptance, standing: OnTheLine | None) -> Generator[Any, Any, None]:
    """Notice, slot, acceptance, squawks; refused: the whole acceptance again at the next slot."""
    calendar = floor.calendar
    book = floor.slot_book(f"acceptance {unit.place.plan.id}", declared.weekdays, declared.slots_per_day)
    ready = floor.env.now
    if standing and standing.acceptance_booked:
        unit.booked = standing.acceptance_booked
        book.booked[standing.acceptance_booked] = unit.name
    else:
        ready = earliest_begin(calendar, declared, floor.env.now, _notice_from(floor, unit, declared, standing),
                               unit.promised)
    if ready > floor.env.now:
        floor.stand(unit, unit.place.index, State.CUSTOMER, floor.env.now, min(ready, calendar.run_end))
        yield floor.moment(ready)
    tries = 0
    while True:
        tries += 1
        yield from _one_acceptance(floor, unit, declared, book, tries)
        if not floor.refused(unit, declared, tries):
            return


def _notice_from(floor: Floor, unit: Unit, declared: Acceptance, standing: OnTheLine | None) -> float:
    if standing and standing.notice_given:
        return floor.calendar.instant(standing.notice_given)
    if declared.notice_from == "certificate" or unit.notice_from is None:
        certified = floor.certified_at.get(unit.serial)
        return certified if certified is not None else (unit.notice_from or unit.arrived)
    return unit.notice_from


def earliest_begin(calendar: WorkCalendar, declared: Acceptance, ready: float, notice_from: float,
                   promised: date | None) -> float:
    """Instant from which a slot may be taken: certified and in the bay, notice over, not too early."""
    begin = max(ready, calendar.work_days_later(notice_from, declared.notice_work_days))
    if declared.earliest_days_before_promise is not None and promised is not None:
        begin = max(begin, calendar.instant(promised - timedelta(days=declared.earliest_days_before_promise)))
    return begin


def _one_acceptance(floor: Floor, unit: Unit, declared: Acceptance, book: SlotBook,
                    tries: int) -> Generator[Any, Any, None]:
    since, begun = floor.env.now, floor.env.event()
    book.wait(unit, begun.succeed)
    yield begun
    now = floor.env.now
    if now > since:
        floor.stand(unit, unit.place.index, State.CUSTOMER, since, now)
    over = floor.calendar.reference.finish(now, declared.duration_work_days * floor.calendar.work_day)
    floor.records.slots.append((unit.serial, "acceptance", now, over))
    if over > now:
        floor.stand(unit, unit.place.index, State.APPOINTMENT, now, over)
    scope = floor.side_scope(unit)
    yield scope.begin(_delivery_jobs(floor, unit, declared, tries))
    if declared.pilot_hours and declared.pilots and declared.pilot_flies:
        flight = Flights(pilots=declared.pilots, pilot_hours=declared.pilot_hours, flight_hours=declared.pilot_hours)
        unit.flights, kept = 0, unit.flights
        yield from flight_test(floor, unit, flight, None)
        unit.flights = kept
    if floor.env.now < over:
        yield floor.moment(over)
    found = _written_up(floor, unit, declared, tries)
    fixing = [squawk_job(floor, unit, squawk, n, minor=True) for n, squawk in enumerate(found)]
    for job in fixing:
        job.id = f"acceptance {tries} {job.id}"
    yield floor.side_scope(unit).begin(fixing)


def _delivery_jobs(floor: Floor, unit: Unit, declared: Acceptance, tries: int) -> list[Job]:
    scope = floor.side_scope(unit)
    jobs = []
    if declared.delivery_trade:
        known = floor.facts.hours.get((unit.name, "delivery", tries - 1))
        uniform = floor.luck.uniform("delivery hours", unit.name, tries)
        hours = declared.delivery_hours.value(uniform) * floor.spread(uniform) if known is None else known
        if hours:
            jobs.append(Job(scope, f"delivery {tries}", declared.delivery_trade, hours * HOUR, (10**6, 0)))
    if declared.pilots and declared.pilot_hours and not declared.pilot_flies:
        jobs.append(Job(scope, f"pilot {tries}", declared.pilots, declared.pilot_hours * HOUR, (10**6, 1)))
    for job in jobs:
        job.repeat = tries - 1
    return jobs


def _written_up(floor: Floor, unit: Unit, declared: Acceptance, tries: int) -> list[Squawk]:
    known = floor.facts.squawks.get((unit.name, "acceptance", tries))
    if known is not None:
        return [Squawk(s.trade, s.hours * HOUR, part_work_days=s.part_work_days) for s in known]
    own = declared.squawks
    if own is None:
        return []
    as_flown = floor.flight_squawks
    squawks = Squawks.model_construct(
        mean_by_flight=(own.mean,), k=own.k or (as_flown.k if as_flown else None), trades=own.trades,
        grounding_share=0.0, needs_reflight_share=0.0,
        fix_hours=own.fix_hours or (as_flown.fix_hours if as_flown else None),
        needs_part_share=_first(own.needs_part_share, as_flown.needs_part_share if as_flown else 0.0),
        part_delay_work_days=own.part_delay_work_days or (as_flown.part_delay_work_days if as_flown else None))
    count = negative_binomial(own.mean, squawks.k, floor.luck.uniform("acceptance squawks", unit.name, tries))
    return [drawn(floor, unit, squawks, ("acceptance squawk", unit.name, tries, n)) for n in range(count)]


def _first(given: float | None, otherwise: float) -> float:
    return otherwise if given is None else given
