"""Paper arithmetic against sums by hand."""

from math import exp
from pathlib import Path

import pytest

from linesim.line.sheet import Sheet
from linesim.measures.paper import critical_path_work_days, flights_per_aircraft, hours_by_trade, trade_loads
from linesim.measures.paper_quality import gates_on_paper
from linesim.scenario.plant import Flights
from linesim.scenario.reading import read_scenario
from linesim.scenario.scenario import Scenario

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


def test_gates_on_paper_by_hand() -> None:
    """Rate 2 per 100 h. A plants 50 h x 2 % = 1 defect, found in position with 0.6; B plants 0.5 (25 h), and its gate
    at the end of the line, chance 0.5, sees the 0.4 left of A (price 1.6) and its own (price 1). Repairs take 2 h."""
    scenario = Scenario.model_validate({
        "name": "gates", "start": "2027-01-04", "end": "2027-03-31", "orders": [{"serial": "S1"}],
        "shifts": {"day": {"work": ["06:00-14:00"]}}, "launches": {"takt_work_days": 10},
        "trades": {"ASM": {"people": 2}, "INS": {"people": 1}},
        "quality": {"defects_per_100_hours": 2, "repair_hours": 2, "found_in_position": 0.6, "found_end_of_line": 0.5,
                    "where_found": {"own_position": 1, "later_position": 1.6, "flight_line": 4}},
        "positions": [
            {"id": "A", "packages": [{"id": "a", "trade": "ASM", "hours": 50},
                                     {"id": "a9", "kind": "buy-off", "hours": 1, "gate": "position"}]},
            {"id": "B", "packages": [{"id": "b", "trade": "ASM", "hours": 25},
                                     {"id": "b9", "kind": "buy-off", "hours": 2, "gate": "end of line"}]}]})
    first, last = gates_on_paper(Sheet(scenario))
    assert (first.found, first.repair_hours) == (pytest.approx(0.6), {"ASM": pytest.approx(1.2)})
    assert first.done_again == pytest.approx(1 - exp(-0.6))
    assert (last.found, last.repair_hours) == (pytest.approx(0.45), {"ASM": pytest.approx(0.2 * 3.2 + 0.25 * 2)})
    assert last.on_the_flight_line == pytest.approx(0.45 * 8)
    hours = hours_by_trade(Sheet(scenario))
    assert hours["ASM"] == pytest.approx(75 + 1.2 + 1.14)
    assert hours["INS"] == pytest.approx(3 + (1 - exp(-0.6)) + 2 * (1 - exp(-0.45)))
