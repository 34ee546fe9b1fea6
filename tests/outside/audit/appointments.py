"""Appointments: certificate and acceptance on their days and in their slots, delivery after them (F91, F92)."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from math import isclose

from recorded.run import TINY, Recorded, Row


class Appointments(Recorded):
    """Aircraft that are accepted."""

    def appointments(self) -> Iterator[Row]:
        """F91, F92: on their days, one in a slot, after what they wait for; acceptance lasts its work days; notice and
        the customer's date are kept."""
        accept = next(p.acceptance for p in self.scenario.positions if p.acceptance)
        cert = next(p for p in self.packages.values() if p.kind == "appointment")
        days = {"acceptance": accept.weekdays, cert.id: cert.weekdays}
        words = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
        bad, taken = 0, set()
        slots = self.records.slots
        for _, what, begins, ends in slots:
            day = self.calendar.date_of(begins)
            bad += words[day.weekday()] not in days[what] or day in self.scenario.calendar.closed
            bad += (what, begins) in taken
            taken.add((what, begins))
            if what == "acceptance":
                lasts = self._minutes(self.calendar.reference_shift, begins, ends) / self.calendar.work_day
                bad += not isclose(lasts, accept.duration_work_days, abs_tol=1e-6)
        yield "appointments on other days, twice in a slot, or of another length", bad, len(slots)
        cleared = {v.serial: v.ready for v in self.records.visits if self.sheet.places[v.place].position.flights
                   and not v.parked}
        promised = {n: o.promised for n, o in enumerate(self.scenario.orders or ())}
        promised |= self.records.promised
        early = seen = 0
        for serial, what, begins, _ in slots:
            if what != "acceptance" or serial not in cleared or serial not in self.launched:
                continue
            seen += 1
            early += begins < self.calendar.work_days_later(cleared[serial], accept.notice_work_days) - TINY
            ahead, due = accept.earliest_days_before_promise, promised.get(serial)
            if ahead is not None and due is not None:
                early += begins < self.calendar.instant(due - timedelta(days=ahead)) - TINY
        yield "acceptance before the notice is over, or before the customer takes it", early, seen
        certified = {c.serial: c.closed for c in self.records.closings if c.job == cert.id}
        first = {serial: begins for serial, what, begins, _ in reversed(slots) if what == "acceptance"}
        yield "accepted without a certificate", sum(certified.get(n, 1e18) > t for n, t in first.items()
                                                    if n in self.launched), len(first)
        out = {v.serial: v.left for v in self.records.visits if v.place == self.names.index("AC") and not v.parked}
        yield "delivered at another instant than it leaves", sum(out.get(n) != t for n, t in
                                                                 self.records.delivered.items()), len(out)
        last = {serial: ends for serial, what, _, ends in slots if what == "acceptance"}
        yield "delivered before its acceptance is over", sum(t < last.get(n, 0.0) - TINY for n, t in
                                                             self.records.delivered.items()), len(last)
