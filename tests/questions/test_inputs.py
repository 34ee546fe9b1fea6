"""The flat list of what a scenario says, deliveries of single runs, and how many digits a column shows."""

from __future__ import annotations

from pathlib import Path

import pytest

import linesim
from linesim.measures.estimates import percentile
from linesim.questions.by_run import deliveries_by_run, whole_quarters
from linesim.questions.decimals import decimals
from linesim.questions.inputs import inputs_of
from linesim.scenario.reading import parse_scenario

SCENARIOS = Path(__file__).parents[2] / "scenarios"


def test_inputs_are_what_the_file_gives_with_units() -> None:
    """Nothing that is left out, long lists counted, a single roster number under its trade."""
    found = {one.path: (one.value, one.unit) for one in inputs_of(linesim.read(SCENARIOS / "tiny.yaml"))}
    assert found["launches.takt_work_days"] == (1.0, "work days")
    assert found["shifts.day.meal_minutes"] == (30, "minutes")
    assert found["trades.ASM.people.day"] == (3, "people")
    assert found["positions.A.packages"] == (1, "entries")
    assert found["orders"] == (3, "entries")
    assert not {"name", "runs", "positions.A.id", "positions.A.docks"} & set(found)


def test_orders_without_end_spreads_and_facts_are_said_in_words() -> None:
    """What is no single number."""
    text = (SCENARIOS / "textbook-feedback.yaml").read_text() + "known: {out_of_service: []}\n"
    found = {one.path: one.value for one in inputs_of(parse_scenario(text))}
    assert found["orders"] == "unlimited"
    assert found["launches.between_hours"] == "exponential: 2.0"
    assert found["positions.A.back_to.chance"] == 0.2
    assert found["known"] == "given"


def test_deliveries_by_run_are_what_the_answer_ranges_over() -> None:
    """The least count that 5 and 8 in 10 runs reach, from the single runs."""
    plant = parse_scenario((SCENARIOS / "tiny.yaml").read_text()
                           + "work_time: {spread: {lognormal: {mean: 1, cv: 1}}}\n"
                           "window: {from: 2027-01-04, to: 2027-01-06}\n")
    result = linesim.run(plant, runs=40)
    rows = deliveries_by_run(plant, result.runs)
    counts = [row["in the window"] for row in rows]
    reach = result.answer.numbers["deliveries in the window"]
    assert min(counts) < max(counts)
    assert reach["5 in 10 reach"] == percentile(counts, 0.5)
    assert sum(count >= reach["8 in 10 reach"] for count in counts) >= 32
    assert [row["in all"] for row in rows] == [len(run.delivered) for run in result.runs]
    assert whole_quarters(plant) == []


@pytest.mark.parametrize(("widths", "least", "most", "digits"), [
    ([0.4], 0, 2, 1), ([0.04], 0, 3, 2), ([0.04, 4.0], 0, 3, 0), ([0.04, 4.0], 1, 3, 1), ([0.0], 1, 2, 1),
    ([], 2, 3, 2), ([0.0001], 0, 2, 2)])
def test_a_column_shows_the_digits_of_its_widest_interval(widths: list[float], least: int, most: int,
                                                          digits: int) -> None:
    """Four standard errors wide: 0.4 has one of 0.1 and shows one decimal."""
    intervals = [{"mean": 5.0, "low": 5 - width / 2, "high": 5 + width / 2} for width in widths]
    assert decimals([*intervals, None, {"mean": 1.0}], least, most) == digits
