"""Questions that try several scenarios: the runs of all of them on common luck, kept in run folders, none done twice.

A scenario that was tried has the folder it would have if it were run by itself: `results/<stem>-<digest>-<seed>/`,
with its runs and the scenario, but without page, workbook and tables. So `linesim run` of the same scenario, another
question, and the same question again find its runs there. Stopped, they are kept, and the same command goes on.
"""

from __future__ import annotations

import os
import shutil
import sys
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..line.cluster_fault import ClusterFault
from ..line.runs import Stop, Workers
from ..line.sheet import Sheet
from ..measures.run import RunNumbers
from ..questions.carried_out import Task
from ..questions.enough import LEAST, MOST, Enough
from ..scenario.scenario import Scenario
from .failed_run import failed_run
from .run_folder import RunFolder, runs_there
from .running import done_in, stopping
from .whole_files import FolderRefused
from .words import WIDTH, counted

if TYPE_CHECKING:
    import pandas as pd

EXIT_FAULTS, EXIT_STOPPED = 2, 130
MOST_SHEETS = 20  # kept for a question
SO_FAR = "so far"  # in the numbers of what is said before all that a question tries is done
FIRST_PART = "first part"  # beside a question that has given one


class WrongOption(ValueError):
    """What is asked for cannot be answered: why, and by which option (none: it lies in the scenario)."""

    def __init__(self, option: str, why: str) -> None:
        super().__init__(option, why)
        self.option, self.why = option, why

    def __str__(self) -> str:
        return self.why


@dataclass(frozen=True, slots=True)
class Variant:
    """A scenario that is tried, by the name it has in the answer; `segments`: whether every segment of its first runs
    is kept. They are half of what a run costs to keep, and only `linesim run` makes tables of them: a scenario that is
    no file, but tried by a question, has none."""

    name: str
    scenario: Scenario
    segments: bool = True


@dataclass(frozen=True, slots=True)
class Where:
    """Where and how runs are done: the seed that all variants share, processes (or the address of a cluster instead),
    the folder of results, and `stem`, with which the names of new folders begin."""

    stem: str
    seed: int
    jobs: int
    results: Path
    cluster: str | None = None

    @classmethod
    def of(cls, file: str, ground: Scenario, seed: int | None, jobs: int, out: str | None,
           cluster: str | None = None) -> Where:
        """As the options of a command say."""
        return cls(Path(file).stem, ground.seed if seed is None else seed, jobs or os.cpu_count() or 1,
                   Path(out or "results"), cluster)


@dataclass(frozen=True, slots=True)
class Answered:
    """The answer to a question: `numbers` as --json prints them, and the tables that a figure needs beside them."""

    numbers: dict[str, Any]
    tables: Mapping[str, pd.DataFrame] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Far:
    """How far the runs of some variants are: `runs` are wanted of each, `missing` in all at the beginning, `done` since
    then in so many seconds; the variant at hand by its name."""

    variants: int
    runs: int
    missing: int
    done: int
    seconds: float
    name: str


class Asking:
    """Runs of variants, done as they are asked for; made by `asking`. `told` hears how far they are, `partly` what can
    be said before all that a question tries is done."""

    def __init__(self, where: Where, stop: Stop, workers: Workers, told: Callable[[Far], None] | None = None,
                 partly: Callable[[Answered], None] | None = None, sheets: dict[int, Sheet] | None = None) -> None:
        self.where, self.stop, self.workers, self._told, self.partly = where, stop, workers, told, partly
        self.done = 0  # runs that this command did
        self.beside: dict[Any, Any] = {}  # what a question did besides kept runs: a later step does not do it again
        self._sheets: dict[int, Sheet] = {} if sheets is None else sheets  # of the scenarios at hand, by identity

    @property
    def stopped(self) -> bool:
        """Whether the person asked to stop: no further run is begun."""
        return self.stop.asked

    def do(self, variants: Sequence[Variant], runs: int, until_precision: float | None = None) -> list[range]:
        """Do runs 0 to `runs` - 1 of each variant that are missing; gives for each the numbers that are there without a
        gap from 0, which are fewer where it was stopped.

        With `until_precision` (aircraft) each variant is run until the mean number of its deliveries is known to
        within it, `runs` being the most; then the others up to the same number of runs, since they are compared run by
        run.
        """
        if until_precision is not None:
            found = self._all(variants, runs, until_precision)
            return found if self.stopped else self._all(variants, max(len(one) for one in found))
        return self._all(variants, runs)

    def sheet(self, scenario: Scenario) -> Sheet:
        """The sheet of a scenario: made once, and used by all that looks at it (it takes as long as half a run)."""
        found = self._sheets.get(id(scenario))
        if found is None:
            found = self._sheets[id(scenario)] = Sheet(scenario)  # which holds the scenario: the identity stays its own
            if len(self._sheets) > MOST_SHEETS:
                del self._sheets[next(iter(self._sheets))]
        return found

    def tell(self, far: Far) -> None:
        """Say how far something is that is done besides kept runs."""
        if self._told is not None:
            self._told(far)

    def first_part(self, of: int, answer: Callable[[Asking], Answered | None]) -> None:
        """What can be said when the first of several scenarios is run, for somebody who hears parts; once only."""
        if self.partly is None or of < 2 or FIRST_PART in self.beside:
            return
        self.beside[FIRST_PART] = True
        part = answer(self.telling(lambda far: replace(far, variants=of, missing=far.missing + (of - 1) * far.runs)))
        if part is not None and not self.stopped:
            part.numbers[SO_FAR] = {"scenarios": 1, "of": of}
            self.partly(part)

    def on_other_luck(self, more: int) -> Asking:
        """The same on another seed, by the same workers."""
        return Asking(replace(self.where, seed=self.where.seed + more), self.stop, self.workers, self._told,
                      sheets=self._sheets)

    def telling(self, whole: Callable[[Far], Far]) -> Asking:
        """The same for a part of a question: who is told hears how far the `whole` is when this part is so far."""
        told = self._told
        return Asking(self.where, self.stop, self.workers,
                      None if told is None else lambda far: told(whole(far)), self.partly, self._sheets)

    def read(self, variant: Variant, numbers: Sequence[int]) -> Iterator[RunNumbers]:
        """Runs that are there, in that order, one after the other."""
        with self._folder(variant) as folder:
            yield from folder.read(numbers)

    def hold(self, variant: Variant, numbers: Sequence[int]) -> list[RunNumbers]:
        """Runs that are there, in that order, to be passed over as often as one likes, however many they are."""
        with self._folder(variant) as folder:
            return folder.hold(numbers)

    def _all(self, variants: Sequence[Variant], runs: int, precision: float | None = None) -> list[range]:
        there = [runs_there(self.where.results, self.where.stem, one.scenario, self.where.seed, one.segments)
                 for one in variants]
        progress = Progress([variant.name for variant in variants], [
            sum(number not in kept for number in range(runs)) for kept in there], runs, self._told)
        found = []
        try:
            for n, variant in enumerate(variants):
                if self.stopped:
                    found.append(_first_of(runs, there[n]))
                    continue
                progress.next(n)
                found.append(self._one(variant, runs, precision, progress))
        finally:
            progress.end()
        return found

    def _one(self, variant: Variant, runs: int, precision: float | None, progress: Progress) -> range:
        enough = None if precision is None else Enough(variant.scenario, precision, runs)
        task = Task(variant.scenario, self.where.seed, range(runs), self.workers, enough, variant.segments)
        with self._folder(variant) as folder:
            before = len(folder.there)
            try:
                outcome = done_in(folder, task, self.stop, progress.show)
            except (FolderRefused, ClusterFault):
                raise
            except Exception as error:
                there = folder.there
                raise failed_run(error, variant.name, variant.scenario, self.where.seed, set(range(runs)) - there,
                                 len(there)) from error
            self.done += len(folder.there) - before
            if not outcome.stopped and len(folder.there) > before:
                folder.gather()
        return range(len(outcome.numbers))

    def _folder(self, variant: Variant) -> RunFolder:
        return RunFolder(self.where.results, self.where.stem, variant.scenario, self.where.seed,
                         segments=variant.segments)


def _first_of(runs: int, there: set[int]) -> range:
    """Run numbers from 0 without a gap."""
    return range(next((n for n in range(runs) if n not in there), runs))


@contextmanager
def asking(where: Where, told: Callable[[Far], None] | None = None,
           partly: Callable[[Answered], None] | None = None) -> Iterator[Asking]:
    """For the time of one question: Ctrl-C ends its runs and keeps them."""
    with stopping() as stop, Workers(where.jobs, where.cluster) as workers:
        yield Asking(where, stop, workers, told, partly)


def most_runs(ground: Scenario, runs: int | None, until_precision: float | None) -> int:
    """Runs of each variant, or with a precision the most of them. Raises ValueError with what is wrong."""
    if until_precision is None:
        return runs or ground.runs
    if not 0 < until_precision < float("inf"):
        raise ValueError(f"--until-precision must be above 0 (aircraft), found {until_precision:g}")
    if runs is not None and runs < LEAST:
        raise ValueError(f"--runs must be {LEAST} or more with --until-precision, found {runs}")
    return runs or MOST


class Progress:
    """One line that says how far all variants are, on a terminal only; what was there already is said anywhere. Where
    somebody is `told`, nothing is printed."""

    def __init__(self, names: Sequence[str], missing: Sequence[int], runs: int = 0,
                 told: Callable[[Far], None] | None = None) -> None:
        self._names, self._missing, self._runs, self._told = names, missing, runs, told
        self._at, self._before, self._done = 0, 0, 0
        self._began, self._shown = time.monotonic(), False
        there = sum(not n for n in missing)
        if told is not None:
            self.show(0)
        elif there == len(names):
            print(f"All runs of {counted(there, 'scenario')} were there already.", file=sys.stderr)
        elif there:
            print(f"All runs of {there} of {len(names)} scenarios were there already.", file=sys.stderr)

    def next(self, at: int) -> None:
        """The next variant begins."""
        self._before, self._at, self._done = self._before + self._done, at, 0
        if self._missing[at] and (self._told is not None or sys.stderr.isatty()):
            self.show(0)

    def show(self, done: int) -> None:
        """So many runs of this variant were done by this command."""
        self._done = done
        so_far, seconds = self._before + done, time.monotonic() - self._began
        if self._told is not None:
            self._told(Far(len(self._names), self._runs, sum(self._missing), so_far, seconds, self._names[self._at]))
            return
        if not sys.stderr.isatty():
            return
        self._shown = True
        to_go = max(self._missing[self._at] - done, 0) + sum(self._missing[self._at + 1:])
        left = f"about {seconds / so_far * to_go:.0f} s left   " if so_far else ""
        line = (f"{self._at + 1} of {len(self._names)}   run {done} of {self._missing[self._at]} to do   {left}"
                f"Ctrl-C stops and keeps   {self._names[self._at]}")
        wide = shutil.get_terminal_size((WIDTH, 24)).columns - 1
        print(f"\r{line}"[:wide].ljust(min(WIDTH, wide)), end="", file=sys.stderr, flush=True)

    def end(self) -> None:
        """Leave the line."""
        if self._shown:
            print(file=sys.stderr)
