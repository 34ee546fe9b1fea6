"""What must hold to the minute on plants without luck in their hours: worked out from the rules, run by run.

Each check yields what breaks a rule, in words, and how often it was looked at. It knows the scenario, the calendar and
the records, not the engine. A file holds one subject of the floor.
"""

from __future__ import annotations

from collections.abc import Iterator

from audit.appointments import Appointments
from audit.crews import Crews
from audit.flights import Flights
from audit.launches import Launches
from audit.order_of_work import OrderOfWork
from audit.people import People
from audit.places import Places
from recorded.run import Broken

from .appointments import SlotsInTurn
from .attendance import Numbers
from .defects import Defects
from .flights import FlightsInTurn
from .hours_of_work import HoursOfWork
from .launches import LaunchesInTurn
from .moves import Moves
from .nobody_idle import NobodyIdle
from .order_book import OrderBook
from .order_of_serving import OrderOfServing
from .overtime import LongerWeeks
from .pulse import PulsesAndStops
from .starts_of_work import StartsOfWork
from .tools import Tools

# what audit looks at and these plants do otherwise: they go back, end at the cap, work on Saturdays
ELSEWHERE = ("a move to a place that is not next", "more aircraft on the line than the cap",
             "work outside the shift date on which it began", "left before it was ready, or ready before it came",
             "launch owed while the first place stands empty")


class Strict(StartsOfWork, HoursOfWork, NobodyIdle, OrderOfServing, Moves, LaunchesInTurn, OrderBook, PulsesAndStops,
             Tools, Defects, FlightsInTurn, SlotsInTurn, Numbers, LongerWeeks,
             Places, Crews, People, OrderOfWork, Launches, Flights, Appointments):
    """One run of a mixed plant."""

    def rules_of(self) -> Iterator[Broken]:
        """All of them, with those of the larger plants that hold here, too."""
        for of in (self.without_gaps, self.hours, self.starts, self.nobody_idle, self.first_is_first,
                   self.order_of_docks, self.next_places, self.blocked_for_nothing, self.moves_take_time,
                   self.launches_in_turn, self.pulses, self.stops, self.missing_tools, self.recalls, self.repairs,
                   self.numbers, self.longer_weeks, self.first_chance, self.squawks_in_turn,
                   self.order_book, self.slots_in_turn):
            yield from of()
        plain = [self.places, self.crews, self.in_docks, self.nothing_beside_flights_and_locks, self.people,
                 self.order_of_work, self.launches]
        if any(p.flights for p in self.scenario.positions):
            plain += [self.flights, self.appointments]
        for look in plain:
            for what, bad, seen in look():
                if what not in ELSEWHERE and not (self.scenario.order_changes and "launche" in what):
                    yield what, [f"{bad} times"] * bool(bad), seen
