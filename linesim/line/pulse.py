"""A pulse line: all its aircraft move on in one instant, or the line stands; what is unfinished may travel.

At the planned moment the pulse is due. Unfinished packages that may travel are let go: they no longer hold up the
position's buy-off. The line moves at the first instant at which every aircraft on it may; until then it is stopped.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, Final

from ..scenario.clock import NEVER
from ..scenario.orders import Pulse
from ..scenario.plan import planned_moments, takt_on
from .instant import PULSE
from .job import Job
from .records import Hindered, LineStop, PulseMade, State, Travel
from .sheet import HOUR
from .traffic import Move, Place

if TYPE_CHECKING:
    from .aircraft import Unit
    from .floor import Floor

# Minutes of labour by which work may be over the limit. The instant at which it has fallen to it is put on the grid of
# instants, up to half a millionth of a minute too soon, for each of a crew.
OVER: Final = 1e-4


def _hands_on_after(job: Job) -> Iterator[Job]:
    """The next unfinished hands-on packages after a job, also by way of buy-offs and holds."""
    for after in job.successors:
        if after.plan is not None and after.plan.kind == "work":
            if after.left > 0:
                yield after
        else:
            yield from _hands_on_after(after)


class PulseLine:
    """The positions of the line, the pulse that is due, and the aircraft that wait for it."""

    def __init__(self, floor: Floor, rules: Pulse) -> None:
        self.floor, self.rules = floor, rules
        members = {place.index for place in floor.traffic.places if place.plan.id in rules.positions}
        self.places = [place for place in floor.traffic.downstream_first if place.index in members]
        self.last = {place.index for place in self.places if place.plan.next not in members}
        self.members = members
        self.due: float | None = None
        self.owed: dict[Unit, None] = {}  # aircraft that this pulse has still to move
        self.owes_launch = False
        self.waiting: dict[Unit, tuple[Any, Place | None]] = {}
        self.causes: dict[int, None] = {}
        self._hindering: dict[Unit, tuple[float, int]] = {}  # since when, in which place
        self._hindered: list[Hindered] = []
        floor.env.step_of(PULSE, self._look)

    # the floor asks ----------------------------------------------------------------------------------------------
    def holds(self, place: Place) -> bool:
        """Whether a closed aircraft waits in the place for the pulse."""
        return place.index in self.members and (place.index not in self.last or self.rules.roll_out == "on the pulse")

    def wait(self, unit: Unit, target: Place | None) -> Any:
        """A closed aircraft waits for the pulse; gives the event of having moved."""
        event = self.floor.env.event()
        self.waiting[unit] = (event, target)
        self.look()
        return event

    def look(self) -> None:
        """Something that may let the line move has happened in this instant."""
        if self.due is not None:
            self.floor.env.once(PULSE)

    # when it is due ----------------------------------------------------------------------------------------------
    def open(self) -> None:
        """Plan the first pulse."""
        launches, calendar = self.floor.scenario.launches, self.floor.calendar
        first = self.rules.first or launches.first
        self._grid = planned_moments(calendar, self._takt(), launches.steps,
                                     calendar.of_moment(first) if first else None)
        self._plan(next(self._grid, NEVER))

    def _takt(self) -> float:
        takt = self.floor.scenario.launches.takt_work_days or self.rules.takt_work_days
        assert takt is not None
        return takt

    def _plan(self, moment: float) -> None:
        now, clock = self.floor.env.now, self.floor.calendar.reference
        if moment == NEVER:
            return
        before = self.rules.decide_hours_before * HOUR
        if before:
            self.floor.at(max(now, clock.latest(max(0.0, clock.reading(moment) - before))), PULSE, self._let_go)
        self.floor.at(moment, PULSE, lambda: self._fall_due(moment))

    def _next_moment(self) -> float:
        """One takt after the pulse that was made; or the next planned moment, those that passed being lost."""
        now, calendar = self.floor.env.now, self.floor.calendar
        if self.rules.after_stop == "keep the plan":
            return next((moment for moment in self._grid if moment > now), NEVER)
        takt = takt_on(calendar.date_of(now), self._takt(), self.floor.scenario.launches.steps)
        return calendar.reference.later(now, takt * calendar.work_day)

    def _fall_due(self, moment: float) -> None:
        if moment >= self.floor.calendar.end:
            return
        self.due, self.owes_launch = moment, True
        self.owed = {unit: None for place in self.places for unit in place.docked}
        self.causes, self._hindering, self._hindered = {}, {}, []
        self._let_go()
        self._look()

    # let go ------------------------------------------------------------------------------------------------------
    def _let_go(self) -> None:
        """Unfinished packages that may travel no longer hold up the buy-off of their position."""
        for place in self.places:
            for unit in place.docked:
                for job in list(unit.scope.todo) if unit.scope is not None else ():
                    if not job.let_go and self._may_travel(job):
                        job.let_go = True
                        self._free_buy_offs(job)

    def _free_buy_offs(self, job: Job) -> None:
        for after in [after for after in job.successors if after.plan is not None and after.plan.kind == "buy-off"]:
            job.successors.remove(after)
            after.scope.free(after)

    def _may_travel(self, job: Job) -> bool:
        plan = job.plan
        if plan is None or not plan.package.can_travel or plan.kind != "work" or job.unit.place.index in self.last:
            return False
        latest = plan.package.latest_position
        if latest is not None and latest == job.unit.place.plan.id:
            return False
        return all(self._may_travel(after) for after in _hands_on_after(job))

    # who may move ------------------------------------------------------------------------------------------------
    def _may_move(self, unit: Unit) -> bool:
        if unit.locked or unit.recalled or unit.held or unit.flying:
            return False
        if unit.place.index in self.last:
            if unit not in self.waiting:
                return False  # not closed, or closed with no place beyond
            target = self.waiting[unit][1]
            return target is None or (target.has_dock and not target.is_awaited) or target.has_parking
        if unit in self.waiting:
            return not unit.half or self._partner(unit) is not None
        scope = unit.scope
        return scope is not None and all(job.let_go for job in scope.todo) and self._over(unit) <= OVER and (
            not unit.half or self._partner(unit) is not None)

    def _partner(self, half: Unit) -> Unit | None:
        """The other half, if both stand before the same mate; a feeder's own next place needs none."""
        mate = half.place.plan.next
        if mate is None or self.floor.traffic.places[mate].plan.half:
            return half
        return next((unit for place in self.places for unit in place.docked
                     if unit.half and unit is not half and unit.serial == half.serial
                     and place.plan.next == mate), None)

    def halves_apart(self) -> Iterator[tuple[Unit, Unit]]:
        """Of a line that stands: halves that hold up the pulse until their other half is beside them, which can only
        come with the pulse; each with that other half."""
        if self.due is not None and self.rules.stops != "those behind":
            for unit in self.owed:
                if unit.half and unit in self.waiting and self._partner(unit) is None:
                    yield from ((unit, other) for place in self.places for other in place.docked
                                if other.half and other is not unit and other.serial == unit.serial)

    def _over(self, unit: Unit) -> float:
        """Minutes of labour by which the work let go here is over the limit."""
        scope = unit.scope
        assert scope is not None
        left = sum(self._left(job) for job in scope.todo if job.let_go and job.origin == unit.place.index)
        return left - self.rules.travel_max_share * scope.planned

    def _left(self, job: Job) -> float:
        """Minutes of labour left now, part-worked hours included; a buy-off that it takes along is not counted."""
        if job.bought_off:
            return 0.0
        return self.floor.pool(job.trade)._left_now(job) if job.duty is not None else job.left

    # the pulse ---------------------------------------------------------------------------------------------------
    def _look(self) -> None:
        if self.due is None:
            return
        self.owed = {unit: None for unit in self.owed if unit in unit.place.docked and unit.place.index in self.members}
        able = [unit for unit in self.owed if self._may_move(unit)]
        hindering = [unit for unit in self.owed if unit not in able]
        for unit in hindering:
            self.causes[unit.serial] = None
            self._wake_at_the_limit(unit)
        self._hinder(hindering)
        if self.rules.stops == "those behind" and hindering:
            hindmost = {unit.place.index for unit in hindering
                        if not any(unit.place.index in self._way(other) for other in hindering)}
            able = self._ahead([unit for unit in able if not hindmost & self._way(unit)])
        elif hindering:
            able = []
        if able or not self.owed:
            self._move(able)
        if not self.owed:
            self._launch()
        if not self.owed and not self.owes_launch:
            self._made()

    def _hinder(self, units: list[Unit]) -> None:
        """From now on these hold the line, and no others."""
        now = self.floor.env.now
        for unit in [unit for unit in self._hindering if unit not in units]:
            since, place = self._hindering.pop(unit)
            if since < now:
                self._hindered.append(Hindered(unit.serial, unit.half, place, since, now))
        for unit in units:
            self._hindering.setdefault(unit, (now, unit.place.index))

    def _stood(self, due: float, until: float) -> None:
        """Write down that the line stood."""
        self._hinder([])
        self.floor.records.stops.append(LineStop(due, until, tuple(self.causes), tuple(self._hindered)))

    def _way(self, unit: Unit) -> set[int]:
        """Places ahead of an aircraft."""
        way: set[int] = set()
        after = unit.place.plan.next
        while after is not None and after not in way:
            way.add(after)
            after = self.floor.traffic.places[after].plan.next
        return way

    def _ahead(self, able: list[Unit]) -> list[Unit]:
        """Of those that may move, those whose next place is free or is freed by them."""
        going: list[Unit] = []
        for unit in sorted(able, key=lambda unit: -unit.rank):
            target = None if unit.place.plan.next is None else self.floor.traffic.places[unit.place.plan.next]
            partner = self._partner(unit) if unit.half else unit
            if partner in able and (unit.place.index in self.last or target is None
                                    or all(other in going for other in target.docked)):
                going.append(unit)
        return going

    def _wake_at_the_limit(self, unit: Unit) -> None:
        """Look again when the hours left have fallen to the limit, or when work that stands in a break goes on."""
        if unit.scope is None or not all(job.let_go for job in unit.scope.todo):
            return
        over, now = self._over(unit), self.floor.env.now
        if over <= OVER:
            return
        running = [(job.duty.clocks[job.place], job.rate) for job in unit.scope.todo
                   if job.duty is not None and job.origin == unit.place.index and not job.bought_off]
        pace = sum(rate for clock, rate in running if clock.is_open(now))
        wake = min((clock.next_open(now) for clock, _ in running if not clock.is_open(now)), default=NEVER)
        if pace:
            wake = min(wake, *(clock.finish(now, over / pace) for clock, _ in running if clock.is_open(now)))
        if now < wake < NEVER:
            self.floor.at(wake, PULSE, self._look)

    def _move(self, going: list[Unit]) -> None:
        """All that go leave and arrive in this instant, the most downstream first."""
        left = dict.fromkeys(sorted(going, key=lambda unit: (-unit.rank, unit.half, unit.serial)))
        while left:
            unit = next(iter(left))
            partner = self._partner(unit) if unit.half else unit
            assert partner is not None
            units = sorted({unit: None, partner: None}, key=lambda one: one.half)
            for one in units:
                left.pop(one, None)
                self.owed.pop(one, None)
                self._account(one, partner if one is unit else unit)
            if unit.place.index in self.last:
                self._roll_out(unit)
            else:
                self._take_on(units)

    def _account(self, unit: Unit, partner: Unit) -> None:
        """Write down what a closed aircraft waited for: its other half, the pulse, the line that stood."""
        ready, now, place = unit.ready_at, self.floor.env.now, unit.place.index
        if ready is None or self.due is None:
            return
        both = ready if partner is unit else max(ready, now if partner.ready_at is None else partner.ready_at)
        self.floor.stand(unit, place, State.OTHER_HALF, ready, both)
        self.floor.stand(unit, place, State.PULSE, both, self.due)
        self.floor.stand(unit, place, State.LINE_STOP, max(both, self.due), now)

    def _roll_out(self, unit: Unit) -> None:
        event, target = self.waiting.pop(unit)
        self.floor.traffic.ready(Move([unit], target, self.floor.env.now, lambda: event.succeed(),
                                      at_once=self.rules.roll_out == "on the pulse"))

    def _take_on(self, units: list[Unit]) -> None:
        floor, traffic = self.floor, self.floor.traffic
        after = units[0].place.plan.next
        assert after is not None
        target = traffic.places[after]
        events = [self.waiting.pop(unit)[0] if unit in self.waiting else None for unit in units]
        carried = [job for unit in units for job in self._hand_over(unit, target)]
        traffic.leave(units, floor.env.now)
        arriving = units[0]
        if arriving.half and not target.plan.half:
            arriving = floor.whole_of(units)
            for unit in units:
                unit.whole_unit = arriving
                floor.units.pop(unit, None)
        arriving.carried = carried
        for job in carried:
            job.unit = arriving
        traffic.enter(arriving, target)
        if arriving is not units[0]:
            floor.on_the_floor(arriving)
        for unit, event in zip(units, events, strict=True):
            if event is not None:
                event.succeed()
            elif unit.scope is not None:
                unit.scope.closed.succeed()

    def _hand_over(self, unit: Unit, target: Place) -> Iterator[Job]:
        """The work that travels: it pauses, pays its price at its first move, and waits where the aircraft goes."""
        scope = unit.scope
        assert scope is not None
        for job in list(scope.todo):
            if job.startable_at >= 0:
                self.floor.pool(job.trade).lay_aside(job)
            elif not job.open_before:
                self._go_on_waiting_for_its_part(job, target)
            before = 0.0 if job.bought_off else job.left  # the inspector's hours are not counted
            if not job.travelled and not job.bought_off:
                worked = job.total - job.left
                job.left *= self.rules.travel_multiplier
                job.total *= self.rules.travel_multiplier
                if self.floor.quality is not None:
                    job.riskier += worked + self.floor.quality.rules.travelled_multiplier * job.left - job.total
            job.travelled, job.let_go, job.place = True, False, target.index
            self.floor.records.travelled.append(Travel(unit.serial, job.id, job.origin, target.index,
                                                       self.floor.env.now, before,
                                                       0.0 if job.bought_off else job.left))
            yield job
        scope.todo.clear()

    def _go_on_waiting_for_its_part(self, job: Job, target: Place) -> None:
        """The part comes when it comes; from now on it is waited for in the next place."""
        now, records = self.floor.env.now, self.floor.records
        n, whole = next((n, segment) for n, segment in (
            (n, records.segment(n)) for n in reversed(range(records.segment_count)))
                        if segment.job == job.id and segment.serial == job.unit.serial
                        and segment.state == State.PARTS)
        records.ends_at(n, now)
        records.segment_fields.extend(whole._replace(start=now, place=target.index))

    def _launch(self) -> None:
        assert self.due is not None
        self.owes_launch = not self.floor.desk.launch_on_pulse(self.due)

    def _made(self) -> None:
        now, due = self.floor.env.now, self.due
        assert due is not None
        self.floor.records.pulses.append(PulseMade(due, now))
        if now > due:
            self._stood(due, now)
        self.due = None
        self._plan(self._next_moment())

    def close_the_books(self, end: float) -> None:
        """Cut what waits at the end of the run."""
        for unit in self.waiting:
            ready, due = unit.ready_at, end if self.due is None else self.due
            if ready is not None:
                partner = self._partner(unit) if unit.half else unit
                both = ready if partner is unit else end if partner is None or partner.ready_at is None else max(
                    ready, partner.ready_at)
                state = State.LINE_STOP if self._may_move(unit) else State.BLOCKED
                self.floor.stand(unit, unit.place.index, State.OTHER_HALF, ready, both)
                self.floor.stand(unit, unit.place.index, State.PULSE, both, max(both, due))
                self.floor.stand(unit, unit.place.index, state, max(both, due), end)
        if self.due is not None:
            self._stood(self.due, end)
