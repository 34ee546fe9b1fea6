"""What is wrong with a file: faults (it will not run), each with its place, what was found and what is allowed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any

MOST_SHOWN = 12
MOST_COMPARED = 500  # comparing with every serial of a long order book would take minutes


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault of a scenario file, or of a table beside it; in a sheet, line and column are those of a cell."""

    file: str
    line: int
    column: int
    place: str
    message: str
    sheet: str = ""
    path: tuple[Any, ...] = field(default=(), compare=False, repr=False)  # keys and list places, if it has a place

    def __str__(self) -> str:
        where = f"{self.file}, sheet {self.sheet}, {column_letters(self.column)}{self.line}: " if self.sheet else \
            f"{self.file}:{self.line}:{self.column}: "
        return where + (f"{self.place}: {self.message}" if self.place else self.message)


def column_letters(column: int) -> str:
    """The letters of a sheet's column, 1 first: A ... Z, AA ..."""
    letters = ""
    while column > 0:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


@dataclass(frozen=True, slots=True)
class Caution:
    """Something that runs, but should be looked at."""

    place: str
    message: str

    def __str__(self) -> str:
        return f"{self.place}: {self.message}" if self.place else self.message


class ScenarioFaults(Exception):
    """A file that cannot run, with all its faults."""

    says = "This file cannot run"

    def __init__(self, file: str, faults: list[Fault]) -> None:
        super().__init__(file)
        self.file, self.faults = file, sorted(faults, key=lambda fault: (fault.file, fault.sheet, fault.line,
                                                                         fault.column))

    def __str__(self) -> str:
        count = "1 fault" if len(self.faults) == 1 else f"{len(self.faults)} faults"
        return "\n".join([f"{self.says}: {count}.", *map(str, self.faults)])


class NotChanged(ScenarioFaults):
    """A change that was refused, with all that is wrong with it."""

    says = "Nothing is changed"


def did_you_mean(found: object, known: Iterable[str]) -> str:
    """The nearest valid name as the end of a message, or nothing."""
    near = get_close_matches(str(found)[:200], list(known)[:MOST_COMPARED], n=1, cutoff=0.6)
    return f"; did you mean {near[0]!r}?" if near else ""


def unknown(what: str, found: object, known: Iterable[str]) -> str:
    """A name that is not declared: the nearest one that is, or what there is."""
    names = list(known)
    there = ", ".join(names[:MOST_SHOWN]) + (", ..." if len(names) > MOST_SHOWN else "")
    return f"unknown {what} {found!r}" + (did_you_mean(found, names) or f"; there is {there or 'none'}")
