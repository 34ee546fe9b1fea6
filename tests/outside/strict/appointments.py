"""Certificate and acceptance: who is ready takes the first slot that is free, in turn (F91, F92)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import timedelta
from math import inf
from typing import Any

from recorded.mixed import Mixed
from recorded.run import TINY, Broken
from spans import Spans

from linesim.scenario.plant import Package


class SlotsInTurn(Mixed):
    """Aircraft that wait for a slot."""

    def slots_in_turn(self) -> Iterator[Broken]:
        """F91, F92: who is ready takes the first slot that is free, in order of readiness, then of the order; slot k of
        n begins when (k-1)/n of the day's working time is over."""
        accept = next((p.acceptance for p in self.scenario.positions if p.acceptance), None)
        cert = next((p for p in self.packages.values() if p.kind == "appointment"), None)
        if accept is None or cert is None or self.scenario.fleet_holds or self.scenario.known.tool_locks:
            return
        bad, seen = [], 0
        for what, rules in (("acceptance", accept), (cert.id, cert)):
            given = sorted((begins, serial) for serial, name, begins, _ in self.records.slots if name == what)
            taken = {begins for begins, _ in given}
            ready = {(t, n): self._ready_for(what, n, t, accept, cert) for t, n in given}
            for (t, n), since in ready.items():
                if since is None:
                    continue
                seen += 1
                if since > t + TINY:
                    bad.append(f"{what} of {n} at {t}, ready at {since}")
                missed = [slot for slot in self._slots(rules, since, t) if slot not in taken]
                if missed:
                    bad.append(f"{what} of {n} at {t}, ready at {since}, free slots {missed}")
                promise = self.promise.get(n)
                mine = (since, promise.toordinal() if promise else inf, n)
                for (later, m), other in ready.items():
                    due = self.promise.get(m)
                    if later > t and other is not None and other <= t and (
                            other, due.toordinal() if due else inf, m) < mine:
                        bad.append(f"{what} of {n} at {t} before {m}, ready at {other}")
        yield "slots out of turn", bad, seen

    def _ready_for(self, what: str, n: int, t: float, accept: Any, cert: Package) -> float | None:
        """Since when an aircraft waits for a slot; None for an acceptance after a refusal."""
        if what != "acceptance":
            return max((c.closed for c in self.closings if c.serial == n and c.job == cert.records and c.closed <= t),
                       default=inf)
        if any(m == n and name == "acceptance" and begins < t for m, name, begins, _ in self.records.slots):
            return None
        bay = next(v.arrived for v in self.stays if v.serial == n and not v.parked
                   and self.sheet.places[v.place].position.acceptance)
        line = next((v.ready for v in self.stays if v.serial == n and not v.parked
                     and self.sheet.places[v.place].position.flights), 0.0)
        papers = max(c.closed for c in self.closings if c.serial == n and c.job == cert.id)
        notice = papers if accept.notice_from == "certificate" else line
        since = max(bay, self.calendar.work_days_later(notice, accept.notice_work_days))
        due, ahead = self.promise.get(n), accept.earliest_days_before_promise
        return since if due is None or ahead is None else max(since, self.calendar.instant(due - timedelta(days=ahead)))

    def _slots(self, rules: Any, since: float, until: float) -> Iterator[float]:
        words = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
        days: dict[int, Spans] = defaultdict(list)
        for a, b, day in self._blocks(self.calendar.reference_shift):
            days[day].append((a, b))
        for day, blocks in days.items():
            if words[(self.scenario.start + timedelta(days=day)).weekday()] not in rules.weekdays:
                continue
            whole = sum(b - a for a, b in blocks)
            for k in range(rules.slots_per_day):
                left = whole * k / rules.slots_per_day
                for a, b in blocks:
                    if left < b - a:
                        if since <= a + left < until - TINY:
                            yield a + left
                        break
                    left -= b - a
