"""F12 options: moves that take time, and moves only in the working time of the reference shift."""

from __future__ import annotations

from typing import Any

import pytest

from linesim.line.floor import run_once
from linesim.line.records import Records, State
from linesim.line.sheet import HOUR, Sheet
from linesim.measures.ledger import Ledger
from linesim.scenario.scenario import Scenario

DAY = {"shifts": {"day": {"work": ["06:00-10:00", "10:30-14:30"]}}}


def hold(hours: float) -> dict[str, Any]:
    return {"id": f"hold {hours}", "kind": "hold", "elapsed_hours": hours}


def run(places: list[dict[str, Any]], moments: list[str], rules: dict[str, Any],
        **more: Any) -> tuple[list[dict[str, float]], Sheet, Records]:
    """A row of places that only hold: by serial the hour of arrival in each place and its parking, and of delivery."""
    scenario = Scenario.model_validate({
        "name": "moves", "start": "2027-01-04", "end": "2027-01-17", "work_rules": rules, "positions": places,
        "launches": {"moments": moments}, "orders": [{"serial": f"S{n}"} for n in range(len(moments))], **more})
    sheet = Sheet(scenario)
    records = run_once(sheet, 1, 0)
    found: list[dict[str, float]] = [{} for _ in moments]
    for visit in (*records.visits, *records.unfinished):
        found[visit.serial][sheet.places[visit.place].id + (" parking" if visit.parked else "")] = visit.arrived / HOUR
    for serial, moment in records.delivered.items():
        found[serial]["out"] = moment / HOUR
    return found, sheet, records


def check_reasons(sheet: Sheet, records: Records) -> None:
    """Every hour has one reason, of each aircraft and of each place."""
    ledger = Ledger(sheet, records)
    for serial in ledger.aircraft():
        begin, end = ledger.span(serial)
        assert sum(ledger.of(serial).values()) == pytest.approx((end - begin) / HOUR, abs=1e-6)
    for parking in (False, True):
        spots = [place.parking if parking else place.docks for place in sheet.places]
        assert ledger.of_places(parking=parking).sum(axis=1) == pytest.approx(
            [n * records.ended / HOUR for n in spots], abs=1e-6)


MIDNIGHT = ["2027-01-04 00:00"] * 3


def test_a_move_takes_its_minutes_and_both_places() -> None:
    """The place left is free when the move ends; the place entered is nobody else's from its beginning. Leaving the
    floor takes no time."""
    found, sheet, records = run([{"id": "A", "packages": [hold(2)]}, {"id": "B", "packages": [hold(5)]}], MIDNIGHT,
                                {"move_minutes": 30})
    assert found == [{"A": 0, "B": 2.5, "out": 7.5}, {"A": 2.5, "B": 8, "out": 13}, {"A": 8, "B": 13.5, "out": 18.5}]
    assert Ledger(sheet, records).of(1)[State.BLOCKED] == pytest.approx(3.5)  # 4.5 to 8, the move with it
    check_reasons(sheet, records)


def test_to_parking_and_from_it_are_moves_too() -> None:
    """The spot is free when the aircraft has reached its dock."""
    found, sheet, records = run([{"id": "A", "packages": [hold(2)]}, {"id": "B", "parking": 1, "packages": [hold(5)]}],
                                MIDNIGHT, {"move_minutes": 30})
    assert found == [{"A": 0, "B": 2.5, "out": 7.5}, {"A": 2.5, "B parking": 5, "B": 8, "out": 13},
                     {"A": 5, "B parking": 8.5, "B": 13.5, "out": 18.5}]
    check_reasons(sheet, records)


def test_the_halves_move_to_mate_together() -> None:
    """Both docks are free when the move ends."""
    found, sheet, records = run(
        [{"id": "F", "half": "fuselage", "packages": [hold(3)]}, {"id": "W", "half": "wing", "packages": [hold(1)]},
         {"id": "M", "packages": [hold(1)]}], MIDNIGHT[:2], {"move_minutes": 60})
    assert found == [{"F": 0, "W": 0, "M": 4, "out": 5}, {"F": 4, "W": 4, "M": 8, "out": 9}]
    check_reasons(sheet, records)


def test_a_move_takes_working_time_of_the_reference_shift() -> None:
    """Begun at 14:00, 60 minutes end at 06:30 of the next work day; begun at night they end at 07:00."""
    places = [{"id": "A", "packages": [hold(8)]}, {"id": "B", "packages": [hold(1)]}]
    found, sheet, records = run(places, ["2027-01-04 06:00"], {"move_minutes": 60}, **DAY)
    assert found == [{"A": 6, "B": 24 + 6.5, "out": 24 + 7.5}]
    check_reasons(sheet, records)
    found, *_ = run(places, ["2027-01-04 14:00"], {"move_minutes": 60}, **DAY)
    assert found == [{"A": 14, "B": 24 + 7, "out": 24 + 8}]


def test_a_move_that_the_end_of_the_run_cuts_is_blocked_time() -> None:
    """The aircraft still stands where it was."""
    found, sheet, records = run([{"id": "A", "packages": [hold(8)]}, {"id": "B", "packages": [hold(1)]}],
                                ["2027-01-17 20:00"], {"move_minutes": 6000})
    assert found == [{"A": 13 * 24 + 20}]
    check_reasons(sheet, records)
    found, sheet, records = run([{"id": "A", "packages": [hold(1)]}, {"id": "B", "packages": [hold(1)]}],
                                ["2027-01-17 20:00"], {"move_minutes": 6000})
    assert Ledger(sheet, records).of(0) == {State.HOLD: pytest.approx(1), State.BLOCKED: pytest.approx(3)}


def test_moves_and_launches_only_in_working_time() -> None:
    """A place freed at night is filled at the first working minute, a launch planned at night or on a Saturday is made
    then; delivery is not a move."""
    places = [{"id": "A", "packages": [hold(6)]}, {"id": "B", "packages": [hold(15)]}]
    found, sheet, records = run(places, ["2027-01-04 22:00", "2027-01-09 09:00"], {"moves": "reference shift"}, **DAY)
    monday = 7 * 24 + 6
    # closed at 12:00, moved at once; out at 03:00; closed at noon on Monday the 11th
    assert found == [{"A": 30, "B": 36, "out": 51}, {"A": monday, "B": monday + 6, "out": monday + 21}]
    assert [(launch.planned / HOUR, launch.made / HOUR) for launch in records.launches] == [(22, 30), (129, monday)]
    check_reasons(sheet, records)
    found, *_ = run(places, ["2027-01-04 09:00"], {"moves": "reference shift"}, **DAY)
    assert found == [{"A": 9, "B": 24 + 6, "out": 24 + 21}]  # closed at 15:00, moved in the morning
    found, *_ = run(places, ["2027-01-04 09:00"], {"moves": "reference shift", "move_minutes": 30}, **DAY)
    assert found == [{"A": 9, "B": 24 + 6.5, "out": 24 + 21.5}]


def test_the_pulse_is_a_move_of_no_time_at_any_hour() -> None:
    """F42: all aircraft of the line move in one instant; only the way off the line takes time."""
    line = {"pulse": {"positions": ["A", "B"]}, "launches": {"takt_work_days": 1}, "orders": [
        {"serial": f"S{n}"} for n in range(3)], **DAY}
    places = [{"id": name, "packages": [hold(hours)]} for name, hours in (("A", 4), ("B", 40), ("C", 1))]
    scenario = Scenario.model_validate({"name": "pulse", "start": "2027-01-04", "end": "2027-01-17",
                                        "positions": places, **line,
                                        "work_rules": {"move_minutes": 90, "moves": "reference shift"}})
    sheet = Sheet(scenario)
    records = run_once(sheet, 1, 0)
    arrived = {(v.serial, sheet.places[v.place].id): v.arrived / HOUR for v in records.visits}
    # S0 enters B with the pulse of Tuesday 06:00 and is closed on Wednesday at 22:00: it leaves B in Thursday's first
    # 90 working minutes, and the pulse that was due on Wednesday is made in that instant
    assert arrived[0, "B"] == 30
    assert arrived[0, "C"] == 72 + 7.5
    assert arrived[1, "B"] == arrived[2, "A"] == 72 + 7.5
    check_reasons(sheet, records)


def test_who_parks_for_no_time_was_not_parked_later() -> None:
    """F10, F105: S2 parks before B and docks in the same instant, since S1 has no work there. Then it is closed at
    03:00 and blocked in its dock until C is free at 21:00."""
    hours = [{"serial": serial, "package": package, "hours": h}
             for serial, of in (("S1", (1, 0, 20)), ("S2", (1, 2, 1))) for package, h in zip("abc", of, strict=True)]
    positions = [{"id": "A", "docks": 2, "packages": [{"id": "a"}]},
                 {"id": "B", "parking": 1, "packages": [{"id": "b"}]}, {"id": "C", "packages": [{"id": "c"}]}]
    records = run_once(Sheet(Scenario.model_validate({
        "name": "no time", "start": "2027-01-04", "end": "2027-01-10", "positions": positions,
        "orders": [{"serial": "S1"}, {"serial": "S2"}], "known": {"hours": hours},
        "launches": {"moments": ["2027-01-04 00:00"] * 2}})), 1, 0)
    assert [(v.serial, v.arrived) for v in records.visits if v.parked] == [(1, 60.0)]
    blocked = [(s.place, s.job, s.start / HOUR, s.end / HOUR) for s in records.segments if s.state == State.BLOCKED]
    assert blocked == [(1, "", 3.0, 21.0)]
