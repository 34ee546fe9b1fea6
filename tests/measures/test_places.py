"""F109: each place has its own ledger over the run, where its empty time shows too: docks, booth, spots, parking."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from linesim.line.floor import run_once
from linesim.line.records import State
from linesim.line.sheet import HOUR, Sheet
from linesim.measures.ledger import STARVED, Ledger
from linesim.scenario.reading import parse_scenario, read_scenario

SCENARIOS = Path(__file__).parents[2] / "scenarios"

PARKED = """
name: Parking before the second place
start: 2027-01-04
end: 2027-01-06
launches: {saturated: true}
orders: unlimited
positions:
  - {id: A, packages: [{id: a, hours: 2}]}
  - {id: B, parking: 1, packages: [{id: b, hours: 5}]}
"""


@pytest.mark.parametrize("name", ["tiny", "textbook-line", "textbook-feedback", "birchwater", "birchwater-pulse"])
def test_the_ledger_of_a_place_sums_to_the_run(name: str) -> None:
    """Every hour of every dock and of every parking spot has one reason, or is empty."""
    scenario = read_scenario(SCENARIOS / f"{name}.yaml")
    if name.startswith("textbook"):
        scenario = scenario.model_copy(update={"end": min(scenario.end, date(scenario.start.year, 6, 30))})
    sheet = Sheet(scenario)
    records = run_once(sheet, 1, 0)
    ledger = Ledger(sheet, records)
    for parking, spots in ((False, [p.docks for p in sheet.places]), (True, [p.parking for p in sheet.places])):
        hours = ledger.of_places(parking=parking)
        assert hours.sum(axis=1) == pytest.approx(np.array(spots) * records.ended / HOUR, abs=1e-6)
        assert hours.min() >= -1e-9
        stood = np.zeros(len(sheet.places))
        for stay in (*records.visits, *records.unfinished):
            if stay.parked == parking:
                stood[stay.place] += (stay.left - stay.arrived) / HOUR
        if parking:
            assert hours[:, State.BLOCKED] == pytest.approx(stood, abs=1e-6)
            assert hours[:, State.BLOCKED].sum() == pytest.approx(hours.sum() - hours[:, STARVED].sum(), abs=1e-6)


def test_starved_is_empty_while_open_for_work() -> None:
    """A place without people is open day and night: the second waits two hours for its first aircraft, then never; the
    parked one waits from the instant it leaves the first place to the instant the second is free."""
    sheet = Sheet(parse_scenario(PARKED))
    records = run_once(sheet, 1, 0)
    docks, parking = (Ledger(sheet, records).of_places(parking=parked) for parked in (False, True))
    assert docks[1, STARVED] == pytest.approx(2.0)
    assert docks[1, State.WORK] == pytest.approx(70.0)
    # launched at 0, 2, 4 (which ends at 6 and is blocked to 7), 7 (ends at 9, blocked to 12), 12 (14 to 17), ...
    assert docks[0, State.WORK] == pytest.approx(6 + 2 * 13)
    assert docks[0, State.BLOCKED] == pytest.approx(1 + 3 * 13)
    assert docks[0, STARVED] == 0
    # parked 4 to 7, then always: from 7 to the end at 72
    assert parking[1, State.BLOCKED] == pytest.approx(3 + 65)
    assert parking[1, STARVED] == pytest.approx(4.0)


def test_off_shift_and_starved_are_told_apart() -> None:
    """Empty docks are starved in the plant's working hours (8 a day here: 06:00 to 14:30 less the meal), else off
    shift; three aircraft take 4 and 3 working hours in the two places."""
    sheet = Sheet(read_scenario(SCENARIOS / "tiny.yaml"))
    records = run_once(sheet, 1, 0)
    hours = Ledger(sheet, records).of_places()
    work_days = sum(sheet.calendar.is_work_day(sheet.scenario.start + timedelta(days=n))
                    for n in range(round(records.ended / 1440)))
    for place, worked in ((0, 4.0), (1, 3.0)):
        assert hours[place, STARVED] + hours[place, State.WORK] <= 8.0 * work_days + 1e-9
        assert hours[place, State.WORK] == pytest.approx(3 * worked)
    assert hours[0, STARVED] == pytest.approx(8.0 * work_days - 3 * 4.0)  # nothing ever waits for the first place
