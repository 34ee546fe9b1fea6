"""Crews by month: days that 8 in 10 aircraft keep within, a number in each cell, the longer the deeper."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from ...questions.crew_words import days_words
from .. import words
from ..palette import MOST_INK, Mode
from .findings import Finding
from .settings import drawn, sheet_of


def finding(numbers: Mapping[str, Any]) -> Finding:
    """What the largest crew brings against the smallest, and in which months it is worst."""
    rows = numbers["crews"]
    first, last = rows[0], rows[-1]
    here = numbers["days from"]
    months = {month: cell["8 in 10"] for month, cell in first["days of 8 in 10 aircraft by month"].items()
              if cell["8 in 10"] is not None}
    worst = max(months, key=lambda month: _number(months[month])) if months else ""
    if len(rows) > 1 and _number(first["8 in 10"]) - _number(last["8 in 10"]) >= 0.5:
        title = (f"{last['crew']} instead of {first['crew']}: {days_words(last['8 in 10'])} work days instead of "
                 f"{days_words(first['8 in 10'])}")
    elif len(rows) > 1:
        title = "More people make next to no difference to the days"
    else:
        title = f"8 in 10 aircraft keep within {days_words(first['8 in 10'])} work days"
    title += f"; {worst} is the longest month" if worst else ""
    target = numbers["target"]
    kept = target and target["kind"] == "days" and any(
        isinstance(cell["8 in 10"], float) and cell["8 in 10"] <= target["value"]
        for row in rows for cell in row["days of 8 in 10 aircraft by month"].values())
    outlined = f" Outlined: within the {target['value']:g} asked for." if kept else ""
    return Finding(title, f"Work days from arrival at {words.named(here['place'], here['name'])} to delivery within "
                          f"which 8 in 10 aircraft keep, by the month of that arrival; all runs together.{outlined}")


@drawn
def plate(mode: Mode, numbers: Mapping[str, Any]) -> Figure:
    """`numbers` of the answer on crews."""
    rows = numbers["crews"]
    months = list(rows[0]["days of 8 in 10 aircraft by month"])
    target = numbers["target"]
    within = target["value"] if target and target["kind"] == "days" else None
    cells = {(n, m): row["days of 8 in 10 aircraft by month"][month]["8 in 10"] for n, row in enumerate(rows)
             for m, month in enumerate(months)}
    known = [value for value in cells.values() if isinstance(value, float)]
    low, high = (min(known), max(known)) if known else (0.0, 1.0)
    figure = sheet_of(0.27 * len(rows) + 0.7)
    axes = figure.add_subplot()
    axes.set(xlim=(0, len(months)), ylim=(len(rows), 0))
    axes.grid(False)
    axes.tick_params(length=0)
    axes.spines["bottom"].set_visible(False)
    for (n, m), value in cells.items():
        if value is None:
            continue
        depth = 1.0 if isinstance(value, str) else (value - low) / (high - low) if high > low else 0.3
        axes.add_patch(Rectangle((m, n), 1, 1, fc=mode["accent"], alpha=0.06 + (MOST_INK - 0.06) * depth, lw=0))
        axes.add_patch(Rectangle((m, n), 1, 1, fc="none", ec=mode["page"], lw=1.2))
        axes.text(m + 0.5, n + 0.5, ">end" if isinstance(value, str) else f"{value:.1f}", ha="center",
                  va="center_baseline", fontsize=8.5)
    for (n, m), value in cells.items():
        if within is not None and isinstance(value, float) and value <= within:
            axes.add_patch(Rectangle((m + 0.04, n + 0.06), 0.92, 0.88, fc="none", ec=mode["ink"], lw=1.1))
    axes.set_yticks([n + 0.5 for n in range(len(rows))], [row["crew"] for row in rows])
    year = [f"\n{month[:4]}" if n == 0 or month.endswith("-01") else "" for n, month in enumerate(months)]
    axes.set_xticks([n + 0.5 for n in range(len(months))], [
        month[5:] + below for month, below in zip(months, year, strict=True)])
    return figure


def _number(value: float | str | None) -> float:
    return float("inf") if isinstance(value, str) else value or 0.0
