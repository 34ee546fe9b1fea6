"""The chance of at least so many deliveries: rows are counts, columns are quarters, the number is how many runs."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import altair as alt
import pandas as pd

from ... import words
from ...charts.settings import altair_config
from ...palette import MOST_INK, Mode

ROW = 24  # pixels


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
    said = base.mark_text(color=mode["ink"]).encode(text="chance")
    return (cells + said).properties(width="container", height=ROW * frame["least"].nunique()).configure(
        **altair_config(mode))


def said(numbers: Mapping[str, Any]) -> str:
    """The grid in words."""
    return " ".join(_frame(numbers)["said"])


def _frame(numbers: Mapping[str, Any]) -> pd.DataFrame:
    """From what nearly all runs reach in every quarter to what hardly any does in one."""
    of = numbers["runs"]
    rows = list(numbers["runs that deliver at least"].items())
    first = max((n for n, (_, row) in enumerate(rows) if all(20 * kept > 19 * of for kept in row.values())), default=0)
    last = min((n for n, (_, row) in enumerate(rows) if all(20 * kept < of for kept in row.values())),
               default=len(rows) - 1)
    return pd.DataFrame([
        {"least": int(count), "quarter": quarter, "chance": words.chance(kept, of),
         "strength": MOST_INK * kept / of,
         "said": f"{quarter}: {words.share_of_runs(kept, of)} deliver{'s' * (of == 1)} at least {count}."}
        for count, row in rows[first:last + 1] for quarter, kept in row.items()])
