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
    shape = (len(names), len(sheet.places), 2, RANKS)
    mean, in_turn = np.zeros(shape).ravel(), dict[int, None]()  # as they first come in the runs
    for run in runs:
        *where, days = (np.asarray(run.tables.lost[name]) for name in COLUMNS)
        ordered = where[0] < len(names)
        cell = np.ravel_multi_index([of[ordered].astype(np.int64) for of in where], shape)
        mean[cell] += days[ordered].astype(float) / len(runs)  # each once in a run
        in_turn.update(dict.fromkeys(cell.tolist()))
    found: dict[str, dict[Where, float]] = defaultdict(dict)
    cells = np.array(list(in_turn), dtype=np.int64)
    for number, place, parked, reason, of in zip(*(part.tolist() for part in np.unravel_index(cells, shape)),
                                                 mean[cells].tolist(), strict=True):
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
