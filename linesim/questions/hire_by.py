"""Who has to be asked for by when, if a ramp is to find its people on the floor: paper arithmetic, not a run.

A trade needs as many people as bring the load of those who are really there to all of their hours at the new takt. That
is the least: variation wants more. They are fully able when the step comes, so they start the time of getting up to
speed before it, and are asked for the time of hiring before that.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from ..line.sheet import Sheet
from ..measures.paper import trade_loads
from ..measures.present import people_present
from ..scenario.scenario import Scenario

FULL = 1.0
FEWEST_DRAWS = 10


@dataclass(frozen=True, slots=True)
class Hire:
    """People of a trade that a takt asks for from a date on; `load` is that of those there now, as a share; `ask_by`
    and `start_by` are None where the file names no time of hiring."""

    step: date
    takt: float
    trade: str
    now: int
    needed: int
    load: float
    start_by: date
    ask_by: date | None


def hires(sheet: Sheet, seed: int) -> list[Hire]:
    """For each step of the takt to a faster one, the trades whose people there could not do the work."""
    launches = sheet.scenario.launches
    takt, steps = launches.takt_work_days, sorted(launches.steps, key=lambda step: step.day)
    if takt is None or not steps:
        return []
    able = {one.trade: one.able / one.roster for one in people_present(sheet, seed, FEWEST_DRAWS) if one.roster}
    found, have = [], {trade: sum(declared.people.values()) for trade, declared in sheet.scenario.trades.items()}
    for step in steps:
        for one in _at(sheet, step.day, step.takt_work_days, have, able):
            have[one.trade] = one.needed
            found.append(one)
    return found


def _at(sheet: Sheet, day: date, takt: float, have: dict[str, int], able: dict[str, float]) -> Iterator[Hire]:
    for load in trade_loads(sheet, takt):
        people, share = have.get(load.name, 0), able.get(load.name, 0.0)
        declared = sum(sheet.scenario.trades[load.name].people.values()) if people else 0
        if not (people and share and math.isfinite(load.share)):
            continue
        needed = math.ceil(load.share * declared / share / FULL - 1e-9)
        if needed > people:
            start = day - _up_to_speed(sheet.scenario, load.name)
            yield Hire(day, takt, load.name, people, needed, load.share * declared / people / share, start,
                       _ask_by(sheet, start))


def _up_to_speed(scenario: Scenario, trade: str) -> timedelta:
    rules = scenario.attendance.proficiency if scenario.attendance else None
    if rules is None or (rules.trades is not None and trade not in rules.trades):
        return timedelta(0)
    return timedelta(weeks=rules.weeks_to_full)


def _ask_by(sheet: Sheet, start: date) -> date | None:
    """So many work days before a date, on work days of the calendar (also before the start of the run)."""
    rules = sheet.scenario.attendance.turnover if sheet.scenario.attendance else None
    if rules is None:
        return None
    left, day = math.ceil(rules.time_to_hire_work_days), start
    reference = sheet.calendar.shifts[sheet.calendar.reference_shift]
    while left > 0:
        day -= timedelta(days=1)
        left -= sheet.calendar.is_work_day(day, reference)
    return day
