"""People of a trade: who is on duty, who is free, and who is given which work.

Work is dealt anew at each shift: startable jobs in order of serving, each as many people as it may take; then free
people join running work. Work stops when its people go home and loses nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from ..scenario.clock import Clock
from .instant import CALENDAR, COMPLETION
from .job import Job
from .records import State
from .sheet import ALWAYS, Sheet

if TYPE_CHECKING:
    from .floor import Floor

_PEOPLE, _INSPECTOR = int(State.PEOPLE), int(State.INSPECTOR)
PLENTY = 1 << 30  # "people" for work that needs nobody


class Duty:
    """The people of one trade on one shift: how many are present and how many are free."""

    __slots__ = (
        "clock", "clocks", "closes", "effectiveness", "elsewhere", "free", "opens", "present", "roster", "shift")

    def __init__(self, sheet: Sheet, shift: str, roster: int, effectiveness: float) -> None:
        self.shift, self.roster, self.effectiveness = shift, roster, effectiveness
        self.clock: Clock = sheet.calendar.clock(shift) if shift else ALWAYS
        self.clocks = [sheet.crew_clock(shift, place.index) for place in sheet.places]  # its working time in each place
        self.elsewhere = [clock is not self.clock for clock in self.clocks]
        self.present = self.free = 0
        self.opens, self.closes = 0.0, 0.0  # the block of its clock that was looked at last

    def is_on(self, now: float) -> bool:
        """Whether the shift is at work (not at a meal or break)."""
        if not self.opens <= now < self.closes:
            self.opens, self.closes = self.clock.block(now)
        return self.opens <= now < self.closes

    def may_work(self, place: int, now: float) -> bool:
        """Whether the place is open to people who are at work now."""
        return not self.elsewhere[place] or self.clocks[place].is_open(now)


def crews_that_stay(running: Sequence[tuple[int, int]], stay: int) -> list[int]:
    """People each running crew keeps when only `stay` remain: (people, least) in order of serving.

    Each keeps its crew while people last; one that does not fit is cut to what is left if that is at least its least,
    else put down.
    """
    kept = []
    for people, least in running:
        keep = people if people <= stay else stay if stay >= least else 0
        kept.append(keep)
        stay -= keep
    return kept


class Pool:
    """All people of one trade, the jobs that wait for them and the jobs they are on."""

    __slots__ = ("changed", "clock", "duties", "floor", "growing", "grows", "is_inspection", "key", "number", "reserve",
                 "running", "trade", "waiting")

    def __init__(self, floor: Floor, trade: str, duties: list[Duty], *, grows: bool, reserve: bool) -> None:
        self.floor, self.trade, self.duties, self.grows, self.reserve = floor, trade, duties, grows, reserve
        self.number, self.clock = len(floor._pools), floor.env
        self.key = floor.order_of(trade)
        self.waiting: dict[Job, Any] = {}  # each with its place in the order of serving
        self.running: dict[Job, None] = {}
        self.growing: dict[Job, None] = {}  # running with fewer people than there is room for
        self.is_inspection = False
        self.changed = False

    # the floor tells the pool -----------------------------------------------------------------------------------
    def queue(self, job: Job) -> None:
        """A job waits for people of this trade."""
        job.waiting_since = self.clock.now
        self.waiting[job] = self.key(job)
        if not self.changed:
            self.ask()

    def ask(self) -> None:
        """Be dealt work in this instant, if anybody is free and there is anything to give."""
        if self.changed or not (self.waiting or self.growing):
            return
        for duty in self.duties:
            if duty.free > 0:
                self.changed = True
                self.floor.deal(self)
                return

    def on_duty(self, duty: Duty, number: int) -> None:
        """The number present changes (shift start, shift end): crews are cut in order of serving, or people are
        free."""
        if not self.running:
            duty.present = duty.free = number
            self.ask()
            return
        now = self.clock.now
        if not number:
            self._all_go_home(duty, now)
            return
        at_work = [job for job in self.running if job.duty is duty]
        crews = sorted([job for job in at_work if job.ends > now], key=self.key)  # the others end now: not put down
        busy_now = sum(job.people for job in at_work if job.ends <= now)
        kept = crews_that_stay([(job.people, job.least) for job in crews], max(0, number - busy_now))
        duty.present, duty.free = number, 0  # free from below, when it is settled who stays
        for job, keep in zip(crews, kept, strict=True):
            if keep == 0:
                self.put_down(job)
            elif keep < job.people:
                self._set_crew(job, keep)
        duty.free = max(0, number - busy_now - sum(kept))
        if self.waiting or crews:
            self.ask()

    def _all_go_home(self, duty: Duty, now: float) -> None:
        duty.present = duty.free = 0
        for job in [job for job in self.running if job.duty is duty and job.ends > now]:
            self.put_down(job)

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
                continue
            for duty in on:
                free = duty.free - kept[duty] if duty in kept else duty.free
                if free >= job.least and (not duty.elsewhere[place] or duty.may_work(place, now)):
                    self._start(job, duty, free if free < job.most else job.most, now)
                    if not duty.free:
                        on.remove(duty)
                    break
            else:
                if self.reserve:
                    self._reserve(job, on, kept, now)
        if self.growing:
            self._grow(on, kept)

    def _wait_for_the_next_block(self, now: float) -> None:
        """Who came free during a meal or break is given work in the first working minute after it."""
        for duty in self.duties:
            if duty.free > 0:
                self.floor.at(duty.clock.next_open(now), CALENDAR, self.ask)

    def _reserve(self, job: Job, on: list[Duty], kept: dict[Duty, int], now: float) -> None:
        for duty in on:
            if duty.may_work(job.place, now):
                kept[duty] = min(duty.free, kept.get(duty, 0) + job.least)

    def _start(self, job: Job, duty: Duty, people: int, now: float) -> None:
        del self.waiting[job]
        self.running[job] = None
        if self.grows and people < job.most:
            self.growing[job] = None
        if now > job.waiting_since:
            state = _INSPECTOR if self.is_inspection else _PEOPLE
            self.floor.note(job, state, job.waiting_since, now)
        duty.free -= people
        job.duty, job.people = duty, people
        self._go_on(job)

    def _go_on(self, job: Job) -> None:
        """The crew works from now: plan the instant at which it is done or must stop because the place closes."""
        now, duty = self.clock.now, job.duty
        assert duty is not None
        clock = duty.clocks[job.place]
        job.since, job.rate = now, job.people * duty.effectiveness if self.trade else 1.0
        job.version = version = job.version + 1
        job.reading, done, stop = clock.spell(now, job.left / job.rate)
        job.ends = done
        if job.let_go and self.floor.pulse is not None:
            self.floor.pulse.look()
        if done <= stop:
            self.floor.at(done, COMPLETION, lambda: self._done(job, version))
        elif not self.trade or (clock is not duty.clock and stop < duty.clock.stretch_end(now)):
            self.floor.at(stop, CALENDAR, lambda: self._place_closes(job, version))

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
                self._set_crew(job, job.people + join)
                duty.free -= join

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
            self.floor.note(job, job.work_state, job.since, now, job.duty.shift if job.duty else "", job.people)

    def _set_crew(self, job: Job, people: int) -> None:
        self._book(job)
        job.people = people
        if self.grows and people < job.most:
            self.growing[job] = None
        else:
            self.growing.pop(job, None)
        self._go_on(job)

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
        free = duty.free + job.people
        duty.free = free if free < duty.present else duty.present
        job.duty, job.people = None, 0

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
            self.floor.note(job, state, job.waiting_since, self.clock.now)

    def _place_closes(self, job: Job, version: int) -> None:
        if job.version == version:
            self.put_down(job)

    def _done(self, job: Job, version: int) -> None:
        if job.version != version:
            return
        duty = job.duty
        assert duty is not None
        self.floor.note(job, job.work_state, job.since, self.clock.now, duty.shift, job.people)
        job.left = 0.0
        self._leave(job)
        self.ask()
        job.scope.worked(job)
