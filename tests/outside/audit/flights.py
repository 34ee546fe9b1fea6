"""Flights: blocks of the pilots in light and weather, squawks, preflights (F81-F87)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from math import isclose
from typing import Any

from recorded.run import TINY, Recorded, Row
from spans import most_at_once


class Flights(Recorded):
    """Aircraft that fly."""

    def flights(self) -> Iterator[Row]:
        """F81-F87: blocks of their length, in the pilots' shift, in light and weather; caps; flights counted in order,
        while one is due; no pilot twice."""
        rules = next((p.flights for p in self.scenario.positions if p.flights), None)
        if rules is None:
            return
        flights, light = self.records.flights, self.sheet.light or []
        spans = [s for shift in self.calendar.shifts for s in self.calendar.clock(shift).spans()]
        brief = (rules.pilot_hours - rules.flight_hours) * 30
        bad = 0
        for f in flights:
            day = self.calendar.day_number(f.start)
            off, down = f.start + brief, f.end - brief
            first, last = light[day] if light else (0.0, 1e18)
            midnight, hours = self.calendar.midnights[day], self.records.bad_hours[day]
            touched = range(int((off - midnight + TINY) // 60), int((down - midnight - TINY) // 60) + 1)
            bad += (not isclose(f.end - f.start, rules.pilot_hours * 60, abs_tol=TINY) or off < first - TINY
                    or down > last + TINY or any(hours >> h & 1 for h in touched)
                    or not any(a - TINY <= f.start and f.end <= b + TINY for a, b in spans))
        yield "flights of another length, outside the shift, in the dark or in bad weather", bad, len(flights)
        of_day: dict[tuple[int, int], list[Any]] = defaultdict(list)
        for f in flights:
            of_day[f.pilot, self.calendar.day_number(f.start)].append(f)
        over = sum(len(of) > (rules.max_flights_per_day or 99) or max(f.end for f in of) - min(f.start for f in of) >
                   (rules.max_duty_hours or 24) * 60 + TINY or most_at_once((f.start, f.end, 1) for f in of) > 1
                   for of in of_day.values())
        yield "days of a pilot over a cap", over, len(of_day)
        numbers: dict[int, list[int]] = defaultdict(list)
        for f in flights:
            numbers[f.serial].append(f.number)
        wrong = sum(of != list(range(of[0], of[0] + len(of))) or (n in self.launched and of[0] != 1)
                    for n, of in numbers.items())
        wrong += sum(n in self.launched and len(numbers[n]) < rules.min_flights for n in self.records.delivered)
        yield "flights out of count, or delivered with too few", wrong, len(numbers)
        fixed: dict[tuple[int, int], int] = defaultdict(int)
        for c in self.records.closings:
            if c.job.startswith("squawk "):
                fixed[c.serial, int(c.job.split()[1].split(".")[0])] += 1
        left = {v.serial for v in self.records.visits if self.sheet.places[v.place].position.flights and not v.parked}
        bad = sum(fixed[f.serial, f.number] != f.squawks for f in flights if f.serial in left)
        yield "squawks written up and not fixed on the spot", bad, len(flights)
        preflights: dict[int, int] = defaultdict(int)
        for c in self.records.closings:
            preflights[c.serial] += c.job.startswith("preflight")
        yield "flights without a preflight", sum(preflights[n] < len(of) for n, of in numbers.items()), len(numbers)
