"""Working time against worked examples: shifts, delays, planned moments, the change of clocks."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from linesim.scenario.calendar import WorkCalendar, taken_out, work_blocks
from linesim.scenario.people import Shift, ToolControl
from linesim.scenario.plan import planned_moments
from linesim.scenario.scenario import Scenario

DEMO_SHIFT = {"start": "06:00", "end": "14:30", "meal_minutes": 30, "paid_break_minutes": 30, "meeting_minutes": 12,
              "clean_down_minutes": 12}
CHECKS = {"start_check_minutes": 15, "end_check_minutes": 15}


def calendar(shift: dict = DEMO_SHIFT, checks: dict | None = CHECKS, **changes: object) -> WorkCalendar:
    """Calendar of a plant with one shift."""
    plant = {"name": "calendar", "start": "2027-01-04", "end": "2027-12-31", "shifts": {"day": shift},
             "tool_control": checks, "positions": [{"id": "A"}], "launches": {"takt_work_days": 1}, "orders": []}
    return WorkCalendar(Scenario.model_validate({**plant, **changes}))


def at(plant: WorkCalendar, text: str) -> float:
    """Instant of a wall-clock text."""
    return plant.of_moment(datetime.fromisoformat(text))


def test_demo_shift_has_the_blocks_of_the_rule() -> None:
    """F5: meal in the middle, half the breaks in the middle of each half, rounded down to quarter hours: 6.6 h."""
    shift, checks = Shift.model_validate(DEMO_SHIFT), ToolControl.model_validate(CHECKS)
    blocks = [(387, 465), (480, 600), (630, 735), (750, 843)]
    assert work_blocks(shift, checks) == blocks
    assert sum(b - a for a, b in blocks) == 396


def test_checks_shorten_a_shift_by_exactly_the_declared_minutes() -> None:
    """F66: 6.6 h with the two 15-minute checks, 7.1 h without (X120)."""
    shift = Shift.model_validate(DEMO_SHIFT)
    with_checks = sum(b - a for a, b in work_blocks(shift, ToolControl.model_validate(CHECKS)))
    without = sum(b - a for a, b in work_blocks(shift))
    assert (with_checks / 60, without / 60) == (6.6, 7.1)


def test_every_minute_of_a_paid_shift_is_work_or_taken_out() -> None:
    """F4: start to end is the sum of work, checks, meeting, breaks, meal and clean-down."""
    shift, checks = Shift.model_validate(DEMO_SHIFT), ToolControl.model_validate(CHECKS)
    worked = sum(b - a for a, b in work_blocks(shift, checks))
    assert worked + sum(b - a for _, a, b in taken_out(shift, checks)) == 510


@pytest.mark.parametrize(("start", "work_days", "expected", "closed"), [
    ("2027-01-04 06:27", 0.5, "2027-01-04 10:30", []),
    ("2027-05-27 09:00", 2.5, "2027-06-01 13:03", ["2027-05-31"])])
def test_a_delay_falls_at_the_latest_instant(start: str, work_days: float, expected: str, closed: list) -> None:
    """F6, F7: half a demo day is 10:30, after the meal; 2.5 work days run over a holiday weekend (X007,
    X008)."""
    plant = calendar(calendar={"closed": closed})
    assert plant.wall_text(plant.work_days_later(at(plant, start), work_days)) == expected


@pytest.mark.parametrize(("first", "expected", "closed"), [
    ("2027-01-04 00:00", ["2027-01-04 06:27", "2027-01-08 10:30", "2027-01-15 06:27", "2027-01-21 10:30",
                          "2027-01-28 06:27", "2027-02-03 10:30"], []),
    ("2027-05-25 10:30", ["2027-05-25 10:30", "2027-06-02 06:27", "2027-06-08 10:30", "2027-06-15 06:27"],
     ["2027-05-31"])])
def test_planned_moments_of_a_half_day_takt(first: str, expected: list[str], closed: list) -> None:
    """F40: takt 4.5 alternates whole days with the moment after the meal, also over a holiday (X009, X010)."""
    plant = calendar(calendar={"closed": closed})
    moments = planned_moments(plant, 4.5, first=at(plant, first))
    assert [plant.wall_text(t) for t, _ in zip(moments, expected, strict=False)] == expected


def test_a_step_inside_a_takt_takes_hold_from_the_next_planned_moment() -> None:
    """F40: the takt used is the one in force at the moment being counted from."""
    scenario = calendar(launches={"takt_work_days": 2, "steps": [{"from": "2027-01-05", "takt_work_days": 1}]})
    moments = planned_moments(scenario, 2, scenario.scenario.launches.steps)
    days = [scenario.wall_text(next(moments))[:10] for _ in range(4)]
    assert days == ["2027-01-04", "2027-01-06", "2027-01-07", "2027-01-08"]


def test_a_cure_over_the_change_of_clocks() -> None:
    """F1: 16 elapsed hours from 14:00 before the clocks go forward end at 07:00, not 06:00 (X013)."""
    plant = calendar(time_zone="America/Chicago")
    assert plant.wall_text(at(plant, "2027-03-13 14:00") + 16 * 60) == "2027-03-14 07:00"


def test_work_ends_at_the_last_minute_and_a_moment_falls_on_the_next_day() -> None:
    """F6: 6.6 h from 06:27 end at 14:03; the same reading as a moment is Tuesday's first working minute."""
    plant = calendar()
    start = at(plant, "2027-01-04 06:27")
    assert plant.wall_text(plant.reference.finish(start, 396)) == "2027-01-04 14:03"
    assert plant.wall_text(plant.reference.later(start, 396)) == "2027-01-05 06:27"


def test_a_closed_date_keeps_the_tail_of_the_night_before() -> None:
    """F3: a shift that crosses midnight belongs to the date on which it starts."""
    plant = calendar({"work": ["22:00-02:00", "02:30-06:30"]}, None, calendar={"closed": ["2027-01-07"]})
    clock = plant.reference
    assert clock.is_open(at(plant, "2027-01-07 05:00"))
    assert not clock.is_open(at(plant, "2027-01-07 23:00"))


@pytest.mark.parametrize("zone", ["America/New_York", "Europe/Berlin", "Australia/Lord_Howe", "Africa/Cairo"])
def test_an_instant_is_real_time_on_every_day(zone: str) -> None:
    """F2: minutes of real time since the start, by the zone's own table (Python's zoneinfo; on the change-over days of
    Lord Howe by half an hour, of Cairo at midnight), on days before the start and beyond the end, into the night after
    a shift's date."""
    plant = calendar(time_zone=zone)
    start = datetime(2027, 1, 4, tzinfo=ZoneInfo(zone)).astimezone(UTC)
    changed = 0
    for n in range(-3, plant.days + 3):
        day = plant.scenario.start + timedelta(days=n)
        for minutes in (0, 0.25, 90, 150, 210.5, 720, 1410, 1439.75, 1440, 1470, 1530, 2160, 2880, 2910, -30):
            wall = datetime(day.year, day.month, day.day) + timedelta(minutes=minutes)
            real = (wall.replace(tzinfo=ZoneInfo(zone)).astimezone(UTC) - start).total_seconds() / 60
            assert plant.instant(day, minutes) == real
            changed += real != n * 1440 + minutes
    assert changed
