"""Small plants for the rules of people and tools: an eight-hour day without checks, a few places, what closed when.

The week of the start is 4 to 10 January 2027; its Monday is the start.
"""

from __future__ import annotations

from collections import defaultdict
from typing import Any

import pytest

from linesim.line.floor import run_once
from linesim.line.records import Records, State
from linesim.line.sheet import HOUR, Sheet
from linesim.measures.columns import Columns
from linesim.measures.labour import ACCOUNT, labour
from linesim.measures.ledger import Ledger
from linesim.scenario.rules import faults_of
from linesim.scenario.scenario import Scenario

DAY = {"work": ["06:00-10:00", "10:30-14:30"]}
MONDAY, LATE_MONDAY = "2027-01-04 06:00", "2027-01-04 07:00"


def work(name: str, trade: str | None, hours: float, **more: Any) -> dict[str, Any]:
    """A package that waits for no other."""
    return {"id": name, **({"trade": trade} if trade else {}), "hours": hours, "after": [], **more}


def plant(
    positions: list[dict[str, Any]], trades: dict[str, Any], orders: list[dict[str, Any]] | None = None, **more: Any
) -> Scenario:
    """A plant of the eight-hour day; every order is launched at the start of Monday's shift unless `launches` says
    otherwise."""
    orders = [{"serial": "S1"}] if orders is None else orders
    declared = {
        "name": "people",
        "start": "2027-01-04",
        "end": "2027-01-31",
        "positions": positions,
        "shifts": {"day": DAY},
        "trades": trades,
        "orders": orders,
        "launches": {"moments": [MONDAY] * len(orders)},
        **more,
    }
    scenario = Scenario.model_validate(declared)
    assert faults_of(scenario) == []
    return scenario


def run(scenario: Scenario, replication: int = 0, seed: int = 1) -> tuple[Sheet, Records]:
    """One run."""
    sheet = Sheet(scenario)
    return sheet, run_once(sheet, seed, replication)


def closed(scenario: Scenario, *, checked: bool = True) -> dict[str, str]:
    """When what closed: serial and package, day and time, `S1 a: 04 14:30`; hours and reasons are checked too."""
    sheet, records = run(scenario)
    if checked:
        check_sums(sheet, records)
    return {f"{records.serials[c.serial]} {c.job}": sheet.calendar.wall_text(c.closed)[8:] for c in records.closings}


def check_sums(sheet: Sheet, records: Records) -> None:
    """Every hour of every aircraft has one reason; every paid hour has one use; no crew is larger than who is there."""
    ledger = Ledger(sheet, records)
    for serial in ledger.aircraft():
        begin, end = ledger.span(serial)
        assert sum(ledger.of(serial).values()) == pytest.approx((end - begin) / HOUR, abs=1e-6)
    account = labour(sheet, ledger.columns)
    assert account[:, :, 1:].sum(axis=2) == pytest.approx(account[:, :, 0], abs=1e-6)
    assert account.min() >= -1e-6


def account_of(sheet: Sheet, records: Records) -> dict[str, dict[str, float]]:
    """Hours by trade and use over the whole run, without the uses that have none."""
    account = labour(sheet, Columns(sheet, records)).sum(axis=1)
    return {
        trade: {use: float(hours) for use, hours in zip(ACCOUNT, row, strict=True) if abs(hours) > 1e-9}
        for trade, row in zip(sheet.scenario.trades, account, strict=True)
    }


def crews(records: Records, job: str) -> list[tuple[float, float, str, int]]:
    """Stretches of work of a job: first and last hour since the start, trade and people."""
    return [
        (s.start / HOUR, s.end / HOUR, s.trade, s.people)
        for s in records.segments
        if s.job == job and s.state in (State.WORK, State.REWORK) and s.people
    ]


def by_week(rows: list[tuple[int, float]], first_weekday: int = 0) -> dict[int, float]:
    """Sums of (day number, value) by week from Monday to Sunday."""
    found: dict[int, float] = defaultdict(float)
    for day, value in rows:
        found[(day + first_weekday) // 7] += value
    return dict(found)


def check_heads(sheet: Sheet, records: Records) -> None:
    """At no instant more people of a trade and shift are at work than are there on that shift date."""
    extra = {(e.trade, e.shift, e.day): e.people for e in records.overtime}
    moments: dict[tuple[str, str], list[tuple[float, int]]] = defaultdict(list)
    for s in records.segments:
        if s.state in (State.WORK, State.REWORK) and s.people and s.trade:
            moments[s.trade, s.shift] += [(s.start, s.people), (s.end, -s.people)]
    for (trade, shift), rows in moments.items():
        shift_of = shift.removesuffix(" with overtime")
        seen = records.attended.get((trade, shift_of))
        there = dict(zip(seen.days, seen.present, strict=True)) if seen else {}
        clock, at_work = sheet.clock(shift), 0
        for at, people in sorted(rows):  # who goes before who comes
            at_work += people
            if people < 0:
                continue
            day = max((d for a, _, d in clock.blocks() if a <= at), default=0)
            today = sheet.calendar.day_number(at)
            most = max(extra.get((trade, shift_of, today), 0), there.get(day, sheet.heads(trade, shift_of)))
            assert at_work <= most, (trade, shift, sheet.calendar.wall_text(at), at_work, most)
