"""A job: one package on one aircraft, from the instant it could start to its closing; and what is open on an aircraft.

A job knows its hours and its crew, not the people; a scope knows which jobs are open on one aircraft in one place and
what waits for what, not who comes next.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from simpy import Event

from ..scenario.clock import NEVER
from .instant import ARRIVAL, COMPLETION
from .plans import JobPlan
from .records import State

if TYPE_CHECKING:
    from .aircraft import Unit
    from .duty import Duty
    from .floor import Floor
    from .people import Pool

_WORK: Final = int(State.WORK)


class Loan:
    """People of another trade in a crew, and how able they are at its work."""

    __slots__ = ("able", "duty", "people", "pool")

    def __init__(self, pool: Pool, duty: Duty, people: int, able: float) -> None:
        self.pool, self.duty, self.people, self.able = pool, duty, people, able

    def of(self, people: int) -> Loan:
        """The same loan of so many people."""
        return Loan(self.pool, self.duty, people, self.able)


class Job:
    """One package on one aircraft. Labour in minutes of one person."""

    __slots__ = (
        "answer",
        "begun",
        "bought_off",
        "daylight",
        "delay",
        "duty",
        "elapsed",
        "ends",
        "exists",
        "file_order",
        "id",
        "inspection",
        "inspector",
        "inspects",
        "least",
        "left",
        "lent",
        "let_go",
        "minor",
        "most",
        "open_before",
        "origin",
        "parked",
        "part_at",
        "people",
        "place",
        "plan",
        "rate",
        "reading",
        "repeat",
        "riskier",
        "scope",
        "short",
        "since",
        "startable_at",
        "successors",
        "total",
        "trade",
        "travelled",
        "unit",
        "version",
        "waiting_since",
        "work_state",
    )

    def __init__(self, scope: Scope, job_id: str, trade: str, minutes: float, order: tuple[int, int]) -> None:
        self.scope, self.unit = scope, scope.unit
        self.place = self.origin = scope.place.index
        self.let_go = self.travelled = self.bought_off = False  # bought_off: its work is done, its buy-off is open
        self.id, self.trade, self.file_order = job_id, trade, order
        self.left = self.total = minutes
        self.least = self.most = 1
        self.plan: JobPlan | None = None
        self.exists, self.begun, self.minor, self.daylight = True, False, False, False
        self.inspects = self.parked = False  # an inspection that its aircraft is held for; worked before a place
        self.elapsed: float | None = None
        self.inspection, self.inspector = 0.0, ""
        self.work_state = _WORK
        self.repeat, self.open_before, self.version, self.people = 0, 0, 0, 0
        self.successors: list[Job] = []
        self.part_at: float | None = None   # when a long-lead item comes
        self.delay: float | None = None     # work days that a short part takes from its discovery
        self.answer: float | None = None    # work days that an engineering answer takes
        self.riskier = 0.0                  # minutes that count more for defects (travelled, in overtime)
        self.short: float | None = None     # the draw by which it is short; None: it is known
        self.startable_at = self.waiting_since = self.since = -1.0
        self.rate, self.reading, self.ends = 1.0, 0.0, NEVER  # crew's pace, its clock when formed, its last instant
        self.duty: Duty | None = None
        self.lent: list[Loan] | None = None  # people of other trades in its crew

    @property
    def own(self) -> int:
        """People of its own trade in its crew."""
        return self.people - sum(loan.people for loan in self.lent) if self.lent else self.people

    def heads_of(self, duty: Duty) -> int:
        """People of one trade and shift in its crew."""
        own = self.own if self.duty is duty else 0
        return own + sum(loan.people for loan in self.lent if loan.duty is duty) if self.lent else own

    def key(self) -> tuple[Any, ...]:
        """Order of serving: promise, furthest along, minor squawks last, begun first, longest startable, serial."""
        unit = self.unit
        return (unit.promise, -unit.rank, self.minor, not self.begun, self.startable_at, unit.order, self.file_order)


class Scope:
    """What is open on one aircraft in one place."""

    __slots__ = ("closed", "floor", "place", "planned", "todo", "unit")

    def __init__(self, floor: Floor, unit: Unit) -> None:
        self.floor, self.unit, self.place = floor, unit, unit.place
        self.todo: dict[Job, None] = {}  # not closed
        self.planned = 0.0  # minutes of hands-on packages of the place
        self.closed: Event

    def begin(self, jobs: list[Job], carried: list[Job] | None = None) -> Any:
        """Open jobs whose predecessors are linked, and those carried here; gives the event of all being closed."""
        self.closed = Event(self.floor.env)
        self.todo.update(dict.fromkeys(jobs))
        for job in jobs:
            job.scope = self
        if carried:
            self._take_up(carried)
        for job in [job for job in jobs if not job.open_before]:  # listed first: closing one may free another
            self._could_start(job)
        if not self.todo and not self.closed.triggered:
            self.closed.succeed()
        return self.closed

    def _take_up(self, carried: list[Job]) -> None:
        """Travelled work goes on here: what waits for a part goes on waiting, what was startable is startable again."""
        self.todo.update(dict.fromkeys(carried))
        for job in carried:
            job.scope = self
            if job.startable_at >= 0:
                job.startable_at = self.floor.env.now
                self.floor.pool(job.trade).queue(job)

    def free(self, job: Job) -> None:
        """One thing less that a job waits for."""
        job.open_before -= 1
        if not job.open_before:
            self._could_start(job)

    def _could_start(self, job: Job) -> None:
        """All predecessors are closed: the moment at which a missing part is discovered."""
        floor, now = self.floor, self.floor.env.now
        if job.open_before:  # it waited for a lock to end, and now waits for a re-torque
            return
        if not job.exists:
            self.close(job, now)
            return
        if self.unit.locked and job.elapsed is None:  # startable, and a short part discovered, when the lock ends
            floor.after_the_lock(self.unit, lambda: self._could_start(job))
            return
        if job.answer is not None:
            answered, job.answer = floor.calendar.work_days_later(now, job.answer), None
            floor.note(job, State.PARTS, now, answered)
            floor.at(answered, ARRIVAL, lambda: self._could_start(job))
            return
        arrival = job.part_at
        if job.delay is not None and not job.begun and floor.is_short(job, now):
            arrival = max(arrival or 0.0, floor.calendar.work_days_later(now, job.delay))
        if arrival is not None and arrival > now:
            floor.note(job, State.PARTS, now, arrival)
            floor.at(arrival, ARRIVAL, lambda: self._startable(job))
        else:
            self._startable(job)

    def _startable(self, job: Job) -> None:
        floor, now = self.floor, self.floor.env.now
        job.startable_at = now
        if job.elapsed is not None:
            ends = now + job.elapsed
            floor.note(job, State.HOLD, now, ends)
            floor.at(ends, COMPLETION, lambda: self.close(job, now))
        elif job.plan is not None and job.plan.kind == "appointment":
            floor.appointment(job)
        else:
            floor.pool(job.trade).queue(job)

    def worked(self, job: Job) -> None:
        """The hours of a job are done; its buy-off follows, or it closes."""
        if self.floor.quality is not None and not job.bought_off:
            self.floor.quality.worked(job)
        if job.inspection > 0 and job.trade != job.inspector:
            minutes, job.inspection, job.bought_off = job.inspection, 0.0, True
            job.trade, job.left, job.total, job.least, job.most = job.inspector, minutes, minutes, 1, 1
            job.begun, job.work_state, job.daylight = False, _WORK, False
            job.startable_at = self.floor.env.now
            self.floor.pool(job.trade).queue(job)
        else:
            self.close(job, job.startable_at)

    def close(self, job: Job, startable: float) -> None:
        """The job is closed (bought off); what waited for it may start."""
        floor, now = self.floor, self.floor.env.now
        if job.exists:
            unit = self.unit
            floor.records.closing_rows.append((
                unit.serial, unit.half, self.place.index, job.id, job.repeat, startable, now))
        if floor.tools.recall is not None:
            floor.tools.has_closed(job)
        del self.todo[job]
        if floor.quality is not None and job.exists and (follow := floor.quality.closed(job)):
            self.todo.update(dict.fromkeys(follow))
            for more in [more for more in follow if not more.open_before]:
                self._could_start(more)
        for after in job.successors:
            after.open_before -= 1
            if not after.open_before:
                self._could_start(after)
        if not self.todo and not self.closed.triggered:
            self.closed.succeed()
        if floor.pulse is not None:
            floor.pulse.look()
