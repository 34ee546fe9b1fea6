"""Direction: what can only help never delays an aircraft, what can only hurt never speeds one up.

On lines without shared people, and as long as nobody overtakes, every departure is made of sums and maxima of earlier
ones, or is read off a working clock, which never runs back. There the direction holds aircraft by aircraft, exactly.
With shared people it need not (work that is ready sooner may take people from other work), so the demo is asked in the
mean.
"""

from __future__ import annotations

import os
import random
from collections.abc import Mapping
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from demo_counts import in_the_window, new_process

from linesim.line.floor import run_once
from linesim.line.sheet import Sheet
from linesim.measures.estimates import Difference, paired_difference
from linesim.scenario.changing import changed
from linesim.scenario.reading import read_scenario
from linesim.scenario.scenario import Scenario

DEMO = Path(__file__).parents[2] / "scenarios" / "birchwater.yaml"
LINES = range(20)
RUNS = int(os.environ.get("DIRECTION_RUNS", "100"))  # 200 before a release; with so many the whole check takes too long
AIRCRAFT = 25
Plant = dict[str, Any]


def line(seed: int, halves: bool = False) -> Plant:
    """A random line of single docks, day and night, nobody needed; each place with up to three packages."""
    luck = random.Random(f"direction {seed}")
    positions: list[Plant] = []
    for n in range(luck.randint(4, 8)):
        packages: list[Plant] = []
        for letter in "abc"[:luck.randint(1, 3)]:
            hours = {"lognormal": {"mean": luck.choice((2, 4, 6)), "cv": 0.6}}
            package: Plant = {"id": f"P{n}{letter}", "hours": hours}
            if luck.random() < 0.5:
                package["after"] = []
            packages.append(package)
        positions.append({"id": f"P{n}", "parking": luck.choice((0, 0, 1, 2)) if n else 0, "packages": packages})
    if halves:
        fuselage = luck.choice((1, 2))
        for n, position in enumerate(positions[:3]):
            position |= {"half": "fuselage" if n < fuselage else "wing", "parking": 0}
    days = luck.choice((6, 12, 24, 48))     # in which all are launched: a full line, and one that waits for aircraft
    minutes = sorted(luck.randrange(0, 60 * 24 * days) for _ in range(AIRCRAFT))
    moments = [f"{datetime(2027, 1, 4) + timedelta(minutes=m):%Y-%m-%d %H:%M}" for m in minutes]
    return {"name": f"Line {seed}", "start": "2027-01-04", "end": "2027-12-31", "positions": positions,
            "shifts": {"day": {"work": ["06:00-10:00", "10:30-14:30"]}, "eve": {"work": ["14:30-18:30"]}},
            "work_rules": {"dispatch": "first come"}, "launches": {"moments": moments},
            "orders": [{"serial": f"S{n:02d}"} for n in range(AIRCRAFT)]}


def with_people(plant: Plant) -> Plant:
    """Each package has a trade of its own: nobody is shared, and work waits at night."""
    names = [package["id"] for position in plant["positions"] for package in position["packages"]]
    for position in plant["positions"]:
        position["packages"] = [package | {"trade": package["id"]} for package in position["packages"]]
    return plant | {"trades": {name: {"people": {"day": 1}} for name in names}}


def on_the_pulse(plant: Plant) -> Plant:
    """All places but the last two move by the pulse."""
    for position in plant["positions"][:-2]:
        position["parking"] = 0
    return plant | {"launches": {"takt_work_days": 0.75},
                    "pulse": {"positions": [p["id"] for p in plant["positions"][:-2]]}}


KINDS = {"day and night": line, "halves": lambda seed: line(seed, halves=True),
         "day shift": lambda seed: with_people(line(seed)), "pulse": lambda seed: on_the_pulse(line(seed)),
         "pulse, day shift": lambda seed: on_the_pulse(with_people(line(seed)))}


def delivered(plant: Plant) -> list[float]:
    """Instants of delivery in order of the order book, on the luck of the line's name."""
    records = run_once(Sheet(Scenario.model_validate(plant)), int(plant["name"].split()[1]), 0)
    assert len(records.delivered) == AIRCRAFT
    return [records.delivered[n] for n in range(AIRCRAFT)]


def assert_never_later(better: list[float], worse: list[float]) -> None:
    """Serial by serial, without a tolerance."""
    assert [n for n, (one, other) in enumerate(zip(better, worse, strict=True)) if one > other] == []


@pytest.mark.parametrize("kind", ["day and night", "halves", "day shift"])
@pytest.mark.parametrize("seed", LINES)
def test_one_more_parking_place_delays_nobody(seed: int, kind: str) -> None:
    """F10, F11: an aircraft that may wait before a place gives its dock free sooner, and the order stays the same."""
    plant = KINDS[kind](seed)
    worse, luck = delivered(plant), random.Random(seed)
    places = [p for p in plant["positions"][1:] if "half" not in p]
    luck.choice(places)["parking"] += 1
    assert_never_later(delivered(plant), worse)


@pytest.mark.parametrize("seed", LINES)
def test_one_more_dock_delays_nobody(seed: int) -> None:
    """F10: a dock more in a place in which all need the same hours, so that nobody overtakes there."""
    plant, luck = line(seed), random.Random(seed)
    places = luck.sample(plant["positions"], 2)
    for place in places:
        place["docks"] = luck.choice((1, 2))
        for package in place["packages"]:
            package["hours"] = package["hours"]["lognormal"]["mean"] * 1.5
    worse = delivered(plant)
    places[0]["docks"] += 1
    assert_never_later(delivered(plant), worse)


@pytest.mark.parametrize("kind", list(KINDS))
@pytest.mark.parametrize("seed", LINES)
def test_shorter_hours_delay_nobody(seed: int, kind: str) -> None:
    """F11, F43: less work in one package, its draws as they were, on a line of free flow and on a pulse line."""
    plant, luck = KINDS[kind](seed), random.Random(seed)
    worse = delivered(plant)
    package = luck.choice([package for position in plant["positions"] for package in position["packages"]])
    package["hours"]["lognormal"]["mean"] *= luck.choice((0.3, 0.7, 0.95))
    assert_never_later(delivered(plant), worse)


@pytest.mark.parametrize("seed", LINES)
def test_shorter_hours_of_one_aircraft_delay_nobody_on_a_line_that_keeps_its_plan(seed: int) -> None:
    """F44 option: also where planned moments that pass are lost; one aircraft has no work in one package."""
    plant, luck = KINDS["pulse, day shift"](seed), random.Random(seed)
    plant["pulse"]["after_stop"] = "keep the plan"
    worse = delivered(plant)
    name = luck.choice([p["id"] for position in plant["positions"] for p in position["packages"]])
    plant["known"] = {"hours": [{"serial": f"S{luck.randrange(AIRCRAFT):02d}", "package": name, "hours": 0}]}
    assert_never_later(delivered(plant), worse)


@pytest.mark.parametrize("kind", ["day and night", "halves", "day shift"])
@pytest.mark.parametrize("seed", LINES)
def test_a_later_launch_brings_nobody_forward(seed: int, kind: str) -> None:
    """F41: one planned launch is later (and those after it in the order book never overtake it)."""
    plant, luck = KINDS[kind](seed), random.Random(seed)
    better = delivered(plant)
    moments, late = plant["launches"]["moments"], luck.randrange(AIRCRAFT)
    moved = moments[min(late + luck.randint(1, 8), AIRCRAFT - 1)]
    plant["launches"]["moments"] = [*moments[:late], *(max(moved, moment) for moment in moments[late:])]
    assert_never_later(better, delivered(plant))


@pytest.mark.parametrize("kind", ["day shift", "pulse, day shift"])
@pytest.mark.parametrize("seed", LINES)
def test_an_evening_shift_delays_nobody(seed: int, kind: str) -> None:
    """F28, F29: one more person in the evening for one package only; what is put down is taken up again."""
    plant, luck = KINDS[kind](seed), random.Random(seed)
    worse = delivered(plant)
    plant["trades"][luck.choice(list(plant["trades"]))]["people"]["eve"] = 1
    assert_never_later(delivered(plant), worse)


@pytest.mark.parametrize("seed", LINES)
def test_a_place_more_often_out_of_service_brings_nobody_forward(seed: int) -> None:
    """F78: service, climate days and breakdowns of one place; the longer days out hold the shorter ones."""
    plant, luck = KINDS["day shift"](seed), random.Random(seed)
    position = luck.choice(plant["positions"])
    position["out_of_service"] = {"climate_share": 0.1, "weekly_hours": 1}
    better = delivered(plant)
    position["out_of_service"] = {"climate_share": 0.3, "weekly_hours": 4}
    assert_never_later(better, delivered(plant))


@pytest.mark.parametrize("seed", LINES)
def test_more_defects_bring_nobody_forward(seed: int) -> None:
    """F70, F71: all defects found by the gate of their own position, whose inspector is its own trade; a higher rate
    only adds to those planted."""
    plant = KINDS["day shift"](seed)
    for n, position in enumerate(plant["positions"]):
        position["packages"].append({"id": f"G{n}", "kind": "buy-off", "trade": f"I{n}", "hours": 0.5,
                                     "gate": "position", "after": [p["id"] for p in position["packages"]]})
        plant["trades"][f"I{n}"] = {"people": {"day": 1}}
    delays = []
    for rate in (0, 3, 12):
        plant["quality"] = {"defects_per_100_hours": rate, "found_in_position": 1, "repair_hours": 1.5}
        delays.append(delivered(plant))
    assert_never_later(delays[0], delays[1])
    assert_never_later(delays[1], delays[2])
    assert delays[0] != delays[2]


@pytest.fixture(scope="module")
def demo() -> Scenario:
    """The demo up to the end of its window: nothing later can change what is delivered in it."""
    plant = read_scenario(DEMO)
    assert plant.window is not None
    return plant.model_copy(update={"end": plant.window.last, "run_on_months": 0})


@pytest.fixture(scope="module")
def as_it_is(demo: Scenario) -> list[int]:
    return delivered_in_the_window(demo)


def delivered_in_the_window(plant: Scenario) -> list[int]:
    """Run by run, on the seed of the demo."""
    with new_process() as process:
        return process.submit(in_the_window, plant, RUNS).result()


def gain(plant: Scenario, changes: Mapping[str, object], as_it_is: list[int]) -> Difference:
    """Deliveries gained by a change on common luck, with its 99 % interval."""
    return paired_difference(delivered_in_the_window(changed(plant, changes)), as_it_is, level=0.99)


@pytest.mark.slow
def test_more_squawks_never_deliver_more(demo: Scenario, as_it_is: list[int]) -> None:
    """F73: half as many squawks again on every flight, on common luck, do not gain deliveries in the mean."""
    found = gain(demo, {"positions.FL.flights.squawks.dial": 1.5}, as_it_is)
    assert found.low <= 0, found


@pytest.mark.slow
@pytest.mark.parametrize("trade", ["FLM", "PNT", "INS", "INT"])
def test_one_more_person_never_delivers_fewer(trade: str, demo: Scenario, as_it_is: list[int]) -> None:
    """F31-F33: one more person of a trade, on common luck, does not cost deliveries in the mean."""
    found = gain(demo, {f"trades.{trade}.people.day": "+1"}, as_it_is)
    assert found.high >= 0, found
