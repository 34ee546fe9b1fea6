"""Line of balance, areas by week, squawks by flight and trade, quarters: small tables worked by hand."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

import pandas as pd

from ...line.sheet import Sheet
from ...measures import balance, in_areas, squawks, window
from ...scenario.reading import parse_scenario
from .arithmetic import HAND
from .check import Check, each, exact
from .listed import Proof
from .plants import json

START = date(2027, 1, 6)  # a Wednesday
DAY = 1440.0
NEVER = float("inf")


def sheet() -> Sheet:
    """Two halves, mate, the end of the line, paint, flights, delivery; two aircraft stand there at the start."""
    flights = {"pilots": "P", "pilot_hours": 2, "flight_hours": 1}
    values = {
        "name": "balance by hand", "start": f"{START}", "end": "2027-03-31",
        "shifts": {"day": {"work": ["06:00-14:00"]}}, "trades": {"P": {"people": 1}, "INS": {"people": 1}},
        "positions": [
            {"id": "F", "half": "fuselage", "area": "Build-up"}, {"id": "W", "half": "wing", "area": "Build-up"},
            {"id": "M", "area": "Line"},
            {"id": "E", "area": "Line", "packages": [{"id": "e", "kind": "buy-off", "hours": 1,
                                                      "gate": "end of line"}]},
            {"id": "PT", "area": "Paint"}, {"id": "FL", "flights": flights}, {"id": "D"}],
        "launches": {"takt_work_days": 10},
        "on_the_line": [{"serial": "S3", "at": "PT"}, {"serial": "S5", "at": "D"}],
        "orders": [{"serial": f"S{n}", **({} if n == 4 else {"promised": str(START + timedelta(days=20 + n))})}
                   for n in (5, 3, 1, 2, 4)]}
    return Sheet(parse_scenario(json.dumps(values)))


def tables() -> dict[str, pd.DataFrame]:
    """Three runs. S1 leaves M on day 5, E on day 8, PT on day 10 and flies on days 12 and 13; it is delivered on day
    20, 22 and 26. S2 is delivered in one run only. What the end of the run cuts is no leaving."""
    visits, launches, flown, delivered = [], [], [], []
    for run, last in enumerate((20, 22, 26)):
        for place, day in (("M", 5), ("E", 8), ("PT", 10)):
            visits.append((run, "S1", "whole", place, False, day * DAY - 700, day * DAY + 300))
        visits.append((run, "S1", "whole", "E", True, 4 * DAY, 4 * DAY + 60))
        visits.append((run, "S2", "whole", "M", False, 40 * DAY, sheet().calendar.run_end))
        launches += [(run, "S1", 360.0), (run, "S2", 3 * DAY + 1), (run, "S4", 7 * DAY)]
        flown += [(run, "S1", 1, 12 * DAY + 5, 3), (run, "S1", 2, 13 * DAY + 5, 1)]
        delivered.append((run, "S1", pd.Timestamp(START) + pd.Timedelta(days=last, hours=14)))
    delivered.append((1, "S2", pd.Timestamp(START) + pd.Timedelta(days=50, hours=23)))
    return {"runs": pd.DataFrame({"run": [0, 1, 2]}),
            "visits": pd.DataFrame(visits, columns=["run", "serial", "half", "place", "parked", "arrived", "left"]),
            "launches": pd.DataFrame(launches, columns=["run", "serial", "launched"]),
            "flights": pd.DataFrame(flown, columns=["run", "serial", "flight", "end", "squawks"]),
            "deliveries": pd.DataFrame(delivered, columns=["run", "serial", "delivered"])}


POINTS = ("launch", "mate", "roll-out", "paint out", "first flight", "delivery")


def line_of_balance() -> Iterator[Check]:
    """Points in order of flow; days on which they are passed; set-backs are medians; who is past, who would have to
    be."""
    plant = sheet()
    names = [point.name for point in balance.control_points(plant)]
    yield exact("control points in order of flow, of six", HAND, 6, sum(
        a == b for a, b in zip(names, POINTS, strict=False)) if len(names) == 6 else float("nan"))
    passed = balance.passings(plant, tables())
    days = passed.set_index(["run", "serial", "point"])["day"]
    for serial, expected in (("S1", [0, 5, 8, 10, 12, 22]), ("S2", [3, NEVER, NEVER, NEVER, NEVER, 50]),
                             ("S3", [-1, -1, -1, NEVER, NEVER, NEVER]), ("S5", [-1, -1, -1, -1, -1, NEVER])):
        found = [float(days[1, serial, point]) for point in POINTS]
        yield each(f"day on which {serial} passes each control point in run 1 (-1: before the start, 999: never)", HAND,
                   [min(day, 999) for day in expected], [min(day, 999) for day in found])
    backs = balance.set_backs(passed)
    yield each("days from each point to delivery, medians of the serial delivered in every run", HAND,
               [22, 17, 14, 12, 10, 0], [backs[point] for point in POINTS])
    yield each("no serial is delivered in every run: only delivery is known", HAND, [1, 0], [
        float(len(lone := balance.set_backs(passed[passed["serial"] == "S2"]))), lone["delivery"]])
    for point, day, expected in (("roll-out", 7, [2, 2, 2]), ("roll-out", 8, [3, 3, 3]), ("delivery", 22, [1, 1, 0]),
                                 ("delivery", 50, [1, 2, 1])):
        yield each(f"promised aircraft past {point} by the end of day {day}, of three runs", HAND, expected,
                   [float(n) for n in balance.past(passed, point, day)])
    for back, day, needed in ((0.0, 20, 0), (0.0, 21, 1), (14.0, 8, 2), (14.0, 11, 4)):
        yield exact(f"aircraft that have to be past a point {back:g} days before delivery by day {day}", HAND, needed,
                    balance.needed(plant, back, day))


def areas() -> Iterator[Check]:
    """The first Monday is 11 January. A half counts a half; two of seven days are 2/7."""
    plant = sheet()
    yield each("whole weeks of the run: first, last, how many", HAND, [date(2027, 1, 11).toordinal(),
               date(2027, 3, 22).toordinal(), 11], [float(in_areas.weeks_of(plant)[0].toordinal()),
               float(in_areas.weeks_of(plant)[-1].toordinal()), len(in_areas.weeks_of(plant))])
    rows: list[tuple[Any, ...]] = [(4, "fuselage", "F", 5 * DAY, 7 * DAY), (4, "wing", "W", 0.0, 8 * DAY),
                                   (4, "whole", "M", 6 * DAY, 13 * DAY), (4, "whole", "E", 13 * DAY, 26 * DAY),
                                   (7, "whole", "D", 0.0, 90 * DAY)]
    visits = pd.DataFrame(rows, columns=["run", "half", "place", "arrived", "left"])
    names = in_areas.areas_in_order(plant)
    weeks, found = in_areas.by_week(plant, {"visits": visits})
    for area, expected in (("Build-up", [0.5 * 2 / 7 + 0.5 * 3 / 7, 0, 0]), ("Line", [6 / 7 + 0, 1 / 7 + 6 / 7, 1]),
                           ("D", [0, 0, 0])):
        yield each(f"aircraft in {area} in three weeks of the first run", HAND, expected,
                   found[0, names.index(area), :3].tolist(), 1e-9)
    yield each("aircraft in D in every week of the second run", HAND, [1.0] * len(weeks),
               found[1, names.index("D")].tolist(), 1e-9)
    yield exact("areas in order of flow, of five", HAND, 5, sum(a == b for a, b in zip(
        names, ("Build-up", "Line", "Paint", "FL", "D"), strict=True)))


def squawk_tables() -> Iterator[Check]:
    """S1 and S2 count, S9 does not; a squawk fixed in two spells is one, work that nobody does is none."""
    flights = pd.DataFrame([(0, "S1", 1, 3), (0, "S2", 1, 2), (0, "S1", 2, 1), (0, "S9", 1, 7)],
                           columns=["run", "serial", "flight", "squawks"])
    segments = pd.DataFrame(
        [(0, "S1", "FL", "squawk 1.1", "A"), (0, "S1", "FL", "squawk 1.1", "A"), (0, "S1", "FL", "squawk 1.2", "B"),
         (0, "S2", "FL", "squawk 1.1", "A"), (0, "S2", "FL", "squawk 1.2", ""), (0, "S2", "FL", "f1", "A"),
         (0, "S9", "FL", "squawk 1.1", "A"), (0, "S2", "AC", "acceptance 1 squawk 2.1", "A")],
        columns=["run", "serial", "place", "job", "trade"]).astype({"job": "category"})
    reasons = pd.DataFrame([(0, "S1"), (0, "S1"), (0, "S2")], columns=["run", "serial"])
    of = {"flights": flights, "segments": segments, "reasons": reasons}
    by_flight = squawks.by_flight(of)
    yield each("aircraft that flew flight 1 and 2, squawks of each", HAND, [2, 1, 5, 1],
               [float(n) for n in [*by_flight["flew"], *by_flight["squawks"]]])
    by_trade = squawks.by_trade(of).set_index(["place", "trade"])["squawks"]
    yield each("squawks by place and trade that clears them: 1.1 of two aircraft, 1.2 of one, at acceptance one", HAND,
               [2, 1, 1], [float(by_trade[key]) for key in (("FL", "A"), ("FL", "B"), ("AC", "A"))])


def quarters() -> Iterator[Check]:
    """A window from 4 January to 30 September 2027: the first quarter is not wholly inside."""
    span = date(2027, 1, 4), date(2027, 9, 30)
    found = window.deliveries_by_quarter(
        ["2027-01-20 10:00", "2027-04-01 00:00", "2027-06-30 23:59", "2027-07-01 00:00", "2026-12-31 08:00",
         "2027-10-01 08:00"], span)
    yield each("deliveries by quarter, -1 where the quarter is refused", HAND, [-1, 2, 1],
               [-1.0 if count is None else float(count) for count in found.values()])
    first, last = window.backlog_months(span)
    yield each("the last six months of the window", HAND, [date(2027, 4, 1).toordinal(), span[1].toordinal()],
               [float(first.toordinal()), float(last.toordinal())])
    yield exact("the last six months of a window of two: all of it", HAND, date(2027, 8, 1).toordinal(),
                window.backlog_months((date(2027, 8, 1), span[1]))[0].toordinal())
    inside = window.quarters_of((date(2026, 12, 31), date(2027, 6, 29)))
    yield each("quarters touched by a window and wholly inside it", HAND, [0, 1, 0],
               [float(whole) for whole in inside.values()])
    months = window.months_between(date(2026, 11, 30), date(2027, 2, 1))
    yield each("first days of the months of a span", HAND, [date(2026, 11, 1).toordinal(),
               date(2026, 12, 1).toordinal(), date(2027, 1, 1).toordinal(), date(2027, 2, 1).toordinal()],
               [float(day.toordinal()) for day in months])


PROOFS = (Proof("line of balance by hand", line_of_balance), Proof("areas by week by hand", areas),
          Proof("squawk tables by hand", squawk_tables), Proof("quarters by hand", quarters))
