"""Deliveries of every single run: what the ranges of the answer are ranges of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ..measures.run import RunNumbers
from ..measures.window import deliveries_by_quarter, quarters_of, window_of
from ..scenario.scenario import Scenario


def whole_quarters(scenario: Scenario) -> list[str]:
    """Quarters that lie wholly in the window; no other is counted."""
    return [name for name, whole in quarters_of(window_of(scenario)).items() if whole]


def deliveries_by_run(scenario: Scenario, runs: Sequence[RunNumbers]) -> list[Mapping[str, int | None]]:
    """One row a run: run, aircraft delivered in each whole quarter, in the window, in all of the run, and the growth of
    the backlog (None without planned launches)."""
    window = window_of(scenario)
    rows: list[Mapping[str, int | None]] = []
    for run in runs:
        moments = list(run.delivered.values())
        counts = deliveries_by_quarter(moments, window)
        rows.append({"run": run.run, **{name: counts[name] for name in whole_quarters(scenario)},
                     "in the window": sum(str(window[0]) <= moment[:10] <= str(window[1]) for moment in moments),
                     "in all": len(moments), "backlog growth": run.backlog_growth})
    return rows
