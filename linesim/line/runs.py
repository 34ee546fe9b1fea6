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


def run_chunk(scenario: Scenario, seed: int, numbers: Sequence[int], read: Callable[[Sheet, Records], T]) -> list[T]:
    """Runs `numbers`, each read by `read` where it was run, so that only numbers travel between processes."""
    sheet = Sheet(scenario)
    found = []
    gc.disable()  # a run makes no rings worth collecting; one collection per chunk keeps memory flat
    try:
        for number in numbers:
            found.append(read(sheet, run_once(sheet, seed, number)))
    finally:
        gc.enable()
        gc.collect()
    return found


def run_many(scenario: Scenario, seed: int, numbers: Sequence[int], read: Callable[[Sheet, Records], T],
             jobs: int = 1) -> Iterator[list[T]]:
    """Chunks of results as they come; stopping the iteration stops the rest."""
    chunks = [numbers[n:n + CHUNK] for n in range(0, len(numbers), CHUNK)]
    if jobs <= 1 or len(chunks) == 1:
        for chunk in chunks:
            yield run_chunk(scenario, seed, chunk, read)
        return
    with ProcessPoolExecutor(jobs, mp_context=get_context("spawn")) as pool:
        waiting: list[Future[list[T]]] = [pool.submit(run_chunk, scenario, seed, chunk, read) for chunk in chunks]
        try:
            for done in as_completed(waiting):
                yield done.result()
        finally:
            pool.shutdown(wait=False, cancel_futures=True)
