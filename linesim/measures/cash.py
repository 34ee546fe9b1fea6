"""When money moves in one run, by month of the window: what customers pay, what suppliers, people and the plant cost.

A deposit was paid when the order was placed, before the runs begin: it is not in them, and the balance at acceptance is
the price without it. Bought-out material is paid so many days before the planned launch, by the plan and not by the
launch that is made: the payment falls due whether the line is late or not. Other material is paid at the launch that is
made. Wages are those of the paid hours, with their premiums; weekly pay lags less than a week, so they stand in the
month of the hours. Fixed cost runs every day alike. A concession for lateness is taken off at acceptance.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from functools import lru_cache
from itertools import takewhile

import numpy as np

from ..line.sheet import Sheet
from ..scenario.calendar import months_on
from ..scenario.orders import Order
from ..scenario.plan import planned_moments
from .columns import Numbers
from .run import RunNumbers, promise_in
from .value import hour_costs, launches_of, material_of, named
from .window import months_between, periods_of, window_of

IN, CONCEDED = "balances at acceptance", "late concessions"
BOUGHT_OUT, MATERIAL, WAGES, FIXED = "bought-out material", "other material", "wages", "fixed cost"
KINDS = (IN, CONCEDED, BOUGHT_OUT, MATERIAL, WAGES, FIXED)
Payment = tuple[date, float]


def cash_of(sheet: Sheet, run: RunNumbers) -> dict[str, Numbers]:
    """Money in (above 0) and out (below 0) by kind and month of the window, each of shape (months,), in a scenario that
    declares money and its payments."""
    months = {day: n for n, day in enumerate(months_between(*window_of(sheet.scenario)))}
    found = {IN: _by_month(sheet, balances(sheet, run), months),
             CONCEDED: -_by_month(sheet, concessions(sheet, run), months),
             BOUGHT_OUT: -_by_month(sheet, bought_out(sheet, run), months),
             MATERIAL: -_by_month(sheet, other_material(sheet, run), months)}
    return {**found, WAGES: -_wages(sheet, run, months), FIXED: -_fixed(sheet, months)}


def _by_month(sheet: Sheet, payments: Iterator[Payment], months: dict[date, int]) -> Numbers:
    """Payments that fall into the window, by month."""
    first, last = window_of(sheet.scenario)
    found = np.zeros(len(months))
    for day, amount in payments:
        if first <= day <= last:
            found[months[day.replace(day=1)]] += amount
    return found


def accepted(sheet: Sheet, run: RunNumbers) -> Iterator[tuple[Order, date]]:
    """Orders delivered in a run, with the local date."""
    for order in sheet.scenario.orders or ():
        if order.serial in run.delivered:
            yield order, date.fromisoformat(run.delivered[order.serial][:10])


def balances(sheet: Sheet, run: RunNumbers) -> Iterator[Payment]:
    """Price without deposit, at acceptance; nothing of an order without a price."""
    for order, day in accepted(sheet, run):
        if order.price_usd is not None:
            yield day, order.price_usd - (order.deposit_usd or 0.0)


def concessions(sheet: Sheet, run: RunNumbers) -> Iterator[Payment]:
    """For each calendar day that an aircraft is delivered after its promised date, at its delivery."""
    money = sheet.scenario.money
    for order, day in accepted(sheet, run):
        promised = promise_in(run, order)
        late = (day - date.fromisoformat(promised)).days if promised else 0
        if money and late > 0:
            yield day, late * money.late_concession_per_day


def bought_out(sheet: Sheet, run: RunNumbers) -> Iterator[Payment]:
    """The share of the material that is paid ahead, so many calendar days before the planned launch. A payment before
    the start of the runs was made before them."""
    money = sheet.scenario.money
    if money is None or money.payments is None or not money.payments.bought_out_share:
        return
    share, ahead = money.payments.bought_out_share, timedelta(days=money.payments.bought_out_days_before)
    for number, planned in planned_launches(sheet, run):
        day = sheet.calendar.date_of(planned) - ahead
        if day >= sheet.scenario.start:
            yield day, share * material_of(sheet, named(sheet, number)[1])


def other_material(sheet: Sheet, run: RunNumbers) -> Iterator[Payment]:
    """The rest of the material, at the launch that is made."""
    money = sheet.scenario.money
    share = 1 - (money.payments.bought_out_share if money and money.payments else 0.0)
    for number, made in launches_of(run):
        yield sheet.calendar.date_of(made), share * material_of(sheet, named(sheet, number)[1])


def planned_launches(sheet: Sheet, run: RunNumbers) -> list[tuple[int, float]]:
    """Number of the aircraft and planned instant of each launch of a run, and of those that the rate plan has after its
    last one: they are owed, or lie beyond the end of the runs. Where no takt plans them, only those made."""
    table = run.tables.launches
    serials, planned = (np.asarray(table[name]).tolist() for name in ("serial", "planned"))
    found = list(zip(serials, planned, strict=True))
    return found + list(zip(_not_launched(sheet, set(serials)), _later(sheet, planned), strict=False))


def _not_launched(sheet: Sheet, launched: set[int]) -> Iterator[int]:
    """Orders that wait for their launch in the order of the book, then stock, if it is built."""
    orders, standing = sheet.scenario.orders or (), {entry.serial for entry in sheet.scenario.on_the_line}
    yield from (n for n, order in enumerate(orders) if n not in launched and order.serial not in standing)
    if sheet.scenario.stock.unsold_slots == "build" or sheet.scenario.orders is None:
        beyond = max([len(orders), *(n + 1 for n in launched)])
        yield from range(beyond, beyond + sheet.calendar.days)


def _later(sheet: Sheet, planned: list[float]) -> list[float]:
    """Planned moments after the last one that was used."""
    last = max(planned, default=-1.0)
    return [moment for moment in _slots(sheet) if moment > last]


@lru_cache(maxsize=4)
def _slots(sheet: Sheet) -> tuple[float, ...]:
    """All launches that the rate plan has; none where no takt plans them, or a pulse line makes them slip."""
    launches, pulse = sheet.scenario.launches, sheet.scenario.pulse
    if launches.takt_work_days is None or (pulse is not None and pulse.in_force):
        return ()
    first = sheet.calendar.of_moment(launches.first) if launches.first else None
    moments = planned_moments(sheet.calendar, launches.takt_work_days, launches.steps, first)
    return tuple(takewhile(lambda moment: moment < sheet.calendar.midnights[-1], moments))


def _wages(sheet: Sheet, run: RunNumbers, months: dict[date, int]) -> Numbers:
    """Paid hours with their premiums at the cost of an hour of the trade, in the window."""
    of_period = hour_costs(sheet) @ run.wage_hours
    found = np.zeros(len(months))
    for (first, inside), wages in zip(periods_of(sheet.scenario), of_period.tolist(), strict=True):
        if inside:
            found[months[first.replace(day=1)]] += wages
    return found


def _fixed(sheet: Sheet, months: dict[date, int]) -> Numbers:
    """Fixed cost of each month; of a month that is only partly in the window, by its calendar days."""
    money, (first, last) = sheet.scenario.money, window_of(sheet.scenario)
    found = np.zeros(len(months))
    for day, n in months.items():
        whole = (months_on(day, 1) - day).days
        inside = (min(months_on(day, 1) - timedelta(days=1), last) - max(day, first)).days + 1
        found[n] = (money.fixed_cost_per_month if money else 0.0) * inside / whole
    return found
