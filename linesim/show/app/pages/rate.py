"""What rate can the line hold?"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import streamlit as st

from ... import rating, words
from ...charts import findings, screen
from ...charts.lost import PARTS, fill_of
from ...charts.rate import finding, name_of
from ...report import cautions
from .. import chosen, downloads, following, memo
from ..charts import rate as chart
from ..memo import Number
from ..wish import wished


def page() -> None:
    """Inputs, the rates tried, what each delivers."""
    here = chosen.here("rate")
    parts = memo.parts("rate")
    with parts.inputs:
        takts = st.text_input("Takts to try, work days", key="takts", bind="query-params", width=220,
                              placeholder="those of the file, or 5-3.5")
        runs = memo.runs_input(here)
    with parts.margin:
        memo.caution(cautions.RATE)
        memo.assumed(here.scenario)
    wish = wished("rate", here.path, here.scenario, {"takts": (takts or "").strip() or None}, runs)
    found = following.follow(wish, parts, here)
    if found is None:
        return
    numbers = found.numbers
    rows = numbers["plans"]
    memo.answer(parts, found, numbers["sentences"], [row["words"] for row in rows])
    with parts.numbers:
        holds = next((name_of(row) for row in rows if row["plan"] == numbers["highest that holds"]), None)
        memo.numbers(_numbers(rows[0], holds))
    with parts.body:
        said = finding(numbers, equal_units=False)
        memo.chart(said.title, said.reading, chart.chart(memo.mode(), numbers), chart.said(numbers))
        lost = found.table(rating.LOST)
        said = findings.lost(lost)
        memo.head(f"{said.title} ({name_of(rows[0])})", said.reading)
        memo.key([(name, fill_of(memo.mode(), part)) for part, name in PARTS.items()])
        memo.drawing(screen.lost(memo.mode(), lost), f"{said.title}. {said.reading}")
        memo.more(numbers["sentences"])
        for table in rating.tables(numbers):
            memo.table(table)
        downloads.row(found, here, lambda: rating.section(numbers))


def _numbers(row: Mapping[str, Any], highest: str | None) -> list[Number]:
    """Of the first rate tried, and the highest that holds."""
    made, keeps, behind = row["achieved a month"], row["keeps the plan"], row["falls behind"]
    span = f"8 in 10 runs: {words.between(words.tenths(made['8 in 10 runs from']), words.tenths(made['to']))}" \
        if "to" in made else "mean of the runs"
    return [
        Number(f"At {name_of(row)}, a month", words.tenths(made.get("half the runs", made["mean"])),
               f"of {words.tenths(row['planned a month'])} planned", span),
        Number("Runs that keep the plan", words.chance(keeps["runs"], keeps["of"]),
               circles=(keeps["runs"], keeps["of"])),
        Number("Falls behind for good", behind["half by"] if behind else "in no run", "",
               f"half of {words.runs(behind['runs'])} that do" if behind else ""),
        Number("Highest that holds", highest or "none tried", "", "8 in 10 runs or more keep the plan"),
    ]
