"""Paper arithmetic against sums by hand."""

from pathlib import Path

import pytest

from linesim.line.sheet import Sheet
from linesim.measures.paper import critical_path_work_days, flights_per_aircraft, trade_loads
from linesim.scenario.plant import Flights
from linesim.scenario.reading import read_scenario

SCENARIOS = Path(__file__).parents[2] / "scenarios"


def test_loads_of_the_tiny_plant() -> None:
    """8 + 6 hours of work against 3 people of 8 hours each work day; 8 h by 2 people is half a work day."""
    sheet = Sheet(read_scenario(SCENARIOS / "tiny.yaml"))
    load, = trade_loads(sheet, 1)
    assert (load.hours_per_aircraft, load.hours_per_takt, load.share) == (14, 24, 14 / 24)
    assert [critical_path_work_days(sheet, place) for place in sheet.places] == [0.5, 0.375]


def test_flights_of_a_squawk_process() -> None:
    """Two flights at least; then while the last one has a squawk that needs a re-flight: Poisson 1, all of them."""
    flights = Flights.model_validate({
        "pilots": "FTP", "pilot_hours": 2, "flight_hours": 1, "min_flights": 2,
        "squawks": {"mean_by_flight": [1], "needs_reflight_share": 1, "fix_hours": 1, "trades": {"A": 1}}})
    again = 1 - 1 / 2.718281828459045
    assert sum(flights_per_aircraft(flights)) == pytest.approx(2 + again / (1 - again), abs=1e-6)


def test_on_paper_nothing_looks_wrong_in_the_demo() -> None:
    """The demo's story: at takt 4.5 every trade is loaded under 90 %, the flight-line mechanics most: 86 % of those
    present when 3 % are absent, 6 % on leave and 1.5 % in training (figure of the rough model the data were tuned on).
    """
    sheet = Sheet(read_scenario(SCENARIOS / "birchwater.yaml"))
    loads = trade_loads(sheet, 4.5)
    assert loads[0].name == "FLM"
    assert loads[0].share / (1 - 0.03 - 0.06 - 0.015) == pytest.approx(0.86, abs=0.01)
