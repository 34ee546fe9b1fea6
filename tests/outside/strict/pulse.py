"""The pulse: when it is due, who moves, what travels and at what price, and why the line stood (F42-F50, F105)."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from math import inf, isclose
from typing import Any

from recorded.run import TINY, Broken
from recorded.ways import Ways

from linesim.line.records import State


class PulsesAndStops(Ways):
    """A line that moves at once."""

    def pulses(self) -> Iterator[Broken]:
        """F42-F50: when it is due, who moves, what may travel and how much, and why the line stood."""
        if not self.pulse_on:
            return
        rules, pulses, bad, seen = self.scenario.pulse, self.records.pulses, [], 0
        takt, clock = self.scenario.launches.takt_work_days, self.calendar.reference
        step = takt * self.calendar.work_day
        for a, b in itertools.pairwise(pulses):
            seen += 1
            since = clock.reading(b.due) - clock.reading(a.made)
            if rules.after_stop == "takt starts anew":
                right = isclose(since, step, abs_tol=1e-6)
            else:
                n = (clock.reading(b.due) - clock.reading(pulses[0].due)) / step
                right = isclose(n, round(n), abs_tol=1e-6) and a.made < b.due and since <= step + 1e-6
            if not right or b.made < b.due:
                bad.append(f"{a} then {b}")
        inside_line = set(rules.positions)
        last = self.names.index(rules.positions[-1])
        made = {pulse.made for pulse in pulses}
        for v in self.records.visits:
            if self.names[v.place] not in inside_line or v.place == last or rules.stops != "whole line":
                continue
            seen += 1
            if v.left not in made:
                bad.append(f"{v} leaves between two pulses")
        for pulse in pulses:
            seen += 1
            bad += self._of_pulse(pulse, last)
        for v in self.records.visits:
            if v.place == last and v.ready < inf:
                seen += 1
                if rules.roll_out == "on the pulse" and v.left not in made and rules.stops == "whole line":
                    bad.append(f"{v} rolls out between two pulses")
        yield "pulses that break a rule", bad, seen

    def _of_pulse(self, pulse: Any, last: int) -> Iterator[str]:
        rules = self.scenario.pulse
        moved = [v for v in self.records.visits if v.left == pulse.made and self.names[v.place] in rules.positions
                 and v.place != last and v.arrived < pulse.made]
        events = {c.closed for c in self.closings} | {s.end for s in self.segments if s.state == State.LOCKED} | {
            v.left for v in self.records.visits if v.place >= last}
        tight = False
        for v in moved:
            position = self.sheet.places[v.place].position
            carried = [t for t in self.records.travelled if t.serial == v.serial and t.at == pulse.made]
            taken = {t.job for t in carried}
            planned = left = 0.0
            for package in position.packages:
                if package.kind == "work":
                    planned += package.hours.mean * 60
                closed = self.closed.get((v.serial, package.id, 0), inf) <= pulse.made
                if not closed and package.id not in taken:
                    yield f"{v} moves with {package.id} open"
                if package.id in taken and (closed or not package.can_travel):
                    yield f"{v} takes {package.id} along"
            left = sum(t.before for t in carried if t.origin == v.place)
            limit = rules.travel_max_share * planned
            if left > limit + 1e-3:
                yield f"{v} takes {left} of {limit} minutes along"
            tight = tight or (left > 0 and isclose(left, limit, abs_tol=1e-3))
        if pulse.made > pulse.due and not tight and not any(abs(t - pulse.made) < TINY for t in events):
            yield f"{pulse} is not made when the last that hinders it is over"
        for t in (t for t in self.records.travelled if t.at == pulse.made):
            first = self.first_travel[t.serial, t.job]
            factor = rules.travel_multiplier if t == first else 1.0
            if not isclose(t.after, t.before * factor, abs_tol=1e-6):
                yield f"{t} at a price of {factor}"

    def stops(self) -> Iterator[Broken]:
        """F43, F105: a stop is from the due instant to the pulse; who has open work that may not travel then is a
        cause and holds the line until it is closed, who is closed and free does not."""
        if not self.pulse_on:
            return
        rules, bad, seen = self.scenario.pulse, [], 0
        made = {pulse.due: pulse.made for pulse in self.records.pulses}
        late = {(due, end) for due, end in made.items() if end > due}
        found = {(s.start, s.end) for s in self.records.stops if s.end < self.records.ended}
        if late ^ found:
            bad.append(f"stops {sorted(found ^ late)}")
        last = self.names.index(rules.positions[-1])
        for stop in self.records.stops:
            for v in self.stays:
                if self.names[v.place] not in rules.positions or v.place == last or not v.arrived < stop.start < v.left:
                    continue
                seen += 1
                open_work = [p for p in self.sheet.places[v.place].position.packages if not p.can_travel
                             and p.kind != "buy-off" and self.closed.get((v.serial, p.id, 0), inf) > stop.start]
                if open_work and v.serial not in stop.caused_by:
                    bad.append(f"{stop}: {v} has {open_work[0].id} open and is no cause")
                kept = self._kept_times(v.serial)
                if v.ready < stop.start and v.serial in stop.caused_by and not kept and not v.half:
                    bad.append(f"{stop}: {v} is a cause")
                its = [h for h in stop.held if (h.serial, h.half, h.place) == (v.serial, v.half, v.place)]
                if not v.half and not kept and any(h.end > max(v.ready, h.start) for h in its):
                    bad.append(f"{stop}: {v} is closed and holds it")
                until = max((min(self.closed.get((v.serial, p.id, 0), inf), stop.end) for p in open_work), default=0.0)
                if until > stop.start and not any(h.start == stop.start and h.end >= until for h in its):
                    bad.append(f"{stop}: {v} has work open until {until} and does not hold it")
            seen += 1
            bad += self._held(stop)
        yield "stops of another length or cause", bad, seen

    def _held(self, stop: Any) -> Iterator[str]:
        """Somebody holds the line from the due instant on without a gap, where it stands, and is named as a cause."""
        reached = stop.start
        for h in sorted(stop.held, key=lambda h: h.start):
            if h.start > reached or not stop.start <= h.start < h.end <= stop.end or h.serial not in stop.caused_by:
                yield f"{stop}: {h}"
            if not any((v.serial, v.half, v.place) == (h.serial, h.half, h.place) and v.arrived <= h.start
                       and h.end <= v.left for v in self.stays) or (
                           self.names[h.place] not in self.scenario.pulse.positions):
                yield f"{stop}: {h} stands elsewhere"
            reached = max(reached, h.end)
