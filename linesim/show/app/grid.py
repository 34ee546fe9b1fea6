"""A table of the plant on the screen: cells to type in, grey ones that may not be moved, rows to add and take out."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from typing import TYPE_CHECKING, Any

import streamlit as st

from ...scenario.written import written
from ..palette import Mode
from .editing.edits import Edits
from .editing.fixed import CODE
from .editing.nouns import Column
from .editing.tables import Sheet

if TYPE_CHECKING:
    import pandas as pd

ROW = "row"
ROW_HIGH = 33  # pixels
SPARE = 4       # rows of room for new ones
HIGH = 18  # most rows shown at once
WIDE = {"name": 220, "open squawks": 220, "position": 84, "after": 130, "area": 110, "at": 110, "serial": 104,
        "packages done": 150, "hours left": 130, "shifts": 120}
_NUMBERS = ("whole", "number", "spread")


def grid(sheet: Sheet, key: str, mode: Mode, *, closed: bool = False) -> None:
    """Put the table on the page in its colours; what is typed stands in the state of the session under the key.

    Closed: it may be read and not typed in.
    """
    shown = sheet.used()
    frame = cells_of(sheet)
    grey = [column.name for column in shown if column.fixed and not (sheet.noun.adds and column.fixed == CODE)]
    painted: list[Hashable] = [*grey]
    quiet = {"color": mode["soft"], "background-color": mode["band"]}
    drawn = frame.style.format(str, subset=painted, na_rep="").set_properties(subset=painted, **quiet)
    st.data_editor(
        drawn if grey else frame, key=key, hide_index=True, row_height=ROW_HIGH,
        num_rows="fixed" if closed else "dynamic" if sheet.noun.adds else "delete",
        disabled=True if closed else [ROW, *grey],
        column_order=[ROW, *(column.name for column in shown)], width="stretch",
        height=min(HIGH, len(sheet.rows) + 1 + SPARE * (sheet.noun.adds and not closed)) * ROW_HIGH + 3,
        column_config={ROW: st.column_config.NumberColumn(ROW, width=50, pinned=True, disabled=True),
                       **{column.name: _config(column, _kind(column), grey=column.name in grey)
                          for column in shown}},
        placeholder="", alt=f"{sheet.noun.name}: {len(sheet.rows)} rows")


def typed(state: Any) -> Edits:
    """What the state of a table says was done in it."""
    if not isinstance(state, Mapping):
        return Edits()
    return Edits({int(row): dict(cells) for row, cells in state.get("edited_rows", {}).items()},
                 [{name: cell for name, cell in one.items() if not name.startswith("_")}
                  for one in state.get("added_rows", ())], [int(row) for row in state.get("deleted_rows", ())])


def _kind(column: Column) -> str:
    """How a column is typed in. A number is typed as text: a number cell of the browser reads a pasted `12,5` as 125
    and drops `12 h` without a word; as text both come to the reader of the file, who refuses them."""
    return "number" if column.form in _NUMBERS else column.form if column.form in ("yes", "choice") else "text"


def _cell(cell: Any) -> str | None:
    """A cell as it is printed: a number as a file writes it."""
    return None if cell is None else written(cell) if isinstance(cell, int | float) else str(cell)


def cells_of(sheet: Sheet) -> pd.DataFrame:
    """The cells as the browser gets them: the number of the row, then text, or true and false."""
    import pandas as pd

    data: dict[str, Any] = {ROW: pd.Series(range(1, len(sheet.rows) + 1), dtype="Int64")}
    for n, column in enumerate(sheet.columns):
        cells = [row[n] for row in sheet.rows]
        if _kind(column) == "yes":
            data[column.name] = pd.Series(cells, dtype="boolean")
        else:
            data[column.name] = pd.Series([_cell(cell) for cell in cells], dtype="object")
    return pd.DataFrame(data)


def _config(column: Column, kind: str, *, grey: bool) -> Any:
    about = f"{column.about} Not moved here: {column.fixed}" if column.fixed else column.about
    name = column.name
    wide = WIDE.get(name, 92 if len(name) < 9 else 118)
    if kind == "yes":
        return st.column_config.CheckboxColumn(name, help=about, disabled=grey, width=wide)
    if kind == "choice" and not grey:
        return st.column_config.SelectboxColumn(name, help=about, options=list(column.choices), width=wide)
    return st.column_config.TextColumn(name, help=about, disabled=grey, width=wide,
                                       alignment="right" if kind == "number" else "left")
