"""What a crew is judged by, run by run: days from a place to delivery, jobs that wait for a trade."""

from __future__ import annotations

from datetime import datetime

import numpy as np

from ..line.sheet import HOUR, Sheet
from ..measures.run import RunNumbers, window_instants
from ..measures.window import months_between, window_of

NOT_BY_THE_END = float("inf")


def first_place_of(sheet: Sheet, trades: list[str]) -> int:
    """The first place in order of flow at which one of the trades has work; the first place of all if none has."""
    served: dict[int, int] = {}
    for n, place in enumerate(sheet.places):
        position = place.position
        flights, taken = position.flights, position.acceptance
        here = set[str | None]()
        here |= {job.trade for job in place.jobs} | {job.inspector for job in place.jobs if job.inspection}
        here |= {flights.pilots, flights.mechanics} if flights else set()
        here |= {taken.delivery_trade, taken.pilots} if taken else set()
        here |= {place.repaint.trade} if place.repaint else set()
        if here & set(trades):
            served[n] = place.rank
    return min(served, key=lambda n: (served[n], n)) if served else 0


def days_by_month(sheet: Sheet, run: RunNumbers, place: int) -> dict[str, list[float]]:
    """Work days from arrival at a place (its parking counts) to delivery, by month of the arrival, of the aircraft that
    arrive inside the window; NOT_BY_THE_END where the runs end first. Those that stand there at the start are left
    out."""
    visits, calendar = run.tables.visits, sheet.calendar
    begin, end = window_instants(sheet)
    here = np.asarray(visits["place"]) == place
    serials, arrived = np.asarray(visits["serial"])[here], np.asarray(visits["arrived"])[here]
    first: dict[int, float] = {}
    for serial, at in zip(serials.tolist(), arrived.tolist(), strict=True):
        first[serial] = min(at, first.get(serial, at))
    clock, names = calendar.reference, [order.serial for order in sheet.scenario.orders or ()]
    found: dict[str, list[float]] = {f"{month:%Y-%m}": [] for month in months_between(*window_of(sheet.scenario))}
    for serial, at in first.items():
        if not (at > 0 and begin <= at < end) or (names and serial >= len(names)):
            continue
        name = names[serial] if names else str(serial + 1)
        if name in run.stock_ready:
            continue  # stock is never delivered
        moment = run.delivered.get(name)
        days = NOT_BY_THE_END if moment is None else (
            clock.reading(calendar.of_moment(datetime.fromisoformat(moment))) - clock.reading(at)) / calendar.work_day
        found[f"{calendar.date_of(at):%Y-%m}"].append(max(days, 0.0))
    return found


def waiting(sheet: Sheet, run: RunNumbers, trade: str) -> tuple[float, float]:
    """Hours that jobs waited for a trade in the window, over all places, and how many waited on average in the working
    time of the reference shift."""
    hours = float(run.waits[:, 1 + list(sheet.scenario.trades).index(trade)].sum())
    begin, end = window_instants(sheet)
    clock = sheet.calendar.reference
    open_hours = (clock.reading(end) - clock.reading(begin)) / HOUR
    return hours, hours / open_hours if open_hours else 0.0
