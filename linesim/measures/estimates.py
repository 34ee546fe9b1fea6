"""Estimates from replications: numbers in (one per run), points, intervals and plain words out.

Nothing here knows what the numbers mean. A run in which something did not happen before the end of the
horizon is `inf`: it ranks last, and callers write an infinite result as "after <end>".
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Values = NDArray[np.float64]

FEW = 10  # under so many runs a tenth of them is nothing
_ROUNDING = 1e-9  # far above the rounding error of 0.55 * 100, far below any real part of a run


class TooFewRuns(ValueError):
    """The answer would not hold with the runs at hand; says how many there are and how many it takes."""

    def __init__(self, found: int, needed: int, what: str) -> None:
        # All arguments go to the base class so that the error survives the way back from a worker process.
        super().__init__(found, needed, what)
        self.found, self.needed, self.what = found, needed, what

    def __str__(self) -> str:
        return f"{self.what} needs at least {self.needed} runs; found {self.found}"


class NoSteadyState(ValueError):
    """The series does not settle in its first half, so no truncation point can be trusted."""


@dataclass(frozen=True)
class Interval:
    """A point and its confidence limits in the unit of the values (a share for `chance`), from `n` runs."""

    point: float
    low: float
    high: float
    n: int


@dataclass(frozen=True)
class Ranks:
    """Ranks (1 = smallest) of the two runs that bound a percentile, and the coverage they give exactly."""

    low: int
    high: int
    coverage: float


@dataclass(frozen=True)
class Difference:
    """First option minus second (unit of the values); `better_in` counts the runs with a difference above 0.

    Where runs are not paired `better_in` is None and `n` is the smaller of the two run counts.
    """

    mean: float
    low: float
    high: float
    better_in: int | None
    n: int


@dataclass(frozen=True)
class Precision:
    """Whether the asked precision is reached, with the half-width (unit of the values) that `n` runs give."""

    reached: bool
    half_width: float
    n: int


def mean_interval(values: ArrayLike, level: float = 0.95) -> Interval:
    """Mean with a t interval (Law, Simulation Modeling and Analysis, chapters 4 and 9).

    `values`: shape (n,), finite. With n = 1 the point is given and both limits are nan, since one run says
    nothing about spread. Raises ValueError if there are no values or one is not finite.
    """
    runs = _finite(values)
    point = float(runs.mean())
    if len(runs) < 2:
        return Interval(point, math.nan, math.nan, len(runs))
    half = _t_value(len(runs) - 1, level) * float(runs.std(ddof=1)) / math.sqrt(len(runs))
    return Interval(point, point - half, point + half, len(runs))


def percentile(values: ArrayLike, p: float) -> float:
    """Smallest value with at least the share `p` of the runs at or before it (inverse empirical distribution).

    `values`: shape (n,); inf = not reached within the horizon, ranks last, and may be the answer.
    Raises ValueError for no values, nan or unless 0 < p <= 1.
    """
    runs = _ordered(values)
    return float(runs[_runs_in_share(len(runs), p) - 1])


def at_least(values: ArrayLike, share: float) -> float:
    """Largest value that at least the share `share` of the runs reach or exceed.

    `values`: shape (n,), any unit. 0 < share <= 1. Raises ValueError for no values, nan or share out of range.
    """
    runs = _ordered(values)
    return float(runs[len(runs) - _runs_in_share(len(runs), share)])


def runs_needed(p: float, level: float = 0.95) -> int:
    """Fewest runs whose smallest and largest value bound percentile `p` with coverage `level` (Wilks 1941).

    It is the smallest n with p**n + (1 - p)**n <= 1 - level: 29 for P10 and P90 at 95 %, 6 for P50.
    Raises ValueError unless 0 < p < 1 and 0 < level < 1.
    """
    _check_inside(p, "p")
    _check_inside(level, "level")
    n = 2
    while p**n + (1 - p) ** n > 1 - level:
        n += 1
    return n


def interval_ranks(n: int, p: float, level: float = 0.95) -> Ranks:
    """Ranks of the distribution-free interval for percentile `p` of `n` runs (Wilks 1941; David & Nagaraja).

    With B binomial(n, p), ranks l and u cover the percentile with P(l <= B < u): exact for continuous values, a
    lower bound with ties. Chosen are the ranks fewest steps apart with coverage >= `level`, of these the pair that
    covers most, then the lower pair. Equal tails are not asked for: below 36 runs P10 and P90 have none at 95 %.
    Raises TooFewRuns below `runs_needed(p, level)`.
    """
    from scipy.special import bdtr

    needed = runs_needed(p, level)
    if n < needed:
        raise TooFewRuns(n, needed, f"a {100 * level:g} % interval for P{100 * p:g}")
    below = bdtr(np.arange(n), n, p)  # at index k the chance of B <= k
    highs = np.searchsorted(below, below + level - 1e-12) + 1
    lows = np.arange(1, n + 1)[highs <= n]
    highs = highs[highs <= n]
    coverages = below[highs - 1] - below[lows - 1]
    # Rounded, since mirrored pairs around P50 cover alike but for the last bit.
    best = np.lexsort((lows, -coverages.round(9), highs - lows))[0]
    return Ranks(int(lows[best]), int(highs[best]), float(coverages[best]))


def percentile_interval(values: ArrayLike, p: float, level: float = 0.95) -> Interval:
    """`percentile` with limits that are themselves runs, chosen by `interval_ranks` with coverage >= `level`.

    `values`: shape (n,); inf = not reached within the horizon, and point or limits may be inf.
    Raises TooFewRuns below `runs_needed(p, level)`, ValueError for nan, no values, p or level out of range.
    """
    runs = _ordered(values)
    ranks = interval_ranks(len(runs), p, level)
    return Interval(percentile(runs, p), float(runs[ranks.low - 1]), float(runs[ranks.high - 1]), len(runs))


def chance(successes: int, n: int, level: float = 0.95) -> Interval:
    """Share of runs with exact limits (Clopper & Pearson 1934), all between 0 and 1.

    Raises ValueError unless n >= 1, 0 <= successes <= n and 0 < level < 1.
    """
    from scipy.special import betaincinv

    _check_counts(successes, n)
    _check_inside(level, "level")
    tail = (1 - level) / 2
    low = float(betaincinv(successes, n - successes + 1, tail)) if successes > 0 else 0.0
    high = float(betaincinv(successes + 1, n - successes, 1 - tail)) if successes < n else 1.0
    return Interval(successes / n, low, high, n)


def chance_words(successes: int, n: int) -> str:
    """A chance in words no finer than tenths, rounded down: "8 in 10" is never said of less, so what must hold in 8 of
    10 runs holds exactly where the words say so. None and all are named with the number of runs, under FEW the count.
    Raises ValueError unless n >= 1 and 0 <= successes <= n.
    """
    _check_counts(successes, n)
    if successes == 0:
        return f"none of {_count_words(n)}"
    if successes == n > 1:
        return f"all {_count_words(n)}"
    if n < FEW:
        return f"{successes} of {_count_words(n)}"
    if 20 * successes < n:
        return "fewer than 1 in 20"
    if 20 * successes > 19 * n:
        return "more than 19 in 20"
    return f"{10 * successes // n} in 10" if 10 * successes >= n else "1 in 20"


def zero_words(n: int) -> str:
    """What 0 of `n` runs shows: the chance is under 3/n (rule of three, one-sided 95 %; Hanley & Lippman-Hand 1983).

    The whole number nearest n/3 is never above the exact bound 1 / (1 - 0.05 ** (1 / n)), so the words hold.
    Raises TooFewRuns below 5 runs, where they would say no more than "under 1 in 1".
    """
    if n < 5:
        raise TooFewRuns(n, 5, "a bound on the chance of something never seen")
    return f"under 1 in {round(n / 3)}"


def paired_difference(a: ArrayLike, b: ArrayLike, level: float = 0.95) -> Difference:
    """Mean of a - b with a paired t interval, for options run on common luck (Law, chapter 10).

    `a`, `b`: shape (n,), finite, same order of runs. With n = 1 the limits are nan.
    Raises ValueError for unequal lengths, no values or a value that is not finite.
    """
    first, second = _finite(a), _finite(b)
    if len(first) != len(second):
        raise ValueError(f"paired runs differ in number: {len(first)} and {len(second)}")
    # Equal but for rounding is no gain: 0.1 + 0.2 against 0.3.
    differences = np.where(np.isclose(first, second, rtol=1e-12, atol=0), 0.0, first - second)
    mean = mean_interval(differences, level)
    return Difference(mean.point, mean.low, mean.high, int(np.sum(differences > 0)), mean.n)


def welch_difference(a: ArrayLike, b: ArrayLike, level: float = 0.95) -> Difference:
    """Mean of a minus mean of b for independent runs with unequal spread (Welch 1938; Law, chapter 10).

    `a`, `b`: shapes (n,) and (m,), finite. With fewer than 2 runs on a side the limits are nan.
    Raises ValueError for no values or a value that is not finite.
    """
    first, second = _finite(a), _finite(b)
    mean, fewest = float(first.mean() - second.mean()), min(len(first), len(second))
    if fewest < 2:
        return Difference(mean, math.nan, math.nan, None, fewest)
    parts = [float(runs.var(ddof=1)) / len(runs) for runs in (first, second)]
    total = sum(parts)
    if total == 0:
        return Difference(mean, mean, mean, None, fewest)
    # Shares instead of the textbook's squares of variances: those underflow for very small spreads.
    freedom = 1 / sum((v / total) ** 2 / (len(runs) - 1) for v, runs in zip(parts, (first, second), strict=True))
    half = _t_value(freedom, level) * math.sqrt(total)
    return Difference(mean, mean - half, mean + half, None, fewest)


def difference_words(difference: Difference, unit: str, digits: int) -> str:
    """A difference with its sign and `unit` and, for paired runs, in how many it gains.

    An interval that holds 0, or none at all (one run), is said to show no difference. More decimals than `digits`
    are shown if the difference would otherwise read 0.
    """
    if not (difference.low > 0 or difference.high < 0):
        return f"no difference that {_count_words(difference.n)} can show"
    size = abs(difference.mean)
    while float(f"{size:.{digits}f}") == 0:
        digits += 1
    sign = "+" if difference.mean > 0 else "\u2212"
    gains = "" if difference.better_in is None else f"; gains in {difference.better_in} of {_count_words(difference.n)}"
    return f"{sign}{size:.{digits}f} {unit}{gains}"


def enough_runs(
    values: ArrayLike,
    half_width: float | None = None,
    relative: float | None = None,
    level: float = 0.95,
    least: int = 30,
) -> Precision:
    """Whether the runs so far give the mean with the asked precision (sequential rule, to be asked after each batch).

    `half_width`: absolute, unit of the values; `relative`: share of the true mean, 0 < relative < 1, for which the
    half-width must be within relative / (1 + relative) of the estimated mean (Law, chapter 9). With both, both
    must hold. `least` guards against a lucky early stop, where Hoad, Robinson & Davies (2010) look ahead a few runs.
    `values`: shape (n,), finite. Raises ValueError for no values, no or a senseless target, or least < 2.
    """
    if half_width is None and relative is None:
        raise ValueError("give half_width, relative or both")
    if (half_width is not None and not half_width > 0) or least < 2:
        raise ValueError(f"half_width must be above 0 and least 2 or more, not {half_width} and {least}")
    if relative is not None:
        _check_inside(relative, "relative")
    mean = mean_interval(values, level)
    half = mean.high - mean.point
    absolute_met = half_width is None or half <= half_width
    relative_met = relative is None or half <= relative / (1 + relative) * abs(mean.point)
    return Precision(mean.n >= least and absolute_met and relative_met, half, mean.n)


def mser_statistic(kept: ArrayLike) -> float:
    """Sum of squared deviations over the squared number of kept values (White 1997); shape (n,), squared unit."""
    values = _finite(kept)
    return float(values.var()) / len(values)


def mser5(series: ArrayLike) -> int:
    """Number of observations to drop as warm-up by MSER-5 (White 1997; White, Cobb & Spratt 2000).

    `series`: shape (n,), finite, in time order; batches of 5, an incomplete last batch is left out. The smallest
    statistic over the first half wins, the earliest of equals. Raises NoSteadyState if it lies at the half, or
    with fewer than 20 observations; ValueError if a value is not finite.
    """
    values = _finite(series)
    if len(values) < 20:
        raise NoSteadyState(f"{len(values)} observations are too few to find a warm-up; 20 are needed")
    batches = _batches(values, 5)
    half = len(batches) // 2
    statistics = np.array([mser_statistic(batches[drop:]) for drop in range(half + 1)])
    # Rounding error of a constant stretch must not pass for a smaller statistic.
    rounding = float(8 * np.finfo(np.float64).eps * np.abs(batches).max()) ** 2
    drop = int(np.argmax(statistics <= statistics.min() + rounding))
    if drop == half:
        raise NoSteadyState(f"the series of {len(values)} observations still drifts at its half")
    return 5 * drop


def batch_means(series: ArrayLike, m: int) -> float:
    """Variance of the mean of a correlated series from non-overlapping batches of `m` (Law, chapter 9).

    `series`: shape (n,), finite, in time order; an incomplete last batch is left out. Unit: squared.
    Raises ValueError for m < 1, fewer than 2 batches or a value that is not finite.
    """
    batches = _batches(_two_batches(series, m), m)
    return float(batches.var(ddof=1)) / len(batches)


def overlapping_batch_means(series: ArrayLike, m: int) -> float:
    """Variance of the mean of a correlated series from all n - m + 1 batches of `m` (Meketon & Schmeiser 1984).

    Shape, unit and errors as for `batch_means`.
    """
    values = _two_batches(series, m)
    n = len(values)
    batches = np.lib.stride_tricks.sliding_window_view(values, m).mean(axis=1)
    return m * float(np.sum((batches - values.mean()) ** 2)) / ((n - m + 1) * (n - m))


def digits_for(standard_error: float, most: int = 3) -> int:
    """Decimals worth showing: those of the standard error at one significant digit, at most `most`.

    A standard error of 7, 8 or 9 units of a decimal place counts as 10, so 0.09 gives 1, 0.6 gives 1, 0.06 gives
    2, 2.3 gives 0. With no noise at all (0) it is `most`. Raises ValueError for a negative or non-finite error.
    """
    if not (math.isfinite(standard_error) and standard_error >= 0):
        raise ValueError(f"a standard error must be finite and 0 or more, not {standard_error}")
    if standard_error == 0:
        return most
    return min(most, max(0, -math.floor(math.log10(standard_error / 0.7))))


def _array(values: ArrayLike) -> Values:
    runs = np.asarray(values, dtype=np.float64)
    if runs.ndim != 1 or len(runs) == 0:
        raise ValueError(f"one number per run is needed, not an array of shape {runs.shape}")
    return runs


def _finite(values: ArrayLike) -> Values:
    runs = _array(values)
    if not np.isfinite(runs).all():
        raise ValueError("a mean needs finite values; use a percentile where runs may be inf")
    return runs


def _ordered(values: ArrayLike) -> Values:
    runs = np.sort(_array(values))
    if np.isnan(runs[-1]):
        raise ValueError("nan cannot be ranked; a run that did not get there is inf")
    return runs


def _runs_in_share(n: int, share: float) -> int:
    if not 0 < share <= 1:
        raise ValueError(f"the share of runs must be above 0 and at most 1, not {share}")
    return max(1, math.ceil(share * n - _ROUNDING))


def _two_batches(series: ArrayLike, m: int) -> Values:
    values = _finite(series)
    if m < 1 or len(values) < 2 * m:
        raise ValueError(f"{len(values)} observations do not give 2 batches of {m}")
    return values


def _batches(values: Values, size: int) -> Values:
    count = len(values) // size
    means: Values = values[: count * size].reshape(count, size).mean(axis=1)
    return means


def _t_value(freedom: float, level: float) -> float:
    from scipy.special import stdtrit

    _check_inside(level, "level")
    return float(stdtrit(freedom, (1 + level) / 2))


def _check_inside(value: float, name: str) -> None:
    if not 0 < value < 1:
        raise ValueError(f"{name} must lie between 0 and 1, not {value}")


def _check_counts(successes: int, n: int) -> None:
    if n < 1 or not 0 <= successes <= n:
        raise ValueError(f"{successes} of {n} runs is not a count of runs")


def _count_words(n: int) -> str:
    return "1 run" if n == 1 else f"{n} runs"
