"""A count over the runs as it is drawn and printed: half the runs, and the range that holds 8 in 10 of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..measures.estimates import percentile
from .baseline import LEAST_RUNS

TEN = tuple((2 * n + 1) / 20 for n in range(10))  # the 5th, 15th .. 95th percentile


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
    """Ten runs that stand for all, least first; each run itself, where there are fewer than LEAST_RUNS."""
    if len(values) < LEAST_RUNS:
        return sorted(values)
    return [percentile(values, share) for share in TEN]
