"""What may be changed: every change runs, none touches what nobody may shorten, and its words say what it does."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from linesim.questions.buy_levers import FREE, Candidate, candidates_of, changes_of
from linesim.scenario.changing import changed
from linesim.scenario.differences import differences
from linesim.scenario.reading import parse_scenario, read_scenario
from linesim.scenario.scenario import Scenario

SHIPPED = sorted((Path(__file__).parents[2] / "scenarios").glob("*.yaml"))
DEMO = next(path for path in SHIPPED if path.name == "birchwater.yaml")


def kept_as_they_are(s: Scenario) -> dict[str, Any]:
    """Work, cures, holds, inspections, crews, flights, certificate, tool checks, weather, hours of work, orders."""
    return {
        "packages": [(package if package.certificate else package.model_copy(update={"slots_per_day": 1}))
                     for position in s.positions for package in position.packages],
        "flights": [position.flights and position.flights.model_copy(update={"squawks": None})
                    for position in s.positions],
        "places": [(one.repaint, one.out_of_service, one.next, one.back_to, one.repeat_chance) for one in s.positions],
        "gates": s.quality and s.quality.model_copy(update={"dial": 1.0}),
        "rest": (s.weather, s.daylight, s.tool_control, s.fleet_holds, s.shifts, s.calendar, s.orders, s.work_time,
                 s.known, s.pulse and s.pulse.positions, s.launches.takt_work_days)}


@pytest.mark.parametrize("file", SHIPPED, ids=lambda path: path.stem)
def test_every_change_of_a_shipped_scenario_runs_and_cuts_nothing(file: Path) -> None:
    """No fault; each differs from the file; what nobody may shorten is the same; names are told apart; free first."""
    scenario = read_scenario(file)
    able, unable = candidates_of(scenario)
    assert not unable
    assert able
    before = kept_as_they_are(scenario)
    for one in able:
        assert differences(scenario, one.scenario), one.change.words
        assert kept_as_they_are(one.scenario) == before, one.change.words
    for names in ([one.change.key for one in able], [one.change.words for one in able]):
        assert len(set(names)) == len(names)
    free = [one.change.takes == FREE for one in able]
    assert free == sorted(free, reverse=True)


def test_the_demo_has_every_kind_of_change() -> None:
    """Rules, people, places, shift, less of what goes wrong."""
    keys = {change.key for change in changes_of(read_scenario(DEMO))}
    assert keys >= {"furthest along", "serving FLM", "cover", "cap", "people FLM", "people FTP", "dock ER", "spot FL",
                    "booth PB", "stripe bay PB", "bay AC", "slots AC", "evening shift", "squawks", "defects", "absence",
                    "parts"}
    assert "slots FC-99" not in keys  # the certificate is given by its own authority
    on_pulse = {change.key for change in changes_of(read_scenario(DEMO.with_name("birchwater-pulse.yaml")))}
    assert on_pulse >= {"more travels", "nothing travels", "stops"}
    assert not on_pulse & {f"dock P{n}" for n in range(1, 9)}  # a position of the line has one dock


def test_changes_that_the_demo_declares_itself_are_the_same_scenarios() -> None:
    """The third mechanic, the evening paint shift, the stripe bay: their runs are shared with the comparison."""
    demo = read_scenario(DEMO)
    found = {one.change.key: one for one in candidates_of(demo)[0]}
    declared = {one.name: one.changes for one in demo.comparisons}
    for key, name in (("people FLM", "4.5 + third flight-line mechanic"),
                      ("evening shift", "4.5 + evening paint shift"),
                      ("stripe bay PB", "4.5 + stripe bay outside the booth"),
                      ("cover", "Rigging mechanics cover for flight-line mechanics (no cost)")):
        assert not differences(found[key].scenario, changed(demo, declared[name])), key


BENCHES: dict[str, Any] = {
    "name": "Two benches", "start": "2027-01-04", "end": "2027-12-31", "orders": "unlimited",
    "shifts": {"day": {"start": "08:00", "end": "16:00"}, "evening": {"start": "16:00", "end": "23:00"}},
    "trades": {"ASM": {"name": "Assembler", "people": 2}, "INS": {"people": {"day": 1}}},
    "positions": [{"id": "A", "packages": [{"id": "a1", "trade": "ASM", "hours": 8, "crew_max": 2}]},
                  {"id": "B", "parking": 1, "packages": [{"id": "b1", "trade": "ASM", "hours": 4},
                                                         {"id": "b2", "kind": "buy-off", "hours": 1}]}],
    "launches": {"takt_work_days": 1}}


def plant(**parts: Any) -> Scenario:
    """The benches with some parts changed."""
    return parse_scenario(json.dumps({**BENCHES, **parts}))


def by_key(scenario: Scenario) -> dict[str, Candidate]:
    return {one.change.key: one for one in candidates_of(scenario)[0]}


def test_words_count_from_what_stands_there() -> None:
    """A third; on top of it, a fourth."""
    first = by_key(plant())["people ASM"]
    assert first.change.words == "a third assembler (ASM)"
    assert by_key(first.scenario)["people ASM"].change.words == "a fourth assembler (ASM)"


def test_one_more_person_stays_one_more_after_a_dated_step() -> None:
    """The step says how many there are from then on: one more of them, too."""
    steps = [{"from": "2027-06-01", "shift": "day", "people": 3}]
    trades = {**BENCHES["trades"], "ASM": {"people": {"day": 2}, "headcount_steps": steps}}
    found = by_key(plant(trades=trades))["people ASM"].scenario.trades["ASM"]
    assert found.people == {"day": 3}
    assert [step.people for step in found.headcount_steps] == [4]


def test_an_evening_shift_has_a_crew_and_the_day_keeps_its_own() -> None:
    """Also of a trade whose people stand as a single number; inspectors and pilots get none by themselves."""
    found = by_key(plant())
    assert found["evening shift ASM"].scenario.trades["ASM"].people == {"day": 2, "evening": 2}
    assert "evening shift INS" not in found
    assert "evening shift ASM" not in by_key(found["evening shift ASM"].scenario)


def test_the_cap_leaves_every_aircraft_a_dock() -> None:
    """Docks of both benches, no parking; without parking there is nothing to cap."""
    found = by_key(plant())["cap"].scenario.launches
    assert (found.most_on_line, found.most_on_line_until) == (2, "B")
    assert "cap" not in by_key(plant(positions=BENCHES["positions"][:1]))


def test_what_the_file_forbids_is_named_with_its_fault() -> None:
    """Leave in blocks: 26 people with two weeks each and one away at a time fill the year; one more finds no week."""
    leave = {"leave": {"weeks": 2, "in_blocks": True, "most_away": {"others": 1}}}
    trades = {**BENCHES["trades"], "ASM": {"people": {"day": 26}}}
    able, unable = candidates_of(plant(trades=trades, attendance=leave))
    assert [change.key for change, _ in unable] == ["people ASM", "evening shift ASM"]
    assert all("leave" in why for _, why in unable)
    assert "people INS" in {one.change.key for one in able}
