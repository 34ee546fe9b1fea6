"""Deliveries of many runs of a plant, on the compiled floor where `linesim compile` has been used.

The rest of the tests use the source (tests/conftest.py). The two give the same records (test_compiled.py), and many
runs of the demo take half the time compiled.
"""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

from linesim.line.floor import run_once
from linesim.line.sheet import Sheet
from linesim.measures.run import window_instants
from linesim.scenario.acted_on import acted_on
from linesim.scenario.scenario import Scenario


def in_the_window(plant: Scenario, runs: int) -> list[int]:
    """Deliveries in the window, run by run, on the plant's own seed."""
    sheet = Sheet(acted_on(plant))
    begin, end = window_instants(sheet)
    records = (run_once(sheet, plant.seed, number) for number in range(runs))
    return [sum(begin <= t < end for t in one.delivered.values()) for one in records]


def new_process() -> ProcessPoolExecutor:
    """A process that takes compiled code if there is any of this source."""
    return ProcessPoolExecutor(1, mp_context=get_context("spawn"))
