"""Numbers across runs: intervals, percentiles, differences, start-up cut and batch means against printed cases."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from math import comb, fsum, sqrt

from ...measures.estimates import (
    NoSteadyState,
    TooFewRuns,
    batch_means,
    chance,
    enough_runs,
    interval_ranks,
    mean_interval,
    mser5,
    mser_statistic,
    overlapping_batch_means,
    paired_difference,
    percentile,
    percentile_interval,
    runs_needed,
    welch_difference,
)
from .check import Check, each, exact
from .listed import Proof, table

# Law, Simulation Modeling and Analysis: mean delays of ten runs of a bank; monthly costs of two inventory rules
BANK = (1.53, 1.66, 1.24, 2.34, 2.00, 1.69, 2.69, 2.86, 1.70, 2.60)
ONE_RULE = (126.97, 124.31, 126.68, 122.66, 127.23)
OTHER_RULE = (118.21, 120.22, 122.45, 122.68, 119.40)
HAND = "arithmetic by hand"


def means() -> Iterator[Check]:
    """Means with t intervals, and the differences of two rules, paired and not."""
    values, source = table("difference")
    bank = mean_interval(BANK, 0.90)
    yield each("ten runs of a bank: mean and half-width at 90 %", source, [values["bank"][0], values["bank"][2]],
               [bank.point, bank.high - bank.point], 1e-6)
    mean, _, low, high = values["paired"]
    paired = paired_difference(ONE_RULE, OTHER_RULE, 0.90)
    yield each("two inventory rules, paired: mean, limits at 90 %, gains", source, [mean, low, high, 4],
               [paired.mean, paired.low, paired.high, paired.better_in or 0], 1e-6)
    _, low, high = values["welch"]
    welch = welch_difference(ONE_RULE, OTHER_RULE, 0.90)
    yield each("the same, not paired (Welch): limits at 90 %", source, [low, high], [welch.low, welch.high], 1e-6)
    points, source = table("t")
    for freedom_text, row in points.items():
        n = int(freedom_text) + 1
        runs = [float(k % 2) for k in range(n)]
        spread = sqrt(fsum((one - fsum(runs) / n) ** 2 for one in runs) / (n - 1) / n)
        found = [mean_interval(runs, level) for level in (0.8, 0.9, 0.95, 0.99)]
        yield each(f"t with {freedom_text} degrees of freedom at 80, 90, 95 and 99 %", source, row,
                   [(one.high - one.point) / spread for one in found], 1e-8)


def ranks() -> Iterator[Check]:
    """The shortest pair of ranks that covers a percentile, by trying all of them, and the printed coverages."""
    values, source = table("order statistics")
    for key, row in values.items():
        n, p = int(key.split("_")[0]), float(key.split("_")[1])
        at = [comb(n, k) * p**k * (1 - p) ** (n - k) for k in range(n + 1)]
        if row is None:
            try:
                interval_ranks(n, p)
                refused = 0
            except TooFewRuns:
                refused = 1
            yield exact(f"P{100 * p:g} of {n} runs has no 95 % limits: refused", source, 1, refused)
            continue
        # ranks l < u cover the percentile if at least l and fewer than u runs lie at or before it
        pairs = [(u - low, -round(fsum(at[low:u]), 9), low, u) for low, u in product(range(1, n + 1), repeat=2)
                 if low < u and fsum(at[low:u]) >= 0.95]
        found = interval_ranks(n, p)
        yield each(f"P{100 * p:g} of {n} runs: ranks", source, [min(pairs)[2], min(pairs)[3]], [found.low, found.high])
        yield exact(f"P{100 * p:g} of {n} runs: coverage", source, fsum(at[found.low:found.high]), found.coverage, 1e-9)
        yield exact(f"P{100 * p:g} of {n} runs: fewest steps between the ranks, printed pair", source,
                    min(row[1] - row[0], found.high - found.low), found.high - found.low)
    yield each("fewest runs for P10, P90 and P50 at 95 %", "Wilks 1941 (from memory)", [29, 29, 6],
               [runs_needed(0.1), runs_needed(0.9), runs_needed(0.5)])
    hundred = [float(n) for n in range(1, 101)]
    limits = percentile_interval(hundred, 0.9)
    yield each("P90 of 1 to 100: point and limits", source, [90, *values["100_0.9"][:2]],
               [percentile(hundred, 0.9), limits.low, limits.high])


def chances() -> Iterator[Check]:
    """Exact limits of a share of runs."""
    source = "Clopper & Pearson 1934: 0 of n has the closed upper limit 1 - (1/40)^(1/n) (from memory)"
    yield each("0 of 30 and 30 of 30 at 95 %: limits", source, [0, 1 - 0.025 ** (1 / 30), 0.025 ** (1 / 30), 1],
               [chance(0, 30).low, chance(0, 30).high, chance(30, 30).low, chance(30, 30).high], 1e-9)
    for successes, n in ((8, 10), (3, 40)):
        found = chance(successes, n)
        beyond = fsum(comb(n, k) * found.low**k * (1 - found.low) ** (n - k) for k in range(successes, n + 1))
        before = fsum(comb(n, k) * found.high**k * (1 - found.high) ** (n - k) for k in range(successes + 1))
        yield each(f"{successes} of {n} at 95 %: each limit leaves 1 in 40", source, [0.025, 0.025],
                   [beyond, before], 1e-9)


def series() -> Iterator[Check]:
    """Start-up cut and variances of the mean of a series."""
    values, source = table("mser5")
    rising = [0.0] * 20 + [10.0, 11.0, 9.0, 10.0] * 20
    yield exact(f"MSER-5 of {values['series']}: observations to drop", source, values["truncation"], mser5(rising))
    fives = [fsum(rising[k:k + 5]) / 5 for k in range(20, 100, 5)]
    yield exact("MSER-5: its statistic", source, values["statistic_mser5"], mser_statistic(fives), 1e-9)
    yield exact("MSER-1: its statistic", source, values["statistic_mser1"], mser_statistic(rising[20:]), 1e-9)
    try:
        mser5([10 * (1 - 0.9**n) for n in range(200)])
        refused = 0
    except NoSteadyState:
        refused = 1
    # the batches get ever closer to one value, so the least statistic lies at the half
    yield exact("MSER-5 of a series that never settles: refused", source, 1, refused)
    means, source = table("batch means")
    twelve = [float(n) for n in range(1, 13)]
    yield exact("batch means of 1 to 12 by threes: variance of the mean", source, means["NBM_var_of_mean"],
                batch_means(twelve, 3), 1e-9)
    yield exact("overlapping batch means of 1 to 12 by threes", source, means["OBM_var_of_mean"],
                overlapping_batch_means(twelve, 3), 1e-9)
    alike = [0.0, 2.0] * 20
    half = 2.0226909 * sqrt(40 / 39) / sqrt(40)
    found = enough_runs(alike, half_width=0.33)
    yield each("40 runs of 0 and 2: half-width, enough for 0.33, not for 0.32", HAND, [half, 1, 0], [
        found.half_width, found.reached, enough_runs(alike, half_width=0.32).reached], 1e-6)


PROOFS = (Proof("means and differences", means), Proof("percentile ranks", ranks), Proof("chances", chances),
          Proof("series", series))
