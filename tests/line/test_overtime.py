"""F64: when longer days or Saturdays are worked, by whom, how long, and what they yield.

The plant: eight hours a day from 06:00, one late aircraft that only stands there, and work that shows the hours. The
start is Monday 28 December 2026; the week of 4 January is the first that may be late.
"""

from __future__ import annotations

import random
import sys
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from small_plants import DAY, account_of, check_sums, closed, crews, plant, run, work

from linesim.line.records import Records, State
from linesim.line.sheet import Sheet
from linesim.measures.ledger import Ledger
from linesim.scenario.scenario import Scenario

START = "2026-12-28"
RULE = {"trades": ["ASM"], "max_hours_per_week": 10, "trigger_work_days_late": 1}
# 15 minutes each of check, meeting, clean-down, check: work 06:30-10:00 and 10:30-14:00, paid 8 h
GROSS = {"start": "06:00", "end": "14:30", "meal": "10:00-10:30", "meeting_minutes": 15, "clean_down_minutes": 15}
CHECKS = {"start_check_minutes": 15, "end_check_minutes": 15}


def late_plant(
    packages: list[dict[str, Any]],
    rule: dict[str, Any],
    people: int = 1,
    promised: str = "2026-12-29",
    moment: str = "2027-01-04 06:00",
    stands: float = 2000,
    **more: Any,
) -> Scenario:
    """S0 stands in H for `stands` hours; S1 is launched at `moment` and has the packages."""
    declared: dict[str, Any] = {"start": START, "attendance": {"overtime": {**RULE, **rule}}, **more}
    return plant(
        [
            {
                "id": "A",
                "docks": 2,
                "packages": [
                    {"id": "wait", "kind": "hold", "elapsed_hours": stands, "after": [], "models": ["M0"]},
                    *({**p, "models": ["M1"]} for p in packages),
                ],
            }
        ],
        declared.pop("trades", {"ASM": {"people": people}}),
        [{"serial": "S0", "model": "M0", "promised": promised}, {"serial": "S1", "model": "M1"}],
        launches={"moments": [f"{START} 06:00", moment]},
        **declared,
    )


def days_with_overtime(scenario: Scenario) -> list[str]:
    """Shift dates on which anybody works overtime."""
    sheet, records = run(scenario)
    check_sums(sheet, records)
    return sorted({dated(sheet, extra.day) for extra in records.overtime if extra.people and extra.paid})


def dated(sheet: Sheet, day: int) -> str:
    return sheet.calendar.wall_text(sheet.calendar.midnights[day])[5:10]


def hours_of(scenario: Scenario) -> tuple[Sheet, Records, list[tuple[str, str]]]:
    """Stretches of work of `a` on the clock."""
    sheet, records = run(scenario)
    check_sums(sheet, records)
    text = sheet.calendar.wall_text
    return sheet, records, [(text(60 * a)[8:], text(60 * b)[8:]) for a, b, *_ in crews(records, "a")]


# longer days -----------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("cap", "hours", "expected"),
    [
        (10, 9.0, "04 16:00"),  # 2 h a day: work to 16:00, clean-down to 16:15, check to 16:30
        (10, 9.5, "05 07:00"),
        (8, 8.5, "04 15:30"),  # 8 / 5 = 1.6, down to 1.5
        (8, 9.0, "05 07:00"),
        (1, 7.0, "04 14:00"),  # 0.2, down to none
        (1, 7.5, "05 07:00"),
    ],
)
def test_the_day_is_longer_by_a_fifth_of_the_cap(cap: float, hours: float, expected: str) -> None:
    """F64: the weekly cap / 5, rounded down to a quarter hour, at the end of each day; clean-down and check move
    back, so work goes on without a gap at 14:00."""
    scenario = late_plant(
        [work("a", "ASM", hours)], {"max_hours_per_week": cap}, shifts={"day": GROSS}, tool_control=CHECKS
    )
    assert closed(scenario)["S1 a"] == expected


def test_the_whole_of_each_day_of_the_week_is_worked() -> None:
    """F64: every shift date of the week, none of the week before."""
    sheet, records, spans = hours_of(
        late_plant([work("a", "ASM", 27)], {}, shifts={"day": GROSS}, tool_control=CHECKS, end="2027-01-08")
    )
    assert spans == [("04 06:30", "04 16:00"), ("05 06:30", "05 16:00"), ("06 06:30", "06 16:00")]
    # paid: 4 work days of the first week (1 January is a Friday and worked), then 5 of 10 hours
    assert account_of(sheet, records)["ASM"] == {
        "paid": pytest.approx(40 + 50),
        "worked": pytest.approx(27),
        "checked": pytest.approx(10 * 0.5),
        "breaks and meetings": pytest.approx(10 * 0.5),
        "idle": pytest.approx(10 * 7 + 10 - 27),
    }


def test_overtime_hours_are_paid_hours_also_when_idle() -> None:
    """F108: overtime hours are paid hours: two people, nothing to do."""
    sheet, records = run(late_plant([], {}, people=2, end="2027-01-10"))
    check_sums(sheet, records)
    assert account_of(sheet, records)["ASM"] == {"paid": pytest.approx(2 * (80 + 10)), "idle": pytest.approx(180)}


def test_a_shift_over_midnight_is_longer_too() -> None:
    """F3: hours after midnight belong to the date on which the shift starts: 22:00 to 06:00 becomes 08:00."""
    scenario = late_plant([work("a", "ASM", 10)], {}, shifts={"night": {"work": ["22:00-06:00"]}})
    assert closed(scenario)["S1 a"] == "05 08:00"


def test_the_last_day_of_a_night_shifts_week_runs_into_saturday() -> None:
    """F3: Friday's night shift of an overtime week ends on Saturday at 08:00, and Sunday has none."""
    scenario = late_plant([work("a", "ASM", 51)], {}, shifts={"night": {"work": ["22:00-06:00"]}})
    # five nights of 10 hours, to Saturday 08:00; the 51st on Monday evening
    assert closed(scenario)["S1 a"] == "11 23:00"


# who stays -------------------------------------------------------------------------------------------------------
def test_only_so_many_stay() -> None:
    """F64 `people: n`, F30: at 14:30 the crew of 3 is cut to 1 and goes on: 24 + 2 h, then 3 an hour."""
    assert closed(late_plant([work("a", "ASM", 29, crew_max=3)], {"people": 1}, people=3))["S1 a"] == "05 07:00"


def test_a_crew_under_its_minimum_is_put_down_at_the_normal_end() -> None:
    """F30: running packages in order F31: a (exactly 2) does not fit, b keeps its one."""
    packages = [work("a", "ASM", 40, crew=2), work("b", "ASM", 10)]
    _sheet, _records, spans = hours_of(late_plant(packages, {"people": 1}, people=3))
    assert spans[:2] == [("04 06:00", "04 14:30"), ("05 06:00", "05 14:30")]
    assert closed(late_plant(packages, {"people": 1}, people=3))["S1 b"] == "04 16:30"


def test_those_who_fit_are_taken_in_order() -> None:
    """F30: a, first in order, keeps 2; b (2) is cut to the one left; the next morning both have 2 again."""
    packages = [work("a", "ASM", 22, crew_max=2), work("b", "ASM", 20, crew_max=2)]
    # a 16 + 4 on Monday, 1 h on Tuesday; b 16 + 2, then 1 h
    assert dict(closed(late_plant(packages, {"people": 3}, people=4)).items()) == {
        "S1 a": "05 07:00",
        "S1 b": "05 07:00",
    }


def test_no_more_stay_than_are_there() -> None:
    """F60, F64: two may stay, one is there."""
    scenario = late_plant(
        [work("a", "ASM", 40, crew_max=3)],
        {"people": 2},
        people=3,
        known={"present": [{"trade": "ASM", "date": "2027-01-04", "people": 1}]},
        end="2027-01-05",
    )
    _, records = run(scenario)
    assert [extra.people for extra in records.overtime] == [1, 2]


def test_other_trades_go_home() -> None:
    """F64: trades named. RIG's r stops at 14:30."""
    scenario = late_plant(
        [work("a", "ASM", 9), work("r", "RIG", 9)], {}, trades={"ASM": {"people": 1}, "RIG": {"people": 1}}
    )
    assert closed(scenario) == {"S1 a": "04 15:30", "S1 r": "05 07:00"}


def test_a_place_with_own_hours_stays_open_for_its_shift() -> None:
    """F8, F64: work in a place that names the shift goes on in its overtime; in one that names another it does not."""
    for shifts, expected in ((["day"], "04 16:30"), (["early"], "05 08:00")):
        scenario = late_plant([], {})
        scenario = plant(
            [
                {
                    "id": "A",
                    "docks": 2,
                    "shifts": shifts,
                    "packages": [
                        {"id": "wait", "kind": "hold", "elapsed_hours": 2000, "after": [], "models": ["M0"]},
                        work("a", "ASM", 10, models=["M1"]),
                    ],
                }
            ],
            {"ASM": {"people": {"day": 1}}},
            [{"serial": "S0", "model": "M0", "promised": "2026-12-29"}, {"serial": "S1", "model": "M1"}],
            launches={"moments": [f"{START} 06:00", "2027-01-04 06:00"]},
            start=START,
            shifts={"day": DAY, "early": DAY},
            attendance={"overtime": RULE},
        )
        assert closed(scenario)["S1 a"] == expected


# Saturdays -------------------------------------------------------------------------------------------------------
SATURDAY = {"when": "Saturday", "max_hours_per_week": 8}


def test_a_saturday_is_a_day_more() -> None:
    """F64: on Saturday if so set: five days of 8 hours and Saturday: 48 hours, then nothing till Monday."""
    assert closed(late_plant([work("a", "ASM", 48)], SATURDAY))["S1 a"] == "09 14:30"
    assert closed(late_plant([work("a", "ASM", 49)], SATURDAY))["S1 a"] == "11 07:00"


def test_the_cap_cuts_the_saturday() -> None:
    """F64: the cap per person and week is hard: 5 hours of Saturday, 06:00 to 10:00 and 10:30 to 11:30."""
    rule = {**SATURDAY, "max_hours_per_week": 5}
    assert closed(late_plant([work("a", "ASM", 45)], rule))["S1 a"] == "09 11:30"
    assert closed(late_plant([work("a", "ASM", 46)], rule))["S1 a"] == "11 07:00"


def test_a_closed_saturday_is_not_worked() -> None:
    """F3: a closed date has no shifts."""
    scenario = late_plant([work("a", "ASM", 41)], SATURDAY, calendar={"closed": ["2027-01-09"]})
    assert closed(scenario)["S1 a"] == "11 07:00"
    assert days_with_overtime(scenario)[0] == "01-16"


def test_a_saturday_is_paid_whole() -> None:
    """F108: with checks and meeting, as every shift."""
    sheet, records = run(late_plant([], SATURDAY, shifts={"day": GROSS}, tool_control=CHECKS, end="2027-01-10"))
    check_sums(sheet, records)
    assert account_of(sheet, records)["ASM"] == {
        "paid": pytest.approx(88),
        "checked": pytest.approx(5.5),
        "breaks and meetings": pytest.approx(5.5),
        "idle": pytest.approx(77),
    }


def test_people_n_on_a_saturday() -> None:
    """F64: only so many come."""
    scenario = late_plant([work("a", "ASM", 130, crew_max=3)], {**SATURDAY, "people": 1}, people=3)
    # 120 by Friday, 8 on Saturday, 2 left for 3
    assert closed(scenario)["S1 a"] == "11 06:40"


def test_a_place_with_own_hours_is_open_on_that_saturday() -> None:
    """F8, F64: a place that names the shift is open on its extra Saturday."""
    scenario = plant(
        [
            {
                "id": "A",
                "docks": 2,
                "shifts": ["day"],
                "packages": [
                    {"id": "wait", "kind": "hold", "elapsed_hours": 2000, "after": [], "models": ["M0"]},
                    work("a", "ASM", 48, models=["M1"]),
                ],
            }
        ],
        {"ASM": {"people": {"day": 1}}},
        [{"serial": "S0", "model": "M0", "promised": "2026-12-29"}, {"serial": "S1", "model": "M1"}],
        launches={"moments": [f"{START} 06:00", "2027-01-04 06:00"]},
        start=START,
        attendance={"overtime": {**RULE, **SATURDAY}},
    )
    assert closed(scenario)["S1 a"] == "09 14:30"


def test_a_plant_that_works_saturdays_has_no_other_one() -> None:
    """F64: Saturday is a normal shift date there: nothing more is worked or paid."""
    scenario = late_plant(
        [work("a", "ASM", 48)], SATURDAY, calendar={"work_weekdays": ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat"]}
    )
    assert days_with_overtime(scenario) == []
    assert closed(scenario)["S1 a"] == "09 14:30"


# the decision ----------------------------------------------------------------------------------------------------
WEEK_1, WEEK_2 = [f"01-{n:02d}" for n in range(4, 9)], [f"01-{n:02d}" for n in range(11, 16)]


@pytest.mark.parametrize(
    ("promised", "n", "called"),
    [
        ("2026-12-31", 1, True),  # Friday 1 January is one work day past it on Monday morning
        ("2026-12-31", 1.5, False),
        ("2026-12-30", 2, True),
        ("2026-12-30", 3, False),
        ("2027-01-01", 0, True),
        ("2027-01-01", 0.5, False),
        ("2027-01-04", 0, False),
    ],
)
def test_at_least_so_many_work_days_past_the_promise(promised: str, n: float, called: bool) -> None:
    """F64: the undelivered launched aircraft with the earliest promise is at least N work days past it, at the first
    shift of the week."""
    found = days_with_overtime(late_plant([], {"trigger_work_days_late": n}, promised=promised, end="2027-01-09"))
    assert found == (WEEK_1 if called else [])


def test_work_days_past_leave_out_closed_dates() -> None:
    """F7, F64: with New Year's Day closed, 31 December is 0 work days ago on Monday morning."""
    closed_day = {"calendar": {"closed": ["2027-01-01"]}, "end": "2027-01-09", "promised": "2026-12-31"}
    assert days_with_overtime(late_plant([], {"trigger_work_days_late": 0.5}, **closed_day)) == []
    assert days_with_overtime(late_plant([], {"trigger_work_days_late": 0}, **closed_day)) == WEEK_1


def test_a_promise_before_the_start_is_late_at_the_start() -> None:
    """F64: an aircraft promised four weeks before the start of the run is late in its first week."""
    scenario = late_plant(
        [work("a", "ASM", 20)],
        {},
        promised="2026-12-01",
        moment=f"{START} 06:00",
        calendar={"closed": ["2027-01-01"]},
        trades={"ASM": {"people": 1}},
    )
    scenario = scenario.model_copy(
        update={
            "launches": scenario.launches.model_copy(
                update={"moments": tuple(m.replace(hour=0) for m in scenario.launches.moments or ())}
            )
        }
    )
    assert closed(scenario)["S1 a"] == "29 16:30"


def test_decided_for_the_whole_week() -> None:
    """F64: S0 leaves on Monday at 10:00 (172 h after its launch): the week's overtime stays, the next week has none."""
    assert days_with_overtime(late_plant([], {}, stands=172, end="2027-01-16")) == WEEK_1


def test_an_aircraft_late_from_tuesday_on_waits_for_the_next_week() -> None:
    """F64: decided at the first shift of each week."""
    assert days_with_overtime(late_plant([], {}, promised="2027-01-04", end="2027-01-16")) == WEEK_2


def test_the_first_shift_of_a_week_may_be_tuesdays() -> None:
    """F64: Monday closed: decided on Tuesday at 06:00, when S0 is gone (it leaves on Monday at 10:00)."""
    shut = {"calendar": {"closed": ["2027-01-04"]}, "end": "2027-01-09"}
    assert days_with_overtime(late_plant([], {}, stands=172, **shut)) == []
    assert days_with_overtime(late_plant([], {}, stands=200, **shut)) == WEEK_1[1:]


def test_a_run_that_starts_inside_a_week() -> None:
    """F64: the first shift of that week decides: Wednesday; S0, promised Tuesday, is not a work day late before the
    next week."""
    found = days_with_overtime(late_plant([], {}, start="2026-12-30", promised="2026-12-29", end="2027-01-09"))
    assert found == ["12-30", "12-31", "01-01", *WEEK_1] or found == WEEK_1


def test_an_aircraft_that_is_not_launched_is_not_counted() -> None:
    """F64: the undelivered launched aircraft."""
    scenario = plant(
        [{"id": "A", "packages": [{"id": "wait", "kind": "hold", "elapsed_hours": 2000}]}],
        {"ASM": {"people": 1}},
        [{"serial": "S0"}, {"serial": "S1", "promised": "2026-12-29"}],
        launches={"moments": [f"{START} 06:00"] * 2},
        start=START,
        attendance={"overtime": RULE},
    )
    assert days_with_overtime(scenario) == []


def test_the_earliest_promise_counts() -> None:
    """F64: the aircraft with the earliest promise, not the first launched."""
    scenario = plant(
        [{"id": "A", "docks": 2, "packages": [{"id": "wait", "kind": "hold", "elapsed_hours": 2000}]}],
        {"ASM": {"people": 1}},
        [{"serial": "S0", "promised": "2027-03-01"}, {"serial": "S1", "promised": "2026-12-29"}],
        launches={"moments": [f"{START} 06:00"] * 2},
        start=START,
        end="2027-01-09",
        attendance={"overtime": RULE},
    )
    assert days_with_overtime(scenario) == WEEK_1


def behind_plant(
    n: float, launches: dict[str, Any], orders: int = 20, docks: int = 1, hours: float = 1000, **more: Any
) -> Scenario:
    return plant(
        [{"id": "A", "docks": docks, "packages": [{"id": "wait", "kind": "hold", "elapsed_hours": hours}]}],
        {"ASM": {"people": 1}},
        [{"serial": f"S{k}"} for k in range(orders)],
        launches=launches,
        start=START,
        **{
            "end": "2027-01-09",
            "attendance": {
                "overtime": {"trades": ["ASM"], "max_hours_per_week": 10, "trigger_launches_behind_work_days": n}
            },
            **more,
        },
    )


@pytest.mark.parametrize(("n", "called"), [(4, True), (4.5, False), (20, False)])
def test_launches_behind_plan(n: float, called: bool) -> None:
    """F64 option: the second launch, planned on Tuesday 29 December at 06:00, is not made on Monday 4 January: four
    work days."""
    assert days_with_overtime(behind_plant(n, {"takt_work_days": 1})) == (WEEK_1 if called else [])


def test_listed_launches_behind_plan() -> None:
    """F40, F64 option: a list of planned moments is a plan as well: the second is four work days behind."""
    moments = [f"2026-12-{day} 06:00" for day in (28, 29)]
    assert days_with_overtime(behind_plant(4, {"moments": moments}, orders=2)) == WEEK_1
    assert days_with_overtime(behind_plant(4.5, {"moments": moments}, orders=2)) == []


def test_all_orders_launched_is_not_behind() -> None:
    """F64, F117: two orders, both launched when planned; slots that nobody bought are held: no launch is behind."""
    assert days_with_overtime(behind_plant(1, {"takt_work_days": 1}, orders=2, docks=2, end="2027-01-23")) == []


def test_launches_on_plan_are_not_behind() -> None:
    """F64 option: every launch is made when planned; the one planned in this very minute is not behind."""
    assert days_with_overtime(behind_plant(0.5, {"takt_work_days": 1}, docks=20)) == []


# what the hours yield --------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("rule", "hours", "expected"),
    [
        # 40 + 10 h scheduled; 0.8 of an hour's work in all hours: 8 h a day
        ({"effect_by_weekly_hours": {"50": 0.8}}, 8, "04 16:30"),
        ({"effect_by_weekly_hours": {"50": 0.8}}, 4, "04 11:30"),
        # straight line from 1.0 at 40 to 0.7 at 60: 0.85
        ({"effect_by_weekly_hours": {"60": 0.7}}, 8.5, "04 16:30"),
        # last value beyond
        ({"effect_by_weekly_hours": {"44": 0.95, "45": 0.9}}, 9, "04 16:30"),
        # between two points: 0.9 at 48, 0.5 at 52: 0.7
        ({"effect_by_weekly_hours": {"52": 0.5, "48": 0.9}}, 7, "04 16:30"),
        # the extra hours only: 8 + 2 x 0.8
        ({"effect_by_weekly_hours": {"50": 0.8}, "extra_hours_only": True}, 9.6, "04 16:30"),
        ({"effect_by_weekly_hours": {"50": 0.8}, "extra_hours_only": True}, 8, "04 14:30"),
        ({"effect_by_weekly_hours": {"50": 0.8}, "extra_hours_only": True}, 8.8, "04 15:30"),
        ({"effect_by_weekly_hours": {"50": 0.8}, "extra_hours_only": True}, 10.6, "05 07:00"),
        # Saturday: 48 h
        ({**SATURDAY, "effect_by_weekly_hours": {"48": 0.5}}, 4, "04 14:30"),
        ({**SATURDAY, "effect_by_weekly_hours": {"48": 0.5}}, 24, "09 14:30"),
        ({**SATURDAY, "effect_by_weekly_hours": {"48": 0.5}, "extra_hours_only": True}, 44, "09 14:30"),
        ({**SATURDAY, "effect_by_weekly_hours": {"48": 0.5}, "extra_hours_only": True}, 45, "11 07:00"),
    ],
)
def test_effect_of_long_weeks(rule: dict[str, Any], hours: float, expected: str) -> None:
    """F64: effect by scheduled weekly hours, for all hours of that week or for the extra hours only."""
    assert closed(late_plant([work("a", "ASM", hours)], rule))["S1 a"] == expected


def test_the_effect_of_a_week_with_a_holiday() -> None:
    """F64: scheduled weekly hours: four days of 10 hours are 40: no effect; with five days it would be 0.8."""
    scenario = late_plant(
        [work("a", "ASM", 10)], {"effect_by_weekly_hours": {"50": 0.8}}, calendar={"closed": ["2027-01-06"]}
    )
    assert closed(scenario)["S1 a"] == "04 16:30"


def test_the_effect_ends_with_the_week() -> None:
    """F64: for all hours of that week: a begun in an overtime week at 0.8 goes on at 1 in the next."""
    scenario = late_plant([work("a", "ASM", 44)], {"effect_by_weekly_hours": {"50": 0.8}}, stands=172)
    assert closed(scenario)["S1 a"] == "11 10:00"  # 40 by Friday, 4 on Monday


def test_a_part_of_the_trade_with_extra_hours_only() -> None:
    """F30, F64: one of two stays; in the extra hours the crew of one works at 0.8: 16 + 1.6, then 2 an hour."""
    rule = {"people": 1, "effect_by_weekly_hours": {"50": 0.8}, "extra_hours_only": True}
    assert closed(late_plant([work("a", "ASM", 19.6, crew_max=2)], rule, people=2))["S1 a"] == "05 07:00"


@pytest.mark.parametrize(("longer", "hours", "expected"), [
    (["ASM", "RIG"], 14.4, "04 16:30"),  # 8 h of 1 and a half, 2 h of 0.8 and half of 0.8
    (["ASM", "RIG"], 13.2, "04 15:30"),
    (["ASM"], 13.6, "04 16:30")])  # who was lent goes home at the normal end
def test_who_is_lent_is_tired_in_the_extra_hours_too(longer: list[str], hours: float, expected: str) -> None:
    """F33, F64: effectiveness of the lent times that of the cover; the crew's pace changes when the extra hours
    begin."""
    scenario = late_plant(
        [work("a", "ASM", hours, crew_max=2)],
        {"trades": longer, "effect_by_weekly_hours": {"50": 0.8}, "extra_hours_only": True},
        trades={"ASM": {"people": 1, "cover": {"RIG": 0.5}}, "RIG": {"people": 1}},
    )
    assert closed(scenario)["S1 a"] == expected


def test_inspectors_in_overtime_are_slower_too() -> None:
    """F52: effectiveness applies to every labour hour, inspectors' too: a buy-off of 4 h at 0.8 takes 5."""
    scenario = late_plant(
        [work("a", "ASM", 0, inspection_hours=4)],
        {"trades": ["INS"], "effect_by_weekly_hours": {"50": 0.8}},
        trades={"ASM": {"people": 1}, "INS": {"people": 1}},
    )
    assert closed(scenario)["S1 a"] == "04 11:30"


def test_tired_after_some_weeks_and_rested_after_one_without() -> None:
    """F64: after 2 consecutive overtime weeks the extra loss of 0.25 is subtracted from the next week on; a week
    without resets. A package of 4 h each Monday at 06:00 shows the pace of the week."""
    mondays = [
        f"2027-{month:02d}-{day:02d}"
        for month, day in ((1, 4), (1, 11), (1, 18), (1, 25), (2, 1), (2, 8), (2, 15), (2, 22), (3, 1))
    ]
    late = [
        ("L1", "2026-12-29", 5 * 168 + 4.0, f"{START} 06:00"),  # late 4 January, gone on Monday 1 February 10:00
        ("L2", "2027-02-10", 1000, "2027-02-08 06:00"),
    ]  # late from 15 February on
    scenario = plant(
        [
            {
                "id": "A",
                "docks": 12,
                "packages": [
                    *(
                        {"id": f"wait {name}", "kind": "hold", "elapsed_hours": hours, "after": [], "models": [name]}
                        for name, _, hours, _ in late
                    ),
                    work("a", "ASM", 4, models=["W"]),
                ],
            }
        ],
        {"ASM": {"people": 1}},
        [{"serial": late[0][0], "model": "L1", "promised": late[0][1]}]
        + [{"serial": f"W{n}", "model": "W"} for n in range(6)]
        + [{"serial": late[1][0], "model": "L2", "promised": late[1][1]}]
        + [{"serial": f"W{n}", "model": "W"} for n in range(6, 9)],
        launches={
            "moments": [
                late[0][3],
                *(f"{day} 06:00" for day in mondays[:6]),
                late[1][3],
                *(f"{day} 06:00" for day in mondays[6:]),
            ]
        },
        start=START,
        end="2027-03-14",
        attendance={
            "overtime": {
                **RULE,
                "effect_by_weekly_hours": {"50": 1.0},
                "fatigue_after_weeks": 2,
                "extra_loss_after": 0.2,
            }
        },
    )
    found = closed(scenario)
    # at 0.8 four hours take five: 11:30
    ends = [found[f"W{n} a"][3:] for n in range(9)]
    assert ends == ["10:00", "10:00", "11:30", "11:30", "11:30", "10:00", "10:00", "10:00", "11:30"]


# what stays as it was --------------------------------------------------------------------------------------------
def test_overtime_is_no_work_day_of_a_length() -> None:
    """F7: launches by takt and a part a work day late fall where they would without overtime."""

    def moments(rule: dict[str, Any] | None) -> list[tuple[str, str]]:
        scenario = plant(
            [
                {
                    "id": "A",
                    "docks": 30,
                    "packages": [work("a", None, 1), {"id": "wait", "kind": "hold", "elapsed_hours": 2000}],
                }
            ],
            {"ASM": {"people": 1}},
            [{"serial": f"S{n}", "promised": "2026-12-29"} for n in range(20)],
            launches={"takt_work_days": 1.5},
            start=START,
            known={"late_parts": [{"serial": f"S{n}", "package": "a", "work_days": 1.25} for n in range(12)]},
            **({"attendance": {"overtime": rule}} if rule else {}),
        )
        sheet, records = run(scenario)
        text = sheet.calendar.wall_text
        assert bool(records.overtime) == bool(rule)
        return [(text(r.planned), text(r.made)) for r in records.launches] + [
            (records.serials[c.serial], text(c.closed)) for c in records.closings
        ]

    plain = moments(None)
    assert moments(RULE) == plain
    assert moments({**RULE, **SATURDAY}) == plain


def test_waiting_in_overtime_hours_is_for_people() -> None:
    """F106, F64: S1's b waits while a is worked: from 06:00 to the end of overtime for people, at night off shift; work
    of RIG, which goes home, waits off shift."""
    scenario = plant(
        [
            {
                "id": "A",
                "docks": 4,
                "packages": [
                    {"id": "wait", "kind": "hold", "elapsed_hours": 2000, "after": [], "models": ["M0"]},
                    work("a", "ASM", 10, models=["M1"]),
                    work("b", "ASM", 1, models=["M2"]),
                    work("r", "RIG", 9, models=["M1"]),
                    work("s", "RIG", 1, models=["M3"]),
                ],
            }
        ],
        {"ASM": {"people": 1}, "RIG": {"people": 1}},
        [{"serial": f"S{n}", "model": f"M{n}", **({} if n else {"promised": "2026-12-29"})} for n in range(4)],
        launches={"moments": [f"{START} 06:00", *["2027-01-04 06:00"] * 3]},
        start=START,
        attendance={"overtime": RULE},
    )
    sheet, records = run(scenario)
    check_sums(sheet, records)
    ledger = Ledger(sheet, records)
    # b: 06:00-10:00, 10:30-16:30 for people; the meal and 16:30-06:00 off shift; 06:00-07:00 worked
    assert ledger.of(2) == {
        State.PEOPLE: pytest.approx(10),
        State.OFF_SHIFT: pytest.approx(14),
        State.WORK: pytest.approx(1),
    }
    # s: 8 h for people, 15.5 + 0.5 off shift, then r's last hour for people and its own
    assert ledger.of(3) == {
        State.PEOPLE: pytest.approx(9),
        State.OFF_SHIFT: pytest.approx(16),
        State.WORK: pytest.approx(1),
    }


def test_nobody_stays_where_nobody_may() -> None:
    """F64 `people: 0`: overtime is called for and nobody works it: nothing is paid, work ends at 14:30."""
    scenario = late_plant([work("a", "ASM", 9)], {"people": 0}, end="2027-01-09")
    assert closed(scenario)["S1 a"] == "05 07:00"
    sheet, records = run(scenario)
    assert account_of(sheet, records)["ASM"]["paid"] == pytest.approx(80)


def test_never_called_for_overtime_changes_nothing() -> None:
    """F111: declared and never called for: record by record the run without it."""
    packages = [work("a", "ASM", 33, crew_max=2), work("b", "ASM", 7)]
    never = run(late_plant(packages, {"trigger_work_days_late": 500}, people=2))[1]
    without = run(late_plant(packages, {}, people=2).model_copy(update={"attendance": None}))[1]
    for rows in ("segments", "closings", "visits", "launches", "delivered", "overtime"):
        assert getattr(never, rows) == getattr(without, rows), rows


def test_the_cap_is_never_passed() -> None:
    """F64: the cap per person and Monday-Sunday week is hard, in weeks with holidays too, on every shift, over 60
    random plants; and no trade but those named has overtime."""
    draw, seen = random.Random(64), 0
    for _ in range(60):
        cap = draw.choice([1, 3.7, 5, 8, 10, 12.4, 20])
        weekdays = draw.choice(
            [
                None,
                ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat"],
                ["Tue", "Wed", "Thu"],
                ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"],
            ]
        )
        shifts = {"day": draw.choice([DAY, GROSS]), "night": {"work": ["20:00-24:00", "00:30-04:30"]}}
        if weekdays:
            shifts["day"] = {**shifts["day"], "weekdays": weekdays}
        shut = sorted({f"2027-01-{draw.randint(1, 31):02d}" for _ in range(draw.randint(0, 4))})
        rule = {
            "trades": draw.choice([["ASM"], ["ASM", "RIG"]]),
            "max_hours_per_week": cap,
            "when": draw.choice(["end of day", "Saturday"]),
            **draw.choice([{}, {"people": 2}]),
        }
        trades = {"ASM": {"people": {"day": 3, "night": 1}}, "RIG": {"people": {"night": 2}}}
        packages = [
            work(f"p{n}", draw.choice(["ASM", "RIG"]), draw.randint(1, 90), crew_max=draw.randint(1, 4))
            for n in range(6)
        ]
        scenario = late_plant(
            packages,
            rule,
            trades=trades,
            shifts=shifts,
            calendar={"closed": shut},
            attendance={
                "overtime": {**RULE, **rule},
                "absence": {"share": 0.2},
                "leave": {"share": 0.1},
                "training_share": 0.1,
            },
        )
        sheet, records = run(scenario)
        check_sums(sheet, records)
        weeks: dict[tuple[str, str, int], float] = {}
        for extra in records.overtime:
            assert extra.trade in rule["trades"]
            assert extra.people <= min(rule.get("people", 9), trades[extra.trade]["people"][extra.shift])
            key = (extra.trade, extra.shift, extra.day // 7)  # the start is a Monday
            weeks[key] = weeks.get(key, 0.0) + extra.paid / 60
        assert all(hours <= cap + 1e-9 for hours in weeks.values())
        seen += bool(weeks)
    assert seen > 40
