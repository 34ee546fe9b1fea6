"""Options of the rules of mate and certificate: halves launched by themselves, any wing, papers at acceptance."""

from __future__ import annotations

from typing import Any

import pytest

from linesim.line.floor import run_once
from linesim.line.records import Records
from linesim.line.sheet import Sheet
from linesim.measures.ledger import Ledger
from linesim.scenario.scenario import Scenario


def hold(name: str, hours: float) -> dict[str, Any]:
    """A package that only takes time."""
    return {"id": name, "kind": "hold", "elapsed_hours": hours}


def run(hours: dict[str, dict[str, float]], orders: list[dict[str, str]], docks: int = 1,
        **rules: str) -> tuple[Sheet, Records]:
    """Fuselage, wing and mate on a clock without nights; launches at the start."""
    facts = [{"serial": serial, "package": package, "hours": value}
             for package, of in hours.items() for serial, value in of.items()]
    sheet = Sheet(Scenario.model_validate({
        "name": "halves", "start": "2027-01-04", "end": "2027-01-31",
        "positions": [{"id": "FB", "half": "fuselage", "docks": docks, "packages": [hold("f", 1)]},
                      {"id": "WB", "half": "wing", "docks": docks, "packages": [hold("w", 1)]},
                      {"id": "MA", "packages": [hold("m", 1)]}],
        "launches": {"moments": ["2027-01-04 00:00"] * len(orders)}, "orders": orders, "work_rules": rules,
        "known": {"hours": facts}}))
    return sheet, run_once(sheet, 1, 0)


def arrivals(sheet: Sheet, records: Records, place: str) -> list[tuple[int, float]]:
    """Serial and hour of arrival in a place, in order of arrival."""
    index = next(p.index for p in sheet.places if p.id == place)
    return sorted(((v.serial, v.arrived / 60) for v in records.visits if v.place == index), key=lambda a: a[::-1])


TWO = [{"serial": "S1"}, {"serial": "S2"}]


def test_halves_launched_together_wait_for_both_docks() -> None:
    """F22: both first positions must be free."""
    sheet, records = run({"f": {"S1": 4, "S2": 4}, "w": {"S1": 10, "S2": 1}}, TWO)
    assert arrivals(sheet, records, "FB") == [(0, 0), (1, 10)]
    assert [launch.made / 60 for launch in records.launches] == [0, 10]


def test_each_half_by_itself_is_launched_when_its_own_dock_is_free() -> None:
    """F22 option: the wing's branch does not wait for the fuselage's; the aircraft's launch is its first half's."""
    sheet, records = run({"f": {"S1": 12, "S2": 4}, "w": {"S1": 3, "S2": 1}}, TWO, halves="each by itself")
    # the wing waits closed in its dock until the fuselage is closed too, and blocks the next wing
    assert arrivals(sheet, records, "WB") == [(0, 0), (1, 12)]
    sheet, records = run({"f": {"S1": 12, "S2": 4}, "w": {"S1": 3, "S2": 1}},
                         [*TWO, {"serial": "S3"}], docks=2, halves="each by itself")
    assert arrivals(sheet, records, "WB") == [(0, 0), (1, 0), (2, 4)]  # S2 mates at 4, S1 only at 12
    assert arrivals(sheet, records, "FB") == [(0, 0), (1, 0), (2, 4)]


def test_any_wing_of_the_model_goes_to_the_fuselage_that_is_ready_first() -> None:
    """F20 option: first ready of each; the wings change serials, the other fuselage takes the wing that was left."""
    orders = [{"serial": "S1", "model": "D4"}, {"serial": "S2", "model": "D4"}]
    hours = {"f": {"S1": 4, "S2": 6}, "w": {"S1": 20, "S2": 2}}
    sheet, records = run(hours, orders, docks=2, pairing="any of model")
    assert arrivals(sheet, records, "MA") == [(0, 4), (1, 20)]
    ledger = Ledger(sheet, records)
    for serial in ledger.aircraft():
        begin, end = ledger.span(serial)
        assert sum(ledger.of(serial).values()) == pytest.approx((end - begin) / 60, abs=1e-9)
    sheet, records = run(hours, orders, docks=2)
    assert arrivals(sheet, records, "MA") == [(1, 6), (0, 20)]


def test_a_wing_of_another_model_does_not_fit() -> None:
    """F20 option: of the model."""
    orders = [{"serial": "S1", "model": "D4"}, {"serial": "S2", "model": "D4T"}]
    sheet, records = run({"f": {"S1": 4, "S2": 6}, "w": {"S1": 20, "S2": 2}}, orders, docks=2, pairing="any of model")
    assert arrivals(sheet, records, "MA") == [(1, 6), (0, 20)]


def test_any_wing_when_the_own_one_is_not_launched_yet() -> None:
    """Both options together: the wing launched later carries the serial that is left."""
    orders = [{"serial": "S1"}, {"serial": "S2"}, {"serial": "S3"}]
    sheet, records = run({"f": {"S1": 9, "S2": 1, "S3": 1}, "w": {"S1": 2, "S2": 2, "S3": 2}, "m": {}}, orders,
                         docks=2, pairing="any of model", halves="each by itself")
    assert sorted(serial for serial, _ in arrivals(sheet, records, "MA")) == [0, 1, 2]
    assert arrivals(sheet, records, "MA")[:2] == [(1, 2), (2, 3)]  # S2 takes a wing at 2, S3, launched then, at 3
    assert len(records.delivered) == 3


PAPERS = [{"id": "FC", "packages": [hold("last", 2), {"id": "records", "trade": "DEL", "hours": 1}, {
    "id": "certificate", "kind": "appointment", "weekdays": ["Tue"], "slots_per_day": 1, "records": "records",
    "certificate": True}]}, {"id": "AC", "acceptance": {"weekdays": ["Thu"], "slots_per_day": 1,
                                                        "duration_work_days": 1, "notice_work_days": 0}}]


@pytest.mark.parametrize(("where", "place"), [("finishing", "FC"), ("acceptance", "AC")])
def test_where_the_certificate_is_given(where: str, place: str) -> None:
    """F90 and its option: records and certificate in the finishing place, or in that of acceptance, before it; stock
    ends with it and meets no customer."""
    sheet = Sheet(Scenario.model_validate({
        "name": "papers", "start": "2027-01-04", "end": "2027-01-31", "positions": PAPERS,
        "shifts": {"day": {"work": ["06:00-14:00"]}}, "trades": {"DEL": {"people": 1}},
        "launches": {"moments": ["2027-01-04 06:00", "2027-01-11 06:00"]}, "orders": [{"serial": "S1"}],
        "stock": {"unsold_slots": "build"}, "work_rules": {"certificate_at": where}}))
    records = run_once(sheet, 1, 0)
    given = {(c.serial, sheet.places[c.place].id) for c in records.closings if c.job in ("records", "certificate")}
    assert given == {(0, place), (1, place)}
    slots = [(serial, what, sheet.calendar.wall_text(t)) for serial, what, t, _ in records.slots]
    assert slots == [(0, "certificate", "2027-01-05 06:00"), (0, "acceptance", "2027-01-07 06:00"),
                     (1, "certificate", "2027-01-12 06:00")]
    assert list(records.delivered) == [0]
    assert list(records.stock_ready) == [1]
    assert sheet.calendar.wall_text(records.stock_ready[1]) == "2027-01-12 14:00"
