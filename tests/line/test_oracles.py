"""Lines against recursions worked out by hand, and what must hold on every path: places, order of work, people, hours.

Recursion of a line with blocking after service: C_i(k) = max(max(D_{i-1}(k), D_i(k-1)) + S_i(k), D_{i+1}(k-b-1)), b
parking places before place i+1 (max-plus algebra: Baccelli, Cohen, Olsder & Quadrat, Synchronization and Linearity,
1992; source from memory). Times lie on a grid of 1/64 hour, so that every sum is exact and the difference must be 0.0.
"""

from __future__ import annotations

import random
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from math import exp, log, log2, sqrt
from pathlib import Path
from statistics import NormalDist
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from linesim.line.floor import run_once
from linesim.line.luck import Luck
from linesim.line.records import Records, State
from linesim.line.sheet import Sheet
from linesim.scenario.reading import read_scenario
from linesim.scenario.scenario import Scenario

DEMO = Path(__file__).parents[2] / "scenarios" / "birchwater.yaml"
GRID = 60 / 64  # minutes; 1/64 hour is exact in hours and in minutes
START = datetime(2027, 1, 1)
AT_WORK = (State.WORK, State.REWORK)


def serial(k: int) -> str:
    return f"S{k:03d}"


def plant(positions: list[dict[str, Any]], **parts: Any) -> Scenario:
    """A round-the-clock plant that launches whenever the first place is free."""
    return Scenario.model_validate({"name": "oracle", "start": "2027-01-01", "end": "2027-12-31", "orders": "unlimited",
                                    "launches": {"saturated": True}, "positions": positions, **parts})


# lines ----------------------------------------------------------------------------------------------------------
class Table:
    """A random table of times: each place has one package, two in a row, two side by side, or a hold."""

    def __init__(self, seed: int, places: int, aircraft: int, same: Iterable[int] = (), prefix: str = "P") -> None:
        draw = random.Random(seed)
        self.aircraft, self.prefix, self.places = aircraft, prefix, places
        self.kinds = [draw.choice(["one", "row", "beside", "hold"]) for _ in range(places)]
        self.steps: list[list[tuple[int, int]]] = []
        for i in range(places):
            rows = [(draw.randint(1, 640), draw.randint(1, 640)) for _ in range(aircraft)]
            self.steps.append(rows[:1] * aircraft if i in same else rows)  # same: no aircraft overtakes another

    def minutes(self, i: int, k: int) -> float:
        """Time of aircraft k in place i."""
        a, b = self.steps[i][k]
        return {"one": a, "hold": a, "row": a + b, "beside": max(a, b)}[self.kinds[i]] * GRID

    def positions(self, docks: list[int], parking: list[int], **common: Any) -> list[dict[str, Any]]:
        """The places in the scenario language."""
        found = []
        for i in range(self.places):
            name = f"{self.prefix}{i}"
            first: dict[str, Any] = {"id": f"{name}a", "hours": 1}
            if self.kinds[i] == "hold":
                first = {"id": f"{name}a", "kind": "hold", "elapsed_hours": 1}
            second = [{"id": f"{name}b", "hours": 1, **({"after": []} if self.kinds[i] == "beside" else {})}]
            packages = [first, *(second if self.kinds[i] in ("row", "beside") else [])]
            found.append({"id": name, "docks": docks[i], "parking": parking[i], "packages": packages, **common})
        return found

    def known(self) -> list[dict[str, Any]]:
        """The table as facts."""
        return [{"serial": serial(k), "package": f"{self.prefix}{i}{part}", "hours": self.steps[i][k][n] / 64}
                for i in range(self.places) for n, part in enumerate("ab") for k in range(self.aircraft)]


def before(row: list[float], k: int) -> float:
    """Departure of an earlier aircraft; 0 before the first."""
    return row[k] if k >= 0 else 0.0


def departures(table: Table, docks: list[int], parking: list[int], launch: list[float]) -> list[list[float]]:
    """The recursion: departures by place; `docks` over 1 only where nobody overtakes."""
    left = [[0.0] * table.aircraft for _ in docks]
    for k in range(table.aircraft):
        for i in range(len(docks)):
            arrived = left[i - 1][k] if i else max(launch[k], launch[k - 1] if k else 0.0)
            left[i][k] = max(arrived, before(left[i], k - docks[i])) + table.minutes(i, k)
            if i + 1 < len(docks):
                left[i][k] = max(left[i][k], before(left[i + 1], k - parking[i + 1] - docks[i + 1]))
    return left


def run_line(positions: list[dict[str, Any]], table: list[Table], moments: list[float] | None = None) -> Records:
    orders = [{"serial": serial(k)} for k in range(table[0].aircraft)]
    launches: dict[str, Any] = {"saturated": True}
    if moments is not None:
        launches = {"moments": [(START + timedelta(minutes=m)).strftime("%Y-%m-%d %H:%M") for m in moments]}
    known = {"hours": [fact for one in table for fact in one.known()]}
    return run_once(Sheet(plant(positions, orders=orders, known=known, launches=launches)), 1, 0)


@pytest.mark.parametrize("launched", ["saturated", "moments"])
@pytest.mark.parametrize("shape", range(12))
def test_a_line_with_docks_and_parking_equals_its_recursion(shape: int, launched: str) -> None:
    """F10-F12, F41: every departure from every place, 3 to 5 places, parking 0 to 3, docks 1 to 3 where all take the
    same time."""
    draw, aircraft = random.Random(100 + shape), 30
    places = draw.randint(3, 5)
    docks = [draw.choice([1, 1, 2, 3]) for _ in range(places)]
    parking = [draw.randint(0, 3) for _ in range(places)]  # parking before the first place is of no use
    table = Table(shape, places, aircraft, same=[i for i in range(places) if docks[i] > 1])
    moments = None
    if launched == "moments":
        moments = sorted(float(draw.randint(0, 9000)) for _ in range(aircraft))
    records = run_line(table.positions(docks, parking), [table], moments)
    expected = departures(table, docks, parking, moments or [0.0] * aircraft)
    assert [records.delivered[k] for k in range(aircraft)] == expected[-1]
    for i in range(places - 1):  # the dock is left for a dock or a parking place beyond
        found = {v.serial: v.left for v in records.visits if v.place == i and not v.parked}
        assert [found[k] for k in range(aircraft)] == expected[i]


class StepByStep:
    """A line with several docks in which aircraft may overtake each other, event after event, by the rules F11, F12."""

    def __init__(self, table: Table, docks: list[int], parking: list[int]) -> None:
        self.table, self.docks, self.parking = table, docks, parking
        self.docked: list[dict[int, float]] = [{} for _ in docks]  # aircraft: instant at which its work is done
        self.parked: list[list[int]] = [[] for _ in docks]
        self.to_launch = list(range(table.aircraft))
        self.delivered: dict[int, float] = {}

    def run(self) -> dict[int, float]:
        now = 0.0
        while len(self.delivered) < self.table.aircraft:
            while self.one_move(now):
                pass
            now = min((done for docked in self.docked for done in docked.values() if done > now), default=now)
        return self.delivered

    def one_move(self, now: float) -> bool:
        last = len(self.docks) - 1
        out = [k for k, done in self.docked[last].items() if done <= now]
        if out:
            self.delivered[out[0]] = now
            del self.docked[last][out[0]]
            return True
        for i in range(last, -1, -1):
            room = len(self.docked[i]) < self.docks[i]
            if room and self.parked[i]:
                self.docked[i][k] = now + self.table.minutes(i, k := self.parked[i].pop(0))
                return True
            ready = sorted((done, k) for k, done in self.docked[i - 1].items() if done <= now) if i else []
            if ready and (room or len(self.parked[i]) < self.parking[i]):
                k = ready[0][1]
                del self.docked[i - 1][k]
                if room:
                    self.docked[i][k] = now + self.table.minutes(i, k)
                else:
                    self.parked[i].append(k)
                return True
        if self.to_launch and len(self.docked[0]) < self.docks[0]:
            k = self.to_launch.pop(0)
            self.docked[0][k] = now + self.table.minutes(0, k)
            return True
        return False


@pytest.mark.parametrize("shape", range(10))
def test_docks_in_which_aircraft_overtake_equal_the_line_worked_step_by_step(shape: int) -> None:
    """F11: docks that wait for the same place: who became ready first; parking is first come, first in."""
    draw = random.Random(200 + shape)
    places = draw.randint(2, 4)
    docks, parking = [draw.randint(1, 3) for _ in range(places)], [draw.randint(0, 2) for _ in range(places)]
    docks[0] = max(docks[0], 2)
    table = Table(50 + shape, places, 40)
    records = run_line(table.positions(docks, parking), [table])
    expected = StepByStep(table, docks, parking).run()
    assert records.delivered == expected
    overtaken = sorted(expected, key=lambda k: expected[k]) != sorted(expected)
    assert overtaken or shape not in (0, 1, 2, 3, 4)


@pytest.mark.parametrize("mate_parking", [0, 2])
@pytest.mark.parametrize("launched", ["saturated", "moments"])
@pytest.mark.parametrize("shape", range(8))
def test_two_halves_that_meet_at_mate_equal_their_recursion(shape: int, launched: str, mate_parking: int) -> None:
    """F20-F22: halves are launched together when both first docks are free, and leave together when both are ready and
    the mate dock is free; parking before mate is of no use to them."""
    draw, aircraft = random.Random(300 + shape), 25
    fuselage, wing, line = (Table(10 * shape + n, draw.randint(1, 3), aircraft, prefix=p, same=range(9))
                            if draw.random() < 0.3 else Table(10 * shape + n, draw.randint(1, 3), aircraft, prefix=p)
                            for n, p in enumerate("FWL"))
    docks = {t.prefix: [draw.choice([1, 2]) if len({t.minutes(i, k) for k in range(aircraft)}) == 1 else 1
                        for i in range(t.places)] for t in (fuselage, wing, line)}
    parking = {t.prefix: [draw.randint(0, 2) for _ in range(t.places)] for t in (fuselage, wing, line)}
    parking["L"][0] = mate_parking
    moments = sorted(float(draw.randint(0, 9000)) for _ in range(aircraft)) if launched == "moments" else None
    positions = [*fuselage.positions(docks["F"], parking["F"], half="fuselage"),
                 *wing.positions(docks["W"], parking["W"], half="wing"), *line.positions(docks["L"], parking["L"])]
    records = run_line(positions, [fuselage, wing, line], moments)

    left = {t.prefix: [[0.0] * aircraft for _ in range(t.places)] for t in (fuselage, wing, line)}
    launch = [0.0] * aircraft
    for k in range(aircraft):
        launch[k] = max([moments[k] if moments else 0.0, before(launch, k - 1)]
                        + [before(left[p][0], k - docks[p][0]) for p in "FW"])
        ready = 0.0
        for t in (fuselage, wing):
            row, dock, park = left[t.prefix], docks[t.prefix], parking[t.prefix]
            for i in range(t.places):
                arrived = row[i - 1][k] if i else launch[k]
                row[i][k] = max(arrived, before(row[i], k - dock[i])) + t.minutes(i, k)
                if i + 1 < t.places:
                    row[i][k] = max(row[i][k], before(row[i + 1], k - park[i + 1] - dock[i + 1]))
            ready = max(ready, row[-1][k])
        row, dock, park = left["L"], docks["L"], parking["L"]
        mated = max(ready, before(row[0], k - dock[0]))
        left["F"][-1][k] = left["W"][-1][k] = mated
        for i in range(line.places):
            arrived = row[i - 1][k] if i else mated
            row[i][k] = max(arrived, before(row[i], k - dock[i])) + line.minutes(i, k)
            if i + 1 < line.places:
                row[i][k] = max(row[i][k], before(row[i + 1], k - park[i + 1] - dock[i + 1]))
    assert [entry.made for entry in records.launches] == launch
    assert [records.delivered[k] for k in range(aircraft)] == left["L"][-1]
    for half, t in (("fuselage", fuselage), ("wing", wing)):
        leaving: dict[int, float] = {}
        for visit in records.visits:
            if visit.half == half:
                leaving[visit.serial] = max(leaving.get(visit.serial, 0.0), visit.left)
        assert [leaving[k] for k in range(aircraft)] == left[t.prefix][-1]


@pytest.mark.parametrize("parking", [0, 1, 3])
@pytest.mark.parametrize("hours", [(3, 7, 5), (7, 7, 2, 1), (1, 2, 3, 4, 5), (6, 1, 6)])
def test_departures_of_a_fixed_line_follow_its_slowest_place(hours: tuple[int, ...], parking: int) -> None:
    """Gap between departures = the largest time, exactly, whatever the parking (blocking after service)."""
    positions = [{"id": f"P{i}", "parking": parking, "packages": [{"id": f"p{i}", "hours": h}]}
                 for i, h in enumerate(hours)]
    records = run_once(Sheet(plant(positions, end="2027-01-31")), 1, 0)
    out = list(records.delivered.values())
    assert len(out) > 80
    assert out[0] == sum(hours) * 60
    assert {later - earlier for earlier, later in pairwise(out)} == {max(hours) * 60}


@pytest.mark.parametrize(("hours", "docks"), [((3, 8, 2), (1, 2, 1)), ((6, 8, 9), (2, 2, 3)), ((1, 10, 2), (1, 3, 1)),
                                              ((4, 13, 6), (1, 3, 2)), ((9, 2, 7), (2, 1, 2))])
@pytest.mark.parametrize("parking", [0, 2])
def test_departures_with_docks_follow_the_largest_time_over_docks(hours: tuple[int, ...], docks: tuple[int, ...],
                                                                  parking: int) -> None:
    """With c docks the slowest place lets out c aircraft in its time: D(k+c) - D(k) = t, once the line has settled."""
    positions = [{"id": f"P{i}", "docks": c, "parking": parking, "packages": [{"id": f"p{i}", "hours": h}]}
                 for i, (h, c) in enumerate(zip(hours, docks, strict=True))]
    out = list(run_once(Sheet(plant(positions, end="2027-02-28")), 1, 0).delivered.values())
    slowest = max(range(len(hours)), key=lambda i: hours[i] / docks[i])
    c = docks[slowest]
    settled = out[60:]
    assert len(settled) > 60
    assert {settled[k + c] - settled[k] for k in range(len(settled) - c)} == {hours[slowest] * 60}


# what must hold on every path -----------------------------------------------------------------------------------
class Floor:
    """The records of a run as stays and spans."""

    def __init__(self, sheet: Sheet, records: Records) -> None:
        self.sheet, self.records = sheet, records
        self.begin = {entry.serial: entry.made for entry in records.launches} | dict.fromkeys(records.standing, 0.0)
        self.end = {**records.delivered, **records.stock_ready}
        self.visits = [*records.visits, *records.unfinished]
        self.stays: dict[tuple[int, str], list[Any]] = defaultdict(list)
        for visit in sorted(self.visits, key=lambda v: (v.arrived, v.left)):
            self.stays[visit.serial, visit.half].append(visit)


def check_stays(floor: Floor) -> None:
    """F12, F21: an aircraft is in one place at a time, and is in the next the instant it leaves the last."""
    for (number, half), row in floor.stays.items():
        halves = [floor.stays[number, name] for name in ("fuselage", "wing") if (number, name) in floor.stays]
        arrives = floor.begin[number] if half or not halves else max(other[-1].left for other in halves)
        for stay in row:
            assert stay.arrived == arrives
            assert stay.arrived <= stay.left
            assert stay.arrived <= stay.ready <= stay.left or stay in floor.records.unfinished
            arrives = stay.left
        if half and (number, "") in floor.stays:
            assert {other[-1].left for other in halves} == {row[-1].left}
        if not half:
            assert row[-1].left == floor.end.get(number, floor.records.ended)
    for row in floor.stays.values():  # a parking stay is followed by a stay in a dock of the same place
        for stay, after in pairwise(row):
            assert not stay.parked or (after.place == stay.place and not after.parked)


def check_counts(floor: Floor) -> None:
    """Launches (and who stood there) = delivered + stock + on the floor, at every instant."""
    changes: dict[float, list[int]] = defaultdict(lambda: [0, 0, 0])  # launched, gone, serials with a stay
    for number, made in floor.begin.items():
        changes[made][0] += 1
        stays = [stay for name in ("", "fuselage", "wing") for stay in floor.stays.get((number, name), ())]
        first = min((stay.arrived for stay in stays), default=made)
        changes[first][2] += 1
        if number in floor.end:
            changes[floor.end[number]][1] += 1
        last = max(stay.left for stay in stays)
        if last < floor.records.ended:
            changes[last][2] -= 1
    launched = gone = standing = 0
    for _, (a, b, c) in sorted(changes.items()):
        launched, gone, standing = launched + a, gone + b, standing + c
        assert launched == gone + standing
        assert standing >= 0
    assert set(floor.end) <= set(floor.begin)
    assert not floor.records.delivered.keys() & floor.records.stock_ready.keys()


def most_at_once(spans: Iterable[tuple[float, float, int]]) -> int:
    """Largest sum of the numbers of spans that hold at one instant; who leaves in an instant makes room in it."""
    changes = sorted(change for a, b, n in spans if b > a for change in ((a, n), (b, -n)))
    now = most = 0
    for _, step in changes:
        now += step
        most = max(most, now)
    return most


def check_places(floor: Floor) -> None:
    """F10, F11: no place over its docks or parking, and parking only while all docks are taken."""
    for place in floor.sheet.places:
        here = [v for v in floor.visits if v.place == place.index]
        assert most_at_once((v.arrived, v.left, 1) for v in here if not v.parked) <= place.docks
        assert most_at_once((v.arrived, v.left, 1) for v in here if v.parked) <= place.parking
        for parked in (v for v in here if v.parked):
            taken = sum(v.arrived <= parked.arrived < v.left for v in here if not v.parked)
            assert taken == place.docks


def check_floor(floor: Floor) -> None:
    check_stays(floor)
    check_counts(floor)
    check_places(floor)


@pytest.fixture(scope="module")
def demo() -> Scenario:
    """The demo with everybody there every day and no overtime: the hours of each crew are known without the engine."""
    return read_scenario(DEMO).model_copy(update={"attendance": None})


@pytest.fixture(scope="module")
def demo_runs(demo: Scenario) -> list[Floor]:
    sheet = Sheet(demo)
    return [Floor(sheet, run_once(sheet, demo.seed, run)) for run in (4, 9)]


def test_nothing_is_lost_on_the_demo(demo_runs: list[Floor]) -> None:
    """Conservation, one place at a time, docks and parking, on two runs; the floor is empty at the end."""
    for floor in demo_runs:
        check_floor(floor)
        assert set(floor.end) == set(floor.begin)
        assert len(floor.records.delivered) == 80
        assert len(floor.end) > 90


def test_nothing_is_lost_on_a_demo_that_the_end_cuts(demo: Scenario) -> None:
    """F99: aircraft that are on the floor at the end stand in one place each (two before mate), within its docks."""
    sheet = Sheet(demo.model_copy(update={"end": date(2027, 5, 20), "run_on_months": 0}))
    floor = Floor(sheet, run_once(sheet, demo.seed, 4))
    check_floor(floor)
    left = {number: [v for v in floor.records.unfinished if v.serial == number] for number in floor.begin}
    for number, stays in left.items():
        halves = sorted(v.half for v in stays)
        assert halves in ([] if number in floor.end else [""], [] if number in floor.end else ["fuselage", "wing"])
    assert sum(map(len, left.values())) == len(floor.records.unfinished) > 12


# random small plants --------------------------------------------------------------------------------------------
DAY = [("06:00", "10:00"), ("10:30", "14:30")]
EVENING = [("15:00", "19:00"), ("19:30", "23:30")]
TRADES = ("ASM", "AVX", "INS")


def random_plant(seed: int) -> tuple[Scenario, dict[tuple[str, str, str], int]]:
    """Places with docks, parking, halves, crews, holds, buy-offs and numbers on duty that change from day to day."""
    draw = random.Random(seed)
    halves = draw.random() < 0.5
    names = ["F1", "W1", "W2"] if halves else []
    names += [f"P{n}" for n in range(draw.randint(2, 4))]
    positions = []
    for name in names:
        packages: list[dict[str, Any]] = []
        for n in range(draw.randint(1, 3)):
            crew = draw.choice([{}, {"crew": 2}, {"crew_max": 3}, {"crew_min": 2, "crew_max": 3}])
            package: dict[str, Any] = {"id": f"{name}-{n}", "trade": draw.choice(TRADES[:2]), **crew,
                                       "hours": draw.randint(1, 12), "inspection_hours": draw.choice([0, 0, 0.5])}
            if draw.random() < 0.4:
                package["after"] = []
            packages.append(package)
        if draw.random() < 0.4:
            packages.append({"id": f"{name}-hold", "kind": "hold", "elapsed_hours": draw.randint(1, 20)})
        if draw.random() < 0.4:
            packages.append({"id": f"{name}-90", "kind": "buy-off", "trade": "INS", "hours": 1})
        half = {"F": {"half": "fuselage"}, "W": {"half": "wing"}}.get(name[0], {})
        positions.append({"id": name, "docks": draw.choice([1, 1, 2]), "parking": draw.randint(0, 2),
                          "repeat_chance": draw.choice([0, 0.3]), "packages": packages, **half})
    days = [date(2027, 1, 4) + timedelta(days=n) for n in range(240)]
    present = {(trade, shift, str(day)): draw.randint(0, 4) for trade in TRADES for shift in ("day", "evening")
               for day in days if draw.random() < 0.5}
    return Scenario.model_validate({
        "name": f"random {seed}", "start": "2027-01-04", "end": "2027-08-31",
        "shifts": {"day": {"work": ["-".join(block) for block in DAY]},
                   "evening": {"work": ["-".join(block) for block in EVENING], "productivity": 0.875}},
        "trades": {trade: {"people": {"day": 3, "evening": 2}} for trade in TRADES},
        "work_rules": {"dispatch": draw.choice(["promised date", "first come", "furthest along"])},
        "work_time": {"spread": {"lognormal": {"mean": 1, "cv": 0.3}}},
        "positions": positions, "launches": {"takt_work_days": draw.choice([0.5, 1, 2])},
        "orders": [{"serial": serial(k), "promised": str(date(2027, 1, 20) + timedelta(days=draw.randint(0, 60)))}
                   for k in range(14)],
        "known": {"present": [{"trade": t, "shift": s, "date": d, "people": n} for (t, s, d), n in present.items()]},
    }), present


@pytest.mark.parametrize("seed", range(8))
def test_nothing_is_lost_on_a_random_plant(seed: int) -> None:
    """Conservation, places, people present and hours worked on plants that nobody has tuned."""
    scenario, present = random_plant(seed)
    sheet = Sheet(scenario)
    floor = Floor(sheet, run_once(sheet, 11, seed))
    check_floor(floor)
    assert len(floor.records.delivered) == 14
    clocks = {"day": Hours(scenario, DAY), "evening": Hours(scenario, EVENING)}
    check_people(floor, clocks, lambda trade, shift, day: present.get(
        (trade, shift, str(day)), 3 if shift == "day" else 2))
    worked = labour(floor, clocks, {"day": 1.0, "evening": 0.875})
    expected = labour_declared(floor, Luck(11, seed), lambda number, repeat: 1.0, cv=0.3)
    assert worked.keys() == expected.keys()
    for key, minutes in worked.items():
        assert minutes == pytest.approx(expected[key], abs=1e-4)


# people and hours -----------------------------------------------------------------------------------------------
class Hours:
    """Working time of a shift worked out apart from the engine: blocks as clock times, on the dates that are worked."""

    def __init__(self, scenario: Scenario, blocks: list[tuple[str, str]]) -> None:
        zone = ZoneInfo(scenario.time_zone) if scenario.time_zone else UTC
        zero = datetime.combine(scenario.start, datetime.min.time(), zone)
        self.blocks: list[tuple[float, float, date]] = []
        for n in range((scenario.end - scenario.start).days + 400):
            day = scenario.start + timedelta(days=n)
            if day.weekday() > 4 or day in scenario.calendar.closed:
                continue
            for pair in blocks:
                a, b = ((datetime.combine(day, datetime.strptime(text, "%H:%M").time(), zone).astimezone(UTC)
                         - zero.astimezone(UTC)).total_seconds() / 60 for text in pair)
                self.blocks.append((a, b, day))
        self.starts = [a for a, _, _ in self.blocks]
        self.passed = [0.0]
        for a, b, _ in self.blocks:
            self.passed.append(self.passed[-1] + b - a)

    def reading(self, t: float) -> float:
        """Working minutes passed up to an instant."""
        n = bisect_right(self.starts, t)
        return 0.0 if not n else self.passed[n - 1] + min(t, self.blocks[n - 1][1]) - self.starts[n - 1]

    def date_at(self, t: float) -> date | None:
        """Date of the shift that is at work at an instant."""
        n = bisect_right(self.starts, t)
        return self.blocks[n - 1][2] if n and t < self.blocks[n - 1][1] else None

    def date_up_to(self, t: float) -> date | None:
        """Date of the shift that is at work just before an instant."""
        n = bisect_right(self.starts, t - 1e-6)
        return self.blocks[n - 1][2] if n and t <= self.blocks[n - 1][1] else None


def check_people(floor: Floor, clocks: dict[str, Hours], present: Any) -> None:
    """F29, F33, F60: a crew works inside one shift date of its own clock, and never more people than are present."""
    crews: dict[tuple[str, str, date], list[tuple[float, float, int]]] = defaultdict(list)
    for s in (s for s in floor.records.segments if s.people and s.trade and s.state in AT_WORK):
        begun, stopped = clocks[s.shift].date_at(s.start), clocks[s.shift].date_up_to(s.end)
        assert begun is not None, s
        assert begun == stopped, s
        crews[s.trade, s.shift, begun].append((s.start, s.end, s.people))
    for (trade, shift, day), spans in crews.items():
        assert most_at_once(spans) <= present(trade, shift, day), (trade, shift, day)
    assert len(crews) > 20


def labour(floor: Floor, clocks: dict[str, Hours], pace: dict[str, float]) -> dict[tuple[int, str, str], float]:
    """Minutes of one person worked by serial, job and trade: people x working time x pace of the shift."""
    worked: dict[tuple[int, str, str], float] = defaultdict(float)
    for s in floor.records.segments:
        if s.people and s.trade and s.state in AT_WORK:
            clock = clocks[s.shift]
            worked[s.serial, s.job, s.trade] += s.people * pace[s.shift] * (
                clock.reading(s.end) - clock.reading(s.start))
    return dict(worked)


def labour_declared(floor: Floor, luck: Luck, factor: Any, cv: float) -> dict[tuple[int, str, str], float]:
    """F52: the same as it must be: standard hours x factor x spread draw for each time the package was closed, and its
    buy-off as written. The lognormal by its own formula (mean 1: mu = -sigma^2/2)."""
    sigma = sqrt(log(1 + cv * cv))
    packages = {package.id: package for position in floor.sheet.scenario.positions for package in position.packages}
    expected: dict[tuple[int, str, str], float] = defaultdict(float)
    for c in floor.records.closings:
        package = packages.get(c.job)
        if package is None or package.kind not in ("work", "buy-off"):
            continue
        hours = package.hours.mean
        if package.kind == "work":
            draw = luck.uniform("package", floor.records.serials[c.serial], c.job, c.repeat)
            hours *= exp(sigma * NormalDist().inv_cdf(draw) - sigma * sigma / 2)
            hours *= factor(c.serial, c.repeat if not package.rework else 1)
        expected[c.serial, c.job, package.trade or "INS"] += hours * 60
        if package.inspection_hours:
            expected[c.serial, c.job, package.inspector or "INS"] += package.inspection_hours * 60
    return dict(expected)


# F5: the demo's day shift with its tool checks, meeting, breaks and clean-down taken out
DEMO_DAY = [("06:27", "07:45"), ("08:00", "10:00"), ("10:30", "12:15"), ("12:30", "14:03")]


def test_people_of_the_demo_work_inside_their_shift_and_never_more_than_are_there(demo_runs: list[Floor]) -> None:
    """F5, F29, F33: also across the change of the clocks in March and November."""
    for floor in demo_runs:
        trades = floor.sheet.scenario.trades
        check_people(floor, {"day": Hours(floor.sheet.scenario, DEMO_DAY)},
                     lambda trade, shift, day, trades=trades: trades[trade].people[shift])


def test_pilots_of_the_demo_are_never_in_two_places(demo_runs: list[Floor]) -> None:
    """F81, F84: flights and ground hours together never need more pilots than there are, no pilot flies twice at once,
    and the caps of flights and of duty hours hold."""
    for floor in demo_runs:
        records, calendar = floor.records, floor.sheet.calendar
        rules = next(p.flights for p in floor.sheet.scenario.positions if p.flights)
        ground = [(s.start, s.end, s.people) for s in records.segments if s.trade == "FTP" and s.people
                  and s.state in AT_WORK]
        assert most_at_once([(f.start, f.end, 1) for f in records.flights] + ground) <= 2
        days: dict[tuple[int, date], list[Any]] = defaultdict(list)
        for flight in records.flights:
            assert flight.end - flight.start == rules.pilot_hours * 60
            days[flight.pilot, calendar.wall(flight.start).date()].append(flight)
        for flown in days.values():
            assert len(flown) <= rules.max_flights_per_day
            assert max(f.end for f in flown) - min(f.start for f in flown) <= rules.max_duty_hours * 60 + 1e-6
            assert most_at_once((f.start, f.end, 1) for f in flown) == 1


def test_every_package_of_the_demo_is_worked_for_its_own_hours(demo: Scenario, demo_runs: list[Floor]) -> None:
    """F52, F53: people x working time = standard x model x learning x spread, for every package of every aircraft that
    was launched; nothing is lost over breaks, nights, crews that grow and clocks that change."""
    base, slope, least = 249, 0.88, 0.8
    models = {order.serial: order.model for order in demo.orders or ()}
    for floor, run in zip(demo_runs, (4, 9), strict=True):
        serials = floor.records.serials

        def factor(number: int, repeat: int, serials: list[str] = serials) -> float:
            unit = 233 + number  # the order book is in the order of the serials
            learned = max(least, (unit / base) ** log2(slope)) if repeat == 0 else 1.0
            return learned * (1.07 if models.get(serials[number]) == "D4T" else 1.0)

        expected = labour_declared(floor, Luck(demo.seed, run), factor, cv=0.18)
        worked = labour(floor, {"day": Hours(demo, DEMO_DAY)}, {"day": 1.0})
        launched = {entry.serial for entry in floor.records.launches}
        seen = 0
        fixing: dict[int, float] = defaultdict(float)  # F71: the hours of what the avionics check found
        for one in floor.records.found:
            fixing[one.serial] += one.hours * 60 if one.gate == "avionics check" else 0.0
        for key, minutes in expected.items():
            if key[0] in launched:
                minutes = fixing[key[0]] if key[1] == "IA-20" else minutes
                seen += 1
                assert worked[key] == pytest.approx(minutes, abs=1e-3), key
        assert seen > 5000


# order of work --------------------------------------------------------------------------------------------------
def test_predecessors_close_before_a_package_starts(demo_runs: list[Floor]) -> None:
    """F25, F72b: on every aircraft; a package that it does not have counts as closed with its own predecessors."""
    for floor in demo_runs:
        records, launched = floor.records, {entry.serial for entry in floor.records.launches}
        closed = {(c.serial, c.job, c.repeat): c for c in records.closings}
        seen = 0
        for position in floor.sheet.scenario.positions:
            ids = [package.id for package in position.packages]
            after = {p.id: p.after if p.after is not None else tuple(ids[max(0, n - 1):n])
                     for n, p in enumerate(position.packages)}
            for number in launched:
                for c in [closed[number, name, 0] for name in ids if (number, name, 0) in closed]:
                    waited = list(after[c.job])
                    while waited:
                        name = waited.pop()
                        if (number, name, 0) not in closed:
                            waited += after[name]
                            continue
                        last = closed.get((number, f"{name} cure", 0), closed[number, name, 0])
                        assert max(last.closed, closed[number, name, 0].closed) <= c.startable
                        seen += 1
        assert seen > 2000


def test_work_is_done_where_the_aircraft_stands(demo_runs: list[Floor]) -> None:
    """F25: every hour of work and every hold lies inside a stay in a dock of its place, and a place is left only when
    all its packages are closed."""
    for floor in demo_runs:
        docked = defaultdict(list)
        for v in floor.records.visits:
            if not v.parked:
                docked[v.serial, v.half, v.place].append(v)
        stands = (State.FLIGHT, State.HOLD, State.APPOINTMENT)
        for s in (s for s in floor.records.segments if s.people or s.state in stands):
            assert any(v.arrived <= s.start and s.end <= v.ready for v in docked[s.serial, s.half, s.place]), s
        for c in floor.records.closings:
            assert any(v.arrived <= c.startable <= c.closed <= v.ready for v in docked[c.serial, c.half, c.place]), c


def test_holds_and_cures_last_to_the_minute(demo_runs: list[Floor]) -> None:
    """F37, F77: real time, nights, weekends and the change of the clocks included."""
    for floor in demo_runs:
        launched = {entry.serial for entry in floor.records.launches}
        lengths = {f"{p.id} cure" if p.cure_hours else p.id: p.cure_hours or p.elapsed_hours.mean
                   for position in floor.sheet.scenario.positions for p in position.packages
                   if p.cure_hours or p.elapsed_hours}
        lengths["PB repaint cure"] = 16
        held = [c for c in floor.records.closings if c.job in lengths and c.serial in launched]
        assert len(held) > 500
        for c in held:
            assert c.closed - c.startable == lengths[c.job] * 60


def test_order_of_the_places_of_work_on_every_aircraft(demo_runs: list[Floor]) -> None:
    """Engine run before paint; avionics check and interior before flight; flights before finishing (common practice, no
    source); certificate after flight test (14 CFR 21.127: every aircraft is flown; 21.183; both from memory);
    acceptance last."""
    for floor in demo_runs:
        records = floor.records
        closed: dict[tuple[int, str], float] = {}
        for c in records.closings:
            closed[c.serial, c.job] = max(c.closed, closed.get((c.serial, c.job), 0.0))
        started: dict[tuple[int, str], float] = {}
        for s in (s for s in records.segments if s.people):
            started[s.serial, s.job] = min(s.start, started.get((s.serial, s.job), s.start))
        flights, slots = defaultdict(list), defaultdict(list)
        for f in records.flights:
            flights[f.serial].append(f)
        for number, what, begins, ends in records.slots:
            slots[number, what].append((begins, ends))
        for number in (entry.serial for entry in records.launches):
            flown = flights[number]
            assert [f.number for f in flown] == list(range(1, len(flown) + 1))
            assert len(flown) >= 2
            assert max(closed[number, "ER-10"], closed[number, "ER-20"]) <= started[number, "PP-10"]
            assert closed[number, "PB-final"] <= started[number, "IA-10"]
            assert max(closed[number, name] for name in ("IA-10", "IA-90", "FL-10", "FL-90")) <= flown[0].start
            for n, f in enumerate(flown):
                assert closed[number, f"preflight {n + 1}"] <= f.start
            assert flown[-1].end <= started[number, "FC-10"]
            assert closed[number, "FC-10"] <= started[number, "FC-90"]
            assert all(begins >= closed[number, "FC-90"] for begins, _ in slots[number, "FC-99"])
            certified = closed[number, "FC-99"]
            assert certified == max(ends for _, ends in slots[number, "FC-99"])
            if number in records.delivered:
                assert min(begins for begins, _ in slots[number, "acceptance"]) >= certified
                assert max(ends for _, ends in slots[number, "acceptance"]) <= records.delivered[number]
            else:
                assert records.stock_ready[number] == certified  # F117: stock ends with its certificate
                assert not slots[number, "acceptance"]


def test_appointments_of_the_demo_keep_their_days_and_slots(demo_runs: list[Floor]) -> None:
    """F91, F92: certificates on Tuesday and Thursday, two slots a day; acceptances Monday to Thursday, one a day; never
    on a closed date; ten work days of notice after the last flight's squawks."""
    rules = {"FC-99": ({1, 3}, 2), "acceptance": ({0, 1, 2, 3}, 1)}
    for floor in demo_runs:
        scenario, calendar = floor.sheet.scenario, floor.sheet.calendar
        clock = Hours(scenario, DEMO_DAY)
        for what, (weekdays, number) in rules.items():
            days = defaultdict(list)
            for _, name, begins, _ in floor.records.slots:
                if name == what:
                    days[calendar.wall(begins).date()].append(begins)
            assert {day.weekday() for day in days} <= weekdays
            assert not days.keys() & scenario.calendar.closed.keys()
            for slots in days.values():
                assert len(set(slots)) == len(slots) <= number
        flown = {f.serial: f.end for f in floor.records.flights}
        for serial_number, name, begins, _ in floor.records.slots:
            if name == "acceptance" and serial_number not in floor.records.standing:
                assert clock.reading(begins) - clock.reading(flown[serial_number]) >= 10 * 396 - 1e-6


def test_engine_runs_of_the_demo_are_worked_in_daylight_only(demo_runs: list[Floor]) -> None:
    """F38: never before first or after last light of the date."""
    for floor in demo_runs:
        assert floor.sheet.light is not None
        run = [s for s in floor.records.segments if s.daylight and s.people]
        assert len(run) > 100
        for s in run:
            first, last = floor.sheet.light[floor.sheet.calendar.day_number(s.start)]
            assert first <= s.start
            assert s.end <= last
