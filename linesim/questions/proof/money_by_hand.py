"""Money, worked by hand: cash by month, value in the plant, work behind aircraft that stand there at the start.

One place, two shifts of eight hours, 40 hours of work on each aircraft and a launch every ten work days: Monday 06:00
to Wednesday 14:30, from 4 and 18 January and 1 and 15 February 2027.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ...line.floor import run_once
from ...line.sheet import Sheet
from ...measures.cash import BOUGHT_OUT, CONCEDED, FIXED, IN, MATERIAL, WAGES, cash_of
from ...measures.run import RunNumbers, numbers_of
from ...measures.value import hours_before_start, in_the_plant
from ...scenario.reading import parse_scenario
from .arithmetic import HAND
from .check import Check, each
from .listed import Proof
from .plants import json

MONEY: dict[str, Any] = {
    "material_per_aircraft": {"D": 100, "E": 300}, "carrying_rate_per_year": 0.1, "late_concession_per_day": 10,
    "fixed_cost_per_month": 3100, "evening_premium": 0.1,
    "payments": {"deposit": "at order", "bought_out_share": 0.4, "bought_out_days_before": 20,
                 "other_material": "at launch", "wages": "weekly", "balance": "at acceptance"}}
ORDERS: list[dict[str, Any]] = [
    {"serial": "S1", "model": "D", "price_usd": 1000, "deposit_usd": 100, "promised": "2027-01-05"},
    {"serial": "S2", "model": "E", "price_usd": 2000}, {"serial": "S3", "model": "D", "promised": "2027-02-01"},
    {"serial": "S4", "model": "D", "price_usd": 3000, "deposit_usd": 500, "promised": "2027-03-31"}]


def small(**parts: Any) -> tuple[Sheet, RunNumbers]:
    """The plant and its run."""
    shift = {"meal_minutes": 30}
    values = {
        "name": "money by hand", "start": "2027-01-04", "end": "2027-03-31",
        "window": {"from": "2027-01-19", "to": "2027-03-20"},
        "shifts": {"day": {"start": "06:00", "end": "14:30", **shift},
                   "evening": {"start": "14:30", "end": "23:00", **shift}},
        "trades": {"T": {"people": {"day": 1, "evening": 1}, "usd_per_hour": 50},
                   "U": {"people": {"day": 1}, "usd_per_hour": 20}},
        "positions": [{"id": "A", "packages": [{"id": "a", "trade": "T", "hours": 40, "crew": 1}]}],
        "launches": {"takt_work_days": 10}, "orders": ORDERS, "money": MONEY, **parts}
    sheet = Sheet(parse_scenario(json.dumps(values)))
    return sheet, numbers_of(sheet, run_once(sheet, 1, 0))


def cash() -> Iterator[Check]:
    """Work days of the window by month: 9, 20, 15, each 8 h x (50 + 55 + 20). S3 has no price and is two days late.
    Bought-out material of S4 is due on 26 January, that of the others before the window."""
    found = cash_of(*small())
    for name, kind, expected in (
            ("balances at acceptance", IN, [2000, 2500, 0]), ("concessions", CONCEDED, [0, -20, 0]),
            ("bought-out material", BOUGHT_OUT, [-40, 0, 0]), ("other material", MATERIAL, [0, -120, 0]),
            ("wages with the premium of the evening", WAGES, [-9000, -20000, -15000]),
            ("fixed cost by the days of the window", FIXED, [-1300, -3100, -2000])):
        yield each(f"{name} by month", HAND, expected, found[kind].tolist(), 1e-6)
    late = cash_of(*small(positions=[{"id": "A", "packages": [{"id": "a", "trade": "T", "hours": 400}]}],
                          window={"from": "2027-01-04", "to": "2027-03-31"}))
    yield each("one aircraft of 400 h: bought-out material falls due by the plan, also of launches never made", HAND,
               [-80, 0, 0], late[BOUGHT_OUT].tolist(), 1e-6)
    yield each("one aircraft of 400 h: other material at launches made, S2's on 8 February at once, S3's on 15 March",
               HAND, [-60, -180, -60], late[MATERIAL].tolist(), 1e-6)
    stock = cash_of(*small(stock={"unsold_slots": "build", "model": "E"}))
    yield each("slots of 1, 15 and 29 March build stock: bought-out material 20 days before", HAND, [-40, -240, -120],
               stock[BOUGHT_OUT].tolist(), 1e-6)
    yield each("a slot without an order builds stock: its other material at the launch of 1 and 15 March", HAND,
               [0, -120, -360], stock[MATERIAL].tolist(), 1e-6)
    at_once = cash_of(*small(money={key: of for key, of in MONEY.items() if key != "payments"}))
    yield each("no payments stated: nothing is paid ahead, all material at the launch", HAND, [0, 0, 0, 0, -200, 0],
               [*at_once[BOUGHT_OUT].tolist(), *at_once[MATERIAL].tolist()], 1e-6)
    book = [dict(order, promised="2027-02-01") for order in ORDERS]
    changed = cash_of(*small(orders=book, order_changes={
        "stated": [{"date": "2027-01-20", "serial": "S4", "deferred_days": 10}]}))
    yield each("an order put off by ten days, from the slot of 15 February to that of 1 March: late against its new "
               "date by 20 days", HAND, [0, -20, -200], changed[CONCEDED].tolist(), 1e-6)


def value() -> Iterator[Check]:
    """Stretches of the run: to 19 January, to February, to March, to 21 March, to April: 15, 13, 28, 20, 11 days. An
    aircraft stands 56.5 h; five stretches of work of 400 each, put in at their middle, stand 52.25, 43.75, 28.25,
    19.75 and 4.25 h: 148.25 in all. On 19 January S2 has its material and Monday's sixteen hours."""
    sheet, run = small()
    found = in_the_plant(sheet, run)
    yield each("value in the plant at the end of each stretch", HAND, [300 + 800, 0, 0, 0, 0], found.at_end.tolist(),
               1e-6)
    mean = [(100 * 56.5 + 400 * 148.25 + 300 * 18 + 400 * (13.75 + 5.25)) / 360,
            (300 * 38.5 + 800 * 38.5 + 400 * 52.25) / 312, 2 * (100 * 56.5 + 400 * 148.25) / 672, 0, 0]
    yield each("mean value in the plant in each stretch", HAND, mean, found.mean.tolist(), 1e-6)
    days = (15, 13, 28, 20, 11)
    cost = [0.1 * m * n / 365 for m, n in zip(mean, days, strict=True)]
    yield each("its carrying cost at a tenth a year", HAND, cost,
               found.carrying.tolist(), 1e-6)


def behind() -> Iterator[Check]:
    """Standard hours behind aircraft that stand in C (half done), in B with 2 of 8 h left, and in B with b1 done and
    half of the rest (b2: a share of 0.5 of the aircraft of model D)."""
    work = {"trade": "T"}
    sheet, _ = small(
        trades={"T": {"people": 1}, "U": {"people": 1}, "INS": {"people": 1}},
        positions=[
            {"id": "A", "packages": [{"id": "a", "hours": 10, "inspection_hours": 0.5, **work}]},
            {"id": "B", "docks": 3, "packages": [
                {"id": "b1", "hours": 8, **work}, {"id": "b2", "hours": 4, "chance": 0.5, "models": ["D"], **work},
                {"id": "b3", "kind": "hold", "elapsed_hours": 5}, {"id": "b4", "kind": "buy-off", "hours": 2}]},
            {"id": "C", "packages": [{"id": "c", "trade": "U", "hours": 6}]}],
        orders=[{"serial": name, "model": "D"} for name in ("Z1", "Z2", "Z3")] + [{"serial": "Z4", "model": "E"}],
        on_the_line=[{"serial": "Z1", "at": "C", "remaining_share": 0.5},
                     {"serial": "Z2", "at": "B", "hours_left": {"b1": 2}},
                     {"serial": "Z3", "at": "B", "packages_done": ["b1"], "remaining_share": 0.5},
                     {"serial": "Z4", "at": "B", "packages_done": ["b1", "b2", "b3", "b4"]}])
    hours = hours_before_start(sheet)
    for serial, expected in (("Z1", [20, 3, 2.5]), ("Z2", [16, 0, 0.5]), ("Z3", [19, 0, 0.5]), ("Z4", [18, 0, 2.5])):
        yield each(f"hours by trade behind an aircraft at the start, case {serial}", HAND, expected,
                   hours[serial].tolist(), 1e-9)


PROOFS = (Proof("cash by hand", cash), Proof("value in the plant by hand", value),
          Proof("work behind aircraft at the start by hand", behind))
