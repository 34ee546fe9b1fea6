"""The page's side of a wish: its button, how far it is, and the answer as far as it is there.

`follow` is called once on a page, after its inputs were read. A wish is started by the button only, carried out by a
process of its own, and found again by what is asked: by another tab, after a reload, after the server was started anew.
"""

from __future__ import annotations

from pathlib import Path

import streamlit as st

from .. import words
from . import chosen, memo
from .chosen import Chosen
from .memo import Parts
from .pace import first_numbers
from .wish import (
    ANSWER,
    ASKED,
    FAILED,
    RUNNING,
    STARTING,
    STOP,
    STOPPED,
    WAITING,
    Found,
    Progress,
    Wish,
    ask_to_stop,
    begin,
    found_in,
    state_of,
)

POLL = 0.5  # seconds between looks at the progress
IN_ADDRESS = "asked"
NOT_BEGUN = "not begun"  # in the state of the session: why the button did nothing
STALE = "Inputs have changed since these numbers were made. Run again to renew them."
OTHER_CODE = "These numbers were made with another version of linesim. Run again to renew them."


def follow(wish: Wish, parts: Parts, here: Chosen, verb: str = "Run") -> Found | None:
    """Draw the button and the state of a wish; gives the answer to be shown, or None where there is none yet (what
    there is to say then is said)."""
    folder = wish.folder(chosen.results())
    seen = _seen(folder)  # looked at first: what comes while the page is drawn draws it again
    progress, found = state_of(folder), found_in(folder)
    going = progress is not None and progress.state in (STARTING, RUNNING)
    shown = found or _before(wish)
    with parts.inputs:
        _button(wish, folder, progress, verb)
    with parts.progress:
        if going:
            _far_on(folder, seen, shown is not None and found is None)
        elif progress is not None:
            _ended(progress, wish, here)
        memo.fault_lines([st.session_state.pop(NOT_BEGUN)] if NOT_BEGUN in st.session_state else [])
    if shown is None:
        _empty(wish, parts, progress, here)
        return None
    st.query_params[IN_ADDRESS] = shown.wish.id
    st.session_state[f"{IN_ADDRESS} {wish.question}"] = shown.wish.id
    if found is None:
        memo.line(parts, STALE)
    elif found.outdated and not going:
        memo.line(parts, OTHER_CODE)
    return shown


def _before(wish: Wish) -> Found | None:
    """The answer that this page showed last, or that its link names: of the same question and file, other inputs."""
    known = st.session_state.get(f"{IN_ADDRESS} {wish.question}") or st.query_params.get(IN_ADDRESS) or ""
    found = found_in(chosen.results() / ASKED / known) if known.isalnum() else None
    same = found is not None and (found.wish.question, found.wish.file) == (wish.question, wish.file)
    return found if same else None


def _button(wish: Wish, folder: Path, progress: Progress | None, verb: str) -> None:
    """One button: run, stop and keep, or run the rest. What it does is done before the page is drawn again."""
    if progress is not None and progress.state in (STARTING, RUNNING):
        st.button("Stop and keep", key="stop", on_click=ask_to_stop, args=(folder,))
        return
    left = progress.of - progress.done if progress is not None and progress.state in (STOPPED, FAILED) else 0
    label = f"{verb} the other {left:,}" if left > 0 and progress is not None and progress.done else \
        f"{verb} {wish.runs:,}"
    st.button(label, key="run", type="primary", on_click=_begin, args=(folder, wish))


def _begin(folder: Path, wish: Wish) -> None:
    try:
        begin(folder, wish)
    except OSError as error:
        st.session_state[NOT_BEGUN] = f"{folder}: it cannot be written ({error.strerror or error})."


@st.fragment(run_every=POLL)
def _far_on(folder: Path, seen: object, of_others: bool) -> None:
    """How far it is, looked at again and again; a new answer, or the end, draws the whole page."""
    if _seen(folder) != seen:
        st.rerun()
    progress, found = state_of(folder), found_in(folder)
    if progress is not None:
        memo.far(_far_words(progress, found, folder, of_others), progress.done / progress.of if progress.of else 0.0)


def _seen(folder: Path) -> object:
    """What makes it necessary to draw the whole page: the state and the answer."""
    progress = state_of(folder)
    state = progress.state if progress is not None else None
    try:
        answer = (folder / ANSWER).stat().st_mtime_ns  # it need not be read for this
    except OSError:
        answer = 0
    return (RUNNING if state == STARTING else state), answer


def _far_words(progress: Progress, found: Found | None, folder: Path, of_others: bool) -> str:
    if (folder / STOP).exists():
        return "Stopping: the runs at hand are finished and kept."
    if progress.what == WAITING:
        return "Waiting: another question is doing runs of the same scenario, which are used here, too."
    if not progress.of:
        return "Starting." + (" The numbers below are of the inputs before." if of_others else "")
    left = f", {_seconds(progress.left)} left" if progress.left is not None else ""
    text = f"Run {progress.done:,} of {progress.of:,}{left}."
    if found is not None:
        return f"{text} The numbers below are from {words.runs(found.runs)} of each scenario tried and will still move."
    return text + (" The numbers below are of the inputs before." if of_others else "")


def _seconds(left: float) -> str:
    if left < 90:
        return f"about {max(1, round(left))} s"
    return f"about {round(left / 60)} min"


def _ended(progress: Progress, wish: Wish, here: Chosen) -> None:
    """Stopped: what is kept. Failed: why, and how to repeat it."""
    if progress.state == STOPPED:
        kept = f" These {progress.done:,} are kept." if progress.done else ""
        of = f" of {progress.of:,}" if progress.of else ""
        memo.far(f"Stopped at {progress.done:,}{of} runs.{kept}", None)
    elif progress.state == FAILED:
        memo.fault_lines([f"It could not be carried out: {progress.why}"])


def _empty(wish: Wish, parts: Parts, progress: Progress | None, here: Chosen) -> None:
    """What the heading says while there is no number."""
    soon = f"about {first_numbers(chosen.results(), wish, here.scenario)} s"
    if progress is not None and progress.state == FAILED:
        memo.say(parts, "There is no answer: it could not be carried out.")
    elif progress is None or progress.state not in (STARTING, RUNNING):
        memo.say(parts, f"No run yet. Press the button for {words.runs(wish.runs)} of {wish.name}.",
                 [f"First numbers take {soon}; they are renewed as more runs are done."])
    else:
        memo.say(parts, f"The first numbers come in {soon}.")
