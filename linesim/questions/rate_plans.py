"""The rates that are tried: the plans of the file or a row of takts, each with orders enough for all of the window.

A faster launch comes to the end of the order book sooner. A plan that ran out of orders inside the measuring window
would be measured on less work, so its book is continued: more aircraft of the same models and schemes in turn, promised
at the pace of the book. A plan whose orders last keeps its book, so that its runs are those of `linesim run`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import takewhile

from ..line.sheet import Sheet
from ..measures.run import window_instants
from ..scenario.changing import changed
from ..scenario.differences import with_plan
from ..scenario.orders import Order
from ..scenario.plan import planned_moments
from ..scenario.scenario import Scenario

AROUND = (1.0, 0.5, 0.0, -0.5, -1.0)  # work days about the declared takt, where nothing else is asked for
MOST_TAKTS, MOST = 20, 1000  # takts at once, and work days of one


class NoRate(ValueError):
    """The launches of the scenario follow no takt, so no rate can be tried."""


@dataclass(frozen=True, slots=True)
class RatePlan:
    """A rate to try: its name, the scenario with it, the takt (None where the plan has steps) and how many orders were
    added to the book."""

    name: str
    scenario: Scenario
    takt: float | None
    added: int

    @property
    def words(self) -> str:
        """As a sentence calls it."""
        if self.takt is None or self.name != f"{self.takt:g}":
            return f"the plan '{self.name}'"
        return f"a takt of {self.takt:g} work day{'s' * (self.takt != 1)}"


@dataclass(frozen=True, slots=True)
class Stepped:
    """A takt with dated changes, as it is typed: "4.5 then 4 from 2027-05-03"."""

    takt: float
    steps: tuple[tuple[date, float], ...]

    @property
    def name(self) -> str:
        """As it is typed."""
        return f"{self.takt:g}" + "".join(f" then {takt:g} from {day}" for day, takt in self.steps)


def takts_from(text: str) -> list[float | Stepped]:
    """Takts in work days of a text such as "5,4.5,4", "5-3.5" (in half days) or "4.5 then 4 from 2027-05-03"; those
    with dated changes last. Raises ValueError."""
    parts = text.split(",")
    stepped = [_stepped(part) for part in parts if " then " in part]
    found: list[float | Stepped] = [*_constant([part for part in parts if " then " not in part])]
    if len(found) + len(stepped) > MOST_TAKTS:
        raise ValueError(f"no more than {MOST_TAKTS} rates are tried at once")
    return [*found, *stepped]


def _stepped(part: str) -> Stepped:
    first, *later = re.split(r"\s+then\s+", part.strip())
    try:
        takt, found = float(first), list[tuple[date, float]]()
        for step in later:
            matched = re.fullmatch(r"(\d+(?:\.\d+)?)\s+from\s+(\d{4}-\d{2}-\d{2})", step.strip())
            if matched is None:
                raise ValueError
            found.append((date.fromisoformat(matched[2]), float(matched[1])))
    except ValueError:
        raise ValueError(f"{part.strip()!r} is no takt with dated changes; one is written "
                         "4.5 then 4 from 2027-05-03 then 3.5 from 2027-09-06") from None
    days = [day for day, _ in found]
    if days != sorted(set(days)) or not all(0 < one <= MOST for one in [takt, *(one for _, one in found)]):
        raise ValueError(f"{part.strip()!r}: its dates must rise, its takts be above 0 and at most {MOST} work days")
    return Stepped(takt, tuple(found))


def _constant(parts: Sequence[str]) -> list[float]:
    found: list[float] = []
    for part in parts:
        ends = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(?:-\s*(\d+(?:\.\d+)?)\s*)?", part)
        if ends is None:
            raise ValueError(f"{part.strip()!r} is no takt; takts in work days are written 5,4.5,4 or 5-3.5")
        first, last = float(ends[1]), float(ends[2] or ends[1])
        low, high = sorted((first, last))
        found += [low + 0.5 * n for n in range(min(int((high - low) * 2), MOST_TAKTS) + 1)]
    if not all(0 < takt <= MOST for takt in found) or len(set(found)) > MOST_TAKTS:
        raise ValueError(f"takts must be above 0 and at most {MOST} work days, no more than {MOST_TAKTS} of them")
    return sorted(set(found), reverse=True)


def plans_to_try(scenario: Scenario, takts: Sequence[float | Stepped] = (),
                 sheet_of: Callable[[Scenario], Sheet] = Sheet) -> list[RatePlan]:
    """The takts asked for, slowest first; else the plans of the file; else takts about the declared one. `sheet_of`
    gives the sheet of a scenario, where it is at hand.

    Raises NoRate where launches follow no takt, ScenarioFaults where a rate breaks a rule of the file.
    """
    takt = scenario.launches.takt_work_days
    if takt is None:
        raise NoRate("launches follow no takt (launches.takt_work_days); a rate needs one")
    if not takts and scenario.plans:
        found = [(plan.name, with_plan(scenario, plan.name), None if plan.steps else takt) for plan in scenario.plans]
    else:
        tried: list[float | Stepped] = list(takts) or [takt + step for step in AROUND if takt + step > 0]
        found = [(one.name, _with_steps(scenario, one), None) if isinstance(one, Stepped) else
                 (f"{one:g}", with_takt(scenario, one), one) for one in tried]
    return [RatePlan(name, longer, one, added) for name, plan, one in found
            for longer, added in [with_orders(plan, sheet_of)]]


def with_takt(scenario: Scenario, takt: float) -> Scenario:
    """The scenario at one takt throughout."""
    changes: dict[str, object] = {"launches.takt_work_days": takt}
    if scenario.launches.steps:
        changes["launches.steps"] = []
    if scenario.pulse is not None and scenario.pulse.takt_work_days is not None:
        changes["pulse.takt_work_days"] = takt
    return scenario if changes == {"launches.takt_work_days": scenario.launches.takt_work_days} \
        else changed(scenario, changes)


def _with_steps(scenario: Scenario, asked: Stepped) -> Scenario:
    return changed(with_takt(scenario, asked.takt), {"launches.steps": [
        {"from": str(day), "takt_work_days": takt} for day, takt in asked.steps]})


def planned_in_run(sheet: Sheet, until: float) -> list[float]:
    """Planned launches of a takt before an instant."""
    launches, calendar = sheet.scenario.launches, sheet.calendar
    assert launches.takt_work_days is not None
    first = calendar.of_moment(launches.first) if launches.first else None
    return list(takewhile(lambda t: t < until, planned_moments(calendar, launches.takt_work_days, launches.steps,
                                                               first)))


def with_orders(scenario: Scenario, sheet_of: Callable[[Scenario], Sheet] = Sheet) -> tuple[Scenario, int]:
    """The scenario with orders enough for every launch planned before the end of the window, and how many were added;
    itself and 0 where its own last."""
    orders = scenario.orders
    if not orders:
        return scenario, 0
    sheet = sheet_of(scenario)
    short = len(planned_in_run(sheet, window_instants(sheet)[1])) - (len(orders) - len(scenario.on_the_line))
    if short <= 0:
        return scenario, 0
    return scenario.model_copy(update={"orders": (*orders, *_more(orders, short))}), short


def _more(orders: Sequence[Order], number: int) -> list[Order]:
    """Orders that continue a book: serials counted on, models and schemes in turn, promises at its pace."""
    promised = sorted(order.promised for order in orders if order.promised)
    pace = (promised[-1] - promised[0]) / (len(promised) - 1) if len(promised) > 1 else timedelta(0)
    taken, serial, found = {order.serial for order in orders}, orders[-1].serial, list[Order]()
    for n in range(number):
        like = orders[n % len(orders)]
        serial = _next(serial, taken)
        found.append(like.model_copy(update={
            "serial": serial, "launch": None, "promised": promised[-1] + (n + 1) * pace if promised else None}))
    return found


def _next(serial: str, taken: set[str]) -> str:
    """The serial counted on by one, past those that are there."""
    while True:
        digits = re.search(r"\d+$", serial)
        serial = f"{serial}-2" if digits is None else \
            f"{serial[:digits.start()]}{int(digits[0]) + 1:0{len(digits[0])}d}"
        if serial not in taken:
            taken.add(serial)
            return serial
