"""Scenarios beside the ground: a panel for each measure, in its unit; a dot and its interval for each scenario."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from .. import words
from ..palette import Mode
from .findings import Finding
from .settings import DOT, drawn, rows_axis, sheet_of

HIGH = 0.4     # inches a row
LETTERS = 26   # of a name in a line
MOST = 4       # panels
GAIN = {"deliveries in the window": 1, "delivered by the promised date": 1, "work days between deliveries": -1,
        "flow time": -1, "aircraft in process": -1, "travelled hours": -1, "line stops": -1}


def shown(numbers: Mapping[str, Any]) -> list[str]:
    """The measures that differ anywhere, the first of them."""
    others = [row["measures"] for row in numbers["scenarios"][1:]]
    return [name for name in numbers["measures"]
            if any(of[name]["difference"] and of[name]["difference"]["mean"] for of in others)][:MOST]


def finding(numbers: Mapping[str, Any]) -> Finding:
    """Which scenario delivers most more, or that none is seen to differ."""
    name = next(iter(numbers["measures"]))
    rows = [(row["name"], row["measures"][name]["difference"]) for row in numbers["scenarios"][1:]]
    known = [(name, found) for name, found in rows if found and "low" in found and found["low"] > 0]
    reading = (f"Difference from {numbers['ground']} on the same luck. Dot: mean of {words.runs(numbers['runs'])}. "
               "Line: paired 95 % interval. Open dot: no difference seen.")
    if not known:
        return Finding(f"No scenario is seen to deliver more than {numbers['ground']}", reading)
    best, found = max(known, key=lambda one: float(one[1]["mean"]))
    return Finding(f"{best}: {words.difference(found['mean'])} deliveries in the window, more in {found['more in']} of "
                   f"{words.runs(found['of'])}", reading)


@drawn
def plate(mode: Mode, numbers: Mapping[str, Any]) -> Figure:
    """`numbers` of the answer of a comparison."""
    rows, measures = numbers["scenarios"][1:], shown(numbers)
    names = ["\n".join(textwrap.wrap(row["name"], LETTERS)) for row in rows]
    figure = sheet_of(1.0 + sum(max(HIGH, 0.16 * (1 + name.count("\n"))) for name in names))
    for n, measure in enumerate(measures or list(numbers["measures"])[:1]):
        axes = figure.add_subplot(1, max(len(measures), 1), n + 1)
        for row, of in enumerate(rows):
            _row(axes, mode, row, of["measures"][measure]["difference"], GAIN.get(measure, 1))
        rows_axis(axes, names if n == 0 else [""] * len(names))
        axes.axvline(0.0, color=mode["ink"], lw=1.0, zorder=1)
        title = f"{measure}, {numbers['measures'][measure]}"
        axes.set_title("\n".join(textwrap.wrap(title, 22)), fontsize=8.5, loc="left")
        axes.xaxis.set_major_locator(_few())
        axes.xaxis.set_major_formatter(lambda at, _: words.difference(at, 0 if float(at).is_integer() else 1))
    return figure


def _few() -> Any:
    from matplotlib.ticker import MaxNLocator

    return MaxNLocator(3)


def _row(axes: Axes, mode: Mode, n: int, found: Mapping[str, Any] | None, gain: int) -> None:
    if found is None:
        return
    seen = "low" in found and not found["low"] <= 0 <= found["high"]
    colour = mode["soft"] if not seen else mode["accent"] if found["mean"] * gain > 0 else mode["late"]
    if "low" in found:
        axes.plot([found["low"], found["high"]], [n, n], color=colour)
    axes.plot([found["mean"]], [n], "o", ms=DOT, mfc=colour if seen else mode["page"], mec=colour, zorder=3)
