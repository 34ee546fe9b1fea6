"""Quarters on the screen: the count as it grows against the plan, and the chance of at least so many deliveries (rows
are counts, columns are quarters, the number is how many runs)."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import altair as alt
import pandas as pd

from ... import words
from ...charts.findings import Finding
from ...charts.settings import altair_config
from ...palette import MOST_INK, Mode
from ...quartering_section import SO_FAR, that_say_something

ROW = 24  # pixels
GROWING = 260  # pixels
NEAR = 0.08  # share of the height: labels so near are moved apart
NARROW = 620  # pixels: under it a cell has room for a few letters


def grid(mode: Mode, numbers: Mapping[str, Any]) -> Any:
    """`numbers` of the answer on quarters; the rows that say something."""
    frame = _frame(numbers)
    base = alt.Chart(frame).encode(
        x=alt.X("quarter:N", sort=None, title=None, axis=alt.Axis(orient="top", labelAngle=0, domain=False,
                                                                  ticks=False, labelColor=mode["ink"])),
        y=alt.Y("least:O", sort="ascending", title="At least",
                axis=alt.Axis(labelColor=mode["ink"], titleAngle=0, titleAlign="left", titleX=-40, titleY=-12)),
        tooltip=alt.Tooltip("said", title=" "))
    cells = base.mark_rect(color=mode["accent"], stroke=mode["page"]).encode(
        fillOpacity=alt.FillOpacity("strength:Q", scale=alt.Scale(domain=[0, 1], range=[0, 1])))
    said = base.mark_text(color=mode["ink"], text=alt.ExprRef(
        f"containerSize()[0] < {NARROW} ? datum.short : datum.chance"))
    return (cells + said).properties(width="container", height=ROW * frame["least"].nunique()).configure(
        **altair_config(mode))


def growing(mode: Mode, numbers: Mapping[str, Any]) -> Any:
    """Aircraft delivered since the window began: a band of 8 in 10 runs, a line of half the runs (of few runs their
    mean), dashed steps of those promised; the ends are labelled."""
    frame = _growing(numbers)
    last = frame.iloc[-1:]
    x = alt.X("on:T", title=None, axis=alt.Axis(format="%Y-%m", tickCount={"interval": "month", "step": 3}, grid=False))

    def y(field: str) -> alt.Y:
        return alt.Y(f"{field}:Q", title="Aircraft since the window began", axis=alt.Axis(
            tickMinStep=1, titleAngle=0, titleAlign="left", titleAnchor="start", titleX=-28, titleY=-12))

    base = alt.Chart(frame).encode(x=x)
    band = [base.mark_area(color=mode["pale"]).encode(y=y("low"), y2="high:Q"), *(
        base.mark_line(color=mode["accent"], strokeWidth=1).encode(y=y(end)) for end in ("low", "high"))] \
        if frame["high"].gt(frame["low"]).any() else []
    planned = base.mark_line(color=mode["ink"], strokeWidth=1.3, strokeDash=[5, 4], interpolate="step").encode(
        y=y("promised"))
    half = base.mark_line(color=mode["accent"], strokeWidth=2).encode(y=y("half"))
    dots = base.mark_point(size=60, filled=True, color=mode["accent"], opacity=0.01).encode(
        y=y("half"), tooltip=alt.Tooltip("said", title=" "))
    apart = abs(last["promised"].iloc[0] - last["half"].iloc[0]) < NEAR * max(last["high"].iloc[0], 1)
    higher = last["promised"].iloc[0] >= last["half"].iloc[0]
    ends = [alt.Chart(last.assign(text=text)).mark_text(
        align="left", dx=6, dy=(-7 if up else 7) if apart else 0, color=mode[role]).encode(
        x=x, y=y(field), text="text") for field, text, role, up in (
        ("promised", f"{words.count(last['promised'].iloc[0])} promised", "ink", higher),
        ("half", f"{words.count(last['half'].iloc[0])} {_middle(numbers)}", "accent", not higher))]
    return alt.layer(*band, planned, half, dots, *ends).properties(
        width="container", height=GROWING).configure(**altair_config(mode))


def growing_said(numbers: Mapping[str, Any]) -> str:
    """The growing count in words."""
    return " ".join(_growing(numbers)["said"])


def growing_finding(numbers: Mapping[str, Any]) -> Finding:
    """Where the gap opens, or that there is none."""
    rows, opens = numbers["kept up with"]["by the end of"], numbers["kept up with"]["gap opens"]
    title = "Aircraft delivered since the window began"
    if opens is not None:
        title = f"The gap opens in {opens}" + ("" if opens == list(rows)[-1] else " and does not close")
    elif rows and any(row["promised"] for row in rows.values()):
        title = "No gap is left at the end"
    band = "Band: 8 in 10 runs. Line: half the runs." if "note" not in numbers["deliveries in the window"] else \
        "Line: mean of the runs."
    return Finding(title, f"Aircraft delivered since {numbers['window'][0]}, month by month. {band} Dashed: promised.")


def _middle(numbers: Mapping[str, Any]) -> str:
    return "mean" if "note" in numbers["deliveries in the window"] else "half the runs"


def _growing(numbers: Mapping[str, Any]) -> pd.DataFrame:
    first = pd.Timestamp(numbers["window"][0])
    rows: list[dict[str, Any]] = [{"on": first, "promised": 0, "low": 0.0, "half": 0.0, "high": 0.0,
                                   "said": f"{numbers['window'][0]}: the window begins."}]
    for month, row in numbers["delivered by the end of the month"].items():
        low, half, high = (row.get(name, row["mean"]) for name in SO_FAR)
        span = f", 8 in 10 runs {words.count(low)} to {words.count(high)}" if SO_FAR[0] in row else ""
        rows.append({"on": min(pd.Timestamp(month) + pd.offsets.MonthEnd(0), pd.Timestamp(numbers["window"][1])),
                     "promised": row["promised"], "low": low, "half": half, "high": high,
                     "said": f"End of {month}: {words.count(half)} delivered in {_middle(numbers)}{span}; "
                             f"{row['promised']} promised."})
    return pd.DataFrame(rows)


def _short(kept: int, of: int) -> str:
    """The same for a narrow cell: "all", "8 in 10", "none"; never rounded to one of the ends."""
    if kept in (0, of):
        return "all" if kept else "none"
    if 20 * kept > 19 * of:
        return "nearly all"
    return "hardly any" if 20 * kept < of else words.chance(kept, of).removesuffix(" runs")


def said(numbers: Mapping[str, Any]) -> str:
    """The grid in words."""
    return " ".join(_frame(numbers)["said"])


def _frame(numbers: Mapping[str, Any]) -> pd.DataFrame:
    of = numbers["runs"]
    return pd.DataFrame([
        {"least": int(count), "quarter": quarter, "chance": words.chance(kept, of), "short": _short(kept, of),
         "strength": MOST_INK * kept / of,
         "said": f"{quarter}: {words.share_of_runs(kept, of)} deliver{'s' * (of == 1)} at least {count}."}
        for count, row in that_say_something(numbers) for quarter, kept in row.items()])
