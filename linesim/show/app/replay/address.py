"""What stands in the address of the floor: the run and the moment, and the way to an aircraft's story."""

from __future__ import annotations

from datetime import datetime
from math import ceil
from urllib.parse import urlencode

from .one_run import OneRun

RUN, AT, SERIAL = "run", "at", "serial"
MOST_RUN = 9_999


def run_in(text: str | None, usual: int) -> int:
    """The number of a run as it stands in an address; the usual one where that says nothing useful."""
    return int(text) if text and text.isascii() and text.isdecimal() and int(text) <= MOST_RUN else usual


def minute_in(one: OneRun, text: str | None) -> int | None:
    """The minute of a moment in an address (2027-03-23T10:00); None where it is none of this run."""
    try:
        moment = datetime.fromisoformat(text or "")
    except ValueError:
        return None
    minute = round(one.sheet.calendar.of_moment(moment)) if moment.tzinfo is None else -1
    return minute if 0 <= minute <= one.until else None


def at_words(one: OneRun, minute: int) -> str:
    """A minute as it stands in an address."""
    return one.sheet.calendar.wall_text(float(minute)).replace(" ", "T")


def first_minute(one: OneRun) -> int:
    """Where a replay begins: at the first jam, else at the first step."""
    if one.jam is not None and one.jam.at <= one.until:
        return ceil(one.jam.at)
    return one.first_step


def story_of(scenario: str | None, run: int) -> str:
    """The address of an aircraft's story, up to its serial."""
    return f"story?{urlencode({'scenario': scenario or '', RUN: run})}&{SERIAL}="


def floor_of(scenario: str | None, one: OneRun, minute: int) -> str:
    """The address of the floor of a run at a minute."""
    return f"floor?{urlencode({'scenario': scenario or '', RUN: one.number, AT: at_words(one, minute)})}"
