"""The answer of `linesim run`: intervals end where numbers end, and the words keep two kinds of places apart."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

import linesim
from linesim.questions.baseline import lost_share
from linesim.scenario.reading import parse_scenario

SCENARIOS = Path(__file__).parents[2] / "scenarios"
TWO_PLACES = """
name: Two places
start: 2027-01-04
end: 2027-06-30
shifts: {day: {start: "06:00", end: "14:00"}}
trades: {ASM: {people: {day: 1}}, PNT: {people: {day: 1}}}
positions:
  - {id: A, name: Assembly, packages: [{id: a, trade: ASM, hours: 4, crew: 1}]}
  - {id: B, name: Booth, packages: [{id: b, trade: PNT, hours: 8, crew: 1}, {id: b2, trade: PNT, hours: 8, crew: 1}]}
launches: {takt_work_days: 1}
orders: unlimited
"""


@pytest.fixture(scope="module")
def demo() -> dict[str, Any]:
    """Three runs of the demo."""
    return linesim.run(linesim.read(SCENARIOS / "birchwater.yaml"), runs=3).answer.numbers


def test_intervals_end_where_the_numbers_can_only_end(demo: dict[str, Any]) -> None:
    """Of three runs an interval is wide: no month delivers fewer than none, no place is fuller than full; the growth of
    a backlog alone may be negative."""
    for row in demo["deliveries by month"].values():
        assert 0 <= row["low"] <= row["mean"] <= row["high"]
    assert any(row["low"] == 0 for row in demo["deliveries by month"].values())
    for row in (*(place["at work or waiting"] for place in demo["places"]), *(row["load"] for row in demo["trades"])):
        assert 0 <= row["low"] <= row["mean"] <= row["high"] <= 1
    ahead = linesim.run(parse_scenario(TWO_PLACES.replace("takt_work_days: 1", "takt_work_days: 4")), runs=2)
    assert ahead.answer.numbers["keeps the plan"]["backlog growth in the last six months"]["low"] <= 1


def test_the_fullest_place_is_told_apart_from_the_one_that_loses_most() -> None:
    """The booth needs two days a piece and is never empty; Assembly needs half a day and stands blocked behind it."""
    found = linesim.run(parse_scenario(TWO_PLACES), runs=1).answer
    full, loses = found.sentences[-2:]
    first = "What stops the line first is its fullest place, Booth (B): at work or waiting in 100\u202f%"
    assert full.startswith(first)
    assert loses.startswith("Assembly (A) loses most hours: it stands blocked in ")
    of = {row["place"]: row for row in found.numbers["places"]}
    assert lost_share(of["A"]) == pytest.approx(of["A"]["waiting for people"] + of["A"]["blocked"], abs=1e-3)
    assert lost_share(of["A"]) > lost_share(of["B"])


def test_what_is_waited_for_besides_people_is_named(demo: dict[str, Any]) -> None:
    """Not a list of everything it might be: the largest of them, where there is any."""
    of = {row["place"]: row["most waited for, besides people"] for row in demo["places"]}
    assert of["AC"] == "appointment or customer's date"
    assert of["FB-2"] == "other half"


def test_a_quarter_that_lies_partly_in_the_window_says_why_it_has_no_number() -> None:
    """The window is named."""
    plant = parse_scenario(TWO_PLACES.replace(
        "start: 2027-01-04\n", "start: 2027-01-04\nwindow: {from: 2027-01-04, to: 2027-06-30}\n"))
    quarters = linesim.run(plant, runs=1).answer.numbers["quarters"]
    assert quarters["2027 Q1"] == \
        "not counted: the window (2027-01-04 to 2027-06-30) holds only a part of this quarter"
    assert quarters["2027 Q2"]["each run"] > [0]
