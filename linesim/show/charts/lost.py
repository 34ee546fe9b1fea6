"""Hours lost, place by place: losses only, from zero; work and holds are not drawn."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.colors import to_rgba
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from .. import words
from ..palette import Mode, mixed
from .settings import drawn, label, rows_axis, sheet_of

PARTS = {"people": "Waiting for people", "other": "for parts, weather, dates, other half", "blocked": "Blocked",
         "rework": "Rework", "empty": "Empty"}
ROLES = {"people": "waiting", "other": "waiting"}  # the colour of a part that has another name than its family
PALE = {"other": 0.45}                             # a part that shares its family's colour is drawn paler
HOLLOW = ("empty", "off shift")
LEAST_NUMBER = 5  # percent: smaller parts carry no number


@drawn
def plate(mode: Mode, table: pd.DataFrame) -> Figure:
    """`table` of questions.figures.lost."""
    figure = sheet_of(0.235 * len(table) + 0.85)
    axes = figure.add_subplot()
    rows_axis(axes, [words.named(row["place"], row["name"]) for _, row in table.iterrows()])
    for n, row in table.iterrows():
        bar(axes, mode, int(str(n)), [(part, 100 * row[part]) for part in PARTS], "{:.0f}", LEAST_NUMBER)
    ends = 100 * table[list(PARTS)].sum(axis=1)
    fullest = int(table["full"].to_numpy().argmax())
    if table["full"].iloc[fullest] > 0:
        label(axes, float(ends.iloc[fullest]), fullest, "the fullest place")
    axes.set_xlim(0, max(5.0, float(ends.max())))
    axes.set_xlabel("% of working hours lost")
    legend(axes, mode, PARTS)
    return figure


def bar(axes: Axes, mode: Mode, y: int, parts: Sequence[tuple[str, float]], form: str, least: float) -> None:
    """One row of losses, from zero."""
    at = 0.0
    for part, size in parts:
        if size > 0:
            axes.add_patch(Rectangle((at, y - 0.33), size, 0.66, **look(mode, part), lw=0.8, clip_on=False))
        if size >= least:
            axes.text(at + size / 2, y, form.format(size), ha="center", va="center_baseline", fontsize=8,
                      color=mode["ink"] if part in HOLLOW or part in PALE else mode["page"])
        at += size


def look(mode: Mode, part: str) -> dict[str, Any]:
    """Fill and edge of a part."""
    if part in HOLLOW:
        return {"fc": "none", "ec": mode["rule"]}
    colour = mode[ROLES.get(part, part)]
    return {"fc": to_rgba(colour, PALE[part]), "ec": colour} if part in PALE else {"fc": colour, "ec": mode["page"]}


def fill_of(mode: Mode, part: str) -> str:
    """The colour of a part in a line of words above a chart; "": hollow."""
    if part in HOLLOW:
        return ""
    colour = mode[ROLES.get(part, part)]
    return mixed(colour, mode["page"], PALE[part]) if part in PALE else colour


def legend(axes: Axes, mode: Mode, parts: dict[str, str]) -> None:
    """One line above the rows."""
    figure = axes.get_figure()
    assert isinstance(figure, Figure)
    figure.legend([Rectangle((0, 0), 1, 1, **look(mode, part)) for part in parts], list(parts.values()),
                  loc="outside upper left", ncols=len(parts), handlelength=0.9, handleheight=0.9, columnspacing=1.2,
                  handletextpad=0.4, borderpad=0.1, fontsize=8.5)
