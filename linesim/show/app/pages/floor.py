"""Where is every aircraft, and what is it waiting for? One run, day by day."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import streamlit as st

from ....line.sheet import Sheet
from ....scenario.scenario import Scenario
from ...floor_layout import WIDE, layout
from ...floor_picture import picture_svg
from ...floor_words import jam_sentence, marks
from ...report import cautions
from .. import chosen, memo
from ..chosen import Chosen
from ..memo import Parts
from ..places import results
from ..replay import address, kept
from ..replay.component import moving_floor
from ..replay.files import as_csv, as_workbook
from ..replay.kept import Kept
from ..replay.moment_table import table_of
from ..replay.one_run import OneRun, came_from, digest_of, done_again, jam_words, key_of, marked_in, worst_words

NONE_KEPT = ("No runs of this scenario are kept yet. Once Quarters or Dates has run it, a middle, a slow and a fast "
             "run can be taken here.")
PICKED, RUN, SHOWN = "floor_take", "floor_run", "floor_shown"  # in the state of the session


class Shown(NamedTuple):
    """The run that is shown by its key, the how-manieth run of this session it is, and the minute it stands at."""

    key: str
    visit: int
    minute: int


def page() -> None:
    """Which run, the replay, the same moment as a table."""
    here = chosen.here("floor")
    parts = memo.parts("floor")
    seed = here.scenario.seed
    folder = kept.folder_of(results(), here.stem, here.scenario, seed)
    found = _kept(str(folder), kept.stamp(folder), key_of(here.scenario, seed, 0), here.scenario)
    number = _which(parts, found)
    one = _one_run(parts, here, number)
    sentence = jam_sentence(one.sheet, one.number, one.jam)
    memo.say(parts, sentence, [*jam_words(one), *worst_words(one)], marked_in(one), came_from(here.name, one))
    with parts.margin:
        memo.caution(cautions.ONE_RUN)
    with parts.body:
        _replay(here.stem, one, found, _begin(one), address.story_of(st.session_state.get(chosen.IN_ADDRESS), number))
        memo.assumed(here.scenario)


def _which(parts: Parts, found: Kept) -> int:
    """The number of the run, typed or taken from those that are kept."""
    if RUN not in st.session_state:
        st.session_state[RUN] = address.run_in(st.query_params.get(address.RUN), found.picks.get(kept.MIDDLE, 0))

    def take() -> None:
        if st.session_state[PICKED] is not None:
            st.session_state[RUN] = found.picks[st.session_state[PICKED]]

    with parts.inputs:
        number = int(st.number_input("Which run", 0, address.MOST_RUN, key=RUN, width=150, persist_state="session"))
        if found.picks:
            st.session_state[PICKED] = next((name for name, of in found.picks.items() if of == number), None)
            st.segmented_control(f"Or of the {found.runs} kept take a", list(found.picks), key=PICKED,
                                 on_change=take)
    if not found.picks:
        parts.progress.html(f'<p class="cap">{NONE_KEPT}</p>')
    st.query_params[address.RUN] = str(number)
    return number


def _one_run(parts: Parts, here: Chosen, number: int) -> OneRun:
    """The run, done again unless it was done before."""
    room = parts.progress.empty()
    room.html(f'<p class="cap" role="status">Run {number} is done again, alone.</p>')
    one = _done(key_of(here.scenario, here.scenario.seed, number), here.scenario, number)
    room.empty()
    return one


def _begin(one: OneRun) -> Shown:
    """What is shown first: where this run was left, else the moment in the address, else the first jam."""
    shown: Shown | None = st.session_state.get(SHOWN)
    if shown is None:
        asked = address.minute_in(one, st.query_params.get(address.AT))
        shown = Shown(one.key, 0, address.first_minute(one) if asked is None else asked)
    elif shown.key != one.key:
        shown = Shown(one.key, shown.visit + 1, address.first_minute(one))
    st.session_state[SHOWN] = shown
    return shown


@st.fragment
def _replay(stem: str, one: OneRun, found: Kept, begin: Shown, story: str) -> None:
    """The picture, and below it what a pause shows: nothing else of the page is drawn anew for it."""
    paused = moving_floor(f"{one.key}/{begin.visit}", one.document, begin.minute, story)
    minute = st.session_state[SHOWN].minute if paused is None else paused
    st.session_state[SHOWN] = begin._replace(minute=minute)
    st.query_params[address.AT] = address.at_words(one, minute)
    memo.table(table_of(one, minute, found.by_date, story))
    _downloads(stem, one, found, minute)


def _downloads(stem: str, one: OneRun, found: Kept, minute: int) -> None:
    """The table and the picture of the moment; they are made when they are asked for."""
    moment = one.sheet.calendar.wall_text(float(minute))
    name = f"{stem}_floor_{digest_of(one)}_run{one.number}_{moment[:10]}"
    table = table_of(one, minute, found.by_date)
    with st.container(horizontal=True, gap="small"):
        st.download_button("Table, XLSX", lambda: as_workbook(table), f"{name}.xlsx", on_click="ignore")
        st.download_button("Table, CSV", as_csv(table), f"{name}.csv", "text/csv", on_click="ignore")
        st.download_button("Picture of this moment, SVG", lambda: picture_svg(
            layout(one.sheet, WIDE), marks(one.sheet, one.floor.at(float(minute))),
            f"{one.sheet.scenario.name}, run {one.number}, {moment}"), f"{name}.svg", "image/svg+xml",
            on_click="ignore")


@st.cache_resource(show_spinner=False, max_entries=6)
def _done(key: str, _scenario: Scenario, number: int) -> OneRun:
    return done_again(_scenario, _scenario.seed, number)


@st.cache_data(show_spinner=False, max_entries=10)
def _kept(folder: str, stamp: tuple[tuple[str, int], ...], key: str, _scenario: Scenario) -> Kept:
    return kept.kept_in(Path(folder), Sheet(_scenario), _scenario.seed)
