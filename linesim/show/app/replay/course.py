"""The course of one run: from which minute on what stands where, and in which reason it is.

It holds at every whole minute, exactly as `measures.moment` says of that instant: what changes between two minutes is
told from the later one on. An aircraft, or a half before mate, is a part; it stands in one dock or spot, or nowhere.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil
from typing import NamedTuple

import numpy as np

from ....line.records import Segment, State, Visit
from ....measures.columns import HALVES
from ....measures.moment import Floor

NOWHERE = -1
UNKNOWN = 0  # in place of a state: what it waits for is recorded under another serial

Piece = tuple[int, int, int, int]  # first minute, first minute after it, rank, number of the segment


class Part(NamedTuple):
    """An aircraft, or a half of it before mate."""

    serial: int
    half: str


class Change(NamedTuple):
    """From this minute on a part stands so; `stay` is its number in `Course.stays`, or NOWHERE."""

    minute: int
    part: int
    stay: int
    state: int
    jobs: tuple[str, ...]
    trades: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Course:
    """All changes of one run in order of time, from minute 0 to `until`."""

    parts: list[Part]
    stays: list[tuple[Visit, int]]  # each with the number of its dock or spot, from 0
    changes: list[Change]
    until: int


def course_of(floor: Floor, until: int) -> Course:
    """The course of a run up to a minute."""
    stays_of: dict[Part, list[int]] = defaultdict(list)
    for n, (stay, _) in enumerate(floor.stays):
        stays_of[Part(stay.serial, stay.half)].append(n)
    parts = sorted(stays_of, key=lambda part: (part.serial, HALVES[part.half]))
    pieces = _pieces(floor, until)
    segments = floor.segments
    changes = [change for n, part in enumerate(parts) for change in _changes(
        n, [(k, floor.stays[k][0]) for k in stays_of[part]], pieces.get(part, []), segments, until)]
    return Course(parts, floor.stays, sorted(changes, key=lambda one: (one.minute, one.part)), until)


def _pieces(floor: Floor, until: int) -> dict[Part, list[Piece]]:
    """What is true of each part, in whole minutes; what begins and ends within one is left out."""
    columns, pieces = floor.ledger.columns, floor.ledger.pieces
    start, end = np.ceil(pieces.start).astype(np.int64), np.ceil(pieces.end).astype(np.int64)
    keep = np.flatnonzero((start < end) & (start <= until))
    row = pieces.row[keep]
    names = {n: half for half, n in HALVES.items()}
    found: dict[Part, list[Piece]] = defaultdict(list)
    for serial, half, *piece in zip(columns.serial[row].tolist(), columns.half[row].tolist(), start[keep].tolist(),
                                    end[keep].tolist(), pieces.rank[keep].tolist(), row.tolist(), strict=True):
        found[Part(serial, names[half])].append((piece[0], piece[1], piece[2], piece[3]))
    return found


def _changes(part: int, stays: Sequence[tuple[int, Visit]], pieces: list[Piece], segments: Sequence[Segment],
             until: int) -> Iterator[Change]:
    """Those of one part, whose stays are in order of time."""
    here = [(ceil(stay.arrived), ceil(stay.left), n) for n, stay in stays if ceil(stay.arrived) < ceil(stay.left)]
    arrivals = [arrived for arrived, _, _ in here]
    said: tuple[object, ...] = ()  # what was looked at last: stay, reason, segments
    last: Change | None = None
    for minute, true in _sweep(pieces, [moment for arrived, left, _ in here for moment in (arrived, left)]):
        if minute > until:
            return
        at = bisect_right(arrivals, minute) - 1
        stay = here[at][2] if at >= 0 and minute < here[at][1] else NOWHERE
        lowest = min(true, default=UNKNOWN) if stay != NOWHERE else UNKNOWN
        rows = sorted(true.get(lowest, ())) if stay != NOWHERE else []
        if said == (said := (stay, lowest, rows)) or (last is None and stay == NOWHERE):
            continue
        found = [segments[row] for row in rows]
        change = Change(minute, part, stay, lowest, tuple(dict.fromkeys([s.job for s in found if s.job])),
                        tuple(dict.fromkeys([s.trade for s in found if s.trade])))
        if last is None or change[2:] != last[2:]:
            last = change
            yield change


def _sweep(pieces: list[Piece], more: list[int]) -> Iterator[tuple[int, dict[int, dict[int, int]]]]:
    """Every minute at which anything begins or ends, with what is true from it on: rank, segment, how many times."""
    events = sorted([(start, 1, rank, row) for start, _, rank, row in pieces]
                    + [(end, -1, rank, row) for _, end, rank, row in pieces] + [(minute, 0, 0, 0) for minute in more])
    true: dict[int, dict[int, int]] = {}
    for n, (minute, step, rank, row) in enumerate(events):
        if step:
            of_rank = true.setdefault(rank, {})
            of_rank[row] = of_rank.get(row, 0) + step
            if not of_rank[row]:
                del of_rank[row]
            if not of_rank:
                del true[rank]
        if n + 1 == len(events) or events[n + 1][0] != minute:
            yield minute, true


def state_of(state: int) -> State | None:
    """The state of a change; None where it is recorded under another serial."""
    return State(state) if state != UNKNOWN else None
