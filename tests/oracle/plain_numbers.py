"""A scenario that uses what the plants of these tests or a worked example use, in plain numbers for the textbook."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from typing import Any

from textbook_calendar import DAY, RatePlan, Shift, Span
from textbook_plant import Dispatch, Order, Package, Plant, Position, Pulse

Scenario = dict[str, Any]
Spans = dict[str, tuple[Span, ...]]


def plain(scenario: Scenario) -> Plant:
    """The plain numbers of a scenario that uses what `plant` or a worked example of the floor rules uses."""
    known, control = scenario["known"], scenario.get("tool_control", {})
    launches, orders, start = scenario["launches"], scenario["orders"], date.fromisoformat(scenario["start"])
    standing = {aircraft["serial"]: tuple(aircraft["at"]) for aircraft in scenario.get("on_the_line", [])}
    moments = iter(launches.get("moments") or [f"{start} 00:00"] * len(orders))
    return Plant(
        start=start, end=date.fromisoformat(scenario["end"]),
        shifts={name: _plain_shift(shift, control) for name, shift in scenario["shifts"].items()},
        trades={name: trade["people"] for name, trade in scenario["trades"].items()},
        positions=_plain_positions(scenario["positions"], _by_name("position", start, known.get("out_of_service", []))),
        orders=tuple(Order(
            o["serial"], date.fromisoformat(o["promised"]) if "promised" in o else None,
            Fraction(0) if o["serial"] in standing else _since(start, next(moments)), standing.get(o["serial"], ()),
            _since(start, f"{o['launch']} 00:00") if "launch" in o and launches.get("launch_dates") == "hold"
            else Fraction(0))
            for o in orders),
        hours=_hours(scenario),
        rate_plan=_rate_plan(start, launches), pulse=_pulse(start, scenario.get("pulse")),
        halves_apart=scenario["work_rules"].get("halves") == "each by itself",
        crew_grows=scenario["work_rules"]["crew_grows"],
        dispatch=_dispatch(scenario["work_rules"]), reserve=scenario["work_rules"].get("reserve", False),
        own_dispatch={n: _dispatch(trade) for n, trade in scenario["trades"].items() if "dispatch" in trade},
        closed=frozenset(map(date.fromisoformat, scenario["calendar"]["closed"])),
        present={(k["trade"], k["shift"], date.fromisoformat(k["date"])): k["people"]
                 for k in known.get("present", [])},
        missing=frozenset((k["serial"], k["package"]) for k in known.get("packages", []) if not k["exists"]),
        late={(k["serial"], k["package"]): Fraction(k["work_days"]) for k in known.get("late_parts", [])},
        goings_back={(k["serial"], k["position"]): k["times"] for k in known.get("goings_back", [])},
        repeats={(k["serial"], k["position"]): k["times"] for k in known.get("repeats", [])},
        locks=_by_name("serial", start, known.get("tool_locks", [])))


def _rate_plan(start: date, launches: Scenario) -> RatePlan | None:
    if "takt_work_days" not in launches:
        return None
    steps = tuple((date.fromisoformat(step["from"]), Fraction(step["takt_work_days"]))
                  for step in launches.get("steps", []))
    first = _since(start, launches["first"]) if "first" in launches else Fraction(0)
    return RatePlan(Fraction(launches["takt_work_days"]), steps, first)


def _pulse(start: date, pulse: Scenario | None) -> Pulse | None:
    if pulse is None:
        return None
    return Pulse(
        tuple(pulse["positions"]), _since(start, pulse["first"]) if "first" in pulse else None,
        those_behind=pulse.get("stops") == "those behind", keep_the_plan=pulse.get("after_stop") == "keep the plan",
        decide_before=Fraction(pulse.get("decide_hours_before", 0)),
        roll_out_on_pulse=pulse.get("roll_out") == "on the pulse",
        max_share=Fraction(pulse.get("travel_max_share", 0)), multiplier=Fraction(pulse.get("travel_multiplier", 1)))


def _hours(scenario: Scenario) -> dict[tuple[str, str, int], Fraction]:
    known = scenario["known"].get("hours", [])
    again = 1 + max((k.get("repeat", 0) for k in known), default=0)
    again += sum(k["times"] for key in ("goings_back", "repeats") for k in scenario["known"].get(key, []))
    hours = {(order["serial"], p["id"], n): Fraction(p.get("elapsed_hours", p.get("hours", 0)))
             for order in scenario["orders"] for position in scenario["positions"] for p in position["packages"]
             for n in range(again)}
    return hours | {(h["serial"], h["package"], h.get("repeat", 0)): Fraction(h["hours"]) for h in known}


def _by_name(what: str, start: date, known: list[Scenario]) -> Spans:
    spans: Spans = {}
    for out in known:
        begins = _since(start, out.get("from") or f"{out['date']} 00:00")
        ends = _since(start, out["to"]) if "to" in out else begins + DAY
        spans[out[what]] = (*spans.get(out[what], ()), (begins, ends))
    return spans


def _dispatch(rule: Scenario) -> Dispatch:
    given = rule.get("dispatch", "promised date")
    return given if isinstance(given, str) else tuple(given["places"])


def _since(start: date, moment: str) -> Fraction:
    day, clock = moment.split()
    return Fraction((date.fromisoformat(day) - start).days * 1440 + _minutes(clock))


def _plain_shift(shift: Scenario, control: Scenario) -> Shift:
    weekdays = tuple(("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun").index(day)
                     for day in shift.get("weekdays", ("Mon", "Tue", "Wed", "Thu", "Fri")))
    if "work" in shift:
        spans = [block.split("-") for block in shift["work"]]
        return Shift(tuple((_minutes(a), _minutes(b)) for a, b in spans), weekdays=weekdays)
    return Shift(
        start=_minutes(shift["start"]), end=_minutes(shift["end"]), meal=shift.get("meal_minutes", 0),
        breaks=shift.get("paid_break_minutes", 0), meeting=shift.get("meeting_minutes", 0),
        clean_down=shift.get("clean_down_minutes", 0), start_check=control.get("start_check_minutes", 0),
        end_check=control.get("end_check_minutes", 0), weekdays=weekdays)


def _beyond(position: Scenario, beyond: list[str]) -> str | None:
    to = position.get("next", beyond[0] if beyond else "out")
    return None if to == "out" else to


def _plain_positions(positions: list[Scenario], outages: Spans) -> tuple[Position, ...]:
    plain_ones = []
    for n, position in enumerate(positions):
        half = position.get("half", "")
        beyond = [p["id"] for p in positions[n + 1:] if p.get("half", "") in (half, "")]
        packages, above = [], None
        for p in position["packages"]:
            after = p.get("after", [above] if above else [])
            least, most = p.get("crew", p.get("crew_min", 1)), p.get("crew", p.get("crew_max", 1))
            packages.append(Package(p["id"], p.get("kind", "work"), p.get("trade"), least, most, tuple(after),
                                    Fraction(p.get("inspection_hours", 0)), p.get("can_travel", False),
                                    p.get("latest_position")))
            above = p["id"]
        plain_ones.append(Position(
            position["id"], tuple(packages), position.get("docks", 1), position.get("parking", 0), half,
            tuple(position.get("shifts", ())), _beyond(position, beyond),
            position.get("back_to", {}).get("position"),
            outages.get(position["id"], ())))
    return tuple(plain_ones)


def _minutes(clock: str) -> int:
    hours, minutes = clock.split(":")
    return int(hours) * 60 + int(minutes)
