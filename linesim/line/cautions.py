"""Sections that a file declares and the floor does not act on yet: said wherever its results are shown."""

from __future__ import annotations

from collections.abc import Iterator

from ..scenario.calendar import months_on
from ..scenario.faults import Caution
from ..scenario.hourly import HourlyRecord
from ..scenario.scenario import Scenario


def cautions_of(scenario: Scenario) -> list[Caution]:
    """Everything that is declared and not in the numbers, and what to look at."""
    return [*_not_acted_on(scenario), *_look_at(scenario)]


def _not_acted_on(s: Scenario) -> Iterator[Caution]:
    if s.weather and not s.weather.hourly and (s.weather.limits or s.weather.runway_deg is not None):
        yield _not_in("weather.limits", "flight limits, which need hourly weather,")
    yield from _people_not_acted_on(s)


def _people_not_acted_on(s: Scenario) -> Iterator[Caution]:
    rules = s.work_rules
    if rules.certificate_at != "finishing" and not any(position.acceptance for position in s.positions):
        yield _not_in("work_rules.certificate_at", "the certificate at acceptance (no position has one)")


def _not_in(place: str, what: str) -> Caution:
    return Caution(place, f"{what} is declared and not in these numbers")


def _one_away(s: Scenario) -> Iterator[Caution]:
    """Trades of which one leaver or one sick day stops work."""
    least: dict[str, int] = {}
    for position in s.positions:
        for package in position.packages:
            if package.trade:
                least[package.trade] = max(least.get(package.trade, 1), package.people[0])
        for name in (position.flights.pilots if position.flights else None,
                     position.flights.mechanics if position.flights else None,
                     position.acceptance.delivery_trade if position.acceptance else None,
                     position.repaint.trade if position.repaint else None):
            if name:
                least.setdefault(name, 1)
    for name, people in least.items():
        trade = s.trades.get(name)
        most = max(trade.people.values(), default=0) if trade else 0
        if trade and most and most - 1 < people and not (trade.cover and s.work_rules.cover_in_force):
            yield Caution(f"trades {name}", (
                "one person of it is all there is: one leaver or one sick day stops deliveries" if most == 1 else
                f"{people} of its {most} people are needed at once: one leaver or one sick day stops that work"))


def _hourly_weather(s: Scenario) -> Iterator[Caution]:
    if s.weather is None or not s.weather.hourly:
        return
    record = HourlyRecord(s.weather)
    for what in record.lacks():
        yield Caution("weather.hourly", f"it has {what}")
    years = record.whole_years
    if len(years) == 1 and not record.covers(s.start, months_on(s.end, s.run_on_months)):
        yield Caution("weather.hourly", f"one year of record, {years[0]}: every run meets the same weather")
    if s.common_luck and s.common_luck.weather_year_cv:
        yield Caution("common_luck.weather_year_cv", "is declared and not in these numbers: bad and good years are "
                                                     "those of the hourly weather")


def _fixed_by_finds(s: Scenario) -> Iterator[Caution]:
    """Fault fixing whose chance and hours the file gives beside planted defects: they would count the faults twice."""
    for position in s.positions if s.quality else ():
        checks = [package.id for package in position.packages if package.gate == "avionics check"]
        for before, package in zip(position.packages, position.packages[1:], strict=False):
            after = package.after if package.after is not None else (before.id,)
            if package.rework and set(checks) & set(after) and (package.chance < 1 or package.hours.mean):
                yield Caution(package.id, "its chance and hours are not used: it mends what the avionics check finds "
                                          "of the planted defects")


def _look_at(s: Scenario) -> Iterator[Caution]:
    if s.invented:
        yield Caution("", "the data of this scenario are invented")
    for text in s.assumed:
        yield Caution("", f"assumed, not from the plant's records: {text}")
    yield Caution("", "every range holds only if the inputs are right; they are not fitted to a plant's records")
    for position in s.positions:
        for package in position.packages:
            if package.kind == "work" and package.trade and package.trade not in s.trades:
                yield Caution(package.id, f"nobody of trade {package.trade} is declared")
    yield from _hourly_weather(s)
    yield from _fixed_by_finds(s)
    yield from _one_away(s)
    yield Caution("", "planning aid: it approves no work, airworthiness, paint, flight or people")
