"""People really there: what leave, absence, training, leavers and new people leave of a roster, before anything is run.

Drawn as in the runs, without the floor: the shares are means over shift dates of so many draws of the whole run.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from ..line.attendance import attendance_of, shift_dates
from ..line.common import Common
from ..line.luck import Luck
from ..line.records import Attended
from ..line.sheet import Sheet

DRAWS = 40
Rosters = dict[tuple[str, str], np.ndarray]  # by trade and shift: people planned on each shift date
SMALL = 6  # trades with fewer people show on which share of the days 0, 1, 2 ... are there


@dataclass(frozen=True, slots=True)
class Present:
    """People of one trade, all shifts together: means over its shift dates."""

    trade: str
    roster: float       # people planned
    present: float      # people there
    able: float         # their work, in fully able people
    on_leave: float     # shares of the people employed
    absent: float
    in_training: float
    vacant: float       # share of the roster that nobody fills
    days_with: tuple[float, ...] | None  # share of days with 0, 1, 2 ... people there, of small trades


def people_present(sheet: Sheet, seed: int, draws: int = DRAWS, *, small_only: bool = False) -> list[Present]:
    """People there of every trade, or only of the small ones, in file order."""
    rosters: dict[str, Rosters] = {}
    for trade in sheet.scenario.trades:
        of = {(trade, shift): _roster(sheet, trade, shift) for shift in sheet.rostered(trade)}
        if any(len(heads) for heads in of.values()) and (not small_only or _is_small(of)):
            rosters[trade] = of
    drawn = [_drawn(sheet, Luck(seed, n), rosters) for n in range(draws if _is_drawn(sheet) else 1)]
    return [_means(trade, of, {key: [one[key] if key in one else _all_there(sheet, key, heads) for one in drawn]
                               for key, heads in of.items()}) for trade, of in rosters.items()]


def _drawn(sheet: Sheet, luck: Luck, trades: Collection[str]) -> dict[tuple[str, str], Attended]:
    common = Common(sheet.scenario.common_luck, luck, sheet.scenario.start, sheet.calendar.days)
    return {key: numbers for key, (numbers, _) in attendance_of(sheet, luck, common, trades).items()}


def _is_drawn(sheet: Sheet) -> bool:
    rules = sheet.scenario.attendance
    return rules is not None and any((rules.absence, rules.leave, rules.training_share, rules.turnover))


def _roster(sheet: Sheet, trade: str, shift: str) -> np.ndarray:
    """People planned on each shift date: the roster with its dated steps."""
    days = shift_dates(sheet, shift)
    heads = np.full(len(days), float(sheet.heads(trade, shift)))
    for step in sorted(sheet.scenario.trades[trade].headcount_steps, key=lambda step: step.day):
        if step.shift == shift:
            heads[days >= (step.day - sheet.scenario.start).days] = step.people
    return heads


def _all_there(sheet: Sheet, key: tuple[str, str], roster: np.ndarray) -> Attended:
    days = tuple(shift_dates(sheet, key[1]).tolist())
    nobody, heads = (0,) * len(days), tuple(int(n) for n in roster)
    return Attended(*key, days, heads, nobody, nobody, nobody, heads, (1.0,) * len(days))


def _is_small(rosters: Rosters) -> bool:
    return max(int(heads.max(initial=0)) for heads in rosters.values()) < SMALL


def _means(trade: str, rosters: Rosters,
           rows: dict[tuple[str, str], list[Attended]]) -> Present:
    days = max(len(roster) for roster in rosters.values())
    roster = sum(float(roster.sum()) for roster in rosters.values()) / days
    draws = len(next(iter(rows.values())))

    def mean(field: str) -> float:
        return sum(sum(getattr(one, field)) for each in rows.values() for one in each) / draws / days

    able = sum(float(np.dot(one.present, one.effectiveness)) for each in rows.values() for one in each) / draws / days
    employed = mean("employed")
    leave, absent, training = (mean(field) / employed if employed else 0.0
                               for field in ("on_leave", "absent", "in_training"))
    return Present(trade, roster, mean("present"), able, leave, absent, training,
                   max(0.0, 1 - employed / roster) if roster else 0.0, _days_with(rows) if _is_small(rosters) else None)


def _days_with(rows: dict[tuple[str, str], list[Attended]]) -> tuple[float, ...]:
    """Share of the shift dates (of all shifts) with 0, 1, 2 ... people there."""
    there = np.concatenate([np.array(one.present) for each in rows.values() for one in each])
    return tuple((np.bincount(there) / len(there)).tolist())
