"""The runs that are audited: the demo, its hard year, its pulse line, the demo on two shifts."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

from linesim.line.floor import run_once
from linesim.line.sheet import Sheet
from linesim.scenario.changing import changed
from linesim.scenario.reading import read_scenario

from . import Audit

SCENARIOS = Path(__file__).parents[3] / "scenarios"


class Kept(NamedTuple):
    """A run that is audited."""

    file: str
    number: int
    changes: tuple[tuple[str, Any], ...] = ()


FREE_FLOW = Kept("birchwater.yaml", 2)
HARD_YEAR = Kept("birchwater-hard-year.yaml", 1)
PULSE = Kept("birchwater-pulse.yaml", 1)
TWO_SHIFTS = Kept("birchwater.yaml", 3, (
    ("work_rules.cover_in_force", True), ("positions.PP.shifts", ("day", "evening")), ("positions.PB.stripe_bays", 1),
    ("positions.PB.shifts", ("day", "evening")), ("trades.PNT.people.evening", 3), ("trades.RIG.people.evening", 2),
    ("end", "2027-12-31"), ("run_on_months", 0)))
RUNS = {"free flow": FREE_FLOW, "hard year": HARD_YEAR, "pulse": PULSE, "two shifts": TWO_SHIFTS}


@lru_cache(maxsize=8)
def kept(run: Kept) -> Audit:
    """The run, made once."""
    scenario = read_scenario(SCENARIOS / run.file)
    if run.changes:
        scenario = changed(scenario, dict(run.changes))
    sheet = Sheet(scenario)
    return Audit(sheet, run_once(sheet, scenario.seed, run.number))
