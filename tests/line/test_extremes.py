"""Extremes: plants and days on which little or nothing can happen end with a named reason, never with a hang."""

from __future__ import annotations

from typing import Any

import pytest

from linesim.line.floor import run_once
from linesim.line.records import Records, State
from linesim.line.sheet import Sheet
from linesim.measures.ledger import Ledger
from linesim.scenario.scenario import Scenario

SHIFT = {"day": {"work": ["06:00-10:00", "10:30-14:30"]}}


def work(name: str, hours: float = 2, trade: str | None = "ASM", **more: Any) -> dict[str, Any]:
    return {"id": name, "hours": hours, **({"trade": trade} if trade else {}), **more}


def scenario(**parts: Any) -> Scenario:
    """Three places in a row, one mechanic's day shift, one launch a day; 2027-01-04 is a Monday."""
    return Scenario.model_validate({
        "name": "extreme", "start": "2027-01-04", "end": "2027-02-28", "shifts": SHIFT,
        "trades": {"ASM": {"people": 3}, "PIL": {"people": 1}},
        "positions": [{"id": name, "packages": [work(name.lower())]} for name in "ABC"],
        "launches": {"takt_work_days": 1}, "orders": [{"serial": f"S{n}"} for n in range(1, 7)], **parts})


def run(**parts: Any) -> tuple[Sheet, Records]:
    sheet = Sheet(scenario(**parts))
    return sheet, run_once(sheet, 1, 0)


def wall(sheet: Sheet, instants: Any) -> list[str]:
    return [sheet.calendar.wall_text(t) for t in instants]


FLIGHTS = {"pilots": "PIL", "pilot_hours": 2, "flight_hours": 1, "mechanics": "ASM", "preflight_hours": 1,
           "min_flights": 2}


def flight_line(**more: Any) -> list[dict[str, Any]]:
    return [{"id": "A", "packages": [work("a")]}, {"id": "FL", "docks": 2, "flights": {**FLIGHTS, **more}}]


# nobody there ---------------------------------------------------------------------------------------------------
def test_nobody_of_a_trade_is_named() -> None:
    """F14: work for which nobody is ever on duty; those behind it are blocked and the run goes to its end."""
    sheet, records = run(trades={"ASM": {"people": 3}, "AVX": {"people": 0}}, positions=[
        {"id": "A", "packages": [work("a")]}, {"id": "B", "packages": [work("b", trade="AVX")]}])
    assert records.delivered == {}
    assert [(s.places, s.serials, s.why) for s in records.stuck] == [
        ((1,), (0,), "nobody of trade AVX is ever on duty")]
    assert len(records.launches) == 2  # the first stands in B, the second is done in A and blocks it
    assert [(sheet.calendar.wall_text(s.start), s.end) for s in records.segments if s.state == State.BLOCKED] == [
        ("2027-01-05 08:00", records.ended)]


def test_a_trade_on_no_roster_is_named() -> None:
    """F14: a trade that is declared without people on any shift."""
    _, records = run(trades={"ASM": {"people": {}}})
    assert [s.why for s in records.stuck] == ["nobody of trade ASM is ever on duty"]
    assert records.delivered == {}


def test_no_inspector_is_named() -> None:
    """F14, F35: the work is done, its buy-off is never made."""
    _, records = run(trades={"ASM": {"people": 3}, "INS": {"people": 0}},
                     positions=[{"id": "A", "packages": [work("a", inspection_hours=0.5)]}])
    assert [s.why for s in records.stuck] == ["nobody of trade INS is ever on duty"]
    assert [s.state for s in records.segments if s.people] == [State.WORK]


def test_no_pilot_is_named() -> None:
    """F14: aircraft that wait for a flight when no pilot is ever on duty are named too."""
    _, records = run(trades={"ASM": {"people": 3}, "PIL": {"people": 0}}, positions=flight_line())
    assert records.flights == []
    assert records.delivered == {}
    assert [s.why for s in records.stuck] == ["nobody of trade PIL is ever on duty"] * 2


def test_a_flight_longer_than_any_shift_is_named() -> None:
    """F14, F81: a block that fits into no pilot's shift never starts; nothing is due any more and aircraft remain."""
    _, records = run(positions=flight_line(pilot_hours=9, flight_hours=1))
    assert records.flights == []
    assert len(records.stuck) == 2


def test_nobody_for_a_while_is_no_fault() -> None:
    """F60: nobody present on the first days is waiting for people, not an error."""
    sheet, records = run(orders=[{"serial": "S1"}], positions=[{"id": "A", "packages": [work("a", 3)]}],
                         known={"present": [{"trade": "ASM", "date": f"2027-01-0{n}", "people": 0} for n in (4, 5)]})
    assert records.stuck == []
    assert wall(sheet, records.delivered.values()) == ["2027-01-06 09:00"]


def test_nobody_on_any_date_is_named() -> None:
    """F14: people on the roster who are known never to be present."""
    days = [f"2027-01-{n:02d}" for n in range(4, 32)]
    _, records = run(end="2027-01-31", known={"present": [{"trade": "ASM", "date": d, "people": 0} for d in days]})
    assert records.delivered == {}
    assert [s.why for s in records.stuck] == ["nobody of trade ASM is ever on duty"]


def test_an_area_whose_shift_its_people_never_work_is_named() -> None:
    """F8, F14: work needs both the people's working time and the area's; if they never meet it can never be done."""
    evening = {"evening": {"work": ["15:00-19:00"]}}
    _, records = run(shifts={**SHIFT, **evening}, trades={"ASM": {"people": {"day": 3}}},
                     positions=[{"id": "A", "shifts": ["evening"], "packages": [work("a")]}])
    assert records.delivered == {}
    assert [(s.places, s.serials) for s in records.stuck] == [((0,), (0,))]


# flights --------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize("least", [1, 2, 4])
def test_no_squawks_flies_exactly_the_least_number_of_flights(least: int) -> None:
    """F87: with a mean of 0 nothing is written up and no flight is added."""
    squawks = {"mean_by_flight": [0], "fix_hours": 2, "trades": {"ASM": 1}, "needs_reflight_share": 1}
    _, records = run(positions=flight_line(squawks=squawks, min_flights=least))
    assert len(records.delivered) == 6
    assert [(f.serial, f.number, f.squawks) for f in sorted(records.flights)] == [
        (k, n, 0) for k in range(6) for n in range(1, least + 1)]
    assert not [c for c in records.closings if c.job.startswith("squawk")]


def test_every_squawk_needs_a_reflight_until_the_end() -> None:
    """F87: squawks that always need a re-flight never end; the run does, and nobody is called stuck."""
    squawks = {"mean_by_flight": [9], "fix_hours": 1, "trades": {"ASM": 1}, "needs_reflight_share": 1}
    _, records = run(positions=flight_line(squawks=squawks), end="2027-03-31")
    assert records.delivered == {}
    assert len(records.flights) > 20
    assert records.stuck == []


def test_no_day_can_be_flown() -> None:
    """F82: with a share of 0 no flight is made."""
    _, records = run(positions=flight_line(), weather={"flyable_share_by_month": dict.fromkeys(range(1, 13), 0)})
    assert records.flights == []
    assert records.delivered == {}
    assert len(records.launches) == 3


# aircraft -------------------------------------------------------------------------------------------------------
def test_one_aircraft() -> None:
    """One aircraft alone: 2 hours of one person in each of three places, the last in the hour after the break."""
    sheet, records = run(orders=[{"serial": "S1"}])
    assert wall(sheet, records.delivered.values()) == ["2027-01-04 12:30"]
    assert [entry.serial for entry in records.launches] == [0]
    assert [v.place for v in records.visits] == [0, 1, 2]
    assert all(v.ready == v.left for v in records.visits)


def test_an_order_book_shorter_than_the_launches() -> None:
    """F117 `hold`: no launch after the last order; the floor runs empty."""
    _, records = run(stock={"unsold_slots": "hold"})
    assert len(records.launches) == len(records.delivered) == 6
    assert records.stock_ready == {}
    assert len(records.planned) == 6


def test_an_order_book_that_goes_on_as_stock() -> None:
    """F117 `build`: unsold slots are stock with the next serial numbers, none of them a delivery."""
    final = [{"id": "Z", "kind": "appointment", "slots_per_day": 9, "certificate": True}]
    _, records = run(stock={"unsold_slots": "build"}, positions=[{"id": "A", "packages": [work("a"), *final]}])
    assert sorted(records.delivered) == list(range(6))
    assert sorted(records.stock_ready) == list(range(6, len(records.stock_ready) + 6))
    assert len(records.stock_ready) > 20
    assert records.serials[6:8] == ["S7", "S8"]


def test_the_end_cuts_everything() -> None:
    """F99: work longer than the run: nothing is delivered, nobody is stuck, every span ends with the run."""
    sheet, records = run(positions=[{"id": "A", "packages": [work("a", 5000)]},
                                    {"id": "B", "packages": [work("b")]}], end="2027-01-08")
    end = 5 * 1440.0
    assert sheet.calendar.run_end == records.ended == end
    assert records.delivered == {}
    assert records.visits == []
    assert [(v.serial, v.place, v.left) for v in records.unfinished] == [(0, 0, end)]
    assert records.stuck == []
    assert max(s.end for s in records.segments) <= end
    worked = sum(s.people * (s.end - s.start) for s in records.segments if s.people)
    assert worked == 5 * (8 * 60 + 30)  # the crew stands over the break
    assert [serial for serial, _ in records.planned] == list(range(5))


def test_a_run_of_one_closed_day() -> None:
    """F40: no working minute, no launch."""
    _, records = run(start="2027-01-09", end="2027-01-09")
    assert records.launches == []
    assert records.segments == []


# places ---------------------------------------------------------------------------------------------------------
def test_no_parking_anywhere() -> None:
    """F10, F11: without parking nobody is ever parked, and who is done waits in its dock."""
    _, records = run(positions=[{"id": "A", "parking": 0, "packages": [work("a", 1)]},
                                {"id": "B", "parking": 0, "packages": [work("b", 20)]},
                                {"id": "C", "parking": 0, "packages": [work("c", 1)]}])
    assert len(records.delivered) == 6
    assert not any(v.parked for v in records.visits)
    first = [v for v in records.visits if v.place == 0]
    second = [v for v in records.visits if v.place == 1]
    assert [v.left for v in first[2:]] == [v.left for v in second[1:-1]]
    assert all(v.ready < v.left for v in first[2:])


def test_more_parking_than_aircraft() -> None:
    """F10: with room for all, nobody waits in a dock."""
    _, records = run(positions=[{"id": "A", "packages": [work("a", 1)]},
                                {"id": "B", "parking": 99, "packages": [work("b", 20)]}])
    assert len(records.delivered) == 6
    assert all(v.ready == v.left for v in records.visits if v.place == 0)


def test_a_ring_is_named_with_its_places_and_serials() -> None:
    """F14: two full areas, each aircraft waiting for a place in the other. The rest of the floor goes on."""
    positions = [{"id": "A", "next": "B", "packages": [work("a", 2, None)]},
                 {"id": "B", "packages": [work("b", 3, None)], "back_to": {"position": "A", "chance": 0}}]
    sheet, records = run(positions=positions, shifts={}, trades={}, launches={"saturated": True}, known={
        "goings_back": [{"serial": "S1", "times": 1}]})
    # S1 is done in B at 05:00 and wants to go back to A, where S2 has been done since 04:00
    assert wall(sheet, [s.since for s in records.stuck]) == ["2027-01-04 05:00"]
    assert [(s.places, s.serials, s.why) for s in records.stuck] == [
        ((0, 1), (0, 1), "each waits for a place held by the next")]
    assert records.delivered == {}
    assert {(v.serial, v.place) for v in records.unfinished} == {(0, 1), (1, 0)}


def test_the_rest_of_the_floor_goes_on_beside_a_ring() -> None:
    """F14: two docks in each place; the ring takes one of each and the other aircraft still come through."""
    positions = [{"id": "A", "docks": 1, "packages": [work("a", 2, None)]},
                 {"id": "B", "docks": 1, "packages": [work("b", 3, None)], "back_to": {"position": "A", "chance": 0}},
                 {"id": "C", "packages": [work("c", 30, None)]}]
    _, records = run(positions=positions, shifts={}, trades={}, launches={"saturated": True}, known={
        "goings_back": [{"serial": "S3", "times": 1}]})
    assert [(s.places, s.serials) for s in records.stuck] == [((0, 1), (2, 3))]
    assert sorted(records.delivered) == [0, 1]


def test_a_ring_of_three_places_is_named() -> None:
    """F14: A waits for B, B for C, C for A."""
    positions = [{"id": name, "packages": [work(name.lower(), 1, None)]} for name in "ABC"]
    positions[2]["back_to"] = {"position": "A", "chance": 1}
    _, records = run(positions=positions, shifts={}, trades={}, launches={"saturated": True})
    assert [(s.places, s.serials) for s in records.stuck] == [((0, 1, 2), (0, 1, 2))]
    assert len(records.launches) == 3


def test_an_aircraft_that_goes_back_to_its_own_dock_is_no_ring() -> None:
    """F13: back to its own area: it stays in its dock."""
    positions = [{"id": "A", "packages": [work("a", 1, None)], "back_to": {"position": "A", "chance": 0}}]
    sheet, records = run(positions=positions, shifts={}, trades={}, launches={"saturated": True}, known={
        "goings_back": [{"serial": "S1", "times": 3}]})
    assert records.stuck == []
    assert wall(sheet, list(records.delivered.values())[:2]) == ["2027-01-04 04:00", "2027-01-04 05:00"]


# calendar -------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(("start", "closed", "first"), [
    ("2027-01-02", [], "2027-01-04 06:00"),                              # a Saturday
    ("2027-01-03", ["2027-01-04"], "2027-01-05 06:00"),                  # a Sunday before a holiday
    ("2027-01-05", ["2027-01-05"], "2027-01-06 06:00"),                  # the holiday itself
    ("2027-01-08", ["2027-01-08", "2027-01-11"], "2027-01-12 06:00"),    # in a row of closed days over a weekend
    ("2027-01-04", [], "2027-01-04 06:00")])
def test_a_start_on_a_day_off_waits_for_the_first_working_minute(start: str, closed: list[str], first: str) -> None:
    """F3, F40: the first launch is at the first working minute on or after the start; two hours later it is done."""
    sheet, records = run(start=start, calendar={"closed": closed}, orders=[{"serial": "S1"}],
                         positions=[{"id": "A", "packages": [work("a")]}])
    assert wall(sheet, [records.launches[0].made]) == [first]
    assert wall(sheet, records.delivered.values()) == [first.replace("06:00", "08:00")]


def test_a_hold_runs_through_a_closed_day() -> None:
    """F7, F37: a hold of 24 hours over a holiday ends on the holiday."""
    sheet, records = run(calendar={"closed": ["2027-01-05"]}, orders=[{"serial": "S1"}], positions=[
        {"id": "A", "packages": [work("a"), {"id": "h", "kind": "hold", "elapsed_hours": 24}]}])
    assert wall(sheet, records.delivered.values()) == ["2027-01-05 08:00"]


# zero -----------------------------------------------------------------------------------------------------------
def test_packages_of_zero_hours_close_when_they_are_served() -> None:
    """F34: in the instant of the launch when their people are there; three places are passed in that instant."""
    sheet, records = run(positions=[{"id": n, "packages": [work(n.lower(), 0)]} for n in "ABC"])
    assert wall(sheet, records.delivered.values()) == [f"2027-01-{d:02d} 06:00" for d in (4, 5, 6, 7, 8, 11)]
    assert [s for s in records.segments if s.people] == []


def test_a_package_of_zero_hours_needs_its_people() -> None:
    """F34: at night it waits for the first working minute of its trade."""
    moments = ["2027-01-04 20:00"]
    sheet, records = run(orders=[{"serial": "S1"}], launches={"moments": moments},
                         positions=[{"id": "A", "packages": [work("a", 0)]}])
    assert wall(sheet, records.delivered.values()) == ["2027-01-05 06:00"]


def test_zero_hours_take_nobody_away() -> None:
    """F34: a chain of zero-hour packages between two real ones adds no time."""
    packages = [work("a"), *(work(f"z{n}", 0, inspection_hours=0) for n in range(5)), work("b")]
    sheet, records = run(orders=[{"serial": "S1"}], trades={"ASM": {"people": 1}},
                         positions=[{"id": "A", "packages": packages}])
    assert wall(sheet, records.delivered.values()) == ["2027-01-04 10:00"]


def test_a_place_without_any_work_is_passed_in_no_time() -> None:
    """F12: an empty place holds nobody up."""
    sheet, records = run(positions=[{"id": "A", "packages": [work("a")]}, {"id": "B"}, {"id": "C"}])
    assert wall(sheet, records.delivered.values()) == [f"2027-01-{d:02d} 08:00" for d in (4, 5, 6, 7, 8, 11)]


def test_a_hold_of_zero_hours_is_over_at_once() -> None:
    """F37."""
    sheet, records = run(orders=[{"serial": "S1"}], positions=[
        {"id": "A", "packages": [{"id": "h", "kind": "hold", "elapsed_hours": 0}, work("a")]}])
    assert wall(sheet, records.delivered.values()) == ["2027-01-04 08:00"]


def test_a_customers_notice_that_the_end_cuts_is_still_time_of_the_aircraft() -> None:
    """F92, F99, F105: an aircraft that still waits for the end of its notice has a reason for each hour."""
    sheet = Sheet(Scenario.model_validate({
        "name": "notice", "start": "2027-01-04", "end": "2027-01-10", "launches": {"moments": ["2027-01-04 06:00"]},
        "orders": [{"serial": "S1"}], "shifts": {"day": {"work": ["06:00-14:00"]}},
        "positions": [{"id": "A", "packages": [{"id": "a", "hours": 2}], "acceptance": {
            "weekdays": ["Mon", "Tue", "Wed", "Thu", "Fri"], "slots_per_day": 1, "duration_work_days": 1,
            "notice_work_days": 20}}]}))
    ledger = Ledger(sheet, run_once(sheet, 1, 0))
    begin, end = ledger.span(0)
    assert end == sheet.calendar.run_end
    assert ledger.of(0) == {State.WORK: pytest.approx(2), State.CUSTOMER: pytest.approx((end - begin) / 60 - 2)}


def test_a_known_lock_that_begins_before_the_launch_locks_from_the_launch_on() -> None:
    """F67, F120: locked from Monday 13:00, launched on Tuesday at 06:00, worked on when the lock ends at 10:00."""
    sheet = Sheet(Scenario.model_validate({
        "name": "lock", "start": "2027-01-04", "end": "2027-01-10", "launches": {"moments": ["2027-01-05 06:00"]},
        "orders": [{"serial": "S1"}], "shifts": {"day": {"work": ["06:00-14:00"]}}, "trades": {"ASM": {"people": 1}},
        "positions": [{"id": "A", "packages": [{"id": "a", "trade": "ASM", "hours": 1}]}],
        "known": {"tool_locks": [{"serial": "S1", "from": "2027-01-04 13:00", "to": "2027-01-05 10:00"}]}}))
    records = run_once(sheet, 1, 0)
    assert sheet.calendar.wall_text(records.closings[0].closed) == "2027-01-05 11:00"
    assert Ledger(sheet, records).of(0) == {State.LOCKED: pytest.approx(4), State.WORK: pytest.approx(1)}


@pytest.mark.parametrize(("own", "crew", "said"), [
    (1, 2, []), (0, 1, []),
    (1, 3, ["a needs 3 of trade T; at most 2 of it and of those who help it are ever on duty"])])
def test_people_who_are_lent_count_among_those_ever_on_duty(own: int, crew: int, said: list[str]) -> None:
    """F14, F33: 100 h are worked with one of U on three days; only a crew that never comes together is stuck."""
    sheet = Sheet(Scenario.model_validate({
        "name": "helped", "start": "2027-01-04", "end": "2027-01-06", "orders": [{"serial": "S1"}],
        "shifts": {"day": {"work": ["06:00-14:00"]}}, "launches": {"moments": ["2027-01-04 06:00"]},
        "trades": {"T": {"people": own, "cover": {"U": 1.0}}, "U": {"people": 1}},
        "positions": [{"id": "A", "packages": [{"id": "a", "trade": "T", "hours": 100, "crew": crew}]}]}))
    records = run_once(sheet, 1, 0)
    assert [stuck.why for stuck in records.stuck] == said
    worked = sum((s.end - s.start) * s.people for s in records.segments if s.people) / 60
    assert worked == (0 if said else 3 * 8 * (own + 1))
