"""Who can never move on at the end of a run, and why: people who are never there, hours that never meet.

Rings of aircraft that wait for each other are named when they close, by the traffic.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from .flight import PilotPool
from .job import Job
from .people import Pool
from .records import Stuck
from .sheet import HOUR

if TYPE_CHECKING:
    from .floor import Floor


def who_is_stuck(floor: Floor) -> Iterator[Stuck]:
    """Work and flights that wait at the end for what never comes."""
    for pool in floor.pools.values():
        for job in pool.waiting:
            why = _never_done(floor, pool, job)
            if why:
                yield Stuck(job.waiting_since, (job.place,), (job.unit.serial,), why)
        if isinstance(pool, PilotPool):
            yield from _never_flown(floor, pool)
    if floor.pulse is not None:
        for unit, other in floor.pulse.halves_apart():
            here, there = unit.place, other.place
            yield Stuck(floor.pulse.due or 0.0, (here.index, there.index), (unit.serial,),
                        f"the half in {here.plan.id} holds up the pulse until the other half is there; that one, in "
                        f"{there.plan.id}, can only come with the pulse")


def _never_done(floor: Floor, pool: Pool, job: Job) -> str | None:
    able = [pool, *(lender for lender, _ in floor.cover.lenders.get(pool, ()))]
    duties = [duty for one in able for duty in one.duties]
    on_shift: dict[str, int] = {}  # a crew is of one shift, lent people with it
    for duty in duties:
        on_shift[duty.shift] = on_shift.get(duty.shift, 0) + duty.most
    most, helped = max(on_shift.values(), default=0), len(able) > 1
    if most == 0:
        return f"nobody of trade {pool.trade}{' or of those who help it' if helped else ''} is ever on duty"
    if job.least > most:
        return (f"{job.id} needs {job.least} of trade {pool.trade}; at most {most} "
                f"{'of it and of those who help it ' if helped else ''}are ever on duty")
    if not any(duty.clocks[job.place].starts for duty in duties if pool.trade):
        place = floor.sheet.places[job.place].id
        return f"{place} is never open while trade {pool.trade} works" if pool.trade else None
    return None


def _never_flown(floor: Floor, pool: PilotPool) -> Iterator[Stuck]:
    for unit, (flights, _, since) in pool.line.waiting.items():
        longest = max((end - start for duty in pool.duties if duty.most
                       for start, end in duty.clock.spans()), default=0.0)
        if longest < flights.pilot_hours * HOUR:
            why = (f"nobody of trade {pool.trade} is ever on duty" if not longest else
                   f"a flight takes {flights.pilot_hours:g} hours; no shift of trade {pool.trade} is that long")
            yield Stuck(since, (unit.place.index,), (unit.serial,), why)
