"""The crews that are tried: each trade over its range of people on a shift, all combinations, cheapest first."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

from ..scenario.changing import changed
from ..scenario.faults import did_you_mean
from ..scenario.scenario import Scenario

MOST_CREWS = 64


class NoCrew(ValueError):
    """A trade, shift or range that cannot be tried; says what was found and what is allowed."""


@dataclass(frozen=True, slots=True)
class Range:
    """People of a trade on a shift ("" where the plant has none), least first."""

    trade: str
    shift: str
    people: tuple[int, ...]

    @property
    def path(self) -> str:
        """As a scenario file changes it."""
        return f"trades.{self.trade}.people" + (f".{self.shift}" if self.shift else "")


@dataclass(frozen=True, slots=True)
class Crew:
    """One combination: people by range, the scenario with them, and their pay for an hour of the shift (USD), or their
    number where no pay is declared."""

    people: tuple[int, ...]
    scenario: Scenario
    cost: float

    def name(self, ranges: Sequence[Range]) -> str:
        """As in "3 FLM, 2 FTP"."""
        return ", ".join(f"{n} {one.trade}{f' {one.shift}' if _two_shifts(ranges, one) else ''}"
                         for n, one in zip(self.people, ranges, strict=True))


def _two_shifts(ranges: Sequence[Range], one: Range) -> bool:
    return sum(other.trade == one.trade for other in ranges) > 1


def people_from(text: str) -> tuple[int, ...]:
    """Numbers of people of a text such as "2-5" or "2,4". Raises NoCrew."""
    found: set[int] = set()
    for part in text.split(","):
        ends = re.fullmatch(r"\s*(\d{1,4})\s*(?:-\s*(\d{1,4})\s*)?", part)
        if ends is None:
            raise NoCrew(f"--people: {part.strip()!r} is no number of people; write 2-5 or 2,4")
        low, high = sorted((int(ends[1]), int(ends[2] or ends[1])))
        found |= set(range(low, high + 1))
    return tuple(sorted(found))


def range_of(scenario: Scenario, trade: str, people: str) -> Range:
    """A range of a trade, FLM or FLM.evening. Raises NoCrew for what the file does not have."""
    name, _, shift = trade.partition(".")
    if name not in scenario.trades:
        known = list(scenario.trades)
        raise NoCrew(f"--trade: nothing is called {name!r}"
                     f"{did_you_mean(name, known) or '; there is ' + (', '.join(known) or 'no trade')}")
    shifts = list(scenario.shifts)
    if shift and shift not in shifts:
        raise NoCrew(f"--trade: no shift is called {shift!r}"
                     f"{did_you_mean(shift, shifts) or '; there is ' + (', '.join(shifts) or 'none')}")
    on = scenario.trades[name].people
    if not shift and set(on) != {""}:
        shift = next(iter(on), shifts[0] if shifts else "")
    elif shift and set(on) == {""}:
        raise NoCrew(f"--trade: {name} has its people without a shift; write --trade {name}")
    return Range(name, shift, people_from(people))


def crews_to_try(scenario: Scenario, ranges: Sequence[Range]) -> list[Crew]:
    """All combinations, cheapest first. Raises NoCrew where they are too many or one trade and shift stands twice,
    ScenarioFaults where one breaks a rule of the file."""
    number = 1
    for one in ranges:
        number *= len(one.people)
    if number > MOST_CREWS:
        raise NoCrew(f"--people: these are {number} crews to try; at most {MOST_CREWS} are")
    if len({one.path for one in ranges}) < len(ranges):
        raise NoCrew("--trade: a trade stands there twice for the same shift")
    pay = [scenario.trades[one.trade].usd_per_hour or 0.0 for one in ranges]
    pay = pay if all(pay) else [1.0] * len(ranges)
    crews = [Crew(people, _with(scenario, ranges, people), sum(n * each for n, each in zip(people, pay, strict=True)))
             for people in product(*(one.people for one in ranges))]
    return sorted(crews, key=lambda crew: (crew.cost, crew.people))


def _with(scenario: Scenario, ranges: Sequence[Range], people: Sequence[int]) -> Scenario:
    changes = {one.path: n for one, n in zip(ranges, people, strict=True)
               if scenario.trades[one.trade].people.get(one.shift, 0) != n}
    return changed(scenario, changes) if changes else scenario
