"""How far `what buys most` is, over all that it tries: what is to come is guessed until it is known.

How many changes are run on after a look, and whether anything is tried on top, turns out on the way.
"""

from __future__ import annotations

import time
from collections.abc import Iterable

from ..questions.buys import LEAST, NEXT, RERUN, RERUN_ON_TOP, THIRDS
from .asking import Asking, Far

FURTHEST = "runs done, at most"  # in Asking.beside: a later step begins with what is there and does not go back
RUN_ON = 0.4  # share of the changes that a look usually leaves


class Course:
    """Runs wanted and done in one step of the question, of so many changes and runs of each."""

    def __init__(self, ask: Asking, changes: int, runs: int) -> None:
        self._beside, self._runs = ask.beside, runs
        self._guess = guesses(changes, runs)
        self._wanted: dict[object, int] = {}  # runs of each scenario
        self._there: dict[object, int] = {}
        self._new, self._at_hand, self._began = 0, 0, time.monotonic()

    def begin(self, scenarios: Iterable[object], runs: int) -> None:
        """So many runs of these scenarios come next."""
        self._guess = self._guess[1:]
        for one in scenarios:
            self._wanted[one] = max(self._wanted.get(one, 0), runs)

    def asking(self, ask: Asking, scenario: object) -> Asking:
        """For the next of them."""
        self._new, self._at_hand = self._new + self._at_hand, 0
        return ask.telling(lambda far: self._far(far, scenario))

    def _far(self, far: Far, scenario: object) -> Far:
        self._at_hand = far.done
        self._there[scenario] = max(self._there.get(scenario, 0), far.runs - far.missing + far.done)
        done = self._beside[FURTHEST] = max(sum(self._there.values()), self._beside.get(FURTHEST, 0))
        new, of = self._new + far.done, max(sum(self._wanted.values()) + sum(self._guess), done)
        variants = -(-of // self._runs)
        return Far(variants, self._runs, variants * self._runs - done + new, new, time.monotonic() - self._began,
                   far.name)


def guesses(changes: int, runs: int) -> list[int]:
    """Runs of each part, as far as they can be guessed: the looks, on fresh luck, and on top of the first."""
    looks = [runs] if runs < len(THIRDS) * LEAST else [n * runs // len(THIRDS) for n in range(1, len(THIRDS) + 1)]
    left = min(changes, max(RERUN, round(RUN_ON * changes)))
    again, after = min(changes, RERUN), min(changes, NEXT + 1)
    first = [(1 + (left if n else changes)) * (look - (looks[n - 1] if n else 0)) for n, look in enumerate(looks)]
    second = [(1 + after) * (look - (looks[n - 1] if n else 0)) for n, look in enumerate(looks)]
    return [*first, (1 + again) * runs, *second, (1 + min(after, RERUN_ON_TOP)) * runs]
