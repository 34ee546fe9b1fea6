"""The places, the people, and the order of things in one instant: what is due happens, then moves, then the pulse,
then launches, then people are dealt out."""

from __future__ import annotations

from bisect import bisect_right
from datetime import date
from fractions import Fraction
from itertools import count
from typing import Any

import simpy
from textbook_aircraft import Body
from textbook_calendar import FOREVER, Calendar, Duty, Span, meet, without
from textbook_plant import Dispatch, Plant, Position, Told
from textbook_pulse import PulseLine, first_places
from textbook_work import Job, Steps

LAST = 2                                # after SimPy's urgent (0) and normal (1) events of an instant


class Floor:
    """The floor of one plant."""

    def __init__(self, plant: Plant) -> None:
        self.plant, self.calendar = plant, Calendar(plant.start, plant.end, plant.shifts, plant.closed)
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
        self.due: set[int] = set()          # orders whose planned moment has come
        self.to_launch = [n for n, order in enumerate(plant.orders) if not order.at]
        first = first_places(plant.positions)
        self.branches = [[p] for p in first] if plant.halves_apart else [first]
        self.next_launch = [0 for _ in self.branches]
        self.queue: list[Job] = []
        self.crews: list[Job] = []
        self.again: dict[tuple[str, str, str], int] = {}
        self.told = Told()
        self.bell = self.env.event()
        self.line = PulseLine(self)
        for n, order in enumerate(plant.orders):
            for place in order.at:
                Body(self, n, self.position[place])
        self.env.process(self.planned())
        self.env.process(self.clock())
        self.env.process(self.settle())

    def _rank(self, name: str) -> int:
        before = [p.id for p in self.plant.positions if p.goes_to == name]
        return max((1 + self._rank(b) for b in before), default=0)

    def run(self) -> Told:
        """To the last delivery, or 24:00 of the end."""
        while len(self.told.delivered) < len(self.plant.orders) and self.env.peek() < self.calendar.last:
            self.env.step()
        return self.told

    def ring(self) -> None:
        """Something has changed: the instant must be settled."""
        if not self.bell.triggered:
            self.bell.succeed()

    def planned(self) -> Steps:
        """The planned moments of the launches, in the order of the order book."""
        plan, calendar = self.plant.rate_plan, self.calendar
        moment = calendar.latest(calendar.reading(plan.first)) if plan else Fraction(0)
        for order in self.to_launch:
            own = self.plant.orders[order]
            self.env.process(self._comes_due(order, max(moment if plan else own.moment, own.not_before)))
            if plan:
                moment = calendar.one_takt_after(moment, plan)
        yield self.env.timeout(0)

    def _comes_due(self, order: int, moment: Fraction) -> Steps:
        yield self.env.timeout(moment)
        self.due.add(order)
        self.ring()

    def clock(self) -> Steps:
        """Blocks, outages and locks begin and end."""
        spans = [*(span for p in self.plant.positions for span in p.outages),
                 *(span for locks in self.plant.locks.values() for span in locks)]
        for t in sorted({*self.calendar.edges(), *(t for span in spans for t in span)}):
            yield self.env.timeout(t - self.env.now)
            self.ring()

    def settle(self) -> Steps:
        """One instant, in the order of the rules, until nothing happens."""
        while True:
            yield self.bell
            self.bell = self.env.event()
            while True:
                yield self._all_else()
                if not (self.put_down_locked() or self.moves() or self.line.step() or self.launch() or self.serve()):
                    break
            yield self._all_else()
            self.line.watch()

    def _all_else(self) -> simpy.Event:
        event = self.env.event()
        event._ok, event._value = True, None
        self.env.schedule(event, priority=LAST)     # type: ignore[arg-type]
        return event

    def locked(self, serial: str) -> bool:
        """Whether a tool is missing on it."""
        return any(a <= self.env.now < b for a, b in self.plant.locks.get(serial, ()))

    def lock_ends(self, serial: str) -> Fraction:
        """When the lock of this instant ends."""
        return max(b for a, b in self.plant.locks[serial] if a <= self.env.now < b)

    def put_down_locked(self) -> bool:
        """A locked aircraft is not worked on; what ends at this instant has ended."""
        running = [job for job in self.crews if self.locked(job.of.body.serial)]
        for job in running:
            job.put_down()
        return bool(running)

    def moves(self) -> bool:
        """From the most downstream place upward, until nothing moves."""
        moved = False
        while self._off_the_floor() or any(self._move_into(position) for position in self.downstream_first):
            moved = True
        return moved

    def _free_to_move(self) -> list[Body]:
        return [body for body in self.waiting if not self.line.holds(body) and not self.locked(body.serial)]

    def _off_the_floor(self) -> bool:
        finished = [body for body in self._free_to_move() if body.goal is None]
        for body in finished:
            self.deliver(body)
        return bool(finished)

    def deliver(self, body: Body) -> None:
        """The aircraft is gone."""
        body.leave(None)
        body.entered.succeed(True)
        self.told.delivered[body.serial] = self.env.now

    def _move_into(self, position: Position) -> bool:
        free = len(self.docks[position.id]) < position.docks
        if free and self.parked[position.id] and not self.locked(self.parked[position.id][0].serial):
            self.parked[position.id].pop(0).enter(position)
            return True
        ready = [(body.ready, body.tie(), n, [body]) for n, body in enumerate(self._free_to_move())
                 if body.goal == position.id and not self._half_at_join(body)]
        ready += self._pairs(position)
        for _, _, _, bodies in sorted(ready, key=lambda r: r[:3]):
            joining = len(bodies) > 1
            if not free and (joining or len(self.parked[position.id]) >= position.parking):
                continue
            if joining:
                self.mate(bodies, position)
            else:
                bodies[0].leave(position)
                self.enter_or_park(bodies[0], position)
            return True
        return False

    def enter_or_park(self, body: Body, position: Position) -> None:
        """Into a dock if one is free, else on the parking before it."""
        if len(self.docks[position.id]) < position.docks and not self.parked[position.id]:
            body.enter(position)
        else:
            self.parked[position.id].append(body)

    def mate(self, halves: list[Body], position: Position) -> Body:
        """Two halves leave in one instant and one aircraft stands at mate, with what they carry."""
        for half in halves:
            half.leave(position)
            half.entered.succeed(True)
        carried = tuple(work for half in halves for work in half.works)
        return Body(self, halves[0].order, position, carried)

    def _half_at_join(self, body: Body) -> bool:
        return bool(body.half) and body.goal in self.joins

    def _pairs(self, position: Position) -> list[Any]:
        halves = [b for b in self._free_to_move() if b.goal == position.id and self._half_at_join(b)]
        return [(max(a.ready, b.ready), min(a.tie(), b.tie()), -1, [a, b]) for a in halves for b in halves
                if a.half == "fuselage" and b.half == "wing" and a.serial == b.serial]

    def launch(self) -> bool:
        """The next order, if it is due and its first place (both of a two-branch aircraft) is free."""
        return not self.line and any(self._launch(branch) for branch in range(len(self.branches)))

    def launch_on_pulse(self) -> None:
        """The next order follows the pulse."""
        for branch in range(len(self.branches)):
            self._launch(branch, on_pulse=True)

    def _launch(self, branch: int, on_pulse: bool = False) -> bool:
        first = self.branches[branch]
        if self.next_launch[branch] == len(self.to_launch) or any(len(self.docks[p.id]) >= p.docks for p in first):
            return False
        order = self.to_launch[self.next_launch[branch]]
        if order not in self.due and not on_pulse:
            return False
        self.next_launch[branch] += 1
        self.told.launched.setdefault(self.plant.orders[order].serial, self.env.now)
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
        place = job.of.body.position.id
        if self.locked(job.of.body.serial) or job.of.body not in self.docks[place]:   # it is parked
            return False
        spans = self.open[place]
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
            job.joined_by(joining)

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
