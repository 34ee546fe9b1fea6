"""The textbook line that cost is measured against does the engine's work, and is not made to look slow."""

from __future__ import annotations

from pathlib import Path

import pytest

from linesim.line.desk import run_chunk
from linesim.line.sheet import Sheet
from linesim.measures.run import numbers_of
from linesim.questions.rate_plans import plans_to_try, takts_from
from linesim.questions.without_luck import without_common_luck
from linesim.scenario.acted_on import acted_on
from linesim.scenario.reading import read_scenario
from tests.bench import parts, plants, reference
from tests.bench.__main__ import BEGIN, END, table, with_table
from tests.bench.measured import BIRCHWATER, command


@pytest.mark.parametrize("number", [0, 7])
def test_the_textbook_delivers_at_the_instants_of_the_engine(number: int) -> None:
    """The reference line over four days, blocking and rework in it, on the same times: difference 0.0."""
    engine, textbook, line = reference.both(4, number)
    assert textbook == engine
    assert len(engine) > 400
    assert line.visits > 10.2 * len(engine)  # some go back


def test_the_textbook_needs_few_events() -> None:
    """At most 8 events a package, or being quicker than it would mean nothing."""
    timed = reference.by_textbook(3, hours=50)
    assert timed.visits > 2000
    assert timed.events <= parts.EVENTS * timed.visits


def test_general_libraries_run_the_same_line() -> None:
    """Deliveries of Ciw and salabim in 400 hours are those of a line that keeps up with its launches."""
    expected = 400 / reference.BETWEEN
    assert abs(reference.by_ciw(1, 400).parts - expected) < 5 * expected ** 0.5


def test_large_plants_are_what_they_say() -> None:
    """Places, packages and aircraft are counted."""
    sheet = Sheet(plants.of_places(60, 1000, aircraft=3))
    assert len(sheet.places) == 60
    assert sum(len(place.jobs) for place in sheet.places) == 1000


def test_the_events_of_a_run_are_counted() -> None:
    """Of the smallest plant, run after run the same."""
    sheet = Sheet(read_scenario(parts.TINY))
    assert parts.events_of(sheet) == parts.events_of(sheet) > 6


@pytest.mark.slow
def test_a_rate_from_many_runs_fits_in_memory(tmp_path: Path) -> None:
    """Each kept run of the demo costs a process so little that 10,000 of them and all else stay under 400 MB."""
    scenario = read_scenario(BIRCHWATER)
    plan, = plans_to_try(scenario, takts_from("4.5"))
    done = run_chunk(Sheet(acted_on(scenario)), scenario.seed, range(30, 35), numbers_of) * 5
    parts.fill(tmp_path, plan.scenario, scenario.seed, done, 1500)
    words = ("rate", BIRCHWATER, "--takts", "4.5", "--jobs", 1, "--json", "--out", tmp_path, "--runs")
    less, more = (command(*words, runs).largest_mb for runs in (100, 1500))
    assert less + (more - less) / 1400 * 9900 < 400


@pytest.mark.slow
def test_a_run_command_hardly_grows_with_its_kept_runs(tmp_path: Path) -> None:
    """All of a run of the demo is 130 kB and more in memory; of the runs that a command answers from it holds far
    less of each."""
    scenario = read_scenario(BIRCHWATER)
    done = run_chunk(Sheet(acted_on(scenario)), scenario.seed, range(30, 35), numbers_of) * 5
    for one in filter(None, (scenario, without_common_luck(scenario))):
        parts.fill(tmp_path, one, scenario.seed, done, 1500)
    words = ("run", BIRCHWATER, "--jobs", 1, "--json", "--no-report", "--out", tmp_path, "--runs")
    less, more = (command(*words, runs).largest_mb for runs in (300, 1500))
    # kB a run; the parts of tables are full from 100 runs on, and the peak of a process varies by some 15 MB
    assert 1000 * (more - less) / 1200 < 40


def test_the_kept_table_replaces_the_older_one() -> None:
    """Text around it stays."""
    kept = {"demo": {"rows": [["a run", "1 ms", "so"]], "machine": "one", "on": "2027-01-01"}}
    text = with_table(f"before\n{BEGIN}\nold\n{END}\nafter\n", kept)
    assert text == f"before\n{BEGIN}\n{table(kept)}{END}\nafter\n"
    assert "| a run | 1 ms | so |" in text
    with pytest.raises(ValueError, match="has no"):
        with_table("nothing", kept)
