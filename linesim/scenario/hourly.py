"""Hourly weather against the limits of the plant: which clock hours of a date cannot be flown.

An hour is flyable if every observation in it is inside the limits; one without any is not. Without limits of its own
the plant flies by the floor of day VFR (14 CFR 91.155(a), below 10,000 ft: 3 statute miles, 1,000 ft above, 500 ft
below cloud; a ceiling of 1,000 ft is the field's).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import date
from functools import cached_property
from math import radians, sin
from typing import Final

from .risks import HourlyWeather, Limits, Weather

VFR_CEILING_FT = 1000.0
VFR_VISIBILITY_SM = 3.0
ALL_HOURS: Final = 16_777_215  # 24 bits
WHOLE_YEAR = 360  # dates with observations, of a year that can stand for another
FIELDS = ("ceiling_ft", "visibility_sm", "wind_kt", "gust_kt", "wind_deg")


class HourlyRecord:
    """The observations of a file, and the hours that cannot be flown by it: bit h of a date is the hour from h:00."""

    def __init__(self, weather: Weather) -> None:
        self.weather, self.limits = weather, weather.limits or Limits()
        self.has = {name: any(getattr(row, name) is not None for row in weather.hourly) for name in FIELDS}

    @cached_property
    def bad(self) -> dict[date, int]:
        """By date the hours that cannot be flown."""
        bad: dict[date, int] = {}
        for row in self.weather.hourly:
            if not self.is_inside(row):
                bad[row.at.date()] = bad.get(row.at.date(), 0) | 1 << row.at.hour
        return {day: bad.get(day, 0) | (ALL_HOURS & ~hours) for day, hours in self.seen.items()}

    @cached_property
    def seen(self) -> dict[date, int]:
        """By date the hours that were observed."""
        seen: dict[date, int] = {}
        for row in self.weather.hourly:
            seen[row.at.date()] = seen.get(row.at.date(), 0) | 1 << row.at.hour
        return seen

    def is_inside(self, row: HourlyWeather) -> bool:
        """Whether one observation is inside the limits."""
        limits, has = self.limits, self.has
        ceiling = VFR_CEILING_FT if limits.ceiling_ft is None else limits.ceiling_ft
        if row.ceiling_ft is not None and row.ceiling_ft < ceiling:
            return False
        sight = VFR_VISIBILITY_SM if limits.visibility_sm is None else limits.visibility_sm
        if has["visibility_sm"] and (row.visibility_sm is None or row.visibility_sm < sight):
            return False
        if limits.wind_kt is None and limits.crosswind_kt is None:
            return True
        if not has["wind_kt"]:
            return True
        return row.wind_kt is not None and self._wind_is_inside(row, max(row.wind_kt, row.gust_kt or 0.0))

    def _wind_is_inside(self, row: HourlyWeather, wind: float) -> bool:
        limits, runway = self.limits, self.weather.runway_deg
        if limits.wind_kt is not None and wind > limits.wind_kt:
            return False
        if limits.crosswind_kt is None or runway is None or not self.has["wind_deg"]:
            return True
        across = 1.0 if row.wind_deg is None else abs(sin(radians(row.wind_deg - runway)))
        return wind * across <= limits.crosswind_kt

    @cached_property
    def whole_years(self) -> list[int]:
        """Years of which nearly every date was observed."""
        days: dict[int, int] = {}
        for day in self.bad:
            days[day.year] = days.get(day.year, 0) + 1
        return sorted(year for year, number in days.items() if number >= WHOLE_YEAR)

    def covers(self, first: date, last: date) -> bool:
        """Whether the file holds the dates of a run themselves."""
        return bool(self.bad) and min(self.bad) <= first and max(self.bad) >= last

    def bad_hours(self, days: Sequence[date], last: date, uniform: Callable[[int], float]) -> list[int]:
        """Hours that cannot be flown on each date. Where the file does not hold the dates of the run, to `last`, each
        calendar year is one of its whole years: `uniform(year)` says which."""
        if self.covers(days[0], last):
            return [self.bad.get(day, ALL_HOURS) for day in days]
        years = {year: self.whole_years[int(uniform(year) * len(self.whole_years))]
                 for year in range(days[0].year, days[-1].year + 1)}
        return [self._of_record(day, years[day.year]) for day in days]

    def _of_record(self, day: date, year: int) -> int:
        try:
            return self.bad.get(day.replace(year=year), ALL_HOURS)
        except ValueError:  # 29 February
            return self.bad.get(date(year, 2, 28), ALL_HOURS)

    @property
    def share_missing(self) -> float:
        """Share of the hours from the first date to the last without an observation: they count as not flyable."""
        dates = (max(self.seen) - min(self.seen)).days + 1
        return 1 - sum(hours.bit_count() for hours in self.seen.values()) / (24 * dates)

    def lacks(self) -> Iterator[str]:
        """What the file does not say, and is therefore not looked at."""
        if self.share_missing >= 0.005:
            yield f"no observation in {self.share_missing:.1%} of its hours: they count as not flyable"
        if not self.has["ceiling_ft"]:
            yield "no ceiling: the limit of the ceiling is not looked at"
        if not self.has["visibility_sm"]:
            yield "no visibility: its limit is not looked at"
        if not self.has["wind_kt"]:
            yield "no wind: its limits are not looked at"
        elif self.limits.crosswind_kt is not None and not self.has["wind_deg"]:
            yield "no wind direction: the limit of the crosswind is not looked at"
