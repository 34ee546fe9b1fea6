"""Turns a worked example of the floor rules into a scenario, and a run's records into its expected figures."""

from __future__ import annotations

from collections import Counter
from datetime import date, datetime, timedelta
from typing import Any


def scenario_of(example: dict[str, Any]) -> dict[str, Any]:
    """The example as a scenario in the scenario language."""
    given = example["given"]
    start = datetime.fromisoformat(given["start"])
    end = datetime.fromisoformat(given["end"]) - timedelta(days=1)
    known: dict[str, list[dict[str, Any]]] = {key: [] for key in (
        "present", "hours", "packages", "late_parts", "tool_locks", "flyable", "out_of_service", "squawks", "returns",
        "goings_back", "answers")}
    aircraft = given["aircraft"]
    positions = [_position(area, given, known, [a["serial"] for a in aircraft]) for area in given["areas"]]
    _facts(given, known)
    ahead = [a for a in aircraft if "at" not in a]
    plant = {
        "name": example["id"], "start": f"{start:%Y-%m-%d}", "end": f"{end:%Y-%m-%d}",
        "run_on_months": given.get("run_on_months", 0),
        "calendar": {"closed": given.get("closed", [])},
        "shifts": {name: {"work": ["-".join(block) for block in shift["work"]]}
                   for name, shift in given["shifts"].items()},
        "trades": {name: {"people": people, **_rules_of(name, given)} for name, people in given["trades"].items()},
        "work_rules": {"crew_grows": given.get("crew_grows", False), "reserve": given.get("reserve", False),
                       "share": given.get("share", "maximum first")},
        "positions": positions,
        "launches": {"moments": [a["launch"].replace("T", " ") for a in ahead if "launch" in a]},
        "orders": [{"serial": a["serial"], **({"promised": a["promised"]} if "promised" in a else {})}
                   for a in [*[a for a in aircraft if "at" in a], *ahead]],
        "on_the_line": [{"serial": a["serial"], "at": a["at"]} for a in aircraft if "at" in a],
        "known": {key: facts for key, facts in known.items() if facts}}
    if "launch_cap" in given:
        plant["launches"] |= {"most_on_line": given["launch_cap"]["max"],
                              "most_on_line_until": given["launch_cap"]["until"]}
    plant["fleet_holds"] = [{"from": hold["from"][:10], "serials": hold["serials"], "trade": hold["package"]["trade"],
                             "hours": hold["package"]["hours"]} for hold in given.get("fleet_holds", [])]
    if "spells" in given:
        plant["parts"] = {"long_lead": [
            {"item": package["item"], "position": area["id"], "packages": [package["id"]],
             "late_chance": given["chance"][package["item"]], "delay_work_days": given["delay"][package["item"]]}
            for area in given["areas"] for package in area["packages"] if "item" in package]}
        plant["common_luck"] = {"supplier_spells": [{**spell, "from": spell["from"][:10]} for spell in given["spells"]]}
    order = {a["serial"]: n for n, a in enumerate(aircraft)}
    plant["orders"].sort(key=lambda o: order[o["serial"]])
    if "pulse" in given:
        pulse = given["pulse"]
        plant["launches"] = {"takt_work_days": pulse["takt_workdays"]}
        plant["pulse"] = {"positions": pulse["positions"], "travel_multiplier": pulse["multiplier"],
                          "travel_max_share": pulse["max_share"]}
        if "first" in pulse:
            plant["pulse"]["first"] = pulse["first"].replace("T", " ")
        if "after_stop" in pulse:
            plant["pulse"]["after_stop"] = pulse["after_stop"]
    if "daylight" in given:
        plant["daylight"] = {"by_month": {m: "-".join(given["daylight"]) for m in range(1, 13)}}
    return plant


def _rules_of(trade: str, given: dict[str, Any]) -> dict[str, Any]:
    named = {"cover": given.get("cover", {}), "dispatch": given.get("dispatch_by_trade", {})}
    return {key: rules[trade] for key, rules in named.items() if trade in rules}


def _position(area: dict[str, Any], given: dict[str, Any], known: dict[str, Any],
              serials: list[str]) -> dict[str, Any]:
    position: dict[str, Any] = {"id": area["id"], "docks": area.get("docks", 1), "parking": area.get("parking", 0)}
    if "shift" in area:
        position["shifts"] = [area["shift"]]
    known["out_of_service"] += [{"position": area["id"], "date": day} for day in area.get("out_days", [])]
    first = given.get("first", [])
    if len(first) == 2:
        position.update(_half(area["id"], given))
    elif "next" in given and area["id"] in given["next"]:
        position["next"] = given["next"][area["id"]] or "out"
    names = Counter(p["id"] for a in given["areas"] for p in a["packages"])
    position["packages"] = [_package(p, area, known, serials, names) for p in area["packages"]]
    if "flight" in area:
        position["flights"] = _flights(area["flight"], known, serials)
    if area["id"] in given.get("feedback", {}):
        back = given["feedback"][area["id"]]
        position["back_to"] = {"position": next(iter(back.values()))[1], "chance": 0}
        known["goings_back"] += [{"serial": serial, "position": area["id"], "times": times}
                                 for serial, (times, _) in back.items()]
    return position


def _half(area: str, given: dict[str, Any]) -> dict[str, str]:
    """Which half passes an area: follow the routing from the two first places."""
    for half, at in zip(("fuselage", "wing"), given["first"], strict=True):
        name: str | None = at
        while name is not None:
            if any(a["id"] == name and a.get("join") for a in given["areas"]):
                break
            if name == area:
                return {"half": half}
            name = given["next"].get(name)
    return {}


def _package(package: dict[str, Any], area: dict[str, Any], known: dict[str, Any], serials: list[str],
             names: Counter[str]) -> dict[str, Any]:
    def name_of(short: str) -> str:  # ids are unique in a plant, in an example only in their area
        return f"{area['id']} {short}" if names[short] > 1 else short

    name, kind = name_of(package["id"]), package.get("kind", "work")
    line: dict[str, Any] = {"id": name, "kind": {"buyoff": "buy-off", "slot": "appointment"}.get(kind, kind)}
    for key in ("crew", "crew_max", "inspection_hours", "needs_daylight", "rework", "can_travel"):
        if key in package:
            line[key] = package[key]
    if "after" in package:
        line["after"] = [name_of(before) for before in package["after"]]
    if package.get("trade"):
        line["trade"] = package["trade"]
    if kind == "hold":
        line["elapsed_hours"] = package["elapsed_hours"]
    elif kind == "slot":
        line |= {"weekdays": package["days"], "slots_per_day": package["slots"], "records": package["records"]}
    elif isinstance(package["hours"], dict):
        known["hours"] += [{"serial": s, "package": name, "hours": h} for s, h in package["hours"].items()]
    else:
        line["hours"] = package["hours"]
    if "only" in package:
        known["packages"] += [{"serial": s, "package": name, "exists": s in package["only"]} for s in serials]
    known["answers"] += [{"serial": s, "package": name, "work_days": d}
                         for s, d in package.get("engineering", {}).items()]
    known["late_parts"] += [{"serial": s, "package": name, "work_days": d}
                            for s, d in package.get("short", {}).items()]
    return line


def _flights(flight: dict[str, Any], known: dict[str, Any], serials: list[str]) -> dict[str, Any]:
    for day, good in flight.get("flyable", {}).items():
        known["flyable"].append({"date": day, "flyable": good})
    for hour, good in flight.get("hourly", {}).items():
        known["flyable"].append({"date": hour[:10], "hour": int(hour[11:]), "flyable": good})
    for serial in serials:
        for number, found in flight["squawks"].get(serial, {}).items():
            known["squawks"].append({"serial": serial, "flight": int(number), "squawks": [
                {"trade": s["trade"], "hours": s["hours"], "grounding": s["grounding"],
                 "needs_reflight": s["reflight"], "part_work_days": s.get("part_workdays", 0)} for s in found]})
    return {"pilots": flight["pilot"], "pilot_hours": flight["pilot_hours"], "flight_hours": flight["flight_hours"],
            "mechanics": flight["mech"], "preflight_hours": flight["mech_hours"], "min_flights": flight["min_flights"]}


def _facts(given: dict[str, Any], known: dict[str, Any]) -> None:
    shift = next(iter(given["shifts"]))
    for trade, days in given.get("present", {}).items():
        known["present"] += [{"trade": trade, "shift": shift, "date": day, "people": n} for day, n in days.items()]
    known["tool_locks"] += [{"serial": lock["serial"], "from": lock["from"].replace("T", " "),
                             "to": lock["to"].replace("T", " ")} for lock in given.get("locks", [])]
    known["returns"] += [{"serial": serial, "times": sum(map(bool, tries))}
                         for serial, tries in given.get("returns", {}).items()]


def day_of(text: str) -> date:
    """The date of a text."""
    return date.fromisoformat(text[:10])
