"""When does each aircraft deliver, and what may be promised?"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pandas as pd
import streamlit as st
from markupsafe import Markup

from ....questions.forecast_log import Forecast
from ... import dating, dating_section, words
from ...charts import findings
from ...forecast_logging import log_path, read_log
from ...report import cautions
from ...whole_files import FolderRefused
from .. import chosen, downloads, following, memo
from ..charts import dates as chart
from ..chosen import Chosen
from ..memo import Number
from ..replay import address
from ..wish import wished

ROWS_IN_SIGHT, TALLEST = 24, 760  # a longer table is moved by itself; pixels
CAREFUL = "8 in 10"
MOST_ORDERED, NO_NEW = "most ordered model", "no new order"
ALL, DOUBTFUL = "all", "late or at risk"
EVERY, EVERY_MODEL = "all aircraft", "all models"
STATES = {"on time": "8 in 10 runs or more keep it", "at risk": "5 to 8 in 10 runs keep it",
          "late": "fewer than half the runs do"}


def page() -> None:
    """Inputs, who is late, each aircraft against its promise, what may be promised."""
    here = chosen.here("dates")
    parts = memo.parts("dates")
    with parts.inputs:
        options, careful = _promise(here)
        model, show, serial = _view(here)
        runs = memo.runs_input(here)
    with parts.margin:
        memo.caution(cautions.PROMISE)
        memo.assumed(here.scenario)
    found = following.follow(wished("dates", here.path, here.scenario, options, runs), parts, here)
    if found is None:
        return
    every = dating_section.with_log(found.numbers, _log(here))
    numbers = dating_section.only(every, serial) if serial else dating_section.kept(every, model, show == DOUBTFUL)
    table = dating_section.rows_of(found.table(dating.DATES), numbers)
    memo.answer(parts, found, numbers["sentences"], marked=_marked(numbers, serial))
    with parts.numbers:
        if every["serials"]:
            memo.numbers(_of_one(numbers) if serial else _numbers(every, careful))
    with parts.body:
        _chart(numbers, table, here, serial)
        if serial:
            _way_to_its_story(serial)
        memo.more(numbers["sentences"])
        for one in dating_section.tables(numbers):
            with st.container(height=TALLEST if len(one.rows) > ROWS_IN_SIGHT else "content", border=False):
                memo.table(one)
        downloads.row(found, here, lambda: dating_section.section(numbers, table, here.scenario.start),
                      drawn=dating_section.is_drawn(numbers, table))


def _log(here: Chosen) -> list[Forecast]:
    """Forecasts that were logged by the command; none where there are none that can be read."""
    path = log_path(chosen.results(), here.stem)
    try:
        return read_log(path) if path.exists() else []
    except FolderRefused:
        return []


def _promise(here: Chosen) -> tuple[dict[str, Any], str]:
    """What is asked of a new order, and how careful a promise of it is to be."""
    models = dating_section.models(here.scenario)
    if not here.scenario.orders:
        return {"new": False, "model": None}, CAREFUL
    new = st.selectbox("New order of", [MOST_ORDERED, *models, NO_NEW], key="new_order", bind="query-params", width=200)
    careful = st.segmented_control("Promise with", list(dating_section.PROMISES), default=CAREFUL, required=True,
                                   key="promise_with", bind="query-params")
    return {"new": new != NO_NEW, "model": new if new in models else None}, careful or CAREFUL


def _view(here: Chosen) -> tuple[str | None, str, str | None]:
    """Which of the aircraft are shown: a model, only those in doubt, one serial."""
    orders = here.scenario.orders or ()
    if not orders:
        return None, ALL, None
    models = dating_section.models(here.scenario)
    model = st.selectbox("Model", [EVERY_MODEL, *models], key="dates_model", bind="query-params", width=140) \
        if len(models) > 1 else EVERY_MODEL
    show = st.selectbox("Show", [ALL, DOUBTFUL], key="show", bind="query-params", width=150)
    serial = st.selectbox("Aircraft", [EVERY, *(order.serial for order in orders)], key="serial_of_dates",
                          bind="query-params", width=150)
    return None if model == EVERY_MODEL else model, show, None if serial == EVERY else serial


def _chart(numbers: Mapping[str, Any], table: pd.DataFrame, here: Chosen, serial: str | None) -> None:
    """Twenty aircraft at once, in promised order; nothing of too few runs."""
    if not len(table):
        memo.head("No aircraft to draw", "None of those asked for has a promised date.")
        return
    if "note" in numbers:
        memo.head("No dates to draw yet", f"{words.sentence(numbers['note'])} The table below holds the first and the "
                  "last date of these runs.")
        return
    said, drawn, start = findings.dates(table, len(table)), dating_section.screens(table), here.scenario.start
    memo.head(*((numbers["sentences"][1], said.reading) if serial else (
        said.title, f"In promised order. {said.reading}")))
    rows = table if len(drawn) == 1 else drawn[st.selectbox(
        "Aircraft drawn", list(drawn), key="drawn", bind="query-params", width=260)]
    st.altair_chart(chart.chart(memo.mode(), rows, numbers["serials"], start), theme=None, width="stretch",
                    alt=chart.said(rows, numbers["serials"], start))


def _way_to_its_story(serial: str) -> None:
    way = address.story_of(st.session_state.get(chosen.IN_ADDRESS), 0) + serial
    st.html(Markup('<p class="cs"><a href="{}" target="_self" style="color:var(--accent)">What happened to {} in one '
                   "run</a></p>").format(way, serial))


def _marked(numbers: Mapping[str, Any], serial: str | None) -> tuple[str, ...]:
    """How many are late, and the date that may be promised; of one aircraft its date."""
    if serial:
        row = numbers["serials"][0]
        return (f"8 in 10 by {row['8 in 10 by']}",) if "8 in 10 by" in row else ()
    new, states = numbers["new order"], numbers["states"]
    counted = f"{states['late'] or states['at risk']} of {sum(states.values())} aircraft"
    return (counted, *((new["safe to promise"],) if new and new.get("safe to promise") else ()))


def _numbers(numbers: Mapping[str, Any], careful: str) -> list[Number]:
    """On time, at risk, late, and what may be promised."""
    of = sum("state" in row for row in numbers["serials"])
    found = [Number(words.sentence(state)[:-1], str(numbers["states"][state]), f"of {of}", below)
             for state, below in STATES.items() if of]
    new = numbers["new order"]
    if new is None:
        return found
    name = dating_section.PROMISES[careful]
    if "note" in new:
        return [*found, Number("May be promised", "not yet", "", "29 runs are needed")]
    return [*found, Number("May be promised", new.get(name, new["8 in 10 by"]), "",
                           f"{careful} runs deliver by then")]


def _of_one(numbers: Mapping[str, Any]) -> list[Number]:
    """Promised, by when, and what it loses."""
    row = numbers["serials"][0]
    found = []
    if "of" in row:
        found.append(Number("Promised", row["promised"], "", row["state"]))
        found.append(Number("Runs that keep it", words.chance(row["runs that keep it"], row["of"]),
                            circles=(row["runs that keep it"], row["of"])))
    if "8 in 10 by" in row:
        low, high = row["8 in 10 by, 95 % interval"]
        return [*found, Number("Half by", row["half by"]), Number("8 in 10 by", row["8 in 10 by"], "",
                                                                  f"known to {words.between(low, high)}")]
    return [*found, Number("First run", row["first"]), Number("Last run", row["last"])]
