"""Forms that add a package or a position in its place in the flow."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import streamlit as st

from ...scenario.tree import value_at
from .. import words
from . import memo
from .desk import Desk
from .editing.adding import with_package, with_position
from .editing.cells import meant
from .editing.edits import values_of
from .editing.fixed import Refused

KINDS = {"work": "Work by people", "hold": "Hold: time only", "buy-off": "Buy-off by an inspector"}


def add_package(here: Desk) -> None:
    """A package with its own cure, inspection and leave to travel, which stay as they are set here."""
    values = values_of(here.draft.now)
    with _form(here, "Add a package", "plant_new_package"):
        st.caption("It comes last in its position, before the buy-off that closes it, which then waits for it, too. "
                   "Cure, hold, inspection and leave to travel are set here once.")
        position = st.selectbox("Position", _names(values, "positions"))
        found: dict[str, Any] = {"id": st.text_input("Short name, used once in the plant"),
                                 "name": st.text_input("What is done")}
        kind = st.selectbox("What it is", list(KINDS), format_func=KINDS.__getitem__)
        trade = st.selectbox("Trade", ["", *map(str, value_at(("trades",), values) or ())])
        hours = st.number_input("Hours: labour, or of a hold elapsed", 0.0, value=None)
        most = st.number_input("Crew max", 1, value=None)
        after = st.text_input("After (packages of this position, parted by ;)",
                              help="Empty: after the one above it. none: after nothing.")
        cure = st.number_input("Cure hours behind it", 0.0, value=None)
        inspection = st.number_input("Inspection hours behind it", 0.0, value=None)
        travels = st.checkbox("It may travel unfinished")
        if not _pressed(here, "Add this package"):
            return
    hold = kind == "hold"
    found |= {"kind": kind if kind != "work" else None, "trade": trade, "hours": None if hold else _plain(hours),
              "elapsed_hours": _plain(hours) if hold else None, "crew_max": _plain(most),
              "after": meant(after, "names"), "inspection_hours": _plain(inspection), "cure_hours": _plain(cure),
              "can_travel": travels or None}
    _added(here, lambda: with_package(here.draft.now, str(position), found))


def add_position(here: Desk) -> None:
    """A position behind another one; its packages are added in their own table."""
    values = values_of(here.draft.now)
    with _form(here, "Add a position", "plant_new_position"):
        behind = st.selectbox("Behind", ["", *_names(values, "positions")],
                              format_func=lambda one: one or "as the first")
        found: dict[str, Any] = {"id": st.text_input("Short name, used once in the plant"),
                                 "name": st.text_input("What it is"), "area": st.text_input("Area of the plant")}
        found["half"] = st.selectbox("Before mate", ["", "fuselage", "wing"],
                                     format_func=lambda one: one or "the whole aircraft")
        docks = st.number_input("Docks", 1, value=1)
        parking = st.number_input("Parking before it", 0, value=0)
        if not _pressed(here, "Add this position"):
            return
    found |= {"docks": docks if docks > 1 else None, "parking": parking or None}
    _added(here, lambda: with_position(here.draft.now, str(behind), found))


@contextmanager
def _form(here: Desk, name: str, key: str) -> Iterator[None]:
    """A form behind a button; closed and empty again once what it says was added."""
    with st.popover(name, key=f"{key}_opened_{here.drawn}"), st.form(f"{key}_{here.drawn}", border=False,
                                                                    enter_to_submit=False):
        yield


def _pressed(here: Desk, name: str) -> bool:
    """The button at the foot of a form; below it why what it said was not added."""
    pressed = bool(st.form_submit_button(name, type="primary"))
    memo.fault_lines([words.sentence(here.unadded)] if here.unadded else [])
    return pressed


def _added(here: Desk, made: Any) -> None:
    try:
        here.add(made())
    except Refused as refused:
        here.unadded = str(refused)
    st.rerun()


def _names(values: Any, section: str) -> list[str]:
    return [str(one["id"]) for one in value_at((section,), values) or () if isinstance(one, dict) and "id" in one]


def _plain(number: float | None) -> float | int | None:
    """A number as a planner writes it: without a point where it is whole."""
    return meant(number, "number") if number else None
