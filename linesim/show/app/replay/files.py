"""Tables as files: text, and a workbook with a sheet for each."""

from __future__ import annotations

import csv
import io

from xlsxwriter import Workbook
from xlsxwriter.worksheet import Worksheet

from ... import words
from ...report.blocks import Table


def as_csv(table: Table) -> str:
    """Comma-separated, the heads first."""
    found = io.StringIO()
    csv.writer(found, lineterminator="\n").writerows([table.head, *table.rows])
    return found.getvalue()


def as_workbook(*tables: Table) -> bytes:
    """A sheet for each table: what it is, then its rows; numbers as numbers, dates as they are written."""
    found = io.BytesIO()
    with Workbook(found, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}) as book:
        bold = book.add_format({"bold": True, "bottom": 1})
        for table in tables:
            page = book.add_worksheet()
            page.write_string(0, 0, table.note)
            page.write_row(2, 0, table.head, bold)
            for n, row in enumerate(table.rows, 3):
                for k, cell in enumerate(row):
                    _write(page, n, k, cell, number=table.right(k))
            page.freeze_panes(3, 1)
            page.set_column(0, len(table.head) - 1, 18)
    return found.getvalue()


def _write(page: Worksheet, row: int, column: int, cell: str, *, number: bool) -> None:
    """A cell; in a column of numbers one that is a number as such."""
    value = _value(cell) if number else None
    if value is None:
        page.write_string(row, column, cell)
    else:
        page.write_number(row, column, value)


def _value(cell: str) -> float | None:
    try:
        return float(cell.replace(",", "").replace(words.MINUS, "-"))
    except ValueError:
        return None
