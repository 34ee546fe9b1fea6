"""Cash and value in the plant by month: what comes in and goes out, what is left since the window began, and what
stands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from ...measures.cash import BOUGHT_OUT, CONCEDED, FIXED, IN, MATERIAL, WAGES
from ...questions.quarter_words import amount
from .. import words
from ..palette import Mode
from .findings import Finding
from .settings import DOT, THIN, drawn, sheet_of

OUT = (MATERIAL, BOUGHT_OUT, WAGES, FIXED, CONCEDED)
FILLS = {MATERIAL: "area6", BOUGHT_OUT: "area5", WAGES: "area4", FIXED: "area3", CONCEDED: "late"}


def finding(numbers: Mapping[str, Any]) -> Finding:
    """Where cash is lowest; of the answer to `linesim quarters`."""
    money = numbers["money"]
    standing = f"aircraft in the plant at cost at the end of each month, {_spread_words(numbers)}"
    if not money["cash"]:
        value = money["value in the plant"]["mean of the window"]["mean"]
        return Finding(f"The aircraft in the plant are worth {amount(value, money['currency'])} at cost",
                       f"Line: {standing}.")
    left = {month: _middle(row["since the window began"]) for month, row in money["cash"]["by month"].items()}
    month, least = min(left.items(), key=lambda row: row[1])
    last = list(left.values())[-1]
    if least < 0:
        title = f"Half the runs are {amount(least, money['currency'], sign=True)} or lower by the end of {month}"
    else:
        title = f"Cash grows by {amount(last, money['currency'])} in the window and is never below its beginning"
    return Finding(title, f"Top: money in (up) and out (down) by month, mean of {words.runs(numbers['runs'])}. Middle: "
                          f"in less out since the window began, {_spread_words(numbers)}. Foot: {standing}.")


def _spread_words(numbers: Mapping[str, Any]) -> str:
    few = "note" in numbers["deliveries in the window"]
    return "mean of the runs" if few else "half the runs; dotted: 8 in 10 runs"


def _middle(row: Mapping[str, Any]) -> float:
    return float(row["mean"] if "note" in row else row["half the runs"])


@drawn
def plate(mode: Mode, numbers: Mapping[str, Any]) -> Figure:
    """The money of the answer to `linesim quarters`, in millions."""
    money, cash = numbers["money"], numbers["money"]["cash"]
    value = money["value in the plant"]["at the end of"]
    parts = [("In the plant at cost", list(value), lambda axes: _line(axes, mode["accent"], list(value.values())))]
    if cash:
        rows = cash["by month"]
        left = [row["since the window began"] for row in rows.values()]
        parts = [("Cash by month, in and out", list(rows), lambda axes: _flows(axes, mode, rows)),
                 ("Cash since the window began", list(rows), lambda axes: _line(axes, mode["ink"], left)), *parts]
    figure = sheet_of(0.3 + 2.15 * len(parts))
    for n, (name, months, draw) in enumerate(parts, 1):
        axes = figure.add_subplot(len(parts), 1, n)
        draw(axes)
        axes.axhline(0, color=mode["rule"], lw=THIN)
        axes.set_title(f"{name}, {money['currency']} million", fontsize=9, color=mode["soft"], loc="left")
        _months_axis(axes, months)
    return figure


def _flows(axes: Axes, mode: Mode, by_month: Mapping[str, Mapping[str, Any]]) -> None:
    """Bars from zero, in above and out below."""
    rows, x = list(by_month.values()), np.arange(len(by_month))
    axes.bar(x, [row[IN] / 1e6 for row in rows], 0.62, color=mode["pale"], ec=mode["accent"], lw=1.0)
    foot = np.zeros(len(rows))
    for kind in OUT:
        height = np.array([row[kind] / 1e6 for row in rows])
        axes.bar(x, height, 0.62, bottom=foot, color=mode[FILLS[kind]], ec=mode["rule"], lw=0.5)
        foot += height
    _name_parts(axes, mode, rows[-1], len(rows) - 0.58)


def _name_parts(axes: Axes, mode: Mode, row: Mapping[str, Any], x: float) -> None:
    """The parts named beside the last bars, in their order, a line apart."""
    low, high = axes.get_ylim()
    low -= 0.28 * (high - low)  # room for the names below the bars
    axes.set_ylim(low, high)
    step = (high - low) * 0.105
    axes.text(x, row[IN] / 2e6, "balances", va="center", color=mode["ink"])
    at, foot = [], 0.0
    for kind in OUT:
        at.append(foot + row[kind] / 2e6)
        foot += row[kind] / 1e6
    placed = at[0]
    for kind, wanted in zip(OUT, at, strict=True):
        placed = min(wanted, placed - step) if kind != OUT[0] else min(wanted, -step / 2)
        axes.text(x, placed, kind, va="center", color=mode["late"] if kind == CONCEDED else mode["ink"])


def _line(axes: Axes, colour: str, rows: Sequence[Mapping[str, Any]]) -> None:
    """Half the runs with the range of 8 in 10 dotted; of few runs the mean alone."""
    x = np.arange(len(rows))
    axes.plot(x, [_middle(row) / 1e6 for row in rows], "o-", color=colour, ms=DOT - 2, lw=1.4)
    if "note" not in rows[0]:
        for end in ("8 in 10 runs from", "to"):
            axes.plot(x, [row[end] / 1e6 for row in rows], color=colour, lw=1.1, ls=(0, (1, 1.6)))


def _months_axis(axes: Axes, months: list[str]) -> None:
    axes.set_xlim(-0.6, len(months) - 0.4 + 0.16 * len(months))
    year = [f"\n{month[:4]}" if n == 0 or month.endswith("-01") else "" for n, month in enumerate(months)]
    step = max(1, -(-len(months) // 12))
    axes.set_xticks(range(0, len(months), step), [month[5:] + below for month, below in zip(
        months, year, strict=True)][::step])
