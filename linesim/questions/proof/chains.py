"""Small Markov chains solved exactly: long-run means, the variance of means over a time, times to the n-th departure.

For a chain with generator Q and long-run shares p, a reward rate f has the mean p f; the relative value h solves
Q h = p f - f, p h = 0. Over a time T from a given state the total reward then is p f T + h(state) on average, and its
variance grows by 2 p (f - p f) h an hour; for the count of departures with rates D, by p D 1 + 2 p D h
(Neuts, Matrix-Geometric Solutions in Stochastic Models, 1981; Asmussen, Applied Probability and Queues, ch. 11; from
memory, and held against published values by the checks).
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]
Steps = Callable[[Any], Iterable[tuple[float, Any, int]]]


class Exact(NamedTuple):
    """Mean an hour, variance an hour of the total, and what the start adds to the total."""

    mean: float
    variance: float
    start: float

    def over(self, hours: float) -> tuple[float, float]:
        """Expected average over so many hours from the start, and its standard error."""
        return self.mean + self.start / hours, float(np.sqrt(self.variance / hours))


class Chain:
    """A continuous-time chain, explored from its start; `steps(state)` gives rate, next state, departures."""

    def __init__(self, start: Hashable, steps: Steps) -> None:
        self.states: list[Any] = [start]
        found = {start: 0}
        rows: list[tuple[int, int, float, int]] = []
        for n, state in enumerate(self.states):  # grows while it is read
            for rate, beyond, out in steps(state):
                if beyond not in found:
                    found[beyond] = len(self.states)
                    self.states.append(beyond)
                rows.append((n, found[beyond], rate, out))
        self._build(rows)

    def _build(self, rows: list[tuple[int, int, float, int]]) -> None:
        from scipy.sparse import coo_array, diags_array
        from scipy.sparse.linalg import splu

        n = len(self.states)
        i, j, rate, out = (np.array(column, dtype=float) for column in zip(*rows, strict=True))
        at = (i.astype(int), j.astype(int))
        every = coo_array((rate, at), shape=(n, n)).tocsr()
        self.departing = coo_array((rate * out, at), shape=(n, n)).tocsr()
        self.quiet = every - coo_array((rate * (out > 0), at), shape=(n, n)).tocsr()
        self.leaving = np.asarray(every.sum(axis=1)).ravel()
        generator = every - diags_array(self.leaving)
        self._solve_quiet: Any = None
        # rank one is missing: the value of the start is set to 0 and shifted afterwards
        self._reduced = splu(generator[1:, 1:].tocsc()) if n > 1 else None
        first = np.asarray(generator[[0], :].todense()).ravel()
        shares = np.ones(n)
        if self._reduced is not None:
            shares[1:] = self._reduced.solve(-first[1:], trans="T")
        self.shares: Values = shares / shares.sum()

    def relative(self, reward: Values) -> Values:
        """Relative value of each state."""
        mean = float(self.shares @ reward)
        found = np.zeros(len(self.states))
        if self._reduced is not None:
            found[1:] = self._reduced.solve(mean - reward[1:])
        return found - float(self.shares @ found)

    def average(self, reward: Callable[[Any], float]) -> Exact:
        """Time average of a figure of the state."""
        values = np.array([float(reward(state)) for state in self.states])
        h, mean = self.relative(values), float(self.shares @ values)
        return Exact(mean, 2 * float(self.shares @ ((values - mean) * h)), float(h[0]))

    def departures(self) -> Exact:
        """Departures an hour."""
        rates = np.asarray(self.departing.sum(axis=1)).ravel()
        h, mean = self.relative(rates), float(self.shares @ rates)
        return Exact(mean, mean + 2 * float(self.shares @ (self.departing @ h)), float(h[0]))

    def time_of_departure(self, count: int) -> tuple[float, float]:
        """Mean and variance of the instant of departure number `count` from the start (single departures)."""
        from scipy.sparse import diags_array
        from scipy.sparse.linalg import splu

        solve = splu((diags_array(self.leaving) - self.quiet).tocsc())
        first, second = np.zeros(len(self.states)), np.zeros(len(self.states))
        for _ in range(count):
            first, before = solve.solve(1 + self.departing @ first), second
            second = solve.solve(2 * first + self.departing @ before)
        return float(first[0]), float(second[0] - first[0] ** 2)
