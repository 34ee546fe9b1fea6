"""What rate can the line hold?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
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

LOOK_AT = "look_at"


def page() -> None:
    """Inputs, the rates tried, what each delivers."""
    here = chosen.here("rate")
    parts = memo.parts("rate")
    with parts.inputs:
        takts = st.text_input("Takts to try, work days", key="takts", bind="query-params", width=390,
                              placeholder=("the file's plans" if here.scenario.plans else "about its own")
                              + ", or 5-3.5, or 4.5 then 4 from 2027-05-03")
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
        row = _looked_at(rows)
        memo.numbers(_numbers(row, rows, numbers["highest that holds"]))
    with parts.body:
        said = finding(numbers, equal_units=False)
        memo.chart(said.title, said.reading, chart.chart(memo.mode(), numbers), chart.said(numbers))
        lost = found.table(rating.LOST)
        lost = lost[lost["plan"] == row["plan"]] if "plan" in lost else lost
        said = findings.lost(lost)
        memo.head(f"{said.title} ({name_of(row)})", said.reading)
        memo.key([(name, fill_of(memo.mode(), part)) for part, name in PARTS.items()])
        memo.drawing(screen.lost(memo.mode(), lost), f"{said.title}. {said.reading}")
        memo.more(numbers["sentences"])
        for table in rating.tables(numbers):
            memo.table(table)
        downloads.row(found, here, lambda: rating.section(numbers))


def _looked_at(rows: Sequence[Mapping[str, Any]]) -> Mapping[str, Any]:
    """The rate that the numbers and the hours lost are of; the one that the answer speaks of, unless another is
    chosen: the slowest that does not hold, else the fastest."""
    ordered = sorted(rows, key=lambda row: row["planned a month"])
    spoken_of = next((row for row in ordered if not row["keeps the plan"]["holds"]), ordered[-1])
    if len(rows) == 1:
        return spoken_of
    named = {name_of(row): row for row in rows}
    if st.session_state.get(LOOK_AT) not in named:
        st.session_state.pop(LOOK_AT, None)
    name = st.segmented_control("Rate looked at", list(named), default=name_of(spoken_of), key=LOOK_AT, required=True)
    return named.get(str(name), spoken_of)


def _numbers(row: Mapping[str, Any], rows: Sequence[Mapping[str, Any]], highest: str | None) -> list[Number]:
    """Of one rate, and the highest that holds."""
    made, keeps, behind = row["achieved a month"], row["keeps the plan"], row["falls behind"]
    span = f"8 in 10 runs: {words.between(words.tenths(made['8 in 10 runs from']), words.tenths(made['to']))}" \
        if "to" in made else "mean of the runs"
    return [
        Number("Delivered, a month", words.tenths(made.get("half the runs", made["mean"])),
               f"of {words.tenths(row['planned a month'])} planned", span),
        Number("Runs that keep the plan", words.chance(keeps["runs"], keeps["of"]),
               circles=(keeps["runs"], keeps["of"])),
        Number("Falls behind for good", behind["half by"] if behind else "in no run", "",
               _that_do(behind["runs"]) if behind else ""),
        Number("Highest that holds", next((name_of(one) for one in rows if one["plan"] == highest), "none"),
               f"of {len(rows)} tried", "8 in 10 runs or more keep it"),
    ]


def _that_do(runs: int) -> str:
    return "in 1 run" if runs == 1 else f"half of the {words.runs(runs)} that do"
