"""What each aircraft of the order book loses, and the runs in which its story is worth reading."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date

import numpy as np
import pandas as pd

from ..line.records import REASON_WORDS, State
from ..line.sheet import Sheet
from ..measures.columns import Numbers
from ..measures.run import RunNumbers, promise_in
from .dates import delivery_days

EACH = "each"
COLUMNS = ["serial", "promised", "delivered_in", "kept", "of", "days", "reason", "place", "most", "middle", "slow"]


def of_each(sheet: Sheet, runs: Sequence[RunNumbers]) -> pd.DataFrame:
    """One row for each order, as written: serial, promised (ISO, "" if none), runs that deliver it, runs that keep its
    promise of those that promise it, mean work days lost on the chain that sets its date, what it loses most to (reason
    and place, "" if to nothing) with the mean days of it, and the numbers of the runs in which it loses so much as in
    half of them, and most."""
    orders = sheet.scenario.orders or ()
    by_run, total = np.zeros((len(runs), len(orders))), np.zeros((len(orders), len(sheet.places), max(State) + 1))
    for n, run in enumerate(runs):
        lost = np.zeros_like(total)
        _add(sheet, run, lost)
        by_run[n] = lost.sum(axis=(1, 2))
        total += lost
    mean = total / len(runs)
    rows = []
    for n, order in enumerate(orders):
        place, state = np.unravel_index(int(mean[n].argmax()), mean[n].shape)
        some = mean[n, place, state] > 0
        kept, of = _kept(runs, n, sheet)
        ranked = np.argsort(by_run[:, n], kind="stable")
        rows.append((order.serial, str(order.promised or ""), sum(order.serial in run.delivered for run in runs), kept,
                     of, float(by_run[:, n].mean()), REASON_WORDS[State(int(state))] if some else "",
                     sheet.places[int(place)].id if some else "", float(mean[n, place, state]),
                     runs[int(ranked[len(runs) // 2])].run, runs[int(ranked[-1])].run))
    return pd.DataFrame(rows, columns=COLUMNS)


def _add(sheet: Sheet, run: RunNumbers, lost: Numbers) -> None:
    """Days that the orders lose in a run, shape (orders, places, reasons); blocked stands at the place without room, as
    in `losses.of_serial`."""
    columns = {name: np.asarray(column) for name, column in run.tables.lost.items()}
    ours = columns["serial"] < len(lost)
    serial, state = columns["serial"][ours].astype(np.int64), columns["reason"][ours].astype(np.int64)
    place = columns["place"][ours].astype(np.int64)
    after = np.array([one.index if one.next is None else one.next for one in sheet.places])
    docked = (state == State.BLOCKED) & ~columns["parked"][ours].astype(bool)
    np.add.at(lost, (serial, np.where(docked, after[place], place), state), columns["work_days"][ours])


def _kept(runs: Sequence[RunNumbers], number: int, sheet: Sheet) -> tuple[int, int]:
    """Runs that deliver an order by the promised date that it has there, and those that promise it."""
    order = (sheet.scenario.orders or ())[number]
    promises = [promise_in(run, order) for run in runs]
    days = delivery_days(order.serial, runs)
    kept = sum(bool(promise) and math.isfinite(day) and day <= date.fromisoformat(promise).toordinal()
               for day, promise in zip(days, promises, strict=True))
    return kept, sum(map(bool, promises))
