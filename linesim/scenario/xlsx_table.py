"""The rows of a sheet of an XLSX file (ISO/IEC 29500), each cell with its row and column, its value as last shown.

Only values are read: of a formula the value that was kept when the file was saved. A number that stands where text
is expected counts as text only where the sheet shows exactly its digits.
"""

from __future__ import annotations

import warnings
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from pathlib import Path
from typing import Any

from .faults import column_letters, did_you_mean
from .tree import MOST_DIGITS, Cell

MOST_UNPACKED = 40_000_000  # bytes
MOST_ROWS = 50_000
MOST_COLUMNS = 500
_OLD = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"  # a compound file: an XLS file, or an XLSX file with a password
_PLAIN_NUMBER = ("General", "0", "@")


@dataclass(frozen=True, slots=True)
class Unfit:
    """A cell that holds no value to be read, and why."""

    why: str

    def __str__(self) -> str:
        return self.why


@dataclass(frozen=True, slots=True)
class Moment:
    """A cell that holds a date, or a date and a clock time, as a scenario file would write it."""

    text: str

    def __str__(self) -> str:
        return self.text


@dataclass(frozen=True, slots=True)
class NotText:
    """A cell that holds a number, and the text that the sheet shows; None where it shows something else."""

    number: int | float
    text: str | None

    def __str__(self) -> str:
        return str(self.number) if self.text is None else self.text


class NoSheet(ValueError, LookupError):
    """A sheet that is not in the file."""


def xlsx_rows(table: Path, sheet: str | None) -> tuple[str, list[list[Cell]]]:
    """Name and rows of a sheet, the first that is not hidden unless one is named.

    Raises OSError or ValueError saying why it cannot be read.
    """
    _check_package(table)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # about drawings, checks and colours, which are not read
            return _read(table, sheet)
    except (_Refused, NoSheet):
        raise
    except Exception:  # the library meets a damaged file with errors of any kind
        raise ValueError("it is damaged, or no XLSX file") from None


class _Refused(ValueError):
    """A file that is whole and not read."""


def _check_package(table: Path) -> None:
    with table.open("rb") as file:
        if file.read(8) == _OLD:
            raise ValueError("it is an old XLS file, or has a password; save it as XLSX without one")
    try:
        with zipfile.ZipFile(table) as package:
            unpacked = sum(part.file_size for part in package.infolist())
    except (zipfile.BadZipFile, NotImplementedError):
        raise ValueError("it is damaged, or no XLSX file") from None
    if unpacked > MOST_UNPACKED:
        raise ValueError(f"it unpacks to {unpacked:,} bytes; at most {MOST_UNPACKED:,} are read")


def _read(table: Path, sheet: str | None) -> tuple[str, list[list[Cell]]]:
    from openpyxl import load_workbook  # large, and only needed where a table stands in a sheet

    with table.open("rb") as one, table.open("rb") as other:
        values = load_workbook(one, read_only=True, data_only=True, keep_links=False)
        formulas = load_workbook(other, read_only=True, data_only=False, keep_links=False)
        names = [page.title for page in values.worksheets]
        seen = [page.title for page in values.worksheets if page.sheet_state == "visible"]
        if not seen:
            raise _Refused("it has no sheet")
        name = seen[0] if sheet is None else sheet
        if name not in names:
            raise NoSheet(f"it has no sheet {name[:80]!r}"
                          + (did_you_mean(name, names) or f"; there is {', '.join(names)[:200]}"))
        return name, list(_rows(values.worksheets[names.index(name)], formulas.worksheets[names.index(name)]))


def _rows(values: Any, formulas: Any) -> Iterator[list[Cell]]:
    """Rows of a sheet without those that hold nothing."""
    for both in (values, formulas):
        both.reset_dimensions()  # the size that is written in a file may be wrong
    pairs = zip(values.iter_rows(), formulas.iter_rows(), strict=True)
    for line, (row, formula) in enumerate(pairs, 1):
        cells = [(_value(cell, behind), line, n) for n, (cell, behind) in enumerate(zip(row, formula, strict=True), 1)]
        filled = any(value != "" for value, _, _ in cells)
        if len(row) > MOST_COLUMNS or (filled and line > MOST_ROWS):
            raise _Refused(f"the sheet goes beyond row {MOST_ROWS:,} or column {column_letters(MOST_COLUMNS)}; no more "
                           "are read")
        if filled:
            yield cells


def _value(cell: Any, behind: Any) -> Any:
    """What a cell holds: text, true or false, NotText, Moment or Unfit; "" where it is empty."""
    value = cell.value
    if value is None:
        return Unfit("the formula has no kept value: open the file in a spreadsheet and save it") \
            if behind.data_type == "f" else ""
    if cell.data_type == "e":
        return Unfit(f"the cell shows the error {value}")
    if isinstance(value, bool):
        return value
    if isinstance(value, int | float):
        return _number(value, cell.number_format)
    if isinstance(value, datetime):
        return _moment(value, cell.number_format)
    if isinstance(value, time | timedelta):
        return Unfit("the cell holds a clock time or a length of time; write it as text or as a number")
    return str(value).strip()


def _number(value: int | float, shown_as: str) -> NotText | Unfit:
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        value = int(value)
    if isinstance(value, int) and len(str(abs(value))) > MOST_DIGITS:
        return Unfit(f"a number too long or too large: at most {MOST_DIGITS} digits are read")
    return NotText(value, str(value) if isinstance(value, int) and shown_as in _PLAIN_NUMBER else None)


def _moment(value: datetime, shown_as: str) -> Moment:
    """Sheets count days in fractions: a clock time may be a hair off its minute."""
    nearest = (value + timedelta(seconds=30)).replace(second=0, microsecond=0)
    if abs(nearest - value) < timedelta(seconds=1):
        value = nearest
    has_clock = "h" in shown_as.lower() or value != value.replace(hour=0, minute=0, second=0, microsecond=0)
    return Moment(value.isoformat(" ", "auto" if value.second or value.microsecond else "minutes") if has_clock
                  else value.date().isoformat())
