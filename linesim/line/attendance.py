"""Who is at work: persons of every trade and shift, day by day, with what keeps them away and how able they are.

Persons are numbered inside trade and shift; nobody is named. Leave, absence and training are looked at in that order
and take whole shifts. People leave and are replaced by new ones, who get up to speed and cost the others time.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from heapq import heappop, heappush
from typing import TYPE_CHECKING, Final, TypeVar

import numpy as np
from numpy.typing import NDArray

from ..scenario.calendar import weeks_with_work
from ..scenario.people import OTHERS, Attendance, Proficiency
from .common import Common
from .records import Attended
from .sheet import Sheet

if TYPE_CHECKING:
    from .luck import Luck

Flags = NDArray[np.bool_]
Numbers = NDArray[np.float64]

PRESENT: Final = 0
ON_LEAVE: Final = 1
ABSENT: Final = 2
IN_TRAINING: Final = 3
NOT_EMPLOYED: Final = 4
Who = TypeVar("Who")


def chance_of_leaving(annual: float) -> float:
    """Chance per calendar day that leaves 1 - annual after 365 days."""
    return float(1.0 - (1.0 - annual) ** (1.0 / 365.0))


def what_hits(leave: Flags, absent: Flags, training: Flags) -> NDArray[np.int8]:
    """State of persons on days: the first of leave, absence and training that hits decides."""
    return np.select([leave, absent, training], [ON_LEAVE, ABSENT, IN_TRAINING], PRESENT).astype(np.int8)


def proficiency_on(days_since_hire: Numbers, rules: Proficiency) -> Numbers:
    """Proficiency so many calendar days after the hire: a straight line from `start` to 1."""
    return np.minimum(1.0, rules.start + (1.0 - rules.start) * days_since_hire / (rules.weeks_to_full * 7.0))


def effectiveness(total: Numbers, new: Numbers, present: Numbers, drain: float) -> Numbers:
    """Work per person and hour: (sum of proficiencies - drain x min(new, full)) / present, never below 0; 1 with
    nobody."""
    lost = drain * np.minimum(new, present - new)
    return np.where(present > 0, np.maximum(0.0, total - lost) / np.maximum(present, 1), 1.0)


def spell_chances(share: float, mean_spell: float) -> tuple[float, float]:
    """Chance of being sick on a shift date after a sick one, and after a well one."""
    return max(0.0, 1.0 - 1.0 / mean_spell), min(1.0, share / (mean_spell * (1.0 - share))) if share < 1 else 1.0


def sick_days(uniforms: Numbers, share: float, mean_spell: float, factors: Numbers | None = None) -> Flags:
    """Shift dates in spells of sickness, from one uniform each; the first date has the plain share. `factors` of the
    dates on the share, in waves of sickness."""
    stays, falls = spell_chances(share, mean_spell)
    sick = np.zeros(len(uniforms), dtype=bool)
    if factors is None or not len(uniforms):
        begins = np.flatnonzero(uniforms < falls).tolist()
    else:
        chances = np.array([spell_chances(min(1.0, share * factor), mean_spell)[1] for factor in factors.tolist()])
        begins = np.flatnonzero(uniforms < chances).tolist()
        share = min(1.0, share * float(factors[0]))
    if len(uniforms) and uniforms[0] < share:
        begins.insert(0, 0)
    elif begins and begins[0] == 0:
        begins.pop(0)
    reached = -1  # the well date after the spell before
    for first in begins:
        if first > reached:
            reached = first + 1
            while reached < len(uniforms) and uniforms[reached] < stays:
                reached += 1
            sick[first:reached] = True
    return sick


def book_weeks(persons: Iterable[Who], on_offer: Sequence[int], weeks_each: int, most_away: int,
               uniform: Callable[[Who, int], float]) -> dict[Who, list[int]]:
    """Weeks that each person books, one person after the other: each time one of those, in order of date, that it has
    not taken and in which fewer than `most_away` are away. `uniform`: the draw for a person's k-th week."""
    room = [week for week in on_offer if most_away > 0]
    away: dict[int, int] = {}
    booked: dict[Who, list[int]] = {}
    for person in persons:
        able, mine = list(room), booked.setdefault(person, [])
        for k in range(weeks_each):
            if not able:
                break
            week = able.pop(int(uniform(person, k) * len(able)))
            mine.append(week)
            away[week] = away.get(week, 0) + 1
            if away[week] == most_away:
                room.remove(week)
    return booked


@dataclass(slots=True)
class Person:
    """Somebody of a trade and shift: on the roll from day `first` up to, not including, day `last`."""

    number: int
    first: int
    last: int
    hired: int | None = None  # day of the hire; None: there before the start, at full proficiency


class Roll:
    """People of one trade on one shift, in one run."""

    def __init__(self, sheet: Sheet, luck: Luck, trade: str, shift: str) -> None:
        self.sheet, self.luck, self.trade, self.shift = sheet, luck, trade, shift
        self._rules = sheet.scenario.attendance or Attendance()
        self._horizon = sheet.calendar.day_number(sheet.calendar.run_end)
        self.days = shift_dates(sheet, shift)
        self.persons = self._persons()

    # who is on the roll ------------------------------------------------------------------------------------------
    def _persons(self) -> list[Person]:
        declared = self.sheet.scenario.trades[self.trade]
        heads = self.sheet.heads(self.trade, self.shift)
        persons = [Person(n + 1, 0, self._horizon) for n in range(heads)]
        waiting: list[tuple[int, int, int]] = []  # day, 0 (step) or 1 (leaver), people or number
        for step in declared.headcount_steps:
            if step.shift == self.shift:
                day = max(0, (step.day - self.sheet.scenario.start).days)
                heappush(waiting, (day, 0, step.people))
        self._plan_leaving(persons, waiting)
        while waiting:
            day, leaves, number = heappop(waiting)
            if leaves:
                self._leave(persons[number - 1], day, persons, waiting)
            else:
                self._change(day, number, persons, waiting)
        return persons

    def _change(self, day: int, heads: int, persons: list[Person], waiting: list[tuple[int, int, int]]) -> None:
        """A dated step: cuts take the highest numbers, hired ones that have not come yet among them."""
        on_roll = [person for person in persons if person.last > day]
        for person in on_roll[heads:]:
            person.last = day
        for _ in range(heads - len(on_roll)):
            self._hire(day, persons, waiting, new=day > 0)

    def _leave(self, person: Person, day: int, persons: list[Person], waiting: list[tuple[int, int, int]]) -> None:
        turnover = self._rules.turnover
        if turnover is None or person.last <= day:
            return  # cut before
        person.last = day + 1
        calendar = self.sheet.calendar
        comes = calendar.clock(self.shift).next_open(
            calendar.work_days_later(calendar.midnights[day + 1], turnover.time_to_hire_work_days))
        if comes < calendar.run_end:
            self._hire(calendar.day_number(comes), persons, waiting, new=True)

    def _hire(self, day: int, persons: list[Person], waiting: list[tuple[int, int, int]], *, new: bool) -> None:
        person = Person(len(persons) + 1, day, self._horizon, day if new else None)
        persons.append(person)
        self._plan_leaving([person], waiting)

    def _plan_leaving(self, persons: list[Person], waiting: list[tuple[int, int, int]]) -> None:
        turnover = self._rules.turnover
        if turnover is None:
            return
        leaves = self._drawn("leaving", persons) < chance_of_leaving(turnover.annual_share)
        for person, on in zip(persons, leaves, strict=True):
            hits = np.flatnonzero(on[person.first:])
            if len(hits):
                heappush(waiting, (person.first + int(hits[0]), 1, person.number))

    def _drawn(self, purpose: str, persons: list[Person]) -> Numbers:
        """Uniforms of persons by calendar date, from the start to the end of the run: shape (persons, days)."""
        names = [f"{purpose}/{self.trade}/{self.shift}/{person.number}" for person in persons]
        return self.luck.dates(names, self.sheet.scenario.start, self._horizon)

    # who is there ------------------------------------------------------------------------------------------------
    def states(self, away: dict[int, list[int]], waves: Numbers | None) -> NDArray[np.int8]:
        """State of each person on each shift date: shape (persons, shift dates). `away`: weeks booked by number, each
        the number of its Monday; `waves`: factor on absence by day."""
        rules, days, persons = self._rules, self.days, self.persons
        leave = absent = training = np.zeros((len(persons), len(days)), dtype=bool)
        if rules.leave and rules.leave.in_blocks:
            leave = self._weeks_off(away)
        elif rules.leave and rules.leave.rate:
            leave = self._drawn("leave", persons)[:, days] < rules.leave.rate
        if rules.absence and rules.absence.share:
            absent = self._sick(None if waves is None else waves[days])
        if rules.training_share:
            training = self._drawn("training", persons)[:, days] < rules.training_share
        found = what_hits(leave, absent, training)
        for n, person in enumerate(persons):
            found[n, (days < person.first) | (days >= person.last)] = NOT_EMPLOYED
        return found

    def _weeks_off(self, away: dict[int, list[int]]) -> Flags:
        """Who is on leave in the weeks booked, by shift date."""
        off = np.zeros((len(self.persons), self._horizon // 7 + 3), dtype=bool)
        for n, person in enumerate(self.persons):
            weeks = week_number(self.sheet.scenario.start, np.array(away[person.number], dtype=np.int64))
            off[n, weeks[(weeks >= 0) & (weeks < off.shape[1])]] = True
        return off[:, week_number(self.sheet.scenario.start, self.days)]

    def _sick(self, factors: Numbers | None) -> Flags:
        """Who is absent, by shift date: day by day, or in spells."""
        assert self._rules.absence is not None
        share, spell = self._rules.absence.share, self._rules.absence.spell_shifts
        drawn = self._drawn("absence", self.persons)[:, self.days]
        if not spell:
            return np.asarray(drawn < share * (1.0 if factors is None else factors), dtype=bool)
        return np.array([sick_days(row, share, spell, factors) for row in drawn], dtype=bool).reshape(drawn.shape)

    def attended(self, states: NDArray[np.int8], known: dict[int, int]) -> tuple[Attended, Flags]:
        """The day's numbers and effectiveness, and who is there (shape of `states`); `known`: people present by shift
        date, as a fact."""
        extra = np.zeros(len(self.days), dtype=np.int64)
        for n, day in enumerate(self.days.tolist()):
            if day in known:  # the first so many of the roll; more than it has are people at full proficiency
                employed = np.flatnonzero(states[:, n] != NOT_EMPLOYED)
                states[employed[:known[day]], n], states[employed[known[day]:], n] = PRESENT, ABSENT
                extra[n] = max(0, known[day] - len(employed))
        there = states == PRESENT
        present = there.sum(axis=0) + extra
        away = [(states == state).sum(axis=0) for state in (ON_LEAVE, ABSENT, IN_TRAINING)]
        columns = (self.days, present, *away, (states != NOT_EMPLOYED).sum(axis=0) + extra,
                   self._effectiveness(there, present))
        return Attended(self.trade, self.shift, *(tuple(column.tolist()) for column in columns)), there

    def _effectiveness(self, there: Flags, present: NDArray[np.int64]) -> Numbers:
        rules = self._rules.proficiency
        if rules is None or (rules.trades is not None and self.trade not in rules.trades):
            return np.ones(len(self.days))
        full = np.ones(there.shape)
        for n, person in enumerate(self.persons):
            if person.hired is not None:
                full[n] = proficiency_on(np.maximum(self.days - person.hired, 0), rules)
        new = (there & (full < 1)).sum(axis=0)
        total = (there * full).sum(axis=0) + present - there.sum(axis=0)
        return effectiveness(total, new.astype(float), present.astype(float), rules.trainer_drain)


def shift_dates(sheet: Sheet, shift: str) -> NDArray[np.int64]:
    """Day numbers on which a shift starts in the run."""
    return np.array(list(sheet.shift_date_numbers(shift)), dtype=np.int64)


def week_number(start: date, days: NDArray[np.int64]) -> NDArray[np.int64]:
    """Number of the week from Monday to Sunday that each day lies in; that of the start is 0."""
    return (days + start.weekday()) // 7


def attendance_of(sheet: Sheet, luck: Luck, common: Common,
                  trades: Collection[str] | None = None) -> dict[tuple[str, str], tuple[Attended, Flags]]:
    """Attendance of every trade (or only of these) and shift whose numbers are not the same every day, in one run; and
    which persons are there, shape (persons, shift dates)."""
    rules = sheet.scenario.attendance
    by_draw = rules is not None and any((rules.absence, rules.leave, rules.training_share, rules.turnover))
    known: dict[tuple[str, str], dict[int, int]] = {}
    for fact in sheet.scenario.known.present:
        shift = fact.shift or sheet.calendar.reference_shift
        known.setdefault((fact.trade, shift), {})[(fact.day - sheet.scenario.start).days] = fact.people
    found = {}
    for trade, declared in sheet.scenario.trades.items():
        shifts = sheet.rostered(trade) if trades is None or trade in trades else []
        if by_draw or declared.headcount_steps or any((trade, shift) in known for shift in shifts):
            rolls = [Roll(sheet, luck, trade, shift) for shift in shifts]
            away, waves = booked_weeks(sheet, luck, rolls), common.sickness_factors()
            for roll, weeks in zip(rolls, away, strict=True):
                facts = known.get((trade, roll.shift), {})
                found[trade, roll.shift] = roll.attended(roll.states(weeks, waves), facts)
    return found


def booked_weeks(sheet: Sheet, luck: Luck, rolls: list[Roll]) -> list[dict[int, list[int]]]:
    """Weeks of leave by roll and person's number, each the number of its Monday.

    All shifts of a trade together: those there before the year in the order of shift and number, then the newly hired
    as they come.
    """
    leave = sheet.scenario.attendance.leave if sheet.scenario.attendance else None
    booked: list[dict[int, list[int]]] = [{person.number: [] for person in roll.persons} for roll in rolls]
    if leave is None or not leave.in_blocks or not rolls:
        return booked
    trade, shifts = rolls[0].trade, [roll.shift for roll in rolls]
    most = leave.most_away.get(trade, leave.most_away.get(OTHERS, 10**9))
    for year, on_offer in weeks_on_offer(sheet).items():
        begins = (date(year, 1, 1) - sheet.scenario.start).days
        choosers = sorted((max(person.first, begins), n, person.number) for n, roll in enumerate(rolls)
                          for person in roll.persons)

        def uniform(who: tuple[int, int, int], k: int, year: int = year) -> float:
            return luck.uniform("leave week", trade, shifts[who[1]], who[2], year, k)

        for (_, n, number), weeks in book_weeks(choosers, on_offer, leave.weeks_each, most, uniform).items():
            booked[n][number] += weeks
    return booked


@lru_cache(maxsize=8)
def weeks_on_offer(sheet: Sheet) -> dict[int, list[int]]:
    """Years that the run touches, each with the Mondays (day numbers) that lie in it and whose week has a work day."""
    start, calendar = sheet.scenario.start, sheet.calendar
    last = start + timedelta(days=calendar.day_number(calendar.run_end))
    years = range((start - timedelta(days=start.weekday())).year, last.year + 1)
    return {year: [(monday - start).days for monday in weeks_with_work(sheet.scenario, year)] for year in years}
