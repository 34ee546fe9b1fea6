"""Shifts and their work blocks, the reference clock and the rate plan on it, in exact fractions of minutes."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from typing import NamedTuple

HOUR, DAY, QUARTER = 60, 1440, 15       # minutes
FOREVER = Fraction(10 ** 9)
Span = tuple[Fraction, Fraction]


@dataclass(frozen=True)
class Shift:
    """A shift in minutes after midnight: its work blocks outright, or what is taken out of it."""

    work: tuple[tuple[int, int], ...] = ()
    start: int = 0
    end: int = 0
    meal: int = 0
    breaks: int = 0
    meeting: int = 0
    clean_down: int = 0
    start_check: int = 0
    end_check: int = 0
    weekdays: tuple[int, ...] = (0, 1, 2, 3, 4)

    def blocks(self) -> list[tuple[int, int]]:
        """Work blocks: checks and meeting at the start, clean-down and check at the end, meal and breaks inside."""
        if self.work:
            return list(self.work)
        meal = _middle(self.start, self.end, self.meal)
        out = [meal, *(_middle(*half, self.breaks / 2) for half in ((self.start, meal[0]), (meal[1], self.end)))]
        out += [(self.start, self.start + self.start_check + self.meeting),
                (self.end - self.clean_down - self.end_check, self.end)]
        worked = [not any(a <= minute < b for a, b in out) for minute in range(self.start, self.end)]
        edges = [n for n in range(len(worked) + 1) if (n < len(worked) and worked[n]) != (n > 0 and worked[n - 1])]
        return [(self.start + a, self.start + b) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _middle(start: float, end: float, length: float) -> tuple[int, int]:
    begins = int((start + (end - start - length) / 2) // QUARTER) * QUARTER
    return begins, int(begins + length)


@dataclass(frozen=True)
class RatePlan:
    """A takt in work days with dated steps, from the first working minute at or after a moment."""

    takt: Fraction
    steps: tuple[tuple[date, Fraction], ...] = ()
    first: Fraction = Fraction(0)


class Duty(NamedTuple):
    """One shift on one date."""

    shift: str
    day: date
    blocks: tuple[Span, ...]


class Calendar:
    """Work blocks in minutes since 00:00 of the start."""

    def __init__(self, start: date, end: date, shifts: dict[str, Shift], closed: frozenset[date]) -> None:
        self.start = start
        self.last = Fraction(((end - start).days + 1) * DAY)
        self.duties: dict[str, list[Duty]] = {name: [] for name in shifts}
        of_a_day = {name: shift.blocks() for name, shift in shifts.items()}
        for n in range((end - start).days + 60):        # a delay may reach beyond the end
            day = start + timedelta(n)
            for name, shift in shifts.items():
                if day.weekday() in shift.weekdays and day not in closed:
                    blocks = tuple((Fraction(n * DAY + a), Fraction(n * DAY + b)) for a, b in of_a_day[name])
                    self.duties[name].append(Duty(name, day, blocks))
        reference = next(iter(shifts))
        self.clock = [block for duty in self.duties[reference] for block in duty.blocks]
        self.at_work = {name: [(block, duty) for duty in duties for block in duty.blocks]
                        for name, duties in self.duties.items()}
        self.work_day = Fraction(sum(b - a for a, b in of_a_day[reference]))

    def on_duty(self, shift: str, now: Fraction) -> Duty | None:
        """Who of a shift is at work now: nobody in a meal or a break."""
        n = bisect_right(self.at_work[shift], now, key=lambda entry: entry[0][0]) - 1
        (_, ends), duty = self.at_work[shift][n] if n >= 0 else ((now, now), None)
        return duty if now < ends else None

    def union(self, shifts: Iterable[str]) -> list[Span]:
        """Time in which any of the shifts works."""
        merged: list[Span] = []
        for a, b in sorted(block for name in shifts for duty in self.duties[name] for block in duty.blocks):
            if merged and a <= merged[-1][1]:
                merged[-1] = (merged[-1][0], max(b, merged[-1][1]))
            else:
                merged.append((a, b))
        return merged

    def edges(self) -> list[Fraction]:
        """All instants at which a block begins or ends."""
        return sorted({t for duties in self.duties.values() for d in duties for block in d.blocks for t in block})

    def reading(self, now: Fraction) -> Fraction:
        """Working minutes of the reference shift before now."""
        begun = self.clock[:bisect_right(self.clock, now, key=lambda block: block[0])]
        return sum((min(b, now) - a for a, b in begun), Fraction(0))

    def latest(self, reading: Fraction) -> Fraction:
        """Latest instant with that reading: the end of a block reads as the first minute of the next."""
        for a, b in self.clock:
            if reading < b - a:
                return a + reading
            reading -= b - a
        return FOREVER

    def later(self, now: Fraction, work_days: Fraction) -> Fraction:
        """So many work days later."""
        return self.latest(self.reading(now) + work_days * self.work_day)

    def one_takt_after(self, moment: Fraction, plan: RatePlan) -> Fraction:
        """The next planned moment: the takt is the one in force at the moment counted from."""
        day = self.start + timedelta(int(moment // DAY))
        takt = next((takt for begins, takt in reversed(plan.steps) if begins <= day), plan.takt)
        return self.later(moment, takt)


def meet(one: Iterable[Span], other: Iterable[Span], now: Fraction) -> list[Span]:
    """Time that lies in both, from now on."""
    both = [(max(a, c, now), min(b, d)) for a, b in one for c, d in other if a < d and c < b]
    return sorted(span for span in both if span[0] < span[1])


def without(spans: list[Span], outages: Iterable[Span]) -> list[Span]:
    """What outages leave of time."""
    for out, back in outages:
        spans = [piece for a, b in spans for piece in ((a, min(b, out)), (max(a, back), b)) if piece[0] < piece[1]]
    return spans
