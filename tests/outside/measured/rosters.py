"""Hours that reasons are measured by: of a trade's shifts, of anybody, of the pilots, of the window (F106)."""

from __future__ import annotations

from datetime import timedelta
from functools import cache, cached_property
from typing import Any

from recorded.clocks import Clocks
from recorded.run import OVERTIME
from spans import Spans, joined, without


class Rosters(Clocks):
    """Rosters of one run."""

    @cache  # noqa: B019
    def rostered(self, trade: str) -> list[str]:
        """Shifts on whose roster a trade stands at any time, in the order of the file."""
        declared = self.scenario.trades[trade]
        names = {shift or self.calendar.reference_shift for shift in declared.people}
        names |= {step.shift for step in declared.headcount_steps}
        return [name for name in self.calendar.shifts if name in names]

    @cache  # noqa: B019
    def roster(self, trade: str, place: int, overtime: bool) -> Spans:
        """F106: the trade's own shifts, whoever is there."""
        names = [f"{name}{OVERTIME}" if overtime else name for name in self.rostered(trade)]
        return joined([span for name in names for span in self.crew(name, place)])

    @cached_property
    def manned(self) -> Spans:
        """When anybody is rostered."""
        return joined([span for trade in self.scenario.trades for name in self.rostered(trade)
                       for span in self.blocks_of(name) if self._is_manned(trade, name)])

    def _is_manned(self, trade: str, shift: str) -> bool:
        there = self.present(trade, shift) if (trade, shift) in self.records.attended else None
        declared = self.scenario.trades[trade]
        heads = {name or self.calendar.reference_shift: n for name, n in declared.people.items()}.get(shift, 0)
        steps = [step.people for step in declared.headcount_steps if step.shift == shift]
        return heads > 0 or any(steps) or bool(there and any(there.values()))

    @cached_property
    def measured(self) -> tuple[float, float]:
        """The window as instants."""
        window = self.scenario.window
        return (self.calendar.instant(window.first), self.calendar.instant(window.last + timedelta(days=1)))

    @cached_property
    def _light_spans(self) -> Spans:
        return list(self.sheet.light or ())

    @cached_property
    def _flights(self) -> Any:
        return next(p.flights for p in self.scenario.positions if p.flights)

    @cached_property
    def _pilots_there(self) -> Spans:
        """From the first to the last instant of the pilots' shifts."""
        found = []
        for shift in self.rostered(self._flights.pilots):
            last: dict[int, float] = {}
            for _, b, day in self._blocks(shift):
                last[day] = b
            found += [(a, last[day]) for a, day in self._dates_of[shift]]
        return joined(found)

    @cached_property
    def _could_begin(self) -> Spans:
        """When a block may begin by light and weather: take-off and landing in light, no bad hour touched."""
        air = self._flights.flight_hours * 60
        brief = (self._flights.pilot_hours * 60 - air) / 2
        found: Spans = []
        gaps: Spans = []
        for day, hours in enumerate(self.records.bad_hours):
            midnight = self.calendar.midnights[day]
            first, last = self.sheet.light[day] if self.sheet.light else (midnight, midnight + 1440 + air)
            found.append((first - brief, last - air - brief))
            for h in range(24):
                if hours >> h & 1:
                    gaps.append((midnight + 60 * h - air - brief, midnight + 60 * h + 60 - brief))
        return without([span for span in found if span[0] < span[1]], joined(gaps))
