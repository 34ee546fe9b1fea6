"""Planned against achieved: one mark for each rate tried, on equal units, with the diagonal of a plan that is kept."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from matplotlib.figure import Figure

from .. import words
from ..palette import Mode
from .findings import Finding
from .settings import DASH, DOT, THIN, drawn, sheet_of

BESIDE = 0.04  # half the width of a bar, as a share of the span of the rates
LONG = 6            # letters of a name that may stand beside the next one
LEAST_LOST = 0.05  # aircraft a month: less is not labelled


def finding(numbers: Mapping[str, Any], *, equal_units: bool = True) -> Finding:
    """How much the fastest rate tried loses, or that nothing is lost; `equal_units`: drawn with both axes alike."""
    rows = sorted(numbers["plans"], key=lambda row: row["planned a month"])
    last, first = rows[-1], rows[0]
    lost = last["planned a month"] - last["achieved a month"]["mean"]
    gained = last["achieved a month"]["mean"] - first["achieved a month"]["mean"]
    asked = last["planned a month"] - first["planned a month"]
    if lost < LEAST_LOST:
        title = "Every rate tried comes out as planned"
    elif len(rows) > 1 and asked > 0 and gained < 0.5 * asked:
        brings = f"{words.tenths(gained)} more" if gained >= LEAST_LOST else "no more"
        title = f"Planning {words.tenths(asked)} more a month brings {brings}"
    else:
        title = f"At the fastest rate tried {words.tenths(lost)} aircraft a month are lost"
    bars = "Bar: 8 in 10 runs (10th to 90th). Dot: half the runs." if "to" in last["achieved a month"] else \
        "Dot: mean of the runs."
    return Finding(title, f"Aircraft a month in the window, planned launches across and deliveries up"
                          f"{', in equal units' * equal_units}. {bars} Dashed: as planned.")


@drawn
def plate(mode: Mode, numbers: Mapping[str, Any]) -> Figure:
    """`numbers` of the answer on rates."""
    rows = sorted(numbers["plans"], key=lambda row: row["planned a month"])
    planned = [row["planned a month"] for row in rows]
    made = [range_of(row["achieved a month"]) for row in rows]
    low, high = min(*planned, *(one[0] for one in made)), max(*planned, *(one[2] for one in made))
    room = max(0.18 * (high - low), 0.25)
    figure = sheet_of(4.4)
    axes = figure.add_subplot()
    ends = (low - room, high + room)
    axes.plot(ends, ends, color=mode["ink"], lw=1.0, dashes=DASH)
    axes.annotate("as planned", (ends[1], ends[1]), (-8, -2), textcoords="offset points", ha="right", va="top",
                  color=mode["soft"])
    axes.plot(planned, [one[1] for one in made], color=mode["accent"])
    half = BESIDE * (high - low + 2 * room) / 2
    below = 12 if any(len(name_of(row)) > LONG for row in rows) else 0  # points: long names stand under one another
    for n, (row, x, (least, middle, most)) in enumerate(zip(rows, planned, made, strict=True)):
        if most > least:
            axes.bar(x, most - least, 2 * half, bottom=least, color=mode["pale"], edgecolor=mode["accent"], lw=1.0,
                     zorder=2)
        axes.plot([x], [middle], "o", ms=DOT, color=mode["accent"], zorder=3)
        if x - middle >= LEAST_LOST:
            axes.plot([x, x], [max(most, middle), x], color=mode["late"], lw=THIN * 1.5, ls=":")
            axes.annotate(f"{words.tenths(x - middle)} lost", (x, x), (4, -3), textcoords="offset points", va="top",
                          bbox={"fc": mode["page"], "ec": "none", "pad": 0.5})
        axes.annotate(name_of(row), (x, min(least, middle)), (0, -6 - below * n), textcoords="offset points",
                      ha="center", va="top", fontweight="bold")
    axes.set(ylim=(ends[0] - 0.4 * room, ends[1]), xlabel="Planned launches, aircraft a month", aspect="equal",
             adjustable="datalim")
    axes.xaxis.set_major_formatter(lambda at, _: f"{at:g}" if at >= 0 else "")
    axes.set_title("Delivered, aircraft a month", loc="left", fontsize=9, color=mode["soft"])
    return figure


def range_of(found: Mapping[str, Any]) -> tuple[float, float, float]:
    """Least, middle and most of a range; the mean for all three where the runs are too few for one."""
    if "to" in found:
        return found["8 in 10 runs from"], found["half the runs"], found["to"]
    return found["mean"], found["mean"], found["mean"]


def name_of(row: Mapping[str, Any]) -> str:
    """The name of a rate under its mark."""
    takt = row["takt, work days"]
    return f"{takt:g} d" if takt is not None and row["plan"] == f"{takt:g}" else str(row["plan"])
