"""linesim: what rate a light-aircraft final assembly line can hold, what stops it, and what date may be promised.

    import linesim

    plant = linesim.read("scenarios/birchwater.yaml")
    print(linesim.check(plant).sentences)
    result = linesim.run(plant, runs=100)
    print(result.answer.sentences)
    linesim.keep(result, "results")  # or run(..., results="results"): kept as it goes, none is done twice

A planning aid: it approves no work, airworthiness, paint, flight or people. Libraries are loaded when they are needed.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .measures.run import RunNumbers
    from .questions.baseline import Answer
    from .scenario.scenario import Scenario

__version__ = "0.1.0"
__all__ = ["Result", "check", "keep", "read", "run", "story"]


@dataclass(frozen=True, slots=True)
class Result:
    """Runs of a scenario and the answer from them; `folder` is their run folder, if they were put into one; `only` is
    the number of a run that was run alone."""

    plant: Scenario
    seed: int
    runs: list[RunNumbers]
    answer: Answer
    folder: Path | None = None
    only: int | None = None


def read(file: str | Path) -> Scenario:
    """The scenario of a file; raises `linesim.scenario.faults.ScenarioFaults` with every fault at once."""
    from .scenario.reading import read_scenario

    return read_scenario(file)


def check(plant: Scenario) -> Answer | None:
    """The paper arithmetic: loads by month of trades, places and flight lines; None where no launch is planned."""
    from .line.sheet import Sheet
    from .questions.on_paper import on_paper

    return on_paper(Sheet(plant))


def run(plant: Scenario, *, runs: int | None = None, seed: int | None = None, jobs: int = 1, only: int | None = None,
        until_precision: float | None = None, results: str | Path | None = None, name: str = "scenario") -> Result:
    """Run a scenario: `runs` times (as the file says, if left out), or only run number `only`, on `jobs` processes.

    `until_precision`: run until the 95 % interval of the mean number of deliveries in the window reaches at most so
    many aircraft to either side; `runs` is then the most (100 or more; 10,000 if left out). With `results` the runs are
    put into a run folder under it as they are done (`name` begins its name), and those there are not done again.
    Raises ValueError for numbers that make no sense, `linesim.show.whole_files.FolderRefused` for a folder that is
    damaged, of something else, or in use. With more than one process the calling program needs the usual
    `if __name__ == "__main__":` around it.
    """
    from .line.sheet import Sheet
    from .questions.carried_out import Memory, Task, answer_from, carry_out
    from .questions.enough import MOST, Enough

    if only is not None and until_precision is not None:
        raise ValueError("a single run has no precision: give only or until_precision, not both")
    enough = None if until_precision is None else Enough(plant, until_precision, MOST if runs is None else runs)
    most = enough.most if enough else plant.runs if runs is None else runs
    task = Task(plant, plant.seed if seed is None else seed, [only] if only is not None else range(most), jobs, enough)
    if results is None:
        memory = Memory()
        done = list(memory.read(carry_out(task, memory).numbers))
        return Result(plant, task.seed, done, answer_from(Sheet(plant), task, done, stopped=False),
                      only=only)
    from .show.run_folder import RunFolder

    with RunFolder(Path(results), name, plant, task.seed, only) as folder:
        done, sheet = list(folder.read(carry_out(task, folder).numbers)), Sheet(plant)
        answer = answer_from(sheet, task, done, stopped=False)
        folder.finish(sheet, done, answer)
    return Result(plant, task.seed, done, answer, folder.path, only)


def keep(result: Result, results: str | Path = "results", name: str = "scenario") -> Path:
    """Write the run folder under `results`; gives its path. Runs that stand there already stay as they are."""
    from .line.sheet import Sheet
    from .show.run_folder import RunFolder

    with RunFolder(Path(results), name, result.plant, result.seed, result.only) as folder:
        folder.put(result.runs)
        folder.finish(Sheet(result.plant), result.runs, result.answer)
    return folder.path


def story(plant: Scenario, serial: str, *, run: int = 0, seed: int | None = None) -> dict[str, Any]:
    """The life of one aircraft in one run, as plain values: what `linesim story --json` prints.

    Raises `linesim.questions.story.UnknownSerial` for a serial that the scenario does not have.
    """
    from .line.floor import run_once
    from .line.sheet import Sheet
    from .questions.story import story as told
    from .questions.story_numbers import numbers_of_story

    sheet = Sheet(plant)
    seed = plant.seed if seed is None else seed
    records = run_once(sheet, seed, run)
    return numbers_of_story(sheet, records, told(sheet, records, serial), seed)
