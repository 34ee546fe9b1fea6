"""Working time on the clock: when somebody may work, and the arithmetic between working hours and instants.

An instant is real elapsed time in minutes since 00:00 of the scenario's start. A clock is a row of work blocks; its
reading is the working time passed so far. Work ends at the earliest instant with its reading; a planned moment, a slot
or a delay falls at the latest. Instants from readings are put on a grid of 2^-20 minute (under 0.1 ms), on which
clock times are exact, so that two ways to the same instant never differ by rounding.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from itertools import accumulate
from operator import itemgetter, sub
from typing import Final

NEVER: Final = math.inf
TOLERANCE: Final = 1e-7  # minutes: far under the grid, far over the rounding of sums
_GRID: Final = 1048576.0  # 2^20

_FIRST = itemgetter(0)  # instant of a block

Block = tuple[float, float, int]  # first instant, last instant, number of the shift date it belongs to


def on_grid(instant: float) -> float:
    """The instant on the grid."""
    return math.floor(instant * _GRID + 0.5) / _GRID


class Clock:
    """A row of work blocks in order of time, none overlapping."""

    __slots__ = ("_spans", "before", "dates", "ends", "reached", "starts", "stretch_ends", "stretch_reached")

    def __init__(self, blocks: Iterable[Block]) -> None:
        row = list(blocks)
        self.starts: list[float] = [block[0] for block in row]
        self.ends: list[float] = [block[1] for block in row]
        self.dates: list[int] = [block[2] for block in row]
        self._spans: list[tuple[float, float]] | None = None
        # reading at the end of each block, and at its start
        self.reached: list[float] = list(accumulate(map(sub, self.ends, self.starts)))
        self.before: list[float] = [0.0, *self.reached[:-1]] if row else []
        self.stretch_ends: list[float] = list(self.ends)  # last instant of the same shift date
        self.stretch_reached: list[float] = list(self.reached)  # reading at that instant
        dates, ends, reached = self.dates, self.stretch_ends, self.stretch_reached
        for i in range(len(dates) - 2, -1, -1):
            if dates[i] == dates[i + 1]:
                ends[i], reached[i] = ends[i + 1], reached[i + 1]

    def blocks(self) -> list[Block]:
        """The blocks."""
        return list(zip(self.starts, self.ends, self.dates, strict=True))

    def is_open(self, t: float) -> bool:
        """Whether somebody may work at `t` (the first instant of a block counts, the last does not)."""
        i = bisect_right(self.starts, t) - 1
        return i >= 0 and t < self.ends[i]

    def reading(self, t: float) -> float:
        """Working minutes passed up to `t`."""
        i = bisect_right(self.starts, t) - 1
        if i < 0:
            return 0.0
        end = self.ends[i]
        return self.reached[i] if t >= end else self.before[i] + (t - self.starts[i])

    def earliest(self, reading: float) -> float:
        """Earliest instant with that reading; NEVER beyond the last block."""
        i = bisect_left(self.reached, reading - TOLERANCE)
        if i == len(self.reached):
            return NEVER
        return on_grid(min(self.starts[i] + (reading - self.before[i]), self.ends[i]))

    def latest(self, reading: float) -> float:
        """Latest instant with that reading; NEVER beyond the last block."""
        i = bisect_right(self.reached, reading + TOLERANCE)
        if i == len(self.reached):
            return NEVER
        return on_grid(max(self.starts[i] + (reading - self.before[i]), self.starts[i]))

    def finish(self, t: float, minutes: float) -> float:
        """Earliest instant by which `minutes` of working time have passed since `t`."""
        return self.earliest(self.reading(t) + minutes) if minutes > 0 else t

    def later(self, t: float, minutes: float) -> float:
        """Latest instant with `minutes` more on the clock than at `t`."""
        return self.latest(self.reading(t) + minutes)

    def next_open(self, t: float) -> float:
        """First working instant at or after `t`."""
        i = bisect_right(self.starts, t) - 1
        if i >= 0 and t < self.ends[i]:
            return t
        return self.starts[i + 1] if i + 1 < len(self.starts) else NEVER

    def stretch_end(self, t: float) -> float:
        """Last working instant of the shift date in whose block `t` lies."""
        return self.stretch_ends[bisect_right(self.starts, t) - 1]

    def block(self, t: float) -> tuple[float, float]:
        """First and last instant of the block that began last at or before `t`."""
        i = bisect_right(self.starts, t) - 1
        return (self.starts[i], self.ends[i]) if i >= 0 else (NEVER, NEVER)

    def cut(self, start: float, end: float) -> list[tuple[float, float, bool]]:
        """The span cut at the blocks: first and last instant, and whether somebody may work."""
        starts, ends = self.starts, self.ends
        pieces: list[tuple[float, float, bool]] = []
        i, t = bisect_right(starts, start) - 1, start
        if i >= 0 and t < ends[i]:
            t = min(ends[i], end)
            pieces.append((start, t, True))
        while t < end:
            i += 1
            opens = starts[i] if i < len(starts) else NEVER
            if opens >= end:
                pieces.append((t, end, False))
                break
            if opens > t:
                pieces.append((t, opens, False))
            t = min(ends[i], end)
            pieces.append((opens, t, True))
        return pieces

    def spell(self, t: float, minutes: float) -> tuple[float, float, float]:
        """Work of `minutes` begun at `t`, inside a block: the reading at `t`, the instant it is done (NEVER, if not on
        this shift date), and the last working instant of the shift date."""
        i = bisect_right(self.starts, t) - 1
        stop, before, start, end = self.stretch_ends[i], self.before[i], self.starts[i], self.ends[i]
        reading = before + ((t if t < end else end) - start)
        if minutes <= 0:
            return reading, t, stop
        then = reading + minutes
        enough = then - TOLERANCE
        if self.stretch_reached[i] < enough:
            return reading, NEVER, stop
        if self.reached[i] < enough:
            i = bisect_left(self.reached, enough, i + 1)
            start, end, before = self.starts[i], self.ends[i], self.before[i]
        done = start + (then - before)
        return reading, math.floor((done if done < end else end) * _GRID + 0.5) / _GRID, stop

    def spans(self) -> list[tuple[float, float]]:
        """First and last working instant of each shift date."""
        if self._spans is None:
            self._spans = self._find_spans()
        return self._spans

    def _find_spans(self) -> list[tuple[float, float]]:
        spans: list[tuple[float, float]] = []
        previous = None
        for start, end, day in zip(self.starts, self.ends, self.dates, strict=True):
            if day == previous:
                spans[-1] = (spans[-1][0], end)
            else:
                spans.append((start, end))
            previous = day
        return spans


class Always(Clock):
    """The clock of work that needs nobody and no shift: it never stands."""

    __slots__ = ()

    def __init__(self) -> None:
        super().__init__([])

    def is_open(self, t: float) -> bool:
        return True

    def reading(self, t: float) -> float:
        return t

    def earliest(self, reading: float) -> float:
        return reading

    def latest(self, reading: float) -> float:
        return reading

    def finish(self, t: float, minutes: float) -> float:
        return t + minutes

    def next_open(self, t: float) -> float:
        return t

    def stretch_end(self, t: float) -> float:
        return NEVER

    def block(self, t: float) -> tuple[float, float]:
        return -NEVER, NEVER

    def cut(self, start: float, end: float) -> list[tuple[float, float, bool]]:
        return [(start, end, True)]

    def spell(self, t: float, minutes: float) -> tuple[float, float, float]:
        return t, t + minutes if minutes > 0 else t, NEVER


def joint(one: Sequence[Block], other: Sequence[Block]) -> list[Block]:
    """Blocks in which both may work; each keeps the shift date of `one`."""
    both: list[Block] = []
    i = j = 0
    while i < len(one) and j < len(other):
        start, end = max(one[i][0], other[j][0]), min(one[i][1], other[j][1])
        if start < end:
            both.append((start, end, one[i][2]))
        if one[i][1] <= other[j][1]:
            i += 1
        else:
            j += 1
    return both


def union(rows: Iterable[Sequence[Block]]) -> list[Block]:
    """Blocks in which any may work; the shift date of the first one counts."""
    merged: list[Block] = []
    for start, end, day in sorted(block for row in rows for block in row):
        if merged and start <= merged[-1][1]:
            if end > merged[-1][1]:
                merged[-1] = (merged[-1][0], end, merged[-1][2])
        else:
            merged.append((start, end, day))
    return merged


def without(row: Sequence[Block], gaps: Iterable[tuple[float, float]]) -> list[Block]:
    """The blocks, in order of time, with the gaps cut out."""
    blocks: list[Block] = []
    done = 0
    for first, last in merged(gaps):
        reach = bisect_left(row, last, done, key=_FIRST)
        blocks += row[done:reach]
        done, parts = reach, []
        while blocks and blocks[-1][1] > first:
            start, end, day = blocks.pop()
            if last < end:
                parts.append((last, end, day))
            if start < first:
                parts.append((start, first, day))
        blocks += reversed(parts)
    blocks += row[done:]
    return blocks


def merged(spans: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
    """Spans in order of time, those that meet joined."""
    found: list[tuple[float, float]] = []
    for first, last in sorted(spans):
        if found and first <= found[-1][1]:
            found[-1] = found[-1][0], max(last, found[-1][1])
        else:
            found.append((first, last))
    return found
