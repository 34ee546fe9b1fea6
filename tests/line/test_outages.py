"""F78: a place out of service. Weekly service and breakdowns to the minute by hand; climate days by their number.

The day is 06:00-10:00 and 10:30-14:30; the start is Monday 4 January 2027.
"""

from __future__ import annotations

from math import sqrt
from typing import Any

import numpy as np
import pytest
from small_plants import closed, plant, run, work

from linesim.line.luck import Luck
from linesim.line.outages import climate_days
from linesim.line.records import State
from linesim.line.sheet import HOUR, Sheet
from linesim.measures.ledger import Ledger
from linesim.scenario.rules import faults_of
from linesim.scenario.scenario import Scenario


def booth(rules: dict[str, Any] | None, hours: float = 12, **more: Any) -> Scenario:
    """One place, one painter, a step and its cure of 12 hours."""
    return plant([{"id": "PB", "packages": [work("p", "PNT", hours, cure_hours=12)],
                   **({"out_of_service": rules} if rules else {})}], {"PNT": {"people": 1}}, **more)


def test_service_takes_the_first_working_hours_of_the_week() -> None:
    """Three hours on Monday (06:00-09:00): 12 hours of work end on Tuesday at 13:30, not 10:30; five hours of
    service leave 3, 8 and 1 hours of work, to Wednesday 07:00."""
    assert closed(booth({"weekly_hours": 3}))["S1 p cure"] == "06 01:30"
    assert closed(booth({"weekly_hours": 5}))["S1 p cure"] == "06 19:00"
    assert closed(booth(None))["S1 p cure"] == "05 22:00"


def test_service_is_on_the_first_work_day_of_a_week_with_a_holiday() -> None:
    """Monday is closed: service is on Tuesday; eight hours of work end on Wednesday at 09:00."""
    found = closed(booth({"weekly_hours": 3}, 8, calendar={"closed": ["2027-01-04"]}))
    assert found["S1 p"] == "06 09:00"


def test_a_breakdown_puts_work_down_and_lets_the_cure_run() -> None:
    """Up 9 hours, down 6, up 9 ...: out from 09:00 to 15:00 on Monday, 00:00-06:00, 15:00-21:00 on Tuesday, 06:00-12:00
    on Wednesday. Monday gives 3 hours, Tuesday 8; with 12 hours of work the last is from 12:00 on Wednesday. The cure
    (12 hours) runs through the breakdown from Wednesday 21:00 on."""
    found = closed(booth({"hours_up": 9, "hours_down": 6}))
    assert found["S1 p"] == "06 13:00"
    assert found["S1 p cure"] == "07 01:00"


def test_waiting_in_an_outage_is_off_shift() -> None:
    """F106: the place is closed. Nobody is short of people on Monday from 09:00 to 14:30."""
    sheet, records = run(booth({"hours_up": 9, "hours_down": 6}))
    hours = Ledger(sheet, records).of(0)
    assert State.PEOPLE not in hours
    assert hours[State.WORK] == pytest.approx(12)
    assert sum(hours.values()) * HOUR == pytest.approx(records.delivered[0] - 6 * HOUR)


def test_people_of_an_outage_are_free_for_other_places() -> None:
    """Out from 09:00 to 21:00 on Monday, 06:00-18:00 on Tuesday, 03:00-15:00 on Wednesday, to 12:00 on Thursday: three
    hours on Monday, the last two on Thursday from 12:00. The painter works in the other place on Monday from 09:00."""
    both = plant([{"id": "PB", "packages": [work("p", "PNT", 5)],
                   "out_of_service": {"hours_up": 9, "hours_down": 12}},
                  {"id": "OT", "packages": [work("o", "PNT", 2)]}], {"PNT": {"people": 1}},
                 [{"serial": "S1", "promised": "2027-02-01"}, {"serial": "S2", "promised": "2027-02-02"}],
                 on_the_line=[{"serial": "S2", "at": "OT"}], launches={"moments": ["2027-01-04 06:00"]})
    found = closed(both)
    assert found["S2 o"] == "04 11:30"
    assert found["S1 p"] == "07 14:00"


def test_climate_days_are_binomial_and_the_same_for_all_places() -> None:
    """Forty runs, share 0.2: the number out of service against its exact standard error (binomial)."""
    scenario = booth({"climate_share": 0.2}, start="2027-01-01", end="2027-12-31",
                     launches={"moments": ["2027-01-04 06:00"]})
    sheet = Sheet(scenario)
    counts = [len(climate_days(sheet, Luck(7, n), 0.2)) for n in range(40)]
    every = climate_days(sheet, Luck(7, 0), 1.0)
    assert [begin for begin, _ in every[:6]] == [1440 * n for n in (0, 3, 4, 5, 6, 7)]  # Friday 1 January, Monday ...
    days = len(every)
    assert abs(np.mean(counts) - 0.2 * days) / sqrt(0.16 * days / 40) < 4
    assert all(begin == 1440 * (begin // 1440) and end == begin + 1440
               for begin, end in climate_days(sheet, Luck(7, 0), 0.2))


def test_a_climate_day_is_out_for_the_whole_day() -> None:
    """All days out: nothing is ever painted, and the run says where it stands."""
    sheet, records = run(booth({"climate_share": 1.0}))
    assert records.delivered == {}
    assert set(Ledger(sheet, records).of(0)) == {State.OFF_SHIFT}


def test_more_climate_days_hold_those_of_fewer() -> None:
    """F111: the dial changes the value, never the draw."""
    sheet = Sheet(booth({"climate_share": 0.1}))
    few, many = (climate_days(sheet, Luck(1, 0), share) for share in (0.1, 0.4))
    assert set(few) < set(many)


@pytest.mark.parametrize("rules", [{"weekly_hours": 0}, {"climate_share": 0.0}, {}])
def test_without_size_the_run_is_as_before(rules: dict[str, Any]) -> None:
    assert closed(booth(rules)) == closed(booth(None))


def test_a_breakdown_needs_both_lengths() -> None:
    found = faults_of(booth(None).model_copy(update={"positions": Scenario.model_validate(
        {**DECLARED, "positions": [{"id": "PB", "out_of_service": {"hours_up": 5}}]}).positions}))
    assert any("hours_up and hours_down" in message for _, message in found)


DECLARED: dict[str, Any] = {"name": "one", "start": "2027-01-04", "end": "2027-01-31", "orders": "unlimited",
                            "launches": {"saturated": True}}
