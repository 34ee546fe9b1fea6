"""The engine against the textbook model on small random pulse lines, rate plans, mates and areas with pauses.

Compared are closings, stays in docks, launches, deliveries, pulses (due and made), line stops with their causes, and
what travelled from where to where with how many hours, before and after its price.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import adapter
import pytest

sys.path.insert(0, str(Path(__file__).parent))
import pulse_plants
import small_lines
import special_plants
import textbook
from comparing import by_textbook, compare, wall
from plain_numbers import plain

EXAMPLES = {e["id"]: e for e in json.loads(
    (Path(adapter.__file__).with_name("examples.json")).read_text(encoding="utf-8"))["examples"]}
CASES = [small_lines.those_behind_a_gap, small_lines.saturated_and_held, small_lines.work_behind_a_buy_off,
         small_lines.travelled_into_a_closed_area, small_lines.late_part_under_a_lock,
         small_lines.first_come_after_a_lock]
OF_THE_PULSE = ["X044", "X045", "X046", "X047", "X048", "X049", "X050", "X055", "X056", "X104"]


@pytest.mark.parametrize("seed", range(110))
def test_pulse_lines(seed: int) -> None:
    """F40-F50: the line is due, let work go, stands, moves, launches and rolls out at the same instants."""
    compare(pulse_plants.plant(seed))


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(110, 400))
def test_more_pulse_lines(seed: int) -> None:
    """The same on more lines."""
    compare(pulse_plants.plant(seed))


@pytest.mark.parametrize("seed", range(60))
def test_travelled_work(seed: int) -> None:
    """F46-F50: what may travel, from when, up to which limit, at what price, and where it must be closed."""
    compare(pulse_plants.travel_plant(seed))


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(60, 200))
def test_more_travelled_work(seed: int) -> None:
    """The same on more lines."""
    compare(pulse_plants.travel_plant(seed))


@pytest.mark.parametrize("seed", range(25))
def test_launches(seed: int) -> None:
    """F22, F40, F41: dated takt steps, owed launches, dates that hold, launches on one moment, branches apart."""
    compare(special_plants.launch_plant(seed))


@pytest.mark.parametrize("seed", range(25))
def test_mate_with_parking(seed: int) -> None:
    """F11, F12, F21: moves are settled from the most downstream place upward, also where parking lies before mate."""
    compare(special_plants.mate_plant(seed))


@pytest.mark.parametrize("seed", range(25))
def test_areas_with_pauses(seed: int) -> None:
    """F28, F29: nobody joins a crew in a pause of its area."""
    compare(special_plants.pause_plant(seed))


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(25, 100))
@pytest.mark.parametrize("family", ["launch_plant", "mate_plant", "pause_plant"])
def test_more_special_plants(family: str, seed: int) -> None:
    """The same on more plants."""
    compare(getattr(special_plants, family)(seed))


@pytest.mark.parametrize("case", CASES)
def test_textbook_keeps_what_was_worked_by_hand(case: Callable[[], Any]) -> None:
    """The instant that the words of the rules give."""
    plant, key, instant = case()
    assert by_textbook(plain(plant))[key] == instant


@pytest.mark.parametrize("case", CASES)
def test_engine_on_the_smallest_plants(case: Callable[[], Any]) -> None:
    """The smallest plants on which the engine once departed from the words."""
    compare(case()[0])


@pytest.mark.parametrize("example", OF_THE_PULSE)
def test_textbook_keeps_the_worked_examples_of_the_pulse(example: str) -> None:
    """The textbook model gives the pulses, stops, arrivals, closings and deliveries of the examples, to the minute."""
    scenario = adapter.scenario_of(EXAMPLES[example])
    scenario["trades"].setdefault("INS", {"people": {}})
    told = textbook.told(plain(scenario))
    compared = 0
    instants = {key: value for key, value in EXAMPLES[example]["expected"].items() if not isinstance(value, float)}
    for key, value in instants.items():
        found = _found(scenario, told, key.split())
        compared += found is not None
        assert found is None or found == value or (isinstance(found, list) and found[:len(value)] == value), key
    assert compared


def _found(scenario: dict[str, Any], told: Any, key: list[str]) -> Any:
    """What the textbook model says to an expected figure; None: not a matter of instants."""
    *who, what = key
    made = [wall(scenario, made) for _, made in told.pulses]
    if what in ("pulses", "moved", "pulse"):
        return made if what == "pulses" else made[1]
    if what == "stop":
        stop = told.stops[0]
        return {"from": wall(scenario, stop.due), "to": wall(scenario, stop.made),
                "caused_by": list(stop.causes)}
    if what == "closed":
        return wall(scenario, next(c.closed for c in told.closings if set(who) <= {c.serial, c.job}))
    if what == "delivered":
        return wall(scenario, told.delivered[who[0] if who else "S1"])
    if "in" in who:
        serial = who[0] if who[0] != "in" else "S1"
        stays = [s for s in told.stays if s.serial == serial and s.place == what]
        return wall(scenario, stays[0].arrived)
    return None
