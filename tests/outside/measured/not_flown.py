"""Of each day on the flight line whether anybody flew, else why not."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import timedelta

from recorded.run import Broken

from linesim.line.records import State
from linesim.measures.not_flown import flying_days

from .by_reason import Hours, lowest
from .pieces import Pieces


class NotFlown(Pieces):
    """Days of flying."""

    def days_of_flying(self) -> Iterator[Broken]:
        """Of each date with a pilots' shift whether anybody flew, else what kept the aircraft on the flight line
        longest in the hours of that shift."""
        if not any(p.flights for p in self.scenario.positions):
            return
        line = [p.index for p in self.sheet.places if p.position.flights]
        words = {State.WEATHER: "weather", State.PILOT: "no pilot", State.PEOPLE: "no mechanic",
                 State.INSPECTOR: "no mechanic"}
        flown = {self.calendar.day_number(f.start) for f in self.records.flights}
        found, bad = flying_days(self.ledger), []
        spots = {key: lowest(pieces) for key, pieces in self._by_spot(parked=False).items() if key[1] in line}
        for a, b in self._pilots_there:
            if a >= self.records.ended:
                break
            day = self.calendar.day_number(a)
            told = found.get(self.scenario.start + timedelta(days=day))
            minutes: Hours = defaultdict(float)
            for pieces in spots.values():
                for x, y, state in pieces:
                    if x < b and y > a and state not in (State.OFF_SHIFT, State.FLIGHT):
                        minutes[words.get(State(state), "aircraft not ready")] += min(y, b) - max(x, a)
            most = max(minutes.values(), default=0.0)
            able = {word for word, m in minutes.items() if most - m < 1e-6} or {"no aircraft"}
            if "weather" in able and not self.records.bad_hours[day]:
                able = able - {"weather"} | {"daylight"}
            if told not in ({"flown"} if day in flown else able):
                bad.append(f"day {day}: {told} for {able}")
        yield "why nobody flew", bad, len(found)
