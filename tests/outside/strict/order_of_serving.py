"""Of two packages that wait for the same people the first in the order is served (F27, F28, F31)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from functools import cache
from math import inf
from typing import Any

from recorded.free_people import FreePeople
from recorded.run import AT_WORK, TINY, Broken
from recorded.ways import Ways
from spans import inside, lasts

from linesim.line.records import Segment, State


class OrderOfServing(FreePeople, Ways):
    """Packages that wait for the same people."""

    def first_is_first(self) -> Iterator[Broken]:
        """F27, F28, F31: of two packages that could begin at an instant the one that is first in the order begins,
        unless its crew cannot be had; nobody joins a crew while a package could begin."""
        bad, seen = [], 0
        begins: dict[tuple[float, str, str], list[Segment]] = defaultdict(list)
        for s in self.worked:
            if s.trade in self.scenario.trades and s.trade not in self.lent and not self._keeps(s.trade):
                begins[s.start, s.trade, s.shift].append(s)
        waiting: dict[str, list[Segment]] = defaultdict(list)
        for s in self.segments:
            if s.state in (State.PEOPLE, State.INSPECTOR):
                waiting[s.trade].append(s)
        ends = {(s.serial, s.job, s.end): s for s in self.worked}
        for (t, trade, shift), begun in begins.items():
            if self.rules.share == "minimum first":
                continue
            taken: list[tuple[tuple[Any, ...], int]] = []
            for s in begun:
                before = ends.get((s.serial, s.job, t))
                key = self.key(s)
                if key is None:
                    continue
                if before is None or (before.trade, before.shift, before.place) != (s.trade, s.shift, s.place):
                    taken.append((key, s.people))
                elif s.people > before.people:
                    taken.append(((inf,), s.people - before.people))  # growth comes after all starts
            for w in waiting[trade]:
                if not w.start <= t < w.end or not taken or self._is_held(w, t) or not inside(
                        self.crew(shift, w.place), t):
                    continue
                key, least = self.key(w), self._crew_of(w)[0]
                if key is None:
                    continue
                seen += 1
                after = sum(people for other, people in taken if other > key)
                if after >= least:
                    bad.append(f"{t}: {w} waits, {after} people begin or join others: {taken}, its key {key}")
        yield "served before one that is first", bad, seen

    @cache  # noqa: B019
    def key(self, s: Segment) -> tuple[Any, ...] | None:
        """Order of serving of a package that waits or begins; None for work that is not a package of the file."""
        if s.job not in self._file_order or self.packages[s.job].gate or self.rules.dispatch != "promised date" or (
                s.trade in self.scenario.trades and self.scenario.trades[s.trade].dispatch):
            return None
        if any(one.job.startswith(("re-torque", "fleet")) for one in self._of_serial[s.serial]):
            return None  # a recall or a hold opens a package once more
        promise = self.promise.get(s.serial)
        mine = [one for one in self.of_job[s.serial, s.job] if one.end <= s.start + TINY and one.place == s.place
                and self._is_inspection(one) == self._is_inspection(s)]
        stay = max((v.arrived for v in self.stays if v.serial == s.serial and v.place == s.place and not v.parked
                    and v.arrived <= s.start + TINY), default=0.0)
        mine = [one for one in mine if one.start >= stay - TINY]
        since = stay if self._goes_back else -inf
        begun = any(one.people and one.state in AT_WORK and lasts(self.crew(one.shift, one.place), one.start, one.end)
                    > TINY for one in self.of_job[s.serial, s.job] if since <= one.start
                    and one.end <= s.start + TINY and self._is_inspection(one) == self._is_inspection(s))
        since = min([one.start for one in mine if one.state in (*AT_WORK, State.PEOPLE, State.INSPECTOR)],
                    default=s.start)
        return (promise.toordinal() if promise else inf, -self.ranks[s.place], not begun, since, s.serial,
                self._file_order[s.job])

    def _is_inspection(self, s: Segment) -> bool:
        return s.state == State.INSPECTOR or s.trade == "INS"
