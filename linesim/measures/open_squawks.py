"""Squawks open on the floor: each from when it is written up until it is fixed."""

from __future__ import annotations

from .columns import Columns


def open_squawks(columns: Columns, begin: float, end: float) -> float:
    """Mean number of squawks open between two instants of a run."""
    if end <= begin:
        return 0.0
    squawks = {job for job in set(columns.jobs) if "squawk" in job.split()}
    rows = [n for n, job in enumerate(columns.jobs) if job in squawks]
    fields = (of[rows].tolist() for of in (columns.serial, columns.place, columns.start, columns.end))
    spans: dict[tuple[int, int, str], tuple[float, float]] = {}
    for n, serial, place, since, until in zip(rows, *fields, strict=True):
        key = serial, place, columns.jobs[n]
        first, last = spans.get(key, (since, until))
        spans[key] = min(first, since), max(last, until)
    return sum(max(0.0, min(last, end) - max(first, begin)) for first, last in spans.values()) / (end - begin)
