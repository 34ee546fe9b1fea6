"""People of a trade: who is on duty, who is free, and who is given which work.

Work is dealt anew at each shift: startable jobs in order of serving, each as many people as it may take; then free
people join running work. Work stops when its people go home and loses nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from ..scenario.clock import NEVER
from ..scenario.extra_hours import WITH_OVERTIME
from .duty import Duty, crews_that_stay
from .instant import CALENDAR, COMPLETION, LOANS
from .job import Job, Loan
from .records import State

if TYPE_CHECKING:
    from .floor import Floor

_PEOPLE: Final = int(State.PEOPLE)
_INSPECTOR: Final = int(State.INSPECTOR)
PLENTY: Final = 1 << 30  # "people" for work that needs nobody


class Pool:
    """All people of one trade, the jobs that wait for them and the jobs they are on."""

    __slots__ = ("changed", "clock", "duties", "floor", "growing", "grows", "is_inspection", "key", "least_first",
                 "lent_to", "number", "reserve", "roster", "running", "shares", "trade", "waiting")

    def __init__(self, floor: Floor, trade: str, duties: list[Duty], *, grows: bool, reserve: bool) -> None:
        self.floor, self.trade, self.duties, self.grows, self.reserve = floor, trade, duties, grows, reserve
        self.number, self.clock = len(floor.pools), floor.env
        self.key = floor.order_of(trade)
        self.waiting: dict[Job, Any] = {}  # each with its place in the order of serving
        self.running: dict[Job, None] = {}
        self.growing: dict[Job, None] = {}  # running with fewer people than there is room for
        self.is_inspection = self.changed = False
        self.roster = ""  # on which work waits for its people: the normal one, or with overtime
        self.least_first = floor.scenario.work_rules.share == "minimum first"
        self.shares = False  # lends or borrows people
        self.lent_to: dict[Job, None] = {}  # work of other trades that its people are on

    # the floor tells the pool -----------------------------------------------------------------------------------
    def queue(self, job: Job) -> None:
        """A job waits for people of this trade, or its aircraft for engineering."""
        if job.unit.held and not job.inspects:
            self.floor.engineering.wait(job)
            self.ask()  # who was on it may serve others
            return
        job.waiting_since = self.clock.now
        self.waiting[job] = self.key(job)
        if not self.changed:
            self.ask()

    def ask(self) -> None:
        """Be dealt work in this instant, if anybody is free and there is anything to give."""
        if self.shares:
            self.clock.once(LOANS)
        if self.changed or not (self.waiting or self.growing):
            return
        for duty in self.duties:
            if duty.free > 0:
                self.changed = True
                self.floor.deal(self)
                return

    def on_duty(self, duty: Duty, number: int, day: int = -1) -> None:
        """The number present changes (start of shift date `day`, shift end): crews are cut in order of serving, or
        people are free."""
        if not (self.running or self.lent_to):
            duty.present = duty.free = number
            self.ask()
            return
        now = self.clock.now
        if not number:
            self._all_go_home(duty, now)
            return
        at_work = [job for job in (*self.running, *self.lent_to) if job.heads_of(duty)]
        if not at_work:  # who works is of another shift
            duty.present = duty.free = number
            self.ask()
            return
        crews = sorted([job for job in at_work if job.ends > now], key=self.key)  # the others end now: not put down
        heads = [job.heads_of(duty) for job in crews]
        busy_now = sum(job.heads_of(duty) for job in at_work if job.ends <= now)
        kept = crews_that_stay([(n, max(0, job.least - job.people + n)) for job, n in zip(crews, heads, strict=True)],
                               max(0, number - busy_now))
        duty.present, duty.free = number, 0  # free from below, when it is settled who stays
        for job, had, keep in zip(crews, heads, kept, strict=True):
            if keep < had:
                self.floor.pool(job.trade).cut(job, duty, keep)
        duty.free = max(0, number - busy_now - sum(job.heads_of(duty) for job in crews))
        self.ask()

    def _all_go_home(self, duty: Duty, now: float) -> None:
        duty.present = duty.free = 0
        asked, self.changed = self.changed, True  # nobody comes free: there is nothing to deal
        leave = [job for job in self.running if job.duty is duty and job.ends > now]
        readings = {clock: clock.reading(now) for clock in {duty.clocks[job.place] for job in leave}}
        for job in leave:
            if job.lent or job.unit.held or job.parked:
                self.put_down(job)
            else:
                self._stop_for_the_night(job, duty, readings[duty.clocks[job.place]], now)
        self.changed = asked
        if self.shares or len(self.duties) > 1:
            self.ask()
        for job in [job for job in self.lent_to if job.ends > now and job.heads_of(duty)]:
            self.floor.pool(job.trade).cut(job, duty, 0)

    def renew_pace(self, duty: Duty) -> None:
        """Its people are more able or less from now on, also those who are lent."""
        for job in [job for job in (*self.running, *self.lent_to) if job.heads_of(duty) and job.ends > self.clock.now]:
            of = self.floor.pool(job.trade)
            of._book(job)
            of._go_on(job)

    def read_roster(self, *, overtime: bool) -> None:
        """From now on work that waits for its people waits on their roster with overtime, or without."""
        name = WITH_OVERTIME if overtime else ""
        if name != self.roster:
            now, state = self.clock.now, _INSPECTOR if self.is_inspection else _PEOPLE
            for job in self.waiting:
                self.floor.note(job, state, job.waiting_since, now, self.roster)
                job.waiting_since = now
            self.roster = name

    def _stop_for_the_night(self, job: Job, duty: Duty, reading: float, now: float) -> None:
        """As `put_down`, in one go: a third of all that happens on a floor is work that stops and goes on next day."""
        if now > job.since:
            if self.floor.overtime_plants_more:
                self.floor.note_overtime(job)
            left = job.left - (reading - job.reading) * job.rate
            if left < job.left:
                job.begun, job.left = True, left if left > 0.0 else 0.0
            unit = job.unit
            self.floor.records.segment_fields.extend((
                unit.serial, unit.half, job.place, job.id, job.work_state, job.since, now, job.trade, duty.name,
                job.people, job.daylight))
        job.version += 1
        del self.running[job]
        if self.growing:
            self.growing.pop(job, None)
        job.duty, job.people, job.waiting_since = None, 0, now
        self.waiting[job] = self.key(job)

    def cut(self, job: Job, duty: Duty, keep: int) -> None:
        """Of the people of one trade and shift in a crew only so many stay; a crew below its least is put down."""
        stay = job.people - job.heads_of(duty) + keep
        if stay < max(1, job.least):
            self.put_down(job)
            return
        self._book(job)
        own = job.own if job.duty is not duty else min(job.own, keep)
        for loan in job.lent or ():
            if loan.duty is duty:
                loan.pool.lent_to.pop(job, None)
        lent = [loan.of(keep) if loan.duty is duty else loan for loan in job.lent or ()
                if loan.duty is not duty or keep]
        self._man(job, own, lent)
        self.ask()  # own people who are free take the places

    # what cover asks --------------------------------------------------------------------------------------------
    def is_held(self, job: Job, now: float) -> bool:
        """Whether nobody may work on it now, free or not."""
        return bool(job.unit.locked) or job.unit.flying or (job.daylight and not self.floor.is_light(now))

    def duty_on_roster(self, shift: str) -> Duty | None:
        """Its people of a shift."""
        return next((duty for duty in self.duties if duty.shift == shift), None)

    def duty_of(self, shift: str, now: float, place: int) -> Duty | None:
        """Its people of a shift, if they are at work and the place is open to them."""
        duty = self.duty_on_roster(shift)
        return duty if duty is not None and duty.is_on(now) and duty.may_work(place, now) else None

    def kept(self, now: float) -> dict[Duty, int]:
        """Free people that wait for a crew to be complete."""
        kept: dict[Duty, int] = {}
        if self.reserve:
            for job in sorted(self.waiting, key=self.waiting.__getitem__):
                if not self.is_held(job, now):
                    self.reserve_for(job, kept, now)
        return kept

    def reserve_for(self, job: Job, kept: dict[Duty, int], now: float) -> None:
        """Keep free people for a crew."""
        self._keep(job, [duty for duty in self.duties if duty.free > 0 and duty.is_on(now)], kept, now)

    # dealing ----------------------------------------------------------------------------------------------------
    def deal(self) -> None:
        """One dispatch: startable jobs first, then growth."""
        self.changed = False
        now, waiting = self.clock.now, self.waiting
        on = [duty for duty in self.duties if duty.free > 0 and (duty.opens <= now < duty.closes or duty.is_on(now))]
        if not on:
            self._wait_for_the_next_block(now)
            return
        kept: dict[Duty, int] = {}  # people that wait for a crew to be complete
        for job in sorted(waiting, key=waiting.__getitem__) if len(waiting) > 1 else list(waiting):
            unit, place = job.unit, job.place
            if unit.locked or unit.flying or (job.daylight and not self.floor.is_light(now)):
                continue  # as in is_held
            for duty in on:
                free = duty.free - kept[duty] if duty in kept else duty.free
                if free >= job.least and (not duty.elsewhere[place] or duty.may_work(place, now)):
                    self.start(job, duty, job.least if self.least_first else free if free < job.most else job.most, now)
                    if not duty.free:
                        on.remove(duty)
                    break
            else:
                if self.reserve:
                    self._keep(job, on, kept, now)
        if self.growing:
            self._grow(on, kept)

    def _wait_for_the_next_block(self, now: float) -> None:
        """Who came free during a meal or break is given work in the first working minute after it."""
        for duty in self.duties:
            if duty.free > 0:
                self.floor.at(duty.clock.next_open(now), CALENDAR, self.ask)

    def _keep(self, job: Job, on: list[Duty], kept: dict[Duty, int], now: float) -> None:
        for duty in on:
            if duty.may_work(job.place, now):
                kept[duty] = min(duty.free, kept.get(duty, 0) + job.least)

    def start(self, job: Job, duty: Duty, people: int, now: float, lent: list[Loan] | None = None) -> None:
        """A crew is formed: `people` of the trade, and those lent to it."""
        del self.waiting[job]
        self.running[job] = None
        if now > job.waiting_since:
            state = _INSPECTOR if self.is_inspection else _PEOPLE
            self.floor.note(job, state, job.waiting_since, now, self.roster)
        job.duty = duty
        if lent:
            job.people = 0
            self._man(job, people, lent)
        else:
            duty.free -= people
            job.people = people
            if self.grows and people < job.most:
                self.growing[job] = None
            self._go_on(job)
        if self.least_first and job.people < job.most:
            self.growing[job] = None

    def _man(self, job: Job, own: int, lent: list[Loan] | None) -> None:
        """The crew is now these people; those who join are taken from the free ones."""
        duty = job.duty
        assert duty is not None
        duty.free -= own - job.own
        if lent or job.lent:
            before = {loan.duty: loan.people for loan in job.lent or ()}
            for loan in lent or ():
                loan.duty.free -= max(0, loan.people - before.get(loan.duty, 0))
                loan.pool.lent_to[job] = None
            job.lent = lent or None
            job.people = own + sum(loan.people for loan in lent or ())
        else:
            job.people = own
        if self.grows and job.people < job.most:
            self.growing[job] = None
        elif self.growing:
            self.growing.pop(job, None)
        self._go_on(job)

    def join(self, job: Job, loans: list[Loan]) -> None:
        """People of other trades join running work."""
        self._book(job)
        heads = {loan.duty: loan for loan in job.lent or ()}
        for loan in loans:
            before = heads.get(loan.duty)
            heads[loan.duty] = loan if before is None else loan.of(loan.people + before.people)
        self._man(job, job.own, list(heads.values()))

    def _go_on(self, job: Job) -> None:
        """The crew works from now: plan the instant at which it is done or must stop because the place closes."""
        now, duty = self.clock.now, job.duty
        assert duty is not None
        clock = duty.clocks[job.place]
        job.since, job.rate = now, job.people * duty.effectiveness if self.trade else 1.0
        if job.lent:
            job.rate = job.own * duty.effectiveness + sum(
                loan.people * loan.duty.effectiveness * loan.able for loan in job.lent)
        job.version = version = job.version + 1
        job.reading, done, stop = clock.spell(now, job.left / job.rate if job.rate else NEVER)
        job.ends = done
        if job.let_go and self.floor.pulse is not None:
            self.floor.pulse.look()
        if done <= stop:
            self.clock.at(done, COMPLETION, lambda: self._done(job, version))
        elif not self.trade or (clock is not duty.clock and stop < duty.clock.stretch_end(now)):
            self.clock.at(stop, CALENDAR, lambda: self._place_closes(job, version))

    def _grow(self, on: list[Duty], kept: dict[Duty, int]) -> None:
        now = self.clock.now
        growing = [job for job in self.growing if job.duty in on]
        for job in growing:
            job.begun = job.begun or job.since < now
        for job in sorted(growing, key=self.key):
            duty = job.duty
            assert duty is not None
            join = min(duty.free - kept.get(duty, 0), job.most - job.people)
            if join > 0 and duty.may_work(job.place, now):
                self._book(job)
                self._man(job, job.own + join, job.lent)
        if not self.grows:
            self.growing.clear()  # least first: growth at the start only

    # stopping ---------------------------------------------------------------------------------------------------
    def _left_now(self, job: Job) -> float:
        duty = job.duty
        assert duty is not None
        return job.left - (duty.clocks[job.place].reading(self.clock.now) - job.reading) * job.rate

    def _book(self, job: Job) -> None:
        """Write down what the crew did since it was formed."""
        now = self.clock.now
        if now > job.since:
            left = self._left_now(job)
            job.begun = job.begun or left < job.left
            job.left = max(left, 0.0)
            if self.floor.overtime_plants_more:
                self.floor.note_overtime(job)
            self.note_work(job, now)

    def note_work(self, job: Job, until: float) -> None:
        """Write down that the crew worked since it was formed; people lent under their own trade."""
        duty = job.duty
        assert duty is not None
        if not job.lent:
            self.floor.note(job, job.work_state, job.since, until, duty.name, job.people)
            return
        if job.own:
            self.floor.note(job, job.work_state, job.since, until, duty.name, job.own)
        for loan in job.lent:
            self.floor.note(job, job.work_state, job.since, until, loan.duty.name, loan.people, loan.pool.trade)

    def put_down(self, job: Job) -> None:
        """The crew leaves; the job waits again and has lost nothing."""
        self._book(job)
        job.version += 1
        self._leave(job)
        self.queue(job)

    def _leave(self, job: Job) -> None:
        """The crew is free again."""
        duty = job.duty
        assert duty is not None
        del self.running[job]
        if self.growing:
            self.growing.pop(job, None)
        free = duty.free + (job.own if job.lent else job.people)
        duty.free = free if free < duty.present else duty.present
        if job.lent:
            self._send_back(job)
        job.duty, job.people = None, 0

    def _send_back(self, job: Job) -> None:
        """Lent people serve their own trade first."""
        lent, job.lent = job.lent or [], None
        for loan in lent:
            loan.pool.lent_to.pop(job, None)
            loan.duty.free = min(loan.duty.present, loan.duty.free + loan.people)
            loan.pool.ask()

    def lay_aside(self, job: Job) -> None:
        """A job is taken out of the trade's hands: it moves on with its aircraft."""
        if job.duty is not None:
            self._book(job)
            job.version += 1
            self._leave(job)
            self.ask()
        elif job in self.waiting:
            del self.waiting[job]
            state = _INSPECTOR if self.is_inspection else _PEOPLE
            self.floor.note(job, state, job.waiting_since, self.clock.now, self.roster)

    def _place_closes(self, job: Job, version: int) -> None:
        if job.version == version:
            self.put_down(job)

    def _done(self, job: Job, version: int) -> None:
        if job.version != version:
            return
        if self.floor.overtime_plants_more:
            self.floor.note_overtime(job)
        if job.lent:
            self.note_work(job, self.clock.now)
        else:
            duty = job.duty
            assert duty is not None
            self.floor.note(job, job.work_state, job.since, self.clock.now, duty.name, job.people)
        job.left = 0.0
        self._leave(job)
        self.ask()
        job.scope.worked(job)
