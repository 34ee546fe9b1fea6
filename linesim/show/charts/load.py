"""Load of the trades by month: a number in each cell, the fuller the deeper."""

from __future__ import annotations

import pandas as pd
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from .. import words
from ..palette import MOST_INK, Mode
from .settings import drawn, sheet_of


@drawn
def plate(mode: Mode, table: pd.DataFrame) -> Figure:
    """`table` of questions.figures.load."""
    months = sorted(set(table["month"]))
    trades = list(dict.fromkeys(table["trade"]))
    names = table.drop_duplicates("trade").set_index("trade")["name"]
    figure = sheet_of(0.24 * len(trades) + 0.6)
    axes = figure.add_subplot()
    axes.set(xlim=(0, len(months)), ylim=(len(trades), 0))
    axes.grid(False)
    axes.tick_params(length=0)
    axes.spines["bottom"].set_visible(False)
    for _, row in table.iterrows():
        x, y = months.index(row["month"]), trades.index(row["trade"])
        strength = MOST_INK * min(1.0, max(0.0, row["load"]))
        axes.add_patch(Rectangle((x, y), 1, 1, fc=mode["accent"], alpha=strength, lw=0, clip_on=False))
        axes.add_patch(Rectangle((x, y), 1, 1, fc="none", ec=mode["page"], lw=1.2, clip_on=False))
        axes.text(x + 0.5, y + 0.5, f"{100 * row['load']:.0f}", ha="center", va="center_baseline", fontsize=8.5)
    axes.set_yticks([n + 0.5 for n in range(len(trades))], [words.named(trade, names[trade]) for trade in trades])
    year = [f"\n{month[:4]}" if n == 0 or month.endswith("-01") else "" for n, month in enumerate(months)]
    axes.set_xticks([n + 0.5 for n in range(len(months))], [
        month[5:] + below for month, below in zip(months, year, strict=True)])
    return figure
