"""Small plants of every kind of rule, mixed: their runs keep the rules, and their measures are those of the records."""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from measured import Measured
from mixed_plants import run
from recorded.run import Broken
from strict import Strict

PLANTS = 96
GROUPS = 4


def seeds(group: int) -> range:
    return range(group, PLANTS, GROUPS)


def broken(rows: list[tuple[int, Broken]]) -> list[str]:
    return [f"plant {seed}, {what}: {one}" for seed, (what, bad, _) in rows for one in bad[:3]]


@pytest.mark.parametrize("group", range(GROUPS))
def test_runs_keep_the_rules(group: int) -> None:
    """Nothing is broken, and every rule was looked at."""
    rows = [(seed, row) for seed in seeds(group) for row in Strict(*run(seed)).rules_of()]
    assert broken(rows) == []
    looked = Counter[str]()
    for _, (what, _, seen) in rows:
        looked[what] += seen
    assert len(looked) > 25
    assert sum(looked.values()) > 20_000
    assert sum(seen > 0 for seen in looked.values()) > len(looked) - 6


@pytest.mark.parametrize("group", range(GROUPS))
def test_measures_are_those_of_the_records(group: int) -> None:
    """Hours by reason, by place, of people, what set the dates, where everything stands: the same in both ways."""
    rows = [(seed, row) for seed in seeds(group) for row in Measured(*run(seed)).measures_of()]
    assert broken(rows) == []
    assert sum(seen for _, (_, _, seen) in rows) > 2_500
