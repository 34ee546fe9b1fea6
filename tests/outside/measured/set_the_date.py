"""What set the date of an aircraft: what each stay waited for last, and days lost on the way (F112)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from math import inf, isclose

from recorded.run import TINY, Broken
from spans import lasts

from linesim.line.records import Closing, Segment, State, Visit
from linesim.measures.chain import Chains
from linesim.measures.moment import FAMILIES

from .by_reason import HELD, Hours, Piece, differ, lowest
from .pieces import Pieces


class SetTheDate(Pieces):
    """Chains back from departure."""

    def chains(self) -> Iterator[Broken]:
        """F112: from departure back to what closed last, from there to the instant at which it could have begun, then
        to what closed then. Stays with locks, recalls, holds or work from elsewhere are left out."""
        bad, seen = [], 0
        chains, reference = Chains(self.ledger), self.blocks_of(self.calendar.reference_shift)
        odd = {s.serial for s in self.segments if s.state == State.LOCKED or s.job.startswith(("re-torque", "fleet"))}
        odd |= {t.serial for t in self.records.travelled} | set(self.records.standing)
        for serial in self.launched:
            for stay in chains.stays(serial):
                total = sum(stay.work_days.values()) * self.calendar.work_day / 60 + sum(stay.outside_hours.values())
                visit = next(v for v in self.stays if (v.serial, v.half, v.place, v.parked, v.arrived) == (
                    serial, stay.half, stay.place, stay.parked, stay.arrived))
                if visit.ready == inf and not visit.parked:
                    continue
                seen += 1
                if serial not in odd and not isclose(total, (stay.left - stay.arrived) / 60, abs_tol=1e-5):
                    bad.append(f"{visit}: {total} hours in the chain")
                position = self.sheet.places[visit.place].position
                if position.flights or position.acceptance or any(p.kind == "appointment" for p in position.packages):
                    continue
                if serial in odd or visit.parked or (self.pulse_on and any(
                        p.can_travel for p in position.packages)):
                    continue
                through, pieces = self._back(visit)
                days: Hours = defaultdict(float)
                outside: Hours = defaultdict(float)
                for a, b, state in pieces:
                    worked = lasts(reference, a, b)
                    days[state] += worked / self.calendar.work_day
                    outside[state] += (b - a - worked) / 60
                if tuple(through) != stay.through:
                    bad.append(f"{visit}: through {stay.through} for {through}")
                bad += differ(f"{visit} days", days, {int(n): d for n, d in stay.work_days.items()})
                bad += differ(f"{visit} outside", outside, {int(n): d for n, d in stay.outside_hours.items()})
        yield "what set the dates", bad, seen

    def _back(self, visit: Visit) -> tuple[list[str], list[Piece]]:
        pieces: list[Piece] = []
        through: list[str] = []
        here = [(s, of) for s, of in zip(self.segments, self.pieces, strict=True)
                if (s.serial, s.half, s.place) == visit[:3] and s.start < visit.left and s.end > visit.arrived]
        for s, of in here:
            if s.state in HELD and s.start >= visit.ready - TINY and s.job == "":
                pieces += of
        t = visit.ready
        closings = [c for c in self.closings if (c.serial, c.half, c.place) == visit[:3]
                    and visit.arrived <= c.closed <= visit.left]
        order = {c: n for n, c in enumerate(closings)}
        while t > visit.arrived + TINY:
            last = [c for c in closings if c.closed == t and self._since(c, here) < t]
            if not last:
                break
            c = min(last, key=lambda c: (self._file_order.get(c.job, inf), order[c]))
            since = max(self._since(c, here), visit.arrived)
            mine = [(max(a, since), min(b, t), state) for s, of in here if s.job == c.job for a, b, state in of
                    if a < t and b > since]
            pieces += lowest(mine)
            through.append(c.job)
            t = since
        return list(dict.fromkeys(reversed(through))), pieces

    def _since(self, c: Closing, here: list[tuple[Segment, list[Piece]]]) -> float:
        """Since when a package that closed was in one state after the other without a gap."""
        since = c.closed
        for s, _ in sorted(here, key=lambda one: -one[0].end):
            if s.job == c.job and s.end >= since - TINY and s.start < since:
                since = s.start
        return since

    def lost(self) -> Iterator[Broken]:
        """Work days lost on the way: of the chain what is waiting, blocked or rework, in 64ths of a day, from 0.05."""
        chains = Chains(self.ledger)
        expected: Hours = defaultdict(float)
        for serial in {*self.launched, *self.records.standing}:
            for stay in chains.that_set_the_date(serial):
                for state, days in stay.work_days.items():
                    if FAMILIES[state] in ("waiting", "blocked", "rework"):
                        expected[serial, stay.place, stay.parked, int(state)] += days
        table = self.run.tables.lost
        columns = ("serial", "place", "parked", "reason", "work_days")
        found = {(int(a), int(b), bool(c), int(d)): float(days) for a, b, c, d, days in zip(
            *(list(table[name]) for name in columns), strict=True)}
        bad = [f"{key}: {days} for {expected[key]}" for key, days in found.items()
               if abs(days - expected[key]) > 1 / 128 + 1e-6 or days < 0.05]
        bad += [f"{key}: {days} are missing" for key, days in expected.items() if days > 0.07 and key not in found]
        yield "work days lost on the way", bad, len(expected)
