"""The smallest choice that keeps a target: errors of the test exactly, and repeated searches on a textbook line."""

from __future__ import annotations

import math
from collections.abc import Sequence

import pytest
from scipy.stats import binom, poisson

from linesim.line.records import Records
from linesim.line.runs import run_many
from linesim.line.sheet import Sheet
from linesim.questions.choice import HIGH, LOW, WRONG, Bounds, search, verdict_on
from linesim.questions.crew_plans import crews_to_try, range_of
from linesim.scenario.changing import changed
from linesim.scenario.scenario import Scenario

HOURS, DAYS, AT_LEAST = 6.1, 1, 8
BENCH = f"""
name: One bench, always work, any number of people on it
start: 2027-01-01
end: 2027-01-01
trades: {{ASM: {{people: 1}}}}
positions: [{{id: A, packages: [{{id: a, trade: ASM, hours: {{exponential: {HOURS}}}, crew_max: 9}}]}}]
launches: {{saturated: true}}
orders: unlimited
"""


def wrong_chance(share: float, bounds: Bounds, accepted: bool, most: int = 3000) -> float:
    """Exact chance that the test ends so at a true share: over all numbers of kept runs that are still undecided."""
    undecided, ended = {0: 1.0}, 0.0
    for n in range(1, most + 1):
        after: dict[int, float] = {}
        for kept, chance in undecided.items():
            for more, part in ((1, share), (0, 1 - share)):
                total = (kept + more) * bounds.gain - (n - kept - more) * bounds.loss
                if total >= bounds.accept:
                    ended += chance * part * accepted
                elif total <= bounds.reject:
                    ended += chance * part * (not accepted)
                else:
                    after[kept + more] = after.get(kept + more, 0.0) + chance * part
        undecided = after
    assert sum(undecided.values()) < 1e-9
    return ended


@pytest.mark.parametrize("wrong", [0.05, 0.0125])
def test_each_error_of_the_test_is_at_most_the_one_stated(wrong: float) -> None:
    """At the edges of the zone of indifference, where both are largest; and not by so much less that it wastes runs."""
    bounds = Bounds.of(wrong)
    for share, accepted in ((LOW, True), (HIGH, False)):
        assert 0.2 * wrong < wrong_chance(share, bounds, accepted) <= wrong
    assert wrong_chance(HIGH + 0.05, bounds, accepted=False) < wrong_chance(HIGH, bounds, accepted=False)


def test_the_test_reads_runs_in_their_order() -> None:
    """It ends with the run that decides, whatever comes after."""
    bounds = Bounds.of(0.05)
    needed = math.ceil(bounds.accept / bounds.gain)
    assert verdict_on([True] * needed, bounds).keeps is True
    assert verdict_on([True] * needed + [False] * 50, bounds).runs == needed
    assert verdict_on([True] * (needed - 1), bounds).keeps is None
    assert verdict_on([False] * 50, bounds).runs == math.ceil(-bounds.reject / bounds.loss)


@pytest.mark.parametrize(("low", "high", "wrong"), [(0.9, 0.7, 0.05), (0.0, 0.9, 0.05), (0.7, 0.9, 0.5)])
def test_a_test_that_makes_no_sense_is_refused(low: float, high: float, wrong: float) -> None:
    """Its rule is named."""
    with pytest.raises(ValueError, match="make no test"):
        Bounds.of(wrong, low, high)


def test_a_search_asks_for_no_more_runs_than_it_needs() -> None:
    """Candidates after the chosen one are never asked for; one that was stopped is not settled."""
    asked: list[tuple[int, int]] = []

    def more(candidate: int, runs: int) -> Sequence[bool]:
        asked.append((candidate, runs))
        return [candidate == 1] * runs

    found = search(4, more, step=10, most=200)
    assert found.chosen == 1
    assert found.settled
    assert {candidate for candidate, _ in asked} == {0, 1}
    assert max(runs for _, runs in asked) < 60
    stopped = search(4, lambda candidate, runs: [True] * min(runs, 5), step=10, most=200)
    assert stopped.chosen is None
    assert not stopped.settled


def delivered(sheet: Sheet, records: Records) -> int:
    """Aircraft of a run."""
    return len(records.delivered)


def searched(crews: Sequence[Scenario], seed: int) -> int | None:
    """The crew that a search of its own seed chooses."""
    def more(candidate: int, runs: int) -> list[bool]:
        done = run_many(crews[candidate], seed, range(runs), delivered)
        return [count >= AT_LEAST for chunk in done for count in chunk]

    return search(len(crews), more, step=20, most=400).chosen


@pytest.mark.slow
def test_a_hundred_searches_on_a_textbook_line_are_right_as_often_as_stated(tiny_bench: Scenario) -> None:
    """n people on one job of exponential hours, always another waiting: deliveries of a day are Poisson with mean
    n x 24 / hours. Two people deliver 8 or more in under 7 of 10 days, three in over 9 of 10: three is right."""
    shares = [float(poisson.sf(AT_LEAST - 1, n * 24 * DAYS / HOURS)) for n in (1, 2, 3, 4)]
    assert shares[1] < LOW < HIGH < shares[2]
    crews = [crew.scenario for crew in crews_to_try(tiny_bench, [range_of(tiny_bench, "ASM", "1-4")])]
    found = [searched(crews, seed) for seed in range(100)]
    right = sum(one == 2 for one in found)
    assert right >= binom.ppf(1e-4, 100, 1 - WRONG), found
    runs = [count for chunk in run_many(changed(tiny_bench, {"trades.ASM.people": 2}), 1, range(400), delivered)
            for count in chunk]
    kept = sum(count >= AT_LEAST for count in runs)
    assert binom.ppf(1e-4, 400, shares[1]) <= kept <= binom.ppf(1 - 1e-4, 400, shares[1])  # the line is that textbook


@pytest.fixture
def tiny_bench() -> Scenario:
    """The bench."""
    from linesim.scenario.reading import parse_scenario

    return parse_scenario(BENCH)
