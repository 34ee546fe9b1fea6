"""People of a trade: who is on duty, who is free, and who is given which work.

Work is dealt anew at each shift: startable jobs in order of serving, each as many people as it may take; then free
people join running work. Work stops when its people go home and loses nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..scenario.clock import TOLERANCE, Clock
from .job import Job
from .records import State

if TYPE_CHECKING:
    from .floor import Floor

PLENTY = 1 << 30  # "people" for work that needs nobody


class Duty:
    """The people of one trade on one shift: how many are present and how many are free."""

    __slots__ = ("clock", "effectiveness", "free", "present", "roster", "shift")

    def __init__(self, shift: str, roster: int, effectiveness: float, clock: Clock) -> None:
        self.shift, self.roster, self.effectiveness, self.clock = shift, roster, effectiveness, clock
        self.present = self.free = 0


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

    def __init__(self, floor: Floor, trade: str, duties: list[Duty], *, grows: bool, reserve: bool) -> None:
        self.floor, self.trade, self.duties, self.grows, self.reserve = floor, trade, duties, grows, reserve
        self.waiting: dict[Job, None] = {}
        self.running: dict[Job, None] = {}
        self.is_inspection = False
        self.changed = False

    # the floor tells the pool -----------------------------------------------------------------------------------
    def queue(self, job: Job) -> None:
        """A job waits for people of this trade."""
        job.waiting_since = self.floor.env.now
        self.waiting[job] = None
        self.floor.deal(self)

    def on_duty(self, duty: Duty, number: int) -> None:
        """The number present changes (shift start, shift end): crews are cut in order of serving, or people are
        free."""
        at_work = [job for job in self.running if job.duty is duty]
        held = [job for job in at_work if self._ends_now(job)]
        crews = sorted((job for job in at_work if job not in held), key=self.floor.order_of(self.trade))
        busy_now = sum(job.people for job in held)
        kept = crews_that_stay([(job.people, job.least) for job in crews], max(0, number - busy_now))
        for job, keep in zip(crews, kept, strict=True):
            if keep == 0:
                self.put_down(job)
            elif keep < job.people:
                self._set_crew(job, keep)
        duty.present = number
        duty.free = max(0, number - busy_now - sum(kept))
        if self.waiting or crews:
            self.floor.deal(self)

    def _ends_now(self, job: Job) -> bool:
        """Work that ends at this instant is finished, not put down."""
        return self._left_now(job) <= TOLERANCE

    # dealing ----------------------------------------------------------------------------------------------------
    def deal(self) -> None:
        """One dispatch: startable jobs first, then growth."""
        now = self.floor.env.now
        on = [duty for duty in self.duties if duty.free > 0 and duty.clock.is_open(now)]
        if not on:
            return
        kept: dict[Duty, int] = dict.fromkeys(on, 0)
        if self.waiting:
            for job in sorted(self.waiting, key=self.floor.order_of(self.trade)):
                if self._may_start(job, now):
                    self._serve(job, on, kept, now)
        if self.grows and self.running:
            self._grow(kept)

    def _may_start(self, job: Job, now: float) -> bool:
        unit = job.unit
        return not (unit.locked or unit.flying or (job.daylight and not self.floor.is_light(now)))

    def _serve(self, job: Job, on: list[Duty], kept: dict[Duty, int], now: float) -> None:
        for duty in on:
            if duty.free - kept[duty] >= job.least and self.floor.sheet.crew_clock(duty.shift, job.place).is_open(now):
                self._start(job, duty, min(duty.free - kept[duty], job.most))
                return
        if self.reserve:
            for duty in on:
                if self.floor.sheet.crew_clock(duty.shift, job.place).is_open(now):
                    kept[duty] = min(duty.free, kept[duty] + job.least)

    def _start(self, job: Job, duty: Duty, people: int) -> None:
        now = self.floor.env.now
        del self.waiting[job]
        self.running[job] = None
        if now > job.waiting_since:
            state = State.INSPECTOR if self.is_inspection else State.PEOPLE
            self.floor.note(job, state, job.waiting_since, now)
        self._take(duty, people, job)
        job.duty, job.people = duty, people
        self._go_on(job)

    def _take(self, duty: Duty, people: int, job: Job) -> None:
        duty.free -= people

    def _give_back(self, duty: Duty, people: int, job: Job) -> None:
        duty.free = min(duty.present, duty.free + people)

    def _go_on(self, job: Job) -> None:
        """The crew works from now: plan the instant at which it is done or must stop because the place closes."""
        now, duty = self.floor.env.now, job.duty
        assert duty is not None
        clock = self.floor.sheet.crew_clock(duty.shift, job.place)
        job.since, job.rate = now, job.people * duty.effectiveness if self.trade else 1.0
        job.version += 1
        version = job.version
        done, stop = clock.finish(now, job.left / job.rate), clock.stretch_end(now)
        if done <= stop:
            self.floor.at(done, self.floor.COMPLETION, lambda: self._done(job, version))
        elif not self.trade or stop < duty.clock.stretch_end(now):
            self.floor.at(stop, self.floor.CALENDAR, lambda: self._place_closes(job, version))

    def _grow(self, kept: dict[Duty, int]) -> None:
        now = self.floor.env.now
        growing = [job for job in self.running if job.people < job.most and job.duty in kept]
        for job in growing:
            job.begun = job.begun or job.since < now
        for job in sorted(growing, key=self.floor.order_of(self.trade)):
            duty = job.duty
            assert duty is not None
            join = min(duty.free - kept[duty], job.most - job.people)
            if join > 0 and self.floor.sheet.crew_clock(duty.shift, job.place).is_open(now):
                self._set_crew(job, job.people + join)
                duty.free -= join

    # stopping ---------------------------------------------------------------------------------------------------
    def _left_now(self, job: Job) -> float:
        duty = job.duty
        assert duty is not None
        clock = self.floor.sheet.crew_clock(duty.shift, job.place)
        return job.left - (clock.reading(self.floor.env.now) - clock.reading(job.since)) * job.rate

    def _book(self, job: Job) -> None:
        """Write down what the crew did since it was formed."""
        now = self.floor.env.now
        if now > job.since:
            left = self._left_now(job)
            job.begun = job.begun or left < job.left
            job.left = max(left, 0.0)
            self.floor.note(job, job.work_state, job.since, now, job.duty.shift if job.duty else "", job.people)

    def _set_crew(self, job: Job, people: int) -> None:
        self._book(job)
        job.people = people
        self._go_on(job)

    def put_down(self, job: Job) -> None:
        """The crew leaves; the job waits again and has lost nothing."""
        self._book(job)
        job.version += 1
        del self.running[job]
        if job.duty is not None:
            self._give_back(job.duty, job.people, job)
        job.duty, job.people = None, 0
        self.queue(job)

    def _place_closes(self, job: Job, version: int) -> None:
        if job.version == version:
            self.put_down(job)

    def _done(self, job: Job, version: int) -> None:
        if job.version != version:
            return
        self._book(job)
        job.left = 0.0
        del self.running[job]
        if job.duty is not None:
            self._give_back(job.duty, job.people, job)
        job.duty, job.people = None, 0
        self.floor.deal(self)
        job.scope.worked(job)
