"""The rows of a table as cells, and the faults of the papers by table, row and column."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ....scenario.faults import Fault
from ....scenario.tree import Path_, value_at
from .cells import shown
from .nouns import NOUNS, PEOPLE, Column, Noun, code_of, name_of
from .papers import Reading

_SELDOM = ("crew", "chance", "models", "schemes", "cure bays", "stripe bays", "weekdays", "launch")
_LEFT_OUT = {"docks": 1, "parking": 0, "kind": "work"}  # what a reader of the table must not have to know
_LIMITS = ((re.compile(r"must be (\S+) or more, found (\S+)"), "{1} is below {0}"),
           (re.compile(r"must be at most (\S+), found (\S+)"), "{1} is above {0}"),
           (re.compile(r"must be above (\S+), found (\S+)"), "{1} is not above {0}"),
           (re.compile(r"must be a number or one of (.+); found (.+)"), "{1} is no number; nor one of {0}"))


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table as it is shown: its columns, and the cells of each row in their order."""

    noun: Noun
    columns: tuple[Column, ...]
    rows: tuple[tuple[Any, ...], ...]

    def used(self) -> list[Column]:
        """Columns that say anything in this plant, or that most plants need."""
        return [column for n, column in enumerate(self.columns)
                if any(row[n] not in (None, "", False) for row in self.rows)
                or not (column.fixed or column.name in _SELDOM)]


def sheet(noun: Noun, reading: Reading) -> Sheet:
    """A table of the papers; empty where they cannot be read."""
    values = reading.source.values if reading.source else {}
    columns = tuple(noun.columns(values))
    return Sheet(noun, columns, tuple(tuple(_cell(noun, path, column, values) for column in columns)
                                      for path in noun.rows(values)))


def _cell(noun: Noun, path: Path_, column: Column, values: Any) -> Any:
    if not column.at:
        return code_of(noun, path, values)
    people = value_at((*path, "people"), values)
    if noun is PEOPLE and column.at[0] == "people" and isinstance(people, int):
        first = next(iter(value_at(("shifts",), values) or ()), None)
        return people if column.at[-1] in (first, "people") else None
    found = shown(value_at((*path, *column.at), values), column.form)
    return found if found is not None else False if column.form == "yes" else _LEFT_OUT.get(column.name)


def in_sheets(noun: Noun, reading: Reading) -> tuple[list[str], bool]:
    """XLSX files that rows of a table stand in, and whether all of its rows do: a sheet is read here, not written."""
    if reading.source is None:
        return [], False
    rows, given = noun.rows(reading.source.values), reading.source.files
    sheets = [path for path, (file, _) in given.items() if Path(file).suffix.lower() == ".xlsx"]
    mine = [path for path in sheets if noun.section == path or any(row[:len(path)] == path for row in rows)]
    return sorted({reading.file_of(path) for path in mine}), bool(mine) and all(
        any(row[:len(path)] == path for path in mine) for row in rows)


# faults ---------------------------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class RowFault:
    """A fault in words, with the table that it belongs to ("": none) and its row there."""

    noun: str
    row: int | None
    text: str


def row_faults(reading: Reading) -> list[RowFault]:
    """All faults of the papers, each at its row: `Packages, row 12 (P1-10), crew max: 0 is below 1`."""
    values = reading.source.values if reading.source else {}
    places = [(path, noun, row) for noun in NOUNS for row, path in enumerate(noun.rows(values))]
    return [_placed(fault, places, values) for fault in reading.faults]


def _placed(fault: Fault, places: Iterable[tuple[Path_, Noun, int]], values: Any) -> RowFault:
    found = max(((path, noun, row) for path, noun, row in places if fault.path[:len(path)] == path and fault.path),
                key=lambda one: len(one[0]), default=None)
    if found is None:
        place = f", {fault.place}" if fault.place else ""
        return RowFault("", None, f"{Path(fault.file).name}, line {fault.line}{place}: {_ended(said(fault))}")
    path, noun, row = found
    inside = fault.path[len(path):]
    column = max((one for one in noun.columns(values) if one.at and inside[:len(one.at)] == one.at),
                 key=lambda one: len(one.at), default=None)
    name = column.name if column else ", ".join(str(step).replace("_", " ") for step in inside)
    called = name_of(noun, path, values)
    head = f"{noun.name}, row {row + 1}{f' ({called})' if called else ''}"
    return RowFault(noun.name, row, f"{head}{', ' if name else ''}{name}: {_ended(said(fault))}")


def said(fault: Fault) -> str:
    """What is wrong, as short as a row of a table needs it."""
    for form, words in _LIMITS:
        if found := form.fullmatch(fault.message):
            return words.format(*found.groups())
    return fault.message


def _ended(text: str) -> str:
    return text if text.endswith((".", "?")) else f"{text}."


def of_table(faults: Iterable[RowFault], noun: Noun) -> list[str]:
    """The faults that belong under one table."""
    return [fault.text for fault in faults if fault.noun == noun.name]
