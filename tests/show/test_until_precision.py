"""`--until-precision` ends at the first look that is precise enough, however the runs came about."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

import linesim
from linesim.line.runs import run_many
from linesim.measures.estimates import mean_interval
from linesim.measures.run import numbers_of
from linesim.questions.enough import LEAST, STEP
from linesim.scenario.scenario import Scenario
from linesim.show.commands import main
from linesim.show.run_folder import RunFolder

TINY = Path(__file__).parents[2] / "scenarios" / "tiny.yaml"
UNCERTAIN = """
name: One bench, hours that vary
start: 2027-01-04
end: 2027-03-26
shifts: {day: {start: "08:00", end: "16:00"}}
trades: {ASM: {people: {day: 1}}}
work_time: {spread: {lognormal: {mean: 1, cv: 0.8}}}
positions: [{id: A, packages: [{id: a1, trade: ASM, hours: 12}]}]
launches: {saturated: true}
orders: unlimited
"""


def of_the_runs(out: Path) -> dict[str, bytes]:
    """Tables, answer and manifest of the one folder in `out`, without the batches."""
    folder, = out.iterdir()
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


@pytest.fixture
def uncertain(tmp_path: Path) -> Path:
    """A file of a plant whose deliveries vary from run to run."""
    path = tmp_path / "bench.yaml"
    path.write_text(UNCERTAIN)
    return path


@pytest.fixture
def bench(uncertain: Path) -> Scenario:
    """The plant of that file."""
    return linesim.read(uncertain)


def counts_of(plant: Scenario, runs: int) -> list[int]:
    """Deliveries of every run: the window of this plant is all of its run."""
    done = [run for chunk in run_many(plant, plant.seed, range(runs), numbers_of) for run in chunk]
    return [len(run.delivered) for run in done]


def looks(counts: list[int]) -> Iterator[tuple[int, float]]:
    """Runs and half-width at each look."""
    for n in range(LEAST, len(counts) + 1, STEP):
        found = mean_interval(counts[:n])
        yield n, found.high - found.point


def test_runs_end_at_the_first_look_that_is_precise_enough(bench: Scenario) -> None:
    """For three precisions: at that look, neither before nor after it."""
    counts = counts_of(bench, 200)
    widths = dict(looks(counts))
    assert len(set(widths.values())) > 3
    for asked in (max(widths.values()), widths[140], widths[180]):
        first = next(n for n, width in widths.items() if width <= asked)
        result = linesim.run(bench, until_precision=asked)
        assert len(result.runs) == first
        assert [len(run.delivered) for run in result.runs] == counts[:first]
        assert result.answer.numbers["precision"]["reached"]
        assert f"{first} runs were enough" in result.answer.sentences[-1]


def test_the_most_runs_end_it_too(bench: Scenario) -> None:
    """The last look is at the most runs, and the answer says that the precision is not reached."""
    result = linesim.run(bench, until_precision=1e-6, runs=110)
    assert len(result.runs) == 110
    assert not result.answer.numbers["precision"]["reached"]
    assert "110 runs are the most allowed" in result.answer.sentences[-1]


def test_precision_depends_neither_on_processes_nor_on_interruption(uncertain: Path, tmp_path: Path) -> None:
    """One process, two, and one that went on after some runs out of order were there: the same tables and answer."""
    plant = linesim.read(uncertain)
    asked = f"{dict(looks(counts_of(plant, 160)))[140] + 1e-9:.6f}"
    with RunFolder(tmp_path / "3", "bench", plant, plant.seed) as folder:
        folder.put([run for chunk in run_many(plant, plant.seed, [*range(17), 90, 120, 200], numbers_of)
                    for run in chunk])
    for name, jobs in (("1", 1), ("2", 2), ("3", 1)):
        assert main(["run", "--no-report", str(uncertain), "--until-precision", asked, "--jobs", str(jobs),
                     "--out", str(tmp_path / name)]) == 0
    one, *others = (of_the_runs(tmp_path / of) for of in "123")
    assert json.loads(one["answer.json"])["precision"]["reached"]
    assert all(other == one for other in others)
    with RunFolder(tmp_path / "3", "bench", plant, plant.seed) as folder:
        assert folder.there >= {*range(140), 200}


@pytest.mark.parametrize(("arguments", "said"), [
    (["--until-precision", "0"], "--until-precision must be above 0 (aircraft), found 0"),
    (["--until-precision", "nan"], "--until-precision must be above 0 (aircraft), found nan"),
    (["--until-precision", "1", "--runs", "99"], "--runs must be 100 or more with --until-precision, found 99"),
    (["--until-precision", "1", "--only", "3"], "leave out --only or --until-precision")])
def test_a_precision_that_makes_no_sense_is_refused(arguments: list[str], said: str, tmp_path: Path,
                                                    capsys: pytest.CaptureFixture[str]) -> None:
    """Before anything is written."""
    assert main(["run", "--no-report", str(TINY), "--out", str(tmp_path / "out"), *arguments]) == 2
    assert said in capsys.readouterr().err
    assert not (tmp_path / "out").exists()
