"""The quarters of a year beside each other: shipments of the industry, and deliveries of the demo year.

Shown, never asserted: the demo has level launches and no customers who want their aircraft before the year ends.
"""

from __future__ import annotations

import csv
from collections import Counter
from importlib.resources import files
from typing import Any

from .plants import demo, run

SOURCE = "GAMA press pages: piston shipments by quarter (seen)"
RUNS = 4


def quarters() -> list[dict[str, Any]]:
    """Share of the year in each quarter, in percent; None where it is not known."""
    text = files(__package__ or "").joinpath("shipments.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(line for line in text.splitlines() if not line.startswith("#"))
    found = [{"year": f"industry {row['year']}", "source": SOURCE, "quarters": [
        round(100 * int(row[name]) / int(row["year_total"]), 1) if row[name] else None
        for name in ("q1", "q2", "q3", "q4")]} for row in rows]
    return found + _of_the_demo()


def _of_the_demo() -> list[dict[str, Any]]:
    scenario = demo()
    if scenario is None:
        return []
    count: Counter[int] = Counter()
    for number in range(RUNS):
        sheet, records = run(scenario, number, scenario.seed)
        days = (sheet.calendar.wall(t).date() for t in records.delivered.values())
        count.update((day.month - 1) // 3 for day in days if day.year == scenario.start.year)
    return [{"year": f"demo {scenario.start.year}, {RUNS} runs", "source": "invented data, level launches",
             "quarters": [round(100 * count[quarter] / count.total(), 1) for quarter in range(4)]}]
