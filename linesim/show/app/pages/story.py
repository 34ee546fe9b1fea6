"""What happened to one aircraft, and what set its date?"""

from __future__ import annotations

from base64 import b64encode
from functools import partial
from math import ceil
from typing import Any

import streamlit as st
from markupsafe import Markup

from ....questions.story import Story, UnknownSerial, number_of, story
from ....questions.story_numbers import numbers_of_story
from ....scenario.scenario import Scenario
from ... import words
from ...report import cautions
from ...story_picture import READ_SO, title
from ...story_words import opening, set_by
from .. import chosen, memo
from ..memo import Parts
from ..replay import address, files, story_tables
from ..replay.one_run import OneRun, came_from, digest_of, done_again, key_of

RUN, SERIAL = "story_run", "story_serial"  # in the state of the session


def page() -> None:
    """Which aircraft of which run, its life as one line, and all that happened."""
    here = chosen.here("story")
    parts = memo.parts("story")
    if RUN not in st.session_state:
        st.session_state[RUN] = address.run_in(st.query_params.get(address.RUN), 0)
    with parts.inputs:
        number = int(st.number_input("Which run", 0, address.MOST_RUN, key=RUN, width=150, persist_state="session"))
    one = _done(key_of(here.scenario, here.scenario.seed, number), here.scenario, number)
    serial = _serial(parts, one)
    st.query_params.update({address.RUN: str(number), address.SERIAL: serial})
    life = story(one.sheet, one.floor.records, serial)
    numbers = numbers_of_story(one.sheet, one.floor.records, life, one.seed)
    lived = numbers["begins"] is not None
    memo.say(parts, opening(numbers), [set_by(numbers)] if lived else [], [serial], came_from(here.name, one))
    with parts.margin:
        memo.caution(cautions.ONE_RUN)
    if not lived:
        return
    with parts.numbers:
        memo.numbers(_numbers(numbers))
    with parts.body:
        _picture(one, life, numbers)
        scenario = st.session_state.get(chosen.IN_ADDRESS)
        memo.table(story_tables.places(numbers, [
            address.floor_of(scenario, one, ceil(stay.arrived)) for stay in life.stays]))
        memo.table(story_tables.reasons(numbers))
        events = story_tables.events(numbers)
        with st.expander(f"Everything that happened to {serial}, {len(events.rows)} lines"):
            memo.table(events)
        _downloads(f"{here.stem}_story_{digest_of(one)}_run{number}_{serial}", one, life, numbers)


def _picture(one: OneRun, life: Story, numbers: dict[str, Any]) -> None:
    """The life as one line; on a narrow page it is moved sideways."""
    memo.head(title(life, numbers), READ_SO)
    picture = story_tables.picture_of(one.sheet, life, numbers, "svg", memo.mode(), titled=False)
    st.html(Markup('<div class="wide" tabindex="0" role="region" aria-label="The life as one line"><img '
                   'style="min-width:880px;width:100%" alt="{}" src="data:image/svg+xml;base64,{}"></div>').format(
        f"{opening(numbers)} The tables below hold the same stays and hours.", b64encode(picture).decode()))


def _downloads(name: str, one: OneRun, life: Story, numbers: dict[str, Any]) -> None:
    """Tables and picture; they are made when they are asked for."""
    tables = [story_tables.places(numbers), story_tables.reasons(numbers), story_tables.events(numbers)]
    with st.container(horizontal=True, gap="small"):
        st.download_button("Table, XLSX", partial(files.as_workbook, *tables), f"{name}.xlsx", on_click="ignore")
        st.download_button("Table, CSV", files.as_csv(tables[2]), f"{name}.csv", "text/csv", on_click="ignore")
        for kind, mime in (("svg", "image/svg+xml"), ("png", "image/png")):
            st.download_button(f"Picture, {kind.upper()}",
                               partial(story_tables.picture_of, one.sheet, life, numbers, kind), f"{name}.{kind}", mime,
                               on_click="ignore")


def _serial(parts: Parts, one: OneRun) -> str:
    """The aircraft that is told of: typed, or as the address names it."""
    serials = one.floor.records.serials
    if not serials:
        parts.heading.html("<p>No aircraft is ordered in this scenario.</p>")
        st.stop()
    usual = one.jam.serial if one.jam is not None else serials[0]
    asked = st.session_state.get(SERIAL) or st.query_params.get(address.SERIAL) or usual
    try:
        number_of(one.floor.records, asked)
    except UnknownSerial as fault:
        parts.progress.html(Markup('<p class="fault">{} {} is shown.</p>').format(words.sentence(str(fault)), usual))
        asked = usual
    st.session_state[SERIAL] = asked
    with parts.inputs:
        return str(st.selectbox("Serial", serials, key=SERIAL, width=180, persist_state="session"))


def _numbers(numbers: dict[str, Any]) -> list[memo.Number]:
    wait, reason = story_tables.largest_wait(numbers)
    promise, promised = story_tables.against_promise(numbers)
    begins = "on the line at the start" if numbers["on the line at the start"] else f"from {numbers['begins'][:10]}"
    return [
        memo.Number("Calendar days", story_tables.days(numbers), "", begins),
        memo.Number("Hours of people on it", words.hours(numbers["worked, hours of people"])),
        memo.Number("Against its promise", promise, "", promised),
        memo.Number("Longest in what set it", wait, "work days" if reason else "", reason)]


@st.cache_resource(show_spinner=False, max_entries=6)
def _done(key: str, _scenario: Scenario, number: int) -> OneRun:
    return done_again(_scenario, _scenario.seed, number)
