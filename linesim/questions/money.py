"""What the deliveries bring and what the plant costs meanwhile: the money of the answer to `linesim quarters`.

Revenue is the price of an aircraft, counted at its acceptance. What the rules of the file leave open is counted the
plain way, and said in words beside the numbers (`how it is counted`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import timedelta
from typing import Any

import numpy as np

from ..line.sheet import Sheet
from ..measures.cash import BOUGHT_OUT, FIXED, IN, KINDS, WAGES, accepted, cash_of, concessions
from ..measures.columns import Numbers
from ..measures.run import RunNumbers
from ..measures.value import InThePlant, days_of_periods, in_the_plant
from ..measures.window import months_between, periods_of, quarter_of, window_of
from ..scenario.orders import Money
from ..scenario.scenario import Scenario
from .amounts import mean_of, ranged, reached
from .by_run import whole_quarters

DECLARE = ("Money is not declared, so only aircraft are counted; declare `money` (material_per_aircraft, "
           "carrying_rate_per_year, late_concession_per_day, fixed_cost_per_month, payments) and the price_usd of each "
           "order to see revenue, value in the plant and cash.")
Key = tuple[str, str]  # what an amount counts in
Amount = tuple[tuple[Key, ...], float]
ALL = ("all", "")
DECLARE_PAYMENTS = "when money moves is not declared, so there is no cash by month; declare `money.payments` to see it"


def money_of(sheet: Sheet, runs: Sequence[RunNumbers]) -> dict[str, Any] | None:
    """All amounts, in the scenario's currency; None without `money`. All of the plant, whatever the model."""
    scenario, money = sheet.scenario, sheet.scenario.money
    if money is None:
        return None
    stood = [in_the_plant(sheet, run) for run in runs]
    return {
        "currency": money.currency, **revenue(sheet, runs), "late concessions": conceded(sheet, runs),
        **_standing(sheet, stood), "cash": None if money.payments is None else cash(sheet, runs),
        "how it is counted": _how(scenario, money), "cautions": _cautions(scenario, money)}


# revenue -------------------------------------------------------------------------------------------------------------
def revenue(sheet: Sheet, runs: Sequence[RunNumbers]) -> dict[str, Any]:
    """Prices of the aircraft accepted in the window: in all, by quarter, month and model."""
    months = [str(day)[:7] for day in months_between(*window_of(sheet.scenario))]
    models = list(dict.fromkeys(order.model for order in sheet.scenario.orders or () if order.model))
    quarters = whole_quarters(sheet.scenario)
    sold = _summed((_sales(sheet, run) for run in runs), [
        ALL, *(("quarter", name) for name in quarters), *(("month", name) for name in months),
        *(("model", name) for name in models)])
    return {
        "revenue in the window": reached(sold[ALL]),
        "revenue by quarter": {name: reached(sold["quarter", name]) for name in quarters},
        "revenue by month": {month: mean_of(sold["month", month]) for month in months},
        "revenue by model": {model: mean_of(sold["model", model]) for model in models}}


def _sales(sheet: Sheet, run: RunNumbers) -> Iterator[Amount]:
    """What each aircraft accepted in the window counts in, and its price."""
    first, last = window_of(sheet.scenario)
    for order, day in accepted(sheet, run):
        if first <= day <= last:
            yield (ALL, ("quarter", quarter_of(str(day))), ("month", str(day)[:7]),
                   ("model", order.model or "")), order.price_usd or 0.0


def _summed(each: Iterable[Iterable[Amount]], keys: Sequence[Key]) -> dict[Key, list[float]]:
    """Amounts of each run, summed over all that counts in a key; what counts in no key of these is left out."""
    place, rows = {key: n for n, key in enumerate(keys)}, []
    for amounts in each:
        row = np.zeros(len(keys))
        for counts_in, amount in amounts:
            for key in counts_in:
                if key in place:
                    row[place[key]] += amount
        rows.append(row)
    return dict(zip(keys, np.array(rows).T.tolist(), strict=True))


def conceded(sheet: Sheet, runs: Sequence[RunNumbers]) -> dict[str, Any]:
    """What is conceded for lateness to the aircraft accepted in the window: in all and by quarter."""
    quarters = whole_quarters(sheet.scenario)
    given = _summed((_concessions(sheet, run) for run in runs), [ALL, *(("quarter", name) for name in quarters)])
    return {"in the window": ranged(given[ALL]),
            "by quarter": {name: mean_of(given["quarter", name]) for name in quarters}}


def _concessions(sheet: Sheet, run: RunNumbers) -> Iterator[Amount]:
    first, last = window_of(sheet.scenario)
    for day, amount in concessions(sheet, run):
        if first <= day <= last:
            yield (ALL, ("quarter", quarter_of(str(day)))), amount


# what stands in the plant --------------------------------------------------------------------------------------------
def _standing(sheet: Sheet, stood: Sequence[InThePlant]) -> dict[str, Any]:
    """Value at the ends of months and its mean, and what the capital costs, in the window."""
    scenario = sheet.scenario
    inside = [(n, first) for n, (first, within) in enumerate(periods_of(scenario)) if within]
    at_end = {str(first)[:7]: n for n, first in inside}  # the last period of a month ends it
    rows = [n for n, _ in inside]
    days = days_of_periods(sheet)[rows]
    by_quarter = {name: [n for n, first in inside if quarter_of(str(first)) == name]
                  for name in whole_quarters(scenario)}
    return {
        "value in the plant": {
            "mean of the window": ranged([float(one.mean[rows] @ days / days.sum()) for one in stood]),
            "at the end of": {month: ranged([float(one.at_end[n]) for one in stood]) for month, n in at_end.items()}},
        "carrying cost": {
            "in the window": ranged([float(one.carrying[rows].sum()) for one in stood]),
            "by quarter": {name: mean_of([float(one.carrying[of].sum()) for one in stood])
                           for name, of in by_quarter.items()}}}


# cash ----------------------------------------------------------------------------------------------------------------
def cash(sheet: Sheet, runs: Sequence[RunNumbers]) -> dict[str, Any]:
    """Money in and out by month: means by kind; net of the month, and since the window began, as ranges."""
    months = [str(day)[:7] for day in months_between(*window_of(sheet.scenario))]
    each = np.array([[of[kind] for kind in KINDS] for run in runs for of in (cash_of(sheet, run),)])
    net = each.sum(axis=1)
    since = net.cumsum(axis=1)
    by_kind = dict(zip(KINDS, each.mean(axis=0), strict=True))
    return {"by month": {month: {**_row(by_kind, n), "net": ranged(net[:, n].tolist()),
                                 "since the window began": ranged(since[:, n].tolist())}
                         for n, month in enumerate(months)},
            "in the window": {**{kind: round(float(of.sum())) for kind, of in by_kind.items()},
                              "net": ranged(net.sum(axis=1).tolist())},
            "lowest since the window began": ranged(np.minimum(since.min(axis=1), 0.0).tolist())}


def _row(by_kind: dict[str, Numbers], n: int) -> dict[str, float]:
    return {kind: round(float(of[n])) for kind, of in by_kind.items()}


# in words ------------------------------------------------------------------------------------------------------------
def _how(scenario: Scenario, money: Money) -> dict[str, str]:
    """What the numbers mean where the file leaves it open."""
    said = {"revenue": "the whole price, deposit included, on the date of acceptance",
            "value in the plant": "all material of an aircraft from its launch to its delivery, and labour as it is "
                                  "worked at the cost of a paid hour; finished stock is in it, money paid ahead of a "
                                  "launch, idle time and fixed cost are not",
            "carrying cost": f"{money.carrying_rate_per_year:.1%} a year of that value, day by day; it is no cash",
            "late concessions": "for each calendar day after the promised date, counted when the aircraft is "
                                "delivered; aircraft that are late and not delivered yet are not in it"}
    if scenario.on_the_line:
        said["value in the plant"] += ("; aircraft on the floor at the start carry the standard hours of the packages "
                                       "behind them")
    return {**said, **_how_cash(scenario, money)} if money.payments is not None else said


def _how_cash(scenario: Scenario, money: Money) -> dict[str, str]:
    payments = money.payments
    assert payments is not None
    said = {IN: "the price without the deposit, which was paid when the order was placed, before the runs begin"}
    if payments.bought_out_share:
        said[BOUGHT_OUT] = (f"{payments.bought_out_share:.0%} of the material, {payments.bought_out_days_before} "
                            "calendar days before the planned launch, whether or not that launch is made in time; the "
                            "rest is paid at the launch that is made")
    said[WAGES] = "paid hours, overtime and evening premiums included, in the month of the hours"
    first, last = window_of(scenario)
    if first.day != 1 or (last + timedelta(days=1)).day != 1:
        said[FIXED] = "a month that lies only partly in the window by its calendar days"
    return said


def _cautions(scenario: Scenario, money: Money) -> list[str]:
    """What has no price, and what money does not follow."""
    orders = scenario.orders or ()
    said = []
    if missing := sum(order.price_usd is None for order in orders):
        said.append(f"{missing} of {len(orders)} orders have no price_usd: they bring no revenue here")
    if scenario.orders is None:
        said.append("orders without an end have no price: there is no revenue here")
    models = {order.model for order in orders} | ({scenario.stock.model} if scenario.stock.model else set())
    if without := sorted(str(model or "no model") for model in models if model not in money.material_per_aircraft):
        said.append(f"no material is declared for {', '.join(without)}: it costs nothing here")
    if unpaid := [name for name, trade in scenario.trades.items() if trade.usd_per_hour is None]:
        said.append(f"no usd_per_hour is declared for {', '.join(unpaid)}: its hours cost nothing here")
    if money.evening_premium and "evening" not in scenario.shifts:
        said.append("evening_premium is declared and no shift is called evening: it is paid on no hour here")
    if money.payments is None:
        said.append(DECLARE_PAYMENTS)
        return said
    if scenario.order_changes is not None:
        said.append("orders that are cancelled keep their deposit and price here; no deposit is paid back")
    return said
