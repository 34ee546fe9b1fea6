"""The upper bound of the rate: no run on the same luck delivers more, and a line that needs nobody reaches it."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path
from random import Random
from typing import Any

import pytest
from test_oracles import random_plant

from linesim.line.floor import run_once
from linesim.line.sheet import Sheet
from linesim.measures.run import window_instants
from linesim.questions.enough_people import most_allowed
from linesim.scenario.changing import changed
from linesim.scenario.reading import parse_scenario, read_scenario
from linesim.scenario.scenario import Scenario

SCENARIOS = Path(__file__).parents[2] / "scenarios"


def bound_and_runs(scenario: Scenario, seed: int, runs: range) -> list[tuple[int, int]]:
    """Upper bound and deliveries of each run, by the end of the window."""
    sheet = Sheet(scenario)
    bound = most_allowed(sheet, seed, runs)
    assert not isinstance(bound, str)
    end = window_instants(sheet)[1]
    made = [sum(t < end for t in run_once(sheet, seed, run).delivered.values()) for run in runs]
    return list(zip(bound.delivered, made, strict=True))


@pytest.mark.parametrize("seed", range(12))
def test_no_run_of_a_random_plant_delivers_more(seed: int) -> None:
    """Docks, parking, halves, crews, holds, buy-offs, repeats and people that change, cut while it is at work."""
    scenario, _ = random_plant(seed)
    draw = Random(seed)
    for days in draw.sample(range(4, 45), 4):
        cut = scenario.model_copy(update={"end": scenario.start + timedelta(days=days),
                                          "known": scenario.known.model_copy(update={"present": ()})})
        for most, made in bound_and_runs(cut, 11, range(3)):
            assert most >= made


@pytest.mark.parametrize("takt", [4.5, 2])
def test_no_run_of_the_demo_delivers_more(takt: float) -> None:
    """With all it has: halves, flights, weather, defects, parts, buy-offs, aircraft that stand there at the start."""
    scenario = changed(read_scenario(SCENARIOS / "birchwater.yaml"), {"launches.takt_work_days": takt})
    (most, made), = bound_and_runs(scenario, 5, range(1))
    assert made <= most
    if takt == 2:  # far beyond what the places allow, the launches are not what bounds it
        hasty = Sheet(changed(scenario, {"launches.takt_work_days": 0.25}))
        places = most_allowed(hasty, 5, range(1))
        assert not isinstance(places, str)
        assert most < places.delivered[0] < 600 < 250 / 0.25


@pytest.mark.parametrize(("takt", "docks", "crew_max"), [(2.0, 1, 2), (0.5, 1, 2), (0.25, 2, 2), (0.25, 3, 4)])
def test_a_place_with_enough_people_reaches_it(takt: float, docks: int, crew_max: int) -> None:
    """One place, everybody there: the bound is what is delivered, to the aircraft."""
    scenario = parse_scenario(json.dumps({
        "name": "Enough people", "start": "2027-01-04", "end": "2027-06-30", "orders": "unlimited",
        "shifts": {"day": {"start": "08:00", "end": "16:00"}}, "trades": {"ASM": {"people": {"day": 40}}},
        "launches": {"takt_work_days": takt},
        "positions": [{"id": "A", "docks": docks, "packages": [
            {"id": "a1", "trade": "ASM", "hours": 12, "crew_max": crew_max},
            {"id": "a2", "trade": "ASM", "hours": 4, "crew_max": crew_max}]}]}))
    for most, made in bound_and_runs(scenario, 1, range(1)):
        assert most == made > 50


def test_a_line_with_room_before_each_place_comes_close() -> None:
    """Places in a row that need nobody: each run is within the bound, and all of them are near it."""
    places: list[dict[str, Any]] = [
        {"id": f"P{n}", "parking": 90 * (n > 0), "packages": [
            {"id": f"p{n}", "hours": {"uniform": {"low": 0.9, "high": 1.1}}}]} for n in range(4)]
    scenario = parse_scenario(json.dumps({
        "name": "Row", "start": "2027-01-01", "end": "2027-01-07", "orders": "unlimited", "positions": places,
        "launches": {"between_hours": {"exponential": 1.2}}}))
    found = bound_and_runs(scenario, 3, range(20))
    assert all(made <= most <= made + 12 for most, made in found)
    assert len({most for most, _ in found}) > 5


def test_where_it_does_not_hold_it_says_so() -> None:
    """A pulse line carries unfinished work on; launches without an end have no pool of aircraft."""
    pulse = most_allowed(Sheet(read_scenario(SCENARIOS / "birchwater-pulse.yaml")), 1, range(1))
    line = most_allowed(Sheet(read_scenario(SCENARIOS / "textbook-line.yaml")), 1, range(1))
    assert pulse == "a pulse line carries unfinished work on"
    assert line == "aircraft are launched without an end"
