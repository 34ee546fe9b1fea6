"""The floor of one run: its people, places and clock, and who is told of what."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from ..scenario.clock import NEVER
from ..scenario.orders import OnTheLine
from ..scenario.people import ByPlaces
from .acceptance import SlotBook, certificate
from .aircraft import Unit, traveller
from .attendance import attendance_of
from .bells import ring_bells
from .cover import Cover
from .draws import Draws
from .duty import Duty
from .engineering import Engineering
from .flight import FlightLine, PilotPool
from .instant import ARRIVAL, FLIGHTS, LAUNCH, MOVES, PEOPLE, FloorClock
from .job import Job, Scope
from .launch import LaunchDesk
from .luck import Luck
from .mate import Mating
from .outages import outages_of
from .people import PLENTY, Pool
from .plans import NOBODY, PlacePlan
from .pulse import PulseLine
from .quality import QualityLoop
from .records import PARKING, Records, State, Visit
from .sheet import Sheet
from .sky import Sky, bad_hours_of
from .stuck import who_is_stuck
from .tools import ToolCrib
from .traffic import Traffic
from .work import repaint_jobs


class Floor(Draws):
    """Everything that happens in one run."""

    def __init__(self, sheet: Sheet, seed: int, replication: int) -> None:
        super().__init__(sheet.scenario, sheet.calendar, Luck(seed, replication))
        outages = outages_of(sheet, self.luck)
        self.sheet = sheet = sheet.in_run(outages)
        self.env = FloorClock(sheet.calendar.run_end)
        self.at = self.env.at
        self.records = Records(replication, [], outages=outages)
        self.units: dict[Unit, None] = {}
        self._after_locks: dict[Unit, list[Callable[[], object]]] = {}
        self._lock_rows: dict[Unit, list[int]] = {}
        self.stated_locks: dict[int, float] = {}  # serial -> end of the known locks that have begun
        self.certified_at: dict[int, float] = {}
        self.traffic = Traffic(self)
        self.mating = Mating(self, self.on_the_floor)
        pulse = self.scenario.pulse
        self.pulse = PulseLine(self, pulse) if pulse is not None and pulse.in_force else None
        self.pools: dict[str, Pool] = {}
        self._books: dict[str, SlotBook] = {}
        self._orders_of: dict[str, Callable[[Job], Any]] = {}
        self._changed: list[Pool] = []  # trades whose people are dealt in this instant
        self._pilot_trades = {trade for p in sheet.scenario.positions for trade in
                              ((p.flights.pilots if p.flights else None),
                               (p.acceptance.pilots if p.acceptance else None)) if trade}
        attended = attendance_of(sheet, self.luck, self.common)
        self.records.attended = {key: numbers for key, (numbers, _) in attended.items()}
        self.there = {key: there for key, (_, there) in attended.items()}
        for trade in (NOBODY, *sheet.scenario.trades):
            self._hire(trade)
        self.cover = Cover(self)
        self.tools = ToolCrib(self)
        self.engineering = Engineering(self)
        rules = self.scenario.quality
        self.quality = None if rules is None else QualityLoop(self, rules)
        self.overtime_plants_more = rules is not None and rules.overtime_multiplier != 1 and sheet.extra is not None
        self.records.bad_hours = bad_hours_of(sheet, self.luck, self.common)
        self.sky = Sky(sheet, self.records.bad_hours)
        self.desk = LaunchDesk(self)
        for priority, act in ((MOVES, self.traffic.settle), (LAUNCH, self.desk.make), (FLIGHTS, self._assign_flights),
                              (PEOPLE, self._deal)):
            self.env.step_of(priority, act)

    # people ------------------------------------------------------------------------------------------------------
    def _hire(self, trade: str) -> None:
        rules = self.scenario.work_rules
        if trade == NOBODY:
            nobody = Duty(self.sheet, "", PLENTY)
            nobody.present = nobody.free = PLENTY
            self.pools[trade] = Pool(self, trade, [nobody], grows=False, reserve=False)
            return
        declared = self.scenario.trades[trade]
        duties = [Duty(self.sheet, shift, self.sheet.heads(trade, shift), self.calendar.shifts[shift].productivity,
                       self.records.attended.get((trade, shift))) for shift in self.sheet.rostered(trade)]
        reserve = rules.reserve if declared.reserve is None else declared.reserve
        kind = PilotPool if trade in self._pilot_trades else Pool
        pool = kind(self, trade, duties, grows=rules.crew_grows, reserve=reserve)
        pool.is_inspection = trade in self._inspection_trades()
        self.pools[trade] = pool

    def _inspection_trades(self) -> set[str]:
        jobs = [job for place in self.sheet.places for job in place.jobs]
        return {job.trade for job in jobs if job.kind == "buy-off"} | {
            job.inspector for job in jobs if job.inspection} | {hold.trade for hold in self.scenario.fleet_holds}

    def pool(self, trade: str) -> Pool:
        """People of a trade; a trade that nobody is declared for has none."""
        if trade not in self.pools:
            self.pools[trade] = Pool(self, trade, [], grows=False, reserve=False)
        return self.pools[trade]

    def order_of(self, trade: str) -> Callable[[Job], Any]:
        """The trade's order of serving."""
        if trade not in self._orders_of:
            declared = self.scenario.trades.get(trade)
            rule = (declared.dispatch if declared else None) or self.scenario.work_rules.dispatch
            self._orders_of[trade] = self._key_of(rule)
        return self._orders_of[trade]

    def _key_of(self, rule: Any) -> Callable[[Job], Any]:
        if isinstance(rule, ByPlaces):
            ranks = self._ranks(rule)
            return lambda job: (ranks[job.place], Job.key(job))
        if rule == "first come":
            return lambda job: (job.startable_at, job.unit.order, job.file_order)
        if rule == "furthest along":
            return lambda job: (-job.unit.rank, Job.key(job))
        return Job.key

    def order_of_units(self, rule: Any) -> Callable[[Unit, float], tuple[Any, ...]]:
        """The order of serving for aircraft (ties of places, flights), ready since an instant."""
        if isinstance(rule, ByPlaces):
            ranks = self._ranks(rule)
            return lambda unit, since: (ranks[unit.place.index], unit.promise, -unit.rank, unit.order)
        if rule == "first come":
            return lambda unit, since: (since, unit.order)
        if rule == "furthest along":
            return lambda unit, since: (-unit.rank, unit.promise, unit.order)
        return lambda unit, since: (unit.promise, -unit.rank, unit.order)

    def _ranks(self, rule: ByPlaces) -> list[int]:
        listed = {name: n for n, name in enumerate(rule.places)}
        return [listed.get(p.id, listed.get(p.position.area or "", len(listed))) for p in self.sheet.places]

    def is_light(self, t: float) -> bool:
        """Whether it is daylight."""
        if self.sheet.light is None:
            return True
        first, last = self.sheet.light[self.calendar.day_number(t)]
        return first <= t < last

    # the order of one instant ------------------------------------------------------------------------------------
    def moment(self, instant: float) -> Any:
        """Event of an instant, among the arrivals."""
        event = self.env.event()
        self.at(instant, ARRIVAL, lambda: event.succeed())
        return event

    def settle_moves(self) -> None:
        """Moves are looked at in this instant."""
        self.env.once(MOVES)

    def launch_if_owed(self) -> None:
        """Launches are looked at in this instant."""
        self.env.once(LAUNCH)

    def look_at_flights(self, line: FlightLine) -> None:
        """Flights are looked at in this instant."""
        self.env.once(FLIGHTS)

    def _assign_flights(self) -> None:
        for pool in self.pools.values():
            if isinstance(pool, PilotPool):
                pool.line.assign()

    def deal(self, pool: Pool) -> None:
        """The people of a trade are dealt work in this instant."""
        self._changed.append(pool)
        self.env.once(PEOPLE)

    def deal_all(self) -> None:
        """All people are dealt work in this instant."""
        for pool in self.pools.values():
            pool.ask()

    def _deal(self) -> None:
        changed, self._changed = self._changed, []
        if len(changed) > 1:
            changed.sort(key=lambda pool: pool.number)  # trade by trade, in file order
        for pool in changed:
            pool.deal()

    def lock(self, unit: Unit, until: float) -> None:
        """A tool is missing near an aircraft: nothing is done with it until it is found."""
        unit.locked += 1
        self.put_down_work_on(unit)
        parked, ends = self.traffic.parked_before(unit), min(until, self.calendar.run_end)
        if ends > self.env.now:
            self._lock_rows.setdefault(unit, []).append(self.records.segment_count)
        self.stand(unit, (parked or unit.place).index, State.LOCKED, self.env.now, ends, job=PARKING if parked else "")
        self.at(until, ARRIVAL, lambda: self._unlock(unit))

    def _unlock(self, unit: Unit) -> None:
        unit = self.as_it_stands(unit)
        unit.locked -= 1
        if not unit.locked:
            for act in self._after_locks.pop(unit, ()):
                act()
        self.deal_all()
        self.may_go_on()

    def lock_goes_on(self, unit: Unit, whole: Unit) -> None:
        """An aircraft that was locked on its way (or the half that it was) stands locked in its next place."""
        now, records = self.env.now, self.records
        for n in self._lock_rows.pop(unit, ()):
            ends = records.segment(n).end
            if ends > now:
                records.ends_at(n, now)
                self.stand(whole, whole.place.index, State.LOCKED, now, ends)

    def as_it_stands(self, unit: Unit) -> Unit:
        """The aircraft that a half has become; the half itself as long as both wait for the mate dock, or are on their
        way to it."""
        whole = unit.whole_unit
        return unit if whole is None or (whole not in self.units and unit in self.units) else whole

    def after_the_lock(self, unit: Unit, act: Callable[[], object]) -> None:
        """Call `act` when no tool is missing near the aircraft any more."""
        self._after_locks.setdefault(unit, []).append(act)

    def may_go_on(self) -> None:
        """What held aircraft back is over: moves, flights and the pulse are looked at in this instant."""
        self.settle_moves()
        self.env.once(FLIGHTS)
        if self.pulse is not None:
            self.pulse.look()

    def put_down_work_on(self, unit: Unit) -> None:
        """Running work on an aircraft stops at once (lock, or its flight begins); its people are free."""
        for pool in self.pools.values():
            for job in [job for job in pool.running if job.unit is unit and job.ends > self.env.now]:
                pool.put_down(job)

    # what the aircraft asks of the floor ----------------------------------------------------------------------------
    def side_scope(self, unit: Unit) -> Scope:
        """A scope of its own for work that is opened while the aircraft stands (squawks, delivery)."""
        return Scope(self, unit)

    def repaint_jobs(self, unit: Unit, plan: PlacePlan, rounds: int) -> list[Job]:
        """Jobs of a repaint round."""
        return repaint_jobs(self, unit, plan, rounds)

    def flight_line(self, pilots: str) -> FlightLine:
        """The flight line of a trade of pilots."""
        pool = self.pool(pilots)
        assert isinstance(pool, PilotPool)
        return pool.line

    def flight_lines(self) -> list[FlightLine]:
        """All flight lines."""
        return [pool.line for pool in self.pools.values() if isinstance(pool, PilotPool)]

    def slot_book(self, name: str, weekdays: tuple[str, ...], per_day: int) -> SlotBook:
        """Slots of one kind of appointment."""
        if name not in self._books:
            self._books[name] = SlotBook(self, weekdays, per_day)
        return self._books[name]

    def appointment(self, job: Job) -> None:
        """A job of the sheet that is an appointment."""
        certificate(self, job)

    def records_again(self, job: Job, tries: int) -> Job | None:
        """The records package, worked again after a return."""
        assert job.plan is not None
        plan = next((p for p in job.unit.place.plan.jobs if p.id == job.plan.package.records), None)
        if plan is None:
            return None
        uniform = self.luck.uniform("package", job.unit.name, plan.id, tries)
        minutes = self.minutes_of(job.unit, plan, tries, uniform, True)
        again = Job(self.side_scope(job.unit), plan.id, plan.trade, minutes, (plan.order, tries))
        again.repeat, again.work_state, again.least, again.most = tries, State.REWORK, plan.crew_min, plan.crew_max
        return again

    def has_certificate(self, plan: PlacePlan) -> bool:
        """Whether the certificate is given in this place."""
        return any(job.package.certificate for job in plan.jobs)

    def whole_of(self, halves: Sequence[Unit]) -> Unit:
        """The aircraft that a fuselage becomes at mate, with its wing."""
        whole = Unit(self, halves[0].serial, "")
        if self.quality is not None:
            self.quality.mated(halves, whole)
        return whole

    def on_the_floor(self, unit: Unit, standing: OnTheLine | None = None) -> None:
        """An aircraft or half begins its way through the plant, where it stands."""
        self.units[unit] = None
        self.env.process(traveller(self, unit, standing))

    def serve_anew(self, unit: Unit) -> None:
        """An aircraft's place in the order of serving has changed."""
        for pool in self.pools.values():
            for job in pool.waiting:
                if job.unit is unit:
                    pool.waiting[job] = pool.key(job)

    def gone(self, unit: Unit) -> None:
        """The aircraft has left the floor."""
        self.units.pop(unit, None)
        if unit.stock:
            self.records.stock_ready[unit.serial] = self.env.now
        else:
            self.records.delivered[unit.serial] = self.env.now

    # records -----------------------------------------------------------------------------------------------------
    def note(self, job: Job, state: int, start: float, end: float, shift: str = "", people: int = 0,
             lent_by: str = "") -> None:
        """Write down a job's state."""
        if end > start:
            unit = job.unit
            if job.parked:
                self.records.parked_rows.append(self.records.segment_count)
            self.records.segment_fields.extend((
                unit.serial, unit.half, job.place, job.id, state, start, end, lent_by or job.trade, shift, people,
                job.daylight))

    def stand(self, unit: Unit, place: int, state: State, start: float, end: float, trade: str = "", *, job: str = "",
              shift: str = "", people: int = 0) -> None:
        """Write down a state of the aircraft itself."""
        if end > start:
            if job == PARKING:
                self.records.parked_rows.append(self.records.segment_count)
            self.records.segment_fields.extend((unit.serial, unit.half, place, job, int(state), start, end, trade,
                                                shift, people, False))

    def note_overtime(self, job: Job) -> None:
        """Hours of a crew since it was formed that are overtime plant more defects."""
        if self.quality is not None:
            self.quality.worked_overtime(job)

    # the run -----------------------------------------------------------------------------------------------------
    def run(self) -> Records:
        """From 00:00 of the start to the end of the run."""
        ring_bells(self)
        self.desk.open()
        self.env.go(self.calendar.end, self.units)
        self._close_the_books()
        done, self.records = self.records, Records(self.records.replication, [])
        return done  # not held here any more: all on a floor hold each other, and are cleared away late

    def _close_the_books(self) -> None:
        """Cut what is under way at the end, and say who can never move on."""
        end = self.calendar.run_end
        self.records.ended = end
        for pool in self.pools.values():
            for job in pool.running:
                pool.note_work(job, end)
            state = State.INSPECTOR if pool.is_inspection else State.PEOPLE
            for job in pool.waiting:
                self.note(job, state, job.waiting_since, end, pool.roster)
            if isinstance(pool, PilotPool):
                for unit, (flights, _, since) in pool.line.waiting.items():
                    state = State.PARTS if unit.held else State.PILOT
                    self.stand(unit, unit.place.index, state, since, end, flights.pilots)
        self.engineering.close_the_books(end)
        for book in self._books.values():
            for since, unit, _ in book.waiting:
                self.stand(unit, unit.place.index, State.CUSTOMER, since, end)
        if self.pulse is not None:
            self.pulse.close_the_books(end)
        self._stand_at_the_end(end)
        self.records.serials = [order.serial for order in self.fleet.orders]
        self.records.unordered = frozenset(self.unordered)
        self.records.stuck += who_is_stuck(self)

    def _stand_at_the_end(self, end: float) -> None:
        stays = self.records.unfinished
        wanting = {unit: move for place in self.traffic.places for move in place.wanting for unit in move.units}
        wanting |= {unit: move for move in self.traffic.leaving for unit in move.units} | self.traffic.moving
        for place in self.traffic.places:
            for unit in place.docked:
                ready = NEVER if unit.ready_at is None else unit.ready_at
                stays.append(Visit(unit.serial, unit.half, place.index, False, unit.arrived, ready, end))
                if self.pulse is not None and unit in self.pulse.waiting:
                    continue
                both = wanting[unit].ready if unit in wanting else end  # from then on it is blocked
                if unit.half and unit.ready_at is not None:
                    self.stand(unit, place.index, State.OTHER_HALF, unit.ready_at, both)
                self.stand(unit, place.index, State.BLOCKED, both, end)
            for unit, move in place.parked.items():
                stays.append(Visit(unit.serial, unit.half, place.index, True, unit.arrived, unit.arrived, end))
                self.stand(unit, unit.place.index, State.BLOCKED, move.ready, unit.arrived)
                self.stand(unit, place.index, State.BLOCKED, unit.arrived, end, job=PARKING)


def run_once(sheet: Sheet, seed: int, replication: int) -> Records:
    """Records of one run; the same for the same scenario, seed and number, alone or among others."""
    return Floor(sheet, seed, replication).run()
