"""Puts values into the papers, adds entries and takes them out: in the text of the file, or of the table beside it.

Everything else stays byte for byte as the planner wrote it. What the file only takes over from one that it extends is
changed under its own `changes`.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from ....scenario.csv_text import with_cell, with_rows, without_row
from ....scenario.declared import fields_of, kind_at
from ....scenario.paths import NAMES
from ....scenario.saving import written_in
from ....scenario.scenario import Scenario
from ....scenario.tree import Path_, value_at
from ....scenario.yaml_rows import with_entries, without
from ....scenario.yaml_text import CannotKeep
from .fixed import Refused
from .papers import Papers, Reading, read


def put(papers: Papers, path: Path_, value: Any) -> Papers:
    """The papers with a value at a place; None takes the field out. Raises Refused with the reason."""
    reading = _readable(papers)
    if value_at(path, reading.source.values if reading.source else None) == value:
        return papers
    try:
        table = _table(reading, path)
        if table:
            return _in_table(papers, reading, table, path, value)
        return papers.with_text(_in_file(papers.text(), reading, path, value))
    except (CannotKeep, LookupError, ValueError) as error:
        raise Refused(_why(error)) from None


def add(papers: Papers, path: Path_, at: int, entries: list[Any]) -> Papers:
    """The papers with entries in a list, the first as number `at`. Raises Refused."""
    reading = _readable(papers)
    table = _table(reading, path)
    try:
        if table:
            file = _csv_of(reading, table)
            return papers.with_text(with_rows(papers.text(file), at, entries), file)
        _own_list(reading, path)
        return papers.with_text(with_entries(papers.text(), path, at, entries))
    except (CannotKeep, LookupError, ValueError) as error:
        raise Refused(_why(error)) from None


def take_out(papers: Papers, path: Path_) -> Papers:
    """The papers without an entry of a list, or of entries by name. Raises Refused."""
    reading = _readable(papers)
    table = _table(reading, path)
    try:
        if table:
            file = _csv_of(reading, table)
            return papers.with_text(without_row(papers.text(file), path[len(table)]), file)
        _own_list(reading, path[:-1])
        return papers.with_text(without(papers.text(), path))
    except (CannotKeep, LookupError, ValueError) as error:
        raise Refused(_why(error)) from None


def _why(error: Exception) -> str:
    said = str(error.args[0]) if error.args else "it cannot be written"
    return said[:1].upper() + said[1:]


def _readable(papers: Papers) -> Reading:
    reading = read(papers)
    if reading.source is None:
        raise Refused("The file cannot be read; put its faults right by hand first")
    return reading


def _table(reading: Reading, path: Path_) -> Path_ | None:
    """The place that a table beside the file fills, at or above a path; None: it stands in a scenario file."""
    assert reading.source is not None
    for n in range(len(path), 0, -1):
        if path[:n] in reading.source.files:
            name = reading.file_of(path[:n])
            return path[:n] if Path(name).suffix.lower() not in (".yaml", ".yml") else None
    return None


def _csv_of(reading: Reading, table: Path_) -> str:
    """The CSV file of a table; raises Refused for a sheet, which is not written here."""
    assert reading.source is not None
    name = reading.file_of(table)
    if reading.source.files[table][1] or Path(name).suffix.lower() == ".xlsx":
        raise Refused(f"It stands in the sheet {name}; change it there and open the file again")
    return name


def _in_table(papers: Papers, reading: Reading, table: Path_, path: Path_, value: Any) -> Papers:
    if len(path) == len(table):
        raise Refused("It stands in a table beside the file; change its rows")
    file, row, column = _csv_of(reading, table), path[len(table)], path[len(table) + 1]
    if len(path) > len(table) + 2:
        raise Refused(f"It has fields of its own, which the table {file} cannot hold")
    return papers.with_text(with_cell(papers.text(file), row, str(column), value), file)


# in the scenario file -------------------------------------------------------------------------------------------
def _in_file(text: str, reading: Reading, path: Path_, value: Any) -> str:
    assert reading.source is not None
    assert reading.own is not None
    if reading.extends:
        if value is None and value_at(path, reading.own.values) is not None and path[0] in reading.own.values:
            return without(text, path)
        return written_in(text, reading.source, path, _as_changed(path, reading.source.values), value)
    if value is not None:
        return written_in(text, reading.source, path, "", value)
    entry = value_at(path[:-1], reading.source.values)
    within = fields_of(kind_at(Scenario, path[:-2])).get(str(path[-2])) if len(path) > 1 else None
    if isinstance(entry, dict) and len(entry) == 1 and within is not None and not within.is_required():
        return without(text, path[:-1])  # the last field of an optional section takes the section with it
    return without(text, path)


def _as_changed(path: Path_, values: Any) -> str:
    """A place as a change of an extending file names it; raises CannotKeep where an entry has no name."""
    words = []
    for n, step in enumerate(path):
        if isinstance(step, int):
            entry = value_at(path[:n + 1], values)
            name = next((entry[key] for key in NAMES if isinstance(entry, dict) and key in entry), None)
            if name is None:
                raise CannotKeep("This file extends another; an entry without a name is changed there")
            words.append(str(name))
        else:
            words.append(str(step))
    return ".".join(words)


def _own_list(reading: Reading, path: Path_) -> None:
    """Raises Refused where the list is that of a file that this one extends."""
    if reading.extends and (reading.own is None or value_at(path, reading.own.values) is None):
        raise Refused("This file extends another and says only what differs; entries are added and taken out there")
