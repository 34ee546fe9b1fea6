"""What each aircraft loses days to: the chain that set its date, without what was work, hold, appointment or night."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Any

import numpy as np

from ..line.records import REASON_WORDS, State
from ..line.sheet import Sheet
from ..measures.ledger import RANKS
from ..measures.run import RunNumbers

LEAST = 0.05  # work days: less is not named
COLUMNS = ("serial", "place", "parked", "reason", "work_days")
Where = tuple[str, bool, str]  # place, whether before it (not in it), reason


def lost_days(sheet: Sheet, runs: Sequence[RunNumbers]) -> dict[str, dict[Where, float]]:
    """Work days lost on the chain that set the date, by serial and by place and reason: mean of the runs. The days of
    an aircraft that is not delivered are those so far."""
    names = [order.serial for order in sheet.scenario.orders or ()]
    found: dict[str, dict[Where, float]] = defaultdict(dict)
    *where, days = (np.concatenate([np.asarray(run.tables.lost[name]) for run in runs]) for name in COLUMNS)
    shape = (int(max(where[0].max(initial=0), len(names))) + 1, len(sheet.places), 2, RANKS)
    cell = np.ravel_multi_index([of.astype(np.int64) for of in where], shape)
    mean = np.bincount(cell, days.astype(float) / len(runs))
    cells, came = np.unique(cell, return_index=True)
    in_turn = cells[np.argsort(came)]  # as they first come in the runs
    for number, place, parked, reason, of in zip(*(part.tolist() for part in np.unravel_index(in_turn, shape)),
                                                 mean[in_turn].tolist(), strict=True):
        if number < len(names):
            found[names[number]][sheet.places[place].id, bool(parked), REASON_WORDS[State(reason)]] = of
    return found


def losses(sheet: Sheet, runs: Sequence[RunNumbers]) -> dict[str, list[dict[str, Any]]]:
    """The same as rows, most days first: place, its name, whether it stood parked before it, reason, work days."""
    names = {place.id: place.position.name for place in sheet.places}
    return {serial: [{"place": place, "name": names[place], "parked before it": parked, "reason": reason,
                      "work days": round(days, 2)}
                     for (place, parked, reason), days in sorted(found.items(), key=lambda item: -item[1])
                     if days >= LEAST]
            for serial, found in lost_days(sheet, runs).items()}
