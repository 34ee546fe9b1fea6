"""Planned against achieved on the screen: one mark for each rate tried, the dashed diagonal of a plan that is kept."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import altair as alt
import pandas as pd

from ... import words
from ...charts.rate import LEAST_LOST, LONG, name_of, range_of
from ...charts.settings import altair_config
from ...palette import Mode

HEIGHT = 340
WIDE, LINE = 9, 15  # pixels: a bar, a line of text
NARROW = 520  # pixels: under it long names stand each under the one before
LEAST_BESIDE = 0.2  # aircraft a month: drawn beside the slowest and the fastest rate


def chart(mode: Mode, numbers: Mapping[str, Any]) -> Any:
    """`numbers` of the answer on rates."""
    frame = _frame(numbers)
    low, high = frame[["plan", "low"]].to_numpy().min(), frame[["plan", "high"]].to_numpy().max()
    room = max(0.18 * (high - low), 0.25)
    ends = [low - room, high + room]
    beside = max(0.25 * (frame["plan"].max() - frame["plan"].min()), LEAST_BESIDE)
    across = [frame["plan"].min() - beside, frame["plan"].max() + beside]
    scale = alt.Scale(domain=across, nice=False, zero=False)
    below = LINE if (frame["name"].str.len() > LONG).any() else 0  # long names stand under one another
    foot = low - room - below * (len(frame) - 1) * (high - low + 2 * room) / HEIGHT
    up = alt.Scale(domain=[foot, ends[1]], nice=False, zero=False)
    x = alt.X("plan:Q", title="Planned launches, aircraft a month", scale=scale, axis=alt.Axis(tickCount=6, grid=False))
    y_axis = alt.Axis(tickCount=6, titleAngle=0, titleAlign="left", titleAnchor="start", titleX=-28, titleY=-12)

    def y(field: str) -> alt.Y:
        return alt.Y(f"{field}:Q", title="Delivered, aircraft a month", scale=up, axis=y_axis)

    drawn = [max(across[0], foot), min(across[1], ends[1])]
    diagonal = alt.Chart(pd.DataFrame({"plan": drawn, "half": drawn})).mark_line(
        strokeDash=[5, 4], color=mode["ink"], strokeWidth=1.3).encode(x=x, y=y("half"))
    planned = alt.Chart(pd.DataFrame({"plan": drawn[1:], "half": drawn[1:], "text": ["as planned"]})).mark_text(
        align="right", dx=-16, dy=-8, color=mode["ink"]).encode(x=x, y=y("half"), text="text")
    base = alt.Chart(frame).encode(x=x)
    lost = base.transform_filter(f"datum.lost >= {LEAST_LOST}")
    gaps = lost.mark_rule(color=mode["late"], strokeWidth=1.2, strokeDash=[1, 3]).encode(y=y("high"), y2="plan:Q")
    gap_words = lost.mark_text(align="left", dx=7, color=mode["late"]).encode(y=y("between"), text="lost_said")
    bars = base.mark_bar(size=WIDE, fill=mode["pale"], stroke=mode["accent"], strokeWidth=1.2).encode(
        y=y("low"), y2="high:Q", tooltip=alt.Tooltip("said", title=" "))
    line = base.mark_line(color=mode["accent"], strokeWidth=2).encode(y=y("half"))
    dots = base.mark_point(filled=True, size=90, color=mode["accent"], opacity=1).encode(
        y=y("half"), tooltip=alt.Tooltip("said", title=" "))
    names = [alt.Chart(frame.iloc[n:n + 1]).mark_text(
        dy=alt.ExprRef(f"containerSize()[0] < {NARROW} ? {14 + below * n} : {14 + below * (n % 2)}"),
        fontWeight="bold", color=mode["ink"]).encode(x=x, y=y("low"), text="name") for n in range(len(frame))]
    layers = alt.layer(diagonal, planned, gaps, line, bars, dots, *names, gap_words)
    return layers.properties(width="container", height=HEIGHT).configure(**altair_config(mode))


def said(numbers: Mapping[str, Any]) -> str:
    """The chart in words."""
    return " ".join(_frame(numbers)["said"])


def _frame(numbers: Mapping[str, Any]) -> pd.DataFrame:
    rows = []
    for row in sorted(numbers["plans"], key=lambda row: row["planned a month"]):
        low, half, high = range_of(row["achieved a month"])
        plan = row["planned a month"]
        span = f", 8 in 10 runs {words.tenths(low)} to {words.tenths(high)}" if "to" in row["achieved a month"] else ""
        rows.append({"name": name_of(row), "plan": plan, "low": low, "half": half, "high": high, "lost": plan - half,
                     "between": (plan + high) / 2, "lost_said": f"{words.tenths(plan - half)} lost",
                     "said": f"{words.sentence(row['words']).rstrip('.')}: {words.tenths(half)} a month{span}, planned "
                             f"{words.tenths(plan)}."})
    return pd.DataFrame(rows)
