"""A line in textbook SimPy: a process for each part, a Resource for the people of a station and one for its places.

It is the measure of cost (how much quicker is the engine than what everybody would write first), and it is held to the
engine's deliveries, instant by instant, so that both do the same work.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Sequence
from typing import Any

import simpy

Steps = Generator[simpy.Event, Any, None]


class Line:
    """Stations in a row, one part at work in each, `waiting[i]` places before station i (the first needs none).

    `launches`: instants from which parts want to enter. `hours(part, station, nth)`: time of the part's nth visit.
    `beyond(part, station, nth)`: the station after it, None off the line.
    """

    def __init__(self, launches: Sequence[float], waiting: Sequence[int], hours: Callable[[int, int, int], float],
                 beyond: Callable[[int, int, int], int | None]) -> None:
        self.env, self.launches, self.hours, self.beyond = simpy.Environment(), launches, hours, beyond
        self.servers = [simpy.Resource(self.env) for _ in waiting]
        self.places = [simpy.Resource(self.env, 1 + room) for room in waiting]
        self.delivered: dict[int, float] = {}
        self.visits = 0
        self.env.process(self.source())

    def run(self, until: float | None = None) -> Line:
        """To the end of all parts, or to an instant."""
        self.env.run(until)
        return self

    @property
    def events(self) -> int:
        """Events that SimPy has been given so far."""
        return next(self.env._eid)

    def source(self) -> Steps:
        for part, launch in enumerate(self.launches):
            yield self.env.timeout(launch - self.env.now)
            self.env.process(self.part(part))

    def part(self, part: int) -> Steps:
        """In a station until a place beyond is free: blocking after work."""
        station, nth = 0, [0] * len(self.servers)
        place = self.places[0].request()
        yield place
        while True:
            server = self.servers[station].request()
            yield server
            self.visits += 1
            yield self.env.timeout(self.hours(part, station, nth[station]))
            beyond = self.beyond(part, station, nth[station])
            nth[station] += 1
            there = None if beyond is None else self.places[beyond].request()
            if there is not None:
                yield there
            self.servers[station].release(server)
            self.places[station].release(place)
            if beyond is None or there is None:
                self.delivered[part] = self.env.now
                return
            station, place = beyond, there
