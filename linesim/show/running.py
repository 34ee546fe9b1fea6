"""`linesim run`: runs with progress, the answer in words, and the run folder, in which the same command goes on."""

from __future__ import annotations

import json
import os
import shutil
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..line.cluster_fault import ClusterFault
from ..line.runs import Stop, Workers
from ..line.sheet import Sheet
from ..questions.carried_out import Outcome, Task, answer_from, carry_out
from ..questions.early import Early, in_short
from ..questions.enough import MOST, Enough
from ..scenario import is_compiled
from ..scenario.reading import read_scenario
from .failed_run import failed_run
from .run_folder import RunFolder
from .whole_files import FolderRefused
from .words import WIDTH, chance, runs, tenths_full, width, wrapped

if TYPE_CHECKING:
    from ..measures.run import RunNumbers
    from ..questions.baseline import Answer

MANY = 100  # runs for which it pays to compile the floor first


def run_file(file: str, *, runs: int | None, seed: int | None, jobs: int, only: int | None, out: str | None,
             as_json: bool, until_precision: float | None = None, report: bool = True,
             cluster: str | None = None) -> int:
    """Run a scenario file and show the answer; runs that its folder holds already are not done again. `report`: write
    the page, the workbook and the tables for a spreadsheet, too."""
    scenario = read_scenario(file)
    enough = None if until_precision is None else Enough(scenario, until_precision, runs or MOST)
    most = enough.most if enough else runs or scenario.runs
    seed = scenario.seed if seed is None else seed
    with RunFolder(Path(out) if out else Path("results"), Path(file).stem, scenario, seed, only) as folder, \
            stopping() as stop, Workers(jobs or os.cpu_count() or 1, cluster) as workers:
        task = Task(scenario, seed, [only] if only is not None else range(most), workers, enough)
        outcome = _carried_out(task, folder, stop)
        if not outcome.numbers:
            print(f"Stopped. {_kept(folder)}", file=sys.stderr)
            return 130
        sheet, done = Sheet(scenario), folder.hold(outcome.numbers)
        answer = answer_from(sheet, task, done, outcome.stopped)
        if only is None and not outcome.stopped:
            answer.numbers.update(_without_common_luck(replace(task, numbers=outcome.numbers, enough=None), folder.path,
                                                       file, stop))
        folder.finish(sheet, done, answer)
        if report:
            _set(folder.path, sheet, done, answer)
    answer.numbers["kept in"] = str(folder.path)
    if outcome.stopped:
        print(f"Stopped. {_kept(folder)}", file=sys.stderr)
    print(json.dumps(answer.numbers, indent=2) if as_json else in_words(answer))
    return 130 if outcome.stopped else 0


def _carried_out(task: Task, folder: RunFolder, stop: Stop) -> Outcome:
    progress = Progress(task, len(folder.there.intersection(task.numbers)))
    progress.begin()
    try:
        return done_in(folder, task, stop, progress.show, _get_ready, Early(task.numbers, progress.first))
    except (FolderRefused, ClusterFault):
        raise
    except Exception as error:
        there = folder.there
        raise failed_run(error, task.scenario.name, task.scenario, task.seed, set(task.numbers) - there,
                         len(there)) from error
    finally:
        progress.end()


def done_in(folder: RunFolder, task: Task, stop: Stop, told: Callable[[int], None],
            meanwhile: Callable[[], object] = lambda: None, early: Early | None = None) -> Outcome:
    """Carry out a task in its folder; raises FolderRefused where a process that did runs was ended from outside, and
    ClusterFault where the cluster cannot do them."""
    try:
        return carry_out(task, folder, stop, told, meanwhile, early)
    except ClusterFault as fault:
        fault.then = _kept(folder) if folder.there else ""
        raise
    except BrokenProcessPool:
        if stop.asked:  # whoever stopped this command stopped its workers, too
            return carry_out(task, folder, stop)
        raise FolderRefused(folder.path, "a process that did runs was ended from outside (is memory short?)",
                            f"{_kept(folder)} --jobs 1 needs the least memory.") from None


def _without_common_luck(task: Task, kept: Path, file: str, stop: Stop) -> dict[str, Any]:
    """The same runs without the luck that aircraft share, kept in a folder beside; nothing where none is declared, or
    where they were stopped before all were done."""
    from ..questions.without_luck import beside, without_common_luck

    plain = without_common_luck(task.scenario)
    if plain is None:
        return {}
    print("The same runs without the luck that aircraft share, for ranges both ways.", file=sys.stderr)
    with RunFolder(kept.parent, Path(file).stem, plain, task.seed) as folder:
        outcome = _carried_out(replace(task, scenario=plain), folder, stop)
        if outcome.stopped:
            print(f"Stopped before the ranges without it. {_kept(folder)}", file=sys.stderr)
            return {}
        return {"without common luck": beside(plain, folder.hold(outcome.numbers))}


def _set(path: Path, sheet: Sheet, runs: list[RunNumbers], answer: Answer) -> None:
    """Set page, workbook and tables from a finished folder, unless they stand there: `finish` removes outdated ones."""
    from .report.page import FILE, write_report
    from .workbook import write_csv, write_workbook

    try:
        if not (path / FILE).exists():
            write_workbook(path, sheet, runs, answer)
            write_csv(path, sheet, runs, answer)
            write_report(path, sheet, runs, answer)
    except OSError as error:
        raise FolderRefused(path, f"it cannot be written ({error.strerror or error})",
                            "Runs and answer are kept there.") from None


def _get_ready() -> None:
    """Load what the answer needs while the workers start."""
    import scipy.special  # noqa: F401

    from ..questions import baseline  # noqa: F401
    from . import folder  # noqa: F401


def _kept(folder: RunFolder) -> str:
    n = len(folder.there)
    return f"{n} run{'s are' if n != 1 else ' is'} kept in {folder.path}; the same command goes on from there."


@contextmanager
def stopping() -> Iterator[Stop]:
    """Ctrl-C, or the system's request to end, ends the runs at the next one; asked twice, it ends at once."""
    stop = Stop()

    def asked(_number: int, _frame: object) -> None:
        if stop.asked:
            raise KeyboardInterrupt
        stop.ask()

    if threading.current_thread() is not threading.main_thread():
        yield stop
        return
    before = {number: signal.signal(number, asked) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield stop
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


class Progress:
    """One line that says how far the runs are; on a terminal only. What was there already is said anywhere."""

    def __init__(self, task: Task, there: int) -> None:
        self._task, self._there, self._began = task, there, time.monotonic()
        self._shown = False

    def begin(self) -> None:
        """Say how many runs are not done again."""
        most = len(self._task.numbers)
        were = f"{self._there} run{'s were' if self._there != 1 else ' was'} there"
        if self._there and self._there == most:
            print(f"{were} already.", file=sys.stderr)
        elif self._there:
            to_go = "" if self._task.enough else f"; {most - self._there} to go"
            print(f"{were}{to_go}.", file=sys.stderr)
        if sys.stderr.isatty() and most - self._there >= MANY and not is_compiled():
            print("Runs take a little over half the time after `linesim compile`.", file=sys.stderr)

    def show(self, done: int) -> None:
        """Show that so many runs were done by this command."""
        if not sys.stderr.isatty():
            return
        self._shown, enough = True, self._task.enough
        most, so_far, seconds = len(self._task.numbers), self._there + done, time.monotonic() - self._began
        if enough is not None:
            found = f"±{enough.last.half_width:.2g}" if enough.last else "not looked at yet"
            line = f"Run {so_far}   mean of deliveries {found}, asked ±{enough.half_width:g} aircraft"
        else:
            filled, left = 20 * so_far // most, seconds / done * (most - so_far) if done else 0
            line = f"Run {so_far} of {most}   [{'#' * filled}{'.' * (20 - filled)}]   about {left:.0f} s left"
        wide = shutil.get_terminal_size((WIDTH, 24)).columns - 1  # a shorter line of progress covers a longer one
        print(f"\r{line}   Ctrl-C stops and keeps"[:wide].ljust(min(WIDTH, wide)), end="", file=sys.stderr, flush=True)

    def first(self, found: Sequence[RunNumbers]) -> None:
        """Show what the first runs say while the others go on."""
        if sys.stderr.isatty():
            line = in_short(self._task.scenario, found)
            print(f"\r{line.ljust(min(WIDTH, shutil.get_terminal_size((WIDTH, 24)).columns - 1))}", file=sys.stderr)

    def end(self) -> None:
        """Leave the line."""
        if self._shown:
            print(file=sys.stderr)


def in_words(answer: Answer) -> str:
    """The answer as it is printed: sentences, one table, cautions, where the files are."""
    numbers = answer.numbers
    lines = [f"Stopped: this answer is from the first {runs(numbers['runs'])}.", ""] if numbers["stopped"] else []
    lines += [line for sentence in answer.sentences for line in wrapped(sentence)]
    lines += ["", *_quarter_lines(numbers), *_both_ways(numbers), ""]
    lines += [line for why in numbers["never moving on"] for line in wrapped(f"Stuck    {why}", 9)]
    lines += [line for caution in numbers["cautions"] for line in wrapped(f"Caution  {caution}", 9)]
    lines.append(f"Kept in  {numbers['kept in']}")
    return "\n".join(lines)


def _both_ways(numbers: dict[str, Any]) -> list[str]:
    """The range with and without the luck that aircraft share; nothing where none is declared or the runs are few."""
    plain = numbers.get("without common luck")
    if plain is None or "note" in numbers["deliveries in the window"]:
        return []
    shared, alone = (f"{one['9 in 10 reach']} to {one['1 in 10 reach']}" for one in (
        numbers["deliveries in the window"], plain["deliveries in the window"]))
    return ["", *wrapped(f"8 in 10 runs deliver {shared} aircraft in the window; without the luck that aircraft share, "
                         f"{alone}.")]


def _quarter_lines(numbers: dict[str, Any]) -> list[str]:
    few = "note" in numbers["deliveries in the window"]
    lines = ["quarter   plan   delivered in each run"] if few else [
        "quarter   plan   9 in 10   8 in 10   5 in 10   1 in 10   keeps the plan",
        "                   reach     reach     reach     reach"]
    for name, row in numbers["quarters"].items():
        if isinstance(row, str):
            lines += wrapped(f"{name}   {row}", 10)
        elif few:
            lines += wrapped(f"{name}   {row['plan']:4d}   {', '.join(map(str, row['each run']))}", 17)
        else:
            reach = "   ".join(f"{row[f'{n} in 10 reach']:7d}" for n in (9, 8, 5, 1))
            kept, of = row["runs that keep the plan"], numbers["runs"]
            full = tenths_full(kept, of)
            marks = f"[{'#' * full}{'.' * (10 - full)}]  " if width() == WIDTH else ""
            lines.append(f"{name}   {row['plan']:4d}   {reach}   {marks}{chance(kept, of)}")
    return lines
