"""A count over the runs as it is drawn and printed: half the runs, and the range that holds 8 in 10 of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..measures.estimates import at_least, percentile
from .baseline import LEAST_RUNS


@dataclass(frozen=True, slots=True)
class Spread:
    """10th, 50th and 90th percentile of the runs; of fewer than LEAST_RUNS the least, the middle and the most."""

    low: float
    half: float
    high: float


def spread(values: Sequence[float]) -> Spread:
    """The spread of one number of each run; inf is "not reached", and ranks last."""
    if len(values) < LEAST_RUNS:
        return Spread(min(values), percentile(values, 0.5), max(values))
    return Spread(*(percentile(values, share) for share in (0.1, 0.5, 0.9)))


def range_words(runs: int) -> str:
    """What a range is a range of."""
    return "8 in 10 runs" if runs >= LEAST_RUNS else "the run" if runs == 1 else f"all {runs} runs"


def ten_of(values: Sequence[float]) -> list[float]:
    """What more than 19 in 20, 9 in 10, 8 in 10 .. 1 in 10 runs reach: ten runs that stand for all, least first; each
    run itself, where there are fewer than LEAST_RUNS."""
    n = len(values)
    if n < LEAST_RUNS:
        return sorted(values)
    return [at_least(values, (19 * n // 20 + 1) / n), *(at_least(values, tenths / 10) for tenths in range(9, 0, -1))]
