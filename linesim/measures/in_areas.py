"""Aircraft standing in each area of the plant, week by week: the mean number over the hours of a week.

Docks and parking count; a half counts a half, as in the mean number in process of a window.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta

import numpy as np
import pandas as pd

from ..line.sheet import Sheet
from .columns import Numbers
from .run import area_of


def areas_in_order(sheet: Sheet) -> list[str]:
    """The areas in order of flow; a place without an area stands for itself."""
    return list(dict.fromkeys(area_of(sheet, n) for n in range(len(sheet.places))))


def weeks_of(sheet: Sheet) -> list[date]:
    """Mondays of the whole weeks of the scenario; days before the first Monday and after the last Sunday count
    nowhere."""
    first = sheet.scenario.start + timedelta(days=-sheet.scenario.start.weekday() % 7)
    count = (sheet.scenario.end + timedelta(days=1) - first).days // 7
    return [first + timedelta(days=7 * n) for n in range(count)]


def in_areas(sheet: Sheet, visits: pd.DataFrame, spans: list[tuple[float, float]]) -> Numbers:
    """Mean number of aircraft, shape (runs, areas, spans); runs in order of number, `spans` in minutes since the start.

    `visits` is the table of a run folder.
    """
    areas = areas_in_order(sheet)
    of_place = {place.id: areas.index(area_of(sheet, place.index)) for place in sheet.places}
    area = visits["place"].astype(str).map(of_place).to_numpy()
    runs, run = np.unique(visits["run"].to_numpy(), return_inverse=True)
    weight = np.where(visits["half"].astype(str) == "whole", 1.0, 0.5)
    arrived, left = visits["arrived"].to_numpy(), visits["left"].to_numpy()
    group = run * len(areas) + area
    found = np.zeros((len(runs), len(areas), len(spans)))
    for n, (begin, end) in enumerate(spans):
        here = np.flatnonzero((arrived < end) & (left > begin))
        stood = (np.minimum(left[here], end) - np.maximum(arrived[here], begin)) * weight[here]
        mean = np.bincount(group[here], stood, len(runs) * len(areas)) / (end - begin)
        found[:, :, n] = mean.reshape(len(runs), len(areas))
    return found


def by_week(sheet: Sheet, tables: Mapping[str, pd.DataFrame]) -> tuple[list[date], Numbers]:
    """The weeks, and the mean number of aircraft, shape (runs, areas, weeks)."""
    weeks = weeks_of(sheet)
    spans = [(sheet.calendar.instant(day), sheet.calendar.instant(day + timedelta(days=7))) for day in weeks]
    return weeks, in_areas(sheet, tables["visits"], spans)
