"""Hours by reason: the first true one at every instant, summed up and compared."""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterable
from math import inf, isclose
from typing import Any

from linesim.line.records import State

Piece = tuple[float, float, int]  # first and last instant, reason
Hours = dict[Any, float]
HELD = (State.OTHER_HALF, State.LINE_STOP, State.PULSE, State.BLOCKED)


def differ(what: str, expected: Hours, found: Hours, close: float = 1e-5) -> list[str]:
    """Where two tables of hours differ; what is missing is 0."""
    return [f"{what} {key}: {found.get(key, 0.0)} for {expected.get(key, 0.0)}" for key in {*expected, *found}
            if not isclose(expected.get(key, 0.0), found.get(key, 0.0), abs_tol=close)]


def lowest(pieces: Iterable[Piece]) -> list[Piece]:
    """The first true reason at every instant at which any is true, in order of time."""
    row = sorted(pieces)
    cuts = sorted({t for a, b, _ in row for t in (a, b)})
    found: list[Piece] = []
    active: list[Piece] = []
    n = 0
    for a, b in itertools.pairwise(cuts):
        active = [piece for piece in active if piece[1] > a]
        while n < len(row) and row[n][0] <= a:
            active.append(row[n])
            n += 1
        if active:
            found.append((a, b, min(state for _, _, state in active)))
    return found


def by_reason(pieces: Iterable[Piece], begin: float = -inf, end: float = inf) -> Hours:
    """Hours by reason between two instants."""
    found: Hours = defaultdict(float)
    for a, b, state in pieces:
        found[state] += max(0.0, min(b, end) - max(a, begin)) / 60
    return {state: hours for state, hours in found.items() if hours > 1e-9}
