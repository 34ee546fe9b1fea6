"""Replays the records of a run and counts every break of a rule that can be read off them, on plants of any size.

Each check gives the number of breaks and how often the rule was looked at. A file holds one subject of the floor.
"""

from __future__ import annotations

from collections.abc import Iterator

from recorded.run import Row

from .all_told import AllTold
from .appointments import Appointments
from .attendance import Attendance
from .crews import Crews
from .flights import Flights
from .launches import Launches
from .order_of_work import OrderOfWork
from .overtime import Overtime
from .people import People
from .places import Places
from .pulse import Pulse


class Audit(Places, Crews, People, Attendance, Overtime, OrderOfWork, Launches, Flights, Appointments, Pulse, AllTold):
    """One run."""

    def rules(self) -> Iterator[Row]:
        """All of them."""
        for of in (self.places, self.idle_docks, self.crews, self.in_docks, self.nothing_beside_flights_and_locks,
                   self.people, self.attendance, self.overtime, self.order_of_work, self.buy_offs, self.launches,
                   self.flights, self.appointments, self.pulse, self.all_told):
            yield from of()
