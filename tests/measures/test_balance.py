"""Line of balance: control points in order of flow, counts by hand, set-backs that make the needed counts."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import linesim
from linesim.line.sheet import Sheet
from linesim.measures.balance import AT_START, NEVER, control_points, needed, passings, past, set_backs
from linesim.show.folder import tables_of_runs

SCENARIOS = Path(__file__).parents[2] / "scenarios"


Demo = tuple[Sheet, dict[str, pd.DataFrame], pd.DataFrame]


@pytest.fixture(scope="module")
def demo() -> Demo:
    """Two runs of the demo."""
    result = linesim.run(linesim.read(SCENARIOS / "birchwater.yaml"), runs=2)
    sheet = Sheet(result.plant)
    tables = tables_of_runs(sheet, result.runs)
    return sheet, tables, passings(sheet, tables)


def test_points_of_the_demo_and_of_a_plant_of_a_few_lines() -> None:
    """Those that a plant has, in order of flow."""
    points = control_points(Sheet(linesim.read(SCENARIOS / "birchwater.yaml")))
    assert [point.name for point in points] == ["launch", "mate", "roll-out", "paint out", "first flight", "delivery"]
    tiny = control_points(Sheet(linesim.read(SCENARIOS / "tiny.yaml")))
    assert [point.name for point in tiny] == ["launch", "delivery"]


def test_no_aircraft_passes_a_point_before_an_earlier_one(demo: Demo) -> None:
    """Rows for every run, promised serial and point; days never fall along the way."""
    sheet, _, passed = demo
    names = [point.name for point in control_points(sheet)]
    table = passed.pivot(index=["run", "serial"], columns="point", values="day")[names].to_numpy()
    assert table.shape == (2 * 80, 6)
    assert (np.diff(np.where(table == NEVER, 1e9, table), axis=1) >= 0).all()


def test_what_stood_on_the_floor_is_past_what_lies_behind_it(demo: Demo) -> None:
    """DN4-0236 stands on the flight line unflown, DN4-0235 has flown twice, DN4-0238 is in the booth."""
    _, _, passed = demo
    day = passed[passed["run"] == 0].set_index(["serial", "point"])["day"]
    assert day["DN4-0236", "paint out"] == AT_START
    assert day["DN4-0236", "first flight"] > 0
    assert day["DN4-0235", "first flight"] == AT_START
    assert day["DN4-0238", "roll-out"] == AT_START
    assert day["DN4-0238", "paint out"] >= 0
    assert day["DN4-0249", "launch"] >= 0


def test_deliveries_past_equal_the_table_of_deliveries(demo: Demo) -> None:
    """Counted another way."""
    sheet, tables, passed = demo
    promised = {order.serial for order in sheet.scenario.orders or () if order.promised}
    for day in (date(2027, 3, 31), date(2027, 12, 31)):
        number = (day - sheet.scenario.start).days
        rows = tables["deliveries"]
        rows = rows[rows["serial"].isin(promised) & (rows["delivered"].dt.date <= day)]
        assert past(passed, "delivery", number) == rows.groupby("run").size().tolist()


def test_needed_by_hand() -> None:
    """Promised on days 3, 4 and 7 after the start of the tiny plant; a set-back moves them forward."""
    sheet = Sheet(linesim.read(SCENARIOS / "tiny.yaml"))
    assert [needed(sheet, 0.0, day) for day in (2, 3, 4, 6, 7)] == [0, 1, 2, 2, 3]
    assert [needed(sheet, 2.0, day) for day in (0, 1, 2, 5)] == [0, 1, 2, 3]


def test_set_back_is_the_median_of_launched_and_delivered() -> None:
    """One that stood on the floor, and one never delivered, do not count: the median of 10, 20 and 90 days is 20."""
    rows = [(0, "A", 0.0, 10.0), (0, "B", 0.0, 20.0), (0, "C", 0.0, 90.0), (0, "D", AT_START, 500.0),
            (0, "E", 0.0, NEVER)]
    passed = pd.DataFrame([(run, serial, point, day) for run, serial, *days in rows
                           for point, day in zip(("launch", "delivery"), days, strict=True)],
                          columns=["run", "serial", "point", "day"])
    assert set_backs(passed) == {"launch": 20.0, "delivery": 0.0}
    assert past(passed, "delivery", 20.0) == [2]


def test_a_serial_that_the_end_cuts_in_one_run_counts_in_none() -> None:
    """Else only its fast runs would be left, and the set-back too short; without any serial none is made up."""
    rows = [(0, "A", 0.0, 30.0), (1, "A", 0.0, 40.0), (0, "B", 5.0, 10.0), (1, "B", 5.0, NEVER)]
    passed = pd.DataFrame([(run, serial, point, day) for run, serial, *days in rows
                           for point, day in zip(("launch", "delivery"), days, strict=True)],
                          columns=["run", "serial", "point", "day"])
    assert set_backs(passed) == {"launch": 30.0, "delivery": 0.0}
    assert set_backs(passed[passed["serial"] == "B"]) == {"delivery": 0.0}
