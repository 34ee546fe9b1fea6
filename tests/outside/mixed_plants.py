"""Small plants of every kind of rule, mixed by a seed, on which a run must keep what can be read off its records.

A plant has a handful of aircraft, fixed hours and two or three subjects at once: numbers that fall, cover, overtime,
areas that close, parking and locks, tools, defects, a pulse, halves, rings. The luck that is left (absence, tools,
breakdowns) stands in the records.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date, timedelta
from functools import lru_cache
from random import Random
from typing import Any

from linesim.line.floor import run_once
from linesim.line.records import Records
from linesim.line.sheet import Sheet
from linesim.scenario.reading import parse_scenario

START = date(2027, 1, 4)  # a Monday
DAYS = 56
Plant = dict[str, Any]
TRADES = ("MEC", "RIG", "AVX")
LONG_DAY = {"start": "06:00", "end": "14:30", "meal_minutes": 30, "paid_break_minutes": 20, "meeting_minutes": 10,
            "clean_down_minutes": 10}
PLAIN_DAY = {"work": ["06:00-10:00", "10:30-14:30"]}
EVENING = {"work": ["14:30-18:30", "19:00-22:00"], "productivity": 0.8}
ON_THE_CLOCK = {"day": LONG_DAY, "early": {"start": "06:00", "end": "11:00"},
                "late": {"start": "09:30", "end": "17:00"},
                "evening": {"start": "14:30", "end": "22:30", "meal_minutes": 30, "productivity": 0.8}}


def day(n: int) -> str:
    return f"{START + timedelta(n)}"


def moment(luck: Random, first: int, last: int, hours: tuple[int, int] = (0, 23)) -> str:
    return f"{day(luck.randint(first, last))} {luck.randint(*hours):02d}:{luck.choice((0, 15, 30, 45)):02d}"


def plain(luck: Random) -> Plant:
    """The plant that every subject adds to."""
    evening = luck.random() < 0.5
    shifts = {"day": dict(luck.choice((LONG_DAY, PLAIN_DAY))), **({"evening": dict(EVENING)} if evening else {})}
    trades: Plant = {}
    for trade in TRADES:
        trades[trade] = {"people": {"day": luck.randint(2, 4)}, "usd_per_hour": luck.choice((30, 42.5))}
        if evening and luck.random() < 0.6:
            trades[trade]["people"]["evening"] = luck.randint(1, 2)
    trades["INS"] = {"people": {"day": luck.randint(1, 2)}, "usd_per_hour": 50}
    positions = [position(luck, f"P{n}") for n in range(1, luck.randint(4, 5))]
    orders = [{"serial": f"S{n}", "promised": day(8 + 5 * n + luck.randint(-6, 6))}
              for n in range(1, luck.randint(7, 9))]
    last, more = luck.choice(((DAYS - 1, 0), (DAYS - 1, 0), (34, 1)))
    return {"name": "mixed", "start": day(0), "end": day(last), "run_on_months": more, "shifts": shifts,
            "trades": trades, "positions": positions, "orders": orders,
            "calendar": {"closed": [day(16)] if luck.random() < 0.5 else []},
            "launches": {"takt_work_days": luck.choice((1, 1.5, 2))}, "work_rules": {}, "known": {},
            "window": {"from": day(luck.choice((0, 3, 7))), "to": day(last - luck.choice((0, 2, 5)))},
            "money": {"evening_premium": 0.1}}


def position(luck: Random, name: str) -> Plant:
    packages: list[Plant] = []
    for n in range(luck.randint(2, 4)):
        package: Plant = {"id": f"{name}{'abcd'[n]}", "trade": luck.choice(TRADES), "hours": luck.randint(4, 36) / 2,
                          **luck.choice(({}, {"crew": 2}, {"crew_max": 2}, {"crew_max": 3}, {"crew_min": 2,
                                                                                             "crew_max": 4}))}
        if n and luck.random() < 0.5:
            package["after"] = [] if luck.random() < 0.4 else [luck.choice(packages)["id"]]
        if luck.random() < 0.3:
            package["inspection_hours"] = luck.choice((0.5, 1.5))
        packages.append(package)
    if luck.random() < 0.3:
        packages.insert(luck.randint(0, len(packages)), {"id": f"{name}h", "kind": "hold",
                                                          "elapsed_hours": luck.randint(2, 40), "after": []})
    if luck.random() < 0.6:
        packages.append({"id": f"{name}q", "kind": "buy-off", "hours": luck.choice((0.5, 1, 2)),
                         "after": [p["id"] for p in packages]})
    return {"id": name, **luck.choice(({}, {"area": "Hall"})), "docks": luck.choice((1, 1, 2)),
            "parking": luck.choice((0, 0, 1)), "packages": packages}


# subjects --------------------------------------------------------------------------------------------------------
def falling_numbers(luck: Random, plant: Plant) -> None:
    """Dated steps, and people really there on some dates."""
    for trade in (*TRADES, "INS"):
        if luck.random() < 0.6:
            plant["trades"][trade]["headcount_steps"] = [
                {"from": day(n), "shift": "day", "people": luck.randint(1, 4)}
                for n in sorted(luck.sample(range(1, 30), luck.randint(1, 3)))]
    shifts = {trade: list(of["people"]) for trade, of in plant["trades"].items()}
    plant["known"]["present"] = [{"trade": trade, "shift": shift, "date": day(n), "people": luck.randint(0, 3)}
                                 for trade in TRADES for shift in shifts[trade]
                                 for n in luck.sample([d for d in range(30) if d % 7 < 5], 5)]


def absence(luck: Random, plant: Plant) -> None:
    plant.setdefault("attendance", {}).update({
        "absence": {"share": 0.15, "spell_shifts": luck.choice((None, 3)), "paid": luck.random() < 0.5},
        "leave": luck.choice(({"share": 0.1}, {"weeks": 8, "in_blocks": True, "most_away": {"MEC": 2}, "paid": False})),
        "training_share": 0.05})
    if luck.random() < 0.6:
        plant["attendance"] |= {"turnover": {"annual_share": 0.95, "time_to_hire_work_days": 4},
                                "proficiency": {"start": 0.4, "weeks_to_full": 3, "trainer_drain": 0.2}}


def cover(luck: Random, plant: Plant) -> None:
    plant["trades"]["RIG"]["cover"] = {"MEC": 0.75, "AVX": 0.5}
    if luck.random() < 0.5:
        plant["trades"]["AVX"]["cover"] = {"MEC": 0.5}
    if luck.random() < 0.3:
        plant["trades"]["MEC"]["cover"] = {"RIG": 1.0}
    if luck.random() < 0.3:
        plant["trades"][luck.choice(("MEC", "AVX"))]["reserve"] = True


def overtime(luck: Random, plant: Plant) -> None:
    rules: Plant = {"trades": luck.choice((["MEC", "RIG"], ["MEC"], ["RIG", "AVX", "INS"])),
                    "max_hours_per_week": luck.choice((5, 8, 10)), "trigger_work_days_late": luck.choice((0, 2, 4)),
                    "when": luck.choice(("end of day", "end of day", "Saturday")), "premium": 1.4,
                    "effect_by_weekly_hours": {"44": 0.95, "50": 0.8}}
    rules |= luck.choice(({}, {"people": 1}, {"people": 2}))
    rules |= luck.choice(({}, {"extra_hours_only": True}, {"fatigue_after_weeks": 1, "extra_loss_after": 0.2}))
    if luck.random() < 0.3 and "saturated" not in plant["launches"]:
        rules["trigger_launches_behind_work_days"] = 1
        del rules["trigger_work_days_late"]
    plant.setdefault("attendance", {})["overtime"] = rules


def areas(luck: Random, plant: Plant) -> None:
    """Places with hours of their own, in service on Monday, out of service by chance or as known."""
    plant["shifts"] |= {"early": {"work": ["06:00-11:00"]}, "late": {"work": ["09:30-17:00"]}}
    for place in plant["positions"]:
        if luck.random() < 0.5:
            place["shifts"] = luck.choice((["early"], ["late"], ["early", "late"], ["day"]))
        if luck.random() < 0.4:
            place["out_of_service"] = luck.choice(({"weekly_hours": 3}, {"climate_share": 0.15},
                                                   {"hours_up": {"exponential": 60}, "hours_down": {"exponential": 9}}))
    plant["known"]["out_of_service"] = [{"position": plant["positions"][0]["id"], "from": f"{day(9)} 08:00",
                                         "to": f"{day(9)} 12:45"}, {"position": "P2", "date": day(10)}]


def light(luck: Random, plant: Plant) -> None:
    plant["daylight"] = {"by_month": dict.fromkeys(range(1, 13), luck.choice(("08:15-13:30", "09:00-16:30")))}
    for place in plant["positions"]:
        luck.choice(place["packages"][:2])["needs_daylight"] = True
    for place in plant["positions"]:
        for package in place["packages"]:
            if package.get("kind", "work") != "work":
                package.pop("needs_daylight", None)


def locks(luck: Random, plant: Plant) -> None:
    for place in plant["positions"][1:]:
        place["parking"] = luck.choice((1, 2))
    plant["known"]["tool_locks"] = [{"serial": f"S{luck.randint(1, 5)}", "from": at, "to": f"{at[:10]} 23:30"}
                                    for at in (moment(luck, 2, 30, (5, 20)) for _ in range(9))]


def tools(luck: Random, plant: Plant) -> None:
    """Checks at both ends of the shift."""
    plant["shifts"] = {name: dict(ON_THE_CLOCK[name]) for name in plant["shifts"]}
    plant["tool_control"] = {"start_check_minutes": 12, "end_check_minutes": 6}
    if luck.random() < 0.5:
        plant["tool_control"]["missing_tool"] = {"chance": luck.choice((0.04, 0.15)),
                                                 "search_hours": {"uniform": {"low": 1, "high": 9}}}
        return
    plant["tool_control"]["torque_recall"] = {"chance": luck.choice((0.3, 1.0)), "hours": 1.25, "extra_minutes": 5}
    for place in plant["positions"]:
        place["parking"] = 0
        for package in place["packages"]:
            if package.get("kind", "work") == "work" and luck.random() < 0.4:
                package["torque"] = True


def parts(luck: Random, plant: Plant) -> None:
    names = [p["id"] for place in plant["positions"] for p in place["packages"] if p.get("kind", "work") == "work"]
    plant["known"]["late_parts"] = [{"serial": order["serial"], "package": luck.choice(names),
                                     "work_days": luck.choice((0.5, 1, 2.25))} for order in plant["orders"]]
    plant["parts"] = {"long_lead": [{"item": "engine", "position": "P2", "late_chance": 0.5, "counts_from": luck.choice(
        ("arrival", "plan")), "delay_work_days": {"uniform": {"low": 0.5, "high": 4}}}]}


def defects(luck: Random, plant: Plant) -> None:
    facts = []
    for place in plant["positions"]:
        work = [p["id"] for p in place["packages"] if p.get("kind", "work") == "work"]
        if place["packages"][-1].get("kind") == "buy-off":
            place["packages"][-1]["gate"] = "position"
            facts += [{"serial": order["serial"], "package": luck.choice(work), "hours": luck.choice((1, 2.5)),
                       "found_by": luck.choice(("position", "position", "none", "end of line"))}
                      for order in plant["orders"] for _ in range(luck.randint(0, 2))]
    plant["positions"][-1]["packages"].append({
        "id": "EOL", "kind": "buy-off", "hours": 1.5, "gate": "end of line",
        "after": [p["id"] for p in plant["positions"][-1]["packages"]]})
    plant["quality"] = {"defects_per_100_hours": 4, "repair_hours": {"uniform": {"low": 0.5, "high": 3}},
                        "found_in_position": 0.6, "found_end_of_line": 0.7, "second_round_chance": 0.25,
                        "overtime_multiplier": 2, "travelled_multiplier": 1.5,
                        "where_found": {"later_position": 2, "after_close_up": 3},
                        "engineering": {"chance": 0.3, "work_days": {"uniform": {"low": 0.25, "high": 2}}}}
    if luck.random() < 0.5:
        plant["known"]["defects"] = facts


def pulse(luck: Random, plant: Plant) -> None:
    for n, place in enumerate(plant["positions"]):
        place |= {"docks": 1, "parking": 0}
        work = [p for p in place["packages"] if p.get("kind", "work") == "work"]
        if n + 1 < len(plant["positions"]):
            for package in work[-2:]:
                package["can_travel"] = luck.random() < 0.8
        for package in work:
            package["hours"] /= 2
    plant["positions"].append({"id": "OUT", "docks": 2, "packages": [{"id": "OUTa", "trade": "MEC", "hours": 3}]})
    names = [place["id"] for place in plant["positions"][:-1]]
    for package in (p for place in plant["positions"] for p in place["packages"] if p.get("can_travel")):
        package |= luck.choice(({}, {}, {"latest_position": names[-1]}))
    plant["launches"] = {"takt_work_days": luck.choice((1, 1.5, 2))}
    plant["pulse"] = {"positions": names, "travel_max_share": luck.choice((0.15, 0.4, 1)),
                      "travel_multiplier": luck.choice((1, 1.5)), "decide_hours_before": luck.choice((0, 0, 2)),
                      "stops": luck.choice(("whole line", "whole line", "those behind")),
                      "after_stop": luck.choice(("takt starts anew", "keep the plan")),
                      "roll_out": luck.choice(("when closed", "on the pulse"))}


def flying(luck: Random, plant: Plant) -> None:
    """Flight line, finishing with the certificate, the customer's bay."""
    plant["trades"] |= {"PIL": {"people": {"day": luck.choice((1, 2))}}, "FIN": {"people": {"day": 2}}}
    plant["positions"] = plant["positions"][:2]
    for place in plant["positions"]:
        for package in place["packages"]:
            if "hours" in package:
                package["hours"] = package["hours"] / 2
    month = dict.fromkeys(range(1, 13), luck.choice(("07:30-17:00", "09:00-14:00")))
    plant["daylight"] = {"by_month": month}
    if luck.random() < 0.7:
        plant["weather"] = {"flyable_share_by_month": dict.fromkeys(range(1, 13), 0.7), "day_to_day_correlation": 0.3}
    plant["known"]["flyable"] = [{"date": day(n), "flyable": luck.random() < 0.5} for n in range(20, 24)] + [
        {"date": day(n), "hour": luck.randint(8, 12), "flyable": False} for n in range(10, 30)]
    squawks: Plant = {"mean_by_flight": [3, 1.5, 0.5], "needs_reflight_share": 0.25, "grounding_share": 0.3,
                      "fix_hours": {"uniform": {"low": 0.5, "high": 2}}, "trades": {"MEC": 0.5, "AVX": 0.5},
                      "needs_part_share": 0.15, "part_delay_work_days": 1.5, "inspection_hours": luck.choice((0, 0.5))}
    rules = {"pilots": "PIL", "pilot_hours": luck.choice((2, 2.5)), "flight_hours": luck.choice((1, 1.5)),
             "mechanics": "MEC", "preflight_hours": 1, "min_flights": luck.choice((1, 2)), "squawks": squawks,
             "preflight_valid": luck.choice(("until flown", "same shift"))}
    rules |= luck.choice(({}, {"max_flights_per_day": 1}, {"max_flights_per_day": 2, "max_duty_hours": 6}))
    accept = {"weekdays": ["Mon", "Wed", "Fri"], "slots_per_day": luck.choice((1, 2)), "duration_work_days": 1.5,
              "notice_work_days": luck.choice((0, 2)), "delivery_trade": "FIN", "delivery_hours": 3, "pilots": "PIL",
              "pilot_hours": 1.5, "refusal_chance": 0.2}
    accept |= luck.choice(({}, {"earliest_days_before_promise": 2}, {"notice_from": "certificate"}))
    plant["positions"] += [
        {"id": "FL", "docks": 2, "parking": 1, "packages": [{"id": "FLa", "trade": "MEC", "hours": 4},
                                                            {"id": "FLq", "kind": "buy-off", "hours": 1}],
         "flights": rules},
        {"id": "FC", "docks": 2, "parking": 1, "packages": [
            {"id": "FCa", "trade": "FIN", "hours": 6, "crew_max": 2}, {"id": "FCr", "trade": "INS", "hours": 2},
            {"id": "FCz", "kind": "appointment", "weekdays": ["Tue", "Thu"], "slots_per_day": 2, "records": "FCr",
             "return_chance": 0.2, "certificate": True}]},
        {"id": "AC", "docks": 2, "parking": 1, "packages": [], "acceptance": accept}]


def halves(luck: Random, plant: Plant) -> None:
    first = [position(luck, name) | {"half": half, "docks": luck.choice((1, 2))}
             for name, half in (("F1", "fuselage"), ("F2", "fuselage"), ("W1", "wing"))]
    plant["positions"] = [*first, *plant["positions"]]
    plant["work_rules"] |= {"halves": luck.choice(("together", "each by itself"))}


def back(luck: Random, plant: Plant) -> None:
    """Some go back two places, so that rings may close."""
    plant["positions"][2]["back_to"] = {"position": luck.choice(("P1", "P2")), "chance": 0}
    for place in plant["positions"]:
        place["docks"] = luck.choice((1, 1, 2))
    plant["known"]["goings_back"] = [{"serial": order["serial"], "position": "P3", "times": luck.choice((0, 1, 1, 2))}
                                     for order in plant["orders"]]
    plant["work_rules"]["ring"] = luck.choice(("stuck", "exchange"))
    plant["launches"] = {"takt_work_days": 1}


def options(luck: Random, plant: Plant) -> None:
    """Other rules of serving, launching and moving."""
    rules = plant["work_rules"]
    rules |= luck.choice(({}, {"crew_grows": False}, {"crew_grows": False, "share": "minimum first"},
                          {"share": "minimum first"}))
    rules["dispatch"] = luck.choice(("promised date", "first come", "furthest along", {"places": ["P2"]}))
    if "pulse" not in plant:
        rules |= luck.choice(({}, {"moves": "reference shift"}, {"move_minutes": 45}))
        plant["launches"] |= luck.choice((
            {}, {"most_on_line": 3, "most_on_line_until": plant["positions"][-1]["id"]},
            {"most_on_line": 2, "most_on_line_until": "P2"}))


def holds(luck: Random, plant: Plant) -> None:
    plant["fleet_holds"] = [{"from": day(n + luck.randint(0, 12)), "serials": luck.sample(
        [order["serial"] for order in plant["orders"]], 3), "trade": "INS", "hours": 2.5} for n in (3, 17)]


def standing(luck: Random, plant: Plant) -> None:
    """The first of the book stand on the floor."""
    whole = [place for place in plant["positions"] if not place.get("half")]
    plant["on_the_line"] = [{"serial": f"S{n}", "at": place["id"], **luck.choice((
        {}, {"remaining_share": 0.4}, {"packages_done": [place["packages"][0]["id"]]}))}
        for n, place in enumerate(reversed(whole[1:3]), 1)]


def changes(luck: Random, plant: Plant) -> None:
    """Orders that are cancelled, put off or swapped, as stated and by chance on the first of a month."""
    serials = [order["serial"] for order in plant["orders"]]
    a, b, c, d = luck.sample(serials, 4)
    plant["order_changes"] = {
        "cancel_chance": 0.15, "defer_chance": luck.choice((0, 0.2)), "defer_days": 10, "swap_chance": 0.2,
        "cancelled": luck.choice(("resold", "resold", "built for stock")), "resold_after_work_days": 4,
        "stated": [{"date": day(2), "serial": a, "cancelled": True}, {"date": day(9), "serial": b, "swapped_with": c},
                   *luck.choice(([], [{"date": day(5), "serial": d, "deferred_days": 6}]))]}
    if luck.random() < 0.5 and "pulse" not in plant:
        plant["launches"] = {"saturated": True}


Subject = Callable[[Random, Plant], None]
FIRST: tuple[Subject, ...] = (halves, pulse, back, defects, locks, flying)  # what lays out the places
THEN: tuple[Subject, ...] = (falling_numbers, absence, cover, overtime, areas, light, tools, parts, options, holds,
                             standing, changes)
APART = {frozenset(pair) for pair in (
    (pulse, halves), (pulse, back), (pulse, standing), (back, halves),
    (defects, standing), (tools, areas),
    (flying, standing), (flying, light), (flying, tools), (changes, back), (changes, standing), (changes, holds))}


def plant(seed: int) -> Plant:
    """The plant of a seed: what lays out its places, and up to three more subjects, each seed others."""
    luck = Random(seed)
    found = plain(luck)
    taken: list[Subject] = []
    for subject in (FIRST[seed % len(FIRST)], THEN[seed % len(THEN)], *luck.sample(THEN, 2)):
        if subject not in taken and not any(frozenset((subject, one)) in APART for one in taken):
            taken.append(subject)
            subject(luck, found)
    return found


@lru_cache(maxsize=128)
def run(seed: int) -> tuple[Sheet, Records]:
    """The run of the plant of a seed."""
    sheet = Sheet(parse_scenario(json.dumps(plant(seed))))
    return sheet, run_once(sheet, seed, 0)
