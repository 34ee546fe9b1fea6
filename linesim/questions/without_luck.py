"""The range of a quarter with and without the luck that aircraft share.

A supplier's bad time, a quarter of many squawks, a wave of sickness or a bad weather year hits many aircraft at once;
without it their luck averages out within a quarter, and the range is narrower than life. The same runs are done again
without that luck: all other draws stay as they were, so what differs is what is shared.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ..line.sheet import Sheet
from ..measures.run import RunNumbers
from ..scenario.scenario import Scenario
from .baseline import deliveries_of


def without_common_luck(scenario: Scenario) -> Scenario | None:
    """The scenario without the luck that aircraft share; None where it declares none."""
    return None if scenario.common_luck is None else scenario.model_copy(update={"common_luck": None})


def beside(scenario: Scenario, runs: Sequence[RunNumbers]) -> dict[str, Any]:
    """What `runs` of `scenario`, which has no common luck, deliver: `deliveries in the window` and `quarters`, in the
    form of the answer."""
    return {"runs": len(runs), **deliveries_of(Sheet(scenario), runs)}
