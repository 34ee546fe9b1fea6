"""The order of things in one instant, kept by SimPy's clock: calendar, completions, arrivals of parts, moves, pulse,
launches, tools, slots, flights, people, people lent. Whatever closes something in the last steps starts the row anew.
"""

from __future__ import annotations

from collections.abc import Callable, Sized
from heapq import heappop, heappush
from typing import Any, Final

import simpy

CALENDAR: Final = 2  # after SimPy's own two
COMPLETION: Final = 3
ARRIVAL: Final = 4
MOVES: Final = 5
PULSE: Final = 6
LAUNCH: Final = 7
TOOLS: Final = 8
SLOTS: Final = 9
FLIGHTS: Final = 10
PEOPLE: Final = 11
LOANS: Final = 12


class FloorClock(simpy.Environment):
    """SimPy's environment, with bare calls beside its events: most of what happens on a floor needs no more.

    A call is put at an exact instant; a delay, added and subtracted, could miss it by a bit.
    """

    now: float = 0.0  # as in SimPy, but read without a call

    def __init__(self, end: float) -> None:
        super().__init__(0.0)
        self._end = end  # what lies beyond is not planned
        self._steps: dict[int, Callable[[], object]] = {}
        self._asked = 0  # bit n: the step of priority n is to be done in this instant

    def at(self, instant: float, priority: int, act: Callable[[], object]) -> None:
        """Call `act` at an instant, in the order of the priorities."""
        if instant < self._end:
            heappush(self._queue, (instant, priority, next(self._eid), act))  # type: ignore[misc]

    def step_of(self, priority: int, act: Callable[[], object]) -> None:
        """What is done at one place of the order, once in an instant in which it is asked for."""
        self._steps[priority] = act

    def once(self, priority: int) -> None:
        """Ask for a step in this instant; the queue's own entries of the same place come first."""
        self._asked |= 1 << priority

    def go(self, last_launch: float, on_the_floor: Sized) -> None:
        """All that happens before the end of the run, or until the floor is empty and nothing more can be launched."""
        queue: list[Any] = self._queue
        while queue or self._asked:
            if self._asked:
                first = (self._asked & -self._asked).bit_length() - 1
                if not queue or queue[0][0] > self._now or queue[0][1] > first:
                    self._asked &= self._asked - 1
                    self._steps[first]()
                    continue
            instant = queue[0][0]
            if instant >= last_launch and not len(on_the_floor):
                return
            instant, _, _, event = heappop(queue)
            self._now = self.now = instant
            if isinstance(event, simpy.Event):  # as Environment.step
                callbacks, event.callbacks = event.callbacks, None  # type: ignore[assignment]
                for callback in callbacks:
                    callback(event)
                if not event._ok:
                    raise event._value
            else:
                event()
