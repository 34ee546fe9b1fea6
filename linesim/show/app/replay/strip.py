"""When it jams, at a glance: how many stand on the floor in which state, at every even hour in which somebody works."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from functools import cache
from math import ceil

import numpy as np
from numpy.typing import NDArray

from ....line.sheet import HOUR, Sheet
from ....measures.moment import FAMILIES
from .course import NOWHERE, Course, state_of

STEP_HOURS = 2
LIKE: tuple[str, ...] = ("blocked", "waiting", "hold", "rework", "off shift", "work")  # from the foot of a column up


@dataclass(frozen=True, slots=True)
class Strip:
    """One column for each step."""

    steps: list[int]                     # minutes since the start
    counts: Mapping[str, list[int]]      # by state, of each step: aircraft, and halves each by itself


@cache
def family_of(state: int) -> str:
    """State of a change as one of LIKE."""
    found = state_of(state)
    return "off shift" if found is None else FAMILIES[found]


@dataclass(frozen=True, slots=True)
class Worst:
    """The first step at which most stand blocked at once."""

    minute: int
    blocked: int
    standing: int


def worst_in(strip: Strip) -> Worst | None:
    """Where most stand blocked; None where there are never two at once: one alone is no jam."""
    blocked = strip.counts["blocked"]
    most = max(blocked)
    n = blocked.index(most)
    return Worst(strip.steps[n], most, sum(of[n] for of in strip.counts.values())) if most > 1 else None


def steps_of(sheet: Sheet, until: int) -> list[int]:
    """The even hours of the clock from the first to the last working instant of each shift date, as minutes since the
    start; one that falls into a break, the minute after it. Of a shift date without any, its first minute."""
    calendar, manned = sheet.calendar, sheet.manned_clock()
    even = [calendar.instant(sheet.scenario.start + timedelta(days=n), hour * HOUR)
            for n in range(calendar.day_number(float(until)) + 1) for hour in range(0, 24, STEP_HOURS)]
    found: set[int] = set()
    for first, last in manned.spans():
        within = even[bisect_left(even, first):bisect_left(even, last)] or [first]
        found.update(ceil(manned.next_open(t)) for t in within)
    return sorted(minute for minute in found if minute <= until) or [0]


def strip_of(course: Course, steps: Sequence[int]) -> Strip:
    """What stands on the floor at each step."""
    at = np.asarray(steps)
    counts: dict[str, NDArray[np.int64]] = {like: np.zeros(len(steps) + 1, dtype=np.int64) for like in LIKE}
    last: dict[int, tuple[int, str]] = {}  # part -> since which step, and in what

    def put(part: int, step: int) -> None:
        if part in last:
            since, like = last.pop(part)
            counts[like][since] += 1
            counts[like][step] -= 1

    first_steps = np.searchsorted(at, [change.minute for change in course.changes], side="left").tolist()
    for change, step in zip(course.changes, first_steps, strict=True):
        put(change.part, step)
        if change.stay != NOWHERE:
            last[change.part] = (step, family_of(change.state))
    for part in list(last):
        put(part, len(steps))
    return Strip(list(steps), {like: np.cumsum(number)[:-1].tolist() for like, number in counts.items()})
