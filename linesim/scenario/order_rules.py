"""Rules of what is asked of the plant: the launches, and orders that change before theirs."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from .orders import OrderChange, TaktStep
from .plant_rules import Found
from .scenario import Scenario

_CHANGES = ("cancelled", "deferred_days", "swapped_with")


def launch_rules(s: Scenario) -> Iterator[Found]:
    """Launches: one way of planning them, a cap that ends somewhere, steps in order, a takt said once."""
    plan = s.launches
    given = [name for name in ("takt_work_days", "moments", "between_hours", "saturated")
             if getattr(plan, name) not in (None, False)]
    if len(given) != 1:
        yield ("launches",), ("needs exactly one of takt_work_days, moments, between_hours, saturated; found "
                              + (", ".join(given) or "none"))
    if plan.most_on_line is not None and plan.most_on_line_until is None and s.pulse is None:
        yield ("launches", "most_on_line"), "needs most_on_line_until: without a pulse line nothing says where it ends"
    for path, steps in ((("launches", "steps"), plan.steps),
                        *((("plans", n, "steps"), named.steps) for n, named in enumerate(s.plans))):
        yield from ((path, message) for message in _steps(steps, plan.takt_work_days))
    if s.pulse and s.pulse.takt_work_days is not None and s.pulse.takt_work_days != plan.takt_work_days:
        yield ("pulse", "takt_work_days"), (f"the pulse interval is the takt {plan.takt_work_days}; found "
                                            f"{s.pulse.takt_work_days}")
    ahead = len({order.serial for order in s.orders or ()} - {aircraft.serial for aircraft in s.on_the_line})
    if plan.moments is not None and s.orders is not None and len(plan.moments) < ahead:
        yield ("launches", "moments"), f"{ahead} orders are to be launched, found {len(plan.moments)} moments"


def travel_rules(s: Scenario) -> Iterator[Found]:
    """Where travelled work must be closed lies on the pulse line, for it travels no further."""
    for n, position in enumerate(s.positions if s.pulse else ()):
        for m, package in enumerate(position.packages):
            latest = package.latest_position
            if latest is not None and s.pulse is not None and latest not in s.pulse.positions:
                yield (("positions", n, "packages", m, "latest_position"),
                       f"{latest} is no position of the pulse line, {', '.join(s.pulse.positions)}")


def _steps(steps: tuple[TaktStep, ...], takt: float | None) -> Iterator[str]:
    if steps and takt is None:
        yield "steps change a takt; there is no takt_work_days"
    for before, after in pairwise(steps):
        if after.day <= before.day:
            yield f"dates must ascend; {after.day} follows {before.day}"


def order_rules(s: Scenario) -> Iterator[Found]:
    """Orders that change: each change is one thing, of an order that is still to be launched."""
    changes = s.order_changes
    if changes is None:
        return
    if s.orders is None:
        yield ("order_changes",), "needs an order book: unlimited orders are neither cancelled, deferred nor swapped"
        return
    standing = {aircraft.serial for aircraft in s.on_the_line}
    for n, change in enumerate(changes.stated):
        path = ("order_changes", "stated", n)
        if change.day < s.start:
            yield (*path, "date"), f"must not lie before the start {s.start}, found {change.day}"
        yield from (((*path, *field), message) for field, message in _change_rules(change, standing))


def _change_rules(change: OrderChange, standing: set[str]) -> Iterator[tuple[tuple[str, ...], str]]:
    given = [name for name in _CHANGES if getattr(change, name)]
    if len(given) != 1:
        yield (), f"needs exactly one of {', '.join(_CHANGES)}; found {', '.join(given) or 'none'}"
    for field in ("serial", "swapped_with"):
        if getattr(change, field) in standing:
            yield (field,), f"{getattr(change, field)} stands on the floor at the start: its launch is over"
    if change.swapped_with == change.serial:
        yield ("swapped_with",), "an order does not change places with itself"
