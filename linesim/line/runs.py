"""Many runs of one scenario; each is the same alone, in a batch, on one core, on two, and on another machine."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import CancelledError, Future, ProcessPoolExecutor, wait
from multiprocessing import get_context
from multiprocessing.synchronize import Event
from queue import Empty, SimpleQueue
from types import TracebackType
from typing import TYPE_CHECKING, TypeVar, cast

from ..scenario.scenario import Scenario
from .desk import Desk, Order, at_the_desk, run_chunk
from .records import Records
from .sheet import Sheet

if TYPE_CHECKING:
    from .cluster import Cluster

T = TypeVar("T")
CHUNK = 5  # runs handed to a worker at a time: small enough for progress, large enough to make hand-over free
LOOK = 5.0  # seconds without a result after which it is asked whether there are workers at all
PATIENCE = 6  # such looks in a row until a cluster without workers is given up


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


class Workers:
    """Those who do runs, for the time of one command; a context manager. With one process it is this one; with more,
    they are started when first needed and stay; with the address of a cluster, its workers do them.

    Raises ClusterFault (line/cluster.py) where a cluster cannot be used.
    """

    def __init__(self, jobs: int = 1, cluster: str | None = None) -> None:
        self._jobs, self._cluster = jobs, None if cluster is None else _cluster_at(cluster)
        self._pool: ProcessPoolExecutor | None = None
        self._told: Event | None = None  # to the processes of the pool: nothing more is wanted

    def __enter__(self) -> Workers:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None,
                 trace: TracebackType | None) -> None:
        self.close()

    def close(self) -> None:
        """Let them go."""
        self._tell()
        if self._pool is not None:
            self._pool.shutdown(cancel_futures=True)
            self._pool = None
        if self._cluster is not None:
            self._cluster.close()
            self._cluster = None

    def run(self, scenario: Scenario, seed: int, numbers: Sequence[int], read: Callable[[Sheet, Records], T],
            stop: Stop) -> Generator[list[T], None, None]:
        """Chunks of results as they come; closing the iteration stops the rest. Runs are ordered with the call itself,
        so that the caller may load what it needs for the results while the workers get ready."""
        if stop.asked:
            return _here(scenario, seed, [], read, stop)
        if self._cluster is not None:
            chunks = self._cluster.chunks(numbers)
        else:
            chunks = list(chunks_of(numbers, self._jobs))
            if self._jobs <= 1 or len(chunks) <= 1:
                return _here(scenario, seed, chunks, read, stop)
        submit, order = self._submit(), Order.of(scenario, seed, read)
        waiting = {cast("Future[list[T]]", submit(order, chunk)) for chunk in chunks}
        return self._as_they_come(waiting, stop)

    def _submit(self) -> Callable[[Order, Sequence[int]], Future[list[object]]]:
        """The one place where it is chosen who does the runs."""
        if self._cluster is not None:
            return self._cluster.submit
        if self._pool is None or self._told is None:
            context = get_context("spawn")
            self._told = context.Event()
            self._pool = ProcessPoolExecutor(self._jobs, context, Desk.open, (self._told,))
        self._told.clear()
        pool = self._pool
        return lambda order, numbers: pool.submit(at_the_desk, order, numbers)

    def _as_they_come(self, waiting: set[Future[list[T]]], stop: Stop) -> Generator[list[T], None, None]:
        """A future handed over is let go of at once: results need not lie in memory until the last."""
        came: SimpleQueue[Future[list[T]] | None] = SimpleQueue()

        def tell() -> None:
            self._tell()
            came.put(None)

        stop.tell = tell
        for future in waiting:
            future.add_done_callback(came.put)
        try:
            while waiting and not stop.asked:
                done = self._next(came)
                if done is not None:
                    waiting.discard(done)
                    yield self._result(done)
            for future in [future for future in waiting if future.cancel()]:
                waiting.discard(future)
            while waiting:  # begun, or done already: all of them are handed over
                if (done := self._next(came)) is not None and done in waiting:
                    waiting.discard(done)
                    yield self._result(done)
        finally:
            stop.tell = None
            self._tell()
            wait([future for future in waiting if not future.cancel()])  # they end with the run at hand

    def _tell(self) -> None:
        if self._told is not None:
            self._told.set()

    def _next(self, came: SimpleQueue[Future[list[T]] | None]) -> Future[list[T]] | None:
        """The next that is done; None when there is a wish to stop. Raises ClusterFault where nobody is left to wait
        for."""
        without_workers = 0
        while True:
            try:
                return came.get(timeout=LOOK if self._cluster is not None else None)
            except Empty:
                assert self._cluster is not None
                without_workers = 0 if self._cluster.alive else without_workers + 1
                if without_workers == PATIENCE:
                    raise self._cluster.fault(CancelledError()) from None

    def _result(self, done: Future[list[T]]) -> list[T]:
        if self._cluster is None:
            return done.result()
        try:
            return done.result()
        except (Exception, CancelledError) as error:
            raise self._cluster.fault(error) from None


def _cluster_at(address: str) -> Cluster:
    from .cluster import Cluster  # its library is an extra, and slow to load

    return Cluster(address)


def chunks_of(numbers: Sequence[int], jobs: int) -> Iterator[Sequence[int]]:
    """The numbers in chunks of CHUNK, smaller towards the end, so that no worker is left alone with a large one."""
    n = 0
    while n < len(numbers):
        size = max(1, min(CHUNK, (len(numbers) - n) // (2 * max(1, jobs))))
        yield numbers[n:n + size]
        n += size


def run_many(scenario: Scenario, seed: int, numbers: Sequence[int], read: Callable[[Sheet, Records], T],
             jobs: int | Workers = 1, stop: Stop | None = None) -> Generator[list[T], None, None]:
    """Chunks of results as they come; closing the iteration stops the rest. `jobs`: so many processes for these runs
    alone, or workers that are there. They start with the call itself."""
    if isinstance(jobs, Workers):
        return jobs.run(scenario, seed, numbers, read, stop or Stop())
    own = Workers(jobs)
    return _and_let_go(own, own.run(scenario, seed, numbers, read, stop or Stop()))


def _and_let_go(own: Workers, chunks: Generator[list[T], None, None]) -> Generator[list[T], None, None]:
    try:
        yield from chunks
    finally:
        chunks.close()
        own.close()


def _here(scenario: Scenario, seed: int, chunks: list[Sequence[int]], read: Callable[[Sheet, Records], T],
          stop: Stop) -> Generator[list[T], None, None]:
    if not chunks:
        return
    sheet = Sheet(scenario)
    for chunk in chunks:
        if not stop.asked:
            yield run_chunk(sheet, seed, chunk, read, lambda: stop.asked)
