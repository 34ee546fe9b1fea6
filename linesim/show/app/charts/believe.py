"""How the checks that have luck lie about the values from outside."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import altair as alt
import pandas as pd

from ... import words
from ...charts.settings import altair_config
from ...palette import Mode

ROW = 34  # pixels


def chart(mode: Mode, kept: Mapping[str, Any]) -> Any:
    """`kept`: the table of checks. A stroke for each check with luck."""
    frame = _frame(kept)
    band = float(kept["summary"]["band"])
    x = alt.X("away:Q", title="Standard errors away from the outside value",
              scale=alt.Scale(domain=[-band, band], nice=False, clamp=True), axis=alt.Axis(values=list(range(-4, 5))))
    base = alt.Chart(frame).encode(
        x=x, y=alt.Y("subject:N", sort=None, title=None, axis=alt.Axis(labelColor=mode["ink"], labelLimit=200)),
        tooltip=alt.Tooltip("said", title=" "))
    strokes = base.mark_tick(thickness=1.6, size=20, opacity=0.75).encode(
        color=alt.condition("datum.holds", alt.value(mode["accent"]), alt.value(mode["late"])))
    limits = pd.DataFrame({"away": [-2.0, -1.0, 0.0, 1.0, 2.0], "dash": [1, 1, 0, 1, 1]})
    rules = alt.Chart(limits).mark_rule(strokeWidth=1, color=mode["rule"]).encode(
        x=x, strokeDash=alt.StrokeDash("dash:O", scale=alt.Scale(domain=[0, 1], range=[[1, 0], [4, 3]]), legend=None))
    return (rules + strokes).properties(width="container", height=ROW * frame["subject"].nunique()).configure(
        **altair_config(mode))


def said(kept: Mapping[str, Any]) -> str:
    """The chart in words: how far the furthest of each subject lies."""
    frame = _frame(kept)
    furthest = frame.assign(far=frame["away"].abs()).groupby("subject", sort=False)["far"].max()
    return " ".join(f"{subject}: at most {words.tenths(far)} standard errors away." for subject, far in
                    furthest.items())


def _frame(kept: Mapping[str, Any]) -> pd.DataFrame:
    return pd.DataFrame([
        {"subject": row["subject"].capitalize(), "away": row["standard errors away"], "holds": row["holds"],
         "said": f"{row['check']}: expected {row['expected']:.6g}, got {row['got']:.6g}, "
                 f"{words.difference(row['standard errors away'], 2)} standard errors."}
        for row in kept["checks"] if row["standard errors away"] is not None and row["got"] is not None])
