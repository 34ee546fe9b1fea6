"""Delivery dates by serial, against the promise."""

from __future__ import annotations

import math
from datetime import date, timedelta

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from ...scenario.calendar import months_on
from ..palette import STATES, Mode
from .settings import DOT, drawn, rows_axis, sheet_of

MOST_ROWS = 20
MARKERS = {"on time": ("o", "full"), "at risk": ("o", "left"), "late": ("^", "full")}


def shown(table: pd.DataFrame, most: int = MOST_ROWS) -> pd.DataFrame:
    """The first rows late or at risk, in promised order; filled up with those that have the smallest chance."""
    doubtful = table[table["state"] != "on time"].head(most)
    others = table.drop(doubtful.index).sort_values("kept", kind="stable").head(most - len(doubtful))
    return table.loc[sorted([*doubtful.index, *others.index])].reset_index(drop=True)


@drawn
def plate(mode: Mode, table: pd.DataFrame, start: date) -> Figure:
    """`table` of questions.figures.dates, the rows that are to be drawn; days count from `start`."""
    figure = sheet_of(0.215 * len(table) + 0.55)
    axes = figure.add_subplot()
    rows_axis(axes, table["serial"].tolist())
    days = table[["promised", "early", "half", "eight", "nine"]].to_numpy(dtype=float)
    known = days[np.isfinite(days)]
    left, right = known.min() - 3, known.max() + 6
    for n, row in table.iterrows():
        y = int(str(n))
        _range(axes, mode, y, row, right)
        axes.plot([row["promised"]] * 2, [y - 0.36, y + 0.36], color=mode["ink"], lw=1.8, clip_on=False)
        shape, fill = MARKERS[row["state"]]
        colour = mode[STATES[row["state"]]]
        axes.plot(right + 0.025 * (right - left), y, shape, ms=6.5, color=colour, mec=colour, mew=1.1,
                  fillstyle=fill, markerfacecoloralt=mode["page"], clip_on=False)
        axes.text(right + 0.045 * (right - left), y, row["state"], va="center")
    axes.set_xlim(left, right)
    month_ticks(axes, start)
    return figure


def _range(axes: Axes, mode: Mode, y: int, row: pd.Series, right: float) -> None:
    """10th to 90th, half to 8 in 10, half; what lies after the end of the runs ends in an arrow at the edge."""
    early, half, eight, late = (min(row[name], right) for name in ("early", "half", "eight", "nine"))
    colour = mode["accent"]
    axes.plot([early, late], [y, y], color=colour, lw=1.0, clip_on=False)
    axes.plot([half, eight], [y, y], color=colour, lw=3.4, clip_on=False)
    if math.isfinite(row["half"]):
        axes.plot(half, y, "o", ms=DOT - 1, color=colour, clip_on=False)
    if math.isinf(row["nine"]):
        axes.plot(right, y, ">", ms=DOT - 1, color=colour, clip_on=False)


def month_ticks(axes: Axes, start: date, most: int = 9) -> None:
    """Ticks at the firsts of months, on an axis of days since the start."""
    low, high = axes.get_xlim()
    first = start + timedelta(days=math.ceil(low))
    months = []
    month = first if first.day == 1 else months_on(first.replace(day=1), 1)
    while (at := (month - start).days) <= high:
        months.append((at, str(month)[:7]))
        month = months_on(month, 1)
    step = max(1, math.ceil(len(months) / most))
    axes.set_xticks([at for at, _ in months[::step]], [text for _, text in months[::step]])
