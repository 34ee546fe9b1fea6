"""Work on an aircraft: a SimPy process for each package, which queues for people, is worked and bought off."""

from __future__ import annotations

from collections.abc import Generator
from contextlib import suppress
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import simpy
from textbook_calendar import HOUR, Duty, Span
from textbook_plant import Closing, Package, Position, Travelled

if TYPE_CHECKING:
    from textbook_aircraft import Body

INSPECTOR = "INS"
Steps = Generator[simpy.Event, Any, None]


class Job:
    """Work that waits for people or has them: a package's work, or the buy-off after it."""

    def __init__(self, of: Work, trade: str | None, hours: Fraction, least: int = 1, most: int = 1) -> None:
        self.of, self.trade, self.least, self.most = of, trade, least, most
        self.left = hours * HOUR
        self.since: Fraction | None = None      # at work since
        self.startable = of.floor.env.now
        self.touched = self.down = False        # hours of it have been worked; it is to be put down
        self.heads = 0
        self.duty: Duty | None = None

    @property
    def begun(self) -> bool:
        return self.touched or (self.since is not None and self.since < self.of.floor.env.now)

    @property
    def left_now(self) -> Fraction:
        """Minutes of labour left at this instant."""
        return self.left - (self.heads * (self.of.floor.env.now - self.since) if self.since is not None else 0)

    def worked(self) -> Steps:
        """Queue, work till done or put down, release the people, and queue again."""
        env, floor = self.of.floor.env, self.of.floor
        while True:
            self.served = env.event()
            self.down = False
            floor.queue.append(self)
            floor.ring()
            stretches: list[Span] = yield self.served
            for begins, ends in stretches:
                if self.left and env.now < begins and not self.down:
                    yield from self._wait(begins)
                yield from self._stretch(ends)
            floor.crews.remove(self)
            self.heads, self.duty = 0, None
            floor.ring()
            if not self.left:
                return

    def _wait(self, until: Fraction) -> Steps:
        with suppress(simpy.Interrupt):         # somebody joins, or it is put down
            yield self.of.floor.env.timeout(until - self.of.floor.env.now)

    def _stretch(self, ends: Fraction) -> Steps:
        env = self.of.floor.env
        while self.left and env.now < ends and not self.down:
            self.since = env.now
            yield from self._wait(min(env.now + self.left / self.heads, ends))
            self._book()

    def _book(self) -> None:
        """Take off what was worked so far."""
        if self.since is not None:
            self.left, self.touched = self.left_now, self.begun
            self.since = None

    def joined_by(self, heads: int) -> None:
        """Free people join."""
        self._book()
        self.heads += heads
        self.of.process_now.interrupt()

    def put_down(self) -> None:
        """A lock or a move ends the work of this crew; nothing is lost."""
        self._book()
        self.down = True
        self.of.process_now.interrupt()


class Work:
    """A package on an aircraft: in the place where it was planned, or carried further unfinished."""

    def __init__(self, body: Body, package: Package, file_order: int) -> None:
        self.body, self.package, self.floor = body, package, body.floor
        self.origin, self.repeat, self.file_order = body.position, body.repeat, file_order
        self.half = body.half
        self.before: list[Work] = []
        self.job: Job | None = None
        self.price: Fraction | None = None      # multiplier, once it has moved
        self.closed, self.let_go = self.floor.env.event(), self.floor.env.event()

    @property
    def hours(self) -> Fraction:
        return self.floor.plant.hours[self.body.serial, self.package.id, self.repeat]

    @property
    def exists(self) -> bool:
        return (self.body.serial, self.package.id) not in self.floor.plant.missing

    def process(self) -> Steps:
        """Wait for what comes before, then do it."""
        env, floor, package = self.floor.env, self.floor, self.package
        yield env.all_of([self._free_of(other) for other in self.before])
        if package.kind == "hold" and self.exists:
            yield env.timeout(self.hours * HOUR)
        else:
            while floor.locked(self.body.serial):
                yield env.timeout(floor.lock_ends(self.body.serial) - env.now)
            if self.exists:
                yield from self._by_people()
        if self.exists:
            floor.told.closings.append(Closing(self.body.serial, self.half, self.origin.id, package.id, self.repeat,
                                               env.now))
        self.closed.succeed()
        floor.ring()

    def _free_of(self, other: Work) -> simpy.Event:
        """A buy-off package does not wait for what was let go to travel (but for what may go no further)."""
        if self.package.kind == "buy-off" and other.origin is self.origin:
            return other.closed | other.let_go
        return other.closed

    def _by_people(self) -> Steps:
        env, floor, package = self.floor.env, self.floor, self.package
        delay = floor.plant.late.get((self.body.serial, package.id))
        if delay:
            yield env.timeout(floor.calendar.later(env.now, delay) - env.now)
        self.process_now = env.active_process
        self.job = Job(self, package.trade, self.hours * (self.price or 1), package.least, package.most)
        yield from self.job.worked()
        if package.inspection:
            self.job = Job(self, INSPECTOR, package.inspection)
            yield from self.job.worked()

    @property
    def left_now(self) -> Fraction:
        """Minutes of hands-on work left, the price of an earlier move in it."""
        if self.job is None:
            return self.hours * HOUR * (self.price or 1)
        return Fraction(0) if self.in_inspection else self.job.left_now

    @property
    def in_inspection(self) -> bool:
        return self.job is not None and self.job.trade == INSPECTOR

    @property
    def may_travel(self) -> bool:
        """It and all unfinished hands-on work after it may, and it has not come to its latest position."""
        line = self.floor.line
        latest = self.package.latest or line.last
        return (self.package.kind == "work" and self.package.can_travel
                and self.floor.rank[self.body.position.id] < self.floor.rank[latest]
                and all(work.may_travel for work in self._successors() if work.package.kind == "work"))

    def _successors(self) -> list[Work]:
        """Unfinished work that comes after it, also by way of other work."""
        direct = [work for work in self.body.open_works if self in work.before]
        return [*direct, *(further for work in direct for further in work._successors())]

    def moved_on(self, to: Position, multiplier: Fraction) -> None:
        """The aircraft takes it along: people leave it, and the first move has its price."""
        before, factor = self.left_now, multiplier if self.price is None else Fraction(1)
        self.price = self.price or multiplier
        self.floor.told.travelled.append(Travelled(self.body.serial, self.package.id, self.origin.id, to.id,
                                                   self.floor.env.now, before, before * factor))
        if self.job is not None:
            self.startable_here()
            if self.job in self.floor.crews:
                self.job.put_down()
            if not self.in_inspection:
                self.job.left *= factor

    def startable_here(self) -> None:
        """Where it now stands, it first became startable at this instant."""
        if self.job is not None:
            self.job.startable = self.floor.env.now
