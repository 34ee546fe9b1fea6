"""The next work days from today's floor, run by run: what moves, flies, is painted and handed over, and who is there.

Today's floor is `on_the_line` of the scenario and today is its start. Runs over a few days take a moment and are not
kept: they are done anew each time. Each of them is the beginning of the run of the same number of the whole scenario.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Generator
from dataclasses import dataclass
from datetime import date, timedelta
from functools import partial
from itertools import pairwise

import numpy as np

from ..line.records import Records, State
from ..line.runs import Stop, run_many
from ..line.sheet import HOUR, Sheet
from ..measures.columns import Counts, Numbers
from ..measures.labour import worked_minutes
from ..measures.ledger import Ledger
from ..scenario.acted_on import acted_on
from ..scenario.calendar import WorkCalendar, shift_day
from ..scenario.scenario import Scenario, Window

DAYS = 10
LOOK_ON = 5  # more work days at least, in which acceptances are looked for: they are confirmed ahead
DELIVERED = "delivered"


class TooShort(ValueError):
    """The scenario ends before the days that are asked for; says where and what is allowed."""


@dataclass(frozen=True, slots=True)
class Move:
    """An aircraft, or a half of one, that comes to a place, parks before it, or is delivered."""

    serial: str
    half: str
    place: str      # its code; DELIVERED
    parked: bool
    launched: bool  # it comes onto the floor
    at: float       # minutes since the start


@dataclass(frozen=True, slots=True, eq=False)
class Days:
    """One run over the days: events in order of time, and people by trade and date, shape (trades, dates)."""

    run: int
    moves: tuple[Move, ...]
    flights: tuple[tuple[str, int, float], ...]    # serial, number of the flight, when it begins
    acceptances: tuple[tuple[str, float], ...]     # serial, when it begins
    flyable: tuple[bool, ...]                      # of each date, whether any of its hours can be flown
    there: Numbers                                 # working hours of the people present
    worked: Numbers                                # hours that they worked
    waiting: Numbers                               # hours that jobs waited for them in their working time


def work_days(scenario: Scenario, days: int) -> list[date]:
    """The first work days of the reference shift from the start. Raises TooShort."""
    calendar = WorkCalendar(scenario)
    found, day, shift = list[date](), scenario.start, calendar.shifts[calendar.reference_shift]
    while len(found) < days:
        if day > scenario.end:
            raise TooShort(f"the scenario has {len(found)} work days from {scenario.start} to {scenario.end}; found "
                           f"{days} asked for, 1 to {len(found)} are allowed")
        if calendar.is_work_day(day, shift):
            found.append(day)
        day += timedelta(days=1)
    return found


def shortened(scenario: Scenario, last: date) -> Scenario:
    """The scenario up to a date: what happens until then is the same, run by run."""
    window = Window.model_validate({"from": scenario.start, "to": last})
    return scenario.model_copy(update={"end": last, "run_on_months": 0, "window": window})


def horizon(scenario: Scenario, days: int) -> Scenario:
    """The scenario over the days asked for and, as far as it goes, the customers' notice more. Raises TooShort."""
    notices = [place.acceptance.notice_work_days for place in scenario.positions if place.acceptance]
    last = work_days(scenario, days)[-1]
    try:
        last = work_days(scenario, days + math.ceil(max([LOOK_ON, *notices])))[-1]
    except TooShort:
        last = scenario.end
    return shortened(scenario, last)


def runs_of(scenario: Scenario, days: int, seed: int, number: int, jobs: int, stop: Stop | None = None,
            there: Collection[int] = ()) -> Generator[list[Days], None, None]:
    """Runs 0 to `number` - 1 over the days, without those that are `there`, in chunks as they come. Raises TooShort."""
    numbers = [n for n in range(number) if n not in there]
    until = work_days(scenario, days)[-1]
    return run_many(acted_on(horizon(scenario, days)), seed, numbers, partial(days_of, until=until), jobs, stop)


def days_of(sheet: Sheet, records: Records, until: date) -> Days:
    """What a run does up to a date (acceptances: to its end)."""
    calendar, names = sheet.calendar, records.serials
    end = calendar.instant(until + timedelta(days=1))
    ledger = Ledger(sheet, records)
    dates = (until - sheet.scenario.start).days + 1
    return Days(
        records.replication, tuple(_moves(sheet, records, end)),
        tuple(sorted(((names[f.serial], f.number, f.start) for f in records.flights if f.start < end),
                     key=lambda one: (one[2], one[0]))),
        tuple((names[serial], begins) for serial, what, begins, _ in sorted(records.slots, key=lambda slot: slot[2])
              if what == "acceptance"),
        tuple(records.good_days[:dates]) or (True,) * dates,
        _there(sheet, records, dates), _worked(sheet, ledger, dates), _waiting(ledger, dates))


def _moves(sheet: Sheet, records: Records, end: float) -> list[Move]:
    """Arrivals of more than no time, and deliveries; not where an aircraft stands at the start."""
    stood = {(entry.serial, place) for entry in sheet.scenario.on_the_line for place in entry.at}
    launched = {launch.serial: launch.made for launch in records.launches}
    found = []
    for stay in (*records.visits, *records.unfinished):
        name, place = records.serials[stay.serial], sheet.places[stay.place].id
        stands = stay.arrived == 0 and (name, place) in stood
        if stay.arrived < end and not stands and (stay.left > stay.arrived or not stay.parked):
            found.append(Move(name, stay.half, place, stay.parked, launched.get(stay.serial) == stay.arrived,
                              stay.arrived))
    found += [Move(records.serials[n], "", DELIVERED, False, False, t) for n, t in records.delivered.items() if t < end]
    return sorted(found, key=lambda move: (move.at, move.serial, move.half))


# people --------------------------------------------------------------------------------------------------------------
def _there(sheet: Sheet, records: Records, dates: int) -> Numbers:
    """Working hours of those present, with overtime, by shift date."""
    scenario, calendar = sheet.scenario, sheet.calendar
    found = np.zeros((len(scenario.trades), dates))
    for n, trade in enumerate(scenario.trades):
        for shift in sheet.rostered(trade):
            minutes = shift_day(calendar.shifts[shift], scenario.tool_control).work
            seen = records.attended.get((trade, shift))
            if seen is not None:
                there = dict(zip(seen.days, seen.present, strict=True))
            else:
                there = dict.fromkeys({day for _, _, day in calendar.clock(shift).blocks()}, sheet.heads(trade, shift))
            for day, people in there.items():
                if 0 <= day < dates:
                    found[n, day] += people * minutes
    names = {trade: n for n, trade in enumerate(scenario.trades)}
    for extra in records.overtime:
        if extra.day < dates:
            found[names[extra.trade], extra.day] += extra.people * extra.work
    return found / HOUR


def _worked(sheet: Sheet, ledger: Ledger, dates: int) -> Numbers:
    """Hours worked and flown, by the shift date on which they begin."""
    columns = ledger.columns
    rows, minutes = worked_minutes(columns, sheet.calendar.end)
    days = np.zeros(len(rows), dtype=np.int64)
    names = list(columns.clocks.shifts)
    for shift in np.unique(columns.shift[rows]):
        these = columns.shift[rows] == shift
        days[these] = _shift_dates(sheet, names[shift], columns.start[rows[these]])
    found = _by_day(columns.trade[rows] - 1, days, minutes, (len(sheet.scenario.trades), dates))
    names_of = {trade: n for n, trade in enumerate(sheet.scenario.trades)}
    for flight in ledger.records.segments:
        day = sheet.calendar.day_number(flight.start)
        if flight.state == State.FLIGHT and flight.trade in names_of and day < dates:
            found[names_of[flight.trade], day] += flight.end - flight.start
    return found / HOUR


def _shift_dates(sheet: Sheet, shift: str, starts: Numbers) -> Counts:
    """Shift date (day number) of instants at which a crew of the shift is at work."""
    blocks = list(sheet.clock(shift).blocks())
    begins = np.array([a for a, _, _ in blocks])
    of = np.array([day for _, _, day in blocks], dtype=np.int64)
    return np.asarray(of[np.maximum(np.searchsorted(begins, starts, side="right") - 1, 0)], dtype=np.int64)


def _by_day(trade: Counts, day: Counts, minutes: Numbers, shape: tuple[int, int]) -> Numbers:
    keep = (day >= 0) & (day < shape[1]) & (trade >= 0)
    found = np.bincount(trade[keep] * shape[1] + day[keep], minutes[keep], shape[0] * shape[1])
    return np.asarray(found, dtype=float).reshape(shape)


def _waiting(ledger: Ledger, dates: int) -> Numbers:
    """Hours that jobs waited for each trade, by calendar date."""
    calendar = ledger.sheet.calendar
    bounds = [calendar.midnights[n] for n in range(dates + 1)]
    by_day = [ledger.waiting_by_trade(a, b).sum(axis=0)[1:] for a, b in pairwise(bounds)]
    return np.array(by_day).T
