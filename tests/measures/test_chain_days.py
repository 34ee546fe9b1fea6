"""Chains of many aircraft at once: the same figures as stay by stay, and all of the flow."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import linesim
from linesim.line.floor import run_once
from linesim.line.records import State
from linesim.line.sheet import HOUR, Sheet
from linesim.measures.chain import Chains
from linesim.measures.chain_days import chain_days
from linesim.measures.ledger import RANKS, Ledger
from linesim.measures.run import numbers_of, window_instants
from linesim.questions.why_late import what_set_the_dates

SCENARIOS = Path(__file__).parents[2] / "scenarios"


@pytest.mark.parametrize("name", ["birchwater", "birchwater-pulse"])
def test_sums_equal_the_single_stays_and_the_flow(name: str) -> None:
    """Place by place and reason by reason; work days and outside hours together are launch to delivery."""
    sheet = Sheet(linesim.read(SCENARIOS / f"{name}.yaml"))
    records = run_once(sheet, 20270104, 0)
    begin, end = window_instants(sheet)
    ledger = Ledger(sheet, records)
    serials = [n for n, at in records.delivered.items() if begin <= at < end and n not in records.standing]
    found = chain_days(ledger, serials)
    days, outside = np.zeros((2, len(sheet.places), RANKS))
    chains = Chains(ledger)
    for stay in (stay for serial in serials for stay in chains.that_set_the_date(serial)):
        for state, value in stay.work_days.items():
            days[stay.place, state] += value
        for state, value in stay.outside_hours.items():
            outside[stay.place, state] += value
    assert len(serials) > 10
    assert found[0] == pytest.approx(days, abs=1e-6)
    assert found[1] == pytest.approx(outside, abs=1e-6)
    launched = {launch.serial: launch.made for launch in records.launches}
    flow = sum(records.delivered[serial] - launched[serial] for serial in serials) / HOUR
    assert found[0].sum() * sheet.calendar.work_day / HOUR + found[1].sum() == pytest.approx(flow, rel=1e-9)
    kept = numbers_of(sheet, records)
    assert kept.counted == len(serials)
    assert np.array_equal(kept.chain, found)


def test_nobody_delivered() -> None:
    """No aircraft, no days."""
    sheet = Sheet(linesim.read(SCENARIOS / "tiny.yaml"))
    assert not chain_days(Ledger(sheet, run_once(sheet, 1, 0)), []).any()


def test_the_answer_is_per_aircraft_of_all_runs() -> None:
    """By area and reason: the sums of all runs over their aircraft; areas are the sums of their places."""
    sheet = Sheet(linesim.read(SCENARIOS / "birchwater.yaml"))
    runs = [numbers_of(sheet, run_once(sheet, 3, n)) for n in (0, 1)]
    found = what_set_the_dates(sheet, runs)
    assert found is not None
    aircraft = sum(run.counted for run in runs)
    assert found["aircraft"] == aircraft
    for which, name in enumerate(("work days", "hours outside the reference shift")):
        by_area = found[f"{name} by area and reason"]
        total = sum(run.chain[which].sum() for run in runs) / aircraft
        assert sum(sum(row.values()) for row in by_area.values()) == pytest.approx(total, abs=0.01)
        line = sum(run.chain[which, n, State.WORK] for run in runs for n, place in enumerate(sheet.places)
                   if place.position.area == "Line") / aircraft
        assert by_area["Line"]["hands-on work"] == pytest.approx(line, abs=1e-4)
