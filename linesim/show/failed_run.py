"""A run that failed: which one it is, and the command that repeats it alone."""

from __future__ import annotations

import shlex
from collections.abc import Callable, Iterable
from typing import Any

from ..line.records import Records
from ..line.runs import run_many
from ..line.sheet import Sheet
from ..measures.run import numbers_of
from ..scenario.acted_on import acted_on
from ..scenario.reading import read_scenario
from ..scenario.scenario import Scenario
from .folder_check import Identity
from .words import runs

TRIED = 20  # runs that are done again to find it


class RunFailed(Exception):
    """A run that this program cannot carry out: its number (None: not found), of which scenario (its name and digest)
    and seed, what it ran into, and how many others are kept."""

    def __init__(self, number: int | None, scenario: str, digest: str, seed: int, why: str, kept: int) -> None:
        super().__init__(number, scenario, digest, seed, why, kept)
        self.number, self.scenario, self.digest, self.seed, self.why, self.kept = (
            number, scenario, digest, seed, why, kept)

    def __str__(self) -> str:
        which = "A run" if self.number is None else f"Run {self.number}"
        return (f"{which} of {self.scenario} failed: {self.why}. {runs(self.kept)} of it "
                f"{'is' if self.kept == 1 else 'are'} kept.")

    def repeated(self, file: str, digest: str) -> str:
        """The same with the command that repeats it alone, if it is a run of a file (digest: of its scenario) as it
        stands; one of a changed scenario is repeated from a file that has the change."""
        if self.number is None:
            return str(self)
        named = shlex.quote(file) if digest == self.digest else "FILE"
        copy = "" if digest == self.digest else ", where FILE is a copy that has its change"
        return f"{self} Repeat it alone: linesim run {named} --seed {self.seed} --only {self.number}{copy}"


def failed_run(error: Exception, name: str, scenario: Scenario, seed: int, missing: Iterable[int], kept: int,
               read: Callable[[Sheet, Records], Any] = numbers_of) -> RunFailed:
    """Of an error that ended the runs of a scenario: the first of those missing that fails when it is done alone."""
    number = next((number for number in sorted(missing)[:TRIED] if _fails(scenario, seed, number, read)), None)
    return RunFailed(number, name, Identity.of(scenario, seed).digest, seed, f"{type(error).__name__}: {error}", kept)


def _fails(scenario: Scenario, seed: int, number: int, read: Callable[[Sheet, Records], Any]) -> bool:
    try:
        list(run_many(acted_on(scenario), seed, [number], read))
    except Exception:
        return True
    return False


def said_of(failed: RunFailed, file: str) -> str:
    """What is said of it to somebody who asked about a file."""
    return failed.repeated(file, Identity.of(read_scenario(file), failed.seed).digest)
