"""The jobs of one aircraft in one place: which it has, how many hours they take, what stands done at the start."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ..scenario.orders import OnTheLine
from .job import Job, Scope
from .luck import Four
from .plans import JobPlan, PlacePlan
from .records import State
from .sheet import HOUR

if TYPE_CHECKING:
    from .aircraft import Unit
    from .floor import Floor


_WORK: Final = int(State.WORK)
_REWORK: Final = int(State.REWORK)
NOT_DRAWN: Final[Four] = (0.5, 0.5, 0.5, 0.5)  # stands for the draws of a job that has none


def jobs_here(floor: Floor, unit: Unit, repeat: int, *, rework: bool = False,
              standing: OnTheLine | None = None) -> list[Job]:
    """All jobs of the place for this aircraft, linked by what must be closed first."""
    scope = unit.scope
    assert scope is not None
    plans = unit.place.plan.jobs
    jobs = [_job(floor, scope, plan, repeat, rework) for plan in plans]
    if standing and floor.quality is not None:
        floor.quality.stood_before(unit, jobs)
    done = _cross_off(jobs, standing, scope.place.plan) if standing else set()
    if standing and floor.quality is not None:
        floor.quality.crossed_off(unit, [job for job in jobs if job.id in done])
    for job, plan in zip(jobs, plans, strict=True):
        if job.id in done:
            continue
        for before in plan.after:
            if jobs[before].id not in done:
                jobs[before].successors.append(job)
                job.open_before += 1
    if standing and standing.curing:
        _cure_under_way(floor, jobs, standing)
    if floor.pulse is not None:
        scope.planned = sum(job.total for job in jobs
                            if job.exists and job.plan is not None and job.plan.kind == "work")
    return [job for job in jobs if job.id not in done]


def _job(floor: Floor, scope: Scope, plan: JobPlan, repeat: int, rework: bool) -> Job:
    unit = scope.unit
    luck = floor.luck.four(f"package/{unit.name}/{plan.name}/{repeat}") if plan.draws else NOT_DRAWN
    minutes = 0.0
    if plan.kind in ("work", "buy-off"):
        minutes = floor.minutes_of(unit, plan, repeat, luck[0], rework)
    job = Job(scope, plan.id, plan.trade, minutes, (plan.order, repeat))
    job.plan, job.repeat = plan, repeat
    job.exists = floor.exists(unit, plan, luck[1]) and not (
        floor.quality is not None and floor.quality.decides(unit, plan))
    job.daylight = plan.daylight
    job.inspection, job.inspector = plan.inspection, plan.inspector
    if plan.kind == "work":
        job.least, job.most = plan.crew_min, plan.crew_max
        job.work_state = _REWORK if rework or plan.rework else _WORK
        floor.look_for_part(unit, job, plan, luck[2], luck[3])
        if plan.rework and floor.facts.answers:
            job.answer = floor.facts.answers.get((unit.name, plan.id))
    if plan.elapsed is not None:
        known = floor.facts.hours.get((unit.name, plan.id, repeat))
        job.elapsed = (plan.elapsed.value(luck[0]) if known is None else known) * HOUR
    return job


def _cross_off(jobs: list[Job], standing: OnTheLine, place: PlacePlan) -> set[str]:
    """Names of the jobs that stand closed at the start; partly done ones keep their rest.

    Hands-on packages are crossed off in file order until the share is gone. A hold is over if a package after it in
    the file is crossed off or begun.
    """
    named = set(standing.packages_done)
    # no flight before closed preparation (F80): who has flown has all packages of the spot behind it
    done = {job.id for job in jobs if job.id in named or standing.flights_flown}
    if standing.curing:
        last = next(n for n, job in enumerate(jobs) if job.id == standing.curing.package)
        done |= {job.id for job in jobs[:last + 1]}
    hands_on = [job for job in jobs if job.plan is not None and job.plan.kind == "work" and job.id not in done
                and job.exists]
    touched = _share_gone(hands_on, standing, done) if standing.remaining_share is not None else set()
    for job in jobs:
        if job.id in standing.hours_left:
            job.left = standing.hours_left[job.id] * HOUR
            job.begun = job.left < job.total
            job.delay = None
            touched.add(job.id)
    latest = max((n for n, job in enumerate(jobs) if job.id in done or job.id in touched), default=-1)
    done |= {job.id for n, job in enumerate(jobs) if n < latest and job.elapsed is not None}
    return done


def _share_gone(hands_on: list[Job], standing: OnTheLine, done: set[str]) -> set[str]:
    standard = [job.plan.package.hours.mean for job in hands_on if job.plan is not None]
    gone = (1 - (standing.remaining_share or 0.0)) * sum(standard)
    touched: set[str] = set()
    for job, hours in zip(hands_on, standard, strict=True):
        if gone >= hours - 1e-9:
            done.add(job.id)
            gone -= hours
        elif gone > 1e-9:
            job.left = job.total * (1 - gone / hours)
            job.begun, job.delay, gone = True, None, 0.0
            touched.add(job.id)
    return touched


def _cure_under_way(floor: Floor, jobs: list[Job], standing: OnTheLine) -> None:
    assert standing.curing is not None
    for job in jobs:
        if job.plan is not None and job.plan.part_of == standing.curing.package and job.elapsed is not None:
            job.elapsed = max(0.0, floor.calendar.of_moment(standing.curing.until) - floor.env.now)


def repaint_jobs(floor: Floor, unit: Unit, place: PlacePlan, round_number: int) -> list[Job]:
    """One repaint round: its labour, then its own cure."""
    repaint, scope = place.repaint, unit.scope
    assert repaint is not None
    assert scope is not None
    uniform = floor.luck.uniform("repaint hours", unit.name, place.id, round_number)
    job_id = f"{place.id} repaint"
    known = floor.facts.hours.get((unit.name, job_id, round_number))
    hours = repaint.hours.value(uniform) * floor.spread(uniform) if known is None else known
    job = Job(scope, job_id, repaint.trade, hours * HOUR, (10**6, round_number))
    job.least, job.most = repaint.people
    job.work_state, job.repeat = State.REWORK, round_number
    if not repaint.cure_hours:
        return [job]
    cure = Job(scope, f"{job_id} cure", "", 0.0, (10**6 + 1, round_number))
    cure.elapsed, cure.repeat, cure.open_before = repaint.cure_hours * HOUR, round_number, 1
    job.successors.append(cure)
    return [job, cure]
