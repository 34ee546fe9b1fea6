"""When it is light at the plant, and which dates can be flown."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, timedelta, timezone, tzinfo
from functools import lru_cache

from .calendar import WorkCalendar
from .declared import span_minutes
from .risks import Weather

CIVIL_TWILIGHT_DEPRESSION = 6.0  # degrees of the sun below the horizon, 14 CFR 1.1 (night)


def daylight_spans(calendar: WorkCalendar) -> list[tuple[float, float]] | None:
    """First and last light of each date as instants; None where it is always light.

    The file's month table if given, else the sun at the site (NOAA/Meeus equations, by astral).
    """
    scenario = calendar.scenario
    declared = scenario.daylight
    if declared and declared.by_month:
        spans = []
        for number in range(calendar.days):
            day = scenario.start + timedelta(days=number)
            a, b = span_minutes(declared.by_month[day.month])
            spans.append((calendar.instant(day, a), calendar.instant(day, b)))
        return spans
    if scenario.site is None:
        return None
    return [_sun_span(calendar, number, bool(declared and declared.rule == "civil twilight"))
            for number in range(calendar.days)]


def _sun_span(calendar: WorkCalendar, number: int, civil: bool) -> tuple[float, float]:
    site = calendar.scenario.site
    assert site is not None
    day = calendar.scenario.start + timedelta(days=number)
    # without a time zone the plant keeps the whole-hour time of its longitude
    zone = calendar.zone or timezone(timedelta(hours=round(site.longitude / 15)))
    found = _sun(site.latitude, site.longitude, day, zone, civil)
    if found is None:
        return calendar.midnights[number], calendar.midnights[number]
    (first, a), (last, b) = found
    return calendar.instant(first, a), calendar.instant(last, b)


@lru_cache(maxsize=20_000)  # the same dates in every scenario that is tried
def _sun(latitude: float, longitude: float, day: date, zone: tzinfo,
         civil: bool) -> tuple[tuple[date, float], tuple[date, float]] | None:
    """First and last light of a date: local date and minute of it. None: the sun does not rise or does not set."""
    from astral import Observer
    from astral.sun import dawn, dusk, sunrise, sunset

    observer = Observer(latitude, longitude)
    try:
        if civil:
            light = (dawn(observer, day, CIVIL_TWILIGHT_DEPRESSION, tzinfo=zone),
                     dusk(observer, day, CIVIL_TWILIGHT_DEPRESSION, tzinfo=zone))
        else:
            light = sunrise(observer, day, tzinfo=zone), sunset(observer, day, tzinfo=zone)
    except ValueError:
        return None
    first, last = ((t.date(), t.hour * 60 + t.minute + t.second / 60) for t in light)
    return first, last


def bad_day_chances(weather: Weather, month: int, factor: float = 1.0) -> tuple[float, float, float]:
    """Chance of a bad day in a month: on the first date, after a good day, after a bad day; `factor` of a bad or good
    year on the share of bad days.

    A two-state chain with share b of bad days: after a bad day s = b + r(1-b), after a good day b(1-s)/(1-b).
    """
    table = weather.flyable_share_by_month
    if table is None:
        return 0.0, 0.0, 0.0
    bad = min(1.0, (1 - table[month]) * factor)
    if weather.bad_after_bad:
        after_bad = weather.bad_after_bad[month]
    else:
        after_bad = bad + (weather.day_to_day_correlation or 0.0) * (1 - bad)
    after_good = min(1.0, bad * (1 - after_bad) / (1 - bad)) if bad < 1 else 1.0
    return bad, after_good, after_bad


def flyable_dates(weather: Weather | None, months: Sequence[int], uniform: Callable[[int], float],
                  factors: Sequence[float] | None = None) -> list[bool]:
    """Whether each date can be flown; `months` of the dates in order, `uniform(n)` the draw of date n, `factors` of
    their years on the share of bad days."""
    if weather is None or weather.flyable_share_by_month is None:
        return [True] * len(months)
    keys = [(month, 1.0 if factors is None else factors[n]) for n, month in enumerate(months)]
    chances = {key: bad_day_chances(weather, *key) for key in set(keys)}
    good: list[bool] = []
    for n, key in enumerate(keys):
        chance = chances[key][0 if n == 0 else 1 if good[-1] else 2]
        good.append(uniform(n) >= chance)
    return good
