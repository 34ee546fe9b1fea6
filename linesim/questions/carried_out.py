"""Runs carried out: those that are missing are done and put away as they come, and the answer is read off all of them.

Where they are put away (in memory, in a folder) is the affair of who asks. Runs are read back before they are counted,
so that an answer is the same whether its runs were done in one go or in ten.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from ..line.runs import Stop, Workers, run_many
from ..measures.run import RunNumbers, numbers_of, without_segments
from ..scenario.acted_on import acted_on
from ..scenario.scenario import Scenario

if TYPE_CHECKING:
    from ..line.sheet import Sheet
    from .baseline import Answer
    from .early import Early
    from .enough import Enough


SECONDS = 1.0  # of work that a kill may cost, besides the chunks at hand


class Store(Protocol):
    """Where runs are put away."""

    @property
    def there(self) -> set[int]:
        """Numbers of the runs that are put away."""

    def put(self, runs: Sequence[RunNumbers]) -> None:
        """Put some runs away; when it returns they are safe."""

    def read(self, numbers: Iterable[int]) -> Iterator[RunNumbers]:
        """Runs by their numbers, in that order."""


class Memory:
    """Runs put away in memory."""

    def __init__(self) -> None:
        self._runs: dict[int, RunNumbers] = {}

    @property
    def there(self) -> set[int]:
        """Numbers of the runs that are put away."""
        return set(self._runs)

    def put(self, runs: Sequence[RunNumbers]) -> None:
        """Put some runs away."""
        self._runs.update({run.run: run for run in runs})

    def read(self, numbers: Iterable[int]) -> Iterator[RunNumbers]:
        """Runs by their numbers, in that order."""
        return (self._runs[number] for number in numbers)


@dataclass(frozen=True, slots=True)
class Task:
    """What is to be run: the numbers of the runs (the most, if `enough` may end it sooner), who does them (so many
    processes, or workers that are there), and whether every segment of the first of them is kept."""

    scenario: Scenario
    seed: int
    numbers: Sequence[int]
    jobs: int | Workers = 1
    enough: Enough | None = None
    segments: bool = True


@dataclass(frozen=True, slots=True)
class Outcome:
    """The numbers of the runs to answer from: all that were asked for or, stopped, the first of them without a gap."""

    numbers: list[int]
    stopped: bool


def carry_out(task: Task, store: Store, stop: Stop | None = None, told: Callable[[int], None] = lambda done: None,
              meanwhile: Callable[[], object] = lambda: None, early: Early | None = None) -> Outcome:
    """Do the runs of a task that the store does not hold. `told` hears how many this call has done; `meanwhile` is
    called once the workers are starting; `early` hears the first runs while the others go on."""
    enough, there = task.enough, store.there
    if enough is not None:
        for run in store.read([number for number in task.numbers if number in there]):
            enough.note(run)
    missing = [] if enough is not None and enough.over else [n for n in task.numbers if n not in there]
    done = 0
    if missing:
        read = numbers_of if task.segments else without_segments
        with closing(run_many(acted_on(task.scenario), task.seed, missing, read, task.jobs, stop)) as chunks, \
                closing(_put_away(chunks, store)) as kept:
            meanwhile()
            if early is not None:
                early.note(list(store.read(sorted(early.wanted & there))))
            for chunk in kept:
                done += len(chunk)
                told(done)
                if early is not None:
                    early.note(chunk)
                if enough is not None and _over(enough, chunk):
                    break
    return _outcome(task, store.there)


def _put_away(chunks: Iterator[list[RunNumbers]], store: Store) -> Generator[list[RunNumbers], None, None]:
    """The same chunks, put away about once a second: runs that take milliseconds need no file of their own."""
    waiting: list[RunNumbers] = []
    last = time.monotonic()
    try:
        for chunk in chunks:
            waiting += chunk
            if time.monotonic() - last > SECONDS:
                full, waiting = waiting, []
                store.put(full)
                last = time.monotonic()
            yield chunk
    finally:
        store.put(waiting)


def _over(enough: Enough, chunk: Sequence[RunNumbers]) -> bool:
    for run in chunk:
        enough.note(run)
    return enough.over


def _outcome(task: Task, there: set[int]) -> Outcome:
    wanted = list(task.numbers)
    if task.enough is not None and task.enough.over and task.enough.last is not None:
        wanted = wanted[:task.enough.last.n]
    first = next((n for n, number in enumerate(wanted) if number not in there), len(wanted))
    return Outcome(wanted[:first], first < len(wanted))


def answer_from(sheet: Sheet, task: Task, runs: Sequence[RunNumbers], stopped: bool) -> Answer:
    """The answer from at least one run, with what ended the runs."""
    from .baseline import baseline

    answer = baseline(sheet, runs, task.seed)
    if task.enough is not None:
        answer.numbers["precision"] = task.enough.numbers()
        answer.sentences.append(task.enough.sentence())
    answer.numbers["stopped"] = stopped
    answer.numbers["sentences"] = answer.sentences
    return answer
