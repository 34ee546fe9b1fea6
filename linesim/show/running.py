"""`linesim run`: runs with progress, the answer in words, and the run folder, in which the same command goes on."""

from __future__ import annotations

import json
import os
import signal
import sys
import threading
import time
from collections.abc import Iterator
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..line.runs import Stop
from ..line.sheet import Sheet
from ..measures.estimates import chance_words
from ..questions.carried_out import Outcome, Task, answer_from, carry_out
from ..questions.enough import MOST, Enough
from ..scenario.reading import read_scenario
from .run_folder import RunFolder
from .whole_files import FolderRefused
from .words import wrapped

if TYPE_CHECKING:
    from ..measures.run import RunNumbers
    from ..questions.baseline import Answer

WIDE = 88  # columns: a shorter line of progress covers a longer one


def run_file(file: str, *, runs: int | None, seed: int | None, jobs: int, only: int | None, out: str | None,
             as_json: bool, until_precision: float | None = None, report: bool = True) -> int:
    """Run a scenario file and show the answer; runs that its folder holds already are not done again. `report`: write
    the page, the workbook and the tables for a spreadsheet, too."""
    scenario = read_scenario(file)
    enough = None if until_precision is None else Enough(scenario, until_precision, runs or MOST)
    most = enough.most if enough else runs or scenario.runs
    task = Task(scenario, scenario.seed if seed is None else seed, [only] if only is not None else range(most),
                jobs or os.cpu_count() or 1, enough)
    with RunFolder(Path(out) if out else Path("results"), Path(file).stem, scenario, task.seed, only) as folder, \
            stopping() as stop:
        outcome = _carried_out(task, folder, stop)
        if not outcome.numbers:
            print(f"Stopped. {_kept(folder)}", file=sys.stderr)
            return 130
        sheet, done = Sheet(scenario), list(folder.read(outcome.numbers))
        answer = answer_from(sheet, task, done, outcome.stopped)
        folder.finish(sheet, done, answer)
        if report:
            _set(folder.path, sheet, done, answer)
    answer.numbers["kept in"] = str(folder.path)
    if outcome.stopped:
        print(f"Stopped. {_kept(folder)}", file=sys.stderr)
    print(json.dumps(answer.numbers, indent=2) if as_json else in_words(answer))
    return 130 if outcome.stopped else 0


def _carried_out(task: Task, folder: RunFolder, stop: Stop) -> Outcome:
    there = len(folder.there.intersection(task.numbers))
    progress = Progress(task, there)
    progress.begin()
    try:
        return carry_out(task, folder, stop, progress.show, _get_ready)
    except BrokenProcessPool:
        if stop.asked:  # whoever stopped this command stopped its workers, too
            return carry_out(task, folder, stop)
        raise FolderRefused(folder.path, "a process that did runs was ended from outside (is memory short?)",
                            f"{_kept(folder)} --jobs 1 needs the least memory.") from None
    finally:
        progress.end()


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
        print(f"\r{line}   Ctrl-C stops and keeps".ljust(WIDE), end="", file=sys.stderr, flush=True)

    def end(self) -> None:
        """Leave the line."""
        if self._shown:
            print(file=sys.stderr)


def in_words(answer: Answer) -> str:
    """The answer as it is printed: sentences, one table, cautions, where the files are."""
    numbers = answer.numbers
    lines = [f"Stopped: this answer is from the first {numbers['runs']} runs.", ""] if numbers["stopped"] else []
    lines += [line for sentence in answer.sentences for line in wrapped(sentence)]
    lines += ["", *_quarter_lines(numbers), ""]
    lines += [line for why in numbers["never moving on"] for line in wrapped(f"Stuck    {why}", 9)]
    lines += [line for caution in numbers["cautions"] for line in wrapped(f"Caution  {caution}", 9)]
    lines.append(f"Kept in  {numbers['kept in']}")
    return "\n".join(lines)


def _quarter_lines(numbers: dict[str, Any]) -> list[str]:
    lines = ["quarter   plan   9 in 10   8 in 10   5 in 10   1 in 10   keeps the plan",
             "                   reach     reach     reach     reach"]
    for name, row in numbers["quarters"].items():
        if isinstance(row, str):
            lines.append(f"{name}   {row}")
        elif "note" in row:
            lines.append(f"{name}   {row['plan']:4d}   each run: {', '.join(map(str, row['each run'][:12]))}")
        else:
            reach = "   ".join(f"{row[f'{n} in 10 reach']:7d}" for n in (9, 8, 5, 1))
            kept, of = row["runs that keep the plan"], numbers["runs"]
            filled = round(10 * kept / of)
            lines.append(f"{name}   {row['plan']:4d}   {reach}   [{'#' * filled}{'.' * (10 - filled)}]  "
                         f"{chance_words(kept, of)}")
    return lines
