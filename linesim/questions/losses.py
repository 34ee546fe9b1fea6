"""What the chain that sets the dates loses, largest first: work days per aircraft by place and reason.

An aircraft that stands blocked is held against the place that has no room: parked before a place it waits for that one,
in a dock for the next. Hands-on work, flights, holds, cures and appointments are content, not loss; content and losses
together are the whole chain.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from ..line.records import State
from ..line.sheet import Sheet
from ..measures.columns import Numbers
from ..measures.ledger import RANKS
from ..measures.run import RunNumbers

CONTENT = (State.WORK, State.FLIGHT, State.HOLD, State.APPOINTMENT)
LOST = tuple(state for state in State if state not in CONTENT)
LEAST, LEAST_SHARE = 0.05, 0.01  # work days per aircraft, share of the chain: less than both is not named
Key = tuple[int, State]  # place, reason


@dataclass(frozen=True, slots=True)
class Loss:
    """Work days per aircraft that are lost at a place for one reason; blocked: for want of room in that place."""

    place: int
    state: State
    days: float

    @property
    def key(self) -> Key:
        """What is lost where."""
        return self.place, self.state


def on_the_chain(sheet: Sheet, runs: Iterable[RunNumbers]) -> Numbers:
    """Work days on the chain over all counted aircraft of some runs, by place and reason, shape (places, RANKS): as in
    `RunNumbers.chain`, but blocked stands at the place that has no room."""
    found = np.zeros((len(sheet.places), RANKS))
    for run in runs:
        inside = run.chain[0]
        blocked = inside[:, State.BLOCKED]
        before = blocked * _share_parked(sheet, run)
        found += inside
        found[:, State.BLOCKED] += before - blocked
        for place in sheet.places:
            full = place.index if place.next is None else place.next
            found[full, State.BLOCKED] += blocked[place.index] - before[place.index]
    return found


def _share_parked(sheet: Sheet, run: RunNumbers) -> Numbers:
    """Share of the blocked days of each place that the counted aircraft stood parked before it, not in its docks."""
    lost = {name: np.asarray(column) for name, column in run.tables.lost.items()}
    ours = np.isin(lost["serial"], np.asarray(run.tables.reasons["serial"])) & (lost["reason"] == State.BLOCKED)
    days, places = lost["work_days"][ours], len(sheet.places)
    here, parked = lost["place"][ours].astype(np.int64), lost["parked"][ours].astype(bool)
    every = np.bincount(here, days, places)
    before = np.bincount(here[parked], days[parked], places)
    return np.divide(before, every, out=np.zeros(places), where=every > 0)


def ranked(sheet: Sheet, runs: Sequence[RunNumbers]) -> list[Loss]:
    """All losses that are worth a name, largest first, in work days per delivered aircraft; none, if nothing is
    delivered."""
    aircraft = sum(run.counted for run in runs)
    if not aircraft:
        return []
    days = on_the_chain(sheet, runs) / aircraft
    least = min(LEAST, LEAST_SHARE * float(days.sum()))
    found = [Loss(n, state, float(days[n, state])) for n in range(len(sheet.places)) for state in LOST]
    return sorted((loss for loss in found if loss.days > least), key=lambda loss: -loss.days)


def content(sheet: Sheet, runs: Sequence[RunNumbers]) -> dict[State, float]:
    """Work days per delivered aircraft of what is no loss, by kind."""
    aircraft = sum(run.counted for run in runs)
    days = on_the_chain(sheet, runs).sum(axis=0) / max(aircraft, 1)
    return {state: float(days[state]) for state in CONTENT}


def of_run(sheet: Sheet, run: RunNumbers, key: Key) -> float | None:
    """Work days per aircraft that one run loses so; None of a run that counts no aircraft."""
    return float(on_the_chain(sheet, [run])[key]) / run.counted if run.counted else None


def all_of_run(sheet: Sheet, run: RunNumbers) -> float | None:
    """Work days per aircraft that one run loses in all; None of a run that counts no aircraft."""
    return float(run.chain[0][:, list(LOST)].sum()) / run.counted if run.counted else None


# one aircraft --------------------------------------------------------------------------------------------------------
def of_serial(sheet: Sheet, run: RunNumbers, serial: int) -> dict[Key, float]:
    """Work days that one aircraft (its number in the order book) loses in a run, waiting, blocked or in rework, by
    place and reason; of an undelivered one those so far."""
    lost = {name: np.asarray(column) for name, column in run.tables.lost.items()}
    found: dict[Key, float] = {}
    for n in np.flatnonzero(lost["serial"] == serial).tolist():
        place, state = int(lost["place"][n]), State(int(lost["reason"][n]))
        after = sheet.places[place].next
        if state is State.BLOCKED and not lost["parked"][n] and after is not None:
            place = after
        found[place, state] = found.get((place, state), 0.0) + float(lost["work_days"][n])
    return found
