"""Orders that move before their launch: each kind worked by hand, and none lost or doubled over random order books."""

from __future__ import annotations

import random
from collections import Counter
from datetime import date, timedelta
from typing import Any

import pytest
from small_plants import plant, run, work

from linesim.line.records import Records
from linesim.line.sheet import Sheet
from linesim.scenario.orders import OrderChanges
from linesim.scenario.rules import faults_of
from linesim.scenario.scenario import Scenario


def line(orders: int = 5, changes: dict[str, Any] | None = None, docks: int = 9, **more: Any) -> Scenario:
    """A launch each work day at 06:00 into a place where each takes four hours; promised from 1 February on."""
    book = [{"serial": f"S{n}", "promised": str(date(2027, 1, 31) + timedelta(days=n))} for n in range(1, orders + 1)]
    return plant([{"id": "A", "docks": docks, "packages": [work("a", "ASM", 4), {
        "id": "c", "kind": "appointment", "certificate": True, "weekdays": ["Mon", "Tue", "Wed", "Thu", "Fri"]}]},
        {"id": "B", "packages": [work("b", "ASM", 1)]}], {"ASM": {"people": 2}}, book, **{
            "end": "2027-02-12", "launches": {"takt_work_days": 1}, **({"order_changes": changes} if changes else {}),
            **more})


def launched(sheet: Sheet, records: Records) -> dict[str, str]:
    """Serial: day and month of its launch."""
    return {records.serials[one.serial]: sheet.calendar.wall_text(one.made)[5:10] for one in records.launches}


def test_orders_that_stay_fill_the_slots_in_their_order() -> None:
    assert launched(*run(line())) == {f"S{n}": f"01-{3 + n:02d}" for n in range(1, 6)}


def test_a_cancelled_order_is_sold_again_and_stands_last() -> None:
    """Cancelled on Wednesday, sold again two work days later (Friday's start of shift): the slots of S4 and S5 come a
    day sooner, S3 is the last, and nothing is promised to its new customer."""
    sheet, records = run(line(changes={"resold_after_work_days": 2, "stated": [
        {"date": "2027-01-06", "serial": "S3", "cancelled": True}]}))
    assert launched(sheet, records) == {"S1": "01-04", "S2": "01-05", "S4": "01-06", "S5": "01-07", "S3": "01-08"}
    assert records.promised == {2: None}
    assert [(one.serial, one.what) for one in records.order_changes] == [(2, "cancelled"), (2, "sold again")]
    assert len(records.delivered) == 5


def test_a_slot_without_an_order_passes_and_one_for_stock_does_not() -> None:
    """The last order is cancelled on its day; five work days pass until it is sold again: those slots go by unused, or
    build stock with the next serials."""
    changes = {"resold_after_work_days": 5, "stated": [{"date": "2027-01-08", "serial": "S5", "cancelled": True}]}
    assert launched(*run(line(changes=changes)))["S5"] == "01-15"
    sheet, records = run(line(changes=changes, stock={"unsold_slots": "build"}))
    found = launched(sheet, records)
    assert found["S6"] == "01-08"
    assert found["S10"] == "01-14"
    assert found["S5"] == "01-15"
    assert 4 in records.delivered
    assert 5 not in records.delivered


def test_a_cancelled_order_may_be_built_for_stock() -> None:
    """It keeps its slot, ends with its certificate and is no delivery."""
    sheet, records = run(line(changes={"cancelled": "built for stock", "stated": [
        {"date": "2027-01-04", "serial": "S3", "cancelled": True}]}))
    assert launched(sheet, records)["S3"] == "01-06"
    assert set(records.stock_ready) == {2} == set(records.unordered)
    assert set(records.delivered) == {0, 1, 3, 4}
    assert not any(sheet.places[stay.place].id == "B" for stay in records.visits if stay.serial == 2)


def test_a_deferred_order_goes_so_much_later_than_its_slot() -> None:
    """S2 comes to its slot on Tuesday the 5th; three calendar days later is Friday the 8th. Its promise moves, too."""
    sheet, records = run(line(changes={"stated": [{"date": "2027-01-04", "serial": "S2", "deferred_days": 3}]}))
    assert launched(sheet, records) == {"S1": "01-04", "S3": "01-05", "S4": "01-06", "S5": "01-07", "S2": "01-08"}
    assert records.promised == {1: date(2027, 2, 5)}


def test_swapped_orders_change_place_and_promise() -> None:
    sheet, records = run(line(changes={"stated": [{"date": "2027-01-05", "serial": "S2", "swapped_with": "S5"}]}))
    assert launched(sheet, records) == {"S1": "01-04", "S5": "01-05", "S3": "01-06", "S4": "01-07", "S2": "01-08"}
    assert records.promised == {1: date(2027, 2, 5), 4: date(2027, 2, 2)}


@pytest.mark.parametrize("change", [{"cancelled": True}, {"deferred_days": 3}, {"swapped_with": "S3"}])
def test_what_is_launched_does_not_change(change: dict[str, Any]) -> None:
    """S1 is launched on Monday at 06:00; the change of Tuesday comes too late."""
    sheet, records = run(line(changes={"stated": [{"date": "2027-01-05", "serial": "S1", **change}]}))
    assert launched(sheet, records) == launched(*run(line()))
    assert records.order_changes == []
    assert records.promised == {}


def test_an_owed_launch_is_not_a_launch() -> None:
    """The first place is blocked from Monday to Thursday; S2, due on Tuesday, is cancelled on Wednesday. The slot of
    Tuesday goes to S3, and the planned launches say so."""
    sheet, records = run(line(3, {"resold_after_work_days": 100, "stated": [
        {"date": "2027-01-06", "serial": "S2", "cancelled": True}]}, 1,
        known={"hours": [{"serial": "S1", "package": "a", "hours": 26}]}))
    found = {records.serials[one.serial]: (sheet.calendar.wall_text(one.planned)[5:10],
                                           sheet.calendar.wall_text(one.made)[5:10]) for one in records.launches}
    assert found["S3"][0] == "01-05"
    assert found["S3"][1] > "01-06"
    assert set(found) == {"S1", "S3"}
    assert [records.serials[n] for n, _ in records.planned] == ["S1", "S3"]


def test_chances_are_read_on_the_first_of_each_month_before_the_launch() -> None:
    """A chance of 1: all that are not launched on 1 February are cancelled on it, none before."""
    sheet, records = run(line(30, {"cancel_chance": 1.0, "resold_after_work_days": 3}))
    on_the_first = {n for n, t, what, _ in records.order_changes if what == "cancelled"}
    assert {sheet.calendar.wall_text(t)[:16] for _, t, what, _ in records.order_changes if what == "cancelled"} == {
        "2027-02-01 00:00"}
    assert on_the_first == set(range(20, 30))  # twenty work days of January from the 4th
    assert {n for n, _, what, _ in records.order_changes if what == "sold again"} == on_the_first


@pytest.mark.parametrize("effect", [{"cancel_chance": 0.0}, {"stated": []}])
def test_without_size_the_run_is_as_before(effect: dict[str, Any]) -> None:
    assert run(line(8, effect))[1] == run(line(8))[1]


@pytest.mark.parametrize("number", range(60))
def test_no_order_is_lost_or_doubled(number: int) -> None:
    """Over random order books: every serial is launched once at most; each order is launched, waits or is for sale;
    only cancelling ends a promise."""
    dice = random.Random(number)
    orders = dice.randint(1, 40)
    serials = [f"S{n}" for n in range(1, orders + 1)]
    stated = []
    for _ in range(dice.randint(0, 6)):
        a, b = dice.choice(serials), dice.choice(serials)
        kind = dice.choice(["cancelled", "deferred_days", "swapped_with"] if a != b else ["cancelled", "deferred_days"])
        value: Any = {"cancelled": True, "deferred_days": dice.randint(1, 40), "swapped_with": b}[kind]
        stated.append({"date": f"2027-01-{dice.randint(4, 31):02d}", "serial": a, kind: value})
    changes = {"cancel_chance": dice.choice([0, 0.3]), "defer_chance": dice.choice([0, 0.4]),
               "swap_chance": dice.choice([0, 0.4]), "defer_days": {"uniform": {"low": 0, "high": 60}},
               "cancelled": dice.choice(["resold", "built for stock"]),
               "resold_after_work_days": dice.randint(0, 12), "stated": stated}
    launches: dict[str, Any] = dice.choice([{"takt_work_days": 0.5}, {"takt_work_days": 1}, {"saturated": True}])
    scenario = line(orders, changes, launches=launches, stock={"unsold_slots": dice.choice(["build", "hold"])})
    _, records = run(scenario, number)
    launched_ = [one.serial for one in records.launches]
    assert max(Counter(launched_).values()) == 1
    done = [*records.delivered, *records.stock_ready]
    assert len(done) == len(set(done))
    assert set(done) <= set(launched_)
    assert set(records.unordered) & set(records.delivered) == set()
    last: dict[int, str] = {}
    for one in records.order_changes:
        assert last.get(one.serial) == "cancelled" if one.what == "sold again" else last.get(one.serial) != "cancelled"
        last[one.serial] = one.what
        assert all(launch.made >= one.at for launch in records.launches if launch.serial == one.serial)
    for_sale = {n for n, what in last.items() if what == "cancelled"} - records.unordered
    assert not for_sale & set(launched_)
    cancelled = [one.serial for one in records.order_changes if one.what == "cancelled"]
    gone = [n for n, order in enumerate(scenario.orders or ()) if records.promised.get(n, order.promised) is None]
    assert len(set(cancelled)) <= len(gone) <= len(cancelled)


@pytest.mark.parametrize(("changes", "said"), [
    ({"stated": [{"date": "2027-01-05", "serial": "S1"}]}, "needs exactly one of cancelled, deferred_days"),
    ({"stated": [{"date": "2027-01-05", "serial": "S1", "cancelled": True, "deferred_days": 3}]}, "found cancelled"),
    ({"stated": [{"date": "2027-01-03", "serial": "S1", "cancelled": True}]}, "must not lie before the start"),
    ({"stated": [{"date": "2027-01-05", "serial": "S1", "swapped_with": "S1"}]}, "not change places with itself"),
    ({"stated": [{"date": "2027-01-05", "serial": "S9", "cancelled": True}]}, "unknown serial 'S9'")])
def test_what_makes_no_sense_is_a_fault(changes: dict[str, Any], said: str) -> None:
    found = faults_of(line(3).model_copy(update={"order_changes": OrderChanges.model_validate(changes)}))
    assert len(found) == 1
    assert said in found[0][1]


def test_on_a_pulse_line_the_next_order_takes_the_place() -> None:
    """A pulse each work day at 06:00: Tuesday's is for S3, S2 is sold again on Friday and launched with that pulse."""
    book = [{"serial": f"S{n}"} for n in (1, 2, 3, 4)]
    sheet, records = run(plant([{"id": "A", "packages": [work("a", "ASM", 4)]}], {"ASM": {"people": 2}}, book,
                               launches={"takt_work_days": 1}, pulse={"positions": ["A"]}, order_changes={
        "resold_after_work_days": 3, "stated": [{"date": "2027-01-05", "serial": "S2", "cancelled": True}]}))
    assert launched(sheet, records) == {"S1": "01-04", "S3": "01-05", "S4": "01-06", "S2": "01-08"}


def test_a_launch_that_the_cap_held_goes_with_its_order() -> None:
    """One aircraft may be on the line and S1 stays in A; S2's pulse is Tuesday's. Cancelled on Wednesday and not sold
    again, S2 is a planned launch no more."""
    book = [{"serial": f"S{n}"} for n in (1, 2)]
    plan = {"launches": {"takt_work_days": 1, "most_on_line": 1}, "pulse": {"positions": ["A", "B"]},
            "known": {"hours": [{"serial": "S1", "package": "b", "hours": 60}]}}
    places = [{"id": "A", "packages": [work("a", "ASM", 4)]}, {"id": "B", "packages": [work("b", "ASM", 4)]}]
    _, as_ordered = run(plant(places, {"ASM": {"people": 2}}, book, end="2027-01-15", **plan))
    _, records = run(plant(places, {"ASM": {"people": 2}}, book, end="2027-01-15", **plan, order_changes={
        "resold_after_work_days": 100, "stated": [{"date": "2027-01-06", "serial": "S2", "cancelled": True}]}))
    assert [n for n, _ in as_ordered.planned] == [0, 1]
    assert [n for n, _ in records.planned] == [0]
    assert [one.serial for one in records.launches] == [0]
