"""Arithmetic that can be done by hand: learning, crews, shifts, cures, travelled work, paper loads, names of draws."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from itertools import pairwise
from math import exp, fsum, log, sqrt
from typing import Any

from ...line.records import Records, State
from ...line.sheet import Sheet
from ...measures.columns import Columns
from ...measures.labour import ACCOUNT, labour
from ...measures.present import people_present
from ...scenario.reading import parse_scenario
from ...scenario.spread import parse_spread
from ..on_paper import on_paper
from .check import Check, each, exact, within
from .listed import Proof, table
from .plants import json, place, plant, run

HAND = "arithmetic by hand"
DAY = {"day": {"work": ["06:00-10:00", "10:30-14:30"]}}  # eight hours
LUCK = "synchronised draws for common random numbers (Law, Simulation Modeling and Analysis, ch. 11; from memory)"


def floor(positions: list[dict[str, Any]], people: int = 1, aircraft: int = 1, **parts: Any) -> tuple[Sheet, Records]:
    """A plant of the eight-hour day with one trade; the orders are launched on Monday 4 January 2027 at 06:00."""
    values = {"name": "by hand", "start": "2027-01-04", "end": "2027-03-31", "shifts": DAY,
              "trades": {"T": {"people": people}}, "positions": positions,
              "orders": [{"serial": f"S{n}"} for n in range(1, aircraft + 1)],
              "launches": {"moments": ["2027-01-04 06:00"] * aircraft}, **parts}
    return run(parse_scenario(json.dumps(values)))


def work(name: str, hours: Any, **more: Any) -> dict[str, Any]:
    """A package of the trade."""
    return {"id": name, "trade": "T", "hours": hours, **more}


def closed(sheet: Sheet, records: Records, day: int, clock: str) -> float:
    """Hours by which the last package closed after a clock time of January 2027."""
    hour, minute = clock.split(":")
    return (max(c.closed for c in records.closings) - (1440 * (day - 4) + 60 * int(hour) + int(minute))) / 60


def learning() -> Iterator[Check]:
    """Hours of unit 1, 2, ... 100 by the unit curve and by the cumulative average."""
    values, source = table("learning")
    for curve, column in (("Crawford", "crawford_unit"), ("Wright", "wright_unit")):
        for slope in (80, 85):
            scenario = plant([place("A", 1)], 24 * 30, orders=[{"serial": f"S{n:03d}"} for n in range(1, 101)],
                             work_time={"learning": {"slope": slope / 100, "curve": curve, "hours_stated_at_unit": 1}})
            _, records = run(scenario)
            units = [int(key.split("_")[1]) for key in values if key.startswith(f"{slope}_")]
            moments = [0.0, *sorted(records.delivered.values())]
            hours = [(b - a) / 60 for a, b in pairwise(moments)]
            yield each(f"learning {slope} %, {curve}: hours of a unit", source,
                       [values[f"{slope}_{unit}"][column] for unit in units], [hours[unit - 1] for unit in units], 1e-9)
            total = f"{curve.lower()}_total"
            yield each(f"learning {slope} %, {curve}: hours of all units so far", source,
                       [values[f"{slope}_{unit}"][total] for unit in units],
                       [moments[unit] / 60 for unit in units], 1e-7)
    scenario = plant([place("A", 1)], 24 * 30, orders=[{"serial": f"S{n}"} for n in range(1, 4)], work_time={
        "learning": {"slope": 0.8, "units_before_start": 49, "hours_stated_at_unit": 25}})
    moments = sorted(run(scenario)[1].delivered.values())
    yield exact("learning 80 %: hours of unit 50 where the file's hours are those of unit 25", HAND, 0.8,
                moments[0] / 60, 1e-9)


def lognormal() -> Iterator[Check]:
    """Mean and spread of drawn hours are those of the value itself, not of its logarithm."""
    values, source = table("lognormal")
    for key, (mu, sigma) in values.items():
        mean, cv = (float(part) for part in key.split("_"))
        form = parse_spread({"lognormal": {"mean": mean, "cv": cv}})
        yield exact(f"lognormal {mean:g}, cv {cv:g}: median", source, exp(mu), form.value(0.5), 1e-8)
        yield exact(f"lognormal {mean:g}, cv {cv:g}: 84.13 % point", source, exp(mu + sigma),
                    form.value(0.8413447460685429), 1e-7)
    _, records = run(plant([place("A", {"lognormal": {"mean": 0.5, "cv": 1}})], 5000))
    moments = [0.0, *sorted(records.delivered.values())]
    hours = [(b - a) / 60 / 0.5 for a, b in pairwise(moments)]
    n = len(hours)
    yield within("lognormal, cv 1: mean of drawn hours over the mean", source, 1.0, fsum(hours) / n, 1 / sqrt(n))
    logs = [log(one) for one in hours]
    yield within("lognormal, cv 1: mean logarithm", source, -log(2) / 2, fsum(logs) / n, sqrt(log(2) / n))
    yield within("lognormal, cv 1: variance of the logarithm", source, log(2),
                 fsum((one + log(2) / 2) ** 2 for one in logs) / n, log(2) * sqrt(2 / n))


def crews() -> Iterator[Check]:
    """Hours divided by people; free people join running work; a crew that is done is there for the next package."""
    yield exact("12 h by a crew of 2: close, hours after Monday 12:30", HAND, 0.0,
                closed(*floor([{"id": "A", "packages": [work("a", 12, crew=2)]}], 2), 4, "12:30"), 1e-6)
    two = [{"id": "A", "packages": [work("a", 10, crew_max=2), work("b", 6, crew_max=2, after=[])]}]
    yield exact("10 h and 6 h, at most 2 on each, 3 people: the freed people join (5 h + 0.5 h)", HAND, 0.0,
                closed(*floor(two, 3), 4, "12:00"), 1e-6)
    fixed = floor(two, 3, work_rules={"crew_grows": False})
    yield exact("the same where crews do not grow: 6 h", HAND, 0.0, closed(*fixed, 4, "12:30"), 1e-6)
    three = [{"id": "A", "packages": [work(name, 4, crew=2) for name in "abc"]}]
    yield exact("three packages of 4 h, one after the other by a crew of 2: close, hours after Monday 12:30", HAND, 0.0,
                closed(*floor(three, 2), 4, "12:30"), 1e-6)
    row = floor([{"id": "A", "docks": 9, "packages": [work("a", 8)]}], 2, aircraft=9)
    yield exact("nine packages of 8 h, 2 people, 8 h a day: last close, hours after Friday 14:30", HAND, 0.0,
                closed(*row, 8, "14:30"), 1e-6)


def shifts() -> Iterator[Check]:
    """Work stops at the end of the shift and loses nothing; cures and holds run on, also over a change of clocks."""
    yield exact("100 h by one person, 8 h a day: close, hours after Wednesday 20 January 10:00", HAND, 0.0,
                closed(*floor([{"id": "A", "packages": [work("a", 100)]}]), 20, "10:00"), 1e-6)
    yield exact("the same with Monday 11 January closed", HAND, 0.0, closed(*floor(
        [{"id": "A", "packages": [work("a", 100)]}], calendar={"closed": ["2027-01-11"]}), 21, "10:00"), 1e-6)
    cure = floor([{"id": "A", "packages": [work("a", 6, cure_hours=20), work("b", 1)]}])
    yield exact("6 h, a cure of 20 h over the night, 1 h: close, hours after Tuesday 09:30", HAND, 0.0,
                closed(*cure, 5, "09:30"), 1e-6)
    for zone, clock in (("America/Detroit", 13), (None, 12)):
        sheet, records = floor([{"id": "A", "packages": [{"id": "h", "kind": "hold", "elapsed_hours": 48}]}],
                               start="2027-03-01", launches={"moments": ["2027-03-13 12:00"]}, time_zone=zone)
        wall = sheet.calendar.wall_text(records.delivered[0])
        yield exact(f"hold of 48 h from Saturday 13 March 2027 12:00, {zone or 'no time zone'}: hour of the clock on "
                    "the 15th", "daylight saving begins on 14 March 2027 (15 U.S.C. 260a)", clock,
                    int(wall[11:13]) if wall.startswith("2027-03-15") else float("nan"))


def travelled() -> Iterator[Check]:
    """Unfinished work that moves on with the pulse costs its price once."""
    for price, clock in ((1.0, "08:00"), (1.5, "09:00")):
        _, records = floor(
            [{"id": "P1", "packages": [work("a", 10, can_travel=True)]}, {"id": "P2", "packages": [work("b", 0.5)]},
             {"id": "P3", "packages": [work("c", 0.5)]}], 1, launches={"takt_work_days": 1},
            pulse={"positions": ["P1", "P2", "P3"], "travel_max_share": 0.5, "travel_multiplier": price})
        last = {c.job: c.closed / 60 for c in records.closings}
        hour = float(clock[:2]) + 24
        yield exact(f"10 h begun at a pulse, 2 h left at the next, price {price:g}: close, hour of Tuesday", HAND,
                    hour - 24, last["a"] - 24 if len(records.delivered) == 1 else float("nan"), 1e-6)
    _, records = floor(
        [{"id": "P1", "packages": [work("a", 20, can_travel=True)]}, {"id": "P2", "packages": [work("b", 0)]},
         {"id": "P3", "packages": [work("c", 0)]}], 3, launches={"takt_work_days": 1},
        pulse={"positions": ["P1", "P2", "P3"], "travel_max_share": 0.7, "travel_multiplier": 1.5})
    # 8 h on Monday, 12 h left x 1.5 = 18 h: 8 h on Tuesday, 8 h on Wednesday, 2 h on Thursday; moved twice, paid once
    yield exact("20 h that travel twice: moves", HAND, 2, len(records.travelled))
    yield exact("20 h that travel twice, price 1.5: close, hours after Thursday 08:00", HAND, 0.0,
                max(c.closed for c in records.closings if c.job == "a") / 60 - 24 * 3 - 8, 1e-6)


def paper() -> Iterator[Check]:
    """Takt and crew arithmetic: load of a trade, of a place and the longest chain against the takt."""
    values = {"name": "on paper", "start": "2027-01-04", "end": "2027-12-31", "shifts": DAY,
              "trades": {"T": {"people": 3}, "INS": {"people": 1}}, "orders": "unlimited",
              "launches": {"takt_work_days": 2}, "positions": [
                  {"id": "A", "packages": [work("a", 24, crew_max=2, inspection_hours=1), work("b", 6, after=[])]},
                  {"id": "B", "docks": 2, "packages": [work("c", 12, crew_max=3)]}]}
    scenario = parse_scenario(json.dumps(values))
    answer = on_paper(Sheet(scenario))
    assert answer is not None
    trades = {row["trade"]: row for row in answer.numbers["trades"]}
    places = {row["place"]: row for row in answer.numbers["places"]}
    yield exact("42 h an aircraft, takt 2 work days of 8 h, 3 people: load", HAND, 42 / 48, trades["T"]["load"], 6e-4)
    yield exact("1 h of buy-off an aircraft, one inspector: load", HAND, 1 / 16, trades["INS"]["load"], 6e-4)
    yield exact("24 h by 2, then 1 h of buy-off: longest chain, work days", HAND, 13 / 8,
                places["A"]["critical path, work days"], 6e-4)
    yield exact("12 h by 3 in two docks at takt 2: longest chain over takt", HAND, 0.125,
                places["B"]["critical path over takt"], 6e-4)


def names() -> Iterator[Check]:
    """A draw belongs to an aircraft and a package by name: another order of the book, another package or another place
    before it leaves it as it is."""
    def hours(orders: list[str], *, more: bool = False) -> dict[tuple[str, str], float]:
        spread = {"lognormal": {"mean": 3, "cv": 0.6}}
        extra = [{"id": "Z", "packages": [{"id": "z", "hours": spread}]}] if more else []
        _, records = run(plant([*extra, place("A", spread), place("B", spread, 2)], 24 * 120,
                               orders=[{"serial": name} for name in orders]))
        found: dict[tuple[str, str], float] = defaultdict(float)
        for s in records.segments:
            if s.state == State.WORK and s.job != "z":
                found[records.serials[s.serial], s.job] += s.end - s.start
        return found
    book = [f"S{n:03d}" for n in range(80)]
    base = hours(book)
    keys = sorted(base)
    for what, other in (("in another order", hours(book[::-1])),
                        ("with a place more before them", hours(book, more=True)),
                        ("in a shorter book", hours(book[40:]))):
        shared = [key for key in keys if key in other]
        yield each(f"hours of each package of each aircraft {what}, minutes", LUCK, [base[key] for key in shared],
                   [other[key] for key in shared], 1e-6)
    yield exact("the same hours twice among them (draws are not repeated)", LUCK, 0,
                len(keys) - len({round(base[key], 9) for key in keys}))


def attendance() -> Iterator[Check]:
    """Leave, then absence, then training: shares of the shifts of 40 people, each by itself, and their paid hours."""
    leave, absent, training = 0.1, 0.05, 0.02
    sheet, records = floor([{"id": "A", "packages": [work("a", 8)]}], 40, end="2027-12-31", attendance={
        "leave": {"share": leave}, "absence": {"share": absent}, "training_share": training})
    of = records.attended["T", "day"]
    days = [n for n, day in enumerate(of.days) if day <= 361]
    shifts = 40 * len(days)
    for what, share, counts in (
            ("on leave", leave, of.on_leave), ("absent", (1 - leave) * absent, of.absent),
            ("in training", (1 - leave) * (1 - absent) * training, of.in_training),
            ("present", (1 - leave) * (1 - absent) * (1 - training), of.present)):
        yield within(f"share of the shifts {what}", "binomial (arithmetic)", share,
                     sum(counts[n] for n in days) / shifts, sqrt(share * (1 - share) / shifts))
    there = next(one for one in people_present(sheet, 1) if one.trade == "T")
    share = (1 - leave) * (1 - absent) * (1 - training)
    yield within("people present of 40, on paper (40 draws)", "binomial (arithmetic)", 40 * share, there.present,
                 40 * sqrt(share * (1 - share) / shifts / 40))
    account = dict(zip(ACCOUNT, labour(sheet, Columns(sheet, records))[0].sum(axis=0), strict=True))
    yield exact("paid hours of 40 people on the work days of the year", HAND, 8 * shifts, account["paid"], 1e-6)
    yield exact("hours worked of them", HAND, 8, account["worked"], 1e-6)
    away = sum(of.on_leave[n] + of.absent[n] for n in days)
    yield exact("hours absent of them", HAND, 8 * away, account["absent"], 1e-6)


PROOFS = tuple(Proof(name, checks) for name, checks in (
    ("learning", learning), ("lognormal hours", lognormal), ("crews", crews), ("shifts and cures", shifts),
    ("travelled work", travelled), ("paper arithmetic", paper), ("draws by name", names), ("attendance", attendance)))
