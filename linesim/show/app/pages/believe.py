"""How far can these numbers be trusted?"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import streamlit as st
from markupsafe import Markup

from ....questions.forecast_log import NotALog, read_actual, scores, since
from ....questions.proof.summary import kept_table
from ... import believing, forecast_logging, words
from ...unbroken import unbroken
from ...whole_files import FolderRefused
from .. import chosen, downloads, memo
from ..charts import believe as chart
from ..chosen import Chosen
from ..memo import Number

ALL = "all subjects"
ROWS_IN_SIGHT, TALLEST = 14, 520  # a longer table is moved by itself; pixels
NO_FORECAST = ("No forecast of this scenario is kept yet. The commands linesim dates FILE --log and linesim next FILE "
               "--log keep what is said today; from the second one on, what has moved stands here.")


def page() -> None:
    """The outside checks, what the scenario assumes, what is left out, how earlier forecasts came out."""
    here = chosen.here("believe")
    parts = memo.parts("believe")
    kept = kept_table()
    said = believing.sentences(kept, here.scenario)
    made = f"Table of checks made with linesim {kept['linesim']}" if kept else ""
    memo.say(parts, said[0], [" ".join(said[1:3])], came_from=made)
    with parts.margin:
        for head, lines in believing.lists(here.scenario):
            memo.note(head, lines or ["Nothing."])
    if kept:
        with parts.numbers:
            memo.numbers(_numbers(kept, len(here.scenario.assumed)))
            title, reading = believing.finding(kept)
            memo.chart(title, reading, chart.chart(memo.mode(), kept), chart.said(kept))
            memo.table(believing.subjects(kept))
    with parts.body:
        for one in said[3:]:
            st.html(Markup('<p class="more">{}</p>').format(unbroken(one)))
        if kept:
            _checks(kept, here)
        _forecasts(here)
        st.download_button("Every input, CSV", lambda: downloads.text_of(believing.inputs(here.scenario)),
                           f"{here.stem}_inputs.csv", "text/csv", on_click="ignore", key="download inputs")


def _numbers(kept: Mapping[str, Any], assumed: int) -> list[Number]:
    of = kept["summary"]
    return [Number("Outside checks that hold", words.count(of["hold"]), f"of {of['checks']}",
                   f"in {len(of['subjects'])} subjects"),
            Number("Without luck", words.count(of["checks"] - of["random"]), "checks", "each must be exact"),
            Number("Furthest with luck", words.tenths(of["furthest"]), "standard errors",
                   f"of {of['random']} checks; beyond {of['band']:g} fails"),
            Number("Assumed inputs", words.count(assumed), "groups", "named by the scenario itself")]


def _checks(kept: Mapping[str, Any], here: Chosen) -> None:
    """Each check of the subject that is chosen, and what is shown beside."""
    memo.head("Each check")
    names = [one["subject"] for one in kept["summary"]["subjects"]]
    subject = st.selectbox("Checks on", [*names, ALL], key="subject", bind="query-params", width=260)
    table = believing.checks(kept, None if subject == ALL else subject)
    with st.container(height=TALLEST if len(table.rows) > ROWS_IN_SIGHT else "content", border=False):
        memo.table(table)
    beside = believing.quarters(kept)
    if beside is not None:
        memo.table(beside)
    st.download_button("Every check, CSV", lambda: downloads.text_of(believing.checks(kept)), "linesim_checks.csv",
                       "text/csv", on_click="ignore", key="download checks")


def _forecasts(here: Chosen) -> None:
    """What was said before, what has moved since, and how it came out where actual deliveries are given."""
    memo.head("What was forecast, and how it came out")
    path = forecast_logging.log_path(chosen.results(), here.stem)
    if not path.exists():
        st.html(f'<p class="cap">{NO_FORECAST}</p>')
        return
    try:
        rows = forecast_logging.read_log(path)
    except FolderRefused as why:
        memo.fault_lines([str(why)])
        return
    numbers = since(rows)
    memo.note("Kept forecasts", forecast_logging.sentences(numbers) if numbers["forecasts"] else ["None yet."])
    if numbers["forecasts"]:
        memo.table(forecast_logging.table(numbers))
    given = st.file_uploader("Actual deliveries: a CSV table with the columns serial and delivered", ["csv"],
                             key="actual")
    if given is None:
        return
    try:
        came = scores(rows, read_actual(given.getvalue().decode("utf-8-sig")))
    except (NotALog, UnicodeDecodeError) as why:
        memo.fault_lines([f"{given.name}: {why}"])
        return
    if came:
        memo.table(forecast_logging.scores_table(came))
    else:
        st.html(f'<p class="cap">{forecast_logging.NOT_SCORED}</p>')
