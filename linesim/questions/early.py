"""What the first runs say while the others go on: enough for a first look, not yet the answer."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from ..measures.estimates import at_least
from ..measures.run import RunNumbers
from ..measures.window import window_of
from ..scenario.scenario import Scenario

FIRST = 30  # as many as an 8-in-10 range needs (LEAST_RUNS of the answer), and one


class Early:
    """The first FIRST runs of a longer series: told once, as soon as all of them are done.

    They are chosen by their numbers, not by which are done first: those that are quick to do may deliver less.
    """

    def __init__(self, numbers: Sequence[int], tell: Callable[[Sequence[RunNumbers]], object]) -> None:
        self._wanted = set(numbers[:FIRST]) if len(numbers) > FIRST else set()
        self._found: dict[int, RunNumbers] = {}
        self._tell = tell

    @property
    def wanted(self) -> set[int]:
        """Numbers of the runs that are still to be noted."""
        return self._wanted - set(self._found)

    def note(self, runs: Sequence[RunNumbers]) -> None:
        """Runs that are done, in any order."""
        if not self._wanted:
            return
        self._found.update({run.run: run for run in runs if run.run in self._wanted})
        if len(self._found) == len(self._wanted):
            self._tell([self._found[number] for number in sorted(self._found)])
            self._wanted, self._found = set(), {}


def in_short(scenario: Scenario, runs: Sequence[RunNumbers]) -> str:
    """What they deliver in the window, in one line."""
    first, last = map(str, window_of(scenario))
    counts = [sum(first <= moment[:10] <= last for moment in run.delivered.values()) for run in runs]
    return (f"First {len(runs)} runs: 8 in 10 deliver at least {int(at_least(counts, 0.8))} aircraft, half at least "
            f"{int(at_least(counts, 0.5))}, from {first} to {last}.")
