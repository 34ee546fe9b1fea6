"""What changes buy, on the screen: one row each, its name above its mark, largest gain first, with its interval.

The first look at a few of many is drawn alike, in soft colour: it is no answer yet.
"""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from typing import Any

import altair as alt
import pandas as pd

from ....questions.buy_words import gained, signed
from ....questions.buys_so_far import SO_FAR
from ... import words
from ...charts.buys import AXIS
from ...charts.findings import Finding
from ...charts.settings import altair_config
from ...palette import Mode

LINE = 15       # pixels a line of a name takes
MARK = 24       # and the mark below it
BELOW = 52      # the axis with its title, which the height of a chart takes in
WIDE = 50       # letters of a name in a line: fits a phone
MOST_SHOWN = 12  # changes of a first look
ROOM = 0.45     # of the axis, at its right, for words beside the marks
SIGN = {"money": "format(datum.value / 1000, '+,.0f') + (datum.value == 0 ? '' : ' k')"}
NARROW = 520  # pixels: under it words beside a row are short


def chart(mode: Mode, numbers: Mapping[str, Any]) -> Any:
    """`numbers` of the answer, whole or so far."""
    rows = _rows(numbers)
    frame = pd.DataFrame(rows)
    frame["state"] = ["none" if not row["seen"] else "gain" if row["good"] else "loss" for row in rows]
    heights = [LINE * (row["name"].count("\n") + 1) + MARK for row in rows]
    frame["top"] = [sum(heights[:n]) for n in range(len(rows))]
    frame["at"] = frame["top"] + pd.Series(heights) - MARK / 2
    high = sum(heights)
    low, far = min(0.0, frame["low"].min()), max(0.0, frame["high"].max())
    span = (far - low) or 1.0
    scale = alt.Scale(domain=[low - 0.04 * span, far + ROOM * span], nice=False, zero=False)
    axis = alt.Axis(grid=True, tickCount=5, titleAnchor="start", labelExpr=SIGN.get(
        numbers["by"], "datum.value == 0 ? '0' : format(datum.value, '+~g')"))

    def x(field: str) -> alt.X:
        return alt.X(f"{field}:Q", scale=scale, title=AXIS[numbers["by"]], axis=axis)

    def y(field: str) -> alt.Y:
        return alt.Y(f"{field}:Q", scale=alt.Scale(domain=[high, 0], nice=False), axis=None)

    plain = SO_FAR in numbers and "tried" in numbers[SO_FAR]
    colours = [mode["soft"], mode["soft"] if plain else mode["accent"], mode["late"]]
    colour = alt.Color("state:N", scale=alt.Scale(domain=["none", "gain", "loss"], range=colours))
    fill = alt.Fill("state:N", scale=alt.Scale(domain=["none", "gain", "loss"], range=[mode["page"], *colours[1:]]))
    tip = alt.Tooltip("said", title=" ")
    base = alt.Chart(frame)
    zeros = pd.DataFrame([{"x": begins, "y": mine["top"].min(), "y2": float(mine["at"].max()) + MARK / 2}
                          for begins, mine in frame.groupby("begins")])
    rules = alt.Chart(zeros).mark_rule(color=mode["ink"], strokeWidth=1.2).encode(x=x("x"), y=y("y"), y2="y2:Q")
    lines = base.transform_filter("isValid(datum.low)").mark_rule(strokeWidth=2).encode(
        x=x("low"), x2="high:Q", y=y("at"), color=colour, tooltip=tip)
    dots = base.mark_point(size=80, opacity=1, strokeWidth=1.8).encode(
        x=x("mean"), y=y("at"), stroke=colour, fill=fill, tooltip=tip)
    halo = {"stroke": mode["page"], "strokeWidth": 4, "color": mode["page"]}
    names = [base.mark_text(align="left", baseline="top", dy=3, lineBreak="\n", lineHeight=LINE, **look).encode(
        x=alt.value(0), y=y("top"), text="name") for look in (halo, {"color": mode["ink"]})]
    beside = base.mark_text(align="right", baseline="middle", dx=-2, color=mode["soft"], text=alt.ExprRef(
        f"containerSize()[0] < {NARROW} ? datum.short : datum.beside")).encode(x=alt.value("width"), y=y("at"))
    layers = [rules, lines, dots, *names, beside]
    if numbers.get("second"):
        cut = pd.DataFrame({"y": [frame.loc[frame["begins"] != 0, "top"].min() if (frame["begins"] != 0).any() else 0]})
        layers.insert(0, alt.Chart(cut).mark_rule(color=mode["rule"]).encode(y=y("y")))
    return alt.layer(*layers).properties(width="container", height=high + BELOW).configure(**altair_config(mode))


def said(numbers: Mapping[str, Any]) -> str:
    """The chart in words."""
    return " ".join(row["said"] for row in _rows(numbers))


def first_look(numbers: Mapping[str, Any]) -> Finding:
    """What the first look shows so far."""
    part = numbers[SO_FAR]
    row, done, of = part["tried"][0], len(part["tried"]), part["changes"]
    name = words.sentence(row["change"]).rstrip(".")
    title = f"{name} comes first so far" if gained(numbers, row) else "No change shows a gain so far"
    most = f" The {MOST_SHOWN} that come first of them are drawn." if done > MOST_SHOWN else ""
    return Finding(title, f"First look at {done} of {words.counted(of, 'change')}, {words.runs(numbers['runs'])} of "
                          f"each.{most} Dot: mean; line: 95 % interval, all together. Open dot: no difference seen. "
                          "Right: runs that gain.")


def _rows(numbers: Mapping[str, Any]) -> list[dict[str, Any]]:
    """One for each mark, from top to bottom."""
    by, part = numbers["by"], numbers.get(SO_FAR, {})
    if "tried" in part:
        return [_row(numbers, row, 0.0, "") for row in part["tried"][:MOST_SHOWN] if row[by] is not None]
    first, second = ([row for row in step["run again"] if row[by] is not None] if step else []
                     for step in (numbers["first"], numbers["second"]))
    ends = first[0][by]["mean"] if second else 0.0
    return [*(_row(numbers, row, 0.0, "") for row in first), *(_row(numbers, row, ends, "then ") for row in second)]


def _row(numbers: Mapping[str, Any], row: Mapping[str, Any], begins: float, before: str) -> dict[str, Any]:
    found = row[numbers["by"]]
    seen = f"in {found['gains in']} of {found['of']}" if found["seen"] else "no difference seen"
    limits = [begins + found[end] if end in found else None for end in ("low", "high")]
    span = f" (95 % interval {_signed(numbers, found, ('low', 'high'))})" if "low" in found else ""
    name = words.sentence(before + row["change"]).rstrip(".")
    return {"name": "\n".join(textwrap.wrap(name, WIDE)), "mean": begins + found["mean"],
            "low": limits[0] if limits[0] is not None else begins + found["mean"],
            "high": limits[1] if limits[1] is not None else begins + found["mean"], "begins": begins,
            "seen": found["seen"], "short": seen if found["seen"] else "none seen",
            "good": (found["mean"] > 0) == numbers["more is a gain"], "beside": seen,
            "said": f"{name}: {signed(numbers, found['mean'])}{span}, {seen}."}


def _signed(numbers: Mapping[str, Any], found: Mapping[str, Any], ends: Sequence[str]) -> str:
    return " to ".join(signed(numbers, found[end]) for end in ends)
