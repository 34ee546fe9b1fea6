"""The measures of a mixed plant worked out once more from its records, between every two changes, by the words of the
rules: reasons of aircraft, halves and places (F105, F106, F109), hours of people (F108), what set a date (F112).

A file holds one measure, and says where it differs.
"""

from __future__ import annotations

from collections.abc import Iterator

from recorded.run import Broken

from .aircraft import Aircraft
from .in_areas import InAreas
from .jam import Jam
from .line_stops import LineStops
from .moment import Moments
from .not_flown import NotFlown
from .people import HoursOfPeople
from .places import PlacesByReason
from .set_the_date import SetTheDate
from .window import InWindow


class Measured(Aircraft, PlacesByReason, InWindow, HoursOfPeople, SetTheDate, Moments, LineStops, Jam, NotFlown,
               InAreas):
    """One run of a mixed plant and its measures."""

    def measures_of(self) -> Iterator[Broken]:
        """All of them."""
        for of in (self.reasons, self.hours_of_places, self.in_window, self.hours_of_people, self.chains, self.lost,
                   self.moments, self.stopped, self.jam, self.days_of_flying, self.weeks_in_areas):
            yield from of()
