"""Overtime: decided at the first shift of each week for the whole week; longer days, or a Saturday.

The caps are hard: of a person's hours in a week, and nobody is asked twice in a day. Tired people do less in an hour;
after so many weeks in a row less still, until a week without.
"""

from __future__ import annotations

from datetime import timedelta
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from ..scenario.clock import NEVER
from ..scenario.people import Overtime
from ..scenario.plan import planned_moments
from .records import Extra

if TYPE_CHECKING:
    from .duty import Duty
    from .floor import Floor
    from .people import Pool

NORMAL_WEEK: Final = 40.0  # hours up to which nobody does less


def effect_of_hours(table: dict[str, float], weekly_hours: float) -> float:
    """Work per hour by scheduled weekly hours: straight between the points, 1 up to 40, the last value beyond."""
    points = [(NORMAL_WEEK, 1.0), *sorted((float(hours), effect) for hours, effect in table.items()
                                          if float(hours) > NORMAL_WEEK)]
    for (a, before), (b, after) in pairwise(points):
        if weekly_hours < b:
            return before + (after - before) * max(0.0, weekly_hours - a) / (b - a)
    return points[-1][1]


def effect_in_week(rules: Overtime, weekly_hours: float, weeks_in_a_row: int) -> float:
    """Effect in the n-th overtime week in a row (1 the first)."""
    tired = rules.fatigue_after_weeks is not None and weeks_in_a_row > rules.fatigue_after_weeks
    return max(0.0, effect_of_hours(rules.effect_by_weekly_hours, weekly_hours)
               - (rules.extra_loss_after if tired else 0.0))


class OvertimeDesk:
    """Which weeks are worked longer, by whom, and at what price."""

    def __init__(self, floor: Floor, rules: Overtime) -> None:
        assert floor.sheet.extra is not None
        self.floor, self.rules, self.hours = floor, rules, floor.sheet.extra
        self.weeks: dict[int, int] = {}  # week -> how many in a row with it
        self._in_a_row = 0
        self._gives_hours = rules.when == "Saturday" or any(
            self.hours.minutes(shift) > 0 for shift in floor.calendar.shifts)  # a small cap rounds down to none
        self._effects: dict[tuple[str, int], float] = {}
        self._moments: list[float] = []
        launches = floor.scenario.launches
        if rules.trigger_launches_behind_work_days is not None and launches.takt_work_days is not None:
            first = floor.calendar.of_moment(launches.first) if launches.first else None
            for moment in planned_moments(floor.calendar, launches.takt_work_days, launches.steps, first):
                if moment >= floor.calendar.end:
                    break
                self._moments.append(moment)

    def decide(self, week: int) -> None:
        """At the first shift of a week."""
        self._in_a_row = self._in_a_row + 1 if self._gives_hours and self._is_called_for() else 0
        if self._in_a_row:
            self.weeks[week] = self._in_a_row
        for trade in self.rules.trades:
            self.floor.pool(trade).read_roster(overtime=bool(self._in_a_row))

    def _is_called_for(self) -> bool:
        late, behind = self.rules.trigger_work_days_late, self.rules.trigger_launches_behind_work_days
        return (late is not None and self._work_days_late() >= late - 1e-9) or (
            behind is not None and self._work_days_behind() >= behind - 1e-9)

    def _work_days_late(self) -> float:
        """Work days since the end of the earliest promise of a launched aircraft that is not delivered."""
        promised = [unit.promised for unit in self.floor.units if unit.promised is not None and not unit.stock]
        if not promised:
            return -NEVER
        calendar = self.floor.calendar
        first, start = min(promised) + timedelta(days=1), calendar.scenario.start
        before = sum(calendar.is_work_day(first + timedelta(days=n), calendar.shifts[calendar.reference_shift])
                     for n in range((start - first).days))  # of a promise that lies before the start
        clock = calendar.reference
        passed = clock.reading(self.floor.env.now) - clock.reading(max(0.0, calendar.instant(first)))
        return before + passed / calendar.work_day

    def _work_days_behind(self) -> float:
        """Work days since the planned moment of the first launch of the plan that is not made."""
        made, owed = len(self.floor.records.launches), self.floor.desk.owed
        if self.floor.pulse is None:
            planned = owed[0].planned if owed else NEVER
        else:  # the declared plan: a late pulse makes later ones slip
            planned = self._moments[made] if made < len(self._moments) and self.floor.desk.has_more() else NEVER
        clock = self.floor.calendar.reference
        return (clock.reading(self.floor.env.now) - clock.reading(planned)) / self.floor.calendar.work_day

    # one shift date ----------------------------------------------------------------------------------------------
    def begin(self, duty: Duty, week: int) -> None:
        """A shift date of an overtime week: its clock is the longer one, and its people are more tired."""
        duty.read_clock(overtime=True)
        if not self.rules.extra_hours_only:
            duty.effectiveness *= self._effect(duty.shift, week)

    def _effect(self, shift: str, week: int) -> float:
        if (shift, week) not in self._effects:
            hours = self.hours.scheduled_hours(shift, week)
            self._effects[shift, week] = effect_in_week(self.rules, hours, self.weeks[week])
        return self._effects[shift, week]

    def is_longer(self, duty: Duty) -> bool:
        """Whether its normal shift dates are worked longer."""
        return self.hours.minutes(duty.shift) > 0

    def go_on(self, pool: Pool, duty: Duty, day: int, week: int) -> None:
        """The end of the normal shift: those who work longer stay."""
        stay = duty.present if self.rules.people is None else min(duty.present, self.rules.people)
        extra = self.hours.minutes(duty.shift)
        self.floor.records.overtime.append(Extra(pool.trade, duty.shift, day, stay, extra, extra, 0.0))
        if self.rules.extra_hours_only:
            duty.effectiveness *= self._effect(duty.shift, week)
        pool.on_duty(duty, stay, day)
        if self.rules.extra_hours_only:
            pool.renew_pace(duty)

    def saturday(self, pool: Pool, duty: Duty, day: int) -> None:
        """Who was there on the last shift date comes on Saturday too."""
        stay = duty.come(day) if self.rules.people is None else min(duty.come(day), self.rules.people)
        paid = self.hours.saturday(duty.shift)
        self.floor.records.overtime.append(Extra(pool.trade, duty.shift, day, stay, paid.paid, paid.work, paid.checked))
        week = self.hours.week(day)
        self.begin(duty, week)
        if self.rules.extra_hours_only:
            duty.effectiveness *= self._effect(duty.shift, week)
        pool.on_duty(duty, stay, day)
