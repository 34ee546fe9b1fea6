"""Line of balance: aircraft past each control point against the number needed there."""

from __future__ import annotations

import pandas as pd
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from .. import words
from ..palette import Mode
from .settings import DOT, drawn, sheet_of

MOST_PANELS = 4


@drawn
def plate(mode: Mode, table: pd.DataFrame) -> Figure:
    """`table` of questions.figures.balance; one panel for each date, the last MOST_PANELS of them."""
    days = list(dict.fromkeys(table["on"]))[-MOST_PANELS:]
    points = list(dict.fromkeys(table["point"]))
    table = table[table["on"].isin(days)]
    low = min(-1, int((table["low"] - table["needed"]).min())) - 0.6
    high = max(1, int((table["high"] - table["needed"]).max())) + 0.6
    figure = sheet_of(0.25 * len(points) + 0.85)
    every = figure.subplots(1, len(days), sharey=True, squeeze=False)[0]
    for axes, day in zip(every, days, strict=True):
        here = table[table["on"] == day].reset_index(drop=True)
        axes.set_yticks(range(len(points)), points)
        axes.set(xlim=(low, high), ylim=(len(points) - 0.4, -0.6))
        axes.grid(False)
        axes.plot([0, 0], [-0.6, len(points) - 0.4], color=mode["ink"], lw=1.2, clip_on=False)
        for n, row in here.iterrows():
            y, needed = int(str(n)), row["needed"]
            axes.plot([low, high], [y, y], color=mode["line"], lw=0.6, clip_on=False, zorder=0)
            colour = mode["late"] if row["half"] < needed else mode["accent"]
            axes.plot([row["low"] - needed, row["high"] - needed], [y, y], color=colour, lw=2.2, clip_on=False)
            axes.plot(row["half"] - needed, y, "o", ms=DOT, color=colour, clip_on=False)
            axes.text(1.03, y, f"{row['half']} of {needed}", transform=axes.get_yaxis_transform(), va="center",
                      fontsize=8, color=mode["soft"])
        axes.set_title(str(day), fontsize=9, fontweight="bold", loc="left")
        axes.xaxis.set_major_locator(MaxNLocator(4, integer=True))
        axes.xaxis.set_major_formatter(lambda value, _: words.difference(value, 0))
    figure.supxlabel("Aircraft ahead (+) or behind (−)", fontsize=9, color=mode["soft"])
    return figure
