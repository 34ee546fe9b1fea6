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
    from collections.abc import Mapping, Sequence

    from .measures.run import RunNumbers
    from .questions.baseline import Answer
    from .scenario.scenario import Scenario

__version__ = "0.1.0"
__all__ = ["Result", "buys", "check", "crew", "dates", "keep", "next_days", "promise", "quarters", "rate",
           "read", "run", "story"]


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
        done, sheet = folder.hold(carry_out(task, folder).numbers), Sheet(plant)
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


def quarters(result: Result, *, model: str | None = None, at_least: int | None = None) -> Answer:
    """Deliveries, revenue and cash by quarter and month, from runs that were done: what `linesim quarters` answers.

    `at_least`: the number of aircraft in the window whose chance is asked. Raises
    `linesim.questions.quarters.UnknownModel` for a model that no order has.
    """
    from .line.sheet import Sheet
    from .questions.quarters import Asked
    from .questions.quarters import quarters as asked

    return asked(Sheet(result.plant), result.runs, result.seed, Asked(model, at_least))


def dates(result: Result, *, serial: str | None = None) -> Answer:
    """When each aircraft delivers, from runs that were done: what `linesim dates` answers.

    Raises `linesim.questions.dates.UnknownSerial` for a serial that the order book does not have.
    """
    from .line.sheet import Sheet
    from .questions.dates import dates as asked

    return asked(Sheet(result.plant), result.runs, result.seed, serial)


def next_days(plant: Scenario, *, days: int = 10, runs: int = 100, seed: int | None = None, jobs: int = 1) -> Answer:
    """What moves, flies and is handed over in the next work days from today's floor, and who is short: what `linesim
    next` answers.

    Raises `linesim.questions.ten_days.TooShort` where the plant's dates end before the days.
    """
    from .questions.ten_days import runs_of
    from .questions.ten_days_answer import answer

    luck = plant.seed if seed is None else seed
    done = [run for chunk in runs_of(plant, days, luck, runs, jobs) for run in chunk]
    return answer(plant, sorted(done, key=lambda run: run.run), days, luck)


def late(result: Result, *, serial: str | None = None) -> Answer:
    """What aircraft (or one of them) lose on the chain that sets their dates, from runs that were done, and what may be
    changed about it. The changes are named and not run: their scenarios are `linesim.scenario.changing.changed(plant,
    row["changes"])`; `linesim late` runs them.

    Raises `linesim.questions.dates.UnknownSerial` for a serial that the order book does not have.
    """
    from .line.sheet import Sheet
    from .questions.late import Serial, late_serial
    from .questions.late import late as asked

    sheet = Sheet(result.plant)
    if serial is None:
        return asked(sheet, result.runs, result.seed)
    return late_serial(Serial(sheet, result.runs, serial), result.seed)


def promise(plant: Scenario, *, model: str | None = None, runs: int | None = None, seed: int | None = None,
            jobs: int = 1, results: str | Path | None = None, name: str = "scenario") -> dict[str, Any]:
    """What may be promised for a new order in the next open launch slot; the options are those of `run`.

    Raises `linesim.questions.new_order.NoOpenSlot` where no slot can be named.
    """
    from .line.sheet import Sheet
    from .questions.dates import safe_to_promise
    from .questions.new_order import with_new_order

    new = with_new_order(Sheet(plant), model)
    done = run(new.scenario, runs=runs, seed=seed, jobs=jobs, results=results, name=name)
    return safe_to_promise(Sheet(new.scenario), new, done.runs)


def rate(plant: Scenario, *, takts: Sequence[float] = (), runs: int | None = None, seed: int | None = None,
         jobs: int = 1, results: str | Path | None = None, name: str = "scenario") -> Answer:
    """What rate the line can hold: takts in work days, else the plans of the scenario; what `linesim rate` answers.

    With `results` runs are kept there and used again. Raises `linesim.questions.rate_plans.NoRate` where launches
    follow no takt.
    """
    from .line.sheet import Sheet
    from .questions.rate import answer_of, row_of
    from .questions.rate_plans import plans_to_try

    plans, seed = plans_to_try(plant, takts), plant.seed if seed is None else seed
    done = _tried([plan.scenario for plan in plans], runs or plant.runs, seed, jobs, results, name)
    return answer_of(Sheet(plant), plans, [row_of(plan, of, seed) for plan, of in zip(plans, done, strict=True)], seed)


def crew(plant: Scenario, people: Mapping[str, str], *, target: str | None = None, days_from: str | None = None,
         runs: int | None = None, seed: int | None = None, jobs: int = 1, results: str | Path | None = None,
         name: str = "scenario") -> Answer:
    """How many people: trades with the numbers to try, as in `{"FLM": "2-4", "RIG.evening": "0,2"}`, and a target such
    as "days <= 15"; what `linesim crew` answers without `--settle`. Raises ValueError with what is wrong.
    """
    from .line.sheet import Sheet
    from .questions.choice import search
    from .questions.crew import Target, answer_of, place_of, read_run
    from .questions.crew_plans import crews_to_try, range_of

    ranges = [range_of(plant, trade, text) for trade, text in people.items()]
    crews, ground, seed = crews_to_try(plant, ranges), Sheet(plant), plant.seed if seed is None else seed
    place, asked = place_of(ground, ranges, days_from), None if target is None else Target.of(target)
    trades, number = list(dict.fromkeys(one.trade for one in ranges)), runs or plant.runs
    done = _tried([one.scenario for one in crews], number, seed, jobs, results, name)
    sheets = [Sheet(one.scenario) for one in crews]
    measured = [[read_run(sheet, run, trades, place) for run in of] for sheet, of in zip(sheets, done, strict=True)]
    choice = None if asked is None else search(len(crews), lambda one, number: [
        asked.kept_by(run) for run in measured[one][:number]], step=number, most=number)
    return answer_of(ground, ranges, crews, measured, place, seed, asked, choice)


def buys(plant: Scenario, *, by: str = "deliveries", runs: int | None = None, seed: int | None = None, jobs: int = 1,
         results: str | Path | None = None, name: str = "scenario") -> Answer:
    """Which change buys most, and what then, by "deliveries", "days" (of flow) or "money"; what `linesim buys` answers.

    With `results` runs are kept there and used again. Raises `linesim.questions.buys.NoMeasure` for what cannot be
    counted.
    """
    from tempfile import TemporaryDirectory

    from .line.runs import Stop, Workers
    from .questions.buy_words import answer_of
    from .questions.buys import RUNS, measure_of, what_buys_most
    from .show.asking import Asking, Where
    from .show.buying import Runs

    measure, seed = measure_of(plant, by), plant.seed if seed is None else seed
    with TemporaryDirectory() as nowhere, Workers(jobs) as workers:
        ask = Asking(Where(name, seed, jobs, Path(results or nowhere)), Stop(), workers)
        return answer_of(what_buys_most(plant, measure, runs or RUNS, Runs(ask).more), plant, seed)


def _tried(scenarios: Sequence[Scenario], runs: int, seed: int, jobs: int, results: str | Path | None,
           name: str) -> list[list[RunNumbers]]:
    """The same runs of several scenarios, on common luck."""
    if results is None:
        return [run(one, runs=runs, seed=seed, jobs=jobs).runs for one in scenarios]
    from .line.runs import Stop, Workers
    from .show.asking import Asking, Variant, Where

    variants = [Variant(one.name, one) for one in scenarios]
    with Workers(jobs) as workers:
        ask = Asking(Where(name, seed, jobs, Path(results)), Stop(), workers)
        return [ask.hold(one, numbers) for one, numbers in zip(variants, ask.do(variants, runs), strict=True)]
