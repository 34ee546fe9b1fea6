"""Small random plants, each told twice: in plain numbers for the textbook model and in the scenario language.

All hours are stated as facts, so nothing is drawn. They lie on a grid of quarter hours, and crews that may change are
of one or two people, so that every instant is a binary fraction of a minute and ties are exact in both models. Only
some plants have crews of one to three or two to four.
"""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction
from random import Random

from plain_numbers import Scenario, plain
from textbook_plant import Plant

START = date(2027, 1, 4)        # a Monday
DAYS = 90
TRADES = ("ASM", "RIG", "AVX")
CREWS = ((1, 1), (1, 1), (1, 2), (1, 2), (2, 2), (3, 3))
WIDE_CREWS = (*CREWS, (1, 3), (2, 3), (2, 4))
FINE, COARSE, WITH_NONE = tuple(range(1, 41)), (4, 8, 8, 16), (0, 0, 0, 4, 6, 8, 20)     # hours, in quarters
BLOCKS = (("06:00-10:00", "10:30-14:30"), ("06:00-14:00",), ("07:00-09:00", "09:15-12:00", "12:45-16:00"))
EVENINGS = (("14:30-18:30", "19:00-23:00"), ("13:00-17:00", "17:30-20:00"), ("22:00-26:00", "26:30-30:00"))
People = dict[str, dict[str, int]]
Crews = tuple[tuple[int, int], ...]


def plant(seed: int) -> tuple[Plant, Scenario]:
    """A plant in plain numbers, and as a scenario."""
    luck = Random(seed)
    shifts = some_shifts(luck)
    trades = some_trades(luck, list(shifts))
    positions = _positions(luck, trades, list(shifts), luck.choice((CREWS, CREWS, CREWS, WIDE_CREWS)))
    orders = some_orders(luck)
    going_back = {(order["serial"], p["id"]): luck.choice((0, 0, 1, 1, 2)) for p in positions if "back_to" in p
                  for order in orders}
    scenario: Scenario = {
        "name": f"Textbook plant {seed}", "start": f"{START}", "end": f"{START + timedelta(DAYS - 1)}",
        "shifts": shifts, "trades": {name: {"people": people} for name, people in trades.items()},
        "work_rules": {"crew_grows": luck.random() < 0.7}, "positions": positions, "orders": orders,
        "calendar": {"closed": [f"{START + timedelta(luck.randrange(1, 12))}"] if luck.random() < 0.3 else []},
        "known": {"goings_back": [{"serial": s, "position": p, "times": n} for (s, p), n in going_back.items()]}}
    if luck.random() < 0.3:
        scenario["work_rules"]["dispatch"] = luck.choice(("first come", "furthest along"))
    if any(s.get("start") for s in shifts.values()):
        scenario["tool_control"] = {"start_check_minutes": luck.choice((0, 12)), "end_check_minutes": 9}
    if luck.random() < 0.3:
        scenario["launches"] = {"takt_work_days": luck.choice((0.25, 0.5, 1, 1.5))}
    else:
        scenario["launches"] = {"moments": _moments(luck, len(orders))}
    _facts(luck, scenario, sum(going_back.values()))
    options(luck, scenario)
    _standing(luck, scenario)
    return plain(scenario), scenario


def options(luck: Random, scenario: Scenario) -> None:
    places = [position["id"] for position in scenario["positions"]]
    if luck.random() < 0.2:
        scenario["work_rules"]["reserve"] = True
    if luck.random() < 0.2:
        trade = luck.choice(list(scenario["trades"]))
        scenario["trades"][trade]["dispatch"] = luck.choice(
            ("first come", "furthest along", "promised date", {"places": luck.sample(places, luck.randint(1, 2))}))
    if luck.random() < 0.1:
        scenario["work_rules"]["dispatch"] = {"places": luck.sample(places, luck.randint(1, 2))}
    if luck.random() < 0.2:
        place, begins = luck.choice(places), luck.randrange(24 * 4, 24 * 4 * 12)
        scenario["known"]["out_of_service"] = [{"position": place, "from": moment(begins),
                                                "to": moment(begins + luck.randrange(1, 100))}]


def _standing(luck: Random, scenario: Scenario) -> None:
    """The first aircraft of the order book may stand on the floor already, the foremost furthest along."""
    if luck.random() > 0.2:
        return
    by_half: dict[str, list[str]] = {}
    for position in reversed(scenario["positions"]):
        by_half.setdefault(position.get("half", ""), []).append(position["id"])
    places = [[place] for place in by_half[""]]
    if len(by_half) > 1:
        places.append([by_half["fuselage"][0], by_half["wing"][0]])
    many = luck.randint(1, min(len(places), len(scenario["orders"]) - 1))
    scenario["on_the_line"] = [{"serial": order["serial"], "at": at}
                               for order, at in zip(scenario["orders"], places[:many], strict=False)]
    if "moments" in scenario["launches"]:
        del scenario["launches"]["moments"][:many]


def moment(quarters: int) -> str:
    return f"{START + timedelta(quarters // 96)} {_clock(quarters % 96 * 15)}"


def wide(scenario: Scenario) -> bool:
    """Whether crews may change by thirds, so that instants are rounded."""
    return any(p.get("crew_max", 1) > 2 for position in scenario["positions"] for p in position["packages"])


def _clock(minutes: int) -> str:
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def some_shifts(luck: Random) -> Scenario:
    if luck.random() < 0.2:     # on the clock, with what is taken out
        shifts: Scenario = {"day": {"start": "06:00", "end": "14:30", "meal_minutes": 30, "paid_break_minutes": 30,
                                    "meeting_minutes": luck.choice((0, 15)), "clean_down_minutes": 18}}
        if luck.random() < 0.5:
            shifts["eve"] = {"start": "14:30", "end": "23:00", "meal_minutes": 30}
        return shifts
    shifts = {"day": {"work": list(luck.choice(BLOCKS))}}
    if luck.random() < 0.5:
        shifts["eve"] = {"work": list(luck.choice(EVENINGS))}
        if luck.random() < 0.3:
            shifts["eve"]["weekdays"] = ["Mon", "Tue", "Thu", "Sat"]
    return shifts


def some_trades(luck: Random, shifts: list[str]) -> People:
    trades = {name: {"day": luck.randint(1, 4)} for name in TRADES[:luck.randint(1, 3)]}
    trades["INS"] = {"day": 1}
    for people in trades.values():
        if "eve" in shifts and luck.random() < 0.6:
            people["eve"] = luck.randint(1, 3)
    return trades


def _positions(luck: Random, trades: People, shifts: list[str], crews: Crews) -> list[Scenario]:
    positions: list[Scenario] = []
    halves = luck.random() < 0.4
    for n in range(luck.randint(3 if halves else 2, 6)):
        position: Scenario = {"id": f"P{n}", "docks": luck.choice((1, 1, 2)), "parking": luck.choice((0, 0, 1, 2))}
        if luck.random() < 0.15:
            position["shifts"] = [luck.choice(shifts)]
        positions.append(position)
    if halves:
        before = luck.randint(2, len(positions) - 1)
        wings = luck.randint(1, before - 1)
        for n, position in enumerate(positions[:before]):
            position["half"] = "fuselage" if n < before - wings else "wing"
    for n, position in enumerate(positions):
        position["packages"] = [some_package(luck, f"{position['id']}{letter}", trades, crews)
                                for letter in "abcd"[:luck.randint(1, 4)]]
        order_of_work(luck, position["packages"])
        before = [p["id"] for p in positions[:n + 1] if p.get("half") == position.get("half")]
        if luck.random() < 0.15:
            position["back_to"] = {"position": luck.choice(before), "chance": 0}
    return positions


def some_package(luck: Random, name: str, trades: People, crews: Crews) -> Scenario:
    kind = luck.choices(("work", "hold", "buy-off", "alone"), (7, 1, 1, 1))[0]
    if kind == "hold":
        return {"id": name, "kind": "hold", "elapsed_hours": 1}
    if kind == "buy-off":
        return {"id": name, "kind": "buy-off", "trade": "INS", "hours": 1}
    package: Scenario = {"id": name, "hours": 1}
    if kind == "work":
        package["trade"] = luck.choice([trade for trade in trades if trade != "INS"])
        can_be = max(trades[package["trade"]].values())    # a larger crew would wait for ever
        least, most = luck.choice([crew for crew in crews if crew[0] <= can_be])
        if least == most > 1:
            package["crew"] = most
        elif most > 1:
            package["crew_max"] = most
            if least > 1:
                package["crew_min"] = least
    if luck.random() < 0.25:
        package["inspection_hours"] = luck.choice((0.25, 0.5, 1, 2))
    return package


def order_of_work(luck: Random, packages: list[Scenario]) -> None:
    for n, package in enumerate(packages):
        chosen = luck.random()
        if chosen < 0.4:
            package["after"] = []
        elif chosen < 0.6 and n:
            package["after"] = sorted(luck.sample([p["id"] for p in packages[:n]], luck.randint(1, n)))


def some_orders(luck: Random) -> list[Scenario]:
    orders: list[Scenario] = [{"serial": f"S{n}"} for n in range(1, luck.randint(3, 8) + 1)]
    for order in orders:
        if luck.random() < 0.8:     # few different dates: ties
            order["promised"] = f"{START + timedelta(20 + luck.randrange(5))}"
    return orders


def _moments(luck: Random, many: int) -> list[str]:
    hours, moments = Fraction(luck.randrange(0, 60), 4), []
    for _ in range(many):
        moments.append(moment(int(hours * 4)))
        hours += luck.choice((0, Fraction(luck.randrange(1, 96), 4)))
    return moments


def _facts(luck: Random, scenario: Scenario, again: int) -> None:
    known, serials = scenario["known"], [order["serial"] for order in scenario["orders"]]
    packages = [p for position in scenario["positions"] for p in position["packages"]]
    quarters = luck.choice((FINE, FINE, COARSE, WITH_NONE))
    known["hours"] = [{"serial": s, "package": p["id"], "repeat": n, "hours": luck.choice(quarters) / 4}
                      for s in serials for p in packages for n in range(again + 1)]
    if luck.random() < 0.3:
        known["packages"] = [{"serial": luck.choice(serials), "package": luck.choice(packages)["id"], "exists": False}]
    if luck.random() < 0.3 and not again:
        works = [p["id"] for p in packages if p.get("kind", "work") == "work"]
        if works:
            known["late_parts"] = [{"serial": luck.choice(serials), "package": luck.choice(works),
                                    "work_days": luck.choice((0.5, 1, 1.5, 2))}]
    if luck.random() < 0.3:
        trade = luck.choice(list(scenario["trades"]))
        known["present"] = [{"trade": trade, "shift": "day", "people": luck.randint(0, 4),
                             "date": f"{START + timedelta(n)}"} for n in luck.sample(range(10), 3)]
