"""What a page hands out: its tables as a workbook and as text, its main figure, and a page to print or send.

They are set from the same section as the files of the command, at the moment when they are asked for.
"""

from __future__ import annotations

import csv
import io
import re
import threading
from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING, Any

import streamlit as st

from ...line.sheet import Sheet
from .. import words
from ..palette import LIGHT
from . import memo
from .chosen import Chosen
from .wish import Found

if TYPE_CHECKING:
    from ..report.blocks import Section, Table

Set = Callable[[], "Section"]
DRAWING = threading.Lock()  # matplotlib's settings are those of the whole process: one figure at a time
MIME = {"xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", "csv": "text/csv",
        "svg": "image/svg+xml", "png": "image/png", "html": "text/html"}
LABELS = {"xlsx": "Table, XLSX", "csv": "Table, CSV", "svg": "Picture, SVG", "png": "Picture, PNG",
          "html": "Report, HTML"}
PICTURES = ("svg", "png")
NUMBER = re.compile(r"[+−-]?\d[\d,]*(?:\.(\d+))?")
MOST_IN_A_NAME = 31  # letters of a sheet's name
WIDEST = 60


def row(found: Found, here: Chosen, section: Set, *, drawn: bool = True) -> None:
    """The downloads of an answer, after its cautions; `section` makes the section anew, with its figures. `drawn`:
    whether it has any."""
    memo.cautions(here.scenario, found.numbers)
    name = f"{here.stem}_{found.wish.question}_{found.wish.digest[:8]}"
    made = {"xlsx": lambda: workbook(found, section()), "csv": lambda: text_of(section().tables[0]),
            "svg": lambda: figure(section, "svg"), "png": lambda: figure(section, "png"),
            "html": lambda: page(found, here, section)}
    with st.container(horizontal=True, gap="small"):
        for kind, label in LABELS.items():
            if not drawn and kind in PICTURES:
                continue
            st.download_button(label, drawing(made[kind]), f"{name}.{kind}", MIME[kind], on_click="ignore",
                               key=f"download {kind}")


def drawing(make: Callable[[], bytes]) -> Callable[[], bytes]:
    """The same, one at a time."""
    def made() -> bytes:
        with DRAWING:
            return make()

    return made


def figure(section: Set, kind: str) -> bytes:
    """The main figure with its finding as a heading; SVG or PNG."""
    from ..charts.settings import headed
    from ..charts.svg import alone, pixels

    one = section().pictures[0]
    drawn = headed(one.figure, LIGHT, one.title, one.reading)
    return pixels(drawn) if kind == "png" else alone(drawn, one.title, one.reading).encode()


def page(found: Found, here: Chosen, section: Set) -> bytes:
    """The whole answer to print or send, of the scenario of the wish (which has its changes)."""
    from ..answered import page_text

    return page_text(section(), found.numbers, Sheet(found.wish.scenario()), found.made).encode()


def text_of(table: Table) -> bytes:
    """A table as CSV: cells as printed, with a plain minus and without thousands commas; UTF-8 with its mark."""
    file = io.StringIO()
    writer = csv.writer(file)
    writer.writerow(table.head)
    for cells in table.rows:
        values = [number_in(cell) for cell in cells]
        writer.writerow([cell if value is None else plain(cell)
                         for cell, value in zip(cells, values, strict=True)])
    return file.getvalue().encode("utf-8-sig")


def plain(cell: str) -> str:
    """A printed number as other programs read it."""
    return cell.replace("−", "-").replace(",", "").replace(words.THIN, "").lstrip("+")


def number_in(cell: str) -> tuple[float, str] | None:
    """The number of a printed cell and its form in a workbook; None where it is a text."""
    share = cell.endswith("%")
    bare = cell.removesuffix("%").rstrip(words.THIN + " ") if share else cell
    matched = NUMBER.fullmatch(bare)
    if matched is None:
        return None
    value, digits = float(plain(bare)), len(matched[1] or "")
    form = "#,##0" + ("." + "0" * digits if digits else "")
    return (value / 100, "0%" if not digits else "0." + "0" * digits + "%") if share else (value, form)


def workbook(found: Found, section: Section) -> bytes:
    """All tables, one sheet each; first what they are about, last every number of the answer by its path."""
    import xlsxwriter

    file = io.BytesIO()
    with xlsxwriter.Workbook(file, {"strings_to_formulas": False, "strings_to_urls": False, "in_memory": True}) as book:
        bold = book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 1})
        wrap = book.add_format({"text_wrap": True, "valign": "top"})
        _about(book.add_worksheet("About"), found, section, wrap, bold)
        for n, table in enumerate(section.tables, 1):
            _sheet(book, f"{n} {table.head[0]}"[:MOST_IN_A_NAME], table, bold)
        every = book.add_worksheet("Every number")
        every.write_row(0, 0, ("Path", "Value"), bold)
        every.set_column(0, 0, WIDEST)
        for n, (path, value) in enumerate(flat(found.numbers), 1):
            every.write_string(n, 0, path)
            every.write(n, 1, value)
    return file.getvalue()


def flat(value: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Every single value with its path."""
    if isinstance(value, Mapping):
        for name, inside in value.items():
            yield from flat(inside, f"{path} / {name}" if path else str(name))
    elif isinstance(value, list | tuple):
        for n, inside in enumerate(value):
            yield from flat(inside, f"{path} / {n + 1}" if path else str(n + 1))
    elif value is not None:
        yield path, value


def _about(sheet: Any, found: Found, section: Section, wrap: Any, bold: Any) -> None:
    wish, numbers = found.wish, found.numbers
    inputs = [(name, value) for name, value in wish.options.items() if value is not None]
    rows: list[tuple[str, Any]] = [
        ("Question", section.question), *(("Answer", one) for one in section.answer), ("Scenario", wish.name),
        ("File, SHA-256", wish.digest), *(("Changed", one) for one in wish.changes),
        *((str(name), str(value)) for name, value in inputs), ("Runs", found.runs), ("Seed", str(wish.seed)),
        ("Made", found.made), ("linesim", found.version),
        *(("Assumed", one) for one in numbers.get("assumed", ())),
        *(("Caution", f"{one.head} {one.text}") for one in section.cautions),
        *(("Caution", one) for one in numbers.get("cautions", ())),
        ("Tables", "Cells are as printed: rounded. The last sheet holds every number of the answer."),
        ("", words.AID)]
    sheet.set_column(0, 0, 18)
    sheet.set_column(1, 1, 100)
    for n, (head, value) in enumerate(rows):
        sheet.write(n, 0, head, bold)
        sheet.write(n, 1, value, wrap)


def _sheet(book: Any, name: str, table: Table, bold: Any) -> None:
    sheet = book.add_worksheet(re.sub(r"[\[\]:*?/\\]", " ", name))
    sheet.write_string(0, 0, table.note)
    sheet.write_row(2, 0, table.head, bold)
    sheet.freeze_panes(3, 1)
    forms: dict[str, Any] = {}
    for column in range(len(table.head)):
        cells = [row[column] for row in table.rows]
        sheet.set_column(column, column, min(WIDEST, 3 + max([len(table.head[column]), *map(len, cells)])))
        for n, cell in enumerate(cells, 3):
            number = number_in(cell)
            if not cell:
                continue
            if number is None:
                sheet.write_string(n, column, cell)
            else:
                value, form = number
                sheet.write_number(n, column, value, forms.setdefault(form, book.add_format({"num_format": form})))
