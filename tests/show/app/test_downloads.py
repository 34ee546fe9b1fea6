"""What a page hands out says the same as the page: workbook, text, figure, page."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from xml.etree import ElementTree

import openpyxl
import pytest

from linesim.scenario.reading import read_scenario
from linesim.show import rating
from linesim.show.app import downloads, work
from linesim.show.app.chosen import Chosen
from linesim.show.app.wish import Found, found_in, put_wish, wished

TINY = Path(__file__).parents[3] / "scenarios" / "tiny.yaml"


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Found:
    """An answer on rates."""
    wish = wished("rate", TINY, read_scenario(TINY), {"takts": "2,1"}, 3)
    folder = wish.folder(tmp_path_factory.mktemp("results"))
    put_wish(folder, wish)
    assert work.main(folder) == 0
    answer = found_in(folder)
    assert answer is not None
    return answer


def test_numbers_of_printed_cells() -> None:
    """Thousands, true minus, signs, percent; dates, words and ranges stay text."""
    assert downloads.number_in("1,234.50") == (1234.5, "#,##0.00")
    assert downloads.number_in("−3") == (-3.0, "#,##0")
    assert downloads.number_in("+0.2") == (0.2, "#,##0.0")
    assert downloads.number_in("24\u202f%") == (0.24, "0%")
    for text in ("2027-03-15", "3 in 10", "", "4.1 to 5", "none of 3 runs", "under 1\u202f%", "S1"):
        assert downloads.number_in(text) is None


def test_the_workbook_holds_the_tables_and_every_number(found: Found) -> None:
    """One sheet a table with its cells as numbers; the last sheet gives back each number of the answer."""
    section = rating.section(found.numbers)
    book = openpyxl.load_workbook(io.BytesIO(downloads.workbook(found, section)))
    about = {row[0].value: row[1].value for row in book["About"].iter_rows()}
    assert (about["Question"], about["Runs"], about["File, SHA-256"], about["takts"]) == (
        "What rate can the line hold?", 3, found.wish.digest, "2,1")
    for sheet, table in zip(book.worksheets[1:-1], section.tables, strict=True):
        assert [cell.value for cell in sheet[3]][:len(table.head)] == list(table.head)
        for cells, row in zip(sheet.iter_rows(min_row=4), table.rows, strict=True):
            for cell, printed in zip(cells, row, strict=True):
                number = downloads.number_in(printed)
                assert cell.value == (number[0] if number else printed or None)
    every = {row[0].value: row[1].value for row in book.worksheets[-1].iter_rows(min_row=2)}
    assert every == dict(downloads.flat(found.numbers))


def test_the_text_is_read_as_numbers_elsewhere(found: Found) -> None:
    """The first table, a plain minus, no thousands commas."""
    table = rating.tables(found.numbers)[0]
    rows = list(csv.reader(io.StringIO(downloads.text_of(table).decode("utf-8-sig"))))
    assert rows[0] == list(table.head)
    assert [float(row[1]) for row in rows[1:]] == [round(row["planned a month"], 1) for row in found.numbers["plans"]]
    assert downloads.plain("−1,234") == "-1234"


def test_figure_and_page(found: Found) -> None:
    """The figure carries its finding; the page begins with the answer."""
    def section() -> object:
        return rating.section(found.numbers)

    svg = ElementTree.fromstring(downloads.figure(section, "svg"))
    assert svg[0].text == rating.section(found.numbers).pictures[0].title
    assert downloads.figure(section, "png").startswith(b"\x89PNG")
    page = downloads.page(found, Chosen(TINY, read_scenario(TINY)), section).decode()
    assert found.numbers["sentences"][0] in page
    assert "http://" not in page.replace("http://www.w3.org", "")
