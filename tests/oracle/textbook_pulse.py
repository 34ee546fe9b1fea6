"""The pulse line: it is due by the takt, work is let go to travel, and all move when all may."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from textbook_aircraft import Body
from textbook_calendar import FOREVER, HOUR, RatePlan
from textbook_plant import Package, Position, Pulse, Stop
from textbook_work import Steps, Work

if TYPE_CHECKING:
    from textbook_floor import Floor

NO_PULSE = Pulse(())


class PulseLine:
    """Positions of one dock each that move together; without positions, nothing ever moves by it."""

    def __init__(self, floor: Floor) -> None:
        self.floor, self.pulse = floor, floor.plant.pulse or NO_PULSE
        self.plan = floor.plant.rate_plan or RatePlan(Fraction(1))
        self.downstream_first = [p for p in floor.downstream_first if p.id in self.pulse.positions]
        self.last = self.downstream_first[0].id if self.downstream_first else ""
        self.stop_causes: set[str] = set()
        self.moved: list[Body] = []         # of those behind an obstacle the others have moved already
        self.due = self.decides = FOREVER
        self.decided = False
        if self.pulse.positions:
            first = self.plan.first if self.pulse.first is None else self.pulse.first
            self._plan_next(floor.calendar.latest(floor.calendar.reading(first)))

    def latest(self, package: Package) -> str:
        """Where travelled work must be closed."""
        return package.latest or self.last

    def holds(self, body: Body) -> bool:
        """Whether it waits for the pulse; the last position rolls out by itself unless said otherwise."""
        place = body.position.id
        return place in self.pulse.positions and (place != self.last or self.pulse.roll_out_on_pulse)

    def _plan_next(self, due: Fraction) -> None:
        calendar, env = self.floor.calendar, self.floor.env
        early = calendar.latest(calendar.reading(due) - self.pulse.decide_before * HOUR)
        self.due, self.decides, self.decided = due, max(env.now, min(due, early)), False
        for moment in (self.decides, self.due):
            env.process(self._bell(moment))

    def _bell(self, moment: Fraction) -> Steps:
        yield self.floor.env.timeout(moment - self.floor.env.now)
        self.floor.ring()

    def step(self) -> bool:
        """What the line does at this instant."""
        now = self.floor.env.now
        if now >= self.decides and not self.decided:
            self.decided = True
            self._let_go()
            return True
        return now >= self.due and self._move_all_that_may()

    def _on_line(self) -> list[Body]:
        """Aircraft that this pulse has not moved yet, the foremost first."""
        return [body for p in self.downstream_first for body in self.floor.docks[p.id] if body not in self.moved]

    def _let_go(self) -> None:
        for body in self._on_line():
            for work in body.open_works:
                if work.may_travel and not work.let_go.triggered:
                    work.let_go.succeed()

    def _move_all_that_may(self) -> bool:
        obstacles = [body for body in self._on_line() if not self._may_move(body)]
        self.stop_causes |= {body.serial for body in obstacles}
        moved = False
        if not obstacles or self.pulse.those_behind:
            for body in self._on_line():
                if not self._stands(body, obstacles) and self._beyond_is_free(body):
                    self._move(body)
                    moved = True
        if not obstacles:
            self._pulse_is_made()
        return moved or not obstacles

    def _stands(self, body: Body, obstacles: list[Body]) -> bool:
        """Whether it is an obstacle, or behind one that has none behind itself."""
        hindmost = [o for o in obstacles if not any(o.position.id in self._way(other) for other in obstacles)]
        return body in obstacles or any(o.position.id in self._way(body) for o in hindmost)

    def _way(self, body: Body) -> list[str]:
        """Places ahead of it."""
        way, goes_to = [], body.position.goes_to
        while goes_to:
            way.append(goes_to)
            goes_to = self.floor.position[goes_to].goes_to
        return way

    def _may_move(self, body: Body) -> bool:
        """Closed, or all that is open may travel and is within the limit; not locked; and with a place to go to."""
        if self.floor.locked(body.serial) or not (body in self.floor.waiting or self._may_travel(body)):
            return False
        if body.position.id == self.last:
            return self._beyond_is_free(body)
        if body.half and body.position.goes_to in self.floor.joins:
            other = self._other_half(body)
            return other is not None and (other in self.floor.waiting or self._may_travel(other))
        return True

    def _other_half(self, body: Body) -> Body | None:
        return next((other for other in self._on_line() if other.serial == body.serial and other is not body
                     and other.position.goes_to == body.position.goes_to), None)

    def _may_travel(self, body: Body) -> bool:
        works = body.open_works
        return bool(works) and self._all_let_go(works) and self.over_the_limit(body) <= 0

    def _all_let_go(self, works: list[Work]) -> bool:
        return all(work.let_go.triggered and work.may_travel for work in works)

    def over_the_limit(self, body: Body) -> Fraction:
        """Minutes of this position's let-go work left beyond the share of its hours that may travel."""
        own = [work for work in body.works if work.origin is body.position and work.repeat == body.repeat]
        hours = sum((work.hours for work in own if work.package.kind == "work" and work.exists), Fraction(0))
        left = sum((work.left_now for work in self.let_go_here(body)), Fraction(0))
        return left - self.pulse.max_share * hours * HOUR

    def let_go_here(self, body: Body) -> list[Work]:
        """Open let-go work of the position in which the aircraft stands."""
        return [w for w in body.open_works if w.let_go.triggered and w.origin is body.position]

    def _beyond_is_free(self, body: Body) -> bool:
        floor = self.floor
        if body.position.goes_to is None:
            return True
        beyond = floor.position[body.position.goes_to]
        parking_free = beyond.id not in self.pulse.positions and len(floor.parked[beyond.id]) < beyond.parking
        return len(floor.docks[beyond.id]) < beyond.docks or parking_free

    def _move(self, body: Body) -> None:
        if body not in self._on_line():     # went to mate with its other half
            return
        floor = self.floor
        beyond = floor.position[body.position.goes_to] if body.position.goes_to else None
        other = self._other_half(body) if body.half and body.position.goes_to in floor.joins else None
        if beyond is None:
            floor.deliver(body)
        elif other is not None:
            self.moved.append(floor.mate([body, other], beyond))
        else:
            body.leave(beyond)
            floor.enter_or_park(body, beyond)
            self.moved.append(body)

    def _pulse_is_made(self) -> None:
        floor, now, due = self.floor, self.floor.env.now, self.due
        floor.told.pulses.append((due, now))
        if now > due:
            floor.told.stops.append(Stop(due, now, tuple(sorted(self.stop_causes))))
        self.stop_causes, self.moved = set(), []
        floor.launch_on_pulse()
        following = floor.calendar.one_takt_after(due if self.pulse.keep_the_plan else now, self.plan)
        while following <= now:             # lost
            following = floor.calendar.one_takt_after(following, self.plan)
        self._plan_next(following)

    def watch(self) -> None:
        """Ring at the instant at which work under way will have fallen to the limit."""
        if self.floor.env.now < self.due:
            return
        for body in self._on_line():
            over = self.over_the_limit(body)
            pace = sum(w.job.heads for w in self.let_go_here(body) if w.job and w.job.since is not None
                       and not w.in_inspection)
            if over > 0 and pace and self._all_let_go(body.open_works):
                self.floor.env.process(self._bell(self.floor.env.now + over / pace))

    def __bool__(self) -> bool:
        return bool(self.pulse.positions)


def first_places(positions: tuple[Position, ...]) -> list[Position]:
    """Where aircraft are launched: the first position, or the first of each half."""
    halves = [next((p for p in positions if p.half == half), None) for half in ("fuselage", "wing")]
    return [p for p in halves if p] or [positions[0]]
