"""How many deliveries in each quarter?"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import streamlit as st

from ... import quartering_section, words
from ...charts import findings, screen
from ...quartering import CIRCLES
from ...report import cautions
from .. import chosen, downloads, following, memo
from ..charts import quarters as chart
from ..memo import Number
from ..wish import wished

ALL = "all models"


def page() -> None:
    """Inputs, the window, each quarter, the chance of so many, money."""
    here = chosen.here("quarters")
    parts = memo.parts("quarters")
    models = quartering_section.models(here.scenario)
    with parts.inputs:
        model = st.selectbox("Model", [ALL, *models], key="model", bind="query-params", width=160)
        least = st.number_input("At least, aircraft", 0, 10_000, None, key="least", bind="query-params", width=170,
                                placeholder="as promised")
        runs = memo.runs_input(here)
    with parts.margin:
        memo.caution(cautions.PROMISE)
        memo.assumed(here.scenario)
    wish = wished("quarters", here.path, here.scenario,
                  {"model": None if model == ALL else model, "at least": least}, runs)
    found = following.follow(wish, parts, here)
    if found is None:
        return
    numbers, circles = found.numbers, found.table(CIRCLES)
    reached = numbers["deliveries in the window"].get("8 in 10 reach", "")
    memo.answer(parts, found, numbers["sentences"], [f"at least {reached} aircraft"])
    with parts.numbers:
        memo.numbers(_numbers(numbers))
    with parts.body:
        if len(circles):
            said = findings.quarters(circles)
            memo.chart(said.title, said.reading, screen.quarters(memo.mode(), circles),
                       quartering_section.circles_said(circles))
        if numbers["delivered by the end of the month"]:
            said = chart.growing_finding(numbers)
            memo.chart(said.title, said.reading, chart.growing(memo.mode(), numbers), chart.growing_said(numbers))
        if numbers["runs that deliver at least"]:
            memo.chart("The chance of at least so many",
                       "Aircraft delivered in the quarter; in the cell how many of the runs reach so many.",
                       chart.grid(memo.mode(), numbers), chart.said(numbers))
        memo.more(numbers["sentences"])
        for table in quartering_section.tables(numbers):
            memo.table(table)
        downloads.row(found, here, lambda: quartering_section.section(numbers, circles))


def _numbers(numbers: Mapping[str, Any]) -> list[Number]:
    """Deliveries, at least so many, revenue."""
    least, money = numbers["at least"], numbers["money"]
    promised = numbers["promised in the window"]
    found = [_reached("Delivered", numbers["deliveries in the window"], words.count,
                      f"of {words.count(promised)} promised" if promised else ""),
             Number(f"At least {least['aircraft']}", words.chance(least["runs"], least["of"]),
                    circles=(least["runs"], least["of"]))]
    if money and numbers["model"] is None:
        found.append(_reached("Revenue", money["revenue in the window"],
                              quartering_section.short_money(money)))
    return found


def _reached(label: str, row: Mapping[str, Any], said: Callable[[float], str], of: str = "") -> Number:
    """Half the runs, with what 8 in 10 of them reach and their range; of few runs their mean, or each of them."""
    if "5 in 10 reach" in row:
        return Number(f"{label}, half the runs", said(row["5 in 10 reach"]), of,
                      f"8 in 10 runs: {words.between(said(row['9 in 10 reach']), said(row['1 in 10 reach']))}")
    if "mean" in row:
        return Number(label, said(row["mean"]), of or "mean", "too few runs for a range")
    few = row["each run"]
    return Number(label, words.between(said(min(few)), said(max(few))), of, f"in {words.runs(len(few))}, too few for a "
                  "range")
