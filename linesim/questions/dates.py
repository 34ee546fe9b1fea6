"""When each aircraft delivers, and what may be promised: the answer of `linesim dates`.

Dates are read as by: 8 in 10 runs deliver by that date. An aircraft that is not delivered when the runs end ranks after
every date. A promise is kept in a run if the aircraft is delivered by the promised date that it has in that run.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from ..line.cautions import cautions_of
from ..line.sheet import Sheet
from ..measures.estimates import chance, percentile, percentile_interval
from ..measures.run import RunNumbers, promise_in
from ..measures.window import window_of
from ..scenario.faults import did_you_mean
from ..scenario.orders import Order
from .amounts import FEW
from .baseline import LEAST_RUNS, Answer
from .figures import AT_RISK, LATE, ON_TIME, state_of
from .lost_by_serial import losses
from .new_order import NewOrder

BY = {"half by": 0.5, "8 in 10 by": 0.8, "19 in 20 by": 0.95}


class UnknownSerial(ValueError):
    """A serial that the order book does not have; says which is near."""

    def __init__(self, found: str, known: list[str]) -> None:
        super().__init__(found, known)
        self.found, self.known = found, known

    def __str__(self) -> str:
        span = f"it has {self.known[0]} to {self.known[-1]}" if self.known else "it has no orders"
        return f"the order book has no serial {self.found!r}; {span}{did_you_mean(self.found, self.known)}"


def dates(sheet: Sheet, runs: Sequence[RunNumbers], seed: int, serial: str | None = None,
          new: tuple[NewOrder, Sequence[RunNumbers]] | None = None) -> Answer:
    """The answer from at least one run: of one serial or of all, and of a new order with the runs that it is in. Raises
    UnknownSerial."""
    from .date_words import sentences

    scenario, orders = sheet.scenario, sheet.scenario.orders or ()
    if serial is not None and serial not in {order.serial for order in orders}:
        raise UnknownSerial(serial, [order.serial for order in orders])
    lost = losses(sheet, runs)
    rows = [_row(sheet, order, runs, lost.get(order.serial, [])) for order in orders
            if serial is None or order.serial == serial]
    numbers: dict[str, Any] = {
        "scenario": scenario.name, "runs": len(runs), "seed": seed,
        "window": [str(day) for day in window_of(scenario)], "last date of the runs": str(sheet.calendar.last_day),
        "serials": rows,
        "states": {state: sum(row.get("state") == state for row in rows) for state in (ON_TIME, AT_RISK, LATE)},
        "new order": None if new is None else safe_to_promise(sheet, *new),
        "cautions": [*_cautions(sheet, runs), *(str(caution) for caution in cautions_of(scenario))]}
    if len(runs) < LEAST_RUNS:
        numbers["note"] = FEW
    return Answer(numbers, sentences(numbers))


def delivery_days(serial: str, runs: Sequence[RunNumbers]) -> list[float]:
    """Local date of delivery in each run as a day number; inf: not in this run."""
    return [float(date.fromisoformat(run.delivered[serial][:10]).toordinal()) if serial in run.delivered else math.inf
            for run in runs]


def day_words(number: float, last: date) -> str:
    """A date; after the last date of the runs, if it lies beyond."""
    return f"after {last}" if math.isinf(number) else str(date.fromordinal(int(number)))


def _row(sheet: Sheet, order: Order, runs: Sequence[RunNumbers],
         lost: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    days, last = delivery_days(order.serial, runs), sheet.calendar.last_day
    row: dict[str, Any] = {"serial": order.serial, "model": order.model,
                           "promised": str(order.promised) if order.promised else None, **by(days, last)}
    promises = [promise_in(run, order) for run in runs]
    kept = sum(day <= date.fromisoformat(promised).toordinal() for day, promised in zip(days, promises, strict=True)
               if promised)
    of = sum(bool(promised) for promised in promises)
    if order.promised and of:
        share = chance(kept, of)
        row |= {"runs that keep it": kept, "of": of, "low": round(share.low, 4), "high": round(share.high, 4),
                "state": state_of(kept, of)}
        if of < len(runs):
            row["runs that promise it"] = of
    return {**row, "most days lost to": next(iter(lost), None), "work days lost": list(lost)}


def by(days: Sequence[float], last: date) -> dict[str, Any]:
    """The dates by which half, 8 in 10 and 19 in 20 of the runs deliver, each with its 95 % interval where the runs are
    enough for one; of too few runs the first and the last."""
    if len(days) < LEAST_RUNS:
        return {"first": day_words(min(days), last), "last": day_words(max(days), last)}
    found: dict[str, Any] = {words: day_words(percentile(days, share), last) for words, share in BY.items()}
    of = percentile_interval(days, 0.8)
    return {**found, "8 in 10 by, 95 % interval": [day_words(of.low, last), day_words(of.high, last)]}


# a new order ---------------------------------------------------------------------------------------------------------
def safe_to_promise(sheet: Sheet, new: NewOrder, runs: Sequence[RunNumbers]) -> dict[str, Any]:
    """What may be promised for a new order: the date by which 8 in 10 runs deliver it, so that 1 in 5 such promises
    will be missed, with more and less careful ones beside it."""
    days, last = delivery_days(new.serial, runs), sheet.calendar.last_day
    row: dict[str, Any] = {"serial": new.serial, "model": new.model, "scheme": new.scheme,
                           "launch slot": str(new.launch) if new.launch else None, "runs": len(runs), **by(days, last)}
    if len(days) < LEAST_RUNS:
        return {**row, "note": FEW}
    promise = percentile(days, 0.8)
    if math.isinf(promise):
        return {**row, "safe to promise": None}
    return {**row, "safe to promise": day_words(promise, last),
            "runs that miss it": sum(day > promise for day in days),
            "9 in 10 by": day_words(percentile(days, 0.9), last)}


def _cautions(sheet: Sheet, runs: Sequence[RunNumbers]) -> list[str]:
    said = []
    if sheet.scenario.order_changes is not None:
        said.append("orders may be cancelled, deferred or swapped before their launch: the promised date in the table "
                    "is that of the order book, and a promise counts as kept by the date that the order has in each "
                    "run")
    never = sum(any(math.isinf(day) for day in delivery_days(order.serial, runs))
                for order in sheet.scenario.orders or ())
    if never:
        said.append(f"{never} aircraft are not delivered in every run by {sheet.calendar.last_day}, when the runs end; "
                    "there they rank after every date")
    return said
