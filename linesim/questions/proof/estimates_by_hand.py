"""The edges of the numbers across runs: chances in words, digits, and what is refused, by their definitions."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import nan, sqrt

from ...measures import estimates
from .arithmetic import HAND
from .check import Check, each, exact
from .listed import Proof

ERRORS = (ValueError,)


def refused(calls: list[Callable[[], object]]) -> list[float]:
    """1 for each call that is refused."""
    found = []
    for call in calls:
        try:
            call()
        except ERRORS:
            found.append(1.0)
        else:
            found.append(0.0)
    return found


def words() -> Iterator[Check]:
    """No finer than tenths and rounded down, so that "8 in 10" is never said of less."""
    said = {(0, 200): "none of", (200, 200): "all", (159, 200): "7 in 10", (160, 200): "8 in 10",
            (179, 200): "8 in 10", (20, 200): "1 in 10", (19, 200): "1 in 20", (10, 200): "1 in 20",
            (9, 200): "fewer than 1 in 20", (190, 200): "9 in 10", (191, 200): "more than 19 in 20",
            (1, 3): "1 of", (2, 3): "2 of"}
    yield each("chances in words: as they must be said", HAND, [1.0] * len(said), [
        float(estimates.chance_words(*key).startswith(text)) for key, text in said.items()])
    yield each("never seen in 5, 30 and 200 runs: under 1 in so many", "rule of three (Hanley & Lippman-Hand 1983)",
               [2, 10, 67], [float(estimates.zero_words(n).split()[-1]) for n in (5, 30, 200)])
    errors = (0.0, 0.004, 0.06, 0.069, 0.0701, 0.09, 0.6, 0.71, 2.3, 40.0)
    yield each("decimals worth showing by standard error", HAND, [3, 3, 2, 2, 1, 1, 1, 0, 0, 0],
               [float(estimates.digits_for(error)) for error in errors])


def differences() -> Iterator[Check]:
    """What nine of ten runs reach; a difference in words: its sign, decimals until it is not 0, gains; none if 0 lies
    in its limits."""
    ten = [float(n) for n in range(1, 11)]
    yield each("1 to 10: what at least 80 %, 81 %, all and the smallest share reach", HAND, [3, 2, 1, 10],
               [estimates.at_least(ten, share) for share in (0.8, 0.81, 1.0, 0.01)])
    made = estimates.Difference
    said = {"+1.2 days; gains in 9 of 10 runs": made(1.23, 0.5, 2.0, 9, 10),
            "\u22121.2 days; gains in 1 of 10 runs": made(-1.23, -2.0, -0.5, 1, 10),
            "+0.004 days": made(0.004, 0.003, 0.005, None, 10), "+0.1 days": made(0.06, 0.01, 0.1, None, 10),
            "no difference that 10 runs can show": made(1.0, -0.1, 2.0, 9, 10),
            "no difference that 20 runs can show": made(1.0, 0.0, 2.0, 9, 20),
            "no difference that 2 runs can show": made(-1.0, -2.0, 0.0, None, 2),
            "no difference that 1 run can show": made(1.0, nan, nan, 1, 1)}
    yield each("differences in words: as they must be said", HAND, [1.0] * len(said), [
        float(estimates.difference_words(of, "days", 1) == text) for text, of in said.items()])


def edges() -> Iterator[Check]:
    """The first that is refused and the last that is not."""
    ten = [float(n) for n in range(10)]
    cases: list[tuple[str, Callable[[], object], int]] = [
        ("a digit for an error below 0", lambda: estimates.digits_for(-0.1), 1),
        ("a digit for no number", lambda: estimates.digits_for(nan), 1),
        ("a precision without a target", lambda: estimates.enough_runs(ten), 1),
        ("a half-width of 0", lambda: estimates.enough_runs(ten, 0.0), 1),
        ("a least number of one run", lambda: estimates.enough_runs(ten, 1.0, least=1), 1),
        ("a least number of two runs", lambda: estimates.enough_runs(ten, 1.0, least=2), 0),
        ("a relative precision of 1", lambda: estimates.enough_runs(ten, relative=1.0), 1),
        ("more successes than runs", lambda: estimates.chance(11, 10), 1),
        ("as many successes as runs", lambda: estimates.chance(10, 10), 0),
        ("fewer than no successes", lambda: estimates.chance(-1, 10), 1),
        ("no runs", lambda: estimates.chance(0, 0), 1), ("one run", lambda: estimates.chance(1, 1), 0),
        ("a level of 1", lambda: estimates.chance(5, 10, 1.0), 1),
        ("batches of none", lambda: estimates.batch_means(ten, 0), 1),
        ("one batch", lambda: estimates.batch_means(ten, 10), 1),
        ("two batches", lambda: estimates.batch_means(ten, 5), 0),
        ("batches of six of ten", lambda: estimates.batch_means(ten, 6), 1),
        ("a mean of nothing", lambda: estimates.mean_interval([]), 1),
        ("a mean of what is no number", lambda: estimates.mean_interval([1.0, nan]), 1),
        ("pairs of other lengths", lambda: estimates.paired_difference(ten, ten[:9]), 1)]
    yield each("what is refused, and what just is not", HAND, [float(no) for _, _, no in cases],
               refused([call for _, call, _ in cases]))
    found = estimates.enough_runs(ten, 3.0, least=10)
    half = 2.2621571628540993 * sqrt(55 / 6 / 10)  # t of 9 degrees at 95 %
    yield each("ten runs 0 to 9: half-width, enough for 3, for 2, with 11 asked for, within a relative 0.5 and 0.9",
               "t interval (tables)", [half, 1, 0, 0, 0, 0],
               [found.half_width, float(found.reached), float(estimates.enough_runs(ten, 2.0, least=10).reached),
                float(estimates.enough_runs(ten, 3.0, least=11).reached),
                float(estimates.enough_runs(ten, relative=0.5, least=10).reached),
                float(estimates.enough_runs(ten, relative=0.9, least=10).reached)], 1e-9)
    yield exact("variance of the mean from overlapping batches of 2 of 0, 1, 3, 2", "Meketon & Schmeiser 1984", 2 * (
        1.0 + 0.5**2 + 1.0) / (3 * 2), estimates.overlapping_batch_means([0.0, 1.0, 3.0, 2.0], 2), 1e-12)


PROOFS = (Proof("chances in words by hand", words), Proof("differences in words by hand", differences),
          Proof("edges of estimates by hand", edges))
