"""Amounts of single runs as an answer gives them: counts and receipts as at least, costs and values as a range."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ..measures.estimates import at_least, mean_interval, percentile
from .baseline import LEAST_RUNS

REACH = (9, 8, 5, 1)  # in 10 runs
FEW = f"too few runs for an 8-in-10 range; {LEAST_RUNS} are needed"


def mean_of(values: Sequence[float], digits: int = 0) -> dict[str, float]:
    """Mean of the runs with its 95 % t interval; without one for a single run."""
    found = mean_interval(values)
    mean = {"mean": _rounded(found.point, digits)}
    return mean if found.n == 1 else {**mean, "low": _rounded(found.low, digits), "high": _rounded(found.high, digits)}


def reached(values: Sequence[float], digits: int = 0) -> dict[str, Any]:
    """Mean, and what 9, 8, 5 and 1 in 10 runs reach; each run itself, where they are too few."""
    if len(values) < LEAST_RUNS:
        return {**mean_of(values, digits), "each run": [_rounded(one, digits) for one in values], "note": FEW}
    return {**mean_of(values, digits),
            **{f"{n} in 10 reach": _rounded(at_least(values, n / 10), digits) for n in REACH}}


def ranged(values: Sequence[float], digits: int = 0) -> dict[str, Any]:
    """Mean, half the runs, and the range that holds 8 in 10 of them; each run itself, where they are too few."""
    if len(values) < LEAST_RUNS:
        return {**mean_of(values, digits), "each run": [_rounded(one, digits) for one in values], "note": FEW}
    return {**mean_of(values, digits), "half the runs": _rounded(percentile(values, 0.5), digits),
            "8 in 10 runs from": _rounded(percentile(values, 0.1), digits),
            "to": _rounded(percentile(values, 0.9), digits)}


def _rounded(value: float, digits: int) -> float:
    return round(float(value), digits) + 0.0  # never -0.0
