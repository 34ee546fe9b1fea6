"""Orders are cancelled, put off, swapped and sold again; promises and launches follow the book (F117)."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from math import isclose

from recorded.run import TINY, Broken, Recorded


class OrderBook(Recorded):
    """The book of a run."""

    def order_book(self) -> Iterator[Broken]:
        """F117: what changes, when, for whom; promises follow; the first that waits in the book is launched."""
        rules = self.scenario.order_changes
        if rules is None:
            return
        bad, seen = [], 0
        promise = {n: order.promised for n, order in enumerate(self.scenario.orders or ())}
        book, sold_at, put_off = list(promise), {}, set()
        stated = {(self.calendar.instant(c.day), self.records.serials.index(c.serial)) for c in rules.stated}
        events = sorted([(c.at, 0, n, c) for n, c in enumerate(self.records.order_changes)]
                        + [(entry.made, 1, n, entry) for n, entry in enumerate(self.records.launches)])
        for t, kind, _, what in events:
            seen += 1
            n = what.serial
            if kind:
                if n < len(promise):
                    ahead = [m for m in book[:book.index(n)] if m not in put_off] if n in book else [-1]
                    if ahead and n not in put_off:
                        bad.append(f"{what} before {ahead}")
                    book.remove(n)
                continue
            first = self.calendar.date_of(t).day == 1 and t in self.calendar.midnights
            if what.what == "sold again":
                if not isclose(t, sold_at.pop(n), abs_tol=TINY):
                    bad.append(f"{what} at another time")
                book.append(n)
                continue
            if n not in book or not (first or (t, n) in stated):
                bad.append(f"{what}: launched, or at another time")
                continue
            if what.what == "cancelled":
                promise[n] = None
                if rules.cancelled == "resold":
                    book.remove(n)
                    sold_at[n] = self.calendar.work_days_later(t, rules.resold_after_work_days)
            elif what.what == "deferred":
                put_off.add(n)
                promise[n] = promise[n] and promise[n] + timedelta(days=what.by)
                if what.by != (10 if first and (t, n) not in stated else 6):
                    bad.append(f"{what} by other days")
            else:
                a, b = book.index(n), book.index(what.by)
                book[a], book[b] = book[b], book[a]
                promise[n], promise[what.by] = promise[what.by], promise[n]
        bad += [f"{n}: promised {day} for {promise[n]}" for n, day in self.records.promised.items()
                if day != promise[n]]
        bad += [f"{n}: promised {day}, not changed" for n, day in promise.items()
                if day != self.scenario.orders[n].promised and n not in self.records.promised]
        stock = {c.serial for c in self.records.order_changes if c.what == "cancelled"}
        if rules.cancelled == "built for stock" and stock != set(self.records.unordered):
            bad.append(f"for stock {self.records.unordered} for {stock}")
        yield "orders that change otherwise", bad, seen
