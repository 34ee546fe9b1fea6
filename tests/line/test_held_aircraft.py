"""What holds an aircraft back meets something else that does: recalls, locks, fleet holds, parking, mate, lent crews.

Expected instants are worked out from the rules; hours count from 00:00 of Monday, 2027-01-04.
"""

from __future__ import annotations

from typing import Any

import pytest

from linesim.line.floor import run_once
from linesim.line.records import Records, State
from linesim.line.sheet import HOUR, Sheet
from linesim.scenario.scenario import Scenario

EIGHT = {"day": {"start": "06:00", "end": "14:30", "meal_minutes": 30}}  # meal from 10:00
RECALL = {"torque_recall": {"chance": 1, "hours": 1, "trades": ["T"]}}


def records_of(**plant: Any) -> Records:
    """One run of a small plant."""
    return run_once(Sheet(Scenario.model_validate({
        "name": "held", "start": "2027-01-04", "end": "2027-01-17", "shifts": EIGHT, **plant})), 1, 0)


def closed(records: Records) -> list[tuple[int, str, float]]:
    """Serial, package and hour of each closing."""
    return [(one.serial, one.job, round(one.closed / HOUR, 6)) for one in records.closings]


def test_an_aircraft_recalled_while_it_is_parked_enters_and_is_seen_to_there() -> None:
    """F11, F68: S2 parks before B on Monday and is recalled on Tuesday; B is free at 15:00, its re-torque is done on
    Wednesday in B, beside the 30 h of work there."""
    found = records_of(
        orders=[{"serial": "S1"}, {"serial": "S2"}], trades={"T": {"people": 2}}, launches={"saturated": True},
        tool_control=RECALL, positions=[
            {"id": "A", "packages": [{"id": "a", "trade": "T", "hours": 3, "torque": True}]},
            {"id": "B", "parking": 1, "packages": [{"id": "b", "hours": 30}]}])
    assert closed(found) == [(0, "a", 9), (1, "a", 12.5), (0, "re-torque 1", 31), (0, "b", 39),
                             (1, "re-torque 2", 55), (1, "b", 69)]
    assert {serial: t / HOUR for serial, t in found.delivered.items()} == {0: 39, 1: 69}


LOCKED = {"known": {"tool_locks": [{"serial": "S1", "from": "2027-01-04 13:00", "to": "2027-01-05 08:00"}]}}
HELD = {"fleet_holds": [{"from": "2027-01-05", "serials": ["S1"], "hours": 2.5}]}


@pytest.mark.parametrize(("more", "a", "between", "expected"), [
    (LOCKED, 2, [{"id": "h", "kind": "hold", "elapsed_hours": 10}],
     [("a", 8), ("h", 18), ("re-torque 1", 33), ("q", 35.5)]),
    (HELD, 8, [], [("a", 14.5), ("fleet inspection 2027-01-05", 32.5), ("re-torque 1", 33.5), ("q", 36)])])
def test_a_buy_off_that_is_kept_waits_for_a_recall_too(more: dict[str, Any], a: float, between: list[dict[str, Any]],
                                                       expected: list[tuple[str, float]]) -> None:
    """F67, F68, F116: the last buy-off is kept by a lock (it became startable inside it) or by a fleet hold, and on
    Tuesday morning the work before it is recalled: inspection, re-torque, buy-off, one after the other."""
    found = records_of(
        orders=[{"serial": "S1"}], trades={"T": {"people": 2}, "INS": {"people": 1}}, tool_control=RECALL,
        launches={"moments": ["2027-01-04 06:00"]}, positions=[{"id": "A", "packages": [
            {"id": "a", "trade": "T", "hours": a, "torque": True}, *between,
            {"id": "q", "kind": "buy-off", "hours": 2}]}], **more)
    assert [(job, at) for _, job, at in closed(found)] == expected


def test_halves_that_wait_for_the_mate_dock_are_recalled() -> None:
    """F68: S2's fuselage is closed on Monday 14:30 and waits with its wing; on Tuesday it is seen to where it is."""
    found = records_of(
        orders=[{"serial": "S1"}, {"serial": "S2"}], trades={"T": {"people": 4}}, launches={"saturated": True},
        tool_control=RECALL, positions=[
            {"id": "F", "half": "fuselage", "packages": [{"id": "f", "trade": "T", "hours": 4, "torque": True}]},
            {"id": "W", "half": "wing", "packages": [{"id": "w", "hours": 2}]},
            {"id": "M", "packages": [{"id": "m", "hours": 40}]}])
    again = [(one.serial, one.half, one.closed / HOUR) for one in found.closings if one.job.startswith("re-torque")]
    assert again == [(0, "", 31), (1, "fuselage", 31)]


def crews(records: Records, *names: str) -> list[tuple[Any, ...]]:
    """Serial, half, trade, people and hours of each stretch of work, in order of time; of some trades."""
    rows = sorted((one for one in records.segments if one.people and one.trade in names),
                  key=lambda one: (one.start, one.serial, one.half, one.trade))
    return [(one.serial, one.half, one.job, one.trade, one.people, one.start / HOUR, one.end / HOUR) for one in rows]


def test_who_is_freed_by_a_fleet_hold_serves_others_at_once() -> None:
    """F29, F116: one T on a night shift; S1 is held from 00:00 of Tuesday, and T goes on with S2 until 04:00."""
    found = records_of(
        end="2027-01-05",
        orders=[{"serial": "S1", "promised": "2027-01-05"}, {"serial": "S2", "promised": "2027-01-06"}],
        shifts={"night": {"work": ["20:00-04:00"]}}, trades={"T": {"people": 1}, "INS": {"people": 0}},
        launches={"saturated": True}, positions=[
            {"id": "A", "docks": 2, "packages": [{"id": "a", "trade": "T", "hours": 6}]}],
        fleet_holds=[{"from": "2027-01-05", "serials": ["S1"], "hours": 1}])
    assert crews(found, "T")[:2] == [(0, "", "a", "T", 1, 20, 24), (1, "", "a", "T", 1, 24, 28)]


def test_a_wing_of_a_held_serial_stands_still_before_its_fuselage_comes() -> None:
    """F116: S2 is held from Monday on. Its wing is launched at 10:00 with S1's, its fuselage on Tuesday; both are
    worked on only after the inspection of the fuselage."""
    found = records_of(
        end="2027-01-08", orders=[{"serial": "S1", "promised": "2027-01-05"}, {"serial": "S2"}],
        shifts={"day": {"work": ["06:00-14:00"]}}, trades={"T": {"people": 2}, "INS": {"people": 1}},
        launches={"saturated": True}, work_rules={"halves": "each by itself"}, positions=[
            {"id": "F", "half": "fuselage", "packages": [{"id": "f", "trade": "T", "hours": 12}]},
            {"id": "W", "half": "wing", "docks": 2, "packages": [{"id": "w", "trade": "T", "hours": 4}]},
            {"id": "M", "docks": 2, "packages": [{"id": "m", "hours": 1}]}],
        fleet_holds=[{"from": "2027-01-04", "serials": ["S2"], "hours": 1}])
    inspected = next(one.closed / HOUR for one in found.closings if one.job.startswith("fleet inspection"))
    begun = min(one[5] for one in crews(found, "T") if one[0] == 1)
    assert begun == inspected == 35
    assert set(found.delivered) == {0, 1}


def test_own_people_take_the_places_of_lent_ones_that_go_home() -> None:
    """F28, F33: two of AVX are lent to r while RIG's own person is on S1, to 10:00 on the second Monday. At 14:00
    overtime begins with one of each trade: one AVX goes home, and that person takes the place in the same instant."""
    found = records_of(
        end="2027-01-13",
        orders=[{"serial": "S1", "promised": "2027-01-04"}, {"serial": "S2", "promised": "2027-01-05"}],
        shifts={"day": {"work": ["06:00-14:00"]}}, launches={"moments": ["2027-01-04 06:00", "2027-01-11 06:00"]},
        trades={"RIG": {"people": 1, "cover": {"AVX": 0.5}}, "AVX": {"people": 2}, "INS": {"people": 1}},
        known={"packages": [{"serial": "S1", "package": "r", "exists": False},
                            {"serial": "S2", "package": "a", "exists": False}]},
        positions=[{"id": "A", "docks": 2, "packages": [
            {"id": "a", "trade": "RIG", "hours": 44},
            {"id": "r", "trade": "RIG", "hours": 60, "crew_max": 2, "after": []}]}],
        attendance={"overtime": {"trades": ["RIG", "AVX"], "max_hours_per_week": 10, "trigger_work_days_late": 0,
                                 "people": 1}})
    monday = 7 * 24
    assert [one[3:] for one in crews(found, "RIG", "AVX") if one[0] == 1][:3] == [
        ("AVX", 2, monday + 6, monday + 14), ("AVX", 1, monday + 14, monday + 16), ("RIG", 1, monday + 14, monday + 16)]


@pytest.mark.parametrize(("holds", "work", "expected"), [
    ({"known": {"tool_locks": [{"serial": "S1", "from": "2027-01-04 08:30", "to": "2027-01-04 11:00"}]}}, {}, 12),
    ({"tool_control": {"torque_recall": {"chance": 1, "hours": 2, "trades": ["T"]}}, "shifts": {
        "day": {"work": ["06:00-08:00", "08:30-14:00"]}, "late": {"work": ["08:30-14:00"]}}}, {"torque": True}, 11.5),
    ({"fleet_holds": [{"from": "2027-01-05", "serials": ["S1"], "hours": 3}]}, {"hours": 17.5}, 24 + 10)])
def test_what_holds_a_half_on_its_way_to_mate_holds_the_aircraft(holds: dict[str, Any], work: dict[str, Any],
                                                                 expected: float) -> None:
    """F12 option, F67, F68, F116: an hour of the shift takes the halves to the mate dock, where an hour's work needs
    nobody. They leave at 08:00 and arrive at 09:00; a lock from 08:30 to 11:00 keeps that work to 11:00. Where the
    shift has a break to 08:30 they arrive at 09:30, and re-torque called for at 08:30 is done there, to 11:30. They
    leave at 23:30 and arrive at 07:00 of Tuesday: a fleet hold from 00:00 ends with the inspection, at 09:00."""
    people = {"day": 1, "late": 1} if "shifts" in holds else 1
    found = records_of(**{
        "orders": [{"serial": "S1"}], "shifts": {"day": {"work": ["06:00-14:00"]}},
        "trades": {"T": {"people": people}, "INS": {"people": {"day": 1}}}, "work_rules": {"move_minutes": 60},
        "launches": {"moments": ["2027-01-04 06:00"]}, "positions": [
            {"id": "F", "half": "fuselage", "packages": [
                {"id": "f", "hours": 2} | ({"trade": "T", "torque": True} if "torque" in work else {}) | work]},
            {"id": "W", "half": "wing", "packages": [{"id": "w", "hours": 1}]},
            {"id": "M", "packages": [{"id": "m", "hours": 1}]}], **holds})
    assert {serial: t / HOUR for serial, t in found.delivered.items()} == {0: expected}


@pytest.mark.parametrize("halves", [False, True])
def test_a_lock_that_begins_on_the_way_goes_on_in_the_next_place(halves: bool) -> None:
    """F12 option, F67: on its way from 08:00 to 09:00 and locked from 08:30 to 11:00, it is locked in the first place
    to 09:00 and in the next one from then on."""
    first = [{"id": "F", "half": "fuselage", "packages": [{"id": "f", "hours": 2}]},
             {"id": "W", "half": "wing", "packages": [{"id": "w", "hours": 1}]}]
    found = records_of(
        orders=[{"serial": "S1"}], shifts={"day": {"work": ["06:00-14:00"]}}, work_rules={"move_minutes": 60},
        launches={"moments": ["2027-01-04 06:00"]}, known={"tool_locks": [
            {"serial": "S1", "from": "2027-01-04 08:30", "to": "2027-01-04 11:00"}]},
        positions=[*(first if halves else [{"id": "F", "packages": [{"id": "f", "hours": 2}]}]),
                   {"id": "M", "packages": [{"id": "m", "hours": 1}]}])
    locked = sorted((one.place, one.start / HOUR, one.end / HOUR) for one in found.segments
                    if one.state == State.LOCKED)
    last = 2 if halves else 1
    before = [(place, 8.5, 9) for place in range(last)]
    assert locked == [*before, *[(last, 9, 11)] * last]
    assert {serial: t / HOUR for serial, t in found.delivered.items()} == {0: 12}
