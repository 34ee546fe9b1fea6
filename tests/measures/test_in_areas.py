"""Aircraft by area: the mean of a window is that of the answer, weeks are whole, halves are halves."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import linesim
from linesim.line.sheet import Sheet
from linesim.measures.in_areas import areas_in_order, by_week, in_areas, weeks_of
from linesim.measures.run import window_instants
from linesim.show.folder import tables_of_runs

SCENARIOS = Path(__file__).parents[2] / "scenarios"


def test_the_window_equals_the_numbers_of_the_runs() -> None:
    """The same mean, from the kept stays instead of the records."""
    result = linesim.run(linesim.read(SCENARIOS / "birchwater.yaml"), runs=2)
    sheet = Sheet(result.plant)
    tables = tables_of_runs(sheet, result.runs)
    found = in_areas(sheet, tables["visits"], [window_instants(sheet)])
    for n, run in enumerate(result.runs):
        assert dict(zip(areas_in_order(sheet), found[n, :, 0], strict=True)) == pytest.approx(run.in_process)
    weeks, each = by_week(sheet, tables)
    assert each.shape == (2, 7, len(weeks))
    spans = [(sheet.calendar.instant(weeks[0]), sheet.calendar.instant(weeks[-1]))]
    whole = in_areas(sheet, tables["visits"], spans)[:, :, 0]
    lengths = np.diff([sheet.calendar.instant(week) for week in weeks])
    assert (each[:, :, :-1] * lengths).sum(axis=2) / lengths.sum() == pytest.approx(whole)


def test_by_hand() -> None:
    """Half a day of a whole aircraft and a day of a half in a day: 0.5 and 0.5."""
    sheet = Sheet(linesim.read(SCENARIOS / "tiny.yaml"))
    visits = pd.DataFrame([(0, "whole", "A", 0.0, 720.0), (0, "wing", "B", 0.0, 2000.0),
                           (1, "whole", "B", 1440.0, 1500.0)], columns=["run", "half", "place", "arrived", "left"])
    assert in_areas(sheet, visits, [(0.0, 1440.0)])[:, :, 0].tolist() == [[0.5, 0.5], [0.0, 0.0]]


def test_weeks_are_whole() -> None:
    """From the first Monday on; the last ends with the scenario or before."""
    weeks = weeks_of(Sheet(linesim.read(SCENARIOS / "textbook-line.yaml")))
    assert weeks[0] == date(2027, 1, 4)
    assert weeks[-1] == date(2027, 2, 22)
    assert {week.weekday() for week in weeks} == {0}
