"""A new order at the end of the order book: the same scenario with it, and the launch slot that is open for it.

The rate plan gives the slots, and the orders that are not on the floor fill them in the order of the book. The new
order takes the first one that is left, which would else be stock or stay empty. Nothing of the others' luck changes.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from itertools import islice

from ..line.draws import next_serial
from ..line.sheet import Sheet
from ..scenario.faults import did_you_mean
from ..scenario.orders import Order
from ..scenario.plan import planned_moments
from ..scenario.scenario import Scenario


class NoOpenSlot(ValueError):
    """No launch slot can be named for a new order; says why."""


@dataclass(frozen=True, slots=True)
class NewOrder:
    """The scenario with the new order, its serial, model and scheme, and the date of its planned launch (None where
    launches are not planned by dates)."""

    scenario: Scenario
    serial: str
    model: str | None
    scheme: str | None
    launch: date | None


def with_new_order(sheet: Sheet, model: str | None = None) -> NewOrder:
    """A scenario with one order more, without a promised date: of the model that is asked for, else of the one that
    most orders are; in the paint scheme that most orders of that model have. Raises NoOpenSlot."""
    scenario = sheet.scenario
    if scenario.orders is None:
        raise NoOpenSlot("the scenario has no order book: aircraft are launched without orders")
    models = list(dict.fromkeys(order.model for order in scenario.orders if order.model))
    if model is not None and model not in models:
        raise NoOpenSlot(f"no order is of model {model!r}; the order book has {', '.join(models) or 'no models'}"
                         f"{did_you_mean(model, models)}")
    chosen = model or _most([order.model for order in scenario.orders])
    scheme = _most([order.scheme for order in scenario.orders if order.model == chosen])
    serial = next_serial(scenario.orders[-1].serial) if scenario.orders else "new-1"
    while any(order.serial == serial for order in scenario.orders):
        serial = next_serial(serial)
    orders = (*scenario.orders, Order(serial=serial, model=chosen, scheme=scheme))
    return NewOrder(scenario.model_copy(update={"orders": orders}), serial, chosen, scheme, _open_slot(sheet))


def _most(values: list[str | None]) -> str | None:
    """The most frequent one; of equals the first."""
    return Counter(values).most_common(1)[0][0] if values else None


def _open_slot(sheet: Sheet) -> date | None:
    """Date of the first planned launch that no order of the book fills."""
    scenario, calendar = sheet.scenario, sheet.calendar
    moments = _moments(sheet)
    if moments is None:
        return None
    ahead = len(scenario.orders or ()) - len(scenario.on_the_line)
    at = next(islice(moments, ahead, None), None)
    if at is None:
        raise NoOpenSlot(f"launches are listed moments, and the orders fill all {ahead} of them: add a moment")
    if at >= calendar.end:
        raise NoOpenSlot(f"the next open launch slot, on {calendar.date_of(at)}, is after the end {scenario.end}, when "
                         "nothing is launched: set a later end")
    return calendar.date_of(at)


def _moments(sheet: Sheet) -> Iterator[float] | None:
    """Planned launch moments in order; None where launches are at random or whenever there is room."""
    launches, calendar = sheet.scenario.launches, sheet.calendar
    if launches.moments is not None:
        return iter([calendar.of_moment(moment) for moment in launches.moments])
    if launches.takt_work_days is None:
        return None
    first = calendar.of_moment(launches.first) if launches.first else None
    return planned_moments(calendar, launches.takt_work_days, launches.steps, first)
