"""Spans of time as lists of (first, last), in order: what they share, what is left of them, how long they last, how
many last at once."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from math import inf

Spans = list[tuple[float, float]]


def joined(spans: Spans) -> Spans:
    """Spans that overlap or touch as one."""
    found: Spans = []
    for a, b in sorted(spans):
        if found and a <= found[-1][1]:
            found[-1] = (found[-1][0], max(b, found[-1][1]))
        else:
            found.append((a, b))
    return found


def common(a: Spans, b: Spans) -> Spans:
    """What two lists of spans share."""
    found, m, n = [], 0, 0
    while m < len(a) and n < len(b):
        first, last = max(a[m][0], b[n][0]), min(a[m][1], b[n][1])
        if first < last:
            found.append((first, last))
        if a[m][1] < b[n][1]:
            m += 1
        else:
            n += 1
    return found


def without(a: Spans, b: Spans) -> Spans:
    """The first list less the second."""
    for first, last in b:
        a = [span for x, y in a for span in ((x, min(y, first)), (max(x, last), y)) if span[0] < span[1]]
    return a


def inside(spans: Spans, t: float) -> bool:
    """Whether an instant lies in one of them."""
    n = bisect_right(spans, (t, inf)) - 1
    return n >= 0 and t < spans[n][1]


def lasts(spans: Spans, first: float, last: float) -> float:
    """Minutes of spans between two instants."""
    n = max(bisect_right(spans, (first, inf)) - 1, 0)
    found = 0.0
    while n < len(spans) and spans[n][0] < last:
        found += max(0.0, min(spans[n][1], last) - max(spans[n][0], first))
        n += 1
    return found


def most_at_once(spans: Iterable[tuple[float, float, int]]) -> int:
    """Largest sum of weights of spans that overlap; what ends at an instant is gone at it."""
    events = sorted((t, change) for a, b, n in spans if b > a for t, change in ((a, n), (b, -n)))
    most = now = 0
    for _, change in events:
        now += change
        most = max(most, now)
    return most
