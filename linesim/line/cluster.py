"""Runs on many machines: the workers of a dask.distributed cluster do them as the processes of this machine would.

Every worker must be the same linesim on the same libraries, or its runs would not be those of this machine: each says
what it is before it does the first run, and one that differs is refused. Runs of a worker that is lost are done by
another. Pickled Python travels to the workers: use a cluster only on a network that is trusted.
"""

from __future__ import annotations

import logging
import re
import warnings
from collections.abc import Sequence
from concurrent.futures import Executor, Future
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from .cluster_fault import ClusterFault
from .desk import Order, at_the_desk, code_digest, made_with

if TYPE_CHECKING:
    from distributed import Client

AT_LEAST = 25      # runs a task: less, and handing it over would cost as much as the runs
CONNECT = "5s"    # until a cluster that does not answer counts as not there
ADDRESS = re.compile(r"((tcp|tls|ws|wss)://)?[^/\s:]+:\d{1,5}")
INSTALL = "pip install 'linesim[cluster]'"


def what_runs_here() -> str:
    """What makes runs in this process."""
    return f"linesim code {code_digest()}, {made_with()}"


def on_a_worker(expected: str, order: Order, numbers: Sequence[int]) -> list[object]:
    """As `at_the_desk`, in a worker that may have joined since the others were asked what they are."""
    if (here := what_runs_here()) != expected:
        raise OtherLinesim(here)
    return at_the_desk(order, numbers)


class OtherLinesim(Exception):
    """A worker is another linesim; the text says which."""


class Cluster:
    """The workers behind an address, for the time of one command; raises ClusterFault where they cannot be used."""

    def __init__(self, address: str) -> None:
        self.address, self._here = address, what_runs_here()
        self._client = self._connected()
        try:
            self._all_the_same()
        except BaseException:
            self.close()
            raise
        self._executor: Executor = self._client.get_executor(pure=False)

    def submit(self, order: Order, numbers: Sequence[int]) -> Future[list[object]]:
        """Order a chunk of runs."""
        return self._executor.submit(on_a_worker, self._here, order, numbers)

    def chunks(self, numbers: Sequence[int]) -> list[Sequence[int]]:
        """The numbers in chunks of AT_LEAST; the last takes what is left over."""
        whole = max(1, len(numbers) // AT_LEAST)
        edges = [*range(0, whole * AT_LEAST, AT_LEAST), len(numbers)]
        return [numbers[a:b] for a, b in pairwise(edges) if a < b]

    @property
    def alive(self) -> bool:
        """Whether the scheduler answers and has a worker."""
        return self._client.status == "running" and bool(self._client.scheduler_info().get("workers"))

    def close(self) -> None:
        """Leave the cluster as it is."""
        self._client.close(timeout=2)

    def fault(self, error: BaseException) -> ClusterFault:
        """What an error in a task means."""
        if isinstance(error, OtherLinesim):
            return self._another(str(error))
        name = type(error).__name__
        if name == "KilledWorker":
            return ClusterFault(self.address, "workers that did these runs died again and again (is memory short?)")
        if isinstance(error, ImportError | AttributeError):
            return self._another(str(error))
        return ClusterFault(self.address, f"the connection was lost or the runs were cancelled there ({name})")

    def _connected(self) -> Client:
        if not ADDRESS.fullmatch(self.address):
            raise ClusterFault(self.address, "this is not an address; expected something like tcp://127.0.0.1:8786")
        try:
            from distributed import Client
        except ImportError:
            raise ClusterFault(self.address, f"this needs dask.distributed: {INSTALL}") from None
        for name in logging.root.manager.loggerDict:  # what goes wrong is said by ClusterFault
            if name.partition(".")[0] in ("distributed", "tornado"):
                logging.getLogger(name).setLevel(logging.CRITICAL)
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")  # versions are compared below
                return Client(self.address, timeout=CONNECT, set_as_default=False)
        except (OSError, ValueError, RuntimeError):
            raise ClusterFault(self.address, f"the cluster cannot be reached: no answer within {CONNECT}") from None

    def _all_the_same(self) -> None:
        workers = self._client.scheduler_info().get("workers", {})
        if not workers:
            raise ClusterFault(self.address, "the cluster has no workers; start some with: dask worker ADDRESS")
        try:
            found: dict[str, Any] = self._client.run(what_runs_here, on_error="return")
        except Exception as error:
            raise self.fault(error) from None
        for there in found.values():
            if isinstance(there, BaseException):
                raise self.fault(there)
            if there != self._here:
                raise self._another(there)

    def _another(self, there: str) -> ClusterFault:
        return ClusterFault(self.address, f"a worker runs another version ({there}; here {self._here}), and runs of "
                            "two versions are never mixed")
