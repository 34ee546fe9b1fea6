"""The rows of a CSV table (RFC 4180), each cell with its line and column."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from .tree import Cell

_CELL_END = re.compile("[,\n]")


class NotClosed(Exception):
    """A quotation mark that is not closed, with its line and column."""


def csv_rows(table: Path) -> list[list[Cell]]:
    """Rows of a CSV file; raises OSError or ValueError where it cannot be read, NotClosed for a quotation mark."""
    try:
        return list(records(table.read_text(encoding="utf-8-sig")))
    except UnicodeDecodeError:
        raise ValueError("it is not UTF-8 text") from None


def records(text: str) -> Iterator[list[Cell]]:
    """Rows of a CSV text (RFC 4180) with the place of each cell; rows without any text are left out.

    Raises NotClosed for a quotation mark that is not closed."""
    cells: list[Cell] = []
    at, line, line_start = 0, 1, 0
    while at < len(text):
        first = (line, at - line_start + 1)
        if text[at] == '"':
            parts, at = [], at + 1
            while True:
                close = text.find('"', at)
                if close < 0:
                    raise NotClosed(first)
                parts.append(text[at:close])
                at = close + 1
                if text[at:at + 1] != '"':
                    break
                parts.append('"')
                at += 1
            cell = "".join(parts)
            if "\n" in cell:
                line, line_start = line + cell.count("\n"), text.rindex("\n", 0, at) + 1
        else:
            cell = ""
        mark = _CELL_END.search(text, at)
        stop = mark.start() if mark else len(text)
        cells.append(((cell + text[at:stop]).strip(), *first))
        at = stop + 1
        if stop == len(text) or text[stop] == "\n":
            if any(found for found, _, _ in cells):
                yield cells
            cells, line, line_start = [], line + 1, at
    if cells:  # the text ended behind a comma
        yield cells
