"""What buys most: every change tried by itself on common luck, the five largest gains once more on fresh luck, and then
what buys most after the first.

The gain of a change is its run less the run of the ground with the same luck. Three things are guarded against:

* *The luck of the largest.* What comes out first of thirty was lucky, too. So the five that gain most in the first look
  are run again on another seed, and figures are given from those runs alone.
* *Many comparisons.* The intervals of the five hold together: each at 1 - 0.05/5 (Bonferroni; Dunn, J. Am. Stat. Assoc.
  56, 1961).
* *Ties.* A change is told apart from the largest gain only where another one shows more than it by a paired one-sided t
  test at wrong/(k - 1), k changes being compared. The largest true gain is then set aside with a chance of at most
  `wrong` (subset selection by pairs: Gupta, Technometrics 7, 1965; Nelson, Swann, Goldsman & Song, Oper. Res. 49, 2001;
  the sum over pairs holds whatever the runs have in common). The chances of all times that this is done add up to
  WRONG.

To spare runs, the first look is taken at a third and at two thirds of the runs, too: changes that are told apart there
are not run on, unless they are among the largest that will be run again.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass

from ..line.sheet import Sheet
from ..measures.cash import accepted, concessions
from ..measures.estimates import Difference, paired_difference
from ..measures.run import RunNumbers
from ..measures.value import hour_costs, in_the_plant, material_of
from ..measures.window import periods_of, window_of
from ..scenario.scenario import Scenario
from .buy_levers import Candidate, Change, candidates_of
from .compare import deliveries

RUNS = 60                   # of each change, unless asked otherwise
RERUN = 5                   # changes that are run again on fresh luck; on top of the first, so many:
RERUN_ON_TOP = 3
NEXT = 6                    # that come next are tried on top of the first, and the first once more
LEAST = 10                  # runs: fewer tell nothing apart
WRONG = 0.05
THIRDS, FRESH = (0.01, 0.01, 0.005), 0.025  # parts of WRONG
FRESH_SEED = 1              # added to the seed
NONE, GAINS, LOSES = "no difference seen", "gains", "loses"
NOTHING = Change("", "the plant as the file says", {}, "")


@dataclass(frozen=True, slots=True)
class Read:
    """What is read of one run: aircraft in the window, calendar days of flow (None without any), money left (None where
    none is declared)."""

    deliveries: float
    days: float | None
    money: float | None


@dataclass(frozen=True, slots=True)
class Measure:
    """What is gained: `more` says whether more of it is a gain."""

    name: str
    more: bool
    of: Callable[[Read], float | None]


MEASURES = {"deliveries": Measure("deliveries", True, lambda run: run.deliveries),
            "days": Measure("days", False, lambda run: run.days),
            "money": Measure("money", True, lambda run: run.money)}
Gains = list[float | None]  # of each run; None where it has none
More = Callable[[Sequence[Candidate], int, bool], list[list[Read]]]
"""The first runs of some scenarios, on the seed or on fresh luck; fewer of them than asked: it was stopped."""


class Stopped(Exception):
    """Runs that were asked for are missing: somebody stopped them."""


class NoMeasure(ValueError):
    """What is asked for cannot be counted in this scenario; says why."""


def read_run(sheet: Sheet, run: RunNumbers) -> Read:
    """What is needed of a run."""
    flow = sum(run.flow_hours.values()) / len(run.flow_hours) / 24 if run.flow_hours else None
    return Read(deliveries(sheet, run), flow, money_left(sheet, run) if has_money(sheet.scenario) else None)


def has_money(scenario: Scenario) -> bool:
    """Whether money can be counted: it is declared and orders have prices."""
    return scenario.money is not None and any(order.price_usd is not None for order in scenario.orders or ())


def money_left(sheet: Sheet, run: RunNumbers) -> float:
    """Prices of the aircraft accepted in the window less their material and late concessions, less wages and the cost
    of the capital tied up in the window. Fixed cost is the same with every change."""
    first, last = window_of(sheet.scenario)
    sold = sum((order.price_usd or 0.0) - material_of(sheet, order.model)
               for order, day in accepted(sheet, run) if first <= day <= last)
    conceded = sum(amount for day, amount in concessions(sheet, run) if first <= day <= last)
    inside = [n for n, (_, within) in enumerate(periods_of(sheet.scenario)) if within]
    wages = float((hour_costs(sheet) @ run.wage_hours)[inside].sum())
    return sold - conceded - wages - float(in_the_plant(sheet, run).carrying[inside].sum())


# telling gains apart -------------------------------------------------------------------------------------------------
def gains(by: Measure, runs: Sequence[Read], ground: Sequence[Read]) -> Gains:
    """Run by run, above 0 where the change is a gain."""
    pairs = [(by.of(a), by.of(b)) for a, b in zip(runs, ground, strict=False)]
    return [None if a is None or b is None else (a - b if by.more else b - a) for a, b in pairs]


def mean(values: Gains) -> float:
    """Mean gain; of a change that has none in any run, less than any."""
    known = [value for value in values if value is not None]
    return math.fsum(known) / len(known) if known else -math.inf


def in_order(found: Sequence[Gains]) -> list[int]:
    """Which comes first, second ...: by mean gain, the first written of equals."""
    return sorted(range(len(found)), key=lambda n: -mean(found[n]))


def not_told_apart(found: Sequence[Gains], wrong: float) -> list[bool]:
    """Which may have the largest gain: none of the others shows more. The largest true gain is among them but for a
    chance of at most `wrong`."""
    if len(found) < 2:
        return [True] * len(found)
    level = 1 - 2 * wrong / (len(found) - 1)
    ordered = in_order(found)  # a large gain is most likely to show more
    return [not any(_shows_more(found[other], one, level) for other in ordered if other != n)
            for n, one in enumerate(found)]


def _shows_more(one: Gains, other: Gains, level: float) -> bool:
    if mean(one) <= mean(other):
        return False
    known = [(a, b) for a, b in zip(one, other, strict=False) if a is not None and b is not None]
    return len(known) >= LEAST and paired_difference([a for a, _ in known], [b for _, b in known], level).low > 0


def interval(by: Measure, runs: Sequence[Read], ground: Sequence[Read], many: int) -> Difference | None:
    """The change less the ground, with an interval that holds together with those of the others; `better_in` counts the
    runs that gain. None without a run that has both."""
    known = [(a, b) for one, two in zip(runs, ground, strict=False)
             if (a := by.of(one)) is not None and (b := by.of(two)) is not None]
    if not known:
        return None
    found = paired_difference([a for a, _ in known], [b for _, b in known], 1 - WRONG / many)
    gained = sum((a - b if by.more else b - a) > 0 for a, b in known)
    return Difference(found.mean, found.low, found.high, gained, found.n)


def verdict(found: Difference | None, by: Measure) -> str:
    """Whether a change gains, by an interval that holds with those of all others."""
    if found is None or not (found.low > 0 or found.high < 0):
        return NONE
    return GAINS if (found.mean > 0) == by.more else LOSES


# the steps -----------------------------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class Tried:
    """A change in the first look: its verdict, from how many runs, whether it may have the largest gain as far as they
    tell, and its place in their order (0 first)."""

    candidate: Candidate
    verdict: str
    runs: int
    open: bool
    place: int


@dataclass(frozen=True, slots=True)
class Again:
    """A change run again on fresh luck: its difference in each measure, and whether it may have the largest gain."""

    candidate: Candidate
    differences: dict[str, Difference | None]
    tied: bool


@dataclass(frozen=True, slots=True)
class Step:
    """All changes tried on one ground; those run again, largest gain first."""

    ground: Candidate
    tried: list[Tried]
    again: list[Again]

    @property
    def first(self) -> Again:
        """The change with the largest gain on fresh luck."""
        return self.again[0]

    @property
    def open(self) -> list[Tried]:
        """Changes not run again that the first look does not tell from the largest gain."""
        rerun = {one.candidate.change.key for one in self.again}
        return [one for one in self.tried if one.open and one.candidate.change.key not in rerun]


def step(ground: Candidate, candidates: Sequence[Candidate], by: Measure, runs: int, more: More,
         rerun: int = RERUN) -> Step:
    """Try changes on a ground, and the largest gains again on fresh luck. Raises Stopped."""
    parts = {runs: sum(THIRDS)} if runs < len(THIRDS) * LEAST else {
        n * runs // len(THIRDS): wrong for n, wrong in enumerate(THIRDS, 1)}
    keep = list(range(len(candidates)))
    each: list[list[Read]] = [[] for _ in candidates]
    found: list[Gains] = [[] for _ in candidates]
    open_ = set(keep)
    base: list[Read] = []
    for look, wrong in parts.items():
        base, *longer = _all_of(more, [ground, *(candidates[n] for n in keep)], look, False)
        for n, one in zip(keep, longer, strict=True):
            each[n], found[n] = one, gains(by, one, base)
        stay = not_told_apart([found[n] for n in keep], wrong)
        open_ &= {n for n, one in zip(keep, stay, strict=True) if one}
        keep = sorted(keep, key=lambda n: -mean(found[n]))
        keep = [n for place, n in enumerate(keep) if n in open_ or place < rerun]
    places = {n: place for place, n in enumerate([*keep, *(n for n in in_order(found) if n not in keep)])}
    tried = [Tried(one, verdict(interval(by, each[n], base, len(candidates)), by), len(each[n]), n in open_, places[n])
             for n, one in enumerate(candidates)]
    return Step(ground, tried, _again(ground, [candidates[n] for n in keep[:rerun]], by, runs, more))


def _again(ground: Candidate, largest: Sequence[Candidate], by: Measure, runs: int, more: More) -> list[Again]:
    base, *each = _all_of(more, [ground, *largest], runs, True)
    found = [gains(by, one, base) for one in each]
    tied = not_told_apart(found, FRESH)
    return [Again(largest[n], {name: interval(of, each[n], base, len(largest)) for name, of in MEASURES.items()},
                  tied[n]) for n in in_order(found)]


def _all_of(more: More, candidates: Sequence[Candidate], runs: int, fresh: bool) -> list[list[Read]]:
    found = more(candidates, runs, fresh)
    if any(len(one) < runs for one in found):
        raise Stopped
    return found


@dataclass(frozen=True, slots=True)
class Found:
    """What was tried: the first step, the second on top of its first (None: nothing gained, or it was stopped), changes
    that the file forbids."""

    by: Measure
    runs: int
    first: Step
    second: Step | None
    unable: list[tuple[Change, str]]


def measure_of(scenario: Scenario, by: str) -> Measure:
    """The measure asked for. Raises NoMeasure."""
    if by not in MEASURES:
        raise NoMeasure(f"{by!r} is not one of {', '.join(MEASURES)}")
    if by == "money" and not has_money(scenario):
        missing = "the file declares no `money`" if scenario.money is None else "no order has a price_usd"
        raise NoMeasure(f"money cannot be counted: {missing}")
    return MEASURES[by]


def what_buys_most(scenario: Scenario, by: Measure, runs: int, more: More, only: Collection[str] | None = None,
                   heard: Callable[[Found], None] = lambda found: None) -> Found:
    """Try all changes (or `only` those of some keys), and on top of the first the NEXT that came after it and the same
    once more; before that, `heard` gets what the first step found. Raises Stopped in the first step, NoMeasure where
    nothing can be changed."""
    able, unable = candidates_of(scenario)
    if only is not None:
        able = [one for one in able if one.change.key in only]
        unable = [(change, why) for change, why in unable if change.key in only]
    if not able:
        raise NoMeasure("the scenario has nothing that may be changed: no trade, place or rule to try")
    first = step(Candidate(NOTHING, scenario), able, by, runs, more)
    second = None
    if verdict(first.first.differences[by.name], by) == GAINS:
        heard(Found(by, runs, first, None, unable))
        taken = first.first.candidate
        after = {one.candidate.change.key for one in first.tried if one.place <= NEXT} | {taken.change.key}
        able = [one for one in candidates_of(taken.scenario)[0] if one.change.key in after]
        try:
            second = step(taken, able, by, runs, more, RERUN_ON_TOP) if able else None
        except Stopped:
            second = None
    return Found(by, runs, first, second, unable)
