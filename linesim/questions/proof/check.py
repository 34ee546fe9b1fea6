"""One check: what was expected from outside, what the engine gave, and how far apart they are.

A random result is held against the exact value in standard errors that are exact too (from the Markov chain of the
textbook plant), never estimated from the result itself; the band is 4 of them (false alarm 6 in 100,000). Where no
exact standard error is known, many independent runs are taken and the t limit of the same false alarm is used.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

BAND = 4.0
FALSE_ALARM = 6.334e-5  # chance beyond 4 standard errors, both sides


@dataclass(frozen=True, slots=True)
class Check:
    """A comparison. `away`: standard errors away, None where the result must be exact to within `limit`.

    `expected` and `got` in the unit that `name` says.
    """

    name: str
    source: str
    expected: float
    got: float
    away: float | None
    limit: float

    @property
    def holds(self) -> bool:
        """Whether the engine agrees."""
        if not math.isfinite(self.got):
            return False
        far = abs(self.got - self.expected) if self.away is None else abs(self.away)
        return far <= self.limit


def within(name: str, source: str, expected: float, got: float, standard_error: float) -> Check:
    """A random result with its exact standard error."""
    return Check(name, source, float(expected), float(got), float((got - expected) / standard_error), BAND)


def exact(name: str, source: str, expected: float, got: float, tolerance: float = 0.0) -> Check:
    """A result without luck; `tolerance` in its own unit, for rounding only."""
    return Check(name, source, float(expected), float(got), None, tolerance)


def each(name: str, source: str, expected: Sequence[float], got: Sequence[float], tolerance: float = 0.0) -> Check:
    """A whole table without luck: the entry that is furthest away stands for it; a missing entry fails."""
    if len(expected) != len(got) or not expected:
        return exact(f"{name}: number of entries", source, len(expected), len(got) if expected else math.nan)
    worst = max(range(len(expected)), key=lambda n: _far(got[n] - expected[n]))
    return exact(f"{name} ({len(expected)} values)", source, expected[worst], got[worst], tolerance)


def _far(difference: float) -> float:
    return abs(difference) if math.isfinite(difference) else math.inf


def of_runs(name: str, source: str, expected: float, values: Sequence[float]) -> Check:
    """The mean of independent runs with the t limit of the same false alarm."""
    from scipy.special import stdtrit

    n = len(values)
    mean = math.fsum(values) / n
    variance = math.fsum((value - mean) ** 2 for value in values) / (n - 1)
    limit = float(stdtrit(n - 1, 1 - FALSE_ALARM / 2))
    return Check(f"{name} ({n} runs, t limit)", source, expected, mean,
                 (mean - expected) / math.sqrt(variance / n), limit)
