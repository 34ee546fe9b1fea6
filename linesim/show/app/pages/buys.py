"""Which change buys most, and what then?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import streamlit as st

from ....questions.buy_levers import EFFORT, FREE, PEOPLE, PLACE, Change, changes_of
from ....questions.buy_words import cautions_of_paths, gained, on_a_page, signed
from ....questions.buys import GAINS, RUNS, has_money
from ....questions.buys_so_far import SO_FAR
from ... import buying, words
from ...buying_course import guesses
from ...charts.buys import finding
from .. import chosen, downloads, following, memo
from ..charts import buys as chart
from ..chosen import Chosen
from ..memo import Number, Parts
from ..wish import Found, wished

GAINED = {"deliveries": "Deliveries", "days": "Days", "money": "Money"}
AREAS = {FREE: "Rules, at no cost", PEOPLE: "People and shifts", PLACE: "Docks, spots, booths",
         EFFORT: "Quality, parts, absence"}
UNITS = {"deliveries": "aircraft", "days": "calendar days", "money": ""}
LEFT_OUT = "without"  # in the address, once for each


def page() -> None:
    """What is gained and which changes are tried; the largest, what comes on top, and all that were tried."""
    here = chosen.here("buys")
    parts = memo.parts("buys")
    changes = changes_of(here.scenario)
    with parts.inputs:
        by = _measure(here)
        ticked = _ticked(changes)
        runs = int(st.number_input("Runs of each", 1, memo.MOST_RUNS, RUNS, key="each", bind="query-params", width=130))
    kinds = cautions_of_paths(path for change in ticked for path in change.changes)
    with parts.margin:
        for caution in buying.cautions_beside(kinds):
            memo.caution(caution)
        memo.assumed(here.scenario)
    if not ticked:
        memo.say(parts, "No change is ticked, so there is nothing to try.")
        return
    keys = None if len(ticked) == len(changes) else [change.key for change in ticked]
    wish = wished("buys", here.path, here.scenario, {"by": by, "changes": keys}, runs)
    found = following.follow(wish, parts, here)
    if found is None or found.wish != wish:
        with parts.progress:
            memo.far(f"{words.counted(len(ticked), 'change')}, {words.runs(runs)} of each, the largest again on fresh "
                     f"luck and on top of the first: about {_rounded(sum(guesses(len(ticked), runs)))} runs. What is "
                     "there is shown as it comes; stopped, it is kept.", None)
    if found is None:
        return
    if "tried" in found.numbers.get(SO_FAR, {}):
        _first_look(parts, found, here)
    else:
        _answer(parts, found, here)


# inputs --------------------------------------------------------------------------------------------------------------
def _measure(here: Chosen) -> str:
    """What is gained; money only where it can be counted."""
    able = [one for one in GAINED if one != "money" or has_money(here.scenario)]
    found = st.segmented_control("What is gained", able, format_func=lambda one: GAINED[one], default=able[0], key="by",
                                 bind="query-params", required=True)
    return str(found or able[0])


def _ticked(changes: Sequence[Change]) -> list[Change]:
    """The changes that are ticked, by area; those left out stand in the address."""
    out = set(st.query_params.get_all(LEFT_OUT))
    for change in changes:
        st.session_state.setdefault(_key(change), change.key not in out)
    ticked = [change for change in changes if st.session_state[_key(change)]]
    of = "all" if len(ticked) == len(changes) else f"{len(ticked)} of"
    with st.popover(f"Changes: {of} {len(changes)}", width=190, key="changes"):
        for takes, area in AREAS.items():
            mine = [change for change in changes if change.takes == takes]
            if mine:
                _area(takes, area, mine)
    left = [change.key for change in changes if change not in ticked]
    if left:
        st.query_params[LEFT_OUT] = left
    elif LEFT_OUT in st.query_params:
        del st.query_params[LEFT_OUT]
    return ticked


def _area(takes: str, area: str, mine: Sequence[Change]) -> None:
    """The changes of one area, and one tick for all of them."""
    key = f"area {takes}"
    st.session_state[key] = all(st.session_state[_key(change)] for change in mine)
    st.checkbox(f"**{area}** ({len(mine)})", key=key, on_change=_tick_all, args=(key, [_key(one) for one in mine]))
    with st.container(key=f"ticks-{takes.replace(' ', '-')}", gap=None):
        for change in mine:
            st.checkbox(words.sentence(change.words).rstrip("."), key=_key(change))


def _tick_all(area: str, keys: Sequence[str]) -> None:
    for key in keys:
        st.session_state[key] = st.session_state[area]


def _key(change: Change) -> str:
    return f"try {change.key}"


def _rounded(runs: int) -> str:
    """A guess is not said to the last run."""
    size = 100 if runs >= 1000 else 10
    return f"{max(size, round(runs / size) * size):,}"


# what is shown -------------------------------------------------------------------------------------------------------
def _first_look(parts: Parts, found: Found, here: Chosen) -> None:
    """The changes tried so far, while the others are tried."""
    numbers = found.numbers
    memo.answer(parts, found, numbers["sentences"])
    with parts.numbers:
        memo.numbers(_so_far_numbers(numbers))
        if not numbers[SO_FAR]["tried"]:
            return
        said = chart.first_look(numbers)
        memo.chart(said.title, said.reading, chart.chart(memo.mode(), numbers), chart.said(numbers))
    with parts.body:
        memo.table(buying.table_so_far(numbers))
        memo.cautions(here.scenario, numbers)


def _answer(parts: Parts, found: Found, here: Chosen) -> None:
    """The whole answer; or that of the first step, while it is tried what comes on top."""
    numbers = found.numbers
    sentences = on_a_page(numbers)
    memo.answer(parts, found, sentences, _marked(numbers))
    with parts.numbers:
        memo.numbers(_numbers(numbers))
        said = finding(numbers)
        memo.chart(said.title, said.reading, chart.chart(memo.mode(), numbers), chart.said(numbers))
    with parts.body:
        memo.more(sentences)
        for table in buying.tables(numbers):
            memo.table(table)
        downloads.row(found, here, lambda: buying.section(numbers))


def _marked(numbers: Mapping[str, Any]) -> list[str]:
    """The change that comes first, where it shows a gain."""
    row = numbers["first"]["run again"][0]
    return [words.sentence(row["change"]).rstrip(".")] if gained(numbers, row) else []


def _so_far_numbers(numbers: Mapping[str, Any]) -> list[Number]:
    part = numbers[SO_FAR]
    now = buying.as_it_is(numbers)
    looks = [row["first look"] for row in part["tried"]]
    return [Number("As the file says", *now, f"mean of {words.runs(numbers['runs'])}"),
            Number("Changes tried", f"{len(looks)} of {part['changes']}", "", "the others are to come" if part["coming"]
                   else "now the largest again"),
            Number("Show a gain so far", str(looks.count(GAINS)), "", "a first look")]


def _numbers(numbers: Mapping[str, Any]) -> list[Number]:
    """The largest gain, in how many runs, what comes on top, how many were tried."""
    step, second = numbers["first"], numbers["second"]
    row = step["run again"][0]
    found = row[numbers["by"]]
    more = []
    if gained(numbers, row):
        often = (found["gains in"], found["of"])
        more = [Number("Runs that gain", words.chance(*often), circles=often),
                _gain("On top of it", numbers, second["run again"][0]) if second else
                Number("On top of it", "being tried" if SO_FAR in numbers else "not tried")]
    return [_gain("Largest gain", numbers, row), *more,
            Number("Changes tried", str(len(step["tried"])), "", f"{words.runs(numbers['runs'])} of each")]


def _gain(label: str, numbers: Mapping[str, Any], row: Mapping[str, Any]) -> Number:
    by, found = numbers["by"], row[numbers["by"]]
    if found is None or not found["seen"]:
        return Number(label, "none seen", "", words.runs(numbers["runs"]))
    return Number(label, signed(numbers, found["mean"]), UNITS[by],
                  f"{signed(numbers, found['low'])} to {signed(numbers, found['high'])}")
