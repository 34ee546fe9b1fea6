"""Chains of many aircraft at once: the same figures as stay by stay, and all of the flow."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import linesim
from linesim.line.floor import run_once
from linesim.line.sheet import HOUR, Sheet
from linesim.measures.chain import Chains
from linesim.measures.chain_days import chain_days
from linesim.measures.ledger import RANKS, Ledger
from linesim.measures.run import window_instants

SCENARIOS = Path(__file__).parents[2] / "scenarios"


@pytest.mark.parametrize("name", ["birchwater", "birchwater-pulse"])
def test_sums_equal_the_single_stays_and_the_flow(name: str) -> None:
    """Place by place and reason by reason; work days and outside hours together are launch to delivery."""
    sheet = Sheet(linesim.read(SCENARIOS / f"{name}.yaml"))
    records = run_once(sheet, 20270104, 0)
    begin, end = window_instants(sheet)
    found = chain_days(sheet, records, begin, end)
    serials = [n for n, at in records.delivered.items() if begin <= at < end and n not in records.standing]
    days, outside = np.zeros((len(sheet.places), RANKS)), np.zeros((len(sheet.places), RANKS))
    chains = Chains(Ledger(sheet, records))
    for stay in (stay for serial in serials for stay in chains.that_set_the_date(serial)):
        for state, value in stay.work_days.items():
            days[stay.place, state] += value
        for state, value in stay.outside_hours.items():
            outside[stay.place, state] += value
    assert found.aircraft == len(serials)
    assert found.work_days == pytest.approx(days, abs=1e-6)
    assert found.outside_hours == pytest.approx(outside, abs=1e-6)
    launched = {launch.serial: launch.made for launch in records.launches}
    flow = sum(records.delivered[serial] - launched[serial] for serial in serials) / HOUR
    hours = found.work_days.sum() * sheet.calendar.work_day / HOUR + found.outside_hours.sum()
    assert hours == pytest.approx(flow, rel=1e-9)


def test_nobody_delivered() -> None:
    """No aircraft, no days."""
    sheet = Sheet(linesim.read(SCENARIOS / "tiny.yaml"))
    found = chain_days(sheet, run_once(sheet, 1, 0), 0.0, 1.0)
    assert (found.aircraft, found.work_days.sum()) == (0, 0.0)
