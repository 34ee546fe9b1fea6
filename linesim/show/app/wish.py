"""A wish: what is asked on a page, with its folder, in which the answer comes about and stays.

The name of the folder follows from what is asked (question, scenario as run, options, runs, seed), so that the same
question of another tab, a link, or tomorrow finds the same folder. What stands in it:

    wish.json      what is asked
    progress.json  how far it is
    answer.json    the numbers, from as many runs as are done
    *.parquet      tables that figures need beside the numbers
    stop           somebody asked to stop
    told.txt       what the process that carried it out had to say

A lock is held in it by the process that carries it out, and let go of by the system however that ends.
"""

from __future__ import annotations

import hashlib
import json
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ...scenario.changing import changed
from ...scenario.reading import read_scenario
from ...scenario.scenario import Scenario
from ..changing import changes_of
from ..folder_check import Identity, code_digest
from ..folder_lock import FolderLock, InUse
from ..whole_files import write_whole

if TYPE_CHECKING:
    import pandas as pd

ASKED = "asked"  # the folder of all wishes, in that of the results
WISH, PROGRESS, ANSWER, STOP, TOLD = "wish.json", "progress.json", "answer.json", "stop", "told.txt"
STARTING, RUNNING, STOPPED, DONE, FAILED = "starting", "running", "stopped", "done", "failed"
WAITING = "waiting"  # instead of the scenario at hand: another process does runs of it
DIGITS = 12
NUMBERS_COME_FROM = ("scenario", "line", "measures", "questions")
SLOW_START = 20.0  # seconds that a process may take until it holds its lock
STARTED: list[subprocess.Popen[bytes]] = []  # processes of this one that have not ended


@dataclass(frozen=True, slots=True)
class Wish:
    """What is asked: the question, of a scenario file with changes (PATH=VALUE), options as JSON values, runs, seed.
    `digest` (SHA-256) is of the scenario as run."""

    question: str
    file: str
    name: str
    digest: str
    options: Mapping[str, Any]
    runs: int
    seed: int
    changes: tuple[str, ...] = ()

    @property
    def id(self) -> str:
        """Name of its folder: the same for the same question of the same scenario."""
        asked = {name: value for name, value in asdict(self).items() if name not in ("file", "name")}
        return hashlib.sha256(json.dumps(asked, sort_keys=True).encode()).hexdigest()[:DIGITS]

    def folder(self, results: Path) -> Path:
        """Where its answer comes about."""
        return results / ASKED / self.id

    def scenario(self) -> Scenario:
        """The scenario of its file with its changes. Raises ScenarioFaults."""
        return scenario_of(Path(self.file), self.changes)


def scenario_of(file: Path, changes: Sequence[str] = ()) -> Scenario:
    """The scenario of a file with changes written PATH=VALUE. Raises ScenarioFaults."""
    scenario = read_scenario(file)
    return changed(scenario, changes_of(list(changes))) if changes else scenario


def wished(question: str, file: Path, scenario: Scenario, options: Mapping[str, Any], runs: int,
           changes: Sequence[str] = (), seed: int | None = None) -> Wish:
    """A wish on a scenario that was read from its file, with the changes already made in it."""
    seed = scenario.seed if seed is None else seed
    return Wish(question, str(file), scenario.name, Identity.of(scenario, seed).digest, dict(options), runs, seed,
                tuple(changes))


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a wish is: runs done of those wanted in all scenarios that it tries, seconds left (None: not known), the
    one at hand, and in words why it failed."""

    state: str
    done: int = 0
    of: int = 0
    left: float | None = None
    what: str = ""
    why: str = ""


@dataclass(frozen=True, slots=True)
class Found:
    """An answer as far as it is there: the wish it answers, its numbers, when and with which linesim they were made,
    and from how many runs of each scenario."""

    wish: Wish
    numbers: dict[str, Any]
    made: str
    version: str
    code: str
    runs: int
    folder: Path = field(compare=False)

    @property
    def outdated(self) -> bool:
        """Whether other code than this made the numbers."""
        return self.code != numbers_code()

    def table(self, name: str) -> pd.DataFrame:
        """A table that stands beside the numbers."""
        import pandas as pd

        return pd.read_parquet(self.folder / f"{name}.parquet")


def numbers_code() -> str:
    """Digest of the code that numbers come from."""
    return code_digest(NUMBERS_COME_FROM)


# files ---------------------------------------------------------------------------------------------------------------
def put_wish(folder: Path, wish: Wish) -> None:
    """Write down what is asked; makes the folder."""
    folder.mkdir(parents=True, exist_ok=True)
    _put(folder / WISH, asdict(wish))


def wish_in(folder: Path) -> Wish | None:
    """What is asked in a folder; None if nothing that can be read."""
    found = _got(folder / WISH)
    if found is None:
        return None
    try:
        return Wish(**{**found, "changes": tuple(found["changes"])})
    except (KeyError, TypeError):
        return None


def put_progress(folder: Path, progress: Progress) -> None:
    """Write down how far it is."""
    _put(folder / PROGRESS, asdict(progress))


def progress_in(folder: Path) -> Progress | None:
    """How far it is, as it was written; None if it was never begun."""
    found = _got(folder / PROGRESS)
    try:
        return None if found is None else Progress(**found)
    except TypeError:
        return None


def put_found(found: Found, tables: Mapping[str, pd.DataFrame]) -> None:
    """Write down an answer; its tables first, so that they are never older than the numbers."""
    for name, table in tables.items():
        write_whole(found.folder / f"{name}.parquet", table.to_parquet(index=False))
    _put(found.folder / ANSWER, {"numbers": found.numbers, "made": found.made, "version": found.version,
                                 "code": found.code, "runs": found.runs})


def found_in(folder: Path) -> Found | None:
    """The answer as far as it is there."""
    wish, found = wish_in(folder), _got(folder / ANSWER)
    if wish is None or found is None:
        return None
    try:
        return Found(wish, found["numbers"], found["made"], found["version"], found["code"], found["runs"], folder)
    except KeyError:
        return None


def busy(folder: Path) -> bool:
    """Whether a process carries the wish out at this moment."""
    if not folder.is_dir():
        return False
    try:
        FolderLock(folder).release()
    except InUse:
        return True
    return False


def _put(path: Path, content: Mapping[str, Any]) -> None:
    write_whole(path, json.dumps(content, indent=1).encode())


def _got(path: Path) -> dict[str, Any] | None:
    try:
        found = json.loads(path.read_bytes())
    except (OSError, ValueError):
        return None
    return found if isinstance(found, dict) else None


# the process that carries it out -------------------------------------------------------------------------------------
def state_of(folder: Path) -> Progress | None:
    """How far a wish is, in truth: one whose process has ended without a word is stopped; None if never begun."""
    progress = progress_in(folder)
    if progress is None or progress.state not in (STARTING, RUNNING) or busy(folder):
        return progress
    progress = progress_in(folder)  # it may have ended in between
    if progress is None or progress.state not in (STARTING, RUNNING):
        return progress
    if progress.state == STARTING and time.time() - (folder / PROGRESS).stat().st_mtime < SLOW_START:
        return progress
    return replace(progress, state=STOPPED, left=None)


def begin(folder: Path, wish: Wish) -> None:
    """Start the process that carries a wish out; it lives on when this one ends. Nothing where one is at it."""
    if busy(folder):
        return
    before = progress_in(folder)
    put_wish(folder, wish)
    (folder / STOP).unlink(missing_ok=True)
    put_progress(folder, Progress(STARTING, before.done if before else 0, before.of if before else 0))
    with (folder / TOLD).open("wb") as told:
        command = [sys.executable, "-m", "linesim.show.app.work", str(folder)]
        STARTED.append(subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=told, stderr=told,
                                        start_new_session=True))
    STARTED[:] = [one for one in STARTED if one.poll() is None]


def ask_to_stop(folder: Path) -> None:
    """The runs at hand are finished and kept; no further one is begun."""
    write_whole(folder / STOP, b"")
