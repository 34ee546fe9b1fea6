"""Work days that each aircraft lost on the chain that set its date, by place and reason.

Lost is what was neither work, hold nor appointment, nor a night: waiting, standing blocked, rework.
"""

from __future__ import annotations

import numpy as np

from .chain_days import ChainPieces
from .columns import Counts, Numbers
from .ledger import RANKS
from .moment import FAMILIES

LOST = tuple(int(state) for state, family in FAMILIES.items() if family in ("waiting", "blocked", "rework"))
LEAST = 0.05  # work days of an aircraft at a place for a reason in a run: less is not worth keeping
PARTS = 64  # of a work day, to which days are rounded: few different numbers take little room


def lost_on_the_way(found: ChainPieces, work_day: float) -> dict[str, Counts | Numbers]:
    """Columns serial, place, parked (before the place), reason and work_days, one row for each that any day was lost
    to."""
    lost = np.isin(found.rank, LOST)
    shape = (int(found.serial.max(initial=0)) + 1, int(found.place.max(initial=0)) + 1, 2, RANKS)
    cell = np.ravel_multi_index((found.serial[lost], found.place[lost], found.parked[lost], found.rank[lost]), shape)
    days: Numbers = np.bincount(cell, found.inside[lost] * (PARTS / work_day)).round() / PARTS
    kept = np.flatnonzero(days >= LEAST)
    serial, place, parked, reason = np.unravel_index(kept, shape)
    return {"serial": serial, "place": place, "parked": parked, "reason": reason, "work_days": days[kept]}
