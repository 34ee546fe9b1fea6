"""Changes cells and rows in the text of a CSV table (RFC 4180); every other character stays as it was written."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from .csv_table import records

Span = tuple[str, int, int]  # what a cell holds, its first character and the one behind its last


def with_cell(text: str, row: int, column: str, value: Any) -> str:
    """The text with a cell changed (None: emptied); rows count from 0 below the header, a new column is added behind.

    Raises LookupError for a row that is not there, ValueError for a value that no cell can hold.
    """
    table = _spans(text)
    if column not in [name for name, _, _ in table[0]]:
        text = _with_column(text, table[0], column)
        table = _spans(text)
    number, cells = [name for name, _, _ in table[0]].index(column), table[1:][row]
    if number >= len(cells):
        at = cells[-1][2]
        return text[:at] + "," * (number - len(cells) + 1) + _cell(value) + text[at:]
    _, first, last = cells[number]
    return text[:first] + _cell(value, quoted=text[first:first + 1] == '"') + text[last:]


def with_rows(text: str, at: int, rows: list[dict[str, Any]]) -> str:
    """The text with rows put in, the first of them as row `at` below the header; new columns are added behind."""
    table = _spans(text)
    for name in dict.fromkeys(name for row in rows for name in row):
        if name not in [known for known, _, _ in table[0]]:
            text = _with_column(text, table[0], name)
            table = _spans(text)
    names, newline = [name for name, _, _ in table[0]], "\r\n" if "\r\n" in text else "\n"
    lines = "".join(",".join(_cell(row.get(name)) for name in names) + newline for row in rows)
    start = _next_line(text, table[at][-1][2])
    if start and not text[:start].endswith("\n"):
        return f"{text}{newline}{lines.removesuffix(newline)}"
    return text[:start] + lines + text[start:]


def without_row(text: str, row: int) -> str:
    """The text without one row; raises LookupError for one that is not there."""
    cells = _spans(text)[1:][row]
    start, stop = text.rfind("\n", 0, cells[0][1]) + 1, _next_line(text, cells[-1][2])
    if stop == len(text) and not text.endswith("\n"):  # no newline ended the last line, so none ends the new last one
        start -= 2 if text[:start].endswith("\r\n") else 1
    return text[:start] + text[stop:]


def _spans(text: str) -> list[list[Span]]:
    """Rows of cells with their characters; rows without any text are left out, as the reader does."""
    lines = [0, *(n + 1 for n, letter in enumerate(text) if letter == "\n")]
    return [[(str(cell), lines[line - 1] + column - 1, _stop(text, lines[line - 1] + column - 1))
             for cell, line, column in row] for row in records(text)]


def _stop(text: str, at: int) -> int:
    """The character behind a cell that begins at one."""
    if text[at:at + 1] == '"':
        at += 1
        while text[at] != '"' or text[at + 1:at + 2] == '"':
            at += 1 if text[at] != '"' else 2
    while at < len(text) and text[at] not in ",\r\n":
        at += 1
    return at


def _next_line(text: str, at: int) -> int:
    return text.find("\n", at) + 1 or len(text)


def _with_column(text: str, header: list[Span], name: str) -> str:
    at = header[-1][2]
    return f"{text[:at]},{_cell(name)}{text[at:]}"


def _cell(value: Any, *, quoted: bool = False) -> str:
    """A value as a cell says it: names parted by semicolons, quoted where it must be."""
    if isinstance(value, dict) or (isinstance(value, list | tuple) and any(isinstance(one, dict) for one in value)):
        raise ValueError("it holds fields of its own, which no cell of a table can")
    if isinstance(value, list | tuple):
        value = "; ".join(map(str, value))
    elif isinstance(value, bool):
        value = str(value).lower()
    elif isinstance(value, datetime):
        value = f"{value:%Y-%m-%d %H:%M}"
    elif isinstance(value, date):
        value = value.isoformat()
    text = "" if value is None else str(value)
    if "\0" in text:
        raise ValueError("it holds a character that no table can hold")
    must = any(letter in text for letter in ',"\r\n') or text != text.strip()
    return '"' + text.replace('"', '""') + '"' if must or (quoted and text) else text
