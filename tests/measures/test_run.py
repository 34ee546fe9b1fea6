"""The numbers of a run against sums by hand and against what must hold on every path."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from linesim.line.floor import run_once
from linesim.line.records import State
from linesim.line.sheet import Sheet
from linesim.measures.labour import ACCOUNT, weeks_of
from linesim.measures.ledger import Ledger
from linesim.measures.run import RunNumbers, numbers_of
from linesim.measures.window import backlog_months, periods_of
from linesim.questions.baseline import baseline
from linesim.scenario.reading import read_scenario
from linesim.scenario.scenario import Scenario

DEMO = Path(__file__).parents[2] / "scenarios" / "birchwater.yaml"


@pytest.fixture(scope="module")
def demo() -> tuple[Sheet, RunNumbers]:
    sheet = Sheet(read_scenario(DEMO))
    return sheet, numbers_of(sheet, run_once(sheet, 1, 4))


def small(**changes: Any) -> Scenario:
    """Two aircraft of one 6-hour package by one of two mechanics, on an eight-hour day with all that is paid for."""
    return Scenario.model_validate({
        "name": "small", "start": "2027-01-04", "end": "2027-01-08",
        "shifts": {"day": {"start": "06:00", "end": "14:30", "meal_minutes": 30, "paid_break_minutes": 20,
                           "meeting_minutes": 10, "clean_down_minutes": 10}},
        "tool_control": {"start_check_minutes": 10, "end_check_minutes": 5},
        "trades": {"ASM": {"people": 2}}, "work_rules": {"crew_grows": False},
        "positions": [{"id": "A", "area": "Shop", "packages": [
            {"id": "a", "trade": "ASM", "hours": 6, "crew": 1}]}],
        "launches": {"takt_work_days": 1}, "orders": [{"serial": "S1"}, {"serial": "S2"}], **changes})


def account(scenario: Scenario, trade: int = 0) -> dict[str, float]:
    """Hours of a trade over all of the run."""
    sheet = Sheet(scenario)
    hours = numbers_of(sheet, run_once(sheet, 1, 0)).labour[trade].sum(axis=0)
    return dict(zip(ACCOUNT, hours.tolist(), strict=True))


def test_the_account_of_a_small_plant() -> None:
    """F108: 5 days x 2 people x 8 paid hours; 12 h worked; checks 15 min, breaks, meeting, clean-down 40 min a day."""
    found = account(small())
    assert found == pytest.approx({"paid": 80, "worked": 12, "checked": 2.5, "breaks and meetings": 20 / 3,
                                   "trained": 0, "absent": 0, "idle": 80 - 12 - 2.5 - 20 / 3})


def test_who_is_not_there_is_paid_and_absent() -> None:
    """F108: one of two away on one day: 8 h absent, and no check or break of that person."""
    found = account(small(known={"present": [{"trade": "ASM", "date": "2027-01-06", "people": 1}]}))
    assert found["absent"] == pytest.approx(8)
    assert found["paid"] == pytest.approx(80)
    assert found["checked"] == pytest.approx(2.5 * 9 / 10)
    assert sum(found.values()) == pytest.approx(2 * found["paid"])


def test_a_flight_over_the_meal_is_paid_and_over_a_break_is_work() -> None:
    """F108: a block 09:30-12:30 over a 30-minute break (10:00) and a 30-minute meal (11:00): 3 h worked, 0.5 h of it
    paid on top, the break's half hour taken from the breaks."""
    shift = {"start": "06:00", "end": "14:30", "meal": "11:00-11:30", "breaks": ["10:00-10:30"]}
    found = account(small(
        shifts={"day": shift}, tool_control=None, trades={"PIL": {"people": 1}}, end="2027-01-04",
        positions=[{"id": "FL", "packages": [{"id": "wait", "kind": "hold", "elapsed_hours": 3.5}],
                    "flights": {"pilots": "PIL", "pilot_hours": 3, "flight_hours": 1}}], orders=[{"serial": "S1"}]))
    assert found == pytest.approx({"paid": 8.5, "worked": 3, "checked": 0, "breaks and meetings": 0, "trained": 0,
                                   "absent": 0, "idle": 5.5})


def test_every_paid_hour_of_the_demo_is_accounted_for(demo: tuple[Sheet, RunNumbers]) -> None:
    """F108: the entries sum to the paid hours of every trade and month; nobody works more than there is time."""
    _, run = demo
    paid, parts = run.labour[:, :, 0], run.labour[:, :, 1:]
    np.testing.assert_allclose(parts.sum(axis=2), paid, atol=1e-8)
    assert run.labour.min() > -1e-8
    assert (paid.sum(axis=1) > 0).all()


def test_the_worked_hours_are_those_of_the_segments(demo: tuple[Sheet, RunNumbers]) -> None:
    """Worked hours summed over trades against a walk through the segments, one by one, on the shift's clock."""
    sheet, run = demo
    records = run_once(sheet, 1, 4)
    end, hours = sheet.calendar.end, 0.0
    for segment in records.segments:
        if segment.people and segment.start < end:
            stop = min(segment.end, end)
            if segment.state == State.FLIGHT:
                hours += (stop - segment.start) / 60
            else:
                clock = sheet.crew_clock(segment.shift, segment.place)
                hours += segment.people * (clock.reading(stop) - clock.reading(segment.start)) / 60
    assert run.labour[:, :, ACCOUNT.index("worked")].sum() == pytest.approx(hours, rel=1e-9)


def test_little_s_law_on_a_window_that_starts_and_ends_empty() -> None:
    """Little 1961: mean number in the plant x length of the window = sum of flow times, on every path, to 1e-9."""
    sheet = Sheet(small(end="2027-01-31"))
    records = run_once(sheet, 1, 0)
    run = numbers_of(sheet, records)
    ledger = Ledger(sheet, records)
    flow = sum(end - begin for begin, end in map(ledger.span, ledger.aircraft()))
    assert sum(run.in_process.values()) * sheet.calendar.end == pytest.approx(flow, rel=1e-9)
    assert list(run.in_process) == ["Shop"]
    assert sum(run.flow_hours.values()) == pytest.approx(flow / 60)


def test_shares_of_every_place_sum_to_its_hours(demo: tuple[Sheet, RunNumbers]) -> None:
    """Worked, holds, waiting, off shift, blocked and empty are all the working hours of the docks."""
    sheet, run = demo
    for row in baseline(sheet, [run], 1).numbers["places"]:
        shares = [value for key, value in row.items() if key in (
            "worked", "holds and appointments", "waiting for people", "off shift", "blocked", "empty",
            "waiting for weather, parts, customer, other half")]
        assert len(shares) == 7
        assert sum(shares) == pytest.approx(1, abs=5e-4), row["place"]
        assert min(shares) >= 0


def test_the_place_of_the_small_plant() -> None:
    """7.08 working hours a day; 12 h of them worked in the week, the rest empty; nothing waits."""
    sheet = Sheet(small())
    row, = baseline(sheet, [numbers_of(sheet, run_once(sheet, 1, 0))], 1).numbers["places"]
    share = 12 / (5 * (8 - 0.25 - 40 / 60))
    assert row["worked"] == pytest.approx(share, abs=1e-4)
    assert row["empty"] == pytest.approx(1 - share, abs=1e-4)
    assert row["waiting for people"] == 0


def test_months_and_quarters_count_the_same_deliveries(demo: tuple[Sheet, RunNumbers]) -> None:
    """F118: by month and by quarter they are the deliveries of the window."""
    sheet, run = demo
    numbers = baseline(sheet, [run], 1).numbers
    total, = numbers["deliveries in the window"]["each run"]
    assert sum(row["mean"] for row in numbers["deliveries by month"].values()) == total
    assert sum(row["each run"][0] for row in numbers["quarters"].values()) == total
    assert total == sum(moment[:4] == "2027" for moment in run.delivered.values())


def test_the_backlog_of_the_last_six_months() -> None:
    """F118: launches planned less deliveries; a plant that cannot keep a takt of half a day falls behind by one each
    day (crew of one, a day's work)."""
    scenario = small(end="2027-12-31", launches={"takt_work_days": 0.5}, work_rules={"crew_grows": False},
                     orders=[{"serial": f"S{n}"} for n in range(1000)],
                     positions=[{"id": "A", "packages": [{"id": "a", "trade": "ASM", "hours": 7.0833333, "crew": 1}]}])
    sheet = Sheet(scenario)
    run = numbers_of(sheet, run_once(sheet, 1, 0))
    assert [str(day) for day in backlog_months((scenario.start, scenario.end))] == ["2027-07-01", "2027-12-31"]
    work_days = 132  # weekdays from July to December 2027, none closed
    assert run.backlog_growth == pytest.approx(work_days, abs=2)
    assert baseline(sheet, [run], 1).numbers["keeps the plan"]["holds"] is False


def test_periods_are_cut_at_months_and_at_the_window() -> None:
    """A window inside a month cuts that month's figures in three."""
    scenario = small(end="2027-02-26", window={"from": "2027-01-11", "to": "2027-01-22"})
    assert [(str(first), inside) for first, inside in periods_of(scenario)] == [
        ("2027-01-04", False), ("2027-01-11", True), ("2027-01-23", False), ("2027-02-01", False)]


def test_a_line_stands_for_who_holds_it() -> None:
    """A pulse each work day of eight hours. S2's work in A takes 12 hours, so the line stands for it on Wednesday from
    06:00 to 10:00; S1 is closed in B and waits. All four hours are hands-on work in A."""
    declared = {
        "name": "pulse", "start": "2027-01-04", "end": "2027-01-10", "orders": [{"serial": f"S{n}"} for n in (1, 2)],
        "shifts": {"day": {"work": ["06:00-10:00", "10:30-14:30"]}}, "trades": {"ASM": {"people": 2}},
        "launches": {"takt_work_days": 1}, "pulse": {"positions": ["A", "B"]},
        "positions": [{"id": "A", "packages": [{"id": "a", "trade": "ASM", "hours": 6}]},
                      {"id": "B", "packages": [{"id": "b", "trade": "ASM", "hours": 6}]}],
        "known": {"hours": [{"serial": "S2", "package": "a", "hours": 12}]}}
    sheet = Sheet(Scenario.model_validate(declared))
    found = numbers_of(sheet, run_once(sheet, 1, 0))
    assert found.stop_hours == pytest.approx(4)
    assert found.stop_causes[0, State.WORK] == pytest.approx(4)
    assert found.stop_causes.sum() == pytest.approx(4)


def of_a_pulse_before_a_place(known: dict[str, float]) -> RunNumbers:
    """Three aircraft on a pulse line of A and B, a pulse each work day of eight hours, then the place X; six hours of
    work in each place, or as known ("S1 x": hours)."""
    declared = {
        "name": "pulse", "start": "2027-01-04", "end": "2027-01-10", "orders": [{"serial": f"S{n}"} for n in (1, 2, 3)],
        "shifts": {"day": {"work": ["06:00-10:00", "10:30-14:30"]}}, "trades": {"ASM": {"people": 4}},
        "launches": {"takt_work_days": 1}, "pulse": {"positions": ["A", "B"]},
        "positions": [{"id": place, "packages": [{"id": place.lower(), "trade": "ASM", "hours": 6}]}
                      for place in ("A", "B", "X")],
        "known": {"hours": [dict(zip(("serial", "package"), one.split(), strict=True), hours=hours)
                            for one, hours in known.items()]}}
    sheet = Sheet(Scenario.model_validate(declared))
    return numbers_of(sheet, run_once(sheet, 1, 0))


def test_a_full_place_beyond_the_line_stops_it() -> None:
    """S1 is in X until Friday 12:30 (24 hours from Tuesday 12:30); S2 is closed in B from Wednesday on. The pulse of
    Thursday 06:00 is made when X is free: eight hours and six, in all of which B is blocked."""
    found = of_a_pulse_before_a_place({"S1 x": 24})
    assert found.stop_hours == pytest.approx(14)
    assert found.stop_causes[1, State.BLOCKED] == pytest.approx(14)
    assert found.stop_causes.sum() == pytest.approx(14)


def test_what_has_left_the_line_does_not_stop_it() -> None:
    """On Thursday S2 is worked in B until 08:00 and then in X, S3 in A until 12:30: of the six hours that the line
    stands, shared as two to six, none is laid to X."""
    found = of_a_pulse_before_a_place({"S1 x": 1, "S2 b": 10, "S3 a": 14})
    assert found.stop_hours == pytest.approx(6)
    assert found.stop_causes[:, State.WORK] == pytest.approx([4.5, 1.5, 0.0])
    assert found.stop_causes.sum() == pytest.approx(6)


def test_causes_of_stops_sum_to_the_hours_that_the_line_stood() -> None:
    """On the demo's pulse line; off shift is hardly any of it."""
    sheet = Sheet(read_scenario(DEMO.with_name("birchwater-pulse.yaml")))
    found = numbers_of(sheet, run_once(sheet, 5, 1))
    assert found.stop_hours > 50
    assert found.stop_causes.sum() == pytest.approx(found.stop_hours)
    assert found.stop_causes[:, State.OFF_SHIFT].sum() < 0.05 * found.stop_hours


def test_load_by_week_is_the_account_by_week() -> None:
    """Weeks begin on Mondays. The hours of all weeks are those of all months, trade by trade, on the demo."""
    sheet = Sheet(read_scenario(DEMO))
    found = numbers_of(sheet, run_once(sheet, 5, 2))
    weeks = weeks_of(sheet.scenario)
    assert weeks[0] == sheet.scenario.start
    assert {day.weekday() for day in weeks[1:]} == {0}
    assert found.load_by_week.shape == (2, len(sheet.scenario.trades), len(weeks))
    worked, idle = (found.labour[:, :, ACCOUNT.index(name)].sum(axis=1) for name in ("worked", "idle"))
    assert found.load_by_week.sum(axis=2) == pytest.approx(np.array((worked, worked + idle)))
    assert (found.load_by_week[0] <= found.load_by_week[1] + 1e-6).all()


def test_load_of_one_week_by_hand() -> None:
    """Two people of eight hours a day, one of whom works 8 hours on Friday 8 January and 4 on Monday."""
    declared = {
        "name": "weeks", "start": "2027-01-08", "end": "2027-01-15", "orders": [{"serial": "S1"}],
        "shifts": {"day": {"work": ["06:00-10:00", "10:30-14:30"]}}, "trades": {"ASM": {"people": {"day": 2}}},
        "launches": {"takt_work_days": 9}, "positions": [
            {"id": "A", "packages": [{"id": "a", "trade": "ASM", "hours": 12, "crew": 1}]}]}
    sheet = Sheet(Scenario.model_validate(declared))
    found = numbers_of(sheet, run_once(sheet, 1, 0)).load_by_week
    assert found[0].tolist() == [[8.0, 4.0]]
    assert found[1].tolist() == [[16.0, 80.0]]


@pytest.mark.parametrize("people", [{"day": 1}, {"day": 1, "evening": 1}])
def test_hours_that_are_worked_are_not_waited(people: dict[str, int]) -> None:
    """F106: one package of 20 h, one person on a shift: nobody ever waits for anybody."""
    sheet = Sheet(Scenario.model_validate({
        "name": "waits", "start": "2027-01-04", "end": "2027-01-10", "orders": [{"serial": "S1"}],
        "shifts": {"day": {"work": ["06:00-14:00"]}, "evening": {"work": ["14:00-22:00"]}},
        "trades": {"T": {"people": people}}, "launches": {"moments": ["2027-01-04 06:00"]},
        "positions": [{"id": "A", "packages": [{"id": "a", "trade": "T", "hours": 20}]}]}))
    assert numbers_of(sheet, run_once(sheet, 1, 0)).waits.sum() == 0


def test_others_of_the_trade_may_wait_while_a_crew_rests() -> None:
    """F106: two of T, on shifts whose meals differ. The package needs one; it is worked 06:00-10:00 and from 11:00, and
    from 10:00 to 11:00, while its crew is at its meal, somebody of the trade is at work."""
    sheet = Sheet(Scenario.model_validate({
        "name": "meals", "start": "2027-01-04", "end": "2027-01-04", "orders": [{"serial": "S1"}],
        "shifts": {"one": {"work": ["06:00-10:00", "11:00-15:00"]}, "two": {"work": ["06:00-12:00", "13:00-15:00"]}},
        "trades": {"T": {"people": {"one": 1, "two": 1}}}, "launches": {"moments": ["2027-01-04 06:00"]},
        "positions": [{"id": "A", "packages": [{"id": "a", "trade": "T", "hours": 6}]}]}))
    assert numbers_of(sheet, run_once(sheet, 1, 0)).waits.sum() == pytest.approx(1.0)


def test_a_half_that_never_mates_has_its_hours_up_to_the_end() -> None:
    """F104: the fuselage stands in its second place when the run ends; all its hours count, not those of the first."""
    sheet = Sheet(Scenario.model_validate({
        "name": "halves", "start": "2027-01-04", "end": "2027-01-05", "orders": [{"serial": "S1"}],
        "launches": {"moments": ["2027-01-04 00:00"]}, "positions": [
            {"id": "F1", "half": "fuselage", "packages": [{"id": "f1", "hours": 10}]},
            {"id": "F2", "half": "fuselage", "packages": [{"id": "f2", "hours": 100}]},
            {"id": "W", "half": "wing", "packages": [{"id": "w", "hours": 5}]},
            {"id": "M", "packages": [{"id": "m", "hours": 1}]}]}))
    found = Ledger(sheet, run_once(sheet, 1, 0)).of(0, "fuselage")
    assert found == {State.WORK: pytest.approx(48.0)}
