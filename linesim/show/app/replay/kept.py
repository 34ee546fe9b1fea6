"""Runs that are kept of a scenario: which of them is the middle one, a slow and a fast one, and when 8 in 10 deliver.

They are only read, so that a page may look at them while a process is adding more.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from ....line.sheet import Sheet
from ....measures.run import RunNumbers
from ....measures.window import window_of
from ....questions.baseline import LEAST_RUNS
from ....questions.dates import by, delivery_days
from ....scenario.scenario import Scenario
from ...folder_check import BATCHES, ENDING, Identity, found_in
from ...held_runs import hold
from ...run_folder import folder_for
from ...stored_runs import NotRuns, unpacked
from ...whole_files import FolderRefused

MIDDLE, SLOW, FAST = "middle run", "slow run", "fast run"
FEWEST = 3  # runs: of fewer none is a middle one


@dataclass(frozen=True, slots=True)
class Kept:
    """What kept runs say of a single one: `picks` gives the number of the middle, slow and fast run by deliveries in
    the window, `by_date` the date by which 8 in 10 runs deliver a serial. Both are empty of too few runs."""

    runs: int
    picks: Mapping[str, int]
    by_date: Mapping[str, str]


def folder_of(results: Path, stem: str, scenario: Scenario, seed: int) -> Path:
    """Where runs of a scenario and seed are kept, if any are."""
    return folder_for(results, stem, f"{Identity.of(scenario, seed).digest[:8]}-{seed}")


def stamp(folder: Path) -> tuple[tuple[str, int], ...]:
    """What tells whether runs were added."""
    return tuple(sorted((path.name, path.stat().st_mtime_ns) for path in (folder / BATCHES).glob(f"*{ENDING}")))


def kept_in(folder: Path, sheet: Sheet, seed: int) -> Kept:
    """What the runs of a folder say; nothing of one that is not there, or holds runs of another linesim."""
    try:
        files = set(found_in(folder, Identity.of(sheet.scenario, seed)).file_of.values())
        runs = hold((run for path in sorted(files) for run in unpacked(path.read_bytes())), folder.parent)
    except (FolderRefused, NotRuns, OSError):
        return Kept(0, {}, {})
    of = {run.run: run for run in runs}  # a run may be kept twice, with its segments and without
    return said_by(sheet, [of[number] for number in sorted(of)])


def said_by(sheet: Sheet, runs: Sequence[RunNumbers]) -> Kept:
    """What runs say, in order of their numbers."""
    picks, by_date = {}, {}
    if len(runs) >= FEWEST:
        found = sorted((_in_window(sheet, run), run.run) for run in runs)
        last = len(runs) - 1
        for name, at in ((MIDDLE, last // 2), (SLOW, last // 10), (FAST, last - last // 10)):
            picks[name] = next(run for count, run in found if count == found[at][0])
    if len(runs) >= LEAST_RUNS:
        end = sheet.calendar.last_day
        by_date = {order.serial: str(by(delivery_days(order.serial, runs), end)["8 in 10 by"])
                   for order in sheet.scenario.orders or ()}
    return Kept(len(runs), picks, by_date)


def _in_window(sheet: Sheet, run: RunNumbers) -> int:
    """How many are delivered in the window."""
    first, last = (str(day) for day in window_of(sheet.scenario))
    return sum(first <= delivered[:10] <= last for delivered in run.delivered.values())
