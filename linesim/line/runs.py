"""Many runs of one scenario over the machine's cores; each is the same alone, in a batch, on one core or on two."""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from multiprocessing import get_context
from typing import TypeVar

from ..scenario.scenario import Scenario
from .floor import run_once
from .records import Records
from .sheet import Sheet

T = TypeVar("T")
CHUNK = 5  # runs handed to a worker at a time: small enough for progress, large enough to make hand-over free


class Desk:
    """The sheet of a worker process, made once and used by all its chunks."""

    sheet: Sheet | None = None

    @classmethod
    def open(cls, scenario: Scenario) -> None:
        """Called once in each worker."""
        cls.sheet = Sheet(scenario)
        gc.freeze()  # what was made so far stays: it need not be looked at again


def run_chunk(sheet: Sheet, seed: int, numbers: Sequence[int], read: Callable[[Sheet, Records], T]) -> list[T]:
    """Runs `numbers`, each read by `read` where it was run, so that only numbers travel between processes."""
    often = gc.get_threshold()
    gc.set_threshold(50_000, 20, 100)  # a run makes and drops objects by the ten thousand: look less often
    try:
        return [read(sheet, run_once(sheet, seed, number)) for number in numbers]
    finally:
        gc.set_threshold(*often)


def _at_the_desk(seed: int, numbers: Sequence[int], read: Callable[[Sheet, Records], T]) -> list[T]:
    assert Desk.sheet is not None
    return run_chunk(Desk.sheet, seed, numbers, read)


def chunks_of(numbers: Sequence[int], jobs: int) -> Iterator[Sequence[int]]:
    """The numbers in chunks of CHUNK, smaller towards the end, so that no worker is left alone with a large one."""
    n = 0
    while n < len(numbers):
        size = max(1, min(CHUNK, (len(numbers) - n) // (2 * max(1, jobs))))
        yield numbers[n:n + size]
        n += size


def run_many(scenario: Scenario, seed: int, numbers: Sequence[int], read: Callable[[Sheet, Records], T],
             jobs: int = 1) -> Iterator[list[T]]:
    """Chunks of results as they come; stopping the iteration stops the rest."""
    chunks = list(chunks_of(numbers, jobs))
    if jobs <= 1 or len(chunks) == 1:
        sheet = Sheet(scenario)
        for chunk in chunks:
            yield run_chunk(sheet, seed, chunk, read)
        return
    with ProcessPoolExecutor(jobs, get_context("spawn"), Desk.open, (scenario,)) as pool:
        waiting: list[Future[list[T]]] = [pool.submit(_at_the_desk, seed, chunk, read) for chunk in chunks]
        try:
            for done in as_completed(waiting):
                yield done.result()
        finally:
            pool.shutdown(wait=False, cancel_futures=True)
