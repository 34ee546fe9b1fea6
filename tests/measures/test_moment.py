"""Where every aircraft stands at an instant, and the first jam: against records, against the ledger, and by hand."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from linesim.line.floor import run_once
from linesim.line.records import Records, State
from linesim.line.sheet import Sheet
from linesim.measures.moment import Floor, first_jam, floor_of, spans_of
from linesim.scenario.reading import read_scenario

SCENARIOS = Path(__file__).parents[2] / "scenarios"

# A, B, C with one person each; work round the clock of the day shift 08:00 to 16:00, a work day is 8 hours.
# S1 needs 1 h in A, 1 h in B, 40 h in C; S2 and S3 the same. Launched whenever A is free.
BLOCKED = {
    "name": "Blocked", "start": "2027-01-04", "end": "2027-03-31",
    "shifts": {"day": {"work": ["08:00-16:00"]}},
    "trades": {name: {"people": {"day": 1}} for name in ("TA", "TB", "TC")},
    "positions": [{"id": "A", "packages": [{"id": "a", "trade": "TA", "hours": 1}]},
                  {"id": "B", "packages": [{"id": "b", "trade": "TB", "hours": 1}]},
                  {"id": "C", "packages": [{"id": "c", "trade": "TC", "hours": 40}]}],
    "launches": {"saturated": True}, "orders": [{"serial": "S1"}, {"serial": "S2"}, {"serial": "S3"}]}


def floor_from(folder: Path, plant: dict[str, object]) -> Floor:
    """The floor of run 0 of a plant."""
    file = folder / "plant.yaml"
    file.write_text(json.dumps(plant))
    sheet = Sheet(read_scenario(file))
    return floor_of(sheet, run_once(sheet, 1, 0))


@pytest.fixture(scope="module", params=["birchwater", "birchwater-pulse"])
def floor(request: pytest.FixtureRequest) -> Floor:
    """The floor of run 1 of the demo, in free flow and as a pulse line."""
    sheet = Sheet(read_scenario(SCENARIOS / f"{request.param}.yaml"))
    return floor_of(sheet, run_once(sheet, sheet.scenario.seed, 1))


def instants(records: Records) -> list[float]:
    """Instants spread over a run, at odd minutes."""
    return [records.ended * n / 97 + 13.0 for n in range(60)]


def test_everything_on_the_floor_stands_in_one_dock_of_its_own(floor: Floor) -> None:
    """As many stand as stays last; no dock or spot twice, none that the plant does not have."""
    stays = [*floor.records.visits, *floor.records.unfinished]
    for t in instants(floor.records):
        standing = floor.at(t)
        serials = floor.records.serials
        assert sorted((serials.index(one.serial), one.half, one.place, one.parked) for one in standing) == sorted(
            (stay.serial, stay.half, stay.place, stay.parked) for stay in stays if stay.arrived <= t < stay.left)
        spots = [(one.place, one.parked, one.spot) for one in standing]
        assert len(set(spots)) == len(spots)
        for one in standing:
            place = floor.sheet.places[one.place]
            assert 0 <= one.spot < (place.parking if one.parked else place.docks)


def test_the_reason_is_that_of_the_ledger(floor: Floor) -> None:
    """At every instant each half and each aircraft is in the reason of its span."""
    spans = {(serial, half): spans_of(floor.ledger, floor.records.serials.index(serial), half)
             for t in instants(floor.records) for serial, half in {(one.serial, one.half) for one in floor.at(t)}}
    seen = set()
    for t in instants(floor.records):
        for one in floor.at(t):
            span, = (span for span in spans[one.serial, one.half] if span.start <= t < span.end)
            assert one.state is span.state
            seen.add(span.state)
    assert {State.WORK, State.PEOPLE, State.OFF_SHIFT} <= seen


def test_an_aircraft_keeps_its_dock_through_its_stay(floor: Floor) -> None:
    """The number does not change while it stands."""
    held: dict[tuple[str, str, int, bool, float], int] = {}
    for t in instants(floor.records):
        for one in floor.at(t):
            assert held.setdefault((one.serial, one.half, one.place, one.parked, one.since), one.spot) == one.spot


def test_a_jam_by_hand(tmp_path: Path) -> None:
    """S1 leaves B at 10:00 on Monday and is in C for five work days; S2 is closed in B at 11:00 on Monday, blocked a
    work day later at 11:00 on Tuesday, by C at work. S3 is closed in A at 11:00 too, but stands further behind."""
    floor = floor_from(tmp_path, BLOCKED)
    standing = {one.serial: one for one in floor.at(11.5 * 60)}
    at = {serial: floor.sheet.places[one.place].id for serial, one in standing.items()}
    assert at == {"S1": "C", "S2": "B", "S3": "A"}
    assert [standing[serial].state for serial in ("S1", "S2", "S3")] == [State.WORK, State.BLOCKED, State.BLOCKED]
    assert standing["S1"].jobs == ("c",)
    assert standing["S1"].trades == ("TC",)
    assert [standing[serial].full for serial in ("S1", "S2", "S3")] == [None, 2, 1]
    assert standing["S2"].work_days == pytest.approx(1.5 / 8)
    assert standing["S2"].over_takt is None
    jam = first_jam(floor)
    assert jam is not None
    assert (jam.serial, jam.place, jam.since, jam.at) == ("S2", 1, 11 * 60, 1440 + 11 * 60)
    assert (jam.front, jam.state) == (2, State.WORK)


def test_what_waits_for_people_ahead_is_named(tmp_path: Path) -> None:
    """Nobody of the trade in C: the place ahead waits for people of that trade."""
    trades = {"TA": {"people": {"day": 1}}, "TB": {"people": {"day": 1}}, "TC": {"people": {"day": 0}}}
    jam = first_jam(floor_from(tmp_path, BLOCKED | {"trades": trades}))
    assert jam is not None
    assert (jam.front, jam.state, jam.trades) == (2, State.PEOPLE, ("TC",))


def test_no_jam_where_parking_takes_them(tmp_path: Path) -> None:
    """Two spots before C: nobody stands blocked in a dock, and standing in parking is no jam."""
    places = [dict(place) for place in BLOCKED["positions"]]  # type: ignore[attr-defined]
    places[2]["parking"] = 2
    floor = floor_from(tmp_path, BLOCKED | {"positions": places})
    assert first_jam(floor) is None
    parked = [one for one in floor.at(1440.0 + 12 * 60) if one.parked]
    assert [(one.serial, one.spot, one.full) for one in parked] == [("S2", 0, 2), ("S3", 1, 2)]


def test_behind_the_takt(tmp_path: Path) -> None:
    """Takt 1 work day, one dock: an aircraft that has stood 2 work days is 1 behind; with two docks it is not."""
    takt = BLOCKED | {"launches": {"takt_work_days": 1}}
    one = next(one for one in floor_from(tmp_path, takt).at(2 * 1440.0 + 10 * 60) if one.place == 2)
    assert one.work_days == pytest.approx(2.0)
    assert one.over_takt == pytest.approx(1.0)
    places = [dict(place) for place in BLOCKED["positions"]]  # type: ignore[attr-defined]
    places[2]["docks"] = 2
    two = floor_from(tmp_path, takt | {"positions": places}).at(2 * 1440.0 + 10 * 60)
    assert [round(one.over_takt, 6) for one in two if one.place == 2 and one.over_takt is not None] == [0.0, -1.0]
