"""Hours of one run that cost money: what people are paid for, and the work that stands in aircraft not yet handed over.

Both are hours by trade and stretch of the run (`periods_of`), so that prices can be laid on them later.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from ..line.records import State
from ..line.sheet import HOUR, Sheet
from .columns import Columns, Counts, Numbers
from .labour import ACCOUNT, roster_of, worked_minutes

EVENING = "evening"  # the shift that `evening_premium` is paid on


def wage_hours(sheet: Sheet, account: Numbers, columns: Columns) -> Numbers:
    """Paid hours, each counted as many times as it is paid: an overtime hour with its premium, an hour of the evening
    shift with its own, one on top of the other. `account` is that of `labour`; shape (trades, periods)."""
    scenario, roster, records = sheet.scenario, roster_of(sheet), columns.records
    found = account[:, :, ACCOUNT.index("paid")].copy()
    evening = scenario.money.evening_premium if scenario.money else 0.0
    if evening:
        found += evening * roster.paid_on(EVENING, records.attended) / HOUR
    rules = scenario.attendance.overtime if scenario.attendance else None
    last = (scenario.end - scenario.start).days
    for extra in records.overtime:
        if rules is not None and extra.day <= last:
            trade, _ = roster.cells[extra.trade, extra.shift]
            more = rules.premium - 1 + (evening if extra.shift == EVENING else 0.0)
            found[trade, roster.period(extra.day)] += more * extra.people * extra.paid / HOUR
    return found


def standing_labour(sheet: Sheet, columns: Columns) -> Numbers:
    """Hours worked in the run on aircraft that are not delivered yet: at the end of each period, and mean over it.
    Shape (2, trades, periods). Flights count with their pilot's hours, finished stock as long as it stands."""
    bounds = roster_of(sheet).bounds
    rows, minutes = _all_work(columns, float(bounds[-1]))
    gone = np.full(int(columns.serial.max(initial=0)) + 1, np.inf)
    for serial, at in columns.records.delivered.items():
        if serial < len(gone):
            gone[serial] = at
    # a stretch of work is put in at its middle: it is short against a month
    put_in = (columns.start[rows] + np.minimum(columns.end[rows], bounds[-1])) / 2
    out, trade = gone[columns.serial[rows]], columns.trade[rows] - 1
    trades = len(sheet.scenario.trades)
    found = np.zeros((2, trades, len(bounds) - 1))
    for n, (begin, end) in enumerate(pairwise(bounds.tolist())):
        at_end = minutes * ((put_in < end) & (out >= end))
        share = np.maximum(np.minimum(out, end) - np.maximum(put_in, begin), 0.0) / (end - begin)
        found[0, :, n] = np.bincount(trade, at_end, trades)
        found[1, :, n] = np.bincount(trade, minutes * share, trades)
    return found / HOUR


def _all_work(columns: Columns, until: float) -> tuple[Counts, Numbers]:
    """Segments of work and of flights up to an instant, and the minutes of their people."""
    rows, minutes = worked_minutes(columns, until)
    flown = np.flatnonzero((columns.state == State.FLIGHT) & (columns.shift > 0) & (columns.start < until))
    lasted = np.minimum(columns.end[flown], until) - columns.start[flown]
    return np.concatenate((rows, flown)), np.concatenate((minutes, lasted))
