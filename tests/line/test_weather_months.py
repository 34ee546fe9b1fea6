"""F82: the weather of the runs gives back the shares and the day-to-day correlation of the file, month by month.

Given yesterday, today is one draw with a known chance (a two-state Markov chain), so counts of bad days after bad and
after good days are binomial: their errors are exact.
"""

from __future__ import annotations

from collections import Counter
from datetime import timedelta
from math import sqrt

import pytest
from small_plants import plant, run, work

SHARES = {1: 0.48, 2: 0.54, 3: 0.58, 4: 0.62, 5: 0.7, 6: 0.77, 7: 0.83, 8: 0.82, 9: 0.76, 10: 0.65, 11: 0.5, 12: 0.45}
CORRELATION = 0.35


@pytest.fixture(scope="module")
def pairs() -> Counter[tuple[int, bool, bool]]:
    """Month of today, yesterday bad, today bad: over 60 runs of two years."""
    scenario = plant([{"id": "A", "packages": [work("a", "ASM", 1)]}], {"ASM": {"people": 1}}, end="2028-12-31",
                     weather={"flyable_share_by_month": SHARES, "day_to_day_correlation": CORRELATION})
    days = (scenario.end - scenario.start).days + 1
    months = [(scenario.start + timedelta(n)).month for n in range(days)]
    found: Counter[tuple[int, bool, bool]] = Counter()
    for number in range(60):
        bad = [not good for good in run(scenario, number)[1].good_days[:days]]
        found.update(zip(months[1:], bad[:-1], bad[1:], strict=True))
    return found


@pytest.mark.parametrize("month", SHARES)
@pytest.mark.parametrize("yesterday_bad", [True, False])
def test_a_day_after_a_day(pairs: Counter[tuple[int, bool, bool]], month: int, yesterday_bad: bool) -> None:
    """After a bad day b + r(1-b), after a good one b(1-r), with the month's own b: the share and the correlation."""
    bad = 1 - SHARES[month]
    chance = bad + CORRELATION * (1 - bad) if yesterday_bad else bad * (1 - CORRELATION)
    hits, others = pairs[month, yesterday_bad, True], pairs[month, yesterday_bad, False]
    number = hits + others
    assert number > 400
    assert abs(hits / number - chance) / sqrt(chance * (1 - chance) / number) < 4


def test_the_share_of_every_month(pairs: Counter[tuple[int, bool, bool]]) -> None:
    """The counts of a month as a whole, their error from the chain's variance ratio (1+r)/(1-r)."""
    for month, good in SHARES.items():
        bad = sum(count for (of, _, today), count in pairs.items() if of == month and today)
        number = sum(count for (of, _, _), count in pairs.items() if of == month)
        spread = sqrt(good * (1 - good) / number * (1 + CORRELATION) / (1 - CORRELATION))
        assert abs(bad / number - (1 - good)) / spread < 4, month
