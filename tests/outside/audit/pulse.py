"""The pulse: all move at once; travelled work and its price; line stops (F42-F50)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from itertools import pairwise
from math import isclose
from typing import Any

from recorded.run import Recorded, Row


class Pulse(Recorded):
    """A line that moves at once."""

    def pulse(self) -> Iterator[Row]:
        """F42-F50: all move at a pulse and at no other instant; made when due or later, a takt after the last; the
        price is paid once; not more than the limit travels; stops are from the due instant to the pulse."""
        rules = self.scenario.pulse
        if rules is None or not rules.in_force:
            return
        pulses, made = self.records.pulses, {p.made for p in self.records.pulses}
        inside = [v for v in self.records.visits if self.names[v.place] in rules.positions[:-1] and not v.parked]
        yield "left a pulse position at another instant than a pulse", sum(
            v.left not in made for v in inside), len(inside)
        takt = self.scenario.launches.takt_work_days or 0.0
        clock = self.calendar.reference
        apart = [(clock.reading(b.due) - clock.reading(a.made)) / self.calendar.work_day for a, b in pairwise(pulses)]
        yield "pulses due at another time than a takt after the last", sum(
            not isclose(x, takt, abs_tol=1e-6) for x in apart), len(apart)
        yield "pulses made before they are due", sum(p.made < p.due for p in pulses), len(pulses)
        stops = {(s.start, s.end) for s in self.records.stops}
        late = {(p.due, p.made) for p in pulses if p.made > p.due}
        yield "line stops that are not from due to made", len(stops ^ late) - self._open_stop(), len(stops)
        paid: dict[tuple[int, str], int] = defaultdict(int)
        bad = 0
        for t in self.records.travelled:
            factor = rules.travel_multiplier if not paid[t.serial, t.job] else 1.0
            bad += not isclose(t.after, t.before * factor, abs_tol=1e-3) or not self.packages[t.job].can_travel
            bad += t.at not in made
            paid[t.serial, t.job] += 1
        travelled = self.records.travelled
        yield "travelled work at another price, at another time, or that may not travel", bad, len(travelled)
        share: dict[tuple[int, int, float], float] = defaultdict(float)
        for t in self.records.travelled:
            if self._is_first(t):
                share[t.serial, t.origin, t.at] += t.before
        over = 0
        for (_, origin, _), minutes in share.items():
            planned = sum(p.hours.mean for p in self.sheet.places[origin].position.packages if p.kind == "work") * 60
            over += minutes > planned * rules.travel_max_share * 1.6
        yield "more travels than the limit", over, len(share)

    def _open_stop(self) -> int:
        last = self.records.stops[-1] if self.records.stops else None
        return int(last is not None and last.end >= self.records.ended)

    def _is_first(self, t: Any) -> bool:
        return t == next(o for o in self.records.travelled if (o.serial, o.job) == (t.serial, t.job))
