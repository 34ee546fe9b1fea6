"""Squawks open on the floor: each from when it is written up until it is fixed."""

from __future__ import annotations

from ..line.records import Records, Segment

SERIAL, PLACE, JOB, START, END = (Segment._fields.index(name) for name in ("serial", "place", "job", "start", "end"))


def open_squawks(records: Records, begin: float, end: float) -> float:
    """Mean number of squawks open between two instants of a run."""
    if end <= begin:
        return 0.0
    spans: dict[tuple[int, int, str], tuple[float, float]] = {}
    squawks = {job for job in {row[JOB] for row in records.segment_rows} if "squawk" in job.split()}
    for row in [row for row in records.segment_rows if row[JOB] in squawks]:
        key = row[SERIAL], row[PLACE], row[JOB]
        first, last = spans.get(key, (row[START], row[END]))
        spans[key] = min(first, row[START]), max(last, row[END])
    return sum(max(0.0, min(last, end) - max(first, begin)) for first, last in spans.values()) / (end - begin)
