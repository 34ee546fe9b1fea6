"""The frame of all pages: settings, style, the links along the top, the scenario at the side."""

from __future__ import annotations

from importlib import import_module
from importlib.util import find_spec
from typing import Any, NamedTuple

import streamlit as st

from . import chosen, memo
from .style import style


class Place(NamedTuple):
    """A page: its link along the top (or only on other pages) and its place in the address ("": the first)."""

    link: str
    url: str
    module: str
    on_top: bool = True


PAGES = (
    Place("Rate", "", "rate"),
    Place("Crew", "crew", "crew"),
    Place("Quarters", "quarters", "quarters"),
    Place("Dates", "dates", "dates"),
    Place("Next ten days", "next", "ten_days"),
    Place("What buys most", "buys", "buys"),
    Place("Why late", "late", "late"),
    Place("Side by side", "beside", "beside"),
    Place("The floor", "floor", "floor"),
    Place("The plant", "plant", "plant"),
    Place("Why believe it", "believe", "believe"),
    Place("One aircraft", "story", "story", on_top=False),
)


def main() -> None:
    """Draw the page that is asked for."""
    begin_page()
    st.navigation([_page(place) for place in PAGES if find_spec(f"{__package__}.pages.{place.module}")],
                  position="top").run()


def begin_page() -> None:
    """What every page has: settings, style, the scenario at the side."""
    st.set_page_config(page_title="linesim", layout="wide", initial_sidebar_state="auto")
    st.html(style(memo.mode()))
    chosen.sidebar()


def draw(module: str) -> None:
    """One page, by the name of its module."""
    import_module(f".pages.{module}", __package__).page()


def _page(place: Place) -> Any:
    def drawn() -> None:
        draw(place.module)

    drawn.__name__ = place.module
    if place.url:
        return st.Page(drawn, title=place.link, url_path=place.url,
                       visibility="visible" if place.on_top else "hidden")
    return st.Page(drawn, title=place.link, default=True)
