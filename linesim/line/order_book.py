"""Which aircraft the launch slots are for: the order book, whose orders may be cancelled, deferred, swapped and sold
again before their launch; then stock.

The rate plan gives the slots, and the orders of the book fill them in its order. Nothing on the floor depends on an
order before its launch, so a change that falls on 00:00 of a date is carried out when a slot is next looked at.
"""

from __future__ import annotations

from datetime import date, timedelta
from heapq import heappop, heappush
from typing import TYPE_CHECKING, Final

from ..scenario.clock import NEVER
from ..scenario.orders import OrderChange, OrderChanges
from .records import Changed

if TYPE_CHECKING:
    from .floor import Floor

_STATED: Final = 0  # the order of what falls on one instant
_BY_CHANCE: Final = 1
_SOLD_AGAIN: Final = 2


class OrderBook:
    """The orders of one run that are not launched, as they change."""

    def __init__(self, floor: Floor) -> None:
        standing = {entry.serial for entry in floor.scenario.on_the_line}
        self._floor, self._fleet, self._rules = floor, floor.fleet, floor.scenario.order_changes
        self._waiting = [n for n, order in enumerate(self._fleet.orders) if order.serial not in standing]
        self._beyond = self._fleet.ordered  # the next aircraft past the book: stock, or of unlimited orders
        self._builds_stock = self._fleet.unlimited or floor.scenario.stock.unsold_slots == "build"
        self._deferred: dict[int, int] = {}      # days that an order has put off its launch, from the slot it comes to
        self._not_before: dict[int, float] = {}  # orders that have lost their slot by that, until when
        self._ahead: list[tuple[float, int, int, OrderChange | date | int]] = []
        self._for_sale = 0
        if self._rules is not None:
            self._look_ahead(self._rules)

    def _look_ahead(self, rules: OrderChanges) -> None:
        calendar, day = self._floor.calendar, self._floor.scenario.start
        for n, change in enumerate(rules.stated):
            heappush(self._ahead, (calendar.instant(change.day), _STATED, n, change))
        if rules.cancel_chance or rules.defer_chance or rules.swap_chance:
            while day <= self._floor.scenario.end:
                if day.day == 1:
                    heappush(self._ahead, (calendar.instant(day), _BY_CHANCE, 0, day))
                day = (day.replace(day=1) + timedelta(days=31)).replace(day=1)

    # what the launches ask ---------------------------------------------------------------------------------------
    def first(self, number: int, now: float) -> list[int]:
        """The aircraft that the next slots are for, at most so many; fewer, if slots are held for want of orders."""
        if self._rules is None:
            found = self._waiting[:number]
        else:
            self._carry_out(now)
            found = []
            for n in self._waiting:
                if len(found) == number:
                    break
                if not self._is_put_off(n, now):
                    found.append(n)
        if self._builds_stock:
            found += range(self._beyond, self._beyond + number - len(found))
        return found

    def launched(self, n: int) -> None:
        """An aircraft is launched: no order of it changes any more."""
        if n >= self._fleet.ordered:
            self._beyond = n + 1
        else:
            self._waiting.remove(n)

    def has_more(self, after: int) -> bool:
        """Whether, after so many slots, there is or may still come another aircraft to be launched."""
        return len(self._waiting) + self._for_sale > after or self._builds_stock

    def next_change(self, now: float) -> float:
        """The next instant at which an aircraft may come that a slot could be for."""
        until = [t for n, t in self._not_before.items() if t > now]
        return min([self._ahead[0][0] if self._ahead else NEVER, *until])

    def _is_put_off(self, n: int, now: float) -> bool:
        days = self._deferred.pop(n, 0)
        if days:
            calendar = self._floor.calendar
            self._not_before[n] = calendar.instant(calendar.date_of(now) + timedelta(days=days))
        return self._not_before.get(n, now) > now

    # changes -----------------------------------------------------------------------------------------------------
    def _carry_out(self, now: float) -> None:
        while self._ahead and self._ahead[0][0] <= now:
            t, _, _, what = heappop(self._ahead)
            if isinstance(what, OrderChange):
                self._stated(what, t)
            elif isinstance(what, date):
                for n in [n for n in self._waiting if n not in self._floor.unordered]:
                    self._by_chance(n, what, t)
            else:
                self._sell_again(what, t)

    def _stated(self, change: OrderChange, t: float) -> None:
        n = self._fleet.positions[change.serial]
        if not self._is_ordered(n):
            return
        if change.cancelled:
            self._cancel(n, t)
        elif change.deferred_days:
            self._defer(n, change.deferred_days, t)
        elif change.swapped_with is not None:
            self._swap(n, self._fleet.positions[change.swapped_with], t)

    def _by_chance(self, n: int, month: date, t: float) -> None:
        """The draws of a month: one set for each order that waits for its launch on the first."""
        rules = self._rules
        assert rules is not None
        cancel, defer, days, swap, *_ = self._floor.luck.eight("order change", self._fleet.order(n).serial,
                                                               f"{month:%Y-%m}")
        if cancel < rules.cancel_chance:
            self._cancel(n, t)
            return
        if defer < rules.defer_chance:
            self._defer(n, round(rules.defer_days.value(days)), t)
        if swap < rules.swap_chance:
            behind = self._waiting[self._waiting.index(n) + 1:]
            other = next((m for m in behind if self._is_ordered(m)), None)
            if other is not None:
                self._swap(n, other, t)

    def _is_ordered(self, n: int) -> bool:
        return n in self._waiting and n not in self._floor.unordered

    def _cancel(self, n: int, t: float) -> None:
        rules, floor = self._rules, self._floor
        assert rules is not None
        self._deferred.pop(n, None)
        self._not_before.pop(n, None)
        self._promise(n, None)
        floor.records.order_changes.append(Changed(n, t, "cancelled"))
        if rules.cancelled == "built for stock":
            floor.unordered.add(n)
            return
        self._waiting.remove(n)
        self._for_sale += 1
        heappush(self._ahead, (floor.calendar.work_days_later(t, rules.resold_after_work_days), _SOLD_AGAIN, n, n))

    def _sell_again(self, n: int, t: float) -> None:
        self._waiting.append(n)
        self._for_sale -= 1
        self._floor.records.order_changes.append(Changed(n, t, "sold again"))

    def _defer(self, n: int, days: int, t: float) -> None:
        self._deferred[n] = self._deferred.get(n, 0) + days
        promised = self._fleet.order(n).promised
        self._promise(n, promised and promised + timedelta(days=days))
        self._floor.records.order_changes.append(Changed(n, t, "deferred", days))

    def _swap(self, n: int, other: int, t: float) -> None:
        if not self._is_ordered(other):
            return
        a, b = self._waiting.index(n), self._waiting.index(other)
        self._waiting[a], self._waiting[b] = other, n
        mine, theirs = self._fleet.order(n).promised, self._fleet.order(other).promised
        self._promise(n, theirs)
        self._promise(other, mine)
        self._floor.records.order_changes.append(Changed(n, t, "swapped", other))

    def _promise(self, n: int, promised: date | None) -> None:
        self._fleet.orders[n] = self._fleet.order(n).model_copy(update={"promised": promised})
        self._floor.records.promised[n] = promised
