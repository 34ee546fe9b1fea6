"""Random plants like the others, made so that one group of rules matters: launches, mate with parking, pauses of areas.
"""

from __future__ import annotations

from datetime import timedelta
from random import Random

import plants
from plain_numbers import Scenario
from plants import START


def launch_plant(seed: int) -> Scenario:
    """A free-flow plant by a rate plan with dated steps, with orders held until a date, saturated, or a list with
    launches on one moment; branches may be launched each by itself."""
    luck = Random(f"launch {seed}")
    scenario = plants.plant(3000 + seed)[1]
    ahead = len(scenario["orders"]) - len(scenario.get("on_the_line", []))
    kind = luck.choice(("plan", "plan", "plan", "saturated", "moments"))
    launches: Scenario = {}
    if kind == "plan":
        takts = (0.25, 0.5, 0.75, 1, 1.5, 2)
        launches["takt_work_days"] = luck.choice(takts)
        days = sorted(luck.sample(range(0, 14), luck.randint(0, 3)))
        launches["steps"] = [{"from": f"{START + timedelta(day)}", "takt_work_days": luck.choice(takts)}
                             for day in days]
        if luck.random() < 0.4:
            launches["first"] = plants.moment(luck.randrange(0, 300))
    elif kind == "saturated":
        launches["saturated"] = True
    else:
        launches["moments"] = [plants.moment(n) for n in sorted(luck.choices(range(0, 600, 4), k=ahead))]
    if luck.random() < 0.3 and kind != "saturated":
        launches["launch_dates"] = "hold"
        for order in scenario["orders"]:
            if luck.random() < 0.5:
                order["launch"] = f"{START + timedelta(luck.randrange(0, 12))}"
    scenario["launches"] = launches
    if luck.random() < 0.6:
        scenario["work_rules"]["halves"] = "each by itself"
    return scenario


def mate_plant(seed: int) -> Scenario:
    """Halves and aircraft that come back want the same place, often in one instant: hours are few and whole."""
    luck = Random(f"mate {seed}")
    docks = luck.choice((1, 1, 2))
    positions: list[Scenario] = [
        {"id": "A", "half": "fuselage"}, {"id": "B", "half": "wing", "docks": luck.choice((1, 2))},
        {"id": "M", "docks": docks, "parking": luck.choice((0, 1, 1, 2))},
        {"id": "R", "docks": luck.choice((1, 2)), "back_to": {"position": "M", "chance": 0}},
        {"id": "T", "back_to": {"position": luck.choice(("M", "R")), "chance": 0}}][:luck.choice((4, 5))]
    for position in positions:
        position["packages"] = [{"id": position["id"].lower(), "kind": "hold", "elapsed_hours": 1}]
    orders: list[Scenario] = [{"serial": f"S{n}"} for n in range(1, luck.randint(4, 8))]
    for order in orders:
        order["promised"] = f"{START + timedelta(20 + luck.randrange(5))}"
    hours = luck.choice(((1, 2), (1, 1, 2, 3), (2, 4, 6)))
    return {
        "name": f"Mate {seed}", "start": f"{START}", "end": f"{START + timedelta(plants.DAYS - 1)}",
        "shifts": {"day": {"work": ["06:00-14:00"]}}, "trades": {"INS": {"people": {"day": 1}}},
        "work_rules": {"crew_grows": True}, "positions": positions, "orders": orders, "calendar": {"closed": []},
        "launches": {"moments": [plants.moment(4 * n) for n in range(len(orders))]},
        "known": {"goings_back": [{"serial": order["serial"], "position": p["id"], "times": luck.choice((0, 1, 1, 2))}
                                  for p in positions if "back_to" in p for order in orders],
                  "hours": [{"serial": order["serial"], "package": p["id"].lower(), "repeat": n,
                             "hours": luck.choice(hours)} for order in orders for p in positions for n in range(9)]}}


def pause_plant(seed: int) -> Scenario:
    """Areas with pauses of their own in the middle of the shift of their people, of whom there are too few."""
    luck = Random(f"pause {seed}")
    scenario = plants.plant(5000 + seed)[1]
    scenario["shifts"] = {"day": {"work": ["06:00-14:00"]}, "bay": {"work": ["06:00-09:00", "10:30-14:00"]},
                          "shop": {"work": ["06:00-07:30", "08:00-12:00", "13:00-14:00"]}}
    scenario.pop("tool_control", None)
    scenario["work_rules"]["crew_grows"] = True
    scenario["known"].pop("present", None)
    for name, trade in scenario["trades"].items():
        trade["people"] = {"day": 1 if name == "INS" else luck.randint(2, 4)}
    for position in scenario["positions"]:
        position.pop("shifts", None)
        if luck.random() < 0.6:
            position["shifts"] = [luck.choice(("bay", "shop"))]
        for package in position["packages"]:
            if package.get("trade") in (None, "INS"):
                continue
            package.pop("crew", None)
            package.pop("crew_min", None)
            package["crew_max"] = 2
            if luck.random() < 0.2:
                package.pop("crew_max")
                package["crew"] = 2
    return scenario
