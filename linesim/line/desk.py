"""A desk at which runs are done: in this process, in a worker of this machine, or in a worker of another one.

The sheet of a scenario is made once at a desk and used by all chunks of its runs that come to it one after another.
"""

from __future__ import annotations

import gc
import os
import pickle
import platform
import signal
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from importlib.metadata import version
from multiprocessing import parent_process
from multiprocessing.synchronize import Event
from pathlib import Path
from threading import Lock, Thread
from typing import TypeVar

from ..scenario.scenario import Scenario
from .floor import run_once
from .records import Records
from .sheet import Sheet

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Order:
    """Runs that are ordered from a desk: the scenario (as bytes that every desk can read), the seed of all luck, and
    what is read off each run where it was done, so that only numbers travel between processes."""

    scenario: bytes
    seed: int
    read: Callable[[Sheet, Records], object]

    @classmethod
    def of(cls, scenario: Scenario, seed: int, read: Callable[[Sheet, Records], object]) -> Order:
        """Of a scenario."""
        return cls(pickle.dumps(scenario, pickle.HIGHEST_PROTOCOL), seed, read)


class Desk:
    """The sheet at hand in this process, and the sign of the one who ordered that nothing more is wanted."""

    scenario: bytes = b""
    sheet: Sheet | None = None
    stop: Event | None = None
    taken = Lock()  # of a worker with several threads: one run at a time, they would share the sheet

    @classmethod
    def open(cls, stop: Event) -> None:
        """Called once in each worker of this machine."""
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C reaches every process; the first of them decides
        Thread(target=_leave_with_the_parent, daemon=True).start()
        cls.stop = stop

    @classmethod
    def sheet_of(cls, scenario: bytes) -> Sheet:
        """The sheet of a scenario; made only if the one at hand is of another."""
        if cls.sheet is None or cls.scenario != scenario:
            gc.unfreeze()
            cls.scenario, cls.sheet = scenario, Sheet(pickle.loads(scenario))
            gc.collect()
            gc.freeze()  # what was made so far stays: it need not be looked at again
        return cls.sheet

    @classmethod
    def stopped(cls) -> bool:
        """Whether nothing more is wanted."""
        return cls.stop is not None and cls.stop.is_set()


def _leave_with_the_parent() -> None:
    """A worker whose parent was killed would wait for work forever."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def at_the_desk(order: Order, numbers: Sequence[int]) -> list[object]:
    """What is read off these runs; those that are done when nothing more is wanted."""
    with Desk.taken:
        return run_chunk(Desk.sheet_of(order.scenario), order.seed, numbers, order.read, Desk.stopped)


def run_chunk(sheet: Sheet, seed: int, numbers: Sequence[int], read: Callable[[Sheet, Records], T],
              stopped: Callable[[], bool] = lambda: False) -> list[T]:
    """Runs `numbers`, each read by `read` where it was run, so that only numbers travel between processes; those that
    are done when `stopped` comes true."""
    was_on = gc.isenabled()
    gc.disable()  # a run makes objects by the ten thousand, and nearly all are freed without being looked for
    done: list[T] = []
    try:
        for number in numbers:
            if stopped():
                break
            done.append(read(sheet, run_once(sheet, seed, number)))
        return done
    finally:
        gc.collect(0)  # the floors of these runs, on which all hold each other
        if was_on:
            gc.enable()


@cache
def code_digest(storeys: tuple[str, ...] = ("",)) -> str:
    """Of the source text of these storeys (all of linesim, unless given): runs of changed code are never mixed."""
    top, found = Path(__file__).parents[1], sha256()
    for path in sorted(path for storey in storeys for path in (top / storey).rglob("*.py")):
        found.update(f"{path.relative_to(top).as_posix()}\n".encode())
        found.update(path.read_bytes())
    return found.hexdigest()[:16]


@cache
def made_with() -> str:
    """What makes the runs of this process, besides linesim."""
    return f"Python {platform.python_version()}, NumPy {version('numpy')}, SimPy {version('simpy')}"
