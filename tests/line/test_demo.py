"""The demo on the floor: conservation, order of work, and luck that stays put."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from linesim.line.floor import run_once
from linesim.line.records import Records
from linesim.line.runs import run_many
from linesim.line.sheet import Sheet
from linesim.measures.ledger import Ledger
from linesim.measures.run import numbers_of
from linesim.scenario.reading import read_scenario
from linesim.scenario.scenario import Scenario
from linesim.show.folder import tables_of_runs

DEMO = Path(__file__).parents[2] / "scenarios" / "birchwater.yaml"


@pytest.fixture(scope="module")
def demo() -> Scenario:
    return read_scenario(DEMO)


@pytest.fixture(scope="module")
def run17(demo: Scenario) -> tuple[Sheet, Records]:
    sheet = Sheet(demo)
    return sheet, run_once(sheet, demo.seed, 17)


def test_reasons_sum_to_flow_time(run17: tuple[Sheet, Records]) -> None:
    """F105: every hour of every aircraft has exactly one reason, to 1e-6 h."""
    ledger = Ledger(*run17)
    assert len(ledger.aircraft()) > 90
    for serial in ledger.aircraft():
        begin, end = ledger.span(serial)
        assert sum(ledger.of(serial).values()) == pytest.approx((end - begin) / 60, abs=1e-6)


def test_reasons_of_each_half_sum_to_its_time_before_mate(run17: tuple[Sheet, Records]) -> None:
    """F109: each half has its own ledger from launch to mate."""
    sheet, records = run17
    ledger = Ledger(sheet, records)
    mated = {(v.serial, v.half): v.left for v in records.visits if v.half and sheet.places[v.place].id in (
        "FB-2", "WB-2")}
    assert len(mated) > 150
    for (serial, half), left in mated.items():
        begin, _ = ledger.span(serial)
        assert sum(ledger.of(serial, half).values()) == pytest.approx((left - begin) / 60, abs=1e-6)


def test_in_is_out_plus_on_the_floor(run17: tuple[Sheet, Records]) -> None:
    """Every launched or standing aircraft is delivered, finished stock, or still on the floor; none twice."""
    _, records = run17
    came = [launch.serial for launch in records.launches] + records.standing
    left = [*records.delivered, *records.stock_ready]
    assert len(came) == len(set(came))
    assert set(left) <= set(came)
    assert not set(records.delivered) & set(records.stock_ready)


def test_order_of_work_on_every_aircraft(run17: tuple[Sheet, Records]) -> None:
    """Engine run before paint; check before close-up; flights before finishing; certificate last (common practice,
    no source; the certificate after flight test: 14 CFR 21.127, 21.183)."""
    sheet, records = run17
    closed: dict[int, dict[str, float]] = {}
    for c in records.closings:
        closed.setdefault(c.serial, {})[c.job] = max(c.closed, closed.get(c.serial, {}).get(c.job, 0.0))
    flown = {f.serial: f.end for f in records.flights}
    started = {(s.serial, s.job): s.start for s in reversed(records.segments) if s.people}
    seen = 0
    for serial in records.delivered:
        if serial in records.standing:
            continue
        jobs, seen = closed[serial], seen + 1
        assert jobs["ER-20"] <= started[serial, "PP-10"]
        assert max(jobs["IA-10"], jobs.get("IA-20", 0.0)) <= started[serial, "IA-30"]
        assert flown[serial] <= started[serial, "FC-10"]
        assert max(flown[serial], jobs["FC-90"]) <= jobs["FC-99"] <= records.delivered[serial]
    assert seen > 50
    assert sheet.places[-1].id == "AC"


def test_no_place_holds_more_than_its_docks(run17: tuple[Sheet, Records]) -> None:
    """F10, F11: at no instant stand more aircraft in a place than it has docks, or parked than it has parking."""
    sheet, records = run17
    for place in sheet.places:
        for parked, room in ((False, place.docks), (True, place.parking)):
            changes = sorted((t, step) for v in records.visits if v.place == place.index and v.parked == parked
                             for t, step in ((v.arrived, 1), (v.left, -1)) if v.left > v.arrived)
            standing = most = 0
            for _, step in changes:
                standing += step
                most = max(most, standing)
            assert most <= room, place.id


def test_no_more_people_work_than_are_on_the_roster(run17: tuple[Sheet, Records]) -> None:
    """F33: people at work on a trade and shift never exceed those on duty."""
    sheet, records = run17
    for trade, declared in sheet.scenario.trades.items():
        changes = sorted((t, step) for s in records.segments if s.people and s.trade == trade
                         for t, step in ((s.start, s.people), (s.end, -s.people)))
        working = most = 0
        for _, step in changes:
            working += step
            most = max(most, working)
        assert 0 < most <= declared.people["day"], trade


def test_a_run_alone_is_the_run_in_a_batch(demo: Scenario) -> None:
    """Run 17 alone has the records of run 17 among others."""
    sheet = Sheet(demo)
    alone = tables_of_runs(sheet, [numbers_of(sheet, run_once(sheet, demo.seed, 17))])
    batch = [run for chunk in run_many(demo, demo.seed, list(range(16, 22)), numbers_of, jobs=2) for run in chunk]
    assert sorted(run.run for run in batch) == list(range(16, 22))
    among = tables_of_runs(sheet, [run for run in batch if run.run == 17])
    assert set(alone) == set(among)
    for name, table in alone.items():
        pd.testing.assert_frame_equal(table, among[name], check_exact=True)


def test_who_has_flown_has_the_preparation_behind_it(run17: tuple[Sheet, Records]) -> None:
    """F80: no flight before closed preparation, so an aircraft that has flown at the start does not prepare again."""
    sheet, records = run17
    prepared = {records.serials[c.serial] for c in records.closings if c.job == "FL-10"}
    flown = {entry.serial for entry in sheet.scenario.on_the_line if entry.flights_flown}
    not_flown = {entry.serial for entry in sheet.scenario.on_the_line if entry.at == ("FL",)} - flown
    assert flown == {"DN4-0235"}
    assert not flown & prepared
    assert not_flown <= prepared


def changed(demo: Scenario, **parts: Any) -> Scenario:
    """The demo with parts replaced."""
    return demo.model_copy(update=parts)




def test_one_more_mechanic_leaves_all_other_luck(demo: Scenario) -> None:
    """F110, F111: a change in one place changes no draw elsewhere: same actual hours, weather, squawks."""
    trades = {**demo.trades, "FLM": demo.trades["FLM"].model_copy(update={"people": {"day": 3}})}
    positions = tuple(p.model_copy(update={"docks": p.docks + 1}) if p.id == "IA" else p for p in demo.positions)
    other = changed(demo, trades=trades, positions=positions)
    one, two = (run_once(Sheet(s), demo.seed, 3) for s in (demo, other))
    assert one.good_days == two.good_days
    assert one.delivered != two.delivered
    counts = [{(f.serial, f.number): f.squawks for f in r.flights} for r in (one, two)]
    both = counts[0].keys() & counts[1].keys() - {(n, k) for n in one.standing for k in range(9)}
    assert len(both) > 100
    assert all(counts[0][key] == counts[1][key] for key in both)
