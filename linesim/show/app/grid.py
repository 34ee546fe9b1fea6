"""A table of the plant on the screen: cells to type in, grey ones that may not be moved, rows to add and take out."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from typing import TYPE_CHECKING, Any

import streamlit as st

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


def grid(sheet: Sheet, key: str, mode: Mode) -> None:
    """Put the table on the page in its colours; what is typed stands in the state of the session under the key."""
    shown = sheet.used()
    kinds = {column.name: _kind(column, [row[n] for row in sheet.rows]) for n, column in enumerate(sheet.columns)}
    frame = _frame(sheet, kinds)
    grey = [column.name for column in shown if column.fixed and not (sheet.noun.adds and column.fixed == CODE)]
    painted: list[Hashable] = [*grey]
    quiet = {"color": mode["soft"], "background-color": mode["band"]}
    drawn = frame.style.format(_printed, subset=painted, na_rep="").set_properties(subset=painted, **quiet)
    st.data_editor(
        drawn if grey else frame, key=key, hide_index=True, num_rows="dynamic" if sheet.noun.adds else "delete",
        disabled=[ROW, *grey], row_height=ROW_HIGH,
        column_order=[ROW, *(column.name for column in shown)], width="stretch",
        height=min(HIGH, len(sheet.rows) + 1 + SPARE * sheet.noun.adds) * ROW_HIGH + 3,
        column_config={ROW: st.column_config.NumberColumn(ROW, width=50, pinned=True, disabled=True),
                       **{column.name: _config(column, kinds[column.name], grey=column.name in grey)
                          for column in shown}},
        placeholder="", alt=f"{sheet.noun.name}: {len(sheet.rows)} rows")


def typed(state: Any) -> Edits:
    """What the state of a table says was done in it."""
    if not isinstance(state, Mapping):
        return Edits()
    return Edits({int(row): dict(cells) for row, cells in state.get("edited_rows", {}).items()},
                 [{name: cell for name, cell in one.items() if not name.startswith("_")}
                  for one in state.get("added_rows", ())], [int(row) for row in state.get("deleted_rows", ())])


def _kind(column: Column, cells: list[Any]) -> str:
    """How a column is typed in: a number only where all of its cells are numbers."""
    if column.form in _NUMBERS:
        numbers = [_number(cell) for cell in cells if cell is not None]
        return "number" if all(number is not None for number in numbers) else "text"
    return column.form if column.form in ("yes", "choice") else "text"


def _number(cell: Any) -> float | None:
    try:
        return float(cell)
    except (TypeError, ValueError):
        return None


def _printed(cell: Any) -> str:
    """A grey cell as it is printed."""
    return f"{cell:g}" if isinstance(cell, float) else str(cell)


def _frame(sheet: Sheet, kinds: Mapping[str, str]) -> pd.DataFrame:
    import pandas as pd

    data: dict[str, Any] = {ROW: pd.Series(range(1, len(sheet.rows) + 1), dtype="Int64")}
    for n, column in enumerate(sheet.columns):
        cells, kind = [row[n] for row in sheet.rows], kinds[column.name]
        if kind == "number":
            found = [None if cell is None else float(cell) for cell in cells]
            whole = all(number is None or number.is_integer() for number in found)
            data[column.name] = pd.Series(found, dtype="Float64").astype("Int64" if whole and cells else "Float64")
        elif kind == "yes":
            data[column.name] = pd.Series(cells, dtype="boolean")
        else:
            data[column.name] = pd.Series([None if cell is None else str(cell) for cell in cells], dtype="object")
    return pd.DataFrame(data)


def _config(column: Column, kind: str, *, grey: bool) -> Any:
    about = f"{column.about} Not moved here: {column.fixed}" if column.fixed else column.about
    name = column.name
    wide = WIDE.get(name, 92 if len(name) < 9 else 118)
    if kind == "number":
        return st.column_config.NumberColumn(name, help=about, disabled=grey, width=wide)
    if kind == "yes":
        return st.column_config.CheckboxColumn(name, help=about, disabled=grey, width=wide)
    if kind == "choice" and not grey:
        return st.column_config.SelectboxColumn(name, help=about, options=list(column.choices), width=wide)
    return st.column_config.TextColumn(name, help=about, disabled=grey, width=wide)
