"""Crews on the screen: the days that 8 in 10 aircraft keep within by month, and what was not flown for which reason."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import altair as alt
import pandas as pd

from ....measures.not_flown import FLOWN
from ... import words
from ...charts.findings import Finding
from ...charts.settings import altair_config
from ...palette import MOST_INK, Mode

ROW, MONTHS, AXIS = 28, 22, 46  # pixels: of a row, and of what stands above or below them
PALEST = 0.06
NARROW = 620  # pixels: under it months stand without their year, and numbers are small
BEYOND = "not by the end"
LITTLE = 0.5  # days


def grid(mode: Mode, numbers: Mapping[str, Any]) -> Any:
    """`numbers` of the answer on crews: rows are crews, columns months of arrival, the longer the deeper."""
    frame = _cells(numbers)
    small = alt.ExprRef(f"width < {NARROW} ? 9 : 12")
    months = alt.Axis(orient="top", labelAngle=0, domain=False, ticks=False, labelColor=mode["ink"],
                      labelExpr=f"width < {NARROW} ? slice(datum.label, 5) : datum.label", labelOverlap=False)
    base = alt.Chart(frame).encode(
        x=alt.X("month:O", sort=None, title=None, axis=months),
        y=alt.Y("crew:N", sort=None, title=None, axis=alt.Axis(labelColor=mode["ink"], labelLimit=240,
                                                              labelPadding=8)),
        tooltip=alt.Tooltip("said", title=" "))
    cells = base.mark_rect(color=mode["accent"], stroke=mode["page"]).encode(
        fillOpacity=alt.FillOpacity("strength:Q", scale=alt.Scale(domain=[0, 1], range=[0, 1])))
    outlined = base.transform_filter("datum.within").mark_rect(
        fillOpacity=0, stroke=mode["ink"], strokeWidth=1.6, tooltip=None)
    text = base.mark_text(color=mode["ink"], fontSize=small).encode(text="days")
    high = MONTHS + ROW * frame["crew"].nunique()
    return (cells + outlined + text).properties(width="container", height=high).configure(**altair_config(mode))


def said(numbers: Mapping[str, Any]) -> str:
    """The grid in words: each crew over the whole window."""
    return " ".join(f"{row['crew']}: 8 in 10 aircraft within {_days(row['8 in 10'])} work days, half within "
                    f"{_days(row['half'])}." for row in numbers["crews"])


def flying(mode: Mode, numbers: Mapping[str, Any]) -> Any:
    """Days not flown by reason: the first crew open, the last one filled, a line from one to the other."""
    frame = _reasons(numbers)
    y = alt.Y("reason:N", sort=None, title=None, axis=alt.Axis(
        labelColor=mode["ink"], labelPadding=10, domain=False, ticks=False))
    x = alt.X("first:Q", title="Days of the window, mean of the runs", scale=alt.Scale(zero=True),
              axis=alt.Axis(grid=True, tickCount=alt.ExprRef("width < 400 ? 4 : 8")))
    base = alt.Chart(frame).encode(y=y, x=x, tooltip=alt.Tooltip("said", title=" "))
    line = base.mark_rule(color=mode["accent"], strokeWidth=2).encode(x2="last:Q")
    opened = base.mark_point(size=90, color=mode["accent"], fill=mode["page"], strokeWidth=1.6, opacity=1)
    full = base.mark_point(size=90, color=mode["accent"], filled=True, opacity=1).encode(x="last:Q")
    text = base.mark_text(align="left", dx=11, color=mode["ink"]).encode(
        x="right:Q", text="short")
    return (line + opened + full + text).properties(
        width="container", height=AXIS + ROW * len(frame)).configure(**altair_config(mode))


def flying_finding(numbers: Mapping[str, Any]) -> Finding:
    """What more people change most in what is not flown."""
    frame, rows = _reasons(numbers), numbers["crews"]
    few, many = rows[0]["crew"], rows[-1]["crew"]
    reading = ("Days of the window with pilots on shift and no flight, by what took most of their hours; mean of the "
               "runs.")
    if len(rows) == 1:
        top = frame.iloc[int(frame["first"].to_numpy().argmax())]
        return Finding(f"Most days are not flown for this: {top['reason'].lower()}, {top['short']}", reading)
    change = (frame["last"] - frame["first"]).abs()
    most = frame.iloc[int(change.to_numpy().argmax())]
    title = "More people change next to nothing in what is not flown"
    if change.max() >= LITTLE:
        title = (f"{most['reason']}: {words.tenths(most['last'])} days with {many} instead of "
                 f"{words.tenths(most['first'])} with {few}")
    return Finding(title, f"{reading} Open: {few}. Filled: {many}.")


def flying_said(numbers: Mapping[str, Any]) -> str:
    """The days not flown in words."""
    return " ".join(_reasons(numbers)["said"])


def _cells(numbers: Mapping[str, Any]) -> pd.DataFrame:
    rows, target = numbers["crews"], numbers["target"]
    within = target["value"] if target and target["kind"] == "days" else None
    cells = [(row["crew"], month, cell["8 in 10"], cell["half"], cell["aircraft"]) for row in rows
             for month, cell in row["days of 8 in 10 aircraft by month"].items()]
    known = [eight for _, _, eight, _, _ in cells if isinstance(eight, float)]
    low, high = (min(known), max(known)) if known else (0.0, 1.0)
    return pd.DataFrame([
        {"crew": crew, "month": month, "days": "" if eight is None else _short(eight),
         "strength": 0.0 if eight is None else _strength(eight, low, high),
         "within": within is not None and isinstance(eight, float) and eight <= within,
         "said": f"{crew}, {month}: " + ("no aircraft arrives" if eight is None else
                 f"8 in 10 aircraft within {_days(eight)} work days, half within {_days(half)} (aircraft of all runs: "
                 f"{words.count(aircraft)})")}
        for crew, month, eight, half, aircraft in cells])


def _strength(days: float | str, low: float, high: float) -> float:
    depth = 1.0 if isinstance(days, str) else (days - low) / (high - low) if high > low else 0.3
    return PALEST + (MOST_INK - PALEST) * depth


def _short(days: float | str) -> str:
    return ">end" if isinstance(days, str) else f"{days:.1f}"


def _days(days: float | str | None) -> str:
    return "no aircraft" if days is None else days if isinstance(days, str) else f"{days:.1f}"


def _reasons(numbers: Mapping[str, Any]) -> pd.DataFrame:
    """Reasons that stopped flying with the first or the last crew, most days first."""
    rows = numbers["crews"]
    first, last = rows[0], rows[-1]
    both = {why: (first["flying days"].get(why, 0.0), last["flying days"].get(why, 0.0))
            for why in first["flying days"] if why != FLOWN}
    some = sorted(((why, a, b) for why, (a, b) in both.items() if a or b), key=lambda one: -one[1])
    return pd.DataFrame([
        {"reason": why[:1].upper() + why[1:], "first": a, "last": b, "right": max(a, b),
         "short": words.tenths(a) if len(rows) == 1 else f"{words.tenths(a)} to {words.tenths(b)}",
         "said": f"{why[:1].upper() + why[1:]}: {words.tenths(a)} days with {first['crew']}"
                 + (f", {words.tenths(b)} with {last['crew']}." if len(rows) > 1 else ".")}
        for why, a, b in some])
