"""Why late: work days and hours on the chain that set the dates, by area and reason, over the aircraft of all runs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from ..line.records import REASON_WORDS, State
from ..line.sheet import Sheet
from ..measures.columns import Numbers
from ..measures.run import RunNumbers, area_of


def what_set_the_dates(sheet: Sheet, runs: Sequence[RunNumbers]) -> dict[str, Any] | None:
    """Per delivered aircraft, by area in order of flow and by reason: work days of the reference shift, and clock hours
    outside it (nights, meals, other shifts). Together they are launch to delivery. None if nothing is delivered."""
    aircraft = sum(run.counted for run in runs)
    if not aircraft:
        return None
    days, outside = sum((run.chain for run in runs), np.zeros_like(runs[0].chain)) / aircraft
    return {"aircraft": aircraft, "work days by area and reason": _by_area(sheet, days),
            "hours outside the reference shift by area and reason": _by_area(sheet, outside)}


def _by_area(sheet: Sheet, of_places: Numbers) -> dict[str, dict[str, float]]:
    found: dict[str, Numbers] = {}
    for n, row in enumerate(of_places):
        area = area_of(sheet, n)
        found[area] = found.get(area, np.zeros_like(row)) + row
    return {area: {REASON_WORDS[state]: round(float(row[state]), 4) for state in State if row[state] > 0}
            for area, row in found.items()}
