"""The paper arithmetic worked by hand: hours by trade, stays, months, gates. What a spreadsheet would say."""

from __future__ import annotations

from collections.abc import Iterator
from math import exp
from typing import Any

from ...line.sheet import Sheet
from ...measures import paper, paper_months
from ...measures.paper_quality import gates_on_paper
from ...scenario.reading import parse_scenario
from .arithmetic import HAND
from .check import Check, each, exact
from .listed import Proof
from .plants import json

CLOSE = 1e-9
SHIFT = {"meal_minutes": 30}  # 8 h less two tool checks of 15 minutes
AGAIN = 1 - exp(-0.375)  # chance of one more flight from the second on: 0.75 squawks, half of them need one
SECOND = 1 - exp(-1.5)   # of the second: 3 squawks
FLIGHTS = 1 + SECOND / (1 - AGAIN)
SQUAWKS = 3 + 0.75 * SECOND / (1 - AGAIN)
WEEK = 5 / 7


def sheet_of(**parts: Any) -> Sheet:
    """A plant with one of each kind of work; two orders, the model factors 1 and 1.2."""
    t, u = {"trade": "T"}, {"trade": "U"}
    squawks = {"mean_by_flight": [2, 0.5], "dial": 1.5, "needs_reflight_share": 0.5, "grounding_share": 0.25,
               "fix_hours": 3, "trades": {"T": 3, "U": 1}}
    values = {
        "name": "paper by hand", "start": "2027-01-04", "end": "2027-03-31",
        "shifts": {"day": {"start": "06:00", "end": "14:30", **SHIFT},
                   "evening": {"start": "14:30", "end": "23:00", "productivity": 0.9, **SHIFT}},
        "tool_control": {"start_check_minutes": 15, "end_check_minutes": 15},
        "trades": {"T": {"people": {"day": 2, "evening": 1}},
                   **{name: {"people": {"day": 1}} for name in ("U", "INS", "PIL", "MEC", "DEL")}},
        "work_time": {"model_factors": {"D": 1.0, "E": 1.2}},
        "orders": [{"serial": "S1", "model": "D", "scheme": "one"}, {"serial": "S2", "model": "E", "scheme": "two"}],
        "launches": {"takt_work_days": 5, "steps": [{"from": "2027-02-08", "takt_work_days": 2}]},
        "weather": {"flyable_share_by_month": {n: 0.5 + n / 100 for n in range(1, 13)}},
        "positions": [
            {"id": "A", "docks": 2, "repeat_chance": 0.2, "packages": [
                {"id": "a1", "hours": 20, "crew_max": 2, "inspection_hours": 0.5, **t},
                {"id": "a2", "hours": 10, "chance": 0.4, "models": ["E"], **t},
                {"id": "a9", "kind": "buy-off", "hours": 2}]},
            {"id": "B", "shifts": ["day"], "packages": [
                {"id": "b1", "hours": 12, "crew_max": 2, "cure_hours": 10, **u},
                {"id": "b2", "hours": 7.5, "schemes": ["two"], "crew_max": 1, "after": [], **u}],
             "repaint": {"chance": 0.25, "hours": 9, "crew_max": 3, "cure_hours": 6, **u},
             "out_of_service": {"weekly_hours": 3.75, "climate_share": 0.1}},
            {"id": "FL", "packages": [{"id": "f1", "trade": "MEC", "hours": 4}], "flights": {
                "pilots": "PIL", "pilot_hours": 2, "flight_hours": 1, "mechanics": "MEC", "preflight_hours": 1,
                "min_flights": 1, "max_flights_per_day": 2, "squawks": squawks}},
            {"id": "FC", "packages": [{"id": "c1", "hours": 7.5, **t},
                                      {"id": "c2", "kind": "appointment", "slots_per_day": 2}]},
            {"id": "AC", "acceptance": {
                "duration_work_days": 2, "notice_work_days": 6, "delivery_trade": "DEL", "delivery_hours": 5,
                "pilots": "PIL", "pilot_hours": 1.5, "refusal_chance": 0.2,
                "squawks": {"mean": 1, "trades": {"U": 3, "T": 2}}}}], **parts}
    return Sheet(parse_scenario(json.dumps(values)))


def hours() -> Iterator[Check]:
    """Packages x mean factor 1.1 x share x rounds; repaint 1/3 round; squawks; 1.25 acceptances."""
    sheet = sheet_of()
    found = paper.hours_by_trade(sheet)
    expected = {"T": 1.25 * 1.1 * (20 + 0.2 * 10) + 7.5 * 1.1 + SQUAWKS * 0.75 * 3 + 1.25 * 3 * 0.4,
                "U": 1.1 * (12 + 0.5 * 7.5) + 9 / 3 + SQUAWKS * 0.25 * 3 + 1.25 * 3 * 0.6, "INS": 1.25 * 2.5,
                "PIL": 2 * FLIGHTS + 1.25 * 1.5, "MEC": 4.4 + FLIGHTS, "DEL": 1.25 * 5}
    yield each("labour hours per aircraft of six trades on paper", HAND, list(expected.values()),
               [found.get(trade, float("nan")) for trade in expected], 1e-6)
    loads = {load.name: load for load in paper.trade_loads(sheet, 5)}
    yield each("hours of people per takt of 5 work days", HAND, [5 * (15 + 7.5 * 0.9), 37.5],
               [loads["T"].hours_per_takt, loads["MEC"].hours_per_takt], CLOSE)
    shares = [load.share for load in paper.trade_loads(sheet, 5)]
    yield each("loads, highest first", HAND, sorted(
        (expected[name] / (5 * (21.75 if name == "T" else 7.5)) for name in expected), reverse=True), shares, 1e-6)
    yield each("longest chain at crew maximum, work days: 11.5 + 11 + 2 h, 13.2 / 2 or 8.25 h, 4.4 h, 8.25 h, nothing",
               HAND, [24.5 / 7.5, 8.25 / 7.5, 4.4 / 7.5, 1.1, 0],
               [paper.critical_path_work_days(sheet, place) for place in sheet.places], CLOSE)
    nobody = paper.Load("X", 3, 0), paper.Load("Y", 0, 0)
    yield each("load of a trade of nobody with work, and without", HAND, [1, 0],
               [float(nobody[0].share == float("inf")), nobody[1].share])


def stays() -> Iterator[Check]:
    """Work days of 7.5 h. B is in service 0.9 x 0.9 of its hours; a cure of 10 h counts 10/24 of 5/7 of a day. Of the
    notice of 6 work days the 1.6 in FC are gone."""
    sheet = sheet_of()
    expected = [((11 + 0.5) + 0.2 * 11 + 2) / 7.5 / 0.8,
                max(6.6 / 0.81 / 7.5 + 10 / 24 * WEEK, 0.5 * 8.25 / 0.81 / 7.5)
                + (9 / 3 / 7.5 / 0.81 + 6 / 24 * WEEK) / 3,
                (4.4 + 3 * FLIGHTS + SQUAWKS * 0.5 * 3) / 7.5, 1.1 + 0.5, 2 + 6 - 1.6]
    yield each("shortest mean stay in each of five places on paper, work days", HAND, expected,
               [paper_months.stay_work_days(sheet, place) for place in sheet.places], 1e-6)
    yield each("share of the hours in which a place is in service: weekly service and climate, none, breakdowns", HAND,
               [0.81, 1, 0.75], [*(paper_months.share_in_service(sheet, place) for place in (
                   sheet.places[1], sheet.places[0])), _broken()], CLOSE)
    short = sheet_of(positions=[
        {"id": "A", "packages": [work_of("a", 15)]}, {"id": "FL", "flights": {
            "pilots": "PIL", "pilot_hours": 2, "flight_hours": 1}}, {"id": "B", "packages": [work_of("b", 15)]},
        {"id": "AC", "acceptance": {"duration_work_days": 1, "notice_work_days": 1}}])
    yield exact("an acceptance of a day whose notice of a day is over in the 2.2 work days before it", HAND, 1,
                paper_months.stay_work_days(short, short.places[3]), CLOSE)
    full = sheet_of(positions=[{"id": "A", "packages": [{"id": "a", "kind": "hold", "elapsed_hours": 24}]}, {
        "id": "AC", "acceptance": {"duration_work_days": 1, "notice_work_days": 3, "notice_from": "certificate"}}])
    yield each("a hold of a day and an acceptance with its notice from the certificate, work days", HAND, [WEEK, 4],
               [paper_months.stay_work_days(full, place) for place in full.places], CLOSE)


def work_of(name: str, hours: float) -> dict[str, Any]:
    return {"id": name, "trade": "T", "hours": hours}


def _broken() -> float:
    sheet = sheet_of(positions=[{"id": "A", "packages": [], "out_of_service": {"hours_up": 30, "hours_down": 10}}])
    return paper_months.share_in_service(sheet, sheet.places[0])


def months() -> Iterator[Check]:
    """January from the 4th on has 20 work days, February 20, March 23. A launch every 5 work days from 4 January, from
    8 February every 2: 4 in January; 1, 8, 10, 12, 16 ... 26 February; 11 in March. Only two are ordered."""
    sheet = sheet_of()
    asked = paper_months.launches_by_month(sheet)
    assert asked is not None
    yield each("planned launches by month, of two orders", HAND, [2, 0, 0], list(asked.values()))
    every = paper_months.launches_by_month(sheet_of(orders="unlimited"))
    assert every is not None
    yield each("planned launches by month, orders without end", HAND, [4, 9, 11], list(every.values()))
    stock = paper_months.launches_by_month(sheet_of(stock={"unsold_slots": "build", "model": "D"}))
    assert stock is not None
    yield each("planned launches by month, unsold slots built for stock", HAND, [4, 9, 11], list(stock.values()))
    drawn = paper_months.launches_by_month(sheet_of(launches={"between_hours": {"exponential": 12}}))
    assert drawn is not None
    yield each("launches by month, 12 h apart in the mean", HAND, [56, 56, 62], list(drawn.values()), CLOSE)
    given = paper_months.launches_by_month(sheet_of(launches={"moments": ["2027-01-05 06:00", "2027-03-02 06:00"]}))
    assert given is not None
    yield each("launches by month, stated moments", HAND, [1, 0, 1], list(given.values()))
    yield exact("launches by month of a saturated line: none are planned", HAND, 1,
                float(paper_months.launches_by_month(sheet_of(launches={"saturated": True})) is None))
    trades = paper_months.trades_by_month(sheet, {"2027-01": 2.0, "2027-02": 1.0, "2027-03": 0.0})
    yield each("hours that two shifts of a trade have by month", HAND, [21.75 * n for n in (20, 20, 23)],
               [month.had for month in trades["T"].values()], CLOSE)
    yield each("hours that launches ask of inspectors by month", HAND, [6.25, 3.125, 0],
               [month.asked for month in trades["INS"].values()], CLOSE)
    places = paper_months.places_by_month(sheet, {"2027-01": 2.0, "2027-02": 1.0, "2027-03": 0.0})["A"]
    yield each("dock work days of a place with two docks: asked in January, had by month", HAND,
               [2 * 15.7 / 6, 40, 40, 46], [places["2027-01"].asked, *(month.had for month in places.values())], CLOSE)
    flights = paper_months.flights_by_month(sheet, {"2027-01": 2.0, "2027-02": 1.0, "2027-03": 0.0})["FL"]
    yield each("flights: asked in January, and had by a pilot who may fly two a day on 51, 52 and 53 % of the days",
               HAND, [2 * FLIGHTS, 2 * 20 * 0.51, 2 * 20 * 0.52, 2 * 23 * 0.53],
               [flights["2027-01"].asked, *(month.had for month in flights.values())], 1e-6)
    name, load = paper_months.fullest(places)
    whole = paper_months.whole_run(places)
    yield each("the fullest month is January, its load, and the load of all months", HAND,
               [1, 15.7 / 3 / 40, 3 * 15.7 / 6, 126], [float(name == "2027-01"), load.share or 0, whole.asked,
                                                       whole.had], CLOSE)
    none = paper_months.MonthLoad(1, 0), paper_months.MonthLoad(0, 0)
    yield each("a month in which nothing can be had", HAND, [1, 0], [float(none[0].share is None), none[1].share or 0])


def gates() -> Iterator[Check]:
    """3 defects in 100 h. The check finds 0.4 of the avionics work before it; fixing by V at the price of the own
    position. The buy-off finds half of what is left, behind closed panels: three times 2 h; once more with the chance
    that it found any, and one round in five is not accepted."""
    work = {"trade": "V", "avionics": True}
    sheet = sheet_of(
        trades={name: {"people": 1} for name in ("T", "U", "V", "INS")}, orders=[{"serial": "S1"}],
        quality={"defects_per_100_hours": 2, "dial": 1.5, "repair_hours": 2, "found_in_position": 0.5,
                 "found_avionics_check": 0.4, "second_round_chance": 0.2,
                 "where_found": {"own_position": 1, "later_position": 2, "after_close_up": 3, "flight_line": 4}},
        positions=[{"id": "IA", "packages": [
            {"id": "w1", "trade": "T", "hours": 100, "avionics": True}, {"id": "w2", "trade": "U", "hours": 50},
            {"id": "check", "hours": 10, "gate": "avionics check", **work},
            {"id": "fix", "hours": 8, "rework": True, **work},
            {"id": "close", "trade": "U", "hours": 20, "close_up": True},
            {"id": "buy", "kind": "buy-off", "hours": 2, "gate": "position"}]}])
    check, last = gates_on_paper(sheet)
    yield each("the avionics check: found, hours of V, done again, hours if found on the flight line", HAND,
               [1.2, 2.4, 0, 9.6], [check.found, check.repair_hours["V"], check.done_again, check.on_the_flight_line],
               CLOSE)
    again = (1 - exp(-2.1)) / 0.8
    yield each("the last buy-off: found, hours of T, U and V, done again", HAND, [2.1, 5.4, 6.3, 0.9, again],
               [last.found, *(last.repair_hours[trade] for trade in "TUV"), last.done_again], CLOSE)
    found = paper.hours_by_trade(sheet)
    yield each("labour hours with repairs: T, U, V, inspectors", HAND, [105.4, 76.3, 10 + 2.4 + 0.9, 2 + 2 * again],
               [found[trade] for trade in ("T", "U", "V", "INS")], CLOSE)
    stay = paper_months.stay_work_days(sheet, sheet.places[0])
    yield exact("shortest stay with repairs side by side and the fixing by what is found, work days", HAND,
                (100 + 50 + 10 + 2.4 + 20 + 2 + 6.3 + 2 * again) / 7.5, stay, CLOSE)


PROOFS = (Proof("hours on paper by hand", hours), Proof("stays on paper by hand", stays),
          Proof("months on paper by hand", months), Proof("gates on paper by hand", gates))
