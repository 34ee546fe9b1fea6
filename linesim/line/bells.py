"""What the calendar brings, carried out: people come and go, places open and close, it gets light and dark, aircraft
are locked.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from .instant import CALENDAR
from .overtime import OvertimeDesk
from .timetable import Bell

if TYPE_CHECKING:
    from .floor import Floor


def ring_bells(floor: Floor) -> None:
    """Plan the first bell; each plans the next."""
    Bells(floor).ring()


class Bells:
    """The bells of the timetable."""

    def __init__(self, floor: Floor) -> None:
        self.floor = floor
        rules = floor.scenario.attendance.overtime if floor.scenario.attendance else None
        self.overtime = None if rules is None else OvertimeDesk(floor, rules)
        self._bells: dict[str, Callable[[Bell], object]] = {
            "week": self._week, "on": self._come_on, "off": self._go_off, "late off": self._go_off_late,
            "saturday": self._saturday, "open": self._open, "outage": self._outage, "light": self._light,
            "dusk": self._dusk, "fleet hold": self._fleet_hold, "lock": self._lock,
            "start check": self._start_check,
            "closing check": self._closing_check}
        self._monday = floor.scenario.start.weekday()
        self._shifts = list(floor.calendar.shifts)
        self._longer = frozenset(() if rules is None else rules.trades)
        self._rostered = {shift: [trade for trade in floor.scenario.trades if shift in floor.sheet.rostered(trade)]
                          for shift in self._shifts}
        self._began: dict[str, float] = {}        # start of the latest shift date, by shift
        self._trade_began: dict[str, float] = {}  # and by trade

    def ring(self) -> None:
        """One instant of the calendar at a time, so that the queue stays short."""
        rest = iter(self.floor.sheet.timetable)

        def wait_for(bell: Bell | None) -> None:
            if bell is not None:
                self.floor.at(bell.at, CALENDAR, lambda: ring(bell))

        def ring(bell: Bell | None) -> None:
            now = self.floor.env.now
            while bell is not None and bell.at <= now:
                self._bells[bell.what](bell)
                bell = next(rest, None)
            wait_for(bell)

        wait_for(next(rest, None))

    def _come_on(self, bell: Bell) -> None:
        pool = self.floor.pools[bell.trade]
        duty = pool.duties[bell.duty]
        present = duty.come(bell.number)
        if self.overtime is not None:
            week = self._overtime_week(bell)
            if week is None:
                duty.read_clock(overtime=False)
            else:
                self.overtime.begin(duty, week)
        pool.on_duty(duty, present, bell.number)

    def _go_off(self, bell: Bell) -> None:
        pool = self.floor.pools[bell.trade]
        duty, week = pool.duties[bell.duty], self._overtime_week(bell)
        if self.overtime is None or week is None or not self.overtime.is_longer(duty):
            pool.on_duty(duty, 0)
        else:
            self.overtime.go_on(pool, duty, bell.number, week)

    def _overtime_week(self, bell: Bell) -> int | None:
        """The week of a shift date, if the trade works overtime in it."""
        if self.overtime is None or not self.overtime.weeks:
            return None
        week = (bell.number + self._monday) // 7
        return week if week in self.overtime.weeks and bell.trade in self._longer else None

    def _go_off_late(self, bell: Bell) -> None:
        if self._overtime_week(bell) is not None:
            self.floor.pools[bell.trade].on_duty(self.floor.pools[bell.trade].duties[bell.duty], 0)

    def _saturday(self, bell: Bell) -> None:
        if self._overtime_week(bell) is not None and self.overtime is not None:
            pool = self.floor.pools[bell.trade]
            self.overtime.saturday(pool, pool.duties[bell.duty], bell.number)

    def _week(self, bell: Bell) -> None:
        if self.overtime is not None:
            self.overtime.decide(bell.number)

    def _open(self, bell: Bell) -> None:
        """A place opens: work in it that waits, or that more people may join, is dealt."""
        for pool in self.floor.pools.values():
            if any(job.place == bell.number for job in (*pool.waiting, *pool.growing)):
                pool.ask()

    def _outage(self, bell: Bell) -> None:
        """A place goes out of service: work in it stops at once and its people are free."""
        for pool in self.floor.pools.values():
            for job in [job for job in pool.running if job.place == bell.number and job.ends > self.floor.env.now]:
                pool.put_down(job)

    def _light(self, bell: Bell) -> None:
        for trade in self.floor.sheet.need_light:
            self.floor.pool(trade).ask()

    def _dusk(self, bell: Bell) -> None:
        for pool in [self.floor.pool(trade) for trade in self.floor.sheet.need_light]:
            for job in [job for job in pool.running if job.daylight and job.ends > self.floor.env.now]:
                pool.put_down(job)

    def _fleet_hold(self, bell: Bell) -> None:
        self.floor.engineering.begin(bell.number)

    def _lock(self, bell: Bell) -> None:
        """A known lock: an aircraft that is launched inside it is locked from its launch."""
        self.floor.stated_locks[bell.number] = max(bell.until, self.floor.stated_locks.get(bell.number, 0.0))
        for unit in [unit for unit in self.floor.units if unit.serial == bell.number]:
            self.floor.lock(unit, bell.until)

    def _start_check(self, bell: Bell) -> None:
        """A shift date begins: its trades' torque tools are checked."""
        shift = self._shifts[bell.duty]
        self._began[shift] = bell.at
        for trade in self._rostered[shift]:
            self.floor.tools.start_check(trade, shift, bell.number, self._trade_began.get(trade, 0.0))
            self._trade_began[trade] = bell.at

    def _closing_check(self, bell: Bell) -> None:
        """A shift date ends with the check of all tools; after longer days later."""
        shift = self._shifts[bell.duty]
        extra = self._extra_minutes(shift, bell.number)
        began, day = self._began.get(shift, 0.0), bell.number
        if extra:
            self.floor.at(bell.at + extra, CALENDAR, lambda: self.floor.tools.closing_check(shift, day, began))
        else:
            self.floor.tools.closing_check(shift, day, began)

    def _extra_minutes(self, shift: str, day: int) -> float:
        if self.overtime is None or self.overtime.hours.week(day) not in self.overtime.weeks:
            return 0.0
        return 0.0 if self._longer.isdisjoint(self._rostered[shift]) else self.overtime.hours.minutes(shift)
