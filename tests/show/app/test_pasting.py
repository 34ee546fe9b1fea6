"""What comes from a spreadsheet: blocks of cells that are pasted, and rows that stand in a sheet."""

from __future__ import annotations

from pathlib import Path

import pytest
from openpyxl import Workbook

from linesim.show.app.editing import papers
from linesim.show.app.editing.edits import Edits, edited
from linesim.show.app.editing.fixed import Refused
from linesim.show.app.editing.nouns import ORDERS, PACKAGES, POSITIONS
from linesim.show.app.editing.papers import read
from linesim.show.app.editing.tables import in_sheets, sheet
from linesim.show.app.grid import cells_of

SCENARIOS = Path(__file__).parents[3] / "scenarios"
DEMO = papers.opened(SCENARIOS / "birchwater.yaml")

@pytest.mark.parametrize("edits", [Edits({0: {"name": "Floor\t34"}}), Edits(new=[{"id": "X\nY"}])])
def test_a_block_in_one_cell_is_refused(edits: Edits) -> None:
    """A block that is pasted while a cell is open would stand in that cell with its tabs; it is refused in words."""
    with pytest.raises(Refused, match="Press Escape first"):
        edited(DEMO, POSITIONS, edits)


def test_a_number_is_typed_as_text() -> None:
    """No number cell of the browser reads `12,5` as 125 before the reader of the file sees it."""
    table = sheet(PACKAGES, read(DEMO))
    assert {column.form for column in table.columns} >= {"spread", "whole", "number"}
    frame = cells_of(table)
    assert [frame[name].tolist()[:2] for name in ("hours", "crew max")] == [["34", "28"], ["3", "3"]]
    assert set(frame.select_dtypes("number").columns) == {"row"}


def test_rows_of_a_sheet_are_read_and_not_written(tmp_path: Path) -> None:
    """Orders in an XLSX file: the table is closed and says where they stand; other tables stay open."""
    book = Workbook()
    for row in (("serial", "promised"), ("S1", "2027-01-07"), ("S2", "2027-01-08")):
        book.active.append(row)
    book.save(tmp_path / "orders.xlsx")
    text = (SCENARIOS / "tiny.yaml").read_text().partition("orders:")[0] + "orders: {xlsx: orders.xlsx}\n"
    (tmp_path / "plant.yaml").write_text(text)
    there = papers.opened(tmp_path / "plant.yaml")
    assert in_sheets(ORDERS, read(there)) == (["orders.xlsx"], True)
    assert in_sheets(POSITIONS, read(there)) == ([], False)
    assert in_sheets(ORDERS, read(DEMO)) == ([], False)
    with pytest.raises(Refused, match=r"sheet orders\.xlsx"):
        edited(there, ORDERS, Edits({0: {"promised": "2027-01-09"}}))
