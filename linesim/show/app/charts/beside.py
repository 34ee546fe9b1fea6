"""Scenarios beside the ground on the screen: for each measure a panel with a dot and its interval for each scenario."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping
from typing import Any

import altair as alt
import pandas as pd

from ....questions.compare import MEASURES
from ... import words
from ...charts.beside import GAIN, shown
from ...charts.settings import altair_config
from ...palette import Mode

ROW = 44      # pixels
LETTERS = 26  # of a name in a line
LINES = 3
SIGNED = "datum.value == 0 ? '0' : format(datum.value, '+.2~f')"
DIGITS = {measure.name: measure.digits for measure in MEASURES}


def panels(mode: Mode, numbers: Mapping[str, Any]) -> list[tuple[str, Any, str]]:
    """`numbers` of the answer of a comparison: the title of each panel, its chart, the chart in words."""
    measures = shown(numbers) or list(numbers["measures"])[:1]
    return [(f"{measure.capitalize()}, {numbers['measures'][measure]}", _panel(mode, numbers, measure),
             " ".join(row["said"] for row in _rows(mode, numbers, measure))) for measure in measures]


def _panel(mode: Mode, numbers: Mapping[str, Any], measure: str) -> Any:
    rows = _rows(mode, numbers, measure)
    frame = pd.DataFrame(rows)
    ends = [min(0.0, *frame["low"]), max(0.0, *frame["high"])]
    room = 0.12 * (ends[1] - ends[0]) or 1.0
    x_axis = alt.Axis(tickCount=4, labelExpr=SIGNED, grid=False, title=None)
    scale = alt.Scale(domain=[ends[0] - room, ends[1] + room], nice=False)
    base = alt.Chart(frame).encode(
        y=alt.Y("name:N", sort=None, title=None, axis=alt.Axis(
            labelColor=mode["ink"], labelLimit=190, labelExpr="split(datum.value, '\\n')", labelBaseline="middle")),
        tooltip=alt.Tooltip("said", title=" "))
    zero = alt.Chart(pd.DataFrame({"at": [0.0]})).mark_rule(color=mode["ink"], strokeWidth=1).encode(
        x=alt.X("at:Q", scale=scale, axis=x_axis))
    colour = alt.Color("colour:N", scale=None)
    lines = base.mark_rule(strokeWidth=2).encode(x=alt.X("low:Q", scale=scale, axis=x_axis), x2="high:Q", color=colour)
    dots = base.mark_point(size=90, opacity=1, strokeWidth=2).encode(
        x=alt.X("mean:Q", scale=scale, axis=x_axis), stroke=colour, fill=alt.Fill("fill:N", scale=None))
    said = base.mark_text(dy=-13).encode(x=alt.X("mean:Q", scale=scale, axis=x_axis), text="short")
    return (zero + lines + dots + said).properties(width="container", height=ROW * len(rows)).configure(
        **altair_config(mode))


def _rows(mode: Mode, numbers: Mapping[str, Any], measure: str) -> list[dict[str, Any]]:
    """A row for each scenario that has the measure."""
    found = []
    for row in numbers["scenarios"][1:]:
        one = row["measures"][measure]["difference"]
        if one is None:
            continue
        seen = "low" in one and not one["low"] <= 0 <= one["high"]
        gains = one["mean"] * GAIN.get(measure, 1) > 0
        colour = mode["soft"] if not seen else mode["accent"] if gains else mode["late"]
        digits = DIGITS[measure]
        short = words.difference(one["mean"], digits)
        span = f", 95 % interval {words.difference(one['low'], digits)} to {words.difference(one['high'], digits)}" \
            if "low" in one else ""
        none = "" if seen else " No difference seen."
        found.append({
            "name": "\n".join(textwrap.wrap(row["name"], LETTERS, max_lines=LINES, placeholder=" …",
                                            break_on_hyphens=False)),
            "low": one.get("low", one["mean"]), "mean": one["mean"], "high": one.get("high", one["mean"]),
            "colour": colour, "fill": colour if seen else mode["page"], "short": short,
            "said": f"{row['name']}: {measure} {short} {numbers['measures'][measure]}{span}, more in {one['more in']} "
                    f"of {words.runs(one['of'])}.{none}"})
    return found
