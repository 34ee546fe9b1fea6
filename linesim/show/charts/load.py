"""Load of the trades: by month a number in each cell, the fuller the deeper; by week a strip for each trade."""

from __future__ import annotations

import matplotlib.dates as mdates
import pandas as pd
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from .. import words
from ..palette import MOST_INK, Mode
from .settings import THIN, drawn, rows_axis, sheet_of

FULL = 0.78  # of a row: 100 %


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


@drawn
def weeks(mode: Mode, table: pd.DataFrame) -> Figure:
    """`table` of questions.figures.load_by_week: one strip a trade, as high as its load."""
    trades = list(dict.fromkeys(table["trade"]))
    names = table.drop_duplicates("trade").set_index("trade")["name"]
    figure = sheet_of(0.42 * len(trades) + 0.5)
    axes = figure.add_subplot()
    for n, trade in enumerate(trades):
        of = table[table["trade"] == trade]
        at, load = mdates.date2num(pd.to_datetime(of["week"])), of["load"].to_numpy()
        foot = n + 0.42
        axes.axhline(foot - FULL, color=mode["line"], lw=THIN)
        axes.axhline(foot, color=mode["rule"], lw=THIN)
        axes.bar(at, -FULL * load, width=6.0, bottom=foot, align="edge", color=mode["accent"], alpha=MOST_INK)
        top = of.iloc[int(load.argmax())]
        axes.annotate(f"{100 * top['load']:.0f} % {top['week']}", (1.0, foot - FULL / 2), (4, 0),
                      xycoords=("axes fraction", "data"), textcoords="offset points", va="center", fontsize=8.5,
                      annotation_clip=False)
    rows_axis(axes, [words.named(trade, names[trade]) for trade in trades], room=0.5)
    axes.grid(False)
    dates = mdates.AutoDateLocator(minticks=4, maxticks=9)
    axes.xaxis.set_major_locator(dates)
    axes.xaxis.set_major_formatter(mdates.DateFormatter("%Y-%m"))
    return figure
