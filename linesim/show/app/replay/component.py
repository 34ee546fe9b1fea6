"""The moving floor as a part of the page: its own script and style, nothing from the network.

While it plays nothing is asked of the server; on a pause it hands back the minute that it stands at.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import streamlit as st

from ...palette import MODES, variables
from ...report.floors import floor_style

HERE = Path(__file__).parent
SCRIPTS = ("course.js", "picture.js", "strip.js", "replay.js")  # one program, in this order


def script() -> str:
    """The program."""
    return "\n".join((HERE / name).read_text(encoding="utf-8") for name in SCRIPTS)


def style() -> str:
    """Its rules, with the colours of a light and a dark page."""
    colours = "".join(f".replay[data-mode={name}]{{{variables(mode)}}}" for name, mode in MODES.items())
    return "\n".join((colours, floor_style(), (HERE / "replay.css").read_text(encoding="utf-8")))


@cache
def _component() -> Callable[..., Any]:
    return st.components.v2.component("linesim.replay", html='<div class="replay"></div>', css=style(), js=script())


def moving_floor(key: str, document: str, at: int, story: str) -> int | None:
    """Put the replay of a run on the page; gives the minute at which it was last paused, None before.

    `key` names the run and its visit, so that a run gone to again begins anew; `document` is what
    `telling.document_of` says as JSON, `at` the minute shown first, `story` the address of a story up to the serial.
    """
    found = _component()(key="floor", data={"key": key, "document": document, "at": at, "story": story},
                         on_minute_change=lambda: None)
    paused = found.minute
    return int(paused["minute"]) if paused and paused["run"] == key else None
