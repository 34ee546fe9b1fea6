"""Squawks and flights per aircraft, by flight number."""

from __future__ import annotations

import pandas as pd
from matplotlib.figure import Figure

from .. import words
from ..palette import Mode
from .settings import drawn, label, rows_axis, sheet_of


@drawn
def plate(mode: Mode, table: pd.DataFrame) -> Figure:
    """`table` of questions.figures.flights."""
    figure = sheet_of(0.3 * len(table) + 0.75)
    left, right = figure.subplots(1, 2, sharey=True)
    rows_axis(left, [f"flight {n}" for n in table["flight"]])
    right.grid(False)
    right.grid(True, axis="x")
    for n, row in table.iterrows():
        y = int(str(n))
        left.barh(y, row["squawks"], height=0.62, color=mode["rework"], clip_on=False)
        label(left, row["squawks"], y, words.tenths(row["squawks"]))
        right.barh(y, 100 * row["flew"], height=0.62, color=mode["work"], clip_on=False)
        label(right, 100 * row["flew"], y, words.percent(row["flew"]))
    left.set(xlim=(0, table["squawks"].max() * 1.12), xlabel="Squawks on the flight")
    right.set(xlim=(0, 114), xlabel="% of the aircraft that fly it")
    right.set_xticks(range(0, 101, 25))
    return figure
