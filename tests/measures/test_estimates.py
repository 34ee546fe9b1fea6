"""Estimates against printed and recomputed values, scipy.stats, exact coverage and hand-made cases.

Values marked "recomputed" were worked out independently of this code; the printed source named beside them is
from memory.
"""

import math
import pickle
import subprocess
import sys
from collections.abc import Callable, Sequence
from dataclasses import FrozenInstanceError
from datetime import date

import numpy as np
import pytest
from scipy import stats

from linesim.measures import estimates as est

# Recomputed; printed source from memory: Law, Simulation Modeling and Analysis (bank delays, chapter 9).
BANK = [1.53, 1.66, 1.24, 2.34, 2.00, 1.69, 2.69, 2.86, 1.70, 2.60]
# Recomputed; printed source from memory: Law, Simulation Modeling and Analysis (inventory policies, chapter 10).
POLICY_1 = [126.97, 124.31, 126.68, 122.66, 127.23]
POLICY_2 = [118.21, 120.22, 122.45, 122.68, 119.40]


def test_mean_interval_bank() -> None:
    """The half-width is t times s / sqrt(n): mean 2.031, half-width 0.3222834049 at 90 %."""
    got = est.mean_interval(BANK, level=0.90)
    assert got.point == pytest.approx(2.031, abs=1e-12)
    assert got.high - got.point == pytest.approx(0.3222834049, abs=1e-10)
    assert got.point - got.low == pytest.approx(0.3222834049, abs=1e-10)
    assert got.n == 10


# Recomputed; printed source from memory: Law, Simulation Modeling and Analysis (table of t).
@pytest.mark.parametrize(
    ("freedom", "t_values"),
    [
        (4, (1.5332062741, 2.1318467863, 2.7764451052, 4.6040948713)),
        (9, (1.3830287384, 1.8331129327, 2.2621571628, 3.2498355416)),
        (29, (1.3114336473, 1.6991270265, 2.0452296421, 2.7563859037)),
        (99, (1.290161442, 1.660391156, 1.9842169516, 2.6264054573)),
    ],
)
def test_mean_interval_uses_two_sided_t(freedom: int, t_values: Sequence[float]) -> None:
    """The level is two-sided and the degrees of freedom are n - 1."""
    values = np.arange(freedom + 1) ** 1.5
    error = values.std(ddof=1) / math.sqrt(freedom + 1)
    for level, t_value in zip((0.80, 0.90, 0.95, 0.99), t_values, strict=True):
        got = est.mean_interval(values, level)
        assert (got.high - got.point) / error == pytest.approx(t_value, abs=1e-9)


def test_one_run_has_a_mean_and_no_limits() -> None:
    """One run gives its value and nan limits, never a zero-width interval."""
    got = est.mean_interval([4.5])
    assert (got.point, got.n) == (4.5, 1)
    assert math.isnan(got.low)
    assert math.isnan(got.high)


def test_mean_interval_covers_at_its_level() -> None:
    """On normal values the 95 % interval holds the true mean in 95 % of 2,000 repeats (|z| <= 4)."""
    source = np.random.default_rng(20280605)
    held = 0
    for _ in range(2000):
        got = est.mean_interval(source.normal(7.0, 2.0, size=8))
        held += got.low <= 7.0 <= got.high
    assert abs(_coverage_z(held, 2000, 0.95)) <= 4


def _delivery_runs() -> list[float]:
    days = [21, 5, 19, 7, 9, 16, 12, 14]
    return [math.inf, *(float(date(2028, 6, day).toordinal()) for day in days), math.inf]


@pytest.mark.parametrize(("p", "day"), [(0.1, 5), (0.5, 14), (0.8, 21), (0.81, None), (0.9, None), (1.0, None)])
def test_percentile_of_dates(p: float, day: int | None) -> None:
    """Smallest date with at least share p of the runs at or before it; runs not delivered rank last."""
    expected = math.inf if day is None else float(date(2028, 6, day).toordinal())
    assert est.percentile(_delivery_runs(), p) == expected


def test_percentile_rank_is_free_of_rounding() -> None:
    """The rank is ceil(p * n) in whole numbers: 0.8 * 10 is 8 and 0.55 * 100 is 55, for every p in per cent."""
    wrong = [
        (n, per_cent)
        for n in range(1, 301)
        for per_cent in range(1, 101)
        if est.percentile(range(1, n + 1), per_cent / 100) != -(-per_cent * n // 100)
    ]
    assert wrong == []


@pytest.mark.parametrize(("share", "value"), [(0.9, 2), (0.8, 3), (0.5, 6), (0.1, 10), (0.85, 2), (1.0, 1)])
def test_at_least(share: float, value: int) -> None:
    """Largest value that at least the share of runs reach: of 1..10, 9 in 10 reach 2."""
    assert est.at_least([10, 3, 7, 1, 9, 2, 8, 4, 6, 5], share) == value


def test_at_least_is_the_largest_that_holds() -> None:
    """With ties too, the share reaching the value is enough and the share reaching the next value is not."""
    source = np.random.default_rng(11)
    for n in (1, 7, 40, 100):
        values = source.integers(0, 12, size=n)
        for per_cent in range(5, 101, 5):
            got = est.at_least(values, per_cent / 100)
            assert 100 * np.sum(values >= got) >= per_cent * n
            assert 100 * np.sum(values > got) < per_cent * n


# Recomputed; printed source from memory: Wilks 1941, David & Nagaraja, Order Statistics.
@pytest.mark.parametrize(
    ("n", "p", "low", "high", "coverage"),
    [
        (10, 0.5, 2, 9, 0.978515625),
        (20, 0.5, 6, 15, 0.9586105347),
        (30, 0.1, 1, 9, 0.9555890127),
        (30, 0.5, 10, 21, 0.9572260547),
        (30, 0.9, 22, 30, 0.9555890127),
        (50, 0.1, 1, 10, 0.9703082891),
        (50, 0.5, 18, 32, 0.9511261077),
        (50, 0.9, 41, 50, 0.9703082891),
        (100, 0.1, 5, 17, 0.9556901072),
        (100, 0.5, 40, 60, 0.9539559331),
        (100, 0.9, 84, 96, 0.9556901072),
        (200, 0.1, 12, 29, 0.9561182367),
        (200, 0.5, 86, 114, 0.9519985339),
        (200, 0.9, 172, 189, 0.9561182367),
    ],
)
def test_interval_ranks(n: int, p: float, low: int, high: int, coverage: float) -> None:
    """Ranks are the fewest steps apart that reach 95 %, then cover most, then lie lower; the coverage is exact."""
    got = est.interval_ranks(n, p)
    assert (got.low, got.high) == (low, high)
    assert got.coverage == pytest.approx(coverage, abs=1e-10)
    values = np.arange(1, n + 1)
    interval = est.percentile_interval(values, p)
    assert (interval.low, interval.high, interval.n) == (low, high, n)
    assert interval.point == est.percentile(values, p)


def test_interval_ranks_hold_their_level_everywhere() -> None:
    """Coverage is the binomial's own, never below the level, and the point lies within the limits."""
    for p in (0.05, 0.1, 0.3, 0.5, 0.8, 0.9):
        for level in (0.8, 0.9375, 0.95):
            for n in range(est.runs_needed(p, level), 160):
                got = est.interval_ranks(n, p, level)
                exact = stats.binom.cdf(got.high - 1, n, p) - stats.binom.cdf(got.low - 1, n, p)
                assert got.coverage == pytest.approx(exact, abs=1e-12)
                assert got.coverage >= level - 1e-12
                assert 1 <= got.low <= est.percentile(range(1, n + 1), p) <= got.high <= n


@pytest.mark.parametrize(("p", "needed"), [(0.1, 29), (0.9, 29), (0.5, 6), (0.8, 14)])
def test_fewest_runs_for_a_percentile_interval(p: float, needed: int) -> None:
    """P10 and P90 at 95 % need 29 runs by the binomial; one fewer is refused and says found and needed."""
    spread = [stats.binom.cdf(n - 1, n, p) - stats.binom.cdf(0, n, p) for n in (needed - 1, needed)]
    assert spread[0] < 0.95 <= spread[1]
    assert est.runs_needed(p) == needed
    assert est.percentile_interval(np.arange(needed), p).n == needed
    with pytest.raises(est.TooFewRuns, match=rf"P{100 * p:g} needs at least {needed} runs; found {needed - 1}$"):
        est.percentile_interval(np.arange(needed - 1), p)


@pytest.mark.parametrize(("n", "p", "level"), [(2, 0.5, 0.5), (3, 0.3, 0.63), (4, 0.9, 0.3438)])
def test_a_level_met_exactly_is_met(n: int, p: float, level: float) -> None:
    """Where smallest and largest run cover exactly the level, they are the interval; rounding refuses nothing."""
    assert est.runs_needed(p, level) == n
    got = est.interval_ranks(n, p, level)
    assert (got.low, got.high) == (1, n)


@pytest.mark.parametrize(("n", "low", "high"), [(50, 18, 32), (159, 67, 92)])
def test_of_mirrored_pairs_the_lower_is_taken(n: int, low: int, high: int) -> None:
    """Around P50 two mirrored pairs cover alike; the lower one is taken whatever the last bit says."""
    got = est.interval_ranks(n, 0.5)
    assert (got.low, got.high) == (low, high)
    mirrored = stats.binom.cdf(n - low, n, 0.5) - stats.binom.cdf(n - high, n, 0.5)
    assert got.coverage == pytest.approx(mirrored, abs=1e-12)


def test_too_few_runs_survives_a_worker_process() -> None:
    """The refusal keeps its numbers when pickled, so a worker process can raise it."""
    error = pickle.loads(pickle.dumps(est.TooFewRuns(12, 29, "an interval")))
    assert (error.found, error.needed, str(error)) == (12, 29, "an interval needs at least 29 runs; found 12")


@pytest.mark.parametrize(
    ("late", "point_late", "low_late"), [(0, False, False), (1, False, False), (4, True, False), (9, True, True)]
)
def test_percentile_interval_with_runs_not_delivered(late: int, point_late: bool, low_late: bool) -> None:
    """Runs at inf rank last: of 30, rank 30, 27 and 22 are the high limit, the point and the low limit of P90."""
    got = est.percentile_interval([math.inf] * late + list(range(30 - late)), 0.9)
    assert (math.isinf(got.point), math.isinf(got.low), math.isinf(got.high)) == (point_late, low_late, late > 0)


# Coverages recomputed; printed source from memory: Wilks 1941, David & Nagaraja, Order Statistics.
@pytest.mark.parametrize(
    ("n", "p", "coverage"), [(30, 0.9, 0.9555890127), (50, 0.5, 0.9511261077), (100, 0.1, 0.9556901072)]
)
def test_percentile_interval_covers_as_the_binomial_says(n: int, p: float, coverage: float) -> None:
    """For any continuous law (here exponential) the coverage over 2,000 repeats is the binomial's (|z| <= 4)."""
    source = np.random.default_rng(19410)
    true = -math.log(1 - p)
    held = 0
    for _ in range(2000):
        got = est.percentile_interval(source.exponential(size=n), p)
        held += got.low <= true <= got.high
    assert abs(_coverage_z(held, 2000, coverage)) <= 4


def _coverage_z(held: int, repeats: int, coverage: float) -> float:
    return (held / repeats - coverage) / math.sqrt(coverage * (1 - coverage) / repeats)


@pytest.mark.parametrize(("successes", "n"), [(0, 1), (1, 1), (0, 200), (3, 10), (50, 100), (199, 200), (200, 200)])
@pytest.mark.parametrize("level", [0.8, 0.95])
def test_chance_is_exact(successes: int, n: int, level: float) -> None:
    """Limits are Clopper and Pearson's, with 0 and 1 as the ends when none or all succeed."""
    exact = stats.binomtest(successes, n).proportion_ci(confidence_level=level, method="exact")
    got = est.chance(successes, n, level)
    assert (got.low, got.high) == pytest.approx((exact.low, exact.high), abs=1e-12)
    assert (got.point, got.n) == (successes / n, n)


@pytest.mark.parametrize(
    ("successes", "n", "words"),
    [
        (0, 200, "none of 200 runs"),
        (1, 200, "fewer than 1 in 20"),
        (9, 200, "fewer than 1 in 20"),
        (10, 200, "1 in 20"),
        (19, 200, "1 in 20"),
        (20, 200, "1 in 10"),
        (29, 200, "1 in 10"),
        (30, 200, "1 in 10"),
        (50, 200, "2 in 10"),
        (23, 30, "7 in 10"),
        (24, 30, "8 in 10"),
        (3, 7, "3 of 7 runs"),
        (7, 7, "all 7 runs"),
        (1, 1, "1 of 1 run"),
        (60, 200, "3 in 10"),
        (190, 200, "9 in 10"),
        (191, 200, "more than 19 in 20"),
        (199, 200, "more than 19 in 20"),
        (200, 200, "all 200 runs"),
        (0, 1, "none of 1 run"),
    ],
)
def test_chance_words(successes: int, n: int, words: str) -> None:
    """Chances are told in tenths, rounded down, between 5 and 95 %, as a bound outside, by run count at 0 and 100 % and
    under ten runs."""
    assert est.chance_words(successes, n) == words


def test_zero_words_is_the_rule_of_three() -> None:
    """0 of 200 is "under 1 in 67" (3 / n), and no such words claim more than the exact one-sided 95 % bound."""
    assert est.zero_words(200) == "under 1 in 67"
    for n in range(5, 500):
        told = int(est.zero_words(n).removeprefix("under 1 in "))
        exact = stats.binomtest(0, n).proportion_ci(confidence_level=0.90, method="exact").high
        assert 1 / exact - 1.2 < told < 1 / exact
    with pytest.raises(est.TooFewRuns, match="at least 5 runs; found 4"):
        est.zero_words(4)


def test_paired_difference_inventory() -> None:
    """Runs are compared pair by pair: 4.978, from 1.6491268748 to 8.3068731252 at 90 %."""
    got = est.paired_difference(POLICY_1, POLICY_2, level=0.90)
    assert (got.mean, got.low, got.high) == pytest.approx((4.978, 1.6491268748, 8.3068731252), abs=1e-9)
    assert (got.better_in, got.n) == (4, 5)


def test_welch_difference_inventory() -> None:
    """Independent runs get Welch's degrees of freedom: 2.6607856177 to 7.2952143823 at 90 %, no paired count."""
    got = est.welch_difference(POLICY_1, POLICY_2, level=0.90)
    assert (got.mean, got.low, got.high) == pytest.approx((4.978, 2.6607856177, 7.2952143823), abs=1e-9)
    assert (got.better_in, got.n) == (None, 5)


def test_differences_agree_with_scipy() -> None:
    """The sign is a - b and both intervals are those of the t tests, also for unequal numbers of runs."""
    source = np.random.default_rng(5)
    a, b = source.gamma(2.0, 3.0, size=40), source.gamma(9.0, 1.0, size=40)
    paired = stats.ttest_rel(a, b).confidence_interval(0.95)
    welch = stats.ttest_ind(a[:12], b, equal_var=False).confidence_interval(0.95)
    got_paired, got_welch = est.paired_difference(a, b), est.welch_difference(a[:12], b)
    assert (got_paired.low, got_paired.high) == pytest.approx((paired.low, paired.high), abs=1e-9)
    assert (got_welch.low, got_welch.high) == pytest.approx((welch.low, welch.high), abs=1e-9)
    assert got_welch.n == 12


def test_equal_options_show_no_gain() -> None:
    """Two options that differ by rounding alone gain in no run; the interval is 0 to 0."""
    got = est.paired_difference([0.1 + 0.2] * 40, [0.3] * 40)
    assert got == est.Difference(0.0, 0.0, 0.0, 0, 40)
    assert est.welch_difference([2.0, 2.0], [1.5, 1.5]) == est.Difference(0.5, 0.5, 0.5, None, 2)


@pytest.mark.parametrize("compare", [est.paired_difference, est.welch_difference])
def test_one_run_shows_no_difference(compare: Callable[[list[float], list[float]], est.Difference]) -> None:
    """With one run on a side there are no limits, and the words claim nothing."""
    got = compare([5.0], [3.0])
    assert (got.mean, got.n) == (2.0, 1)
    assert math.isnan(got.low)
    assert math.isnan(got.high)
    assert est.difference_words(got, "a month", 1) == "no difference that 1 run can show"


@pytest.mark.parametrize(
    ("difference", "digits", "words"),
    [
        (est.Difference(0.21, 0.1, 0.3, 97, 100), 1, "+0.2 a month; gains in 97 of 100 runs"),
        (est.Difference(-1.26, -1.5, -1.0, 3, 100), 1, "\u22121.3 a month; gains in 3 of 100 runs"),
        (est.Difference(3.4, 3.0, 3.8, None, 50), 0, "+3 a month"),
        (est.Difference(0.21, -0.1, 0.5, 120, 200), 1, "no difference that 200 runs can show"),
        (est.Difference(0.21, 0.0, 0.4, 150, 200), 1, "no difference that 200 runs can show"),
        (est.Difference(-0.21, -0.4, 0.0, 50, 200), 1, "no difference that 200 runs can show"),
        (est.Difference(-0.02, -0.03, -0.01, 1, 30), 1, "\u22120.02 a month; gains in 1 of 30 runs"),
    ],
)
def test_difference_words(difference: est.Difference, digits: int, words: str) -> None:
    """A shown difference has its sign and never reads 0; one whose interval holds 0 is not shown at all."""
    assert est.difference_words(difference, "a month", digits) == words


@pytest.mark.parametrize(
    ("wanted", "reached"),
    [
        ({"half_width": 0.323}, True),
        ({"half_width": 0.322}, False),
        # 0.3222834 / 2.031 = 0.158682, which is relative / (1 + relative) at relative = 0.188611.
        ({"relative": 0.1887}, True),
        ({"relative": 0.1885}, False),
        ({"half_width": 0.323, "relative": 0.1885}, False),
        ({"half_width": 0.322, "relative": 0.1887}, False),
        ({"half_width": 0.323, "least": 11}, False),
    ],
)
def test_enough_runs(wanted: dict[str, float], reached: bool) -> None:
    """Every target asked for is met by the half-width so far (the relative one corrected), with enough runs."""
    got = est.enough_runs(BANK, level=0.90, **({"least": 10} | wanted))  # type: ignore[arg-type]
    assert got.reached is reached
    assert (got.half_width, got.n) == pytest.approx((0.3222834049, 10), abs=1e-10)


def test_enough_runs_waits_for_thirty() -> None:
    """The sequential rule never stops before 30 runs unless told, and takes a negative mean by its size."""
    runs = [-5.0, -5.0, -5.1] * 10
    assert not est.enough_runs(runs[:29], relative=0.5).reached
    assert est.enough_runs(runs, relative=0.5).reached


# Recomputed; printed source from memory: White 1997 (MSER), with 20 zeros and then (10, 11, 9, 10) 20 times.
SETTLING = [0.0] * 20 + [10.0, 11.0, 9.0, 10.0] * 20


def test_mser5_finds_the_warm_up() -> None:
    """Truncation counts observations, not batches, and an incomplete last batch changes nothing."""
    assert est.mser5(SETTLING) == 20
    assert est.mser5([*SETTLING, 500.0, 500.0]) == 20


def test_mser_statistic() -> None:
    """Squared deviations are divided by the squared number kept: 0.00625 for singles, 0.00125 for batches of 5."""
    kept = np.array(SETTLING[20:])
    assert est.mser_statistic(kept) == pytest.approx(0.00625, abs=1e-12)
    assert est.mser_statistic(kept.reshape(16, 5).mean(axis=1)) == pytest.approx(0.00125, abs=1e-12)


@pytest.mark.parametrize(("series", "truncation"), [([0.1] * 1000, 0), ([7.7] * 5 + [0.1] * 995, 5), ([0.0] * 40, 0)])
def test_mser5_on_constant_stretches(series: list[float], truncation: int) -> None:
    """Rounding error in a constant stretch does not lengthen the warm-up."""
    assert est.mser5(series) == truncation


def test_mser5_searches_the_first_half_only() -> None:
    """A quiet stretch in the second half cannot attract the truncation point."""
    series = [0.0] * 5 + [10.0, 10.0, 10.0, 10.0, 10.0, 11.0, 11.0, 11.0, 11.0, 11.0] * 16 + [10.5] * 35
    assert est.mser5(series) == 5


@pytest.mark.parametrize(
    "series",
    [
        # Recomputed; printed source from memory: White 1997: truncation 100 = n / 2, to be rejected.
        [10 * (1 - 0.9**i) for i in range(200)],
        list(range(200)),
        [1.0] * 19,
    ],
)
def test_mser5_refuses_a_series_that_does_not_settle(series: list[float]) -> None:
    """A minimum at half the series, or a series under 20 observations, is no steady state."""
    with pytest.raises(est.NoSteadyState):
        est.mser5(series)


# Recomputed; printed sources from memory: Law, chapter 9; Meketon & Schmeiser 1984.
@pytest.mark.parametrize(("method", "variance"), [(est.batch_means, 3.75), (est.overlapping_batch_means, 2.75)])
def test_batch_means(method: Callable[[Sequence[float], int], float], variance: float) -> None:
    """The variance is that of the mean of 1..12 from batches of 3, and needs room for two batches."""
    series = range(1, 13)
    assert method(series, 3) == pytest.approx(variance, abs=1e-12)
    assert method(series, 1) == pytest.approx(np.var(series, ddof=1) / 12, abs=1e-12)
    assert method(series, 6) > 0
    for m in (0, 7):
        with pytest.raises(ValueError, match=f"12 observations do not give 2 batches of {m}"):
            method(series, m)


def test_batch_means_leave_out_an_incomplete_batch() -> None:
    """Observations past the last full batch do not enter."""
    assert est.batch_means([*range(1, 13), 900.0], 3) == pytest.approx(3.75, abs=1e-12)


@pytest.mark.parametrize(
    ("error", "digits"),
    [
        (0.09, 1),
        (0.6, 1),
        (2.3, 0),
        (0.69, 1),
        (0.7, 0),
        (0.07, 1),
        (0.069, 2),
        (0.007, 2),
        (0.02, 2),
        (0.1, 1),
        (1.0, 0),
        (40.0, 0),
        (1e-6, 3),
        (0.0, 3),
    ],
)
def test_digits_follow_the_noise(error: float, digits: int) -> None:
    """Decimals are those of the error at one significant digit, 7 to 9 counted as 10, and at most 3."""
    assert est.digits_for(error) == digits


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: est.mean_interval([]), "one number per run"),
        (lambda: est.mean_interval([[1.0, 2.0]]), "one number per run"),
        (lambda: est.mean_interval([1.0, math.inf]), "finite"),
        (lambda: est.mean_interval([1.0, math.nan]), "finite"),
        (lambda: est.mean_interval([1.0, 2.0], level=95), "level must lie between 0 and 1"),
        (lambda: est.percentile([1.0, math.nan, math.inf], 0.5), "nan cannot be ranked"),
        (lambda: est.percentile([1.0], 0.0), "share of runs"),
        (lambda: est.at_least([1.0], 1.01), "share of runs"),
        (lambda: est.percentile_interval(range(50), 1.0), "p must lie"),
        (lambda: est.percentile_interval([], 0.5), "one number per run"),
        (lambda: est.chance(1, 0), "not a count of runs"),
        (lambda: est.chance(3, 2), "not a count of runs"),
        (lambda: est.chance_words(-1, 2), "not a count of runs"),
        (lambda: est.chance(1, 2, level=1.0), "level must lie"),
        (lambda: est.paired_difference([1.0, 2.0], [1.0]), "differ in number: 2 and 1"),
        (lambda: est.enough_runs([1.0, 2.0]), "give half_width, relative or both"),
        (lambda: est.enough_runs([1.0, 2.0], half_width=0.0), "half_width must be above 0"),
        (lambda: est.enough_runs([1.0, 2.0], half_width=1.0, least=1), "least 2 or more"),
        (lambda: est.enough_runs([1.0, 2.0], relative=5.0), "relative must lie"),
        (lambda: est.digits_for(-0.1), "standard error"),
        (lambda: est.digits_for(math.nan), "standard error"),
    ],
)
def test_senseless_input_is_refused(call: Callable[[], object], message: str) -> None:
    """What cannot be answered is refused by name, never answered with a number."""
    with pytest.raises(ValueError, match=message):
        call()


def test_results_cannot_be_changed() -> None:
    """Results are values; nobody edits an estimate after it was made."""
    with pytest.raises(FrozenInstanceError):
        est.mean_interval(BANK).low = 0.0  # type: ignore[misc]


def test_import_leaves_scipy_alone() -> None:
    """Importing the module loads no scipy, so that commands start fast."""
    code = "import sys, linesim.measures.estimates; print(any(m.startswith('scipy') for m in sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
