"""Many runs of one scenario over the machine's cores; each is the same alone, in a batch, on one core or on two."""

from __future__ import annotations

import gc
import os
import signal
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from multiprocessing import get_context, parent_process
from multiprocessing.synchronize import Event
from threading import Thread
from typing import TypeVar

from ..scenario.scenario import Scenario
from .floor import run_once
from .records import Records
from .sheet import Sheet

T = TypeVar("T")
CHUNK = 5  # runs handed to a worker at a time: small enough for progress, large enough to make hand-over free


class Stop:
    """A wish from outside (a key, a button): no further run is begun, and those that are done are handed over."""

    def __init__(self) -> None:
        self.asked = False
        self.tell: Callable[[], None] | None = None

    def ask(self) -> None:
        """May be called from a signal handler or another thread."""
        self.asked = True
        if self.tell is not None:
            self.tell()


class Desk:
    """The sheet of a worker process, made once and used by all its chunks."""

    sheet: Sheet | None = None
    stop: Event | None = None

    @classmethod
    def open(cls, scenario: Scenario, stop: Event) -> None:
        """Called once in each worker."""
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C reaches every process; the first of them decides
        Thread(target=_leave_with_the_parent, daemon=True).start()
        cls.sheet, cls.stop = Sheet(scenario), stop
        gc.freeze()  # what was made so far stays: it need not be looked at again


def _leave_with_the_parent() -> None:
    """A worker whose parent was killed would wait for work forever."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def run_chunk(sheet: Sheet, seed: int, numbers: Sequence[int], read: Callable[[Sheet, Records], T],
              stopped: Callable[[], bool] = lambda: False) -> list[T]:
    """Runs `numbers`, each read by `read` where it was run, so that only numbers travel between processes; those that
    are done when `stopped` comes true."""
    often = gc.get_threshold()
    gc.set_threshold(50_000, 20, 100)  # a run makes and drops objects by the ten thousand: look less often
    done: list[T] = []
    try:
        for number in numbers:
            if stopped():
                break
            done.append(read(sheet, run_once(sheet, seed, number)))
        return done
    finally:
        gc.set_threshold(*often)


def _at_the_desk(seed: int, numbers: Sequence[int], read: Callable[[Sheet, Records], T]) -> list[T]:
    assert Desk.sheet is not None
    assert Desk.stop is not None
    return run_chunk(Desk.sheet, seed, numbers, read, Desk.stop.is_set)


def chunks_of(numbers: Sequence[int], jobs: int) -> Iterator[Sequence[int]]:
    """The numbers in chunks of CHUNK, smaller towards the end, so that no worker is left alone with a large one."""
    n = 0
    while n < len(numbers):
        size = max(1, min(CHUNK, (len(numbers) - n) // (2 * max(1, jobs))))
        yield numbers[n:n + size]
        n += size


def run_many(scenario: Scenario, seed: int, numbers: Sequence[int], read: Callable[[Sheet, Records], T],
             jobs: int = 1, stop: Stop | None = None) -> Generator[list[T], None, None]:
    """Chunks of results as they come; closing the iteration stops the rest. Workers start with the call itself, so that
    the caller may load what it needs for the results while they get ready."""
    stop = stop or Stop()
    chunks = [] if stop.asked else list(chunks_of(numbers, jobs))
    if jobs <= 1 or len(chunks) <= 1:
        return _here(scenario, seed, chunks, read, stop)
    context = get_context("spawn")
    told = context.Event()
    pool = ProcessPoolExecutor(jobs, context, Desk.open, (scenario, told))
    stop.tell = told.set
    return _as_they_come(pool, {pool.submit(_at_the_desk, seed, chunk, read) for chunk in chunks}, stop, told)


def _here(scenario: Scenario, seed: int, chunks: list[Sequence[int]], read: Callable[[Sheet, Records], T],
          stop: Stop) -> Generator[list[T], None, None]:
    sheet = Sheet(scenario)
    for chunk in chunks:
        if not stop.asked:
            yield run_chunk(sheet, seed, chunk, read, lambda: stop.asked)


def _as_they_come(pool: ProcessPoolExecutor, waiting: set[Future[list[T]]], stop: Stop,
                  told: Event) -> Generator[list[T], None, None]:
    """A future handed over is let go of at once: results need not lie in memory until the last."""
    try:
        for done in as_completed(waiting):
            waiting.discard(done)
            yield done.result()
            if stop.asked:
                break
        for done in as_completed([begun for begun in waiting if not begun.cancel()]):
            yield done.result()
    finally:
        stop.tell = None
        told.set()
        pool.shutdown(cancel_futures=True)
