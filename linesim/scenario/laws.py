"""What is drawn from one uniform: the inverses of the spreads, counts, and a name by its share.

Each draw reads exactly one uniform and turns it by the inverse, so a change of the mean changes the value and never
which draw is read.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable
from functools import lru_cache
from statistics import NormalDist
from typing import Final

_normal_inverse = NormalDist().inv_cdf
_LEAST_STEP: Final = 1e-280  # a probability from which a recurrence can still begin
_MOST_STEPS: Final = 10_000
_MOST: Final = 2**40


def _fixed(parts: tuple[float, ...], u: float) -> float:
    return parts[0]


def _exponential(parts: tuple[float, ...], u: float) -> float:
    return -parts[0] * math.log1p(-u)


def _gamma_inverse(shape: float, u: float) -> float:
    from scipy.special import gammaincinv

    return float(gammaincinv(shape, u))


def _erlang(parts: tuple[float, ...], u: float) -> float:
    mean, k = parts
    return mean / k * _gamma_inverse(k, u)


def _gamma(parts: tuple[float, ...], u: float) -> float:
    mean, cv = parts
    if cv == 0:
        return mean
    return mean * cv * cv * _gamma_inverse(1 / (cv * cv), u)


def _lognormal(parts: tuple[float, ...], u: float) -> float:
    # mean and cv are those of the value itself, not of its logarithm
    mean, cv = parts
    if not cv:
        return mean
    sigma, half = _of_logarithm(cv)
    return mean * math.exp(sigma * _normal_inverse(u) - half)


@lru_cache(maxsize=64)
def _of_logarithm(cv: float) -> tuple[float, float]:
    """Standard deviation of the logarithm and half its variance."""
    variance = math.log1p(cv * cv)
    return math.sqrt(variance), variance / 2


def _triangular(parts: tuple[float, ...], u: float) -> float:
    low, mode, high = parts
    if high == low:
        return low
    turn = (mode - low) / (high - low)
    if u < turn:
        return low + math.sqrt(u * (high - low) * (mode - low))
    return high - math.sqrt((1 - u) * (high - low) * (high - mode))


def _uniform(parts: tuple[float, ...], u: float) -> float:
    low, high = parts
    return low + u * (high - low)


def _column(parts: tuple[float, ...], u: float) -> float:
    return parts[min(int(u * len(parts)), len(parts) - 1)]


INVERSE: dict[str, Callable[[tuple[float, ...], float], float]] = {
    "fixed": _fixed, "exponential": _exponential, "erlang": _erlang, "gamma": _gamma, "lognormal": _lognormal,
    "triangular": _triangular, "uniform": _uniform, "column": _column,
}


def negative_binomial(mean: float, k: float | None, uniform: float) -> int:
    """Smallest n whose cumulative probability exceeds `uniform`; `k` = None is the Poisson limit.

    Negative binomial with mean m and over-dispersion k has variance m + m^2/k. By recurrence of the probabilities
    (Johnson, Kemp & Kotz, Univariate Discrete Distributions, ch. 5; from memory); where the first of them is too small
    to begin with, or the sum stays under the uniform for very long, by bisection of the distribution function.
    """
    if mean <= 0:
        return 0
    share = 0.0 if k is None else mean / (mean + k)
    step = math.exp(-mean) if k is None else (1 - share) ** k
    if step < _LEAST_STEP:
        return _by_bisection(mean, k, uniform)
    total, n = step, 0
    while total <= uniform:
        if n == _MOST_STEPS:
            return _by_bisection(mean, k, uniform)
        step *= mean / (n + 1) if k is None else (k + n) / (n + 1) * share
        n += 1
        total += step
    return n


def _by_bisection(mean: float, k: float | None, uniform: float) -> int:
    """The same by the incomplete gamma and beta functions."""
    from scipy.special import betainc, pdtr

    def is_beyond(n: int) -> bool:
        return bool((pdtr(n, mean) if k is None else betainc(k, n + 1, k / (mean + k))) > uniform)

    low, high = -1, 1  # not beyond, and perhaps
    while not is_beyond(high) and high < _MOST:
        low, high = high, 2 * high
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if is_beyond(middle) else (middle, high)
    return high


def pick_by_share(shares: dict[str, float], uniform: float) -> str:
    """The name whose cumulative share first exceeds the uniform (shares need not add up to 1 exactly)."""
    names = list(shares)
    totals: list[float] = []
    total = 0.0
    for name in names:
        total += shares[name]
        totals.append(total)
    return names[min(bisect_right(totals, uniform * total), len(names) - 1)]
