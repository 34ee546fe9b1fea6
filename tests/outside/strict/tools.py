"""Tools are counted at the end of a shift and torque is checked at its start.

F67: a missing tool locks what stands or stood near; F68: a recall opens all that the trade has torqued since.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from math import inf

from recorded.mixed import Mixed
from recorded.run import TINY, Broken
from spans import joined, lasts

from linesim.line.records import State


class Tools(Mixed):
    """Locks and recalls."""

    def missing_tools(self) -> Iterator[Broken]:
        """F67: at the closing check of a shift, of all in a place and who left it last in this shift."""
        control = self.scenario.tool_control
        if control is None or control.missing_tool is None:
            return
        bad, checks = [], {}
        for name, shift in self.calendar.shifts.items():
            for _, day in self._dates_of[name]:
                begin, end = (60.0 * int(text[:2]) + int(text[3:]) for text in (shift.start, shift.end))
                end += 1440.0 * (end <= begin)
                midnight = self.calendar.midnights[day]
                extra = self._longer(name, day)
                checks[midnight + end - control.end_check_minutes + extra] = midnight + begin
        locked: dict[tuple[float, float], set[tuple[int, str]]] = defaultdict(set)
        for s in self.segments:
            if s.state == State.LOCKED:
                locked[s.start, s.end].add((s.serial, s.half))
        for (t, end), units in locked.items():
            if t not in checks:
                bad.append(f"locked at {t}, no check")
                continue
            near = [self._near(place.index, t, checks[t]) for place in self.sheet.places]
            if units not in near:
                bad.append(f"locked at {t}: {units}, near the places {near}")
            hours = {lasts(self.blocks_of(self.calendar.reference_shift), t, end) / 60}
            for shifts in (place.position.shifts for place in self.sheet.places if place.position.shifts):
                hours.add(lasts(joined([span for name in shifts for span in self.blocks_of(name)]), t, end) / 60)
            if end < self.calendar.run_end and not any(1 - TINY <= h <= 9 + TINY for h in hours):
                bad.append(f"searched from {t} to {end}")
        yield "locks at another instant, of others, or of another length", bad, len(locked)

    def _longer(self, shift: str, day: int) -> float:
        return max((e.paid for e in self.records.overtime if e.shift == shift and e.day == day
                    and not self._is_saturday(shift, day)), default=0.0)

    def _near(self, place: int, t: float, began: float) -> set[tuple[int, str]]:
        there = {(v.serial, v.half) for v in self.stays
                 if v.place == place and not v.parked and v.arrived <= t < v.left}
        left = [v for v in self.stays if v.place == place and not v.parked and began <= v.left <= t]
        if there and left:
            v = max(left, key=lambda v: v.left)
            on = [o for o in self.stays if o.serial == v.serial and o.arrived <= t < o.left]
            there |= {(o.serial, o.half) for o in on if not o.half or o.half == v.half}
        return there

    def recalls(self) -> Iterator[Broken]:
        """F68: at the start check of a shift of a trade all aircraft, or none, on which it closed torque-marked work
        since its shift before began."""
        control = self.scenario.tool_control
        if control is None or control.torque_recall is None or self.lent:
            return
        bad, seen = [], 0
        gone = self.records.stock_ready | self.records.delivered
        marked = {p.id: p.trade for p in self.packages.values() if p.torque}
        jobs: dict[tuple[str, float], set[int]] = defaultdict(set)
        for (serial, job), life in self.of_job.items():
            if job.startswith("re-torque"):
                jobs[life[0].trade, life[0].start].add(serial)
        for trade in self.scenario.trades:
            checks = []
            for shift in self.scenario.trades[trade].people:
                name = shift or self.calendar.reference_shift
                start = self.calendar.shifts[name].start
                checks += [self.calendar.midnights[day] + 60 * int(start[:2]) + int(start[3:])
                           for _, day in self._dates_of[name]]
            checks.sort()
            for before, t in zip([0.0, *checks], checks, strict=False):
                if t >= self.records.ended:
                    break
                units = {c.serial for c in self.closings if marked.get(c.job) == trade and before <= c.closed < t
                         and gone.get(c.serial, inf) > t}
                found = jobs.pop((trade, t), set())
                seen += 1
                if found not in (set(), units) or (control.torque_recall.chance == 1 and found != units):
                    bad.append(f"{trade} at {t}: {found} of {units}")
        bad += [f"re-torque without a check: {key} {of}" for key, of in jobs.items()]
        yield "recalls of others, or at another instant", bad, seen
