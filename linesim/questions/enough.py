"""How many runs are enough: looked at after fixed numbers of runs, so that nothing depends on processes or their speed.

Runs count by their numbers, from 0: a run that is done early, or was there already, waits for its turn.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ..measures.estimates import Precision, enough_runs
from ..measures.run import RunNumbers
from ..measures.window import window_of
from ..scenario.scenario import Scenario

LEAST = 100     # percentiles are printed, and fewer runs may look precise by luck
STEP = 20       # runs between two looks
MOST = 10_000   # runs after which the precision is given up, unless the command names another number


class Enough:
    """Runs until the 95 % interval of the mean number of deliveries in the window reaches at most `half_width` aircraft
    to either side (sequential rule of Law, Simulation Modeling and Analysis, chapter 9), or until `most` runs.

    Looks fall after LEAST runs, every STEP runs from there, and after `most`. Raises ValueError unless half_width is
    above 0 and most at least LEAST.
    """

    def __init__(self, scenario: Scenario, half_width: float, most: int = MOST) -> None:
        if not 0 < half_width < float("inf") or most < LEAST:
            raise ValueError(f"half_width must be above 0 and most {LEAST} or more, not {half_width} and {most}")
        self.half_width, self.most = half_width, most
        self.last: Precision | None = None  # what the last look showed
        self._window = tuple(map(str, window_of(scenario)))
        self._early: dict[int, int] = {}    # runs done before their turn
        self._in_turn: list[int] = []       # deliveries of runs 0, 1, 2 ...

    @property
    def over(self) -> bool:
        """Whether no further run is needed."""
        return self.last is not None and (self.last.reached or self.last.n == self.most)

    def note(self, run: RunNumbers) -> None:
        """A run that is done; runs may come in any order."""
        first, last = self._window
        self._early[run.run] = sum(first <= moment[:10] <= last for moment in run.delivered.values())
        while not self.over and len(self._in_turn) in self._early:
            self._in_turn.append(self._early.pop(len(self._in_turn)))
            n = len(self._in_turn)
            if n == self.most or (n >= LEAST and (n - LEAST) % STEP == 0):
                self.last = enough_runs(self._in_turn, half_width=self.half_width, least=LEAST)

    def numbers(self) -> Mapping[str, Any]:
        """Why so many runs, as plain values; empty before the first look."""
        if self.last is None:
            return {}
        return {"half-width asked, aircraft": self.half_width, "half-width, aircraft": round(self.last.half_width, 4),
                "reached": self.last.reached, "runs": self.last.n, "most runs": self.most}

    def sentence(self) -> str:
        """Why so many runs, in words."""
        if self.last is None:
            return f"The precision is first looked at after {LEAST} runs."
        known = f"the mean number of deliveries is known to within {self.last.half_width:.2g} aircraft"
        asked = f"{self.half_width:g} was asked"
        if self.last.reached:
            return f"{self.last.n} runs were enough: {known}; {asked}."
        if self.over:
            return f"{self.last.n} runs are the most allowed: {known}; {asked}."
        return f"With the first {self.last.n} runs {known}; {asked}."
