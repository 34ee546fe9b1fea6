"""`python -m linesim.show.app.work FOLDER`: the process that carries a wish out.

It asks the question with few runs first, so that there are numbers soon, then with more and more; runs that are kept
are never done again, so that a step costs its own runs only. After each step the answer stands in the folder. A file
`stop` in it ends the runs; those that are done are kept and answered from.

A new question is one line in QUESTIONS: its module in `show/` has a function
`answered(ask, scenario, options, runs) -> Answered | None`, which the command calls, too.
"""

from __future__ import annotations

import os
import sys
import threading
import time
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial
from importlib import import_module
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING

from ..folder_lock import FolderLock, InUse
from .pace import remember
from .wish import (
    ASKED,
    DONE,
    FAILED,
    RUNNING,
    STOP,
    STOPPED,
    WAITING,
    WISH,
    Found,
    Progress,
    Wish,
    found_in,
    numbers_code,
    put_found,
    put_progress,
    wish_in,
)

if TYPE_CHECKING:
    from ...scenario.scenario import Scenario
    from ..asking import Answered, Asking, Far

PATIENCE = 3.0  # seconds to wait for a lock: a page looks whether it is held, for a moment
LOOK_EVERY = 0.3  # seconds between looks for the file that asks to stop
WRITE_EVERY = 0.4  # seconds between notes of progress
A_FEW = 8
STEP_BACK = 5
ENOUGH_FOR_A_RANGE = 30  # runs: from then on a range can be given


@dataclass(frozen=True, slots=True)
class Question:
    """A question: its module in `show/`, and the runs of each scenario in the first step."""

    module: str
    first: int = 2

    def of(self) -> ModuleType:
        """Its module."""
        return import_module(f"linesim.show.{self.module}")


QUESTIONS = {
    "rate": Question("rating", first=1),
    "buys": Question("buying", first=10),
    "late": Question("late", first=1),
    "quarters": Question("quartering", first=1),
    "crew": Question("crewing", first=1),
    "dates": Question("dating", first=1),
    "beside": Question("comparing", first=1),
    "next": Question("ten_days", first=1),
}


def steps_to(runs: int, first: int) -> list[int]:
    """Numbers of runs to answer from, one after the other: first, a few, 30, doubled until all."""
    found, step = [first, *([A_FEW] if first < A_FEW else [])], ENOUGH_FOR_A_RANGE
    while step < runs:
        found.append(step)
        step *= 2
    return [step for step in found if step < runs] + [runs]


def main(folder: Path, then: Callable[[], None] = lambda: None) -> int:
    """Carry out the wish of a folder, unless another process does; 0 where its answer stands there. `then`: see
    `carried_out`."""
    lock = _locked(folder)
    if lock is None:
        return 0
    wish = wish_in(folder)
    try:
        if wish is None:
            return 1
        put_progress(folder, Progress(RUNNING))
        carried_out(folder, wish, then)
        return 0
    except Exception as error:
        traceback.print_exc()
        put_progress(folder, Progress(FAILED, why=_why(error, wish)))
        return 1
    finally:
        lock.release()


def carried_out(folder: Path, wish: Wish, then: Callable[[], None] = lambda: None) -> None:
    """Answer with more and more runs, and write each answer down; `then` is done when the first stands there."""
    from ..asking import Where, asking

    question, results = QUESTIONS[wish.question], folder.parents[1]
    assert folder.parent.name == ASKED
    answered, scenario = question.of().answered, _scenario_of(wish)
    where = Where(Path(wish.file).stem, wish.seed, os.cpu_count() or 1, results)
    notes = _Notes(folder, wish.runs)
    first = _Once(lambda: remember(results, wish, time.time() - (folder / WISH).stat().st_mtime), then)

    def partly(part: Answered) -> None:
        if _keep_part(folder, wish, part):
            first()

    with asking(where, notes.told, partly) as ask, \
            _told_to_stop(folder, ask.stop.ask):
        for runs in steps_to(wish.runs, question.first):
            found = notes.patient(ask, partial(answered, ask, scenario, wish.options, runs))
            if found is not None:
                _keep(folder, wish, found)
                first()
            if ask.stopped:
                break
        notes.end(STOPPED if ask.stopped else DONE)


class _Once:
    """Something that is done when the first numbers are there."""

    def __init__(self, *what: Callable[[], None]) -> None:
        self._what = what

    def __call__(self) -> None:
        what, self._what = self._what, ()
        for one in what:
            one()


def _keep_part(folder: Path, wish: Wish, part: Answered) -> bool:
    """Write down what can be said so far, unless a whole answer stands there; whether it was."""
    from ..asking import SO_FAR

    there = found_in(folder)
    if there is not None and SO_FAR not in there.numbers and not there.outdated:
        return False
    _keep(folder, wish, part)
    return True


def _keep(folder: Path, wish: Wish, answered: Answered) -> None:
    from ... import __version__

    numbers = answered.numbers
    moment = datetime.now().strftime("%Y-%m-%d %H:%M")
    put_found(Found(wish, numbers, moment, __version__, numbers_code(), numbers["runs"], folder), answered.tables)


def _scenario_of(wish: Wish) -> Scenario:
    """The scenario of a wish, if its file still says what it said when the button was pressed."""
    from ..asking import WrongOption
    from ..folder_check import Identity

    scenario = wish.scenario()
    if Identity.of(scenario, wish.seed).digest != wish.digest:
        raise WrongOption("", "the file has changed since the button was pressed; press it again")
    return scenario


def let_others_go_first() -> None:
    """From now on this process and the workers that it starts step back behind pages that are drawn."""
    if hasattr(os, "nice"):
        os.nice(STEP_BACK)


class _Notes:
    """Progress, written down now and then: runs of all scenarios together, in the number that is wanted in the end."""

    def __init__(self, folder: Path, runs: int) -> None:
        self._folder, self._runs, self._last = folder, runs, 0.0
        self._progress = Progress(RUNNING)

    def told(self, far: Far) -> None:
        """Hear how far a step is."""
        of = far.variants * self._runs
        done = far.variants * far.runs - far.missing + far.done
        left = far.seconds / far.done * (of - done) if far.done else self._progress.left
        self._progress = Progress(RUNNING, done, of, left, far.name)
        if time.monotonic() - self._last > WRITE_EVERY:
            self._last = time.monotonic()
            put_progress(self._folder, self._progress)

    def patient(self, ask: Asking, answer: Callable[[], Answered | None]) -> Answered | None:
        """An answer, waited for while another process does runs of the same scenario; None if stopped meanwhile."""
        from ..whole_files import FolderBusy

        while not ask.stopped:
            try:
                return answer()
            except FolderBusy:
                put_progress(self._folder, replace(self._progress, what=WAITING, left=None))
                time.sleep(LOOK_EVERY)
        return None

    def end(self, state: str) -> None:
        """It is over."""
        put_progress(self._folder, Progress(state, self._progress.done, self._progress.of))


@contextmanager
def _told_to_stop(folder: Path, ask: Callable[[], None]) -> Iterator[None]:
    """Look for the file that asks to stop, from time to time, until this is over."""
    over = threading.Event()

    def look() -> None:
        while not over.wait(LOOK_EVERY):
            if (folder / STOP).exists():
                ask()
                return

    thread = threading.Thread(target=look, daemon=True)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()


def _locked(folder: Path) -> FolderLock | None:
    last = time.monotonic() + PATIENCE
    while True:
        try:
            return FolderLock(folder)
        except InUse:
            if time.monotonic() > last:
                return None
            time.sleep(0.05)


def _why(error: Exception, wish: Wish | None) -> str:
    """What went wrong, as a person reads it; an error that nobody foresaw is named with its kind, one in a run with the
    command that repeats that run alone."""
    from ...scenario.faults import ScenarioFaults
    from ..asking import WrongOption
    from ..failed_run import RunFailed
    from ..whole_files import FolderRefused

    if isinstance(error, WrongOption):
        return f"{error.option}: {error}" if error.option else str(error)
    if isinstance(error, RunFailed) and wish is not None:
        return error.repeated(wish.file, "" if wish.changes else wish.digest)
    if isinstance(error, ScenarioFaults | FolderRefused):
        return str(error)
    return f"{type(error).__name__}: {error}"


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]), let_others_go_first))
