"""The Markov chain of a saturated line with blocking after service: exponential or Erlang places, docks, parking.

The first place always has an aircraft to begin with and the last can always be left. A finished aircraft keeps its dock
until a dock or a parking place beyond is free.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from .chains import Chain

Place = tuple[int, tuple[int, ...], int]  # parked before it, at work by phase, finished and blocked
State = tuple[Place, ...]


class LineChain(Chain):
    """`means`: hours of each place; `parking`: between neighbours; `docks`; `phases` of the Erlang times."""

    def __init__(self, means: Sequence[float], parking: Sequence[int], docks: Sequence[int] | None = None,
                 phases: int = 1) -> None:
        self.rates = [phases / mean for mean in means]
        self.parking = [0, *parking]
        self.docks = list(docks or [1] * len(means))
        empty: Place = (0, (0,) * phases, 0)
        super().__init__(self._settled([empty] * len(means)), self._steps)

    def wip(self, state: State) -> int:
        """Aircraft on the line."""
        return sum(parked + sum(working) + blocked for parked, working, blocked in state)

    def _free(self, line: list[Place], n: int) -> int:
        return self.docks[n] - sum(line[n][1]) - line[n][2]

    def _settled(self, line: list[Place]) -> State:
        moved = True
        while moved:
            moved = False
            for n in reversed(range(len(line))):
                while self._free(line, n) and (n == 0 or line[n][0] or line[n - 1][2]):
                    moved = True
                    self._begin(line, n)
                if n and line[n - 1][2] and line[n][0] < self.parking[n]:
                    moved = True
                    parked, working, blocked = line[n]
                    line[n] = (parked + 1, working, blocked)
                    line[n - 1] = (*line[n - 1][:2], line[n - 1][2] - 1)
        return tuple(line)

    def _begin(self, line: list[Place], n: int) -> None:
        """A free dock is filled: from parking, else from the place before, else by a launch."""
        parked, working, blocked = line[n]
        if parked:
            parked -= 1
        elif n:
            line[n - 1] = (*line[n - 1][:2], line[n - 1][2] - 1)
        line[n] = (parked, (working[0] + 1, *working[1:]), blocked)

    def _steps(self, state: State) -> Iterator[tuple[float, State, int]]:
        for n, (parked, working, blocked) in enumerate(state):
            for phase, busy in enumerate(working):
                if not busy:
                    continue
                line, after = list(state), list(working)
                after[phase] -= 1
                last = phase + 1 == len(working)
                if not last:
                    after[phase + 1] += 1
                out = int(last and n + 1 == len(state))
                line[n] = (parked, tuple(after), blocked + (last and not out))
                yield busy * self.rates[n], self._settled(line), out
