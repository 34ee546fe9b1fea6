"""What changes buy: one row each, largest gain first, with its interval; below, what is added on top of the first."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from ...questions.buy_words import gained
from .. import words
from ..palette import Mode
from .findings import Finding
from .settings import DOT, THIN, drawn, rows_axis, sheet_of

HIGH = 0.46  # inches a row
WIDE = 34    # letters of a change in a line
AXIS = {"deliveries": "Aircraft in the window, with the change less without it",
        "days": "Calendar days of flow, with the change less without it",
        "money": "Money left in the window, with the change less without it"}


def finding(numbers: Mapping[str, Any]) -> Finding:
    """Which change buys most, that it is tied, or that none shows a gain."""
    step = numbers["first"]
    first = step["run again"][0]
    others = sum(row["may be the largest"] for row in step["run again"][1:])
    others += len(step["not told from the first, not run again"])
    name = first["change"][:1].upper() + first["change"][1:]
    if not gained(numbers, first):
        title = f"None of {len(step['tried'])} changes shows a gain in {words.runs(numbers['runs'])}"
    elif others:
        title = f"{name} comes first, tied with {others} other{'s' if others > 1 else ''}"
    else:
        title = f"{name} buys most"
    added = " Below: what is added on top of the first, from where that ends." if numbers["second"] else ""
    return Finding(title, f"Dot: mean of {words.runs(numbers['runs'])} on fresh luck. Line: 95 % interval, all of a "
                          f"step together. Open dot: no difference seen. Right: runs that gain.{added}")


@drawn
def plate(mode: Mode, numbers: Mapping[str, Any]) -> Figure:
    """`numbers` of the answer on what buys most."""
    by = numbers["by"]
    first, second = ([row for row in step["run again"] if row[by] is not None] if step else []
                     for step in (numbers["first"], numbers["second"]))
    rows, cut = first + second, len(first)
    figure = sheet_of(1.0 + HIGH * max(len(rows), 2))
    axes = figure.add_subplot()
    ends = first[0][by]["mean"] if second else 0.0
    for n, row in enumerate(rows):
        _row(axes, mode, n, row[by], by, ends if n >= cut else 0.0)
    rows_axis(axes, ["\n".join(textwrap.wrap(f"{'+ ' if n >= cut else ''}{row['change']}", WIDE))
                     for n, row in enumerate(rows)])
    axes.plot([0, 0], [-0.6, cut - 0.5], color=mode["ink"], lw=1.0, zorder=1)
    if second:
        axes.plot([ends, ends], [cut - 0.5, len(rows) - 0.4], color=mode["ink"], lw=1.0, zorder=1)
        axes.axhline(cut - 0.5, color=mode["rule"], lw=THIN)
    _beside(axes, [row[by] for row in rows])
    axes.set_xlabel(AXIS[by])
    if by == "money":
        axes.xaxis.set_major_formatter(lambda at, _: words.difference(at / 1000, 0) + (" k" if at else ""))
    else:
        axes.xaxis.set_major_formatter(lambda at, _: words.difference(at, 0 if float(at).is_integer() else 1))
    return figure


def _row(axes: Axes, mode: Mode, n: int, found: Mapping[str, Any], by: str, begins: float) -> None:
    """One change, drawn from where the one before it ends."""
    good = (found["mean"] > 0) == (by != "days")
    colour = mode["soft"] if not found["seen"] else mode["accent"] if good else mode["late"]
    if "low" in found:
        axes.plot([begins + found["low"], begins + found["high"]], [n, n], color=colour)
    filled = colour if found["seen"] else mode["page"]
    axes.plot([begins + found["mean"]], [n], "o", ms=DOT, mfc=filled, mec=colour, zorder=3)


def _beside(axes: Axes, found: Sequence[Mapping[str, Any]]) -> None:
    """In how many runs each gains, in a column at the right."""
    for n, one in enumerate(found):
        said = f"in {one['gains in']} of {one['of']}" if one["seen"] else "no difference seen"
        axes.annotate(said, (1.0, n), (6, 0), xycoords=("axes fraction", "data"), textcoords="offset points",
                      va="center", annotation_clip=False)
