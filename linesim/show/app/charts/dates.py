"""Delivery dates on the screen: each aircraft from early to late, against its promised date and with its state."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import altair as alt
import pandas as pd

from ....questions.date_words import where
from ....questions.figures import AT_RISK, LATE, ON_TIME
from ... import words
from ...charts.settings import altair_config
from ...palette import STATES, Mode

ROW, AXIS = 24, 26  # pixels
NARROW = 620  # pixels: under it only the word stands beside the mark, and the chance is in the table
SHAPES = {ON_TIME: "circle", AT_RISK: "M0,-1A1,1,0,0,0,0,1Z", LATE: "triangle-up"}
ROOM = 12  # pixels beside the first and the last date
FEW_MONTHS = pd.Timedelta(days=80)  # under it the axis names days
DAYS = ["promised", "early", "half", "eight", "nine"]


def chart(mode: Mode, table: pd.DataFrame, rows: Sequence[Mapping[str, Any]], start: date) -> Any:
    """`table` of questions.figures.dates, only what is drawn; `rows` of the answer, which may be more."""
    frame = _frame(table, rows, start)
    base = alt.Chart(frame).encode(
        y=alt.Y("serial:N", sort=None, title=None, axis=alt.Axis(labelColor=mode["ink"], domain=False, ticks=False)),
        tooltip=alt.Tooltip("said", title=" "))
    short = frame["end"].max() - frame[DAYS].min(axis=1).min() < FEW_MONTHS
    axis = alt.Axis(format="%Y-%m-%d" if short else "%Y-%m", tickCount=6 if short else "month", grid=True,
                    labelOverlap=True)
    thin = base.mark_rule(color=mode["accent"], strokeWidth=1.3).encode(
        x=alt.X("early:T", title=None, axis=axis, scale=alt.Scale(nice=False, padding=ROOM)), x2="nine:T")
    thick = base.mark_rule(color=mode["accent"], strokeWidth=5).encode(x="half:T", x2="eight:T")
    dot = base.mark_point(filled=True, size=60, color=mode["accent"], opacity=1).encode(x="half:T")
    tick = base.mark_tick(color=mode["ink"], thickness=2.4, height=15).encode(x="promised:T")
    colours = alt.Scale(domain=list(STATES), range=[mode[role] for role in STATES.values()])
    shapes = alt.Scale(domain=list(SHAPES), range=list(SHAPES.values()))
    mark = base.mark_point(filled=True, size=80, opacity=1).encode(
        x="end:T", shape=alt.Shape("state:N", scale=shapes), color=alt.Color("state:N", scale=colours))
    text = base.mark_text(align="left", dx=10, color=mode["ink"], text=alt.ExprRef(
        f"containerSize()[0] < {NARROW} ? datum.state : datum.words")).encode(x="end:T")
    layers = thin + thick + dot + tick + mark + text
    beyond = frame[frame["beyond"]]
    if len(beyond):
        layers += alt.Chart(beyond).mark_point(shape="triangle-right", filled=True, size=70, color=mode["accent"],
                                               opacity=1).encode(x="nine:T", y=alt.Y("serial:N", sort=None))
    return layers.properties(width="container", height=AXIS + ROW * len(frame)).configure(**altair_config(mode))


def said(table: pd.DataFrame, rows: Sequence[Mapping[str, Any]], start: date) -> str:
    """The chart in words."""
    return " ".join(_frame(table, rows, start)["said"])


def _frame(table: pd.DataFrame, rows: Sequence[Mapping[str, Any]], start: date) -> pd.DataFrame:
    by_serial = {row["serial"]: row for row in rows}
    days = table[DAYS].replace(float("inf"), float("nan"))
    last = int(days.max().max())
    span = max(last - int(days.min().min()), 30)
    ends = days.fillna(last + 0.02 * span)
    ends.loc[days["half"].isna(), "half"] = float("nan")  # no dot where half the runs do not deliver
    moments = {str(name): pd.Timestamp(start) + pd.to_timedelta(ends[name], unit="D") for name in ends}
    return table.assign(
        **moments, end=pd.Timestamp(start) + pd.Timedelta(days=last + 0.04 * span), beyond=days["nine"].isna(),
        words=[f"{state}, {words.chance(k, of)} keep it" for state, k, of in zip(
            table["state"], table["kept"], table["runs"], strict=True)],
        said=[_said(by_serial[serial]) for serial in table["serial"]])


def _said(row: Mapping[str, Any]) -> str:
    most = row["most days lost to"]
    lost = f" Most days: {where(most)}, {words.tenths(most['work days'])}." if most else ""
    return (f"{row['serial']}: half by {row['half by']}, 8 in 10 by {row['8 in 10 by']}, promised {row['promised']}: "
            f"{words.chance(row['runs that keep it'], row['of'])} keep it.{lost}")
