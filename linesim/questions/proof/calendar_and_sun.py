"""Federal holidays and work days of 2024 to 2032, and daylight by the sun at two places."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import date, timedelta

from ...line.records import State
from ...scenario.reading import parse_scenario
from .check import Check, each, exact
from .listed import Proof, table
from .plants import json, run

RULES = ("sunrise to sunset", "civil twilight")
YEARS = range(2024, 2033)
STATUTE = "5 U.S.C. 6103: eleven holidays, observed on Friday or Monday"
MONDAY, THURSDAY, SATURDAY, SUNDAY = 0, 3, 5, 6


def nth(year: int, month: int, weekday: int, n: int) -> date:
    """The n-th weekday of a month; the last one for n = 0."""
    if n == 0:
        last = date(year, month + 1, 1) - timedelta(days=1)
        return last - timedelta(days=(last.weekday() - weekday) % 7)
    first = date(year, month, 1)
    return first + timedelta(days=(weekday - first.weekday()) % 7 + 7 * (n - 1))


def holidays(year: int) -> list[date]:
    """Federal holidays of a year as the statute names them."""
    return [date(year, 1, 1), nth(year, 1, MONDAY, 3), nth(year, 2, MONDAY, 3), nth(year, 5, MONDAY, 0),
            date(year, 6, 19), date(year, 7, 4), nth(year, 9, MONDAY, 1), nth(year, 10, MONDAY, 2),
            date(year, 11, 11), nth(year, 11, THURSDAY, 4), date(year, 12, 25)]


def observed(years: range) -> set[date]:
    """Dates on which they are observed."""
    moved = {SATURDAY: -1, SUNDAY: 1}
    days = (day for year in range(years.start, years.stop + 1) for day in holidays(year))
    return {day + timedelta(days=moved.get(day.weekday(), 0)) for day in days}


def work_days() -> Iterator[Check]:
    """One launch a work day: how many there are in each year with the federal holidays closed."""
    closed = sorted(day for day in observed(YEARS) if YEARS.start <= day.year < YEARS.stop)
    values = {"name": "work days", "start": f"{YEARS.start}-01-01", "end": f"{YEARS.stop - 1}-12-31",
              "calendar": {"closed": [day.isoformat() for day in closed]}, "shifts": {"day": {"work": ["08:00-16:00"]}},
              "launches": {"takt_work_days": 1}, "orders": "unlimited",
              "positions": [{"id": "A", "docks": 20, "packages": [{"id": "a", "hours": 1}]}]}
    sheet, records = run(parse_scenario(json.dumps(values)))
    days = [sheet.calendar.wall(entry.planned).date() for entry in records.launches]
    count = Counter(day.year for day in days)
    expected = {year: sum((date(year, 1, 1) + timedelta(days=n)).weekday() < SATURDAY and
                          date(year, 1, 1) + timedelta(days=n) not in closed
                          for n in range((date(year + 1, 1, 1) - date(year, 1, 1)).days)) for year in YEARS}
    yield each("work days of 2024 to 2032: launches in a year at a takt of one work day", STATUTE,
               list(expected.values()), [count[year] for year in YEARS])
    printed, source = table("work days")
    for year, of in printed.items():
        yield exact(f"work days of {year}", source, of["workdays"], count[int(year)])
    yield exact("launches on a holiday", STATUTE, 0, len(set(days) & set(closed)))
    yield each("first minute of work of each launch, minutes after 08:00", STATUTE, [0.0] * 50,
               [float((entry.made - 480) % 1440) for entry in records.launches[:50]], 1e-6)


def light(latitude: float, longitude: float, zone: int, day: str, rule: str) -> tuple[float, float]:
    """First and last minute of work that needs daylight on a date, on the clock of a zone (whole hours of UTC)."""
    plant = {"name": "sun", "start": day, "end": day, "time_zone": f"Etc/GMT{-zone:+d}", "daylight": {"rule": rule},
             "site": {"latitude": latitude, "longitude": longitude}, "launches": {"saturated": True},
             "orders": "unlimited", "positions": [
                 {"id": "A", "packages": [{"id": "a", "needs_daylight": True, "hours": 100}]}]}
    _, records = run(parse_scenario(json.dumps(plant)))
    worked = [s for s in records.segments if s.state == State.WORK]
    return worked[0].start, worked[-1].end


def sun() -> Iterator[Check]:
    """Work that needs daylight is worked from sunrise to sunset, or in civil twilight too."""
    values, source = table("sun")
    for key, of in values.items():
        where, day = key.split("_")
        latitude, longitude = (float(part[:-1]) * (-1 if part[-1] in "SW" else 1) for part in where.split())
        zone = round(longitude / 15)
        spans = {rule: light(latitude, longitude, zone, day, rule) for rule in RULES}
        first, last = spans["sunrise to sunset"]
        yield exact(f"{where}, {day}: sunrise, minute of the day in UTC", source, of["sunrise_utc_min"],
                    first - zone * 60, 1.0)
        yield exact(f"{where}, {day}: sunset, minute of the day in UTC", source, of["sunset_utc_min"],
                    last - zone * 60, 1.0)
        first, last = spans["civil twilight"]
        yield exact(f"{where}, {day}: minutes of civil twilight and day", source, of["civil_span_min"],
                    last - first, 2.0)


PROOFS = (Proof("work days", work_days), Proof("sun", sun))
