"""Deliveries per quarter: ten circles stand for all runs, stacked on their count, beside the plan."""

from __future__ import annotations

import pandas as pd
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from .. import words
from ..palette import Mode
from .settings import DOT, THIN, drawn, sheet_of

BAND, STEP, HIGH = 7.4, 0.95, 5  # units: height of a quarter's band, between circles; most circles in one column


def stacked(table: pd.DataFrame) -> pd.DataFrame:
    """The circles with the column and height of each: over HIGH on one count stand in columns side by side."""
    nth = table.groupby(["quarter", "deliveries"], sort=False).cumcount()
    many = table.groupby(["quarter", "deliveries"], sort=False)["circle"].transform("size")
    columns = (many + HIGH - 1) // HIGH
    return table.assign(level=nth % HIGH, x=table["deliveries"] + 0.2 * (nth // HIGH - (columns - 1) / 2))


@drawn
def plate(mode: Mode, table: pd.DataFrame) -> Figure:
    """`table` of questions.figures.quarters."""
    circles, each = stacked(table), table.drop_duplicates("quarter").reset_index(drop=True)
    figure = sheet_of(0.74 * len(each) + 0.5)
    axes = figure.add_subplot()
    left = min(table["deliveries"].min(), each["plan"].min() - 0.5) - 0.9
    right = max(table["deliveries"].max(), each["plan"].max()) + 1.4
    for n, row in each.iterrows():
        foot = -BAND * int(str(n))
        axes.plot([left, right], [foot, foot], color=mode["line"], lw=THIN, clip_on=False)
        axes.text(left, foot + BAND - 1.0, row["quarter"], fontweight="bold", va="center")
        axes.text(right, foot + BAND - 1.0, f"{words.chance(row['kept'], row['runs'])} reach {row['plan']}",
                  ha="right", va="center")
        at = row["plan"] - 0.5
        axes.plot([at, at], [foot, foot + BAND - 1.7], color=mode["ink"], lw=1.6, clip_on=False)
        axes.text(at - 0.08, foot + BAND - 2.4, f"plan {row['plan']}", ha="right", va="center", color=mode["soft"])
        here = circles[circles["quarter"] == row["quarter"]]
        for keeps, fill in ((True, mode["accent"]), (False, mode["page"])):
            some = here[here["keeps"] == keeps]
            axes.plot(some["x"], foot + 0.55 + STEP * some["level"], "o", ms=DOT, mfc=fill, mec=mode["accent"], mew=1.2,
                      clip_on=False)
    axes.set(xlim=(left, right), ylim=(-BAND * (len(each) - 1) - 0.1, BAND), xlabel="Aircraft delivered in the quarter")
    axes.set_yticks([])
    axes.xaxis.set_major_locator(MaxNLocator(9, integer=True))
    axes.grid(False)
    return figure
