"""How a length of work or a delay varies: a spread, and its inverse that turns one uniform into one value.

Each draw reads exactly one uniform and turns it by the inverse, so a change of the mean changes the value and never
which draw is read.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist
from typing import Annotated, Any

from pydantic import BeforeValidator

_normal_inverse = NormalDist().inv_cdf

FORMS = {
    "fixed": "a number",
    "exponential": "the mean",
    "erlang": "{mean, k}",
    "gamma": "{mean, cv}",
    "lognormal": "{mean, cv}",
    "triangular": "{low, mode, high}",
    "uniform": "{low, high}",
    "column": "a list of values",
}
_ALLOWED = "a number or one of " + ", ".join(f"{{{kind}: {what}}}" for kind, what in FORMS.items())


@dataclass(frozen=True, slots=True)
class Spread:
    """A distribution of a non-negative value. `parts` are its parameters in the order of FORMS."""

    kind: str
    parts: tuple[float, ...]

    @property
    def mean(self) -> float:
        """Mean, in the unit of the field that declares the spread."""
        if self.kind == "column":
            return math.fsum(self.parts) / len(self.parts)
        if self.kind in ("triangular", "uniform"):
            return math.fsum(self.parts) / len(self.parts)
        return self.parts[0]

    @property
    def is_fixed(self) -> bool:
        """True if every draw gives the same value."""
        return self.kind == "fixed"

    def value(self, uniform: float) -> float:
        """The value at one uniform in (0, 1)."""
        return _INVERSE[self.kind](self.parts, uniform)

    def as_declared(self) -> Any:
        """The form in which a file states this spread."""
        if self.kind == "fixed":
            return self.parts[0]
        if self.kind == "exponential":
            return {self.kind: self.parts[0]}
        if self.kind == "column":
            return {self.kind: list(self.parts)}
        names = FORMS[self.kind].strip("{}").split(", ")
        return {self.kind: dict(zip(names, self.parts, strict=True))}


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


_INVERSE: dict[str, Callable[[tuple[float, ...], float], float]] = {
    "fixed": _fixed, "exponential": _exponential, "erlang": _erlang, "gamma": _gamma, "lognormal": _lognormal,
    "triangular": _triangular, "uniform": _uniform, "column": _column,
}


_LEAST_STEP = 1e-280  # a probability from which a recurrence can still begin
_MOST_STEPS = 10_000
_MOST = 2**40


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


def _number(value: Any, what: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value) or value < 0:
        raise ValueError(f"{what}: {value!r} is not a number of 0 or more")
    return float(value)


def parse_spread(value: Any) -> Spread:
    """A spread from its declared form; raises ValueError naming what is allowed."""
    if isinstance(value, Spread):
        return value
    if isinstance(value, int | float):
        return Spread("fixed", (_number(value, "the value"),))
    if not isinstance(value, dict) or len(value) != 1:
        raise ValueError(f"must be {_ALLOWED}")
    (kind, given), = value.items()
    if kind not in FORMS:
        raise ValueError(f"{kind!r} is no spread; must be {_ALLOWED}")
    if kind in ("fixed", "exponential"):
        return Spread(kind, (_number(given, kind),))
    if kind == "column":
        if not isinstance(given, list) or not given:
            raise ValueError("column: must be a list of at least one value")
        return Spread(kind, tuple(sorted(_number(item, "column") for item in given)))
    names = FORMS[kind].strip("{}").split(", ")
    if not isinstance(given, dict) or set(given) != set(names):
        raise ValueError(f"{kind}: must be {FORMS[kind]}")
    spread = Spread(kind, tuple(_number(given[name], f"{kind}.{name}") for name in names))
    _check_order(spread)
    return spread


def _check_order(spread: Spread) -> None:
    if spread.kind in ("triangular", "uniform") and list(spread.parts) != sorted(spread.parts):
        raise ValueError(f"{spread.kind}: low must not lie above high, nor mode outside them")
    if spread.kind == "erlang" and (spread.parts[1] < 1 or spread.parts[1] % 1):
        raise ValueError("erlang: k must be a whole number of 1 or more")


SpreadOf = Annotated[Spread, BeforeValidator(parse_spread)]
