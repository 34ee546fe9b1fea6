"""People lent between trades: after every trade had its own starts and growth, those still free help where cover is
declared.

A crew is of one shift. Lent people count fully as heads and work at their own effectiveness times that of the cover;
they are bound until the package ends or is put down, and then serve their own trade first.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from .instant import CALENDAR, LOANS
from .job import Job, Loan

if TYPE_CHECKING:
    from .duty import Duty
    from .floor import Floor
    from .people import Pool

Kept = dict["Duty", int]


class Cover:
    """Who may lend to whom, and the second pass of a dispatch."""

    def __init__(self, floor: Floor) -> None:
        self.floor = floor
        trades = floor.scenario.trades
        in_force = floor.scenario.work_rules.cover_in_force
        self.lenders: dict[Pool, list[tuple[Pool, float]]] = {  # of each trade that borrows, in file order
            floor.pool(name): [(floor.pool(lender), able) for lender, able in declared.cover.items()]
            for name, declared in trades.items() if declared.cover and in_force}
        for pool in {*self.lenders, *(lender for lenders in self.lenders.values() for lender, _ in lenders)}:
            pool.shares = True
        floor.env.step_of(LOANS, self.lend)
        self._looks_at = -1.0

    def lend(self) -> None:
        """The second pass: trade by trade, the packages not served, then the running ones below their most people."""
        now = self.floor.env.now
        kept: Kept = {}
        for pool in {lender: None for lenders in self.lenders.values() for lender, _ in lenders}:
            kept |= pool.kept(now)
        for pool, lenders in self.lenders.items():
            if pool.waiting or pool.growing:
                self._serve(pool, lenders, kept, now)
                if pool.growing:
                    self._add(pool, lenders, kept, now)
                self._look_after_the_break(pool, lenders, now)

    def _serve(self, pool: Pool, lenders: list[tuple[Pool, float]], kept: Kept, now: float) -> None:
        own_kept: Kept = {}
        for job in sorted(pool.waiting, key=pool.waiting.__getitem__):
            if pool.is_held(job, now):
                continue
            for shift in self.floor.calendar.shifts:
                own = pool.duty_of(shift, now, job.place)
                free = 0 if own is None else own.free - own_kept.get(own, 0)
                offers = self._offers(lenders, shift, job, kept, now)
                if free + sum(heads for *_, heads in offers) >= job.least and offers:
                    mine = min(free, job.most)
                    loans = _taken(offers, job.most - mine)
                    if own is None:
                        own = loans[0].duty
                    pool.start(job, own, mine, now, loans)
                    break
            else:
                if pool.reserve:
                    pool.reserve_for(job, own_kept, now)

    def _add(self, pool: Pool, lenders: list[tuple[Pool, float]], kept: Kept, now: float) -> None:
        for job in sorted(pool.growing, key=pool.key):
            assert job.duty is not None
            loans = _taken(self._offers(lenders, job.duty.shift, job, kept, now), job.most - job.people)
            if loans:
                pool.join(job, loans)

    def _offers(self, lenders: list[tuple[Pool, float]], shift: str, job: Job, kept: Kept,
                now: float) -> list[tuple[Pool, Duty, float, int]]:
        found = []
        for lender, able in lenders:
            duty = lender.duty_of(shift, now, job.place)
            if duty is not None and duty.free > kept.get(duty, 0):
                found.append((lender, duty, able, duty.free - kept.get(duty, 0)))
        return found

    def _look_after_the_break(self, pool: Pool, lenders: list[tuple[Pool, float]], now: float) -> None:
        """Who is free but at a meal may help in the first working minute after it."""
        able = [pool, *(lender for lender, _ in lenders)]
        resting = [duty.clock.next_open(now) for one in able for duty in one.duties
                   if duty.free > 0 and not duty.is_on(now)]
        if resting and min(resting) > self._looks_at:
            self._looks_at = min(resting)
            self.floor.at(self._looks_at, CALENDAR, lambda: self.floor.env.once(LOANS))


def _taken(offers: list[tuple[Pool, Duty, float, int]], wanted: int) -> list[Loan]:
    loans = []
    for lender, duty, able, heads in offers:
        taken = min(heads, wanted)
        if taken > 0:
            loans.append(Loan(lender, duty, taken, able))
            wanted -= taken
    return loans
