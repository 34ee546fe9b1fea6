"""What stands in the plant at cost: material from launch, and work as it is done, of aircraft not delivered yet.

An aircraft carries all its material from its launch to its delivery, and each labour hour from when it is worked, at
the cost of a paid hour of its trade. Aircraft that stand on the floor at the start carry their material and the
standard hours of the packages behind them. Finished stock counts until it is delivered. Fixed cost, idle time and money
paid ahead of a launch are not in it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache

import numpy as np

from ..line.plans import JobPlan, PlacePlan
from ..line.sheet import HOUR, Sheet
from ..scenario.orders import OnTheLine, Order
from ..scenario.plant import Package
from .columns import Numbers
from .labour import roster_of
from .run import RunNumbers
from .window import periods_of

DAYS_A_YEAR = 365.0


@dataclass(frozen=True, slots=True, eq=False)
class InThePlant:
    """Money in the plant by period (`periods_of`), in the scenario's currency."""

    at_end: Numbers
    mean: Numbers
    carrying: Numbers  # cost of the capital tied up over the period


def in_the_plant(sheet: Sheet, run: RunNumbers) -> InThePlant:
    """Value in the plant in one run of a scenario that declares money."""
    money = sheet.scenario.money
    assert money is not None
    bounds, rates = roster_of(sheet).bounds, hour_costs(sheet)
    found = np.einsum("t,ktp->kp", rates, run.standing_labour)
    worked_before, lengths = hours_before_start(sheet), np.diff(bounds)
    for name, model, arrived, left in aircraft_of(sheet, run):
        cost = material_of(sheet, model)
        if name in worked_before:
            cost += float(worked_before[name] @ rates)
        found[0] += cost * ((arrived < bounds[1:]) & (left >= bounds[1:]))
        stood = np.minimum(left, bounds[1:]) - np.maximum(arrived, bounds[:-1])
        found[1] += cost * np.maximum(stood, 0.0) / lengths
    carrying = money.carrying_rate_per_year * found[1] * days_of_periods(sheet) / DAYS_A_YEAR
    return InThePlant(found[0], found[1], carrying)


def days_of_periods(sheet: Sheet) -> Numbers:
    """Calendar days of each period."""
    firsts = [first.toordinal() for first, _ in periods_of(sheet.scenario)]
    return np.diff([*firsts, sheet.scenario.end.toordinal() + 1]).astype(float)


def aircraft_of(sheet: Sheet, run: RunNumbers) -> Iterator[tuple[str, str | None, float, float]]:
    """Aircraft of a run: name, model, instants of launch (0: it stood at the start) and delivery (inf: not)."""
    calendar, orders = sheet.calendar, sheet.scenario.orders or ()

    def gone(name: str) -> float:
        text = run.delivered.get(name)
        return np.inf if text is None else calendar.of_moment(datetime.fromisoformat(text))

    models = {order.serial: order.model for order in orders}
    for entry in sheet.scenario.on_the_line:
        yield entry.serial, models.get(entry.serial), 0.0, gone(entry.serial)
    for number, at in launches_of(run):
        name, model = named(sheet, number)
        yield name, model, at, gone(name)


def launches_of(run: RunNumbers) -> list[tuple[int, float]]:
    """Number in the order book and instant of each launch."""
    table = run.tables.launches
    serials, made = (np.asarray(table[name]).tolist() for name in ("serial", "launched"))
    return list(zip(serials, made, strict=True))


def named(sheet: Sheet, number: int) -> tuple[str, str | None]:
    """Name and model of an aircraft by its number; stock is never delivered, and has no name here."""
    orders = sheet.scenario.orders
    if orders is None:
        return str(number + 1), None
    if number < len(orders):
        return orders[number].serial, orders[number].model
    return "", sheet.scenario.stock.model


def material_of(sheet: Sheet, model: str | None) -> float:
    """Material of an aircraft; 0 of a model that has no price declared."""
    money = sheet.scenario.money
    return money.material_per_aircraft.get(model or "", 0.0) if money else 0.0


def hour_costs(sheet: Sheet) -> Numbers:
    """Cost of a paid hour by trade; 0 where none is declared."""
    return np.array([trade.usd_per_hour or 0.0 for trade in sheet.scenario.trades.values()], dtype=float)


# before the start ----------------------------------------------------------------------------------------------------
@lru_cache(maxsize=4)
def hours_before_start(sheet: Sheet) -> dict[str, Numbers]:
    """Standard hours by trade of the packages that aircraft on the floor at the start have behind them."""
    places = {place.id: place for place in sheet.places}
    orders = {order.serial: order for order in sheet.scenario.orders or ()}
    found = {}
    for entry in sheet.scenario.on_the_line:
        here = [places[name] for name in entry.at]
        behind = [(job, 1.0) for place in _passed(sheet, {place.index for place in here}) for job in place.jobs]
        hours = np.zeros(len(sheet.scenario.trades))
        for job, share in [*behind, *(one for place in here for one in _done(entry, place.jobs))]:
            if _has(orders.get(entry.serial), job.package):
                hours += share * _hours(sheet, job, bought_off=share >= 1)
        found[entry.serial] = hours
    return found


def _passed(sheet: Sheet, here: set[int]) -> list[PlacePlan]:
    """Places from which the way leads here."""
    behind: set[int] = set()
    for _ in sheet.places:
        behind |= {place.index for place in sheet.places if place.next in behind | here}
    return [place for place in sheet.places if place.index in behind - here]


def _done(entry: OnTheLine, jobs: list[JobPlan]) -> Iterator[tuple[JobPlan, float]]:
    """The share of each job of the place where it stands that is done: those named and, of the rest, the same share of
    every one (the floor crosses them off one by one: the hours are the same)."""
    names = [job.id for job in jobs]
    done = set(names) if entry.flights_flown else set(entry.packages_done)
    if entry.curing and entry.curing.package in names:
        done |= set(names[:names.index(entry.curing.package) + 1])
    gone = 0.0 if entry.remaining_share is None else 1 - entry.remaining_share
    for job in jobs:
        standard = job.package.hours.mean
        if job.id in done:
            yield job, 1.0
        elif job.id in entry.hours_left:
            yield job, max(0.0, 1 - entry.hours_left[job.id] / standard) if standard else 0.0
        elif job.kind == "work":
            yield job, gone


def _has(order: Order | None, package: Package) -> bool:
    model, scheme = (order.model, order.scheme) if order else (None, None)
    return ((package.models is None or model in package.models)
            and (package.schemes is None or scheme in package.schemes))


def _hours(sheet: Sheet, job: JobPlan, *, bought_off: bool) -> Numbers:
    """Standard hours by trade of a job and, once it is bought off, of its inspector."""
    hours = np.zeros(len(sheet.scenario.trades))
    spent = {job.trade: job.package.hours.mean} if job.kind in ("work", "buy-off") else {}
    if bought_off and job.inspection:
        spent[job.inspector] = spent.get(job.inspector, 0.0) + job.inspection / HOUR
    for n, trade in enumerate(sheet.scenario.trades):
        hours[n] = job.package.chance * spent.get(trade, 0.0)
    return hours
