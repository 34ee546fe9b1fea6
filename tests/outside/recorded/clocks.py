"""When a shift works, when a place is open, when it is light.

F8, F29: a crew of a shift works in a place in the hours that both have, while the place is in service.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from datetime import timedelta
from functools import cache, cached_property
from typing import Any

from spans import Spans, common, joined, without

from .run import OVERTIME, TINY, Recorded


class Clocks(Recorded):
    """The clocks of one run."""

    def __init__(self, sheet: Any, records: Any) -> None:
        super().__init__(sheet, records)
        self._crews: dict[tuple[str, int], Spans] = {}

    @cache  # noqa: B019
    def blocks_of(self, shift: str) -> Spans:
        return joined([(a, b) for a, b, _ in self._blocks(shift)])

    def outages(self, place: int) -> Spans:
        """Weekly service in the first working hours of a week's first work day, what is known, and by chance."""
        position, calendar = self.sheet.places[place].position, self.calendar
        name = position.id.removesuffix(" cure bay").removesuffix(" stripe bay")
        spans = list(self.records.outages.get(name, ()))
        for fact in self.scenario.known.out_of_service:
            if fact.position == name:
                spans.append((calendar.instant(fact.day), calendar.instant(fact.day + timedelta(1))) if fact.day else
                             (calendar.of_moment(fact.begins), calendar.of_moment(fact.ends)))
        hours = position.out_of_service.weekly_hours if position.out_of_service else 0
        if hours:
            weeks: dict[int, Spans] = defaultdict(list)
            for shift in position.shifts or (calendar.reference_shift,):
                for a, b, day in self._blocks(shift):
                    weeks[(day + self.scenario.start.weekday()) // 7].append((a, b))
            for week in weeks.values():
                day, left = calendar.day_number(min(week)[0]), hours * 60
                for a, b in joined([span for span in week if calendar.day_number(span[0]) == day]):
                    if left > 0:  # out from the first of these hours to the last, breaks between them, too
                        spans.append((min(week)[0], min(b, a + left)))
                    left -= b - a
        return joined([span for span in spans if span[0] < span[1]])

    def crew(self, shift: str, place: int) -> Spans:
        """F8, F29: when a crew of a shift may work in a place."""
        if (shift, place) not in self._crews:
            position = self.sheet.places[place].position
            hours = self.blocks_of(shift) if shift else [(0.0, self.calendar.midnights[-1])]
            if position.shifts:
                names = [*position.shifts]
                if shift.removesuffix(OVERTIME) in names:
                    names.append(shift)
                hours = common(hours, joined([span for name in names for span in self.blocks_of(name)]))
            self._crews[shift, place] = without(hours, self.outages(place))
        return self._crews[shift, place]

    def dates(self, shift: str) -> list[tuple[float, int]]:
        """First working instants of the shift dates of a shift."""
        found: dict[int, float] = {}
        for a, _, day in self._blocks(shift):
            found.setdefault(day, a)
        return [(a, day) for day, a in found.items()]

    def date_at(self, shift: str, t: float) -> int:
        dates = self._dates_of[shift]
        return dates[max(bisect_right(dates, (t + TINY, 10**9)) - 1, 0)][1]

    @cached_property
    def _dates_of(self) -> dict[str, list[tuple[float, int]]]:
        names = [*self.calendar.shifts, *(self.sheet.extra.names if self.sheet.extra else ())]
        return {name: sorted(self.dates(name)) for name in names}

    def _is_saturday(self, shift: str, day: int) -> bool:
        return all(d != day for _, d in self._dates_of[shift])

    def _light(self, t: float) -> bool:
        first, last = self.sheet.light[self.calendar.day_number(t)]
        return first <= t < last
