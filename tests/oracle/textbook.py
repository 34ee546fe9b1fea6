"""A slow textbook model of the floor rules, to hold the engine against.

It is written from the text of the floor rules alone: one SimPy process for each launch, aircraft (or half) and
package, one for the calendar, and one that settles an instant in the order of the rules: what is due happens, then
moves, then launches, then people are dealt out. Times are exact fractions of minutes, so that two things at one
instant are at one instant. Nothing here is quick, and nothing is shared with the engine.

A pulse would be one more step of `settle` between moves and launches; travelled work would be jobs that an aircraft
carries from one stay to the next.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Generator, Iterable
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date, timedelta
from fractions import Fraction
from itertools import count
from typing import Any, NamedTuple

import simpy

HOUR, DAY, QUARTER = 60, 1440, 15       # minutes
LAST = 2                                # after SimPy's urgent (0) and normal (1) events of an instant
FOREVER = Fraction(10 ** 9)
INSPECTOR = "INS"
Span = tuple[Fraction, Fraction]
Steps = Generator[simpy.Event, Any, None]
Dispatch = str | tuple[str, ...]        # its name, or places in order of serving


@dataclass(frozen=True)
class Shift:
    """A shift in minutes after midnight: its work blocks outright, or what is taken out of it."""

    work: tuple[tuple[int, int], ...] = ()
    start: int = 0
    end: int = 0
    meal: int = 0
    breaks: int = 0
    meeting: int = 0
    clean_down: int = 0
    start_check: int = 0
    end_check: int = 0
    weekdays: tuple[int, ...] = (0, 1, 2, 3, 4)

    def blocks(self) -> list[tuple[int, int]]:
        """Work blocks: checks and meeting at the start, clean-down and check at the end, meal and breaks inside."""
        if self.work:
            return list(self.work)
        meal = _middle(self.start, self.end, self.meal)
        out = [meal, *(_middle(*half, self.breaks / 2) for half in ((self.start, meal[0]), (meal[1], self.end)))]
        out += [(self.start, self.start + self.start_check + self.meeting),
                (self.end - self.clean_down - self.end_check, self.end)]
        worked = [not any(a <= minute < b for a, b in out) for minute in range(self.start, self.end)]
        edges = [n for n in range(len(worked) + 1) if (n < len(worked) and worked[n]) != (n > 0 and worked[n - 1])]
        return [(self.start + a, self.start + b) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _middle(start: float, end: float, length: float) -> tuple[int, int]:
    begins = int((start + (end - start - length) / 2) // QUARTER) * QUARTER
    return begins, int(begins + length)


@dataclass(frozen=True)
class Package:
    """Planned work. Without a trade nobody is needed."""

    id: str
    kind: str = "work"                  # work, hold or buy-off
    trade: str | None = None
    least: int = 1
    most: int = 1
    after: tuple[str, ...] = ()
    inspection: Fraction = Fraction(0)  # hours


@dataclass(frozen=True)
class Position:
    """A place with its docks and the parking before it."""

    id: str
    packages: tuple[Package, ...]
    docks: int = 1
    parking: int = 0
    half: str = ""
    shifts: tuple[str, ...] = ()
    goes_to: str | None = None          # None: off the floor
    back_to: str | None = None
    outages: tuple[Span, ...] = ()      # hands-on work is put down


class Order(NamedTuple):
    """An ordered aircraft and its planned launch in minutes after the start, or where it stands at the start."""

    serial: str
    promised: date | None
    moment: Fraction
    at: tuple[str, ...] = ()


@dataclass(frozen=True)
class Plant:
    """A plant in plain numbers."""

    start: date
    end: date
    shifts: dict[str, Shift]                                    # the first is the reference shift
    trades: dict[str, dict[str, int]]                           # people on each shift
    positions: tuple[Position, ...]
    orders: tuple[Order, ...]
    hours: dict[tuple[str, str, int], Fraction]                 # by serial, package and repeat
    takt_work_days: Fraction | None = None                      # instead of the moments of the orders
    crew_grows: bool = True
    dispatch: Dispatch = "promised date"
    own_dispatch: dict[str, Dispatch] = field(default_factory=dict)         # of a trade
    reserve: bool = False
    closed: frozenset[date] = frozenset()
    present: dict[tuple[str, str, date], int] = field(default_factory=dict)
    missing: frozenset[tuple[str, str]] = frozenset()           # packages that an aircraft does not have
    late: dict[tuple[str, str], Fraction] = field(default_factory=dict)     # parts, in work days
    goings_back: dict[tuple[str, str], int] = field(default_factory=dict)


class Closing(NamedTuple):
    """When a package closed."""

    serial: str
    half: str
    place: str
    job: str
    repeat: int
    closed: Fraction


class Told(NamedTuple):
    """What the model says of a plant."""

    closings: list[Closing]
    launched: dict[str, Fraction]
    delivered: dict[str, Fraction]


class Duty(NamedTuple):
    """One shift on one date."""

    shift: str
    day: date
    blocks: tuple[Span, ...]


class Calendar:
    """Work blocks in minutes since 00:00 of the start."""

    def __init__(self, plant: Plant) -> None:
        self.last = Fraction(((plant.end - plant.start).days + 1) * DAY)
        self.duties: dict[str, list[Duty]] = {name: [] for name in plant.shifts}
        for n in range((plant.end - plant.start).days + 60):    # a delay may reach beyond the end
            day = plant.start + timedelta(n)
            for name, shift in plant.shifts.items():
                if day.weekday() in shift.weekdays and day not in plant.closed:
                    blocks = tuple((Fraction(n * DAY + a), Fraction(n * DAY + b)) for a, b in shift.blocks())
                    self.duties[name].append(Duty(name, day, blocks))
        reference = next(iter(plant.shifts))
        self.clock = [block for duty in self.duties[reference] for block in duty.blocks]
        self.at_work = {name: [(block, duty) for duty in duties for block in duty.blocks]
                        for name, duties in self.duties.items()}
        self.work_day = Fraction(sum(b - a for a, b in plant.shifts[reference].blocks()))

    def on_duty(self, shift: str, now: Fraction) -> Duty | None:
        """Who of a shift is at work now: nobody in a meal or a break."""
        n = bisect_right(self.at_work[shift], now, key=lambda entry: entry[0][0]) - 1
        (_, ends), duty = self.at_work[shift][n] if n >= 0 else ((now, now), None)
        return duty if now < ends else None

    def union(self, shifts: Iterable[str]) -> list[Span]:
        """Time in which any of the shifts works."""
        merged: list[Span] = []
        for a, b in sorted(block for name in shifts for duty in self.duties[name] for block in duty.blocks):
            if merged and a <= merged[-1][1]:
                merged[-1] = (merged[-1][0], max(b, merged[-1][1]))
            else:
                merged.append((a, b))
        return merged

    def edges(self) -> list[Fraction]:
        """All instants at which a block begins or ends."""
        return sorted({t for duties in self.duties.values() for d in duties for block in d.blocks for t in block})

    def reading(self, now: Fraction) -> Fraction:
        """Working minutes of the reference shift before now."""
        return sum((max(Fraction(0), min(b, now) - a) for a, b in self.clock), Fraction(0))

    def latest(self, reading: Fraction) -> Fraction:
        """Latest instant with that reading: the end of a block reads as the first minute of the next."""
        for a, b in self.clock:
            if reading < b - a:
                return a + reading
            reading -= b - a
        return FOREVER


def meet(one: Iterable[Span], other: Iterable[Span], now: Fraction) -> list[Span]:
    """Time that lies in both, from now on."""
    both = [(max(a, c, now), min(b, d)) for a, b in one for c, d in other if a < d and c < b]
    return sorted(span for span in both if span[0] < span[1])


def without(spans: list[Span], outages: Iterable[Span]) -> list[Span]:
    """What outages leave of time."""
    for out, back in outages:
        spans = [piece for a, b in spans for piece in ((a, min(b, out)), (max(a, back), b)) if piece[0] < piece[1]]
    return spans


class Job:
    """Work that waits for people or has them: a package's work, or the buy-off after it."""

    def __init__(self, of: Work, trade: str | None, hours: Fraction, least: int = 1, most: int = 1) -> None:
        self.of, self.trade, self.least, self.most = of, trade, least, most
        self.minutes = self.left = hours * HOUR
        self.since: Fraction | None = None      # at work since
        self.startable = of.floor.env.now
        self.heads = 0
        self.duty: Duty | None = None

    @property
    def begun(self) -> bool:
        return self.left < self.minutes or (self.since is not None and self.since < self.of.floor.env.now)

    def worked(self) -> Steps:
        """Queue, work till done or put down, release the people, and queue again."""
        env, floor = self.of.floor.env, self.of.floor
        while True:
            self.served = env.event()
            floor.queue.append(self)
            floor.ring()
            stretches = yield self.served
            for begins, ends in stretches:
                if env.now < begins:
                    yield env.timeout(begins - env.now)
                yield from self._stretch(ends)
                if not self.left:
                    break
            floor.crews.remove(self)
            self.heads, self.duty = 0, None
            floor.ring()
            if not self.left:
                return

    def _stretch(self, ends: Fraction) -> Steps:
        env = self.of.floor.env
        while self.left and env.now < ends:
            self.since, heads = env.now, self.heads
            with suppress(simpy.Interrupt):     # somebody joins
                yield env.timeout(min(self.left / heads, ends - env.now))
            self.left -= heads * (env.now - self.since)
            self.since = None


class Work:
    """A package on an aircraft in a place."""

    def __init__(self, body: Body, package: Package, file_order: int) -> None:
        self.body, self.package, self.floor = body, package, body.floor
        self.file_order = file_order
        self.closed = self.floor.env.event()

    def process(self, before: list[Work]) -> Steps:
        """Wait for what comes before, then do it."""
        env, floor, package = self.floor.env, self.floor, self.package
        yield env.all_of([other.closed for other in before])
        key = (self.body.serial, package.id)
        if key not in floor.plant.missing:
            delay = floor.plant.late.get(key)
            if delay:
                arrives = floor.calendar.latest(floor.calendar.reading(env.now) + delay * floor.calendar.work_day)
                yield env.timeout(arrives - env.now)
            hours = floor.plant.hours[*key, self.body.repeat]
            if package.kind == "hold":
                yield env.timeout(hours * HOUR)
            else:
                self.job = Job(self, package.trade, hours, package.least, package.most)
                self.process_now = floor.env.active_process
                yield from self.job.worked()
                if package.inspection:
                    self.job = Job(self, INSPECTOR, package.inspection)
                    yield from self.job.worked()
            floor.closings.append(Closing(self.body.serial, self.body.half, self.body.position.id, package.id,
                                          self.body.repeat, env.now))
        self.closed.succeed()


class Body:
    """An aircraft, or before mate one of its halves, on its way through the places."""

    def __init__(self, floor: Floor, order: int, position: Position) -> None:
        self.floor, self.order, self.position = floor, order, position
        self.serial = floor.plant.orders[order].serial
        self.half = position.half
        self.visits: dict[str, int] = {}
        self.ready = self.goal = None
        floor.docks[position.id].append(self)
        floor.env.process(self.process())

    @property
    def repeat(self) -> int:
        return self.visits[self.position.id] - 1

    def process(self) -> Steps:
        """Work, wait for a place, move on."""
        env, floor = self.floor.env, self.floor
        while True:
            here = self.position
            self.visits[here.id] = self.visits.get(here.id, 0) + 1
            yield env.all_of(self._packages())
            times = floor.plant.goings_back.get((self.serial, here.id), 0)
            if here.back_to and self.gone_back.get(here.id, 0) < times:
                self.gone_back[here.id] = self.gone_back.get(here.id, 0) + 1
                if here.back_to == here.id:
                    continue
                self.goal = here.back_to
            elif here.goes_to is None:
                floor.docks[here.id].remove(self)
                floor.delivered[self.serial] = env.now
                floor.ring()
                return
            else:
                self.goal = here.goes_to
            self.ready, self.entered = env.now, env.event()
            floor.waiting.append(self)
            floor.ring()
            joined = yield self.entered
            if joined:
                return

    @property
    def gone_back(self) -> dict[str, int]:
        return self.floor.gone_back.setdefault((self.serial, self.half), {})

    def _packages(self) -> list[simpy.Event]:
        works = {package.id: Work(self, package, self.floor.file_order[package.id])
                 for package in self.position.packages}
        for work in works.values():
            self.floor.env.process(work.process([works[name] for name in work.package.after]))
        return [work.closed for work in works.values()]

    def tie(self) -> tuple[Any, ...]:
        """Who goes first of those that became ready at one instant: ties of places keep the plant's key."""
        return self.floor.order_key(self, self.floor.plant.dispatch)


class Floor:
    """The places, the people, and the order of things in one instant."""

    def __init__(self, plant: Plant) -> None:
        self.plant, self.calendar = plant, Calendar(plant)
        self.env = simpy.Environment(initial_time=Fraction(0))  # type: ignore[arg-type]
        self.position = {p.id: p for p in plant.positions}
        packages = [package.id for p in plant.positions for package in p.packages]
        self.file_order = dict(zip(packages, count(), strict=False))
        self.rank = {p.id: self._rank(p.id) for p in plant.positions}
        self.downstream_first = sorted(plant.positions, key=lambda p: -self.rank[p.id])
        self.joins = {p.goes_to for p in plant.positions if p.half} & {p.id for p in plant.positions if not p.half}
        self.docks: dict[str, list[Body]] = {p.id: [] for p in plant.positions}
        self.parked: dict[str, list[Body]] = {p.id: [] for p in plant.positions}
        self.open = {p.id: without(self.calendar.union(p.shifts) if p.shifts else [(Fraction(0), FOREVER)], p.outages)
                     for p in plant.positions}
        self.waiting: list[Body] = []       # finished, in a dock, waiting for a place beyond
        self.due: list[int] = []            # orders whose planned moment has come
        self.queue: list[Job] = []
        self.crews: list[Job] = []
        self.gone_back: dict[tuple[str, str], dict[str, int]] = {}
        self.closings: list[Closing] = []
        self.launched: dict[str, Fraction] = {}
        self.delivered: dict[str, Fraction] = {}
        self.bell = self.env.event()
        for order in range(len(plant.orders)):
            self.env.process(self.planned(order))
        self.env.process(self.clock())
        self.env.process(self.settle())

    def _rank(self, name: str) -> int:
        before = [p.id for p in self.plant.positions if p.goes_to == name]
        return max((1 + self._rank(b) for b in before), default=0)

    def run(self) -> Told:
        """To the last delivery, or 24:00 of the end."""
        while len(self.delivered) < len(self.plant.orders) and self.env.peek() < self.calendar.last:
            self.env.step()
        return Told(self.closings, self.launched, self.delivered)

    def ring(self) -> None:
        """Something has changed: the instant must be settled."""
        if not self.bell.triggered:
            self.bell.succeed()

    def planned(self, order: int) -> Steps:
        """The planned moment of a launch."""
        takt, own = self.plant.takt_work_days, self.plant.orders[order]
        if own.at:
            for place in own.at:
                Body(self, order, self.position[place])
            return
        before = sum(not other.at for other in self.plant.orders[:order])
        moment = own.moment if takt is None else self.calendar.latest(before * takt * self.calendar.work_day)
        yield self.env.timeout(moment)
        self.due.append(order)
        self.ring()

    def clock(self) -> Steps:
        """Blocks begin and end."""
        outages = {t for p in self.plant.positions for span in p.outages for t in span}
        for t in sorted({*self.calendar.edges(), *outages}):
            yield self.env.timeout(t - self.env.now)
            self.ring()

    def settle(self) -> Steps:
        """One instant, in the order of the rules, until nothing happens."""
        while True:
            yield self.bell
            self.bell = self.env.event()
            while True:
                yield self._all_else()
                if not (self.moves() or self.launch() or self.serve()):
                    break

    def _all_else(self) -> simpy.Event:
        event = self.env.event()
        event._ok, event._value = True, None
        self.env.schedule(event, priority=LAST)     # type: ignore[arg-type]
        return event

    def moves(self) -> bool:
        """One move, the most downstream there is."""
        return any(self._move_into(position) for position in self.downstream_first)

    def _move_into(self, position: Position) -> bool:
        free = len(self.docks[position.id]) < position.docks
        if free and self.parked[position.id]:
            self._enter(self.parked[position.id].pop(0), position)
            return True
        ready = [(body.ready, body.tie(), n, [body]) for n, body in enumerate(self.waiting)
                 if body.goal == position.id and not self._half_at_join(body)]
        ready += self._pairs(position)
        for _, _, _, bodies in sorted(ready, key=lambda r: r[:3]):
            joining = len(bodies) > 1
            if not free and (joining or len(self.parked[position.id]) >= position.parking):
                continue
            for body in bodies:
                self.docks[body.position.id].remove(body)
                self.waiting.remove(body)
            if joining:
                Body(self, bodies[0].order, position)
                for body in bodies:
                    body.entered.succeed(True)
            elif free:
                self._enter(bodies[0], position)
            else:
                self.parked[position.id].append(bodies[0])
            return True
        return False

    def _half_at_join(self, body: Body) -> bool:
        return bool(body.half) and body.goal in self.joins

    def _pairs(self, position: Position) -> list[Any]:
        halves = [body for body in self.waiting if body.goal == position.id and self._half_at_join(body)]
        return [(max(a.ready, b.ready), min(a.tie(), b.tie()), -1, [a, b]) for a in halves for b in halves
                if a.half == "fuselage" and b.half == "wing" and a.serial == b.serial]

    def _enter(self, body: Body, position: Position) -> None:
        self.docks[position.id].append(body)
        body.position = position
        body.entered.succeed(False)

    def launch(self) -> bool:
        """The next order, if it is due and its first place (both of a two-branch aircraft) is free."""
        halves = [next((p for p in self.plant.positions if p.half == half), None) for half in ("fuselage", "wing")]
        first = [p for p in halves if p] or [self.plant.positions[0]]
        if not self.due or any(len(self.docks[p.id]) >= p.docks for p in first):
            return False
        order = self.due.pop(0)
        self.launched[self.plant.orders[order].serial] = self.env.now
        for position in first:
            Body(self, order, position)
        return True

    def serve(self) -> bool:
        """Deal out free people, trade by trade; true if something without hours was closed."""
        nothing_to_do = False
        for job in sorted((j for j in self.queue if j.trade is None), key=self.key):
            nothing_to_do |= self._serve_alone(job)
        for trade in self.plant.trades:
            kept = False
            for job in sorted((j for j in self.queue if j.trade == trade), key=self.key):
                if not kept and self._is_open(job):
                    nothing_to_do |= self._serve(job)
                    kept = self.plant.reserve and job in self.queue     # all free people, too few, are kept for it
            if self.plant.crew_grows and not kept:
                for job in sorted((j for j in self.crews if j.trade == trade), key=self.key):
                    self._grow(job)
        return nothing_to_do

    def _is_open(self, job: Job) -> bool:
        spans = self.open[job.of.body.position.id]
        n = bisect_right(spans, self.env.now, key=lambda span: span[0]) - 1
        return n >= 0 and self.env.now < spans[n][1]

    def _start(self, job: Job, heads: int, stretches: list[Span]) -> bool:
        job.heads = heads
        self.queue.remove(job)
        self.crews.append(job)
        job.served.succeed(stretches)
        return not job.left

    def _serve_alone(self, job: Job) -> bool:
        opened = self.open[job.of.body.position.id]
        return self._is_open(job) and self._start(job, 1, meet(opened, [(self.env.now, FOREVER)], self.env.now))

    def _serve(self, job: Job) -> bool:
        assert job.trade is not None
        for shift in self.plant.shifts:
            duty = self.calendar.on_duty(shift, self.env.now)
            if duty:
                heads = min(self.free(job.trade, duty), job.most)
                if heads >= job.least:
                    job.duty = duty
                    return self._start(job, heads, self._stretches(job, duty))
        return False

    def _stretches(self, job: Job, duty: Duty) -> list[Span]:
        """When a crew can work: its own blocks and the area's; an outage ends it, a close for good is waited for."""
        place, now = job.of.body.position, self.env.now
        until = min((a for a, _ in place.outages if a > now), default=FOREVER)
        stretches = meet(duty.blocks, self.open[place.id], now)
        closes = max((b for a, b in self.open[place.id] if a <= stretches[-1][1] <= b), default=now)
        until = min(until, max(stretches[-1][1], min(closes, duty.blocks[-1][1])))
        return [*((a, min(b, until)) for a, b in stretches if a < until), (until, until)]

    def _grow(self, job: Job) -> None:
        assert job.trade is not None
        assert job.duty is not None
        duty = self.calendar.on_duty(job.duty.shift, self.env.now)
        joining = min(self.free(job.trade, job.duty), job.most - job.heads)
        if duty == job.duty and self._is_open(job) and joining > 0 and job.left:
            job.heads += joining
            job.of.process_now.interrupt()

    def free(self, trade: str, duty: Duty) -> int:
        """People of a trade on duty and without work."""
        roster = self.plant.trades[trade].get(duty.shift, 0)
        present = self.plant.present.get((trade, duty.shift, duty.day), roster)
        return present - sum(job.heads for job in self.crews if job.trade == trade and job.duty == duty)

    def key(self, job: Job) -> tuple[Any, ...]:
        """Order of serving; a trade may have its own."""
        dispatch = self.plant.own_dispatch.get(job.trade or "", self.plant.dispatch)
        return self.order_key(job.of.body, dispatch, not job.begun, job.startable, job.of.file_order)

    def order_key(self, body: Body, dispatch: Dispatch, not_begun: bool = False, startable: Fraction = FOREVER,
                  file_order: int = 0) -> tuple[Any, ...]:
        """The order key; of an aircraft that waits for a place nothing is begun."""
        promised = self.plant.orders[body.order].promised or date.max
        place, rank = body.position.id, -self.rank[body.position.id]
        default = (promised, rank, not_begun, startable)
        if isinstance(dispatch, tuple):
            key: tuple[Any, ...] = (dispatch.index(place) if place in dispatch else len(dispatch), *default)
        else:
            key = {"promised date": default, "first come": (startable,),
                   "furthest along": (rank, promised, not_begun, startable)}[dispatch]
        return (*key, body.order, file_order)


def told(plant: Plant) -> Told:
    """What the textbook model says of a plant."""
    return Floor(plant).run()
