"""Many runs at hand: what is large of each lies in a scratch file, and is read anew whenever somebody looks at it.

A run of the demo is some 130 kB of numbers, ten thousand of them more than a machine may have room for. Of a held run
only what is small, or is asked for aircraft by aircraft, stays in memory: some 8 kB. The rest comes back in
microseconds, equal to the last bit, so that whoever passes over the runs may do so as often as he likes.
"""

from __future__ import annotations

import os
import pickle
import sys
from array import array
from collections.abc import Iterable, Mapping
from dataclasses import fields
from pathlib import Path
from tempfile import TemporaryFile
from typing import Any, TypeVar
from weakref import finalize

from ..measures.run import RunNumbers
from ..measures.tables import Tables

T = TypeVar("T")
AT_HAND = ("run", "delivered", "counted", "flights", "squawks", "stock", "stock_ready", "promised", "stuck",
           "backlog_growth", "line_stops", "stop_hours")
AWAY = [field.name for field in fields(RunNumbers) if field.name not in (*AT_HAND, "tables")]
TABLES = [field.name for field in fields(Tables)]
PLACES, PLACES_OF_TABLES = ({name: n for n, name in enumerate(names, first)}  # values behind the first one of a run
                            for names, first in ((AWAY, 0), (TABLES, len(AWAY))))


def hold(runs: Iterable[RunNumbers], near: Path | None = None) -> list[RunNumbers]:
    """The same runs, held. The scratch file has no name, lies in the folder `near` (None: where the system keeps such
    files) and is gone with the last of them. Raises OSError where it cannot be written."""
    scratch, words = Scratch(near), dict[str, str]()
    held: list[RunNumbers] = [_held(run, scratch, words) for run in runs]
    scratch.settle()
    return held


class Scratch:
    """A file of values that are written once, one behind the other, and read by their numbers."""

    def __init__(self, near: Path | None) -> None:
        self._file = TemporaryFile(dir=near)  # noqa: SIM115 - open as long as a run of it is held
        finalize(self, self._file.close)
        self._ends = array("Q", [0])

    def put(self, value: object) -> None:
        """Write the next value."""
        content = pickle.dumps(value, pickle.HIGHEST_PROTOCOL)
        self._file.write(content)
        self._ends.append(self._ends[-1] + len(content))

    def settle(self) -> None:
        """All is written."""
        self._file.flush()

    def get(self, number: int) -> Any:
        """A value, made anew."""
        begin, end = self._ends[number:number + 2]
        return pickle.loads(_read(self._file.fileno(), end - begin, begin))

    def __len__(self) -> int:
        return len(self._ends) - 1


if sys.platform == "win32":
    from threading import Lock

    _one_at_a_time = Lock()

    def _read(file: int, size: int, begin: int) -> bytes:
        with _one_at_a_time:
            os.lseek(file, begin, os.SEEK_SET)
            return os.read(file, size)
else:
    _read = os.pread


class HeldTables(Tables):
    """Tables of which each is read when it is looked at."""

    __slots__ = ("_first", "_scratch")

    def __getattr__(self, name: str) -> Any:
        if name not in PLACES_OF_TABLES:
            raise AttributeError(name)
        return self._scratch.get(self._first + PLACES_OF_TABLES[name])


class HeldRun(RunNumbers):
    """A run of which the fields of AWAY are read when they are looked at. A changed or pickled copy has all of them at
    hand, as any other run."""

    __slots__ = ("_first", "_scratch")

    def __getattr__(self, name: str) -> Any:
        if name == "tables":
            return _of(HeldTables, {"_scratch": self._scratch, "_first": self._first})
        if name not in PLACES:
            raise AttributeError(name)
        return self._scratch.get(self._first + PLACES[name])

    def with_delivered(self, delivered: dict[str, str]) -> RunNumbers:
        """The same run with other deliveries, held as this one."""
        if not hasattr(self, "_scratch"):
            return super().with_delivered(delivered)
        same = {name: getattr(self, name) for name in (*AT_HAND, "_scratch", "_first")}
        return _of(HeldRun, same | {"delivered": delivered})


def _held(run: RunNumbers, scratch: Scratch, words: dict[str, str]) -> HeldRun:
    """`words`: moments that were met before, since many runs deliver at the same ones."""
    small = {name: getattr(run, name) for name in AT_HAND}
    for name in ("delivered", "stock_ready"):
        small[name] = {serial: words.setdefault(at, at) for serial, at in small[name].items()}
    held = _of(HeldRun, small | {"_scratch": scratch, "_first": len(scratch)})
    for value in (*(getattr(run, name) for name in AWAY), *(getattr(run.tables, name) for name in TABLES)):
        scratch.put(value)
    return held


def _of(kind: type[T], at_hand: Mapping[str, Any]) -> T:
    held = object.__new__(kind)
    for name, value in at_hand.items():
        object.__setattr__(held, name, value)
    return held
