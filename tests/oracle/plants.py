"""Small random plants, each told twice: in plain numbers for the textbook model and in the scenario language.

All hours are stated as facts, so nothing is drawn. They lie on a grid of quarter hours, and crews that may change are
of one or two people, so that every instant is a binary fraction of a minute and ties are exact in both models. Only
some plants have crews of one to three or two to four.
"""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction
from random import Random
from typing import Any

import textbook

START = date(2027, 1, 4)        # a Monday
DAYS = 90
TRADES = ("ASM", "RIG", "AVX")
CREWS = ((1, 1), (1, 1), (1, 2), (1, 2), (2, 2), (3, 3))
WIDE_CREWS = (*CREWS, (1, 3), (2, 3), (2, 4))
FINE, COARSE, WITH_NONE = tuple(range(1, 41)), (4, 8, 8, 16), (0, 0, 0, 4, 6, 8, 20)     # hours, in quarters
BLOCKS = (("06:00-10:00", "10:30-14:30"), ("06:00-14:00",), ("07:00-09:00", "09:15-12:00", "12:45-16:00"))
EVENINGS = (("14:30-18:30", "19:00-23:00"), ("13:00-17:00", "17:30-20:00"), ("22:00-26:00", "26:30-30:00"))
Scenario = dict[str, Any]
People = dict[str, dict[str, int]]
Crews = tuple[tuple[int, int], ...]
Outages = dict[str, tuple[textbook.Span, ...]]


def plant(seed: int) -> tuple[textbook.Plant, Scenario]:
    """A plant in plain numbers, and as a scenario."""
    luck = Random(seed)
    shifts = _shifts(luck)
    trades = _trades(luck, list(shifts))
    positions = _positions(luck, trades, list(shifts), luck.choice((CREWS, CREWS, CREWS, WIDE_CREWS)))
    orders = _orders(luck)
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
    _options(luck, scenario)
    _standing(luck, scenario)
    return plain(scenario), scenario


def _options(luck: Random, scenario: Scenario) -> None:
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
        scenario["known"]["out_of_service"] = [{"position": place, "from": _moment(begins),
                                                "to": _moment(begins + luck.randrange(1, 100))}]


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


def _moment(quarters: int) -> str:
    return f"{START + timedelta(quarters // 96)} {_clock(quarters % 96 * 15)}"


def wide(scenario: Scenario) -> bool:
    """Whether crews may change by thirds, so that instants are rounded."""
    return any(p.get("crew_max", 1) > 2 for position in scenario["positions"] for p in position["packages"])


def _clock(minutes: int) -> str:
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def _minutes(clock: str) -> int:
    hours, minutes = clock.split(":")
    return int(hours) * 60 + int(minutes)


def _shifts(luck: Random) -> Scenario:
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


def _trades(luck: Random, shifts: list[str]) -> People:
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
        position["packages"] = [_package(luck, f"{position['id']}{letter}", trades, crews)
                                for letter in "abcd"[:luck.randint(1, 4)]]
        _order_of_work(luck, position["packages"])
        before = [p["id"] for p in positions[:n + 1] if p.get("half") == position.get("half")]
        if luck.random() < 0.15:
            position["back_to"] = {"position": luck.choice(before), "chance": 0}
    return positions


def _package(luck: Random, name: str, trades: People, crews: Crews) -> Scenario:
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


def _order_of_work(luck: Random, packages: list[Scenario]) -> None:
    for n, package in enumerate(packages):
        chosen = luck.random()
        if chosen < 0.4:
            package["after"] = []
        elif chosen < 0.6 and n:
            package["after"] = sorted(luck.sample([p["id"] for p in packages[:n]], luck.randint(1, n)))


def _orders(luck: Random) -> list[Scenario]:
    orders: list[Scenario] = [{"serial": f"S{n}"} for n in range(1, luck.randint(3, 8) + 1)]
    for order in orders:
        if luck.random() < 0.8:     # few different dates: ties
            order["promised"] = f"{START + timedelta(20 + luck.randrange(5))}"
    return orders


def _moments(luck: Random, many: int) -> list[str]:
    hours, moments = Fraction(luck.randrange(0, 60), 4), []
    for _ in range(many):
        moments.append(_moment(int(hours * 4)))
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


def plain(scenario: Scenario) -> textbook.Plant:
    """The plain numbers of a scenario that uses what `plant` or a worked example of the floor rules uses."""
    known, control = scenario["known"], scenario.get("tool_control", {})
    launches, orders, start = scenario["launches"], scenario["orders"], date.fromisoformat(scenario["start"])
    standing = {aircraft["serial"]: tuple(aircraft["at"]) for aircraft in scenario.get("on_the_line", [])}
    moments = iter(launches.get("moments") or [f"{start} 00:00"] * len(orders))
    takt = launches.get("takt_work_days")
    return textbook.Plant(
        start=start, end=date.fromisoformat(scenario["end"]),
        shifts={name: _plain_shift(shift, control) for name, shift in scenario["shifts"].items()},
        trades={name: trade["people"] for name, trade in scenario["trades"].items()},
        positions=_plain_positions(scenario["positions"], _outages(start, known.get("out_of_service", []))),
        orders=tuple(textbook.Order(
            o["serial"], date.fromisoformat(o["promised"]) if "promised" in o else None,
            Fraction(0) if o["serial"] in standing else _since(start, next(moments)), standing.get(o["serial"], ()))
            for o in orders),
        hours=_hours(scenario),
        takt_work_days=None if takt is None else Fraction(takt), crew_grows=scenario["work_rules"]["crew_grows"],
        dispatch=_dispatch(scenario["work_rules"]), reserve=scenario["work_rules"].get("reserve", False),
        own_dispatch={n: _dispatch(trade) for n, trade in scenario["trades"].items() if "dispatch" in trade},
        closed=frozenset(map(date.fromisoformat, scenario["calendar"]["closed"])),
        present={(k["trade"], k["shift"], date.fromisoformat(k["date"])): k["people"]
                 for k in known.get("present", [])},
        missing=frozenset((k["serial"], k["package"]) for k in known.get("packages", []) if not k["exists"]),
        late={(k["serial"], k["package"]): Fraction(k["work_days"]) for k in known.get("late_parts", [])},
        goings_back={(k["serial"], k["position"]): k["times"] for k in known.get("goings_back", [])})


def _hours(scenario: Scenario) -> dict[tuple[str, str, int], Fraction]:
    known = scenario["known"].get("hours", [])
    again = 1 + max((k.get("repeat", 0) for k in known), default=0)
    again += sum(k["times"] for k in scenario["known"].get("goings_back", []))
    hours = {(order["serial"], p["id"], n): Fraction(p.get("elapsed_hours", p.get("hours", 0)))
             for order in scenario["orders"] for position in scenario["positions"] for p in position["packages"]
             for n in range(again)}
    return hours | {(h["serial"], h["package"], h.get("repeat", 0)): Fraction(h["hours"]) for h in known}


def _outages(start: date, known: list[Scenario]) -> Outages:
    outages: Outages = {}
    for out in known:
        begins = _since(start, out.get("from") or f"{out['date']} 00:00")
        ends = _since(start, out["to"]) if "to" in out else begins + textbook.DAY
        outages[out["position"]] = (*outages.get(out["position"], ()), (begins, ends))
    return outages


def _dispatch(rule: Scenario) -> textbook.Dispatch:
    given = rule.get("dispatch", "promised date")
    return given if isinstance(given, str) else tuple(given["places"])


def _since(start: date, moment: str) -> Fraction:
    day, clock = moment.split()
    return Fraction((date.fromisoformat(day) - start).days * 1440 + _minutes(clock))


def _plain_shift(shift: Scenario, control: Scenario) -> textbook.Shift:
    weekdays = tuple(("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun").index(day)
                     for day in shift.get("weekdays", ("Mon", "Tue", "Wed", "Thu", "Fri")))
    if "work" in shift:
        spans = [block.split("-") for block in shift["work"]]
        return textbook.Shift(tuple((_minutes(a), _minutes(b)) for a, b in spans), weekdays=weekdays)
    return textbook.Shift(
        start=_minutes(shift["start"]), end=_minutes(shift["end"]), meal=shift.get("meal_minutes", 0),
        breaks=shift.get("paid_break_minutes", 0), meeting=shift.get("meeting_minutes", 0),
        clean_down=shift.get("clean_down_minutes", 0), start_check=control.get("start_check_minutes", 0),
        end_check=control.get("end_check_minutes", 0), weekdays=weekdays)


def _beyond(position: Scenario, beyond: list[str]) -> str | None:
    to = position.get("next", beyond[0] if beyond else "out")
    return None if to == "out" else to


def _plain_positions(positions: list[Scenario], outages: Outages) -> tuple[textbook.Position, ...]:
    plain_ones = []
    for n, position in enumerate(positions):
        half = position.get("half", "")
        beyond = [p["id"] for p in positions[n + 1:] if p.get("half", "") in (half, "")]
        packages, above = [], None
        for p in position["packages"]:
            after = p.get("after", [above] if above else [])
            least, most = p.get("crew", p.get("crew_min", 1)), p.get("crew", p.get("crew_max", 1))
            packages.append(textbook.Package(p["id"], p.get("kind", "work"), p.get("trade"), least, most, tuple(after),
                                             Fraction(p.get("inspection_hours", 0))))
            above = p["id"]
        plain_ones.append(textbook.Position(
            position["id"], tuple(packages), position.get("docks", 1), position.get("parking", 0), half,
            tuple(position.get("shifts", ())), _beyond(position, beyond),
            position.get("back_to", {}).get("position"),
            outages.get(position["id"], ())))
    return tuple(plain_ones)
