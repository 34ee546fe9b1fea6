"""Runs of the demo, of its hard year, of its pulse line and of two shifts keep every rule that records show."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from audit.runs import RUNS, kept


@pytest.mark.parametrize("name", RUNS)
def test_records_keep_the_rules_of_the_floor(name: str) -> None:
    """Nothing is broken, and what is looked at is really there."""
    rows = list(kept(RUNS[name]).rules())
    assert [row for row in rows if row[1]] == []
    assert sum(seen > 0 for _, _, seen in rows) >= len(rows) - 2
    assert sum(seen for _, _, seen in rows) > 60_000
