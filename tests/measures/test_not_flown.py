"""Why was not flown, date by date, worked out by hand for one aircraft on a shift of 06:00-10:00 and 10:30-14:30."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

from linesim.line.floor import run_once
from linesim.line.sheet import Sheet
from linesim.measures.ledger import Ledger
from linesim.measures.not_flown import WHY, counted, flying_days
from linesim.scenario.reading import read_scenario
from linesim.scenario.rules import faults_of
from linesim.scenario.scenario import Scenario

DEMO = Path(__file__).parents[2] / "scenarios" / "birchwater.yaml"


def days(end: str = "2027-01-10", **more: Any) -> dict[str, str]:
    """Reason by day of January."""
    scenario = Scenario.model_validate({
        "name": "sky", "start": "2027-01-04", "end": end, "orders": [{"serial": "S1"}],
        "shifts": {"day": {"work": ["06:00-10:00", "10:30-14:30"]}},
        "trades": {"FTP": {"people": 1}, "FLM": {"people": 1}}, "launches": {"takt_work_days": 1},
        "positions": [{"id": "A", "packages": [{"id": "a", "trade": "FLM", "hours": 2}]}, {"id": "FL", "packages": [
            {"id": "p", "trade": "FLM", "hours": 10}], "flights": {
                "pilots": "FTP", "pilot_hours": 2, "flight_hours": 1, "min_flights": 1, "mechanics": "FLM",
                "preflight_hours": 1}}], **more})
    assert faults_of(scenario) == []
    sheet = Sheet(scenario)
    found = flying_days(Ledger(sheet, run_once(sheet, 1, 0)))
    return {f"{day:%d}": why for day, why in found.items()}


def test_work_on_the_spot_then_a_flight() -> None:
    """Monday 06:00 to 08:00 in A, then 10 hours on the spot to Tuesday 10:30 and the preflight: flown from 11:30."""
    assert days() == {"04": "aircraft not ready", "05": "flown", "06": "no aircraft", "07": "no aircraft",
                      "08": "no aircraft"}


def test_bad_weather_and_no_daylight() -> None:
    bad = {"flyable": [{"date": f"2027-01-0{n}", "flyable": False} for n in (5, 6)]}
    found = days(known=bad)
    assert (found["05"], found["06"], found["07"]) == ("aircraft not ready", "weather", "flown")
    assert days(daylight={"by_month": dict.fromkeys(range(1, 13), "20:00-23:00")})["06"] == "daylight"


def test_no_pilot_and_no_mechanic() -> None:
    nobody = {"present": [{"trade": "FTP", "date": f"2027-01-0{n}", "people": 0} for n in (5, 6)]}
    found = days(known=nobody)
    assert (found["06"], found["07"]) == ("no pilot", "flown")
    away = {"present": [{"trade": "FLM", "date": f"2027-01-0{n}", "people": 0} for n in (5, 6)]}
    found = days(known=away)
    assert (found["05"], found["06"], found["07"]) == ("no mechanic", "no mechanic", "flown")


def test_the_demo_has_a_reason_for_every_work_day() -> None:
    """One reason a date with a pilots' shift; on flown dates there are flights and on no others."""
    sheet = Sheet(read_scenario(DEMO))
    records = run_once(sheet, 3, 1)
    found = flying_days(Ledger(sheet, records))
    flown = {sheet.calendar.date_of(flight.start) for flight in records.flights}
    assert {day for day, why in found.items() if why == "flown"} == flown
    first, last = date(2027, 1, 1), date(2027, 12, 31)
    table = counted(found, first, last)
    assert list(table) == list(WHY)
    assert sum(table.values()) == sum(first <= day <= last for day in found) > 240
    assert table["weather"] > 10
