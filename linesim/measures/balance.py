"""Line of balance: how many promised aircraft are past each control point, against how many would have to be.

An aircraft has to be past a point by its promised date less the time that aircraft usually take from there to delivery
(the median of all runs: the set-back of the point). Days are local, counted from the start. Only serials with a
promised date are counted, on both sides. This is the line of balance of the open literature, with set-backs from the
runs instead of a chart of planned times.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from ..line.plans import PlacePlan
from ..line.sheet import Sheet
from .estimates import percentile

NEVER = float("inf")
AT_START = -1.0


@dataclass(frozen=True, slots=True)
class ControlPoint:
    """A point on the way of the aircraft: passed when it leaves `place` (None: an event of its own)."""

    name: str
    place: int | None


def control_points(sheet: Sheet) -> list[ControlPoint]:
    """Launch, mate, roll-out, paint out, first flight, delivery: those that the plant has, in order of flow."""
    whole = [place for place in sheet.places if not place.half]
    mate = next((place.next for place in sheet.places if place.half and place.next is not None
                 and not sheet.places[place.next].half), None)
    found = [ControlPoint("mate", mate)] if mate is not None else []
    for name, places in (("roll-out", [place for place in whole if _ends_the_line(place)]),
                         ("paint out", [place for place in whole if _paints(place)])):
        if places:
            found.append(ControlPoint(name, max(places, key=lambda place: (place.rank, place.index)).index))
    flies = [place for place in whole if place.position.flights is not None]
    if flies:
        found.append(ControlPoint("first flight", None))
    first_flight = flies[0].rank if flies else 0
    found.sort(key=lambda point: first_flight if point.place is None else sheet.places[point.place].rank)
    return [ControlPoint("launch", None), *found, ControlPoint("delivery", None)]


def _ends_the_line(place: PlacePlan) -> bool:
    return any(job.package.gate == "end of line" for job in place.jobs)


def _paints(place: PlacePlan) -> bool:
    return (place.repaint is not None or any(job.package.stripe for job in place.jobs)
            or "paint" in (place.position.area or "").lower())


def passings(sheet: Sheet, tables: Mapping[str, pd.DataFrame]) -> pd.DataFrame:
    """Day on which each promised serial passed each control point: run, serial, point, day.

    `tables` are those of a run folder (visits, launches, flights, deliveries, runs). AT_START: before the start; NEVER:
    not in this run.
    """
    points = control_points(sheet)
    promised = [order.serial for order in sheet.scenario.orders or () if order.promised]
    runs = tables["runs"]["run"].tolist()
    every = pd.MultiIndex.from_product([runs, promised], names=["run", "serial"])
    at_start = _passed_at_start(sheet, points)
    parts = []
    for point in points:
        days = _days(sheet, point, tables).reindex(every).fillna(NEVER)
        before = [serial for serial, name in at_start if name == point.name]
        days[days.index.get_level_values("serial").isin(before)] = AT_START
        parts.append(days.rename("day").reset_index().assign(point=point.name))
    return pd.concat(parts, ignore_index=True)


def _days(sheet: Sheet, point: ControlPoint, tables: Mapping[str, pd.DataFrame]) -> pd.Series:
    """Day by run and serial; the first time, where there are several."""
    if point.name == "delivery":
        rows = tables["deliveries"]
        days = (rows["delivered"].dt.normalize() - pd.Timestamp(sheet.scenario.start)).dt.days.astype(float)
    else:
        if point.name == "launch":
            rows, at = tables["launches"], "launched"
        elif point.place is None:
            rows, at = tables["flights"].loc[tables["flights"]["flight"] == 1], "end"
        else:
            visits = tables["visits"]
            place = sheet.places[point.place].id
            ended = visits["left"] < sheet.calendar.run_end  # the end of the run cuts the others
            rows, at = visits.loc[(visits["place"] == place) & ~visits["parked"].astype(bool) & ended], "left"
        midnights = np.asarray(sheet.calendar.midnights)
        days = pd.Series(np.searchsorted(midnights, rows[at].to_numpy(), side="right") - 1.0, index=rows.index)
    index = [rows["run"].to_numpy(), rows["serial"].astype(str).to_numpy()]
    return days.groupby(index).min().rename_axis(["run", "serial"])


def _passed_at_start(sheet: Sheet, points: Sequence[ControlPoint]) -> set[tuple[str, str]]:
    ranks = {place.id: place.rank for place in sheet.places}
    found = set()
    for standing in sheet.scenario.on_the_line:
        here = min(ranks[name] for name in standing.at if name in ranks)
        for point in points:
            passed = (point.name == "launch" or (point.name == "first flight" and standing.flights_flown > 0)
                      or (point.place is not None and sheet.places[point.place].rank < here))
            if passed:
                found.add((standing.serial, point.name))
    flies = [place.rank for place in sheet.places if place.position.flights is not None]
    if flies:
        found |= {(one.serial, "first flight") for one in sheet.scenario.on_the_line
                  if min(ranks[name] for name in one.at) > flies[0]}
    return found


def set_backs(passed: pd.DataFrame) -> dict[str, float]:
    """Days from each point to delivery, by the `passings` of all runs."""
    gathered = SetBacks()
    gathered.add(passed)
    return gathered.found()


class SetBacks:
    """Days from each point to delivery: median over all runs of the serials that were launched and delivered in every
    run. Those that the end of a run cuts would leave only the fast ones, so they count in no run. Without any serial
    only delivery itself is known. Of many runs the `passings` are added part by part."""

    def __init__(self) -> None:
        self._points: list[str] = []
        self._cut: set[object] = set()
        self._days: dict[object, list[np.ndarray]] = {}  # whole days, so the short form of a number is exact

    def add(self, passed: pd.DataFrame) -> None:
        """The passings of some more runs."""
        table = passed.pivot(index=["run", "serial"], columns="point", values="day")
        self._points = [str(point) for point in table.columns]
        for serial, days in table.groupby(level="serial"):
            if serial not in self._cut and ((days["launch"] >= 0) & (days["delivery"] < NEVER)).all():
                to_delivery = days["delivery"].to_numpy()[:, None] - days.to_numpy()
                self._days.setdefault(serial, []).append(to_delivery.astype(np.float32))
            else:
                self._cut.add(serial)
                self._days.pop(serial, None)

    def found(self) -> dict[str, float]:
        """The set-back of each point."""
        if not self._days:
            return {"delivery": 0.0}
        seen = np.concatenate([some for of_serial in self._days.values() for some in of_serial])
        return {point: percentile(seen[:, n], 0.5) for n, point in enumerate(self._points)}


def past(passed: pd.DataFrame, point: str, day: float) -> list[int]:
    """Aircraft past a point by the end of a day, of each run."""
    here = passed[passed["point"] == point]
    counts = (here["day"] <= day).groupby(here["run"]).sum()
    return [int(count) for count in counts]


def needed(sheet: Sheet, set_back: float, day: float) -> int:
    """Aircraft that have to be past a point by the end of a day, if every promise is to be kept."""
    start: date = sheet.scenario.start
    return sum((order.promised - start).days - set_back <= day for order in sheet.scenario.orders or ()
               if order.promised)
