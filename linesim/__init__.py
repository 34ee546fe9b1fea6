"""linesim: what rate a light-aircraft final assembly line can hold, what stops it, and what date may be promised.

    import linesim

    plant = linesim.read("scenarios/birchwater.yaml")
    print(linesim.check(plant).sentences)
    result = linesim.run(plant, runs=100)
    print(result.answer.sentences)
    linesim.keep(result, "results")

A planning aid: it approves no work, airworthiness, paint, flight or people. Libraries are loaded when they are needed.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .measures.run import RunNumbers
    from .questions.baseline import Answer
    from .scenario.scenario import Scenario

__version__ = "0.1.0"
__all__ = ["Result", "check", "keep", "read", "run"]


@dataclass(frozen=True, slots=True)
class Result:
    """Runs of a scenario and the answer from them."""

    plant: Scenario
    seed: int
    runs: list[RunNumbers]
    answer: Answer


def read(file: str | Path) -> Scenario:
    """The scenario of a file; raises `linesim.scenario.faults.ScenarioFaults` with every fault at once."""
    from .scenario.reading import read_scenario

    return read_scenario(file)


def check(plant: Scenario) -> Answer | None:
    """The paper arithmetic: loads by month of trades, places and flight lines; None where no launch is planned."""
    from .line.sheet import Sheet
    from .questions.on_paper import on_paper

    return on_paper(Sheet(plant))


def run(plant: Scenario, *, runs: int | None = None, seed: int | None = None, jobs: int = 1,
        only: int | None = None) -> Result:
    """Run a scenario: `runs` times (as the file says, if left out), or only run number `only`, on `jobs` processes.

    With more than one process the calling program needs the usual `if __name__ == "__main__":` around it.
    """
    from .line.runs import run_many
    from .line.sheet import Sheet
    from .measures.run import numbers_of
    from .questions.baseline import baseline

    seed = plant.seed if seed is None else seed
    numbers = [only] if only is not None else list(range(plant.runs if runs is None else runs))
    done = sorted((one for chunk in run_many(plant, seed, numbers, numbers_of, jobs) for one in chunk),
                  key=lambda one: one.run)
    return Result(plant, seed, done, baseline(Sheet(plant), done, seed))


def keep(result: Result, results: str | Path = "results", name: str = "scenario") -> Path:
    """Write the run folder under `results`; gives its path."""
    from .line.sheet import Sheet
    from .show.folder import keep as keep_folder

    return keep_folder(Path(results), name, Sheet(result.plant), result.runs, result.answer.numbers)
