"""Tool control: a tool missing at the closing check locks aircraft until it is found; a torque tool found out at the
start check recalls the work of the shift before.

A locked aircraft may not be worked on, moved or flown; holds run on. Re-torque is done where the aircraft now stands;
until then it does not leave, and no flight begins.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import timedelta
from typing import TYPE_CHECKING, Final

import numpy as np

from .instant import TOOLS
from .job import Job
from .records import State
from .sheet import HOUR

if TYPE_CHECKING:
    from .aircraft import Unit
    from .floor import Floor
    from .traffic import Place

LAST: Final = 10_000_000  # re-torque stands after everything else in file order
Hits = dict[tuple[str, int], list[str]]  # shift and shift date -> positions or trades that are hit


class ToolCrib:
    """The draws of the checks, and what they do to aircraft."""

    def __init__(self, floor: Floor) -> None:
        self.floor, rules = floor, floor.scenario.tool_control
        self.missing = rules.missing_tool if rules else None
        self.recall = rules.torque_recall if rules else None
        self._missing_at: Hits = {} if self.missing is None else self._hits(
            "missing tool", [place.id for place in floor.sheet.places], self.missing.chance)
        self._out_at: Hits = {} if self.recall is None else self._hits(
            "torque", list(self.recall.trades or floor.scenario.trades), self.recall.chance)
        self._left: dict[Place, tuple[Unit, float]] = {}  # the last aircraft that left a place, and when
        self._torqued: dict[str, list[tuple[float, Unit]]] = defaultdict(list)  # trade -> closed when, and on what
        self._recalls = 0
        self._later: dict[Unit, list[tuple[str, float]]] = defaultdict(list)  # re-torque of aircraft between two places

    def _hits(self, purpose: str, names: list[str], chance: float) -> Hits:
        """Shift dates of the run on which the draw of a position or trade hits."""
        found: Hits = defaultdict(list)
        start, last = self.floor.scenario.start, self.floor.calendar.last_day
        for shift in self.floor.calendar.shifts:
            drawn = self.floor.luck.dates([f"{purpose}/{name}/{shift}" for name in names], start,
                                          (last - start).days + 1)
            for n, day in np.argwhere(drawn < chance).tolist():
                found[shift, day].append(names[n])
        return found

    # missing tools -----------------------------------------------------------------------------------------------
    def has_left(self, place: Place, unit: Unit) -> None:
        """An aircraft has left a place."""
        if self.missing is not None:
            self._left[place] = (unit, self.floor.env.now)

    def closing_check(self, shift: str, day: int, began: float) -> None:
        """The check at the end of a shift date that began at an instant: one draw for each occupied position."""
        if (shift, day) in self._missing_at:
            self.floor.at(self.floor.env.now, TOOLS, lambda: self._look_for_tools(shift, day, began))

    def _look_for_tools(self, shift: str, day: int, began: float) -> None:
        assert self.missing is not None
        date = self.floor.scenario.start + timedelta(days=day)
        for place in self.floor.traffic.places:
            if place.docked and place.plan.id in self._missing_at[shift, day]:
                search = self.missing.search_hours.value(
                    self.floor.luck.uniform("search", place.plan.id, date, shift)) * HOUR
                ends = self.floor.sheet.search_clock(place.plan).finish(self.floor.env.now, search)
                for unit in list(self._near(place, began)):
                    self.floor.lock(unit, ends)

    def _near(self, place: Place, began: float) -> Iterator[Unit]:
        """Aircraft in the position, and the last one that left it during the shift, where it now is."""
        yield from place.docked
        unit, left = self._left.get(place, (None, -1.0))
        if unit is not None and left >= began:
            unit = self.floor.as_it_stands(unit)
            if unit in self.floor.units and unit not in place.docked:
                yield unit

    # torque tools ------------------------------------------------------------------------------------------------
    def has_closed(self, job: Job) -> None:
        """A package is closed; torque-marked work is remembered."""
        if job.plan is not None and job.plan.torque:
            self._torqued[job.plan.trade].append((self.floor.env.now, job.unit))

    def start_check(self, trade: str, shift: str, day: int, since: float) -> None:
        """The check at the start of a shift date; `since`: start of the trade's shift before."""
        if self.recall is not None:
            closed, self._torqued[trade] = self._torqued[trade], []
            units = dict.fromkeys(self.floor.as_it_stands(unit) for t, unit in closed if t >= since)
            if trade in self._out_at.get((shift, day), ()):
                date = self.floor.scenario.start + timedelta(days=day)
                minutes = self.recall.hours.value(self.floor.luck.uniform("re-torque", trade, date, shift)) * HOUR
                self.floor.at(self.floor.env.now, TOOLS, lambda: self._call_back(units, trade, minutes))

    def _call_back(self, units: Iterable[Unit], trade: str, minutes: float) -> None:
        for unit in units:
            if unit in self.floor.units:
                unit.recalled += 1
                if self.floor.traffic.is_between(unit):
                    self._later[unit].append((trade, minutes))
                else:
                    self._open(unit, trade, minutes)

    def goes_on_as(self, half: Unit, whole: Unit) -> None:
        """A half becomes an aircraft, on which its re-torque is opened."""
        if half in self._later:
            self._later[whole] += self._later.pop(half)

    def has_entered(self, unit: Unit) -> None:
        """An aircraft stands in a dock: re-torque that was called for on its way there is opened."""
        for trade, minutes in self._later.pop(unit, ()):
            self._open(unit, trade, minutes)

    def _open(self, unit: Unit, trade: str, minutes: float) -> None:
        self._recalls += 1
        scope = self.floor.side_scope(unit)
        job = Job(scope, f"re-torque {self._recalls}", trade, minutes, (LAST, self._recalls))
        job.work_state = State.REWORK
        if unit.scope is not None:
            _hold_last_buy_off(unit.scope.todo, job, self.floor)
        scope.begin([job]).callbacks.append(lambda _: self._done(unit))

    def _done(self, unit: Unit) -> None:
        unit.recalled -= 1
        if unit.ready_at is not None and not unit.recalled:
            unit.ready_at = self.floor.env.now
        self.floor.may_go_on()


def _hold_last_buy_off(todo: Iterable[Job], job: Job, floor: Floor) -> None:
    """The position's last buy-off waits for the job, unless it is under way."""
    last = next((one for one in reversed(list(todo)) if one.plan is not None and one.plan.kind == "buy-off"), None)
    if last is not None and last.duty is None:
        if not last.open_before:
            floor.pool(last.trade).lay_aside(last)
            floor.engineering.take_back(last)
        last.open_before += 1
        job.successors.append(last)
