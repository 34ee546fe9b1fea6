"""Aircraft fly at the first chance; squawks and preflights in turn (F81, F84-F87)."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf
from typing import Any

from recorded.free_people import FreePeople
from recorded.run import TINY, Broken
from recorded.ways import Ways

from linesim.line.records import State


class FlightsInTurn(FreePeople, Ways):
    """Aircraft that fly."""

    def first_chance(self) -> Iterator[Broken]:
        """F81, F84: while an aircraft waits for a pilot no pilot is there and free, under both caps, in light and in
        weather that lasts, with the block inside the shift."""
        rules = next((p.flights for p in self.scenario.positions if p.flights), None)
        if rules is None:
            return
        bad, seen = [], 0
        for s in self.segments:
            if s.state != State.PILOT or self._kept_times(s.serial):
                continue
            t = s.start
            while t < s.end - TINY:
                seen += 1
                if self._may_fly(rules, t):
                    bad.append(f"{s}: could fly at {t}")
                    break
                t = (t // 15 + 1) * 15
        yield "waiting for a pilot although one could fly", bad, seen

    def _may_fly(self, rules: Any, t: float) -> bool:
        block, air = rules.pilot_hours * 60, rules.flight_hours * 60
        off = t + (block - air) / 2
        day = self.calendar.day_number(t)
        first, last = self.sheet.light[day] if self.sheet.light else (-inf, inf)
        midnight = self.calendar.midnights[day]
        hours = range(int((off - midnight) // 60), int((off + air - midnight - TINY) // 60) + 1)
        if off < first or off + air > last or any(self.records.bad_hours[day] >> h & 1 for h in hours if h < 24):
            return False
        for shift in self.rostered_on(rules.pilots):
            spans = [(a, max(b for _, b, d in self._blocks(shift) if d == on)) for a, on in self._dates_of[shift]
                     if abs(a - t) < 2880]
            there = self.there(rules.pilots, shift).get(self.date_at(shift, t), 0)
            busy = sum(f.start <= t < f.end for f in self.records.flights) + sum(
                s.people for s in self.worked if s.trade == rules.pilots and s.start <= t < s.end)
            if there <= busy or not any(a <= t and t + block <= b for a, b in spans):
                continue
            if (rules.pilots, shift) in self.records.attended:
                continue  # who of them is there is not in the records
            for pilot in range(there):
                own = [f for f in self.records.flights if f.pilot == pilot and self.calendar.day_number(f.start) == day
                       and f.start < t]
                if any(f.end > t for f in own) or len(own) >= (rules.max_flights_per_day or inf):
                    continue
                start = min((f.start for f in own), default=t)
                if t + block - start <= (rules.max_duty_hours or inf) * 60 and busy == sum(
                        f.start <= t < f.end for f in self.records.flights):
                    return True
        return False

    def rostered_on(self, trade: str) -> list[str]:
        return [shift or self.calendar.reference_shift for shift in self.scenario.trades[trade].people]

    def squawks_in_turn(self) -> Iterator[Broken]:
        """F85-F87: a squawk is there from the end of its flight, a preflight from the instant at which the squawks that
        hold the flight are fixed, a flight after its preflight."""
        bad, seen = [], 0
        ends = {(f.serial, f.number): f.end for f in self.records.flights}
        starts = {(f.serial, f.number): f.start for f in self.records.flights}
        for c, life in self.lives():
            words = c.job.split()
            if words[0] == "squawk":
                number = int(words[1].split(".")[0])
                seen += 1
                if life and abs(life[0].start - ends.get((c.serial, number), inf)) > TINY:
                    bad.append(f"{c} from {life[0].start}, flight until {ends.get((c.serial, number))}")
            elif words[0] == "preflight":
                number = int(words[1])
                seen += 1
                flown = starts.get((c.serial, number))
                if flown is not None and not any(d.serial == c.serial and d.job == c.job and d.closed <= flown + TINY
                                                 for d in self.closings):
                    bad.append(f"{c} after its flight at {flown}")
                if number > 1 and life and life[0].start < ends[c.serial, number - 1] - TINY:
                    bad.append(f"{c} before the end of the flight before")
        yield "squawks and preflights out of turn", bad, seen
