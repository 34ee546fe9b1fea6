"""F60-F63, F115: who is there, how able they are, who leaves and who comes; and where their paid hours go (F108).

People are counted by what the run writes down of each trade, shift and date. Exact first; then means and variances
against those of the rule, each with its exact standard error and |z| <= 4 on fixed seeds.
"""

from __future__ import annotations

import math
import random
import sys
from collections import Counter
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))

import itertools

from small_plants import DAY, account_of, check_heads, check_sums, closed, plant, run, work

from linesim.line.records import Attended, Records
from linesim.scenario.scenario import Scenario

START = date(2027, 1, 4)
PARTS = ("on_leave", "absent", "in_training", "present")
CHANCES = {"leave": {"share": 0.2}, "absence": {"share": 0.3}, "training_share": 0.25}


def idle(people: dict[str, Any], attendance: dict[str, Any] | None, **more: Any) -> Scenario:
    """A plant in which nothing is made: only who is there counts."""
    trades = {trade: n if isinstance(n, dict) and "people" in n else {"people": n} for trade, n in people.items()}
    more = {"end": "2027-12-31", **({"attendance": attendance} if attendance else {}), **more}
    return plant([{"id": "A"}], trades, [], launches={"moments": []}, **more)


def there(scenario: Scenario, trade: str = "ASM", shift: str = "day", replication: int = 0, seed: int = 1) -> Attended:
    """Who is there by shift date."""
    found = run(scenario, replication, seed)[1].attended[trade, shift]
    for n in range(len(found.days)):
        assert sum(getattr(found, part)[n] for part in PARTS) == found.employed[n]
    return found


def column(found: Attended, part: str) -> dict[str, int]:
    """One column by date."""
    return {
        (START + timedelta(days=day)).isoformat(): n for day, n in zip(found.days, getattr(found, part), strict=True)
    }


def z_of(count: float, n: float, p: float) -> float:
    """Standard score of a binomial count."""
    return (count - n * p) / math.sqrt(n * p * (1 - p))


# by person and date: exact ---------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("attendance", "part"),
    [
        ({"leave": {"share": 1}, "absence": {"share": 1}, "training_share": 1}, "on_leave"),
        ({"absence": {"share": 1}, "training_share": 1}, "absent"),
        ({"training_share": 1}, "in_training"),
        ({"leave": {"share": 0}, "absence": {"share": 0}}, "present"),
    ],
)
def test_the_first_that_hits_decides(attendance: dict[str, Any], part: str) -> None:
    """F60: leave, absence, training day, looked at in that order."""
    found = run(idle({"ASM": 3}, attendance))[1].attended.get(("ASM", "day"))
    assert part == "present" if found is None else set(getattr(found, part)) == {3}


def test_each_person_has_own_draws() -> None:
    """F60, F110: draws are keyed by the person's number: one person more adds 0 or 1 to every column of a day and
    changes nobody else's day; so it is in spells of sickness."""
    for attendance in (CHANCES, {**CHANCES, "absence": {"share": 0.3, "spell_shifts": 4}}):
        rows = [there(idle({"ASM": n}, attendance)) for n in range(1, 6)]
        for fewer, more in itertools.pairwise(rows):
            steps = np.array([np.subtract(getattr(more, part), getattr(fewer, part)) for part in PARTS])
            assert steps.min() == 0
            assert (steps.sum(axis=0) == 1).all()


def test_another_trade_or_shift_changes_nobodys_draws() -> None:
    """F110: leave, absence, training (trade, shift, person no., date)."""
    shifts = {"shifts": {"day": DAY, "night": {"work": ["22:00-06:00"]}}}
    alone = there(idle({"ASM": {"day": 3}}, CHANCES, **shifts))
    more = idle({"RIG": {"day": 2}, "ASM": {"night": 3, "day": 3}}, CHANCES, **shifts)
    assert there(more) == alone
    assert there(more, shift="night").absent != alone.absent
    assert there(more, trade="RIG").absent != alone.absent


def test_switching_an_effect_off_leaves_the_draws_of_the_others() -> None:
    """F111: one person: with all three effects a training day is a training day of its own, unless away; an absence is
    the absence of its own, unless on leave."""
    leave, absence, training = (there(idle({"ASM": 1}, {key: CHANCES[key]})) for key in CHANCES)
    every = there(idle({"ASM": 1}, CHANCES))
    assert every.on_leave == leave.on_leave
    away, sick = np.array(leave.on_leave), np.array(absence.absent)
    assert list(every.absent) == list(sick * (1 - away))
    assert list(every.in_training) == list(np.array(training.in_training) * (1 - sick) * (1 - away))
    assert 0 < sum(every.in_training) < sum(training.in_training)


@pytest.mark.parametrize("more", [{}, {"proficiency": {"start": 0.5, "weeks_to_full": 4}}])
def test_a_larger_share_only_adds(more: dict[str, Any]) -> None:
    """F111: a dial changes the value, never which draw is read: who is absent at 10 % is absent at 30 %."""
    few, many = (there(idle({"ASM": 1}, {"absence": {"share": share}, **more})) for share in (0.1, 0.3))
    assert all(a <= b for a, b in zip(few.absent, many.absent, strict=True))
    assert sum(few.absent) < sum(many.absent)


# the number of people present in a day: theory -------------------------------------------------------------------
@pytest.fixture(scope="module")
def days() -> dict[str, Any]:
    """Ten people over a year of shift dates, 20 runs: counts by part, shape (20, dates)."""
    scenario = idle({"ASM": 10}, CHANCES)
    runs = [there(scenario, replication=n) for n in range(20)]
    return {part: np.array([getattr(found, part) for found in runs]) for part in PARTS}


@pytest.mark.parametrize(
    ("part", "p"),
    [("on_leave", 0.2), ("absent", 0.8 * 0.3), ("in_training", 0.8 * 0.7 * 0.25), ("present", 0.8 * 0.7 * 0.75)],
)
def test_a_day_is_binomial(days: dict[str, Any], part: str, p: float) -> None:
    """F60: the people of a part in a day are binomial over the ten; exact mean and variance; the variance of the sample
    variance about the known mean is (m4 - v^2) / N."""
    counts = days[part]
    n, v = counts.size, 10 * p * (1 - p)
    assert counts.shape[1] == 260
    assert abs(z_of(counts.sum(), 10 * n, p)) <= 4
    fourth = v * (1 + (30 - 6) * p * (1 - p))
    about = ((counts - 10 * p) ** 2).mean()
    assert abs(about - v) / math.sqrt((fourth - v * v) / n) <= 4
    # neighbouring dates, and the same date of two runs, are independent
    off = counts - 10 * p
    for product in (off[:, 1:] * off[:, :-1], off[1:] * off[:-1]):
        assert abs(product.sum() / (v * math.sqrt(product.size))) <= 4


# leave in weeks --------------------------------------------------------------------------------------------------
def weeks_of(found: Attended) -> dict[int, set[int]]:
    """People on leave on the shift dates of each week."""
    weeks: dict[int, set[int]] = {}
    for day, n in zip(found.days, found.on_leave, strict=True):
        weeks.setdefault(day // 7, set()).add(n)
    return weeks


@pytest.mark.parametrize(
    ("leave", "each"), [({"weeks": 5}, 5), ({"share": 0.06}, 3), ({"share": 0.5}, 26), ({"weeks": 0}, 0)]
)
def test_leave_in_weeks_keeps_its_share(leave: dict[str, Any], each: int) -> None:
    """F115: share x 52 rounded to whole weeks of each person, every run the same total, whole weeks only."""
    scenario = idle({"ASM": 4}, {"leave": {**leave, "in_blocks": True}})
    for replication in range(5):
        found = run(scenario, replication)[1].attended.get(("ASM", "day"))
        if each == 0 and found is None:
            continue
        assert sum(found.on_leave) == 4 * each * 5  # the year's first Monday is the start; every week has 5 shift dates
        assert all(len(numbers) == 1 for numbers in weeks_of(found).values())


def test_leave_of_one_person_is_of_different_weeks() -> None:
    """F115: a place of the weeks that this person has not taken."""
    assert set(there(idle({"ASM": 1}, {"leave": {"weeks": 52, "in_blocks": True}})).on_leave) == {1}


def test_never_more_than_most_away() -> None:
    """F115: fewer than `most_away` of a trade are away when a week is chosen, all shifts together."""
    shifts = {"shifts": {"day": DAY, "night": {"work": ["22:00-06:00"]}}}
    leave = {"weeks": 13, "in_blocks": True, "most_away": {"ASM": 2, "others": 1}}
    scenario = idle({"ASM": {"day": 5, "night": 3}, "RIG": {"day": 4}}, {"leave": leave}, **shifts)
    for replication in range(5):
        attended = run(scenario, replication)[1].attended
        both = np.add(attended["ASM", "day"].on_leave, attended["ASM", "night"].on_leave)
        assert max(both) == 2
        assert set(attended["RIG", "day"].on_leave) == {1}


def test_weeks_without_a_work_day_are_not_on_offer() -> None:
    """F115: weeks which have a work day: with the first two weeks of August closed, nobody's leave falls there, so 50
    weeks of leave are all other weeks."""
    shut = [(date(2027, 8, 2) + timedelta(days=n)).isoformat() for n in range(14)]
    found = there(idle({"ASM": 1}, {"leave": {"weeks": 50, "in_blocks": True}}, calendar={"closed": shut}))
    assert set(found.on_leave) == {1}


def test_the_weeks_are_drawn_evenly() -> None:
    """F115: place floor(u x m) of the m weeks: the one week of one person over 300 runs against 52 equal chances, by
    quarters of 13 weeks (exact binomial errors)."""
    scenario = idle({"ASM": 1}, {"leave": {"weeks": 1, "in_blocks": True}})
    taken = Counter(there(scenario, replication=n).on_leave.index(1) // 65 for n in range(300))
    assert sum(taken.values()) == 300
    assert all(abs(z_of(taken[quarter], 300, 0.25)) <= 4 for quarter in range(4))


def test_leave_of_a_later_start_is_that_of_the_whole_year() -> None:
    """F115, F110: a run that starts in July sees the second half of the leave of a year, not all of it."""
    leave = {"leave": {"weeks": 26, "in_blocks": True}}
    whole = there(idle({"ASM": 3}, leave))
    late = there(idle({"ASM": 3}, leave, start="2027-07-05"))
    assert late.on_leave == whole.on_leave[-len(late.on_leave) :]


def test_each_year_has_its_weeks() -> None:
    """F115: weeks whose Monday lies in the year: 2027 has 52, 2028 has 52 (from 3 January)."""
    found = there(idle({"ASM": 1}, {"leave": {"weeks": 4, "in_blocks": True}}, end="2028-12-31"))
    years = Counter(
        (START + timedelta(days=day - day % 7)).year for day, n in zip(found.days, found.on_leave, strict=True) if n
    )
    assert years == {2027: 20, 2028: 20}


# sickness in spells ----------------------------------------------------------------------------------------------
@pytest.mark.parametrize(("share", "mean"), [(0.1, 5.0), (0.25, 2.0), (0.03, 2.5)])
def test_sickness_in_spells(share: float, mean: float) -> None:
    """F115: P(sick | sick) = 1 - 1/m, P(sick | well) = share/(m(1 - share)) from one shift date to the next, weekends
    between them or not; the share of a day stays `share`, also on the first date."""
    names = [f"T{n:02d}" for n in range(40)]
    scenario = idle(dict.fromkeys(names, 1), {"absence": {"share": share, "spell_shifts": mean}})
    records = [run(scenario, n)[1] for n in range(6)]
    sick = np.array([found.attended[name, "day"].absent for found in records for name in names])
    after, before = sick[:, 1:], sick[:, :-1]
    was_sick, was_well = before.sum(), before.size - before.sum()
    stays, falls = (after * before).sum(), (after * (1 - before)).sum()
    assert abs(z_of(stays, was_sick, 1 - 1 / mean)) <= 4
    assert abs(z_of(falls, was_well, share / (mean * (1 - share)))) <= 4
    assert abs(z_of(sick[:, 0].sum(), len(sick), share)) <= 4
    # the mean of a stationary chain with correlation r between neighbours
    r = 1 - 1 / mean - share / (mean * (1 - share))
    error = math.sqrt(share * (1 - share) / sick.size * (1 + r) / (1 - r))
    assert abs(sick.mean() - share) <= 4 * error
    # spells that begin and end inside the year: geometric with mean m
    begun = ((after == 1) & (before == 0)).sum()
    ended = ((after == 0) & (before == 1)).sum()
    assert abs(begun - ended) <= len(sick)
    lengths = sick.sum() / (begun + sick[:, 0].sum())
    assert abs(lengths - mean) <= 4 * mean * math.sqrt(1 - 1 / mean) / math.sqrt(begun) + mean * len(sick) / begun / 10


def test_a_spell_of_one_shift_is_not_shorter_than_a_shift() -> None:
    """F115: m = 1: nobody is sick twice in a row (P(sick | sick) = 0), and the share stays."""
    found = there(idle({"ASM": 1}, {"absence": {"share": 0.3, "spell_shifts": 1}}, end="2030-12-31"))
    pairs = list(zip(found.absent, found.absent[1:], strict=False))
    assert (1, 1) not in pairs
    well = sum(1 for a, _ in pairs if not a)
    assert abs(z_of(pairs.count((0, 1)), well, 0.3 / 0.7)) <= 4


# headcount by date -----------------------------------------------------------------------------------------------
def steps(*rows: tuple[str, int], people: int) -> dict[str, Any]:
    return {"people": people, "headcount_steps": [{"from": day, "shift": "day", "people": n} for day, n in rows]}


def test_headcount_steps_hold_from_the_first_shift_on_that_date() -> None:
    """F60: also from a date without a shift: the Saturday step holds on Monday."""
    found = column(
        there(
            idle(
                {"ASM": steps(("2027-01-06", 5), ("2027-01-09", 2), people=3)},
                {"training_share": 0.01},
                end="2027-01-12",
            )
        ),
        "employed",
    )
    assert found == {
        "2027-01-04": 3,
        "2027-01-05": 3,
        "2027-01-06": 5,
        "2027-01-07": 5,
        "2027-01-08": 5,
        "2027-01-11": 2,
        "2027-01-12": 2,
    }


def test_headcount_steps_without_any_attendance() -> None:
    """F60: dated steps hold where everybody is always there: 8 h by 1 on Monday, 16 by 2 on Tuesday."""
    trades = {"ASM": steps(("2027-01-05", 2), people=1)}
    assert closed(plant([{"id": "A", "packages": [work("a", "ASM", 24, crew_max=2)]}], trades)) == {"S1 a": "05 14:30"}


def test_a_step_before_the_start_holds_at_the_start() -> None:
    """F60: dated steps hold from the first shift on that date on."""
    trades = {"ASM": steps(("2026-06-01", 2), people=1)}
    assert closed(plant([{"id": "A", "packages": [work("a", "ASM", 16, crew_max=2)]}], trades)) == {"S1 a": "04 14:30"}


def test_cuts_take_the_highest_numbers_and_hires_are_new_numbers() -> None:
    """F60, F110: cut from 4 to 2 the days are those of persons 1 and 2; the third, hired later, is somebody new:
    number 5."""

    def of(people: Any, part: str) -> np.ndarray:
        return np.array(getattr(there(idle({"ASM": people}, CHANCES)), part))

    cut = steps(("2027-03-01", 2), ("2027-07-05", 3), people=4)
    march, july = 40, 130  # shift dates before them
    for part in ("on_leave", "absent", "in_training"):
        whole = {n: of(n, part) for n in (2, 3, 4, 5)}
        found = of(cut, part)
        assert (found[:march] == whole[4][:march]).all()
        assert (found[march:july] == whole[2][march:july]).all()
        assert (found[july:] == (whole[2] + whole[5] - whole[4])[july:]).all()
        assert (found[july:] != whole[3][july:]).any()


def test_the_order_of_the_steps_in_the_file_does_not_matter() -> None:
    """F60: dated: the dates order them."""
    rows = [("2027-02-01", 5), ("2027-03-01", 2)]
    one, two = (there(idle({"ASM": steps(*order, people=3)}, CHANCES)) for order in (rows, rows[::-1]))
    assert one == two


# new people ------------------------------------------------------------------------------------------------------
def test_proficiency_rises_in_a_straight_line() -> None:
    """F62: from 0.5 to 1 over 10 x 7 calendar days from the hire date, read at the start of the shift; drain 0.2 x
    min(1 new, 2 full); (2 + p - 0.2)/3 until p is 1, then 1."""
    found = there(
        idle(
            {"ASM": steps(("2027-01-06", 3), people=2)},
            {"proficiency": {"start": 0.5, "weeks_to_full": 10, "trainer_drain": 0.2}},
        )
    )
    for day, able in zip(found.days, found.effectiveness, strict=True):
        since = day - 2
        p = min(1.0, 0.5 + 0.5 * since / 70)
        assert able == pytest.approx(1.0 if since < 0 or p == 1 else (2 + p - 0.2) / 3, abs=1e-12), day


def test_the_drain_is_of_full_people_who_are_there() -> None:
    """F62: 1 full and 3 new: drain x min(3, 1); nobody full: no drain at all."""
    rule = {"proficiency": {"start": 0.4, "weeks_to_full": 1000, "trainer_drain": 0.3}}
    found = there(idle({"ASM": steps(("2027-01-05", 4), people=1)}, rule, end="2027-01-05"))
    assert found.effectiveness == pytest.approx((1, (1 + 3 * 0.4 - 0.3) / 4))
    found = there(idle({"ASM": steps(("2027-01-05", 3), people=0)}, rule, end="2027-01-05"))
    assert found.effectiveness[1] == pytest.approx(0.4)


def test_new_people_and_drain_in_the_work() -> None:
    """F62: the same for every crew: on Tuesday 2 full and 1 new at 0.4, drain 0.3: (2.4 - 0.3)/3 = 0.7 each: a, 2.8 h
    by one, takes 4; with productivity 0.5 it takes 8."""
    rule = {"proficiency": {"start": 0.4, "weeks_to_full": 1000, "trainer_drain": 0.3}}
    trades = {"ASM": steps(("2027-01-05", 3), people=2)}
    launch = {"launches": {"moments": ["2027-01-05 06:00"]}, "attendance": rule}
    packages = [work("a", "ASM", 2.8)]
    assert closed(plant([{"id": "A", "packages": packages}], trades, **launch)) == {"S1 a": "05 10:00"}
    slow = {"day": {**DAY, "productivity": 0.5}}
    assert closed(plant([{"id": "A", "packages": packages}], trades, shifts=slow, **launch)) == {"S1 a": "05 14:30"}


def test_only_the_named_trades_have_new_people_to_train() -> None:
    """F62: the others' new people are able from the first day."""
    rule = {"proficiency": {"start": 0.5, "weeks_to_full": 10, "trades": ["RIG"]}}
    both = idle({"ASM": steps(("2027-01-05", 3), people=1), "RIG": steps(("2027-01-05", 3), people=1)}, rule)
    assert set(there(both).effectiveness) == {1.0}
    assert there(both, "RIG").effectiveness[1] == pytest.approx(2 / 3)


def test_absent_people_are_neither_new_nor_full() -> None:
    """F62: those present: with one full and one new person of whom some are away, the mean is that of who is there."""
    found = there(
        idle(
            {"ASM": steps(("2027-01-05", 2), people=1)},
            {"absence": {"share": 0.4}, "proficiency": {"start": 0.5, "weeks_to_full": 1000, "trainer_drain": 0.1}},
        )
    )
    kinds = set()
    for day, n, able in zip(found.days[1:], found.present[1:], found.effectiveness[1:], strict=True):
        p = 0.5 + 0.5 * (day - 1) / 7000
        kinds |= {
            name
            for name, value in (("both", (1 + p - 0.1) / 2), ("full", 1.0), ("new", p))
            if n == 1 + (name == "both") and able == pytest.approx(value, abs=1e-12)
        }
        assert n == 0 or any(able == pytest.approx(value, abs=1e-12) for value in ((1 + p - 0.1) / 2, 1.0, p))
    assert kinds == {"both", "full", "new"}


# turnover --------------------------------------------------------------------------------------------------------
def test_everybody_leaves_on_the_first_day() -> None:
    """F63: a chance of 1 a day: all leave on Monday, effective next shift; their seats stay empty for two work
    days, the replacements leave on their first day, and so on."""
    found = column(
        there(idle({"ASM": 3}, {"turnover": {"annual_share": 1, "time_to_hire_work_days": 2}}, end="2027-01-15")),
        "employed",
    )
    assert list(found.values()) == [3, 0, 0, 3, 0, 0, 3, 0, 0, 3]


def test_who_leaves_on_a_weekend_day_is_gone_on_monday() -> None:
    """F63: each calendar day; with a chance of 1 a seat is empty for one work day, over the weekend too."""
    found = column(
        there(idle({"ASM": 2}, {"turnover": {"annual_share": 1, "time_to_hire_work_days": 1}}, end="2027-01-13")),
        "employed",
    )
    assert list(found.values()) == [2, 0] * 4


def hire_day(leaves: int, work_days: int) -> int:
    """Day number on which the replacement of one who leaves on a day starts, a plant of Monday to Friday."""
    day = leaves
    if day % 7 > 4:
        day += 7 - day % 7  # work days are counted from Monday on
        return hire_day(day, work_days)
    for _ in range(work_days + 1):  # the first shift without the leaver, then so many work days
        day += 3 if day % 7 == 4 else 1
    return day


def employed_share(annual: float, work_days: int, days: int) -> list[float]:
    """Chance that a seat is filled by day number: one who leaves on day k is missing on k + 1 to the day before the
    replacement starts."""
    p, gone = 1 - (1 - annual) ** (1 / 365), [0.0] * (days + 1)
    filled = []
    for day in range(days):
        filled.append(1 - gone[day])
        for missing in range(day + 1, min(days, hire_day(day, work_days))):
            gone[missing] += p * filled[day]
    return filled


@pytest.mark.parametrize(("annual", "work_days"), [(0.5, 20), (0.9, 45), (0.1, 45)])
def test_leavers_and_vacancies(annual: float, work_days: int) -> None:
    """F63: each person each calendar day leaves with chance 1-(1-annual)^(1/365); seats are independent, so the people
    employed on a day are binomial with the chance of a short recursion; in the long run annual x time to hire are
    missing."""
    people, runs = 40, 6
    scenario = idle(
        {"ASM": people}, {"turnover": {"annual_share": annual, "time_to_hire_work_days": work_days}}, end="2029-12-31"
    )
    rows = [there(scenario, replication=n) for n in range(runs)]
    share = employed_share(annual, work_days, rows[0].days[-1] + 1)
    for day in (30, 85, 200, 500, 700):
        employed = sum(found.employed[day] for found in rows)
        assert abs(z_of(employed, people * runs, share[rows[0].days[day]])) <= 4, day
    assert all(found.employed[0] == people for found in rows)
    # steady state: a seat is vacant hire / (1/p + hire) of the time
    p = 1 - (1 - annual) ** (1 / 365)
    vacant = work_days * 1.4
    assert share[-3] == pytest.approx(1 - vacant / (1 / p + vacant), abs=0.006)


def test_leavers_of_a_year_without_hiring() -> None:
    """F63: without replacements (a time to hire beyond the run) the rest after 365 days is binomial with 1 - annual."""
    scenario = idle({"ASM": 300}, {"turnover": {"annual_share": 0.3, "time_to_hire_work_days": 900}}, end="2028-01-04")
    found = there(scenario)
    assert found.days[-1] == 365
    assert abs(z_of(found.employed[-1], 300, 0.7)) <= 4
    assert all(a >= b for a, b in zip(found.employed, found.employed[1:], strict=False))


def test_a_replacement_has_a_new_number_and_is_new() -> None:
    """F63: at `start` proficiency: one seat, a chance of 1: the person who was there on Monday is full, the one who
    starts on Thursday is at 0.5."""
    found = there(
        idle(
            {"ASM": 1},
            {
                "turnover": {"annual_share": 1, "time_to_hire_work_days": 2},
                "proficiency": {"start": 0.5, "weeks_to_full": 10},
            },
            end="2027-01-08",
        )
    )
    assert found.employed == (1, 0, 0, 1, 0)
    assert [found.effectiveness[n] for n in (0, 3)] == pytest.approx([1, 0.5])


def test_turnover_changes_no_draw_of_those_who_stay() -> None:
    """F110: a person's days are his own: nobody's absence on a day is more than in the plant of the same people."""
    calm = there(idle({"ASM": 5}, {"absence": {"share": 0.3}}))
    moving = there(
        idle({"ASM": 5}, {"absence": {"share": 0.3}, "turnover": {"annual_share": 0.6, "time_to_hire_work_days": 900}})
    )
    assert all(a <= b for a, b in zip(moving.absent, calm.absent, strict=True))
    assert moving.employed[-1] < 5


# facts and shifts ------------------------------------------------------------------------------------------------
def test_known_people_take_the_place_of_the_draws() -> None:
    """F120: of that trade, shift and date; all other draws stay."""
    facts = [{"trade": "ASM", "date": "2027-01-06", "people": 1}, {"trade": "ASM", "date": "2027-03-01", "people": 0}]
    drawn = column(there(idle({"ASM": 4}, CHANCES)), "present")
    known = column(run(idle({"ASM": 4}, CHANCES, known={"present": facts}))[1].attended["ASM", "day"], "present")
    assert (known["2027-01-06"], known["2027-03-01"]) == (1, 0)
    assert {day: n for day, n in known.items() if day not in ("2027-01-06", "2027-03-01")} == {
        day: n for day, n in drawn.items() if day not in ("2027-01-06", "2027-03-01")
    }


def test_known_people_are_counted_once_in_the_hours_paid() -> None:
    """F108, F120: with 1 of 3 present, what is paid still sums and 1 x 8 h could be worked."""
    for people in (0, 1, 3):
        sheet, records = run(
            idle(
                {"ASM": 3},
                None,
                end="2027-01-04",
                known={"present": [{"trade": "ASM", "date": "2027-01-04", "people": people}]},
            )
        )
        check_sums(sheet, records)
        assert account_of(sheet, records)["ASM"].get("idle", 0) == pytest.approx(8 * people)


def test_a_night_shift_is_one_date() -> None:
    """F3, F60: whole shifts only: nobody on the date of 4 January means nobody until 06:00 of the 5th; the shift of the
    5th is whole."""
    night = {"shifts": {"night": {"work": ["22:00-02:00", "02:30-06:30"]}}}
    scenario = plant(
        [{"id": "A", "packages": [work("a", "ASM", 6)]}],
        {"ASM": {"people": 1}},
        known={"present": [{"trade": "ASM", "date": "2027-01-04", "people": 0}]},
        **night,
    )
    assert closed(scenario) == {"S1 a": "06 04:30"}
    # on Friday all 8 hours, into Saturday
    scenario = plant(
        [{"id": "A", "packages": [work("a", "ASM", 8)]}],
        {"ASM": {"people": 1}},
        launches={"moments": ["2027-01-08 06:00"]},
        **night,
    )
    # half an hour is left of Thursday's shift when it is launched
    assert closed(scenario) == {"S1 a": "09 06:00"}


def test_the_night_before_the_start_has_people_too() -> None:
    """F3: the shift of the evening before the start runs into the first day: 00:00 to 02:00 and 02:30 to 06:30."""
    scenario = plant(
        [{"id": "A", "packages": [work("a", "ASM", 6)]}],
        {"ASM": {"people": 1}},
        start="2027-01-05",
        shifts={"night": {"work": ["22:00-02:00", "02:30-06:30"]}},
        attendance={"absence": {"share": 0}},
        launches={"moments": ["2027-01-05 00:00"]},
    )
    assert closed(scenario) == {"S1 a": "05 06:30"}


def test_nobody_there_is_waiting_for_people() -> None:
    """F60: capacity may be 0; then work waits for people, never an error."""
    from linesim.line.records import State
    from linesim.measures.ledger import Ledger

    scenario = plant(
        [{"id": "A", "packages": [work("a", "ASM", 1)]}],
        {"ASM": {"people": 2}},
        end="2027-01-08",
        attendance={"absence": {"share": 1}},
    )
    sheet, records = run(scenario)
    assert Ledger(sheet, records).of(0) == {State.PEOPLE: pytest.approx(40), State.OFF_SHIFT: pytest.approx(74)}


# an effect of size zero is no effect (F111) ------------------------------------------------------------------------
BUSY = {
    "positions": [
        {
            "id": "A",
            "docks": 2,
            "packages": [
                work("a", "ASM", {"lognormal": {"mean": 9, "cv": 0.5}}, crew_max=3, torque=True),
                work("r", "RIG", {"lognormal": {"mean": 5, "cv": 0.5}}, crew=2, inspection_hours=1),
            ],
        },
        {
            "id": "B",
            "parking": 1,
            "packages": [
                work("b", "ASM", {"exponential": 6}, crew_max=2, torque=True),
                {"id": "q", "kind": "buy-off", "trade": "INS", "hours": 0.5},
            ],
        },
    ],
    "trades": {"ASM": {"people": {"day": 3, "night": 1}}, "RIG": {"people": 3}, "INS": {"people": 1}},
    "shifts": {"day": DAY, "night": {"work": ["16:00-20:00", "20:30-00:30"]}},
    "parts": {"short_chance": 0.1, "delay_work_days": {"exponential": 1}},
    "launches": {"takt_work_days": 0.75},
    "orders": [{"serial": f"S{n:02d}", "promised": f"2027-01-{n + 10}"} for n in range(20)],
    "end": "2027-03-31",
}
ALL_ON = {
    "absence": {"share": 0.1, "spell_shifts": 2},
    "leave": {"weeks": 4, "in_blocks": True},
    "training_share": 0.05,
    "turnover": {"annual_share": 0.4, "time_to_hire_work_days": 10},
    "overtime": {"trades": ["ASM"], "max_hours_per_week": 8, "trigger_work_days_late": 2},
    "proficiency": {"start": 0.5, "weeks_to_full": 6, "trainer_drain": 0.1},
}


def busy(**changes: Any) -> Scenario:
    declared = {**BUSY, **changes}
    return plant(declared.pop("positions"), declared.pop("trades"), declared.pop("orders"), **declared)


def what_happened(scenario: Scenario, replication: int = 2) -> list[Any]:
    sheet, records = run(scenario, replication)
    check_sums(sheet, records)
    return [
        records.segments,
        records.closings,
        records.visits,
        records.launches,
        records.delivered,
        records.overtime,
        account_of(sheet, records),
    ]


@pytest.mark.parametrize(
    ("effect", "nothing"),
    [
        ("absence", {"share": 0}),
        ("absence", {"share": 0, "spell_shifts": 3}),
        ("leave", {"share": 0}),
        ("leave", {"weeks": 0, "in_blocks": True}),
        ("training_share", 0),
        ("turnover", {"annual_share": 0, "time_to_hire_work_days": 10}),
        ("overtime", {"trades": ["ASM"], "max_hours_per_week": 8, "trigger_work_days_late": 900}),
        ("overtime", {"trades": ["ASM"], "max_hours_per_week": 1, "trigger_work_days_late": 1}),
        ("proficiency", {"start": 1, "weeks_to_full": 6, "trainer_drain": 0.5}),
    ],
)
@pytest.mark.parametrize("others", [{}, ALL_ON])
def test_an_effect_of_no_size_is_the_run_without_it(effect: str, nothing: Any, others: dict[str, Any]) -> None:
    """F111: switching an effect off leaves all other draws: record by record, alone and among all other effects."""
    rest = {key: value for key, value in others.items() if key != effect}
    off = what_happened(busy(attendance={**rest, effect: nothing}))
    assert off == what_happened(busy(**({"attendance": rest} if rest else {})))
    if rest and effect != "proficiency":
        assert off != what_happened(busy(attendance=others))


def test_everybody_in_full_is_the_run_with_the_roster() -> None:
    """F120: facts that say what would be so anyway change nothing."""
    facts = [
        {"trade": "ASM", "shift": shift, "date": f"2027-01-{day:02d}", "people": n}
        for day in range(4, 30)
        for shift, n in (("day", 3), ("night", 1))
        if date(2027, 1, day).weekday() < 5
    ]
    assert what_happened(busy(known={"present": facts})) == what_happened(busy())


# paid hours ------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("rules", "paid", "absent"),
    [
        ({"absence": {"share": 1}}, 80, 80),
        ({"absence": {"share": 1, "paid": False}}, 0, 0),
        ({"leave": {"share": 1}}, 80, 80),
        ({"leave": {"share": 1, "paid": False}}, 0, 0),
        ({"leave": {"share": 1, "paid": False}, "absence": {"share": 1}}, 0, 0),
        ({"absence": {"share": 1, "paid": False}, "training_share": 1}, 0, 0),
    ],
)
def test_leave_and_absence_are_paid_unless_said(rules: dict[str, Any], paid: float, absent: float) -> None:
    """F61: two people, five days of 8 h; the first that hits decides what is paid."""
    sheet, records = run(idle({"ASM": 2}, rules, end="2027-01-08"))
    account = account_of(sheet, records)["ASM"]
    assert (account.get("paid", 0), account.get("absent", 0)) == (paid, absent)


def test_training_days_are_paid_and_trained() -> None:
    """F61: with checks and meetings of that day inside."""
    sheet, records = run(
        idle(
            {"ASM": 2},
            {"training_share": 1},
            end="2027-01-08",
            shifts={"day": {"start": "06:00", "end": "14:30", "meal": "10:00-10:30", "meeting_minutes": 15}},
        )
    )
    assert account_of(sheet, records)["ASM"] == {"paid": 80, "trained": 80}


def test_a_seat_that_nobody_fills_is_not_paid() -> None:
    """F63, F108: per person: all leave on Monday, replacements come on Thursday."""
    sheet, records = run(
        idle({"ASM": 2}, {"turnover": {"annual_share": 1, "time_to_hire_work_days": 2}}, end="2027-01-08")
    )
    assert account_of(sheet, records)["ASM"] == {"paid": 2 * 2 * 8, "idle": 2 * 2 * 8}


def random_plant(draw: random.Random) -> Scenario:
    """Two or three places, three trades on one or two shifts, a flight line with pilots, all effects of people, tools
    by chance."""

    def some(value: Any, chance: float = 0.5) -> Any:
        return value if draw.random() < chance else None

    gross = {
        "start": "06:00",
        "end": "14:30",
        "meal_minutes": 30,
        "paid_break_minutes": 30,
        "meeting_minutes": 10,
        "clean_down_minutes": 10,
    }
    shifts = {"day": gross, "night": {"start": "22:00", "end": "06:30", "meal_minutes": 30}}
    cover = {"RIG": 0.8, "FLM": 0.5} if draw.random() < 0.6 else {}
    trades = {
        "ASM": {"people": {"day": draw.randint(1, 4), "night": draw.randint(0, 2)}, "cover": cover},
        "RIG": {"people": {"day": draw.randint(1, 4)}, "reserve": draw.random() < 0.3},
        "FLM": {"people": {"day": draw.randint(1, 2), "night": 1}, "cover": {"RIG": 0.7}},
        "INS": {"people": 1},
        "PIL": {"people": draw.randint(1, 2)},
    }
    if draw.random() < 0.5:
        trades["RIG"]["headcount_steps"] = [
            {
                "from": f"2027-{draw.randint(1, 3)}-15".replace("-1-", "-01-")
                .replace("-2-", "-02-")
                .replace("-3-", "-03-"),
                "shift": "day",
                "people": draw.randint(0, 5),
            }
        ]
    places = [
        {
            "id": f"P{n}",
            "docks": draw.randint(1, 2),
            **({"shifts": ["day"]} if draw.random() < 0.3 else {}),
            "packages": [
                {
                    "id": f"p{n}{k}",
                    "trade": draw.choice(["ASM", "RIG", "FLM"]),
                    "torque": True,
                    "hours": {"exponential": draw.randint(1, 20)},
                    "crew_min": 1 + (k == 2),
                    "crew_max": draw.randint(2, 4),
                    "inspection_hours": draw.choice([0, 0.5]),
                    **({"after": []} if draw.random() < 0.6 else {}),
                }
                for k in range(3)
            ],
        }
        for n in range(draw.randint(1, 2))
    ]
    places.append(
        {
            "id": "FL",
            "docks": 2,
            "flights": {
                "pilots": "PIL",
                "pilot_hours": draw.choice([3, 5.5]),
                "flight_hours": 2,
                "mechanics": "FLM",
                "preflight_hours": 1,
                "min_flights": draw.randint(1, 3),
                "squawks": {"mean_by_flight": [2, 1], "trades": {"FLM": 1, "RIG": 1}, "fix_hours": {"exponential": 2}},
            },
        }
    )
    overtime = {
        "trades": draw.choice([["ASM"], ["ASM", "RIG", "INS"], ["FLM", "RIG"]]),
        "max_hours_per_week": draw.choice([5, 8, 10]),
        "trigger_work_days_late": draw.choice([0, 3]),
        "when": draw.choice(["end of day", "Saturday"]),
        "extra_hours_only": draw.random() < 0.4,
        "effect_by_weekly_hours": {"50": 0.9},
        **draw.choice([{}, {"people": 1}]),
    }
    attendance = {
        "absence": some({"share": 0.1, "paid": draw.random() < 0.7}),
        "leave": some({"weeks": 5, "in_blocks": draw.random() < 0.6, "paid": draw.random() < 0.7}),
        "training_share": some(0.05),
        "turnover": some({"annual_share": 0.5, "time_to_hire_work_days": 12}),
        "overtime": some(overtime, 0.7),
        "proficiency": some({"start": 0.5, "weeks_to_full": 8, "trainer_drain": 0.1}),
    }
    tools = {
        "start_check_minutes": 10,
        "end_check_minutes": 5,
        "missing_tool": some({"chance": 0.05, "search_hours": 2}),
        "torque_recall": some({"chance": 0.05, "hours": 1, "extra_minutes": draw.choice([0, 5])}),
    }
    return plant(
        places,
        trades,
        [{"serial": f"S{n:02d}", "promised": f"2027-0{1 + n // 10}-{10 + n % 10}"} for n in range(20)],
        shifts=shifts,
        launches={"takt_work_days": 1.5},
        attendance={key: value for key, value in attendance.items() if value is not None},
        tool_control={key: value for key, value in tools.items() if value is not None},
        work_rules={
            "share": draw.choice(["maximum first", "minimum first"]),
            "crew_grows": draw.random() < 0.8,
            "reserve": draw.random() < 0.2,
        },
        calendar={"closed": ["2027-01-06", "2027-02-15"]},
        end="2027-03-31",
        run_on_months=draw.choice([0, 1]),
    )


def expected_paid(scenario: Scenario, records: Records, hours: dict[str, float]) -> dict[str, float]:
    """Paid hours by trade from who was there and who stayed longer, up to the end."""
    last, rules = (scenario.end - START).days, scenario.attendance
    paid_leave = rules is None or rules.leave is None or rules.leave.paid
    paid_absence = rules is None or rules.absence is None or rules.absence.paid
    found = dict.fromkeys(scenario.trades, 0.0)
    for (trade, shift), row in records.attended.items():
        for n, day in enumerate(row.days):
            if day <= last:
                heads = row.present[n] + row.in_training[n]
                found[trade] += hours[shift] * (heads + row.on_leave[n] * paid_leave + row.absent[n] * paid_absence)
    for extra in records.overtime:
        found[extra.trade] += extra.people * extra.paid / 60 * (extra.day <= last)
    return found


@pytest.mark.parametrize("seed", range(24))
def test_every_paid_hour_is_accounted_for(seed: int) -> None:
    """F108: per trade and month the uses sum to what is paid and none is below 0; what is paid is who was there, and a
    flight block over the meal adds paid time; no trade has more people at work than are there (F60)."""
    scenario = random_plant(random.Random(seed))
    sheet, records = run(scenario, seed)
    check_sums(sheet, records)
    check_heads(sheet, records)
    account = account_of(sheet, records)
    expected = expected_paid(scenario, records, {"day": 8.0, "night": 8.0})
    counted = {trade for trade, _ in records.attended}
    for trade, hours in expected.items():
        if trade in counted and trade != "PIL":
            assert account[trade].get("paid", 0) == pytest.approx(hours, abs=1e-6), trade
    if "PIL" in counted:
        assert account["PIL"]["paid"] >= expected["PIL"] - 1e-6
    assert records.launches
