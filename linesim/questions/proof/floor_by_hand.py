"""One small line worked by hand, hour by hour: where everything stands, the first jam, the chain of dates, areas,
places, paid hours; and why nobody flew.

Eight hours a day from 08:00, one person in each of three trades, 4 h in A, 4 h in B (one parking spot before it) and
20 h in C. Four aircraft are launched on Monday 4 January 2027 at 08:00 and 12:00, on Tuesday at 08:00 and 12:00. S1 is
in C until Thursday 12:00, S2 blocked in B since Tuesday 12:00, S3 parked before B, S4 blocked in A since 16:00.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import Any

from ...line.floor import run_once
from ...line.records import Records, State
from ...line.sheet import Sheet
from ...measures.chain import Chains
from ...measures.labour import ACCOUNT
from ...measures.ledger import Ledger
from ...measures.moment import first_jam, floor_of, spans_of
from ...measures.not_flown import WHY, flying_days
from ...measures.run import deliveries_by_month, numbers_of
from ...scenario.reading import parse_scenario
from .arithmetic import HAND
from .check import Check, each, exact
from .listed import Proof
from .plants import json

DAY = 24 * 60
CLOSE = 1e-6


@lru_cache(maxsize=1)
def line() -> tuple[Sheet, Records]:
    """The line and its run."""
    trades = ("TA", "TB", "TC")
    positions: list[dict[str, Any]] = [
        {"id": name, "area": area, "packages": [{"id": name.lower(), "trade": trade, "hours": hours}]}
        for name, area, trade, hours in zip("ABC", ("Shop", "Hall", "Hall"), trades, (4, 4, 20), strict=True)]
    positions[1]["parking"] = 1
    return _run(window={"from": "2027-01-04", "to": "2027-01-08"}, shifts={"day": {"work": ["08:00-16:00"]}},
                trades={trade: {"people": {"day": 1}} for trade in trades}, positions=positions,
                launches={"takt_work_days": 0.5},
                orders=[{"serial": f"S{n}", "promised": "2027-01-11"} for n in range(1, 5)])


def _run(**parts: Any) -> tuple[Sheet, Records]:
    sheet = Sheet(parse_scenario(json.dumps({"name": "by hand", "start": "2027-01-04", "end": "2027-02-28", **parts})))
    return sheet, run_once(sheet, 1, 0)


def moments() -> Iterator[Check]:
    """Wednesday 10:00: S4 in A, S3 before B, S2 in B, S1 in C; takt half a work day."""
    sheet, records = line()
    floor = floor_of(sheet, records)
    standing = floor.at(2 * DAY + 600)
    columns: tuple[tuple[str, list[float], Any], ...] = (
        ("number of the serial", [4, 3, 2, 1], lambda one: int(one.serial[1])),
        ("place", [0, 1, 1, 2], lambda one: one.place), ("parked", [0, 1, 0, 0], lambda one: one.parked),
        ("spot", [0, 0, 0, 0], lambda one: one.spot), ("reason", [17, 17, 17, 2], lambda one: int(one.state)),
        ("place in front that is full (-1: none)", [1, 1, 2, -1], lambda one: -1 if one.full is None else one.full),
        ("here since, minutes", [DAY + 720, DAY + 720, 960, 960], lambda one: one.since),
        ("work days here", [0.75, 0.75, 1.25, 1.25], lambda one: one.work_days),
        ("work days beyond the takt", [0.25, 0.25, 0.75, 0.75], lambda one: one.over_takt),
        ("packages in that reason", [0, 0, 0, 1], lambda one: len(one.trades)))
    for name, expected, of in columns:
        yield each(f"on Wednesday at 10:00, from the first place on: {name}", HAND, expected,
                   [float(of(one)) for one in standing], CLOSE)
    night = floor.at(DAY + 180)
    yield each("in the night before Tuesday: S2 in B and S1 in C are off shift", HAND, [1, 2, 11, 11],
               [*(one.place for one in night), *(float(one.state or 0) for one in night)])
    jam = first_jam(floor)
    assert jam is not None
    yield each("first jam: serial, place, since, after a work day, the place ahead, what it was in, whom it waited for",
               HAND, [2, 1, DAY + 720, 2 * DAY + 720, 2, 2, 1],
               [int(jam.serial[1]), jam.place, jam.since, jam.at, float(jam.front or 0), float(jam.state or 0),
                float(jam.trades == ("TC",))])
    spans = [(float(span.state), span.start, span.end) for span in spans_of(floor.ledger, 1)]
    yield each("the life of S2 by reason and instant", HAND, [
        2, 720, 960, 11, 960, DAY + 480, 2, DAY + 480, DAY + 720, 17, DAY + 720, 3 * DAY + 720, 2, 3 * DAY + 720,
        3 * DAY + 960, 11, 3 * DAY + 960, 4 * DAY + 480, 2, 4 * DAY + 480, 4 * DAY + 960, 11, 4 * DAY + 960,
        7 * DAY + 480, 2, 7 * DAY + 480, 7 * DAY + 960], [number for span in spans for number in span])
    spans = [(float(span.state), span.start, span.end) for span in spans_of(floor.ledger, 3)][:3]
    yield each("the life of S4: at work, blocked in A and then before B as one span, off shift in B", HAND, [
        2, DAY + 720, DAY + 960, 17, DAY + 960, 7 * DAY + 960, 11, 7 * DAY + 960, 8 * DAY + 480],
        [number for span in spans for number in span])


def chain() -> Iterator[Check]:
    """S2: half a day of work in A; in B half a day, a night, two work days and two nights blocked; in C 20 h, a night
    and a weekend. S3 once more, parked for two work days before B."""
    sheet, records = line()
    chains = Chains(Ledger(sheet, records))
    for serial, expected in ((1, [(0.5, 0, 0, 0), (0.5, 16, 2, 32), (2.5, 80, 0, 0)]),
                             (2, [(0.5, 0, 0, 0), (0, 0, 2, 32), (0.5, 0, 2, 80), (2.5, 48, 0, 0)])):
        stays = chains.that_set_the_date(serial)
        found = [(stay.work_days.get(State.WORK, 0.0), stay.outside_hours.get(State.OFF_SHIFT, 0.0),
                  stay.work_days.get(State.BLOCKED, 0.0), stay.outside_hours.get(State.BLOCKED, 0.0)) for stay in stays]
        yield each(f"chain of S{serial + 1}, by stay: work days of work, hours off shift, work days and hours blocked",
                   HAND, [float(n) for row in expected for n in row], [n for row in found for n in row], CLOSE)


def numbers() -> Iterator[Check]:
    """The window is the week to Friday 8 January: 120 hours, 40 of them worked."""
    sheet, records = line()
    found = numbers_of(sheet, records)
    yield each("deliveries: Thursday, the Monday after, Thursday, Monday 18 January; in hours since the start", HAND,
               [84, 184, 252, 352], [records.delivered[n] / 60 for n in range(4)], CLOSE)
    yield each("delivered in January and February", HAND, [4, 0], [float(n) for n in deliveries_by_month(
        found.delivered, ["2027-01", "2027-02"]).values()])
    yield each("flow time of the only aircraft delivered in the window, its work and its nights", HAND, [1, 76, 28, 48],
               [len(found.flow_hours), sum(found.flow_hours.values()), found.reasons["hands-on work"],
                found.reasons["off shift"]], CLOSE)
    yield each("mean number in the shop and in the hall", HAND, [60 / 120, (4 + 68 + 84 + 36 + 68 + 36) / 120],
               [found.in_process["Shop"], found.in_process["Hall"]], CLOSE)
    worked, blocked, off = (found.places[:, state].tolist() for state in (State.WORK, State.BLOCKED, State.OFF_SHIFT))
    yield each("working hours of A, B, C in the window: at work, blocked, off shift", HAND,
               [16, 12, 32, 12, 24, 0, 0, 0, 0], [*worked, *blocked, *off], CLOSE)
    account = found.labour[:, :, :].sum(axis=1)
    entries = [ACCOUNT.index(name) for name in ("paid", "worked", "idle")]
    yield each("hours of the first trade over eight weeks: paid, worked, idle", HAND, [320, 16, 304],
               account[0, entries].tolist(), CLOSE)
    yield each("hours worked, and had, of the third trade in the first three weeks", HAND, [32, 8 + 20 + 4 + 8, 8, 40],
               [*found.load_by_week[0, 2, :3].tolist(), float(found.load_by_week[1, 2, 0])], CLOSE)
    yield each("weeks of load, and hours worked in all of them", HAND, [8, 16, 16, 80],
               [found.load_by_week.shape[2], *found.load_by_week[0].sum(axis=1).tolist()], CLOSE)
    yield exact("launches planned less deliveries in the window", HAND, 3, float(found.backlog_growth or 0))
    of_places = Ledger(sheet, records).of_places()
    days = 56
    yield each("hours of B over the whole run: at work, blocked, starved, all", HAND, [
        16, 48 + 96 + 48, 40 * 8 - 4 - 20 - 20 - 20, days * 24],
        [float(of_places[1, State.WORK]), float(of_places[1, State.BLOCKED]),
         float(of_places[1, 0]), float(of_places[1].sum())], CLOSE)


def not_flown() -> Iterator[Check]:
    """Monday the aircraft is made ready, Tuesday no mechanic is there for its preflight, Wednesday the weather is bad,
    Thursday no pilot is there, Friday it flies; nothing is left for Monday."""
    def flight_line(known: dict[str, Any], **more: Any) -> list[str]:
        sheet, records = _run(
            shifts={"day": {"work": ["06:00-14:00"]}}, orders=[{"serial": "S1"}], end="2027-01-12",
            trades={"MEC": {"people": 1}, "PIL": {"people": 1}}, launches={"moments": ["2027-01-04 06:00"]},
            positions=[{"id": "FL", "packages": [{"id": "prep", "trade": "MEC", "hours": 8}], "flights": {
                "pilots": "PIL", "pilot_hours": 2, "flight_hours": 1, "mechanics": "MEC", "preflight_hours": 1}}],
            known=known, **more)
        return list(flying_days(Ledger(sheet, records)).values())

    week = flight_line({
        "present": [{"trade": "MEC", "date": "2027-01-05", "people": 0},
                    {"trade": "PIL", "date": "2027-01-07", "people": 0}],
        "flyable": [{"date": "2027-01-06", "flyable": False}]})
    expected = ["aircraft not ready", "no mechanic", "weather", "no pilot", "flown", "no aircraft", "no aircraft"]
    yield each("why nobody flew, by day", HAND, [float(WHY.index(word)) for word in expected],
               [float(WHY.index(word)) for word in week])
    dark = flight_line({}, daylight={"by_month": dict.fromkeys(range(1, 13), "11:00-11:30")})
    yield each("daylight shorter than the flight: why nobody flew, by day", HAND,
               [float(WHY.index(word)) for word in ("aircraft not ready", *["daylight"] * 6)],
               [float(WHY.index(word)) for word in dark])


PROOFS = (Proof("a line hour by hour", moments), Proof("its chain by hand", chain),
          Proof("its numbers by hand", numbers), Proof("why nobody flew by hand", not_flown))
