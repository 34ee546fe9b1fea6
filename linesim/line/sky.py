"""Daylight and flyable weather of one run."""

from __future__ import annotations

from ..scenario.clock import NEVER
from ..scenario.daylight import flyable_dates
from ..scenario.hourly import ALL_HOURS
from .common import Common
from .luck import Luck
from .sheet import HOUR, Sheet


def bad_hours_of(sheet: Sheet, luck: Luck, common: Common) -> list[int]:
    """By date the clock hours that cannot be flown (bit h: from h:00), known ones in place of those drawn."""
    calendar, scenario = sheet.calendar, sheet.scenario
    days = calendar.dates
    if sheet.hourly is None:
        names = calendar.names_of_dates
        good = flyable_dates(scenario.weather, [day.month for day in days],
                             lambda n: luck.first("weather/" + names[n]), common.bad_day_factors(days))
        hours = [0 if flyable else ALL_HOURS for flyable in good]
    else:
        hours = sheet.hourly.bad_hours(days, calendar.last_day, lambda year: luck.uniform("year of record", year))
    for fact in scenario.known.flyable:
        n = (fact.day - scenario.start).days
        if 0 <= n < len(hours):
            bits = ALL_HOURS if fact.hour is None else 1 << fact.hour
            hours[n] = hours[n] & ~bits if fact.flyable else hours[n] | bits
    return hours


class Sky:
    """When a flight may be in the air: all of its airborne time in daylight and flyable weather."""

    def __init__(self, sheet: Sheet, bad_hours: list[int]) -> None:
        self.calendar, self.light, self.bad_hours = sheet.calendar, sheet.light, bad_hours

    def earliest_take_off(self, t: float, airborne: float) -> float:
        """Earliest take-off at or after `t`."""
        for _ in range(10_000):
            later = self._light_from(t, airborne)
            if later <= t:
                later = self._weather_from(t, airborne)
            if later <= t:
                return t
            t = later
        return NEVER

    def _light_from(self, t: float, airborne: float) -> float:
        if self.light is None:
            return t
        day = self.calendar.day_number(t)
        if day + 1 >= len(self.light):
            return NEVER
        first, last = self.light[day]
        if t < first:
            return first
        return t if t + airborne <= last else max(self.light[day + 1][0], self.calendar.midnights[day + 1])

    def _weather_from(self, t: float, airborne: float) -> float:
        """The end of the last hour in the way, or `t`: a day is as bad as its hours."""
        midnights, ends = self.calendar.midnights, t + airborne - 1e-9
        for day in range(self.calendar.day_number(t), self.calendar.day_number(ends) + 1):
            if day + 1 >= len(self.bad_hours):
                return NEVER
            bad = self.bad_hours[day]
            if bad == ALL_HOURS:
                return midnights[day + 1]
            if bad:
                for hour in range(24):
                    a, b = midnights[day] + hour * HOUR, midnights[day] + (hour + 1) * HOUR
                    if bad >> hour & 1 and a < ends and b > t:
                        return b
        return t


def spans_of(midnight: float, hours: int) -> list[tuple[float, float]]:
    """Bad hours of a date as spans of time, neighbours together."""
    spans: list[tuple[float, float]] = []
    for hour in range(24):
        if hours >> hour & 1:
            a, b = midnight + hour * HOUR, midnight + (hour + 1) * HOUR
            if spans and spans[-1][1] == a:
                spans[-1] = (spans[-1][0], b)
            else:
                spans.append((a, b))
    return spans
