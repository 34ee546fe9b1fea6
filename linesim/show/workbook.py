"""The tables of a run as a workbook (XLSX, ISO/IEC 29500) and as CSV files (RFC 4180, UTF-8), for finance and planners.

One sheet a subject, one header row, values only: no formula, no macro, no link. The same run gives the same bytes.
XlsxWriter writes it, because it dates the parts of the file by what it is told and not by the clock; what is written
is read back with another library in the tests.
"""

from __future__ import annotations

import csv
import io
import math
import re
import textwrap
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pandas as pd
from xlsxwriter import Workbook

from ..line.sheet import Sheet
from ..measures.run import RunNumbers
from ..questions.baseline import Answer
from . import words
from .folder import tables_of_runs
from .palette import LIGHT
from .whole_files import write_whole
from .workbook_about import about, columns_of
from .workbook_tables import DATE, MONTH, Cell, Table, tables_of_answer

Records = Mapping[str, pd.DataFrame]
STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
NARROWEST, WIDEST = 9, 62     # characters
LONGEST = 32_767              # characters that a cell may hold
LONGEST_NAME = 80             # of a scenario in the head of a printed page, which holds 255 characters in all
LINE = 15                     # points
HEAD_ROWS = 3                 # lines of a head at most, where its column may be wide enough
FILTER = 2                    # characters that the button of the filter takes
_NOT_IN_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def write_workbook(folder: Path, sheet: Sheet, runs: Sequence[RunNumbers], answer: Answer, *,
                   records: Records | None = None, made: date | None = None) -> Path:
    """Write the workbook into a run folder that holds its `scenario.json`; gives its path.

    `records` are the tables of the run folder, worked out anew if left out; `made` is the date of the run, where it is
    to be said. Raises OSError where the file cannot be written.
    """
    tables = every_table(folder, sheet, runs, answer, records, made)
    path = folder / f"{folder.resolve().name}.xlsx"
    content = io.BytesIO()
    book = Workbook(content, {"in_memory": True})
    name = _NOT_IN_XML.sub("\ufffd", sheet.scenario.name)
    day = made or sheet.scenario.start
    book.set_properties({"title": name, "author": "linesim", "comments": words.AID,
                         "created": datetime(day.year, day.month, day.day)})
    pages = _Pages(book, name)
    for table in tables:
        if table.rows:
            pages.add(table)
    book.close()
    write_whole(path, content.getvalue())
    return path


def write_csv(folder: Path, sheet: Sheet, runs: Sequence[RunNumbers], answer: Answer, *,
              records: Records | None = None, made: date | None = None) -> Path:
    """Write the same tables as CSV files into the folder `csv` of a run folder; gives its path. Raises OSError."""
    tables = every_table(folder, sheet, runs, answer, records, made)
    (folder / "csv").mkdir(exist_ok=True)
    for table in tables:
        path = folder / "csv" / f"{table.file}.csv"
        if table.rows:
            write_whole(path, _lines(table).encode("utf-8", "replace"))
        else:
            path.unlink(missing_ok=True)  # of earlier runs in the same folder
    return folder / "csv"


def _lines(table: Table) -> str:
    text = io.StringIO()
    rows = csv.writer(text, lineterminator="\r\n")
    rows.writerow([column.head for column in table.columns])
    forms = [column.form for column in table.columns]
    rows.writerows([as_text(cell, form) for cell, form in zip(row, forms, strict=True)] for row in table.rows)
    return text.getvalue()


def every_table(folder: Path, sheet: Sheet, runs: Sequence[RunNumbers], answer: Answer, records: Records | None = None,
                made: date | None = None) -> list[Table]:
    """All tables in their order, that about the run first and that about the columns last; some may have no row."""
    if records is None:
        records = tables_of_runs(sheet, runs)
    found = tables_of_answer(sheet, runs, records, answer.numbers)
    return [about(folder, sheet, answer, made), *found, columns_of([table for table in found if table.rows])]


def as_text(cell: Cell, form: str = "") -> str:
    """A value in a CSV file. A text that a spreadsheet would take for a formula gets an apostrophe before it."""
    if cell is None or (isinstance(cell, float) and not math.isfinite(cell)):
        return ""
    if isinstance(cell, str):
        return f"'{cell}" if cell.startswith(STARTS_A_FORMULA) else cell
    if isinstance(cell, date):
        return cell.isoformat()[:7] if form == MONTH else cell.isoformat()
    return repr(cell)


class _Pages:
    """Sheets of a workbook, all of one look."""

    def __init__(self, book: Workbook, name: str) -> None:
        self.book = book
        printable = "".join(one for one in name if one.isprintable())
        self.head = f"&L{printable[:LONGEST_NAME].replace('&', '&&')}&R&A"
        self.foot = f"&L{words.AID}&R&P of &N"
        self.forms: dict[tuple[Any, ...], Any] = {}

    def add(self, table: Table) -> None:
        """A sheet: table, notes of its heads, widths, and how it prints."""
        page = self.book.add_worksheet(table.title)
        widths = [_width(table, n) for n in range(len(table.columns))]
        self._heads(page, table, widths)
        for n, row in enumerate(table.rows, 1):
            page.set_row(n, LINE * max(_rows(cell, width) for cell, width in zip(row, widths, strict=True)))
            for column, cell in enumerate(row):
                self._write(page, n, column, cell, table.columns[column].form)
        page.freeze_panes(1, 1)
        page.ignore_errors({"number_stored_as_text": f"A1:XFD{len(table.rows) + 1}"})
        page.set_landscape()
        page.fit_to_pages(1, 0)
        page.repeat_rows(0)
        page.set_header(self.head)
        page.set_footer(self.foot)

    def _heads(self, page: Any, table: Table, widths: list[int]) -> None:
        heads = [self._form("head", bold=True, text_wrap=True, valign="top", bottom=1, bg_color=LIGHT["band"],
                            **_side(column.form)) for column in table.columns]
        page.add_table(0, 0, len(table.rows), len(table.columns) - 1, {
            "name": re.sub(r"\W", "_", table.title), "style": "Table Style Light 1", "banded_rows": False,
            "columns": [{"header": column.head, "header_format": head}
                        for column, head in zip(table.columns, heads, strict=True)]})
        for n, (column, width) in enumerate(zip(table.columns, widths, strict=True)):
            page.set_column(n, n, width)
            rows = len(textwrap.wrap(column.note, 44))
            page.write_comment(0, n, column.note, {"width": 290, "height": 16 * rows + 14, "font_size": 9})
        page.set_row(0, 3 + LINE * max(_rows(column.head, width - FILTER) for column, width in zip(
            table.columns, widths, strict=True)))

    def _write(self, page: Any, row: int, column: int, cell: Cell, form: str) -> None:
        if cell is None or (isinstance(cell, float) and not math.isfinite(cell)):
            return
        if isinstance(cell, str):
            text = _NOT_IN_XML.sub("\ufffd", cell)[:LONGEST]
            page.write_string(row, column, text, self._form("text", text_wrap=True, valign="top", **_side(form),
                                                            quote_prefix=text.startswith(STARTS_A_FORMULA)))
        elif isinstance(cell, date):
            page.write_datetime(row, column, cell, self._form("date", num_format=form or DATE, valign="top",
                                                              **_side(form)))
        else:
            page.write_number(row, column, cell, self._form("number", num_format=form or "General", valign="top",
                                                            **_side(form)))

    def _form(self, kind: str, **looks: Any) -> Any:
        key = (kind, *looks.items())
        if key not in self.forms:
            self.forms[key] = self.book.add_format(looks)
        return self.forms[key]


def _side(form: str) -> dict[str, Any]:
    """Columns of numbers and dates stand right, others left with a gap to a number before them."""
    return {"align": "right"} if form else {"align": "left", "indent": 1}


def _rows(cell: Cell, width: int) -> int:
    """Lines that a text takes in a column; a little too many rather than too few."""
    return max(1, len(textwrap.wrap(cell[:LONGEST], width - 2))) if isinstance(cell, str) else 1


def _width(table: Table, n: int) -> int:
    """Characters that the longest value needs and the head in at most HEAD_ROWS lines, within bounds."""
    column = table.columns[n]
    values = [len(as_text(row[n], column.form)) if not isinstance(row[n], float) else len(f"{row[n]:,.2f}")
              for row in table.rows]
    longest = max(map(len, column.head.split()))
    head = next((width for width in range(max(NARROWEST, longest + FILTER + 2), WIDEST)
                 if _rows(column.head, width - FILTER) <= HEAD_ROWS), WIDEST)
    return min(WIDEST, max(head, *(value + 3 for value in values)))
