"""What averages alone say before anything is run, and what would change it: the answer of `linesim check`."""

from __future__ import annotations

import math
from typing import Any

from ..line.sheet import Sheet
from ..measures.paper import Load, critical_path_work_days, trade_loads
from ..measures.paper_months import (
    Months,
    flights_by_month,
    fullest,
    launches_by_month,
    places_by_month,
    stay_work_days,
    trades_by_month,
    whole_run,
)
from ..measures.paper_quality import gates_on_paper
from ..measures.present import Present, people_present
from .baseline import Answer
from .shares import percent

FULL = 1.0


def on_paper(sheet: Sheet) -> Answer | None:
    """Loads by month of trades, places and flight lines, critical paths against the takt, who is really there and what
    the gates find; None without a plan."""
    loads = loads_on_paper(sheet)
    if loads is None:
        return None
    takt = loads["takt, work days"]
    at_takt = {load.name: load for load in trade_loads(sheet, takt)} if takt else {}
    sentences = loads.pop("what would change it")
    numbers: dict[str, Any] = {}
    for name, found in loads.items():
        numbers[name] = found
        if name == "trades":
            numbers["people present"] = [_present(one, at_takt) for one in people_present(sheet, sheet.scenario.seed)]
    numbers["gates"] = [{
        "gate": gate.gate, "place": sheet.places[gate.place].id, "kind": gate.kind,
        "defects found per aircraft": round(gate.found, 2),
        "repair hours per aircraft": round(sum(gate.repair_hours.values()), 2),
        "done again": round(gate.done_again, 2),
        "repair hours if found on the flight line": round(gate.on_the_flight_line, 2)}
        for gate in gates_on_paper(sheet)]
    numbers["what would change it"] = sentences
    return Answer(numbers, sentences)


def loads_on_paper(sheet: Sheet) -> dict[str, Any] | None:
    """What of it is quick enough to follow every change of a file: launches, loads and critical paths."""
    launches = launches_by_month(sheet)
    if launches is None:
        return None
    takt = sheet.scenario.launches.takt_work_days
    trades, places = trades_by_month(sheet, launches), places_by_month(sheet, launches)
    flights = flights_by_month(sheet, launches)
    at_takt = {load.name: load for load in trade_loads(sheet, takt)} if takt else {}
    numbers: dict[str, Any] = {
        "takt, work days": takt,
        "launches by month": launches,
        "trades": [{"trade": name, "hours per aircraft": round(at_takt[name].hours_per_aircraft, 1) if takt else None,
                    "hours per takt": round(at_takt[name].hours_per_takt, 1) if takt else None,
                    "load": _share(at_takt[name].share) if takt else _whole(months), **_by_month(months)}
                   for name, months in trades.items()],
        "places": [{"place": place.id, "docks": place.docks,
                    "critical path, work days": round(critical_path_work_days(sheet, place), 3),
                    "critical path over takt": round(critical_path_work_days(sheet, place) / place.docks / takt, 3)
                    if takt else None, "shortest stay, work days": round(stay_work_days(sheet, place), 3),
                    "load": _whole(places[place.id]), **_by_month(places[place.id])} for place in sheet.places],
        "flight lines": [{"place": name, "flights asked for": round(whole_run(months).asked, 1),
                          "flights possible": round(whole_run(months).had, 1), "load": _whole(months),
                          **_by_month(months)} for name, months in flights.items()]}
    numbers["trades"].sort(key=lambda row: -math.inf if row["load"] is None else -row["load"])
    numbers["what would change it"] = _what_would_change_it(sheet, numbers, trades, flights)
    return numbers


def _present(one: Present, at_takt: dict[str, Load]) -> dict[str, Any]:
    """Who is really there; the load at the takt of those who are, by their work in fully able people."""
    load = at_takt[one.trade].share if one.trade in at_takt else None
    return {"trade": one.trade, "roster": round(one.roster, 2), "present": round(one.present, 2),
            "work of fully able people": round(one.able, 2), "on leave": round(one.on_leave, 4),
            "absent": round(one.absent, 4), "in training": round(one.in_training, 4), "vacant": round(one.vacant, 4),
            "load of those present": _share(load * one.roster / one.able) if load is not None and one.able else None,
            "share of days with 0, 1, 2 ... present": None if one.days_with is None else [
                round(share, 4) for share in one.days_with]}


def _share(share: float) -> float | None:
    return round(share, 3) if math.isfinite(share) else None


def _whole(months: Months) -> float | None:
    share = whole_run(months).share
    return None if share is None else round(share, 3)


def _by_month(months: Months) -> dict[str, Any]:
    month, load = fullest(months)
    return {"fullest month": month, "load in it": None if load.share is None else round(load.share, 3),
            "load by month": {name: None if one.share is None else round(one.share, 3)
                              for name, one in months.items()}}


def _what_would_change_it(sheet: Sheet, numbers: dict[str, Any], trades: dict[str, Months],
                          flights: dict[str, Months]) -> list[str]:
    found = []
    for row in numbers["places"]:
        share = row["critical path over takt"]
        if share is not None and share > FULL:
            docks = math.ceil(row["critical path over takt"] * row["docks"] - 1e-9)
            found.append(f"{row['place']}: its longest chain of work takes {percent(share)} of the takt at crew "
                         f"maximum. No hire can help; {docks} docks or shorter packages would.")
        elif row["load"] is None or row["load"] > FULL:
            found.append(f"{row['place']}: stays take {_percent(row['load'])} of its dock days; it needs "
                         f"{math.ceil((row['load'] or 0) * row['docks'] - 1e-9) or 1} docks or shorter holds.")
    for name, months in trades.items():
        share = whole_run(months).share
        if share is None:
            found.append(f"{name}: there is work and nobody on any shift.")
        elif share > FULL:
            people = sum(sheet.scenario.trades[name].people.values())
            found.append(f"{name}: {percent(share)} of its hours are asked for; {math.ceil(share * people - 1e-9)} "
                         f"people instead of {people} bring it under {percent(1)}.")
    for name, months in flights.items():
        share = whole_run(months).share
        if share is None or share > FULL:
            found.append(f"{name}: {_percent(share)} of the flights that pilots may fly on flyable days are asked for; "
                         "more pilots or more flights a day would help.")
    return found


def _percent(share: float | None) -> str:
    return "more than all" if share is None else percent(share)
