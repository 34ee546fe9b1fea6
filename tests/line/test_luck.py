"""Luck stays put: a run is the same alone, in a batch and on two processes; one thing more changes no other draw."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import fields
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from linesim.line.floor import run_once
from linesim.line.luck import Luck
from linesim.line.records import Records
from linesim.line.runs import run_many
from linesim.line.sheet import Sheet
from linesim.scenario.reading import read_scenario
from linesim.scenario.scenario import Scenario

DEMO = Path(__file__).parents[2] / "scenarios" / "birchwater.yaml"
SEED = 20270104
Draws = dict[tuple[str, ...], bytes]


def everything(sheet: Sheet, records: Records) -> dict[str, Any]:
    """All record lists by name, as plain values that travel between processes."""
    return {"sheet": [place.id for place in sheet.places],
            **{field.name: getattr(records, field.name) for field in fields(records)}}


@pytest.fixture(scope="module")
def demo() -> Scenario:
    return read_scenario(DEMO)


@pytest.fixture(scope="module")
def short(demo: Scenario) -> Scenario:
    """The demo with its first 30 orders and without stock: all aircraft are delivered, whatever is changed."""
    return demo.model_copy(update={
        "orders": (demo.orders or ())[:30], "stock": demo.stock.model_copy(update={"unsold_slots": "hold"}),
        "end": date(2027, 7, 31), "run_on_months": 9})


@contextmanager
def all_draws() -> Iterator[Draws]:
    """Every draw that is read inside, by purpose and key."""
    found: Draws = {}
    drawn = Luck.digest

    def digest(self: Luck, name: str) -> bytes:
        value = drawn(self, name)
        assert found.setdefault(tuple(name.split("/")), value) == value  # read again, a draw is the same
        return value

    Luck.digest = digest  # type: ignore[method-assign]
    try:
        yield found
    finally:
        Luck.digest = drawn  # type: ignore[method-assign]


def drawn_in(scenario: Scenario, run: int = 3) -> tuple[Records, Draws]:
    with all_draws() as found:
        records = run_once(Sheet(scenario), SEED, run)
    return records, found


def with_people(scenario: Scenario, trade: str, people: int) -> Scenario:
    trades = {**scenario.trades, trade: scenario.trades[trade].model_copy(update={"people": {"day": people}})}
    return scenario.model_copy(update={"trades": trades})


def with_place(scenario: Scenario, place: str, **changed: Any) -> Scenario:
    return scenario.model_copy(update={"positions": tuple(
        p.model_copy(update=changed) if p.id == place else p for p in scenario.positions)})


def with_known(scenario: Scenario, **facts: Any) -> Scenario:
    known = Scenario.model_validate({"name": "facts", "start": "2027-01-04", "end": "2027-01-04", "orders": "unlimited",
                                     "positions": [{"id": "A"}], "launches": {"saturated": True}, "known": facts}).known
    return scenario.model_copy(update={"known": known})


# the same run -----------------------------------------------------------------------------------------------------
def test_run_17_alone_is_run_17_in_a_batch(short: Scenario) -> None:
    """All records of a run, field by field: alone on a fresh sheet, after others on the same sheet, at another place of
    the batch."""
    alone = everything(sheet := Sheet(short), run_once(sheet, SEED, 17))
    for numbers in ([15, 16, 17, 18], [18, 17, 3]):
        batch = {found["replication"]: found for chunk in run_many(short, SEED, numbers, everything) for found in chunk}
        assert sorted(batch) == sorted(numbers)
        for name, rows in alone.items():
            assert batch[17][name] == rows, name
        assert batch[18]["segment_fields"] != alone["segment_fields"]
    assert len(alone["segment_fields"]) > 50000


def test_one_process_is_two_processes(short: Scenario) -> None:
    """Six runs in chunks of five on one process and on two: all records the same, each run once."""
    numbers = list(range(15, 21))
    one, two = ({found["replication"]: found for chunk in run_many(short, SEED, numbers, everything, jobs=jobs)
                 for found in chunk} for jobs in (1, 2))
    assert sorted(one) == sorted(two) == numbers
    for number in numbers:
        for name, rows in one[number].items():
            assert two[number][name] == rows, (number, name)


def test_the_same_seed_gives_the_same_run_and_another_does_not(short: Scenario) -> None:
    """F110: seed and run number are all that luck hangs on."""
    sheet = Sheet(short)
    first, again, other = (run_once(sheet, seed, 5) for seed in (SEED, SEED, SEED + 1))
    assert everything(sheet, first) == everything(sheet, again)
    assert first.good_days != other.good_days
    assert first.delivered != other.delivered


def test_the_order_of_the_serials_in_a_batch_does_not_matter() -> None:
    """F110: the draw of a serial hangs on its name, so an order put in front changes no other aircraft's hours."""
    def plant(serials: list[str]) -> Scenario:
        return Scenario.model_validate({
            "name": "p", "start": "2027-01-01", "end": "2027-03-31", "launches": {"saturated": True},
            "positions": [{"id": "A", "packages": [{"id": "a", "hours": {"exponential": 5}}]}],
            "orders": [{"serial": name} for name in serials]})

    hours = []
    for serials in (["S2", "S3"], ["S1", "S2", "S3"], ["S3", "S1", "S2"]):
        records = run_once(Sheet(plant(serials)), 1, 0)
        hours.append({serials[v.serial]: v.ready - v.arrived for v in records.visits})
    assert hours[0]["S2"] == pytest.approx(hours[1]["S2"], abs=1e-6) == pytest.approx(hours[2]["S2"], abs=1e-6)
    assert hours[0]["S3"] == pytest.approx(hours[1]["S3"], abs=1e-6)
    assert hours[1]["S1"] != pytest.approx(hours[1]["S2"], abs=1e-6)


# one thing more ---------------------------------------------------------------------------------------------------
@pytest.fixture(scope="module")
def base(short: Scenario) -> tuple[Records, Draws]:
    records, found = drawn_in(short)
    assert len(records.delivered) == 30
    purposes = {key[0] for key in found}
    assert {"package", "weather", "squawk count", "squawk", "engine repeat", "repaint", "return", "refusal",
            "acceptance squawks", "acceptance squawk", "long lead", "delivery hours"} <= purposes
    assert len(found) > 2000
    return records, found


@pytest.mark.parametrize(("trade", "people"), [("ASM", 19), ("FLM", 3), ("FTP", 3), ("PNT", 3)])
def test_one_mechanic_more_or_less_changes_no_draw(short: Scenario, base: tuple[Records, Draws], trade: str,
                                                   people: int) -> None:
    """F110, F111: the same draws are read, with the same values; only when things happen is different."""
    records, found = drawn_in(with_people(short, trade, people))
    assert all(found[key] == base[1][key] for key in found.keys() & base[1].keys())
    differ = {key[:2] if key[0] == "leave week" else key[:1] for key in found.keys() ^ base[1].keys()}
    assert differ <= {("leave week", trade), ("search",)}  # persons with another number; where an aircraft then stands
    assert records.good_days == base[0].good_days
    assert records.segments != base[0].segments
    assert len(records.delivered) == 30


@pytest.mark.parametrize("place", ["P3", "PB", "FL", "AC"])
def test_one_dock_more_changes_no_draw(short: Scenario, base: tuple[Records, Draws], place: str) -> None:
    """F110, F111."""
    docks = next(p.docks for p in short.positions if p.id == place)
    records, found = drawn_in(with_place(short, place, docks=docks + 1))
    assert found == base[1]
    assert records.good_days == base[0].good_days
    assert len(records.delivered) == 30


def test_one_dock_more_in_the_bottleneck_is_seen(short: Scenario, base: tuple[Records, Draws]) -> None:
    """The change above is not without effect."""
    records, _ = drawn_in(with_place(short, "IA", docks=3))
    assert records.closing_rows != base[0].closing_rows


def test_one_package_more_adds_its_own_draws_only(short: Scenario, base: tuple[Records, Draws]) -> None:
    """F110: a new package draws for itself, one key for each aircraft that comes to it."""
    place = next(p for p in short.positions if p.id == "FC")
    extra = place.packages[0].model_copy(update={"id": "FC-11", "after": ()})
    records, found = drawn_in(with_place(short, "FC", packages=(*place.packages, extra)))
    added = {key for key in found.keys() - base[1].keys() if key[0] != "search"}  # where an aircraft then stands
    assert {(key[0], key[2]) for key in added} == {("package", "FC-11")}
    assert len(added) == 30  # also the one in the delivery bay: had it the package, its defects would have to be known
    kept = {key: value for key, value in base[1].items() if key[0] != "search"}
    assert {key: found[key] for key in kept} == kept
    assert len(records.delivered) == 30


def test_one_reflight_more_adds_the_draws_of_that_flight_only(short: Scenario) -> None:
    """F120, F110: flight 2 of one aircraft is known, without a squawk or with one that needs a re-flight; the re-flight
    reads the squawk count (and the squawks) of flight 3 and nothing else."""
    serial = "DN4-0255"
    squawk = {"trade": "FLM", "hours": 2, "needs_reflight": True}
    (none, before), (one, after) = (drawn_in(with_known(short, squawks=[
        {"serial": serial, "flight": 2, "squawks": found}])) for found in ([], [squawk]))
    number = none.serials.index(serial)
    flown = [[f.number for f in records.flights if f.serial == number] for records in (none, one)]
    assert flown[0] == [1, 2]
    assert flown[1][:3] == [1, 2, 3]
    assert {key: after[key] for key in before} == before
    added = after.keys() - before.keys()
    assert ("squawk count", serial, "3") in added
    assert all(key[0] in ("squawk count", "squawk") and key[1] == serial and int(key[2]) >= 3 for key in added)
    others = [{(f.serial, f.number): f.squawks for f in records.flights if f.serial != number}
              for records in (none, one)]
    assert others[0] == others[1]


def test_one_engine_run_more_adds_the_draws_of_that_run_only(short: Scenario) -> None:
    """F120, F74: a known repeat draws the hours of its packages anew and changes nothing else."""
    serial = "DN4-0255"
    (none, before), (one, after) = (drawn_in(with_known(short, repeats=[
        {"serial": serial, "position": "ER", "times": times}])) for times in (0, 1))
    assert {key: after[key] for key in before} == before
    assert after.keys() - before.keys() == {("package", serial, "ER-10", "1"), ("package", serial, "ER-20", "1")}
    number = none.serials.index(serial)
    repeated = [sum(c.serial == number and c.job == "ER-10" for c in records.closings) for records in (none, one)]
    assert repeated == [1, 2]


def test_a_fact_in_place_of_a_draw_leaves_the_other_draws(short: Scenario, base: tuple[Records, Draws]) -> None:
    """F120: hours, a late part and a bad day that are known change no other draw. More hours plant more defects (F70):
    those of the package are drawn, too."""
    records, found = drawn_in(with_known(
        short, hours=[{"serial": "DN4-0255", "package": "P4-10", "hours": 90}],
        late_parts=[{"serial": "DN4-0256", "package": "P5-10", "work_days": 6}],
        flyable=[{"date": "2027-05-04", "flyable": False}, {"date": "2027-05-05", "flyable": False}]))
    added = {key for key in found.keys() - base[1].keys() if key[0] != "search"}
    assert {key[1:3] for key in added} <= {("DN4-0255", "P4-10")}
    assert {key: base[1][key] for key in found.keys() & base[1].keys()} == {
        key: found[key] for key in found.keys() & base[1].keys()}
    assert records.closing_rows != base[0].closing_rows
    differ = [n for n, pair in enumerate(zip(records.good_days, base[0].good_days, strict=True)) if pair[0] != pair[1]]
    assert set(differ) <= {120, 121}


@pytest.mark.parametrize(("what", "changed"), [
    ("more squawks", {"dial": 2.0}), ("fewer re-flights", {"needs_reflight_share": 0.1})])
def test_a_dial_changes_values_and_not_which_draws(short: Scenario, base: tuple[Records, Draws], what: str,
                                                   changed: dict[str, Any]) -> None:
    """F111: a mean or a dial never changes a uniform: what both read is equal; only squawks and flights that one has
    and the other has not may be read by one alone."""
    flights = next(p.flights for p in short.positions if p.flights)
    squawks = type(flights.squawks).model_validate({**dict(flights.squawks), **changed})
    other = with_place(short, "FL", flights=flights.model_copy(update={"squawks": squawks}))
    records, found = drawn_in(other)
    both = found.keys() & base[1].keys()
    assert all(found[key] == base[1][key] for key in both)
    alone = {key[0] for key in found.keys() ^ base[1].keys()}
    assert alone <= {"squawk", "squawk count", "acceptance squawk", "search"}
    assert records.good_days == base[0].good_days
    assert records.delivered != base[0].delivered
