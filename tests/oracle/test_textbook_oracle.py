"""The engine against a slow textbook model of the same floor rules, on small random plants, to a millionth of a minute.

The textbook model was written from the text of the rules without looking at the engine. Where the two part, one of
them is wrong, and the text decides. The model itself is held against the worked examples.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import adapter
import pytest

sys.path.insert(0, str(Path(__file__).parent))
import plants
import textbook
from comparing import by_textbook, compare, wall
from plain_numbers import plain

EXAMPLES = {e["id"]: e for e in json.loads(
    (Path(adapter.__file__).with_name("examples.json")).read_text(encoding="utf-8"))["examples"]}
IN_REACH = [f"X{n:03d}" for n in (
    3, 16, 17, 18, 20, 24, 26, 29, 32, 33, 34, 35, 38, 40, 41, 60, 61, 75, 103, 105, 109, 116, 201, 202, 204, 205, 206,
    207, 210, 211)]
OTHER_KEYS = ["first come", "furthest along", {"places": ["C"]}]


@pytest.mark.parametrize("seed", range(150))
def test_engine_is_the_textbook(seed: int) -> None:
    """Every package of every aircraft closes, and every aircraft is launched and delivered, at the same instant."""
    compare(plants.plant(seed)[1])


@pytest.mark.slow
@pytest.mark.parametrize("seed", [*range(150, 400), 698, 1346, 2985, 8509])
def test_engine_is_the_textbook_on_more_plants(seed: int) -> None:
    """The same on more plants."""
    compare(plants.plant(seed)[1])


def test_people_of_a_place_out_of_service_are_free() -> None:
    """B is out 11:00-13:00: its mechanic does S2's hour in A, 11:00-12:00, and does not stand by."""
    assert by_textbook(plain(out_of_service()))["S2", "", "A", "a", 0] == 12 * 60


def test_free_people_join_when_a_place_opens_again() -> None:
    """S1's b has one mechanic 07:00-10:00 and waits for B to open at 11:00; the other, free at 10:30, joins it then."""
    assert by_textbook(plain(place_with_a_break()))["S1", "", "B", "b", 0] == 13.5 * 60


@pytest.mark.parametrize("dispatch", OTHER_KEYS)
def test_ties_of_places_keep_the_key_of_the_plant(dispatch: Any) -> None:
    """At 09:00 S1, going back from C, and S2, ready in A and promised earlier, want B: only by promise is S2 first."""
    assert by_textbook(plain(tie_of_places(dispatch)))["S1", "", "B", "b", 1] == 10 * 60
    assert by_textbook(plain(tie_of_places("promised date"))).get(("S1", "", "B", "b", 1)) is None
    compare(tie_of_places("promised date"))


def test_engine_frees_people_of_a_place_out_of_service() -> None:
    """The smallest plant on which the engine once departed from the text."""
    compare(out_of_service())


def test_engine_lets_free_people_join_when_a_place_opens_again() -> None:
    """The smallest plant on which the engine once departed from the text."""
    compare(place_with_a_break())


@pytest.mark.parametrize("dispatch", OTHER_KEYS)
def test_engine_settles_ties_of_places_by_the_key_of_the_plant(dispatch: Any) -> None:
    """The smallest plant on which the engine once departed from the text."""
    compare(tie_of_places(dispatch))


def out_of_service() -> plants.Scenario:
    """One mechanic; the place of S1 goes out of service for two hours while S2 waits for people."""
    plant = two_places([("S1", "a", 1), ("S2", "a", 1), ("S1", "b", 6), ("S2", "b", 1)], ["06:00", "07:00"])
    plant["known"]["out_of_service"] = [{"position": "B", "from": "2027-01-04 11:00", "to": "2027-01-04 13:00"}]
    return plant


def place_with_a_break() -> plants.Scenario:
    """Two mechanics 06:00-14:00; B is closed 10:00-11:00; S2 in A keeps one of them from 07:00 to 10:30."""
    plant = two_places([("S1", "a", 1), ("S1", "b", 8), ("S2", "a", 3.5), ("S2", "b", 1)], ["06:00", "06:30"])
    plant["shifts"] = {"day": {"work": ["06:00-14:00"]}, "bay": {"work": ["06:00-10:00", "11:00-14:00"]}}
    plant["trades"]["ASM"]["people"] = {"day": 2}
    plant["positions"][1]["shifts"] = ["bay"]
    plant["positions"][1]["packages"][0]["crew_max"] = 2
    plant["orders"][1]["promised"] = "2027-01-10"
    return plant


def tie_of_places(dispatch: Any) -> plants.Scenario:
    """Three textbook places of one hour (two for S2 in A), S1 goes back once from C to B; S2 first would be a ring."""
    hours = [(s, p, 2 if (s, p) == ("S2", "a") else 1) for s in ("S1", "S2") for p in "abc"]
    plant = two_places(hours, ["06:00", "07:00"])
    plant["positions"] = [{"id": name, "packages": [{"id": name.lower()}]} for name in "ABC"]
    plant["positions"][2]["back_to"] = {"position": "B", "chance": 0}
    plant["known"]["goings_back"] = [{"serial": "S1", "position": "C", "times": 1},
                                     {"serial": "S2", "position": "C", "times": 0}]
    plant["work_rules"]["dispatch"] = dispatch
    plant["orders"][1]["promised"] = "2027-01-19"
    return plant


def two_places(hours: list[tuple[str, str, float]], launched: list[str]) -> plants.Scenario:
    """Two places, one mechanic, two aircraft."""
    return {
        "name": "Two places", "start": "2027-01-04", "end": "2027-01-29", "calendar": {"closed": []},
        "shifts": {"day": {"work": ["06:00-10:00", "11:00-15:00"]}}, "trades": {"ASM": {"people": {"day": 1}}},
        "work_rules": {"crew_grows": True}, "launches": {"moments": [f"2027-01-04 {clock}" for clock in launched]},
        "positions": [{"id": name, "packages": [{"id": name.lower(), "trade": "ASM"}]} for name in "AB"],
        "orders": [{"serial": "S1", "promised": "2027-01-20"}, {"serial": "S2", "promised": "2027-01-25"}],
        "known": {"hours": [{"serial": s, "package": p, "hours": h, "repeat": n} for s, p, h in hours for n in (0, 1)]}}


@pytest.mark.parametrize("example", IN_REACH)
def test_textbook_keeps_the_worked_examples(example: str) -> None:
    """The textbook model gives the closings and deliveries of the worked examples, to the minute."""
    scenario = adapter.scenario_of(EXAMPLES[example])
    scenario["trades"].setdefault("INS", {"people": {}})
    told = textbook.told(plain(scenario))
    for key, value in EXAMPLES[example]["expected"].items():
        *who, what = key.split()
        if what == "closed":
            assert value in [wall(scenario, c.closed) for c in told.closings
                             if set(who) <= {c.serial, c.job, c.job.split()[-1]}]
        elif what == "delivered" and isinstance(value, list):
            assert [wall(scenario, t) for t in told.delivered.values()] == value
        elif what == "delivered" and not value:
            assert not told.delivered
