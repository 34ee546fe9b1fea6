"""The smallest choice that keeps a target in 8 of 10 runs, with a bound on the chance that the choice is wrong.

Each run of a candidate keeps the target or does not. Candidate by candidate, cheapest first, Wald's sequential
probability ratio test (Wald, Sequential Analysis, 1947) reads the runs in the order of their numbers and decides
between "keeps it in HIGH of the runs or more" and "in LOW or fewer", each wrong with at most the same chance; the first
accepted is chosen. The chances of the candidates are added up (Bonferroni), which holds however the candidates depend
on one another, so also on common luck. Between LOW and HIGH, the zone of indifference of selection procedures
(Bechhofer 1954; Kim & Nelson 2001), either verdict counts as right.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

LOW, HIGH = 0.7, 0.9  # shares of runs about the 8 in 10 that are asked for
WRONG = 0.05          # chance that the choice is wrong


@dataclass(frozen=True, slots=True)
class Bounds:
    """Wald's test of one candidate: the gain of a run that keeps the target, the loss of one that does not, and the
    bounds at which it accepts and rejects."""

    gain: float
    loss: float
    accept: float
    reject: float

    @classmethod
    def of(cls, wrong: float, low: float = LOW, high: float = HIGH) -> Bounds:
        """With the same chance `wrong` of either error. Raises ValueError unless 0 < low < high < 1, 0 < wrong < 0.5.

        With the bounds log((1 - a)/a) Wald's inequality keeps the sum of both errors at most 2a; log(1/a) used here
        keeps each of them at most a.
        """
        if not (0 < low < high < 1 and 0 < wrong < 0.5):
            raise ValueError(f"low, high and wrong make no test: {low}, {high}, {wrong}")
        bound = math.log(1 / wrong)
        return cls(math.log(high / low), math.log((1 - low) / (1 - high)), bound, -bound)


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether a candidate keeps the target (None: not settled), after how many of its runs."""

    keeps: bool | None
    runs: int


def verdict_on(kept: Sequence[bool], test: Bounds) -> Verdict:
    """Read runs in their order until the test decides."""
    sum_so_far = 0.0
    for n, one in enumerate(kept, 1):
        sum_so_far += test.gain if one else -test.loss
        if sum_so_far >= test.accept:
            return Verdict(True, n)
        if sum_so_far <= test.reject:
            return Verdict(False, n)
    return Verdict(None, len(kept))


@dataclass(frozen=True, slots=True)
class Choice:
    """The candidate chosen (its place in the order; None if none was accepted), the verdicts of those that were looked
    at, and whether all of them are settled: only then the chance of a wrong choice is at most `wrong`."""

    chosen: int | None
    verdicts: tuple[Verdict, ...]
    settled: bool
    wrong: float


def search(candidates: int, more: Callable[[int, int], Sequence[bool]], *, step: int, most: int,
           wrong: float = WRONG) -> Choice:
    """Choose with as many runs as it takes: `more(candidate, runs)` gives the first `runs` runs of a candidate (fewer
    end the search: it was stopped). Runs grow by `step` up to `most` for the first candidate that is not settled."""
    test, kept = Bounds.of(wrong / candidates), list[Sequence[bool]]()
    for n in range(candidates):
        runs, found = step, more(n, step)
        while verdict_on(found, test).keeps is None and runs < most and len(found) == runs:
            runs = min(runs + step, most)
            found = more(n, runs)
        kept.append(found)
        if verdict_on(found, test).keeps is not False:
            break
    settled = [verdict_on(one, test) for one in kept]
    last = settled[-1]
    return Choice(len(kept) - 1 if last.keeps else None, tuple(settled),
                  all(one.keeps is not None for one in settled), wrong)
