"""Small random pulse lines: takts so short that the line often stops, work that travels, and what hinders a move.

As in the other plants all hours are facts on a grid of quarter hours; shares and multipliers are binary fractions, so
the instant at which the rest falls to the limit is exact as well.
"""

from __future__ import annotations

from datetime import timedelta
from random import Random

import plants
import textbook
from plain_numbers import Scenario, plain
from plants import DAYS, START

PULSE_CREWS = ((1, 1), (1, 1), (1, 2), (1, 2), (2, 2))
SHORT, MIDDLE, LONG = tuple(range(1, 9)), tuple(range(1, 17)), tuple(range(1, 33))     # hours, in quarters


def plant(seed: int) -> Scenario:
    """A pulse line, its feeders and what lies beyond it."""
    luck = Random(f"pulse {seed}")
    shifts = plants.some_shifts(luck)
    trades = plants.some_trades(luck, list(shifts))
    positions, line = _positions(luck, trades)
    _parts_of_the_day(luck, positions, list(shifts))
    orders = plants.some_orders(luck)
    scenario: Scenario = {
        "name": f"Pulse plant {seed}", "start": f"{START}", "end": f"{START + timedelta(DAYS - 1)}",
        "shifts": shifts, "trades": {name: {"people": people} for name, people in trades.items()},
        "work_rules": {"crew_grows": luck.random() < 0.7}, "positions": positions, "orders": orders,
        "calendar": {"closed": [f"{START + timedelta(n)}"
                                for n in luck.sample(range(1, 12), luck.choice((0, 0, 1, 2)))]},
        "launches": _rate_plan(luck), "pulse": _pulse(luck, line), "known": {}}
    if any(s.get("start") for s in shifts.values()):
        scenario["tool_control"] = {"start_check_minutes": luck.choice((0, 12)), "end_check_minutes": 9}
    if luck.random() < 0.3:
        scenario["work_rules"]["dispatch"] = luck.choice(("first come", "furthest along"))
    plants.options(luck, scenario)
    _facts(luck, scenario)
    _standing(luck, scenario, line)
    if luck.random() < 0.25:
        _lock(luck, scenario)
    return scenario


def travel_plant(seed: int) -> Scenario:
    """A pulse line on which most work may travel, people are few, and a buy-off may stand between work that may travel
    and work that must stay."""
    luck = Random(f"travel {seed}")
    scenario = plant(20000 + seed)
    line = [p for p in scenario["positions"] if p["id"] in scenario["pulse"]["positions"]]
    works = [t for t in scenario["trades"] if t != "INS"]
    scenario["pulse"] |= {"travel_max_share": luck.choice((0.25, 0.5, 1)), "travel_multiplier": luck.choice((1.5, 2))}
    scenario["launches"] = {"takt_work_days": luck.choice((0.25, 0.5, 0.75))}
    for place in line:
        place.pop("repeat_chance", None)
        for package in place["packages"]:
            if package.get("kind", "work") == "work":
                package["can_travel"] = luck.random() < 0.8
                if luck.random() < 0.7:
                    package.pop("latest_position", None)
        first = place["packages"][0]["id"]
        if luck.random() < 0.4:
            _work_behind_a_buy_off(luck, scenario, place, first, luck.choice(works))
    if luck.random() < 0.4:
        scenario["work_rules"]["dispatch"] = "first come"
    scenario["known"].pop("repeats")
    return scenario


def _work_behind_a_buy_off(luck: Random, scenario: Scenario, place: Scenario, first: str, trade: str) -> None:
    between, behind = f"{place['id']}x", f"{place['id']}y"
    place["packages"] += [
        {"id": between, "kind": "buy-off", "trade": "INS", "hours": 1, "after": [first]},
        {"id": behind, "trade": trade, "hours": 1, "after": [between], "can_travel": luck.random() < 0.3}]
    scenario["known"]["hours"] += [{"serial": order["serial"], "package": name, "hours": luck.choice(SHORT) / 4}
                                   for order in scenario["orders"] for name in (between, behind)]


def _lock(luck: Random, scenario: Scenario) -> None:
    """A tool is missing on an aircraft of the floor."""
    launched = textbook.told(plain(scenario)).launched
    if launched:
        serial = luck.choice(list(launched))
        begins = int(launched[serial] // 15) + luck.randrange(1, 150)
        scenario["known"]["tool_locks"] = [{"serial": serial, "from": plants.moment(begins),
                                            "to": plants.moment(begins + luck.randrange(1, 120))}]


def _positions(luck: Random, trades: plants.People) -> tuple[list[Scenario], list[str]]:
    """Pulse positions, at times two branches of one length before mate; then up to two places of free flow."""
    halves = [""] * luck.randint(2, 4)
    if luck.random() < 0.3:
        long = luck.randint(1, 2)
        halves = ["fuselage"] * long + ["wing"] * long + [""] * luck.randint(1, 2)
    places: list[Scenario] = [{"id": f"L{n}", **({"half": half} if half else {})} for n, half in enumerate(halves)]
    line = [place["id"] for place in places]
    places += [{"id": f"F{n}", "docks": luck.choice((1, 1, 2)), "parking": luck.choice((0, 0, 1))}
               for n in range(luck.choice((0, 1, 1, 2)))]
    travels = luck.choice((0, 0.4, 0.7, 0.9))
    for place in places:
        place["packages"] = [plants.some_package(luck, f"{place['id']}{letter}", trades, PULSE_CREWS)
                             for letter in "abcd"[:luck.randint(1, 4)]]
        plants.order_of_work(luck, place["packages"])
        if place["id"] in line:
            _travelling(luck, place, places, line, travels)
    return places, line


def _travelling(luck: Random, place: Scenario, places: list[Scenario], line: list[str], travels: float) -> None:
    half_of = {p["id"]: p.get("half", "") for p in places}
    beyond = [p for p in line if half_of[p] in ("", half_of[place["id"]])]
    beyond = beyond[beyond.index(place["id"]):]
    for package in place["packages"]:
        if package.get("kind", "work") == "work" and luck.random() < travels:
            package["can_travel"] = True
            if luck.random() < 0.3:
                package["latest_position"] = luck.choice(beyond)
    if luck.random() < 0.4:
        work = [p["id"] for p in place["packages"]]
        after = work if luck.random() < 0.6 else sorted(luck.sample(work, luck.randint(1, len(work))))
        place["packages"].append({"id": f"{place['id']}q", "kind": "buy-off", "trade": "INS", "hours": 1,
                                  "after": after})
    if luck.random() < 0.15 and not any(p.get("can_travel") for p in place["packages"]):
        place["repeat_chance"] = 0


def _parts_of_the_day(luck: Random, positions: list[Scenario], shifts: list[str]) -> None:
    for position in positions:
        if luck.random() < 0.1:
            position["shifts"] = [luck.choice(shifts)]


def _rate_plan(luck: Random) -> Scenario:
    takts = (0.25, 0.5, 0.5, 0.75, 1, 1, 1.5)
    plan: Scenario = {"takt_work_days": luck.choice(takts)}
    if luck.random() < 0.4:
        days = sorted(luck.sample(range(1, 20), luck.randint(1, 3)))
        plan["steps"] = [{"from": f"{START + timedelta(day)}", "takt_work_days": luck.choice(takts)} for day in days]
    if luck.random() < 0.2:
        plan["first"] = plants.moment(luck.randrange(0, 200))
    return plan


def _pulse(luck: Random, line: list[str]) -> Scenario:
    pulse: Scenario = {"positions": line, "travel_max_share": luck.choice((0, 0.125, 0.25, 0.25, 0.5, 1)),
                       "travel_multiplier": luck.choice((1, 1.25, 1.5, 2))}
    if luck.random() < 0.3:
        pulse["after_stop"] = "keep the plan"
    if luck.random() < 0.2 and "L0" in line:
        pulse["stops"] = "those behind"
    if luck.random() < 0.25:
        pulse["roll_out"] = "on the pulse"
    if luck.random() < 0.25:
        pulse["decide_hours_before"] = luck.choice((0.25, 0.5, 1, 3, 6))
    return pulse


def _facts(luck: Random, scenario: Scenario) -> None:
    known, serials = scenario["known"], [order["serial"] for order in scenario["orders"]]
    known["repeats"] = [{"serial": serial, "position": p["id"], "times": luck.choice((0, 0, 1))}
                        for p in scenario["positions"] if "repeat_chance" in p for serial in serials]
    again = max((fact["times"] for fact in known["repeats"]), default=0)
    quarters = luck.choice((SHORT, MIDDLE, MIDDLE, LONG))
    packages = [p for position in scenario["positions"] for p in position["packages"]]
    known["hours"] = [{"serial": s, "package": p["id"], "repeat": n, "hours": luck.choice(quarters) / 4}
                      for s in serials for p in packages for n in range(again + 1)]
    works = [p["id"] for p in packages if p.get("kind", "work") == "work"]
    if luck.random() < 0.3 and not again and works:
        known["late_parts"] = [{"serial": luck.choice(serials), "package": luck.choice(works),
                                "work_days": luck.choice((0.5, 1, 1.5, 2))}]
    if luck.random() < 0.3:
        trade = luck.choice(list(scenario["trades"]))
        known["present"] = [{"trade": trade, "shift": "day", "people": luck.randint(0, 3),
                             "date": f"{START + timedelta(n)}"} for n in luck.sample(range(10), 4)]


def _standing(luck: Random, scenario: Scenario, line: list[str]) -> None:
    """The first aircraft may stand on the line already, with empty positions between them."""
    free = [p["id"] for p in reversed(scenario["positions"]) if not p.get("half")]
    if luck.random() < 0.2:
        chosen = [place for place in free if luck.random() < 0.5][:len(scenario["orders"]) - 1]
        scenario["on_the_line"] = [{"serial": order["serial"], "at": [place]}
                                   for order, place in zip(scenario["orders"], chosen, strict=False)]
