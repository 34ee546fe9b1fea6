"""Losses and content are the whole chain, each loss has a permitted change or says "not a lever", and a change gives
what the hand says it must."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import linesim
from linesim.line.records import State
from linesim.line.sheet import Sheet
from linesim.measures.run import RunNumbers
from linesim.questions.dates import UnknownSerial
from linesim.questions.late import Serial, Tried, largest, late, late_serial
from linesim.questions.late_words import effect_words, sentences
from linesim.questions.levers import LEVERS, Lever, Plant, lever
from linesim.questions.losses import CONTENT, LOST, Loss, all_of_run, content, of_run, of_serial, on_the_chain, ranked
from linesim.scenario.changing import changed
from linesim.scenario.differences import differences
from linesim.scenario.paths import plain
from linesim.scenario.reading import parse_scenario
from linesim.scenario.scenario import Scenario

SHIPPED = sorted((Path(__file__).parents[2] / "scenarios").glob("*.yaml"))
# One mechanic for two benches, 3 hours of work in each. The first aircraft works through at once; every next one finds
# the mechanic at the one before it in B from 8 to 11, and waits these 3 of 8 hours in A.
ONE_MECHANIC = """
name: One mechanic
start: 2027-01-04
end: 2027-03-31
window: {from: 2027-02-01, to: 2027-03-26}
shifts: {day: {start: "08:00", end: "16:00"}}
trades: {ASM: {people: {day: 1}}, INS: {people: {day: 1}}}
positions:
  - {id: A, packages: [{id: a1, trade: ASM, hours: 3}, {id: a2, kind: buy-off, trade: INS, hours: 2}]}
  - {id: B, packages: [{id: b1, kind: hold, elapsed_hours: 15}, {id: b2, trade: ASM, hours: 3}]}
launches: {takt_work_days: 1}
orders: unlimited
"""
SLOW_LAST = """
name: The last bench is slow
start: 2027-01-04
end: 2027-02-26
positions:
  - {id: A, packages: [{id: a1, hours: 2}]}
  - {id: B, packages: [{id: b1, hours: 3}]}
  - {id: C, packages: [{id: c1, hours: 5}]}
launches: {saturated: true}
orders: unlimited
"""
PERMITTED = [re.compile(text) for text in (
    r"trades\.[^.]+\.people(\..+)?", r"trades\.[^.]+\.headcount_steps",
    r"positions\.[^.]+\.(docks|cure_bays|stripe_bays)",
    r"positions\.[^.]+\.acceptance\.slots_per_day", r"positions\.[^.]+\.packages\.[^.]+\.slots_per_day",
    r"positions\.[^.]+\.packages\.[^.]+\.chance", r"positions\.[^.]+\.(repeat_chance|repaint\.chance)",
    r"positions\.[^.]+\.flights\.squawks\.(dial|needs_part_share)", r"quality\.dial",
    r"positions\.[^.]+\.acceptance\.squawks\.(mean|needs_part_share)", r"parts\.short_chance",
    r"parts\.long_lead(\..+\.late_chance)?", r"tool_control\.missing_tool\.chance")]
UNTOUCHED = ("cure_hours", "elapsed_hours", "inspection_hours", "hours", "start_check_minutes", "end_check_minutes",
             "extra_minutes", "weather", "daylight", "certificate", "return_chance", "gates_left_out", "kind", "crew",
             "crew_min", "crew_max", "after", "gate", "inspector", "out_of_service", "min_flights", "max_duty_hours",
             "max_flights_per_day", "preflight_hours", "duration_work_days", "notice_work_days", "tool_control.start")


def runs_of(scenario: Scenario, number: int = 1) -> list[RunNumbers]:
    return linesim.run(scenario, runs=number).runs


@cache
def run_of(path: Path) -> tuple[Sheet, list[RunNumbers]]:
    scenario = linesim.read(path)
    return Sheet(scenario), runs_of(scenario)


@pytest.fixture(params=SHIPPED, ids=lambda path: path.stem)
def shipped(request: pytest.FixtureRequest) -> tuple[Sheet, list[RunNumbers]]:
    """A shipped scenario with a run of it."""
    return run_of(request.param)


def every_lever(plant: Plant) -> Iterator[tuple[int, State, Lever]]:
    """Of all places and reasons."""
    for place in plant.sheet.places:
        for state in State:
            yield place.index, state, lever(plant, (place.index, state))


# sums ----------------------------------------------------------------------------------------------------------------
def test_losses_and_content_are_the_whole_chain(shipped: tuple[Sheet, list[RunNumbers]]) -> None:
    """Every work day of `RunNumbers.chain` once; blocked days only change their place."""
    sheet, runs = shipped
    found, chain = on_the_chain(sheet, runs), sum(run.chain[0] for run in runs)
    np.testing.assert_allclose(found.sum(axis=0), np.asarray(chain).sum(axis=0), atol=1e-9)
    assert (found > -1e-9).all()
    assert {*CONTENT, *LOST} == set(State)
    assert len(CONTENT) + len(LOST) == len(State)
    aircraft = sum(run.counted for run in runs)
    if aircraft:
        lost = sum(all_of_run(sheet, run) * run.counted for run in runs)  # type: ignore[operator]
        assert lost / aircraft + sum(content(sheet, runs).values()) == pytest.approx(found.sum() / aircraft)
        for loss in ranked(sheet, runs):
            assert of_run(sheet, runs[0], loss.key) == pytest.approx(loss.days)


def test_what_a_serial_loses_is_what_was_kept_of_it(shipped: tuple[Sheet, list[RunNumbers]]) -> None:
    """Days of its rows, whatever place they are held against."""
    sheet, (run,) = shipped
    lost = {name: np.asarray(column) for name, column in run.tables.lost.items()}
    for serial in set(lost["serial"].tolist()):
        assert sum(of_serial(sheet, run, serial).values()) == pytest.approx(
            float(lost["work_days"][lost["serial"] == serial].sum()))


# levers --------------------------------------------------------------------------------------------------------------
def test_every_reason_is_a_lever_or_says_that_it_is_none(shipped: tuple[Sheet, list[RunNumbers]]) -> None:
    """No reason is without an answer, and no answer without words."""
    assert set(LEVERS) == set(State)
    for _, state, found in every_lever(Plant(*shipped)):
        assert found.words.startswith("not a lever") is not found.there
        if state in (*CONTENT, State.WEATHER, State.OFF_SHIFT, State.PULSE):
            assert not found.there


@pytest.mark.parametrize("luck", range(3))
def test_no_cure_hold_inspection_check_limit_or_certificate_is_changed(shipped: tuple[Sheet, list[RunNumbers]],
                                                                       luck: int) -> None:
    """Whatever was waited for where: changes are of the permitted kinds only, and the file takes them."""
    sheet, runs = shipped
    plant, random = Plant(sheet, runs), np.random.default_rng(luck)
    if luck:  # other hours than the run's own, so that any lever may be chosen
        plant.waits = random.exponential(size=plant.waits.shape) * (random.random(plant.waits.shape) < 0.5)
        plant.hours = random.exponential(size=plant.hours.shape) ** 3
    seen = {repr(found.changes): found.changes for _, _, found in every_lever(plant) if found.there}
    before = untouched(plain(sheet.scenario))
    for changes in seen.values():
        other = changed(sheet.scenario, changes)
        paths = [path for path, _, _ in differences(sheet.scenario, other)]
        assert paths
        assert [path for path in paths if not any(one.fullmatch(path) for one in PERMITTED)] == []
        assert untouched(plain(other)) == before


def untouched(values: Any, path: str = "") -> list[tuple[str, Any]]:
    """What no change may touch, wherever it stands."""
    if isinstance(values, list):
        values = dict(enumerate(values))
    if not isinstance(values, dict):
        return []
    return [found for key, value in values.items() for found in (
        [(f"{path}.{key}", value)] if key in UNTOUCHED else untouched(value, f"{path}.{key}"))]


def test_the_certificate_is_no_lever_and_the_acceptance_is(demo: Plant) -> None:
    """Both are waits for an appointment."""
    at = {place.id: place.index for place in demo.sheet.places}
    assert lever(demo, (at["FC"], State.CUSTOMER)).words == \
        "not a lever: the certificate is given by its own authority"
    assert lever(demo, (at["AC"], State.CUSTOMER)).changes == {"positions.AC.acceptance.slots_per_day": "+1"}


def test_fewer_tools_are_missing_and_the_checks_stay(demo: Plant) -> None:
    """Half the chance; the search and the minutes of the check are as before."""
    assert lever(demo, (0, State.LOCKED)).changes == {"tool_control.missing_tool.chance": 0.000625}


@pytest.fixture
def demo() -> Plant:
    """The demo with a run."""
    return Plant(*run_of(SHIPPED[0].parent / "birchwater.yaml"))


def test_one_more_person_stays_one_more_after_a_dated_change() -> None:
    """Its numbers would else be put back on that date."""
    scenario = parse_scenario(ONE_MECHANIC.replace(
        "ASM: {people: {day: 1}}",
        "ASM: {people: {day: 1}, headcount_steps: [{from: 2027-03-01, shift: day, people: 2}]}"))
    found = lever(Plant(Sheet(scenario), runs_of(scenario)), (0, State.PEOPLE))
    assert [step.people for step in changed(scenario, found.changes).trades["ASM"].headcount_steps] == [3]


def test_a_place_without_room_is_relieved_where_the_line_is_fullest() -> None:
    """B has no room because C is always full: one more dock in C, not in B, and then B is the fullest."""
    scenario = parse_scenario(SLOW_LAST)
    sheet, runs = Sheet(scenario), runs_of(scenario)
    plant = Plant(sheet, runs)
    first, second, *_ = ranked(sheet, runs)
    assert {first.key, second.key} == {(1, State.BLOCKED), (2, State.BLOCKED)}
    assert first.days == pytest.approx(3 / 24, rel=0.02)  # A: 2 of 5 hours at work; 24 hours are a work day here
    assert [lever(plant, loss.key).changes for loss in (first, second)] == [{"positions.C.docks": "+1"}] * 2
    wider = changed(scenario, {"positions.C.docks": "+1"})
    now = Plant(Sheet(wider), runs_of(wider))
    assert lever(now, (1, State.BLOCKED)).changes == {"positions.B.docks": "+1"}


def test_a_position_of_a_pulse_line_gets_no_second_dock() -> None:
    """It has one dock; who is waited for there is the lever."""
    plant = Plant(*run_of(SHIPPED[0].parent / "birchwater-pulse.yaml"))
    assert plant.of_pulse()
    for place in plant.sheet.places:
        if place.id in plant.of_pulse():
            assert f"positions.{place.id}.docks" not in lever(plant, (place.index, State.BLOCKED)).changes


# what a change gives -------------------------------------------------------------------------------------------------
@pytest.fixture(scope="module")
def one_mechanic() -> tuple[Sheet, list[RunNumbers]]:
    """One mechanic for two benches."""
    scenario = parse_scenario(ONE_MECHANIC)
    return Sheet(scenario), runs_of(scenario, 2)


def test_one_more_mechanic_takes_away_exactly_the_wait_for_one(one_mechanic: tuple[Sheet, list[RunNumbers]]) -> None:
    """Every aircraft waits 3 of 8 hours in A, and for nothing else; with two mechanics for nothing."""
    sheet, runs = one_mechanic
    loss, = ranked(sheet, runs)
    assert loss.key == (0, State.PEOPLE)
    assert loss.days == pytest.approx(3 / 8)
    named, = largest(Plant(sheet, runs), [loss])
    assert named.lever.changes == {"trades.ASM.people.day": "+1"}
    assert named.scenario is not None
    other = Sheet(named.scenario)
    tried = Tried(sheet, runs, other, runs_of(named.scenario, 2))
    gives = tried.gives(loss.key)
    for name in ("work days of this loss", "work days lost"):
        assert gives[name] == {"mean": -0.375, "low": -0.375, "high": -0.375, "of": 2}
    assert gives["deliveries"]["mean"] == 0
    said = " ".join(late(sheet, runs, 1, [named], {loss.key: tried}).sentences)
    assert "Aircraft lose most to waiting at A for ASM: 0.4 of the 0.4 work days" in said
    assert "With one more ASM: no difference in deliveries that 2 runs can show; all losses together: " \
        "\N{MINUS SIGN}0.4" in said
    assert "lost again elsewhere" not in said


def test_from_python_the_changes_are_named(one_mechanic: tuple[Sheet, list[RunNumbers]]) -> None:
    """What the command answers, without the runs of the changes."""
    sheet, _ = one_mechanic
    result = linesim.run(sheet.scenario, runs=2)
    row, = linesim.late(result).numbers["largest"]
    assert (row["changes"], row["gives"]) == ({"trades.ASM.people.day": "+1"}, None)
    assert result.answer.numbers["largest losses"]["largest"] == [row]
    with pytest.raises(UnknownSerial):
        linesim.late(result, serial="S1")


def test_one_aircraft_by_its_serial() -> None:
    """The same of each: its wait, its date and the runs in which it is the largest."""
    serials = "".join(f"\n  - {{serial: S{n}}}" for n in range(1, 60))
    scenario = parse_scenario(ONE_MECHANIC.replace("orders: unlimited", f"orders:{serials}"))
    sheet, runs = Sheet(scenario), runs_of(scenario, 2)
    one = Serial(sheet, runs, "S30")
    named, = largest(Plant(sheet, runs), one.ranked())
    assert named.scenario is not None
    assert named.loss == Loss(0, State.PEOPLE, 0.375)
    other = Serial(Sheet(named.scenario), runs_of(named.scenario, 2), "S30")
    answer = late_serial(one, 1, [named], {named.loss.key: other})
    row, = answer.numbers["largest"]
    assert (row["half the runs"], row["2 in 10 runs"], row["largest in"]) == (0.375, 0.375, 2)
    assert row["gives"]["work days of this loss"]["mean"] == -0.375
    assert row["gives"]["delivery, calendar days"]["of"] == 2
    assert answer.sentences[0].startswith("S30 loses most to waiting at A for ASM: 0.4 of the 0.4 work days")


def test_a_change_that_the_file_does_not_take_is_said(one_mechanic: tuple[Sheet, list[RunNumbers]]) -> None:
    """One person more has no room left for the leave of all: the fault stands there, nothing is run."""
    sheet, runs = one_mechanic
    leave = "attendance: {leave: {weeks: 30, in_blocks: true, most_away: {ASM: 1}}}\n"
    plant = Plant(Sheet(parse_scenario(ONE_MECHANIC + leave)), runs)
    named, = largest(plant, [Loss(0, State.PEOPLE, 1.0)])
    assert named.scenario is None
    assert "ASM" in named.fault
    answer = late(sheet, runs, 1, [named])
    assert any("the file has a fault, so it is not run" in text for text in answer.sentences)


def test_further_losses_are_named_until_three_have_a_lever(demo: Plant) -> None:
    """What is no lever stands there too, and does not take the place of one that is."""
    at = {place.id: place.index for place in demo.sheet.places}
    fixed, free = Loss(at["FL"], State.WEATHER, 9.0), Loss(at["FL"], State.PEOPLE, 1.0)
    assert [one.loss for one in largest(demo, [fixed, fixed, free, fixed, free, fixed, free, free])] == [
        fixed, fixed, free, fixed, free, fixed, free]
    assert [one.loss for one in largest(demo, [fixed, fixed, free, fixed])] == [fixed, fixed, free]
    assert len(largest(demo, [free] * 5)) == 3


def test_nothing_delivered_and_nothing_lost() -> None:
    """Both are said, and no change is named."""
    early = parse_scenario(ONE_MECHANIC.replace("from: 2027-02-01, to: 2027-03-26", "from: 2027-01-04, to: 2027-01-04"))
    assert late(Sheet(early), runs_of(early), 1).sentences[0].startswith("No aircraft is launched in the runs and del")
    easy = parse_scenario(ONE_MECHANIC.replace("ASM: {people: {day: 1}}", "ASM: {people: {day: 2}}"))
    answer = late(Sheet(easy), runs_of(easy), 1)
    assert answer.sentences[0] == "Aircraft lose no time on the chain that sets their dates."
    assert answer.numbers["largest"] == []


def test_a_loss_that_only_moves_is_called_so() -> None:
    """One more dock in front of the slow bench takes its loss away and gives another."""
    scenario = parse_scenario(SLOW_LAST)
    sheet, runs = Sheet(scenario), runs_of(scenario, 2)
    wider = changed(scenario, {"positions.B.docks": "+1"})
    tried = Tried(sheet, runs, Sheet(wider), runs_of(wider, 2))
    row = {"gives": tried.gives((1, State.BLOCKED)), "changes": {"positions.B.docks": "+1"}, "place": "B",
           "reason": "blocked", "mostly for": None}
    assert row["gives"]["work days of this loss"]["mean"] < row["gives"]["work days lost"]["mean"]
    assert effect_words(row).endswith("but most of it is lost again elsewhere")


def test_short_lives_have_losses_too() -> None:
    """Round the clock an aircraft is here for a fraction of a day: what it loses is named all the same."""
    scenario = parse_scenario(SLOW_LAST)
    answer = late(Sheet(scenario), runs_of(scenario), 1)
    assert answer.sentences[0].startswith("Aircraft lose most to waiting for room in ")
    assert "0.0 " not in answer.sentences[0]


def test_half_the_runs_that_lose_nothing_are_not_said_to_lose_0_days() -> None:
    """What half the runs lose, else what 2 in 10 lose, else that few lose any."""
    row = {"name": "", "place": "A", "reason": "parts", "mostly for": None, "work days": 1.0, "largest in": 2,
           "cannot be run": None}
    numbers = {"serial": "S1", "runs": 10, "work days lost": 2.0, "delivered in": 10, "no loss": {}, "largest": [row]}
    said = []
    for half, few in ((1.5, 3.0), (0.0, 3.0), (0.0, 0.0)):
        row.update({"half the runs": half, "2 in 10 runs": few})
        said.append(sentences({**numbers, "largest": [{**row, "gives": None, "lever": True, "change": "one more"}]})[1])
    assert said == [
        "Half the runs lose 1.5 work days or more to it; it is the largest loss in 2 of 10 runs.",
        "Half the runs lose nothing to it, 2 in 10 lose 3.0 work days or more; it is the largest loss in 2 of 10 runs.",
        "More than 8 in 10 runs lose nothing to it; it is the largest loss in 2 of 10 runs."]
