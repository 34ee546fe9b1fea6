"""Tool control: what a missing tool and a torque tool found out do to aircraft, to the minute, and how often."""

from __future__ import annotations

from math import sqrt
from typing import Any

import pytest

from linesim.line.floor import run_once
from linesim.line.records import Records, State
from linesim.line.sheet import Sheet
from linesim.measures.ledger import Ledger
from linesim.scenario.scenario import Scenario

CHECKS = {"start_check_minutes": 15, "end_check_minutes": 15}  # work 06:15 to 14:15: 8 hours
TRADES = {name: {"people": 1} for name in ("ASM", "RIG", "INS")}


def run(places: list[dict[str, Any]], tools: dict[str, Any], moments: list[str], replication: int = 0,
        **more: Any) -> tuple[Sheet, Records]:
    """A row of places on one shift, 06:00 to 14:30 with a check at both ends."""
    sheet = Sheet(Scenario.model_validate({
        "name": "tools", "start": "2027-01-04", "end": "2027-01-17", "trades": TRADES, "positions": places,
        "shifts": {"day": {"start": "06:00", "end": "14:30"}}, "tool_control": {**CHECKS, **tools},
        "launches": {"moments": moments}, "orders": [{"serial": f"S{n}"} for n in range(len(moments))], **more}))
    return sheet, run_once(sheet, 1, replication)


def closed(sheet: Sheet, records: Records) -> dict[str, str]:
    """Day and time at which each package closed, of a plant with one aircraft or with packages closed once."""
    return {c.job: sheet.calendar.wall_text(c.closed)[8:] for c in records.closings}


LOST = {"missing_tool": {"chance": 1, "search_hours": 1}}
MONDAY = ["2027-01-04 06:00"]


def test_a_missing_tool_locks_from_the_closing_check_until_the_search_is_over() -> None:
    """F67: locked at 14:15 until one hour of the reference shift has passed, 07:15; nobody works on it before."""
    sheet, records = run([{"id": "A", "packages": [{"id": "a", "trade": "ASM", "hours": 10}]}], LOST, MONDAY)
    assert closed(sheet, records) == {"a": "05 09:15"}
    assert Ledger(sheet, records).of(0) == {
        State.WORK: pytest.approx(10), State.LOCKED: pytest.approx(17), State.OFF_SHIFT: pytest.approx(0.25)}


def test_holds_run_on_under_a_lock_and_moves_wait_for_its_end() -> None:
    """F67, F37: a cure of 20 h ends at 02:15 in the night; the aircraft moves when the tool is found."""
    sheet, records = run([
        {"id": "A", "packages": [{"id": "cure", "kind": "hold", "elapsed_hours": 20.25}]},
        {"id": "B", "packages": [{"id": "b", "trade": "ASM", "hours": 1}]}], LOST, MONDAY)
    assert closed(sheet, records)["cure"] == "05 02:15"
    arrived = next(v.arrived for v in (*records.visits, *records.unfinished) if v.place == 1)
    assert sheet.calendar.wall_text(arrived)[8:] == "05 07:15"


def test_no_draw_without_an_aircraft_and_none_without_a_roster() -> None:
    """F67: one draw per position with an aircraft in it, and only on shifts with anybody on the roster."""
    places = [{"id": "A", "packages": [{"id": "a", "trade": "ASM", "hours": 2}]}]
    _, records = run(places, LOST, MONDAY)  # gone at 08:15
    assert [s for s in records.segments if s.state == State.LOCKED] == []
    _, records = run(places, LOST, MONDAY, trades={name: {"people": 0} for name in TRADES})
    assert [s for s in records.segments if s.state == State.LOCKED] == []


def test_how_often_tools_are_missing() -> None:
    """F67: a chance for each occupied position and shift: three aircraft that stand for ten work days, in forty runs;
    z by the exact binomial standard error."""
    places = [{"id": name, "packages": [{"id": f"a{name}", "trade": "ASM", "hours": 900}]} for name in "ABC"]
    for place in places:
        place["next"] = "out"
    chance, locks, runs = 0.1, 0, 40
    for replication in range(runs):
        _, records = run(places, {"missing_tool": {"chance": chance, "search_hours": 0.5}}, [], replication,
                         orders=[{"serial": f"S{n}"} for n in range(3)],
                         on_the_line=[{"serial": f"S{n}", "at": name} for n, name in enumerate("ABC")])
        locks += sum(s.state == State.LOCKED for s in records.segments)
    n = runs * 3 * 10
    assert abs(locks - n * chance) / sqrt(n * chance * (1 - chance)) <= 4


TORQUE = [{"id": "t", "trade": "RIG", "hours": 2, "torque": True}]


@pytest.mark.parametrize(("hours", "bought_off"), [(1.5, "05 08:45"), (4, "05 10:45")])
def test_the_last_buy_off_waits_for_re_torque(hours: float, bought_off: str) -> None:
    """F68: found out at Tuesday's start check; beside the planned work (b ends Tuesday 08:15), before the last buy-off
    of half an hour."""
    place = {"id": "A", "packages": [*TORQUE, {"id": "b", "trade": "ASM", "hours": 10, "after": []},
                                     {"id": "q", "kind": "buy-off", "hours": 0.5, "after": ["t", "b"]}]}
    sheet, records = run([place], {"torque_recall": {"chance": 1, "hours": hours}}, MONDAY)
    found = closed(sheet, records)
    assert found["q"] == bought_off
    assert found["re-torque 1"] == {1.5: "05 07:45", 4: "05 10:15"}[hours]
    ledger = Ledger(sheet, records)
    begin, end = ledger.span(0)
    assert sum(ledger.of(0).values()) == pytest.approx((end - begin) / 60)


def test_an_aircraft_that_is_closed_and_blocked_leaves_when_re_torque_is_done() -> None:
    """F68: departure waits for it: S1's next place is free on Tuesday at 07:15, its re-torque ends at 09:15."""
    sheet, records = run([
        {"id": "A", "packages": TORQUE}, {"id": "B", "packages": [{"id": "b", "trade": "ASM", "hours": 9}]}],
        {"torque_recall": {"chance": 1, "hours": 3}}, [], orders=[{"serial": "S0"}, {"serial": "S1"}],
        on_the_line=[{"serial": "S0", "at": "B"}, {"serial": "S1", "at": "A"}])
    arrived = next(v.arrived for v in records.visits if v.place == 1 and v.serial == 1)
    assert sheet.calendar.wall_text(arrived)[8:] == "05 09:15"


def test_what_is_delivered_or_was_closed_earlier_is_not_recalled() -> None:
    """F68: only aircraft on which the trade closed torque work the shift before, and only those still on the floor."""
    tools = {"torque_recall": {"chance": 1, "hours": 3}}
    _, records = run([{"id": "A", "packages": TORQUE}], tools, MONDAY)
    assert [c.job for c in records.closings] == ["t"]
    place = {"id": "A", "packages": [*TORQUE, {"id": "b", "trade": "ASM", "hours": 30, "after": []}]}
    _, records = run([place], tools, MONDAY)
    assert [c.job for c in records.closings] == ["t", "re-torque 1", "b"]  # once, though b goes on to Thursday


def test_checks_shorten_the_shift_by_exactly_their_minutes() -> None:
    """F66, F68: 8 h with both checks; 6 minutes less with the torque check beyond them."""
    places = [{"id": "A", "packages": [{"id": "a", "trade": "ASM", "hours": 8}]}]
    sheet, records = run(places, {}, MONDAY)
    assert closed(sheet, records) == {"a": "04 14:15"}
    sheet, records = run(places, {"torque_recall": {"chance": 0, "hours": 1, "extra_minutes": 6}}, MONDAY)
    assert closed(sheet, records) == {"a": "05 06:27"}
