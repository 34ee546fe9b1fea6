"""Where do the days go?"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any
from urllib.parse import quote

import pandas as pd
import streamlit as st
from markupsafe import Markup

from ....questions import figures
from ....questions.late_each import EACH
from ....questions.late_words import UNIT, days_text, headline, largest_gain, short, signed
from ... import late, words
from ...charts import findings
from ...palette import LIGHT
from ...report import cautions
from ...report.blocks import Section, Table, picture
from .. import chosen, downloads, following, memo
from ..charts import late as chart
from ..memo import Number
from ..replay.address import story_of
from ..wish import Found, wished

ALL = "all aircraft"
SHOWN = 20  # aircraft in the first table


def page() -> None:
    """All aircraft or one; what is lost where, what changes give, and the way to each aircraft's story."""
    here = chosen.here("late")
    parts = memo.parts("late")
    serials = [order.serial for order in here.scenario.orders or ()]
    asked = st.query_params.get("aircraft", ALL)
    with parts.inputs:
        serial = st.selectbox("Aircraft", [ALL, *serials], key="aircraft", bind="query-params", width=180)
        runs = memo.runs_input(here)
    if asked not in (ALL, *serials):
        with parts.progress:
            memo.far(f"The order book has no serial {asked!r}: all aircraft are asked for.", None)
    with parts.margin:
        memo.caution(cautions.NOT_DEAD)
        memo.assumed(here.scenario)
    wish = wished("late", here.path, here.scenario, {"serial": None if serial == ALL else serial}, runs)
    found = following.follow(wish, parts, here)
    if found is None:
        return
    numbers = found.numbers
    short_answer, counts = headline(numbers)
    sentences = [short_answer, *([counts] if counts else []), *numbers["sentences"][1:]]
    memo.answer(parts, found, sentences, _marked(numbers))
    with parts.numbers:
        memo.numbers(_of_one(numbers) if numbers["serial"] else _of_all(numbers))
        _drawn(numbers)
    with parts.body:
        memo.more(sentences)
        for table in late.tables(numbers):
            memo.table(table)
        if serials:
            _stories(found)
        if numbers["largest"]:
            downloads.row(found, here, lambda: _section(found))
        else:
            memo.cautions(here.scenario, numbers)


def _section(found: Found) -> Section:
    """What is handed out: that of the command, with what each aircraft loses, and a figure of one aircraft, too."""
    numbers, section = found.numbers, late.section(found.numbers)
    shown = [picture(chart.plate(LIGHT, numbers), "late", chart.finding(numbers))] if numbers["serial"] else []
    each = [_table(_of_wish(found), found, link=_plain)] if found.wish.scenario().orders else []
    return replace(section, pictures=[*section.pictures, *shown], tables=[*section.tables, *each])


def _marked(numbers: Mapping[str, Any]) -> list[str]:
    """The size of the largest loss."""
    lost = days_text(numbers["work days lost"])
    return [f"{days_text(row['work days'])} of the {lost} work days" for row in numbers["largest"][:1]]


def _drawn(numbers: Mapping[str, Any]) -> None:
    """Of all aircraft the areas with what each loses; of one its largest losses."""
    if numbers["serial"]:
        if numbers["largest"]:
            said = chart.finding(numbers)
            memo.chart(said.title, said.reading, chart.chart(memo.mode(), numbers), chart.said(numbers))
        return
    table = figures.chain(numbers)
    if len(table):
        said = findings.chain(table, numbers["aircraft"], numbers["runs"])
        memo.head(said.title, said.reading)
        memo.key(chart.key_of(memo.mode(), table))
        st.altair_chart(chart.areas(memo.mode(), table), theme=None, width="stretch", alt=chart.areas_said(table))


# numbers -------------------------------------------------------------------------------------------------------------
def _of_all(numbers: Mapping[str, Any]) -> list[Number]:
    every, lost = numbers["work days on the chain"], numbers["work days lost"]
    worked = numbers["no loss"].get("hands-on work", 0.0)
    return [Number("Launch to delivery", words.tenths(every), "work days", "on what set the date"),
            Number("Hands-on", words.tenths(worked), "work days", _share(worked, every)),
            Number("Lost", words.tenths(lost), "work days", _share(lost, every)), _gives(numbers)]


def _of_one(numbers: Mapping[str, Any]) -> list[Number]:
    rows = numbers["largest"]
    return [Number("Work days lost", words.tenths(numbers["work days lost"]), "", "mean of the runs"),
            Number("Half the runs lose", words.tenths(numbers["half the runs lose"]), "", "work days or more"),
            *([Number(f"To {short(rows[0])}"[:24], words.tenths(rows[0]["work days"]), "work days",
                      f"2 in 10: {words.tenths(rows[0]['2 in 10 runs'])} or more")] if rows else []), _gives(numbers)]


def _share(part: float, whole: float) -> str:
    return f"{words.percent(part / whole)} of them" if whole else ""


def _gives(numbers: Mapping[str, Any]) -> Number:
    """What the change that gains most gives, as it was run."""
    row = largest_gain(numbers["largest"])
    if row is None:
        tried = any(one["gives"] for one in numbers["largest"])
        return Number("Changes run", "no gain seen" if tried else "none", "", words.runs(numbers["runs"]))
    name = next(name for name in UNIT if row["gives"].get(name))
    unit = {"deliveries": "aircraft"}.get(name, "days")
    return Number("Largest gain by a change", signed(row["gives"][name]["mean"]), unit, row["change"])


# the way to the stories ----------------------------------------------------------------------------------------------
def _stories(found: Found) -> None:
    each, serial = _of_wish(found), found.numbers["serial"]
    opens = "The number of a run opens its story there: what it did and waited for, from launch to delivery."
    memo.head(f"What happened to {serial}" if serial else "Each aircraft, most days lost first", opens)
    memo.table(_table(each.head(SHOWN), found))
    if len(each) > SHOWN:
        with st.expander(f"The other {len(each) - SHOWN} aircraft"):
            memo.table(_table(each[SHOWN:], found))


def _of_wish(found: Found) -> pd.DataFrame:
    """What each aircraft loses, most first; of the one that is asked for alone."""
    each, serial = found.table(EACH), found.numbers["serial"]
    return each[each["serial"] == serial] if serial else each.sort_values("days", ascending=False, kind="stable")


def _plain(_scenario: str | None, run: int, _serial: str) -> str:
    return f"run {run}"


def _link(scenario: str | None, run: int, serial: str) -> str:
    return Markup('<a href="{}">run {}</a>').format(story_of(scenario, run) + quote(serial), run)


def _table(each: pd.DataFrame, found: Found, link: Callable[[str | None, int, str], str] = _link) -> Table:
    """One row for each aircraft, with its middle run and the one in which it loses most."""
    key, runs = st.session_state.get(chosen.IN_ADDRESS), found.runs
    rows = []
    for row in each.to_dict("records"):
        where = f"room in {row['place']}" if row["reason"] == "blocked" else f"{row['reason']} at {row['place']}"
        rows.append((row["serial"], row["promised"], words.chance(row["kept"], row["of"]) if row["of"] else "",
                     words.chance(row["delivered_in"], runs), words.tenths(row["days"]),
                     *((where, words.tenths(row["most"])) if row["reason"] else ("", "")),
                     *(link(key, row[run], row["serial"]) for run in ("middle", "slow"))))
    return Table(f"Work days lost on the chain that sets the date, mean of {words.runs(runs)}; of an aircraft "
                 "that is not delivered those so far. In the middle run it loses as much as in "
                 "half of them, in the slowest most.",
                 ("Serial", "Promised", "Keeps it", "Delivered in", "Work days lost", "Most to", "of it, days",
                  "Middle run", "Slowest run"), tuple(rows), fits=False)
