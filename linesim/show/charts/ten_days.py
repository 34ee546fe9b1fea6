"""The next work days as a strip: moves, flights and deliveries by day above, trades below with those short and free."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from .. import words
from ..palette import MOST_INK, Mode
from .findings import Finding
from .settings import drawn, sheet_of

EVENTS = ("moves", "launches", "flights", "deliveries")
SHORT = 0.5  # share of the runs from which a trade is called short
FREE = 0.95  # people free: fewer are not written


def finding(numbers: Mapping[str, Any]) -> Finding:
    """Who is short in how many of the days, or that nobody is."""
    of = len(numbers["work days"])
    short: list[tuple[int, Mapping[str, Any]]] = [
        (sum(day["runs short"] >= SHORT * day["of"] for day in row["days"]), row) for row in numbers["people"]]
    most, row = max(short, key=lambda one: one[0], default=(0, {}))
    if not most:
        title = "On no day is a trade short in half the runs"
    else:
        named = f"{row['name']} ({row['trade']})" if row["name"] else row["trade"]
        title = f"Jobs wait for {named} on {most} of the {words.counted(of, 'day')}"
    return Finding(title, "Above: events of a day, mean of the runs. Below, by trade: jobs that wait for it over the "
                          "day (filled: the more wait, the deeper); +n: days of people free; outlined: half a job or "
                          "more waits in half the runs.")


@drawn
def plate(mode: Mode, numbers: Mapping[str, Any]) -> Figure:
    """`numbers` of the answer on the next work days."""
    days = list(numbers["work days"])
    trades = numbers["people"]
    figure = sheet_of(0.25 * (len(EVENTS) + len(trades)) + 0.9)
    axes = figure.add_subplot()
    labels = [*map(str.capitalize, EVENTS), *(row["trade"] for row in trades)]
    axes.set(xlim=(0, len(days)), ylim=(len(labels) + 0.3, 0))
    axes.grid(False)
    axes.tick_params(length=0)
    axes.spines["bottom"].set_visible(False)
    by_day = {row["day"]: row for row in numbers["by day"]}
    for n, name in enumerate(EVENTS):
        for m, day in enumerate(days):
            value = by_day[day][name]
            axes.text(m + 0.5, n + 0.5, words.tenths(value) if value >= 0.05 else "\N{MIDDLE DOT}", ha="center",
                      va="center_baseline", fontsize=8.5)
    axes.axhline(len(EVENTS) + 0.15, color=mode["rule"], lw=0.8)
    most = max([1.0, *(day["jobs waiting"] for row in trades for day in row["days"])])
    for n, row in enumerate(trades):
        for m, day in enumerate(row["days"]):
            _cell(axes, mode, m, len(EVENTS) + 0.3 + n, day, most)
    heights = [n + 0.5 + (0.3 if n >= len(EVENTS) else 0.0) for n in range(len(labels))]
    axes.set_yticks(heights, labels)
    step = max(1, len(days) // 12 + (len(days) > 12))
    axes.set_xticks([n + 0.5 for n in range(0, len(days), step)], [day[5:] for day in days[::step]])
    return figure


def _cell(axes: Axes, mode: Mode, x: float, y: float, day: Mapping[str, Any], most: float) -> None:
    waiting, free = day["jobs waiting"], day["people free"]
    if waiting >= 0.05:
        axes.add_patch(Rectangle((x, y), 1, 1, fc=mode["waiting"], lw=0,
                                 alpha=0.05 + (MOST_INK - 0.05) * min(1.0, waiting / most)))
    axes.add_patch(Rectangle((x, y), 1, 1, fc="none", ec=mode["page"], lw=1.2))
    if day["runs short"] >= SHORT * day["of"]:
        axes.add_patch(Rectangle((x + 0.04, y + 0.06), 0.92, 0.88, fc="none", ec=mode["ink"], lw=1.0))
    parts = [words.tenths(waiting)] if waiting >= 0.05 else []
    parts += [f"+{free:.0f}"] if free >= FREE else []
    axes.text(x + 0.5, y + 0.5, "  ".join(parts), ha="center", va="center_baseline", fontsize=8)
