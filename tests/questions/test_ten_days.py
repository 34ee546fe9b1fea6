"""The next work days: small plants worked by hand, and the same runs as those of the whole scenario."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest

import linesim
from linesim.line.floor import run_once
from linesim.line.sheet import Sheet
from linesim.questions.ten_days import DELIVERED, Days, TooShort, horizon, runs_of, work_days
from linesim.questions.ten_days_answer import answer, booths
from linesim.scenario.reading import read_scenario
from linesim.scenario.scenario import Scenario

from ..line.small_plants import plant, work

DEMO = Path(__file__).parents[2] / "scenarios" / "birchwater.yaml"
MON, TUE, WED, THU, FRI = (f"2027-01-0{n}" for n in range(4, 9))
HOUR = 60.0


def done(scenario: Scenario, days: int, runs: int = 1) -> list[Days]:
    return [run for chunk in runs_of(scenario, days, 1, runs, 1) for run in chunk]


def line_of_two(**more: Any) -> Scenario:
    """A takes 8 h of one of two ASM, B 16 h of the one RIG. S1 is in A on Monday and in B on Tuesday and Wednesday; S2
    is in A on Tuesday, stands blocked on Wednesday, is in B on Thursday and Friday."""
    return plant([{"id": "A", "packages": [work("a", "ASM", 8)]}, {"id": "B", "packages": [work("b", "RIG", 16)]}],
                 {"ASM": {"people": 2}, "RIG": {"people": 1}}, [{"serial": "S1"}, {"serial": "S2"}], **more)


def test_moves_and_people_of_a_certain_plant() -> None:
    """Moves by day, hours there and worked, by hand; nobody is waited for."""
    run, = done(line_of_two(), 5)
    clock = 14.5 * HOUR
    assert [(move.serial, move.place, move.launched, move.at) for move in run.moves] == [
        ("S1", "A", True, 6 * HOUR), ("S1", "B", False, clock), ("S2", "A", True, clock),
        ("S1", DELIVERED, False, 2 * 1440 + clock), ("S2", "B", False, 2 * 1440 + clock),
        ("S2", DELIVERED, False, 4 * 1440 + clock)]
    assert run.there.tolist() == [[16.0] * 5, [8.0] * 5]
    assert run.worked.tolist() == [[8, 8, 0, 0, 0], [0, 8, 8, 8, 8]]
    assert run.waiting.sum() == 0


def test_the_answer_on_a_certain_plant() -> None:
    """Every run is the same, so each chance is all of them."""
    scenario = line_of_two()
    numbers = answer(scenario, done(scenario, 5, 2), 5, 1).numbers
    assert numbers["work days"] == [MON, TUE, WED, THU, FRI]
    assert [(row["day"], row["moves"], row["launches"], row["deliveries"]) for row in numbers["by day"]] == [
        (MON, 1, 2, 0), (TUE, 0, 0, 0), (WED, 1, 0, 1), (THU, 0, 0, 0), (FRI, 0, 0, 1)]
    assert [(row["serial"], row["to"], row["half by"], row["runs"]) for row in numbers["moves"]] == [
        ("S1", "A", MON, 2), ("S1", "B", MON, 2), ("S2", "A", MON, 2), ("S1", DELIVERED, WED, 2), ("S2", "B", WED, 2),
        ("S2", DELIVERED, FRI, 2)]
    assembly, rigging = numbers["people"]
    assert [day["people free"] for day in assembly["days"]] == [1, 1, 2, 2, 2]
    assert [day["runs spare"] for day in rigging["days"]] == [2, 0, 0, 0, 0]
    assert all(day["runs short"] == 0 for row in numbers["people"] for day in row["days"])


def test_who_waits_for_people_is_short() -> None:
    """Two aircraft side by side, one mechanic: on Monday one job waits all day, on Tuesday none."""
    scenario = plant([{"id": "A", "docks": 2, "packages": [work("a", "ASM", 8)]}], {"ASM": {"people": 1}},
                     [{"serial": "S1"}, {"serial": "S2"}])
    run, = done(scenario, 2)
    assert run.waiting.tolist() == [[8.0, 0.0]]
    row, = answer(scenario, [run], 2, 1).numbers["people"]
    assert [(day["jobs waiting"], day["runs short"], day["people free"]) for day in row["days"]] == [
        (1, 1, 0), (0, 0, 0)]


def test_flights_by_day() -> None:
    """Monday cannot be flown: the flight of 2 h is on Tuesday at 06:00, and the pilot is free for 6 of 8 hours."""
    scenario = plant([{"id": "FL", "flights": {"pilots": "FTP", "pilot_hours": 2, "flight_hours": 1}}],
                     {"FTP": {"people": 1}}, weather={"flyable_share_by_month": dict.fromkeys(range(1, 13), 1.0)},
                     known={"flyable": [{"date": MON, "flyable": False}]})
    run, = done(scenario, 3)
    assert run.flights == (("S1", 1, 1440 + 6 * HOUR),)
    assert run.flyable == (False, True, True)
    assert run.worked.tolist() == [[0, 2, 0]]
    numbers = answer(scenario, [run], 3, 1).numbers
    assert [(row["flights"], row["runs with a flight"]) for row in numbers["by day"]] == [(0, 0), (1, 1), (0, 0)]


def test_the_order_at_the_booth() -> None:
    """The booth is the place that may paint again; who stands in it is named, and the turns follow."""
    scenario = plant(
        [{"id": "A", "docks": 2, "packages": [work("a", "ASM", 8)]},
         {"id": "PB", "packages": [work("p", "PNT", 4)], "repaint": {"chance": 0, "trade": "PNT", "hours": 4}}],
        {"ASM": {"people": 2}, "PNT": {"people": 1}}, [{"serial": "S0"}, {"serial": "S1"}, {"serial": "S2"}],
        launches={"moments": ["2027-01-04 06:00", "2027-01-04 06:00"]}, on_the_line=[{"serial": "S0", "at": "PB"}])
    assert booths(Sheet(scenario)) == ["PB"]
    booth, = answer(scenario, done(scenario, 3), 3, 1).numbers["booth"]
    assert booth["in it now"] == ["S0"]
    assert [(row["serial"], row["runs"], row["half by"]) for row in booth["turns"]] == [("S1", 1, MON), ("S2", 1, TUE)]


def test_an_acceptance_beyond_the_days_is_confirmed_ahead() -> None:
    """Notice of five work days from Monday: accepted in the week after, which two days do not reach."""
    scenario = plant([{"id": "A", "packages": [work("a", "ASM", 8)]},
                      {"id": "AC", "acceptance": {"notice_work_days": 5, "duration_work_days": 1}}],
                     {"ASM": {"people": 1}})
    numbers = answer(scenario, done(scenario, 2), 2, 1).numbers
    row, = numbers["acceptances"]
    assert (row["serial"], row["runs"], row["booked"]) == ("S1", 1, None)
    assert "2027-01-11" <= row["half by"] <= "2027-01-12"


def test_work_days_leave_out_what_is_closed() -> None:
    """Weekends and closed dates are no work days; a scenario that ends sooner says how many it has."""
    scenario = line_of_two(calendar={"work_weekdays": ["Mon", "Tue", "Wed", "Thu", "Fri"], "closed": [TUE]})
    assert [str(day) for day in work_days(scenario, 5)] == [MON, WED, THU, FRI, "2027-01-11"]
    with pytest.raises(TooShort, match="has 19 work days from 2027-01-04 to 2027-01-31; found 40 asked for, 1 to 19"):
        work_days(scenario, 40)
    assert horizon(scenario, 19).end == date(2027, 1, 31)


def test_the_demo_begins_as_its_whole_runs_do() -> None:
    """Run by run, flights and deliveries of the ten days are those of the whole scenario, and the hours worked lie
    within those there but for flights over breaks."""
    scenario = read_scenario(str(DEMO))
    sheet = Sheet(scenario)
    for run in [run for chunk in runs_of(scenario, 10, scenario.seed, 2, 1) for run in chunk]:
        whole = run_once(sheet, scenario.seed, run.run)
        end = sheet.calendar.instant(date(2027, 1, 16))
        assert [at for _, _, at in run.flights] == sorted(f.start for f in whole.flights if f.start < end)
        assert {move.serial: move.at for move in run.moves if move.place == DELIVERED} == {
            whole.serials[n]: at for n, at in whole.delivered.items() if at < end}
        pilots = list(scenario.trades).index("FTP")
        over = run.worked - run.there
        over[pilots] = 0
        assert over.max() < 1e-6


def test_from_a_program() -> None:
    """`linesim.next_days` gives what the command prints; with two processes the same."""
    scenario = line_of_two()
    alone = linesim.next_days(scenario, days=5, runs=3, jobs=1)
    assert alone.numbers == linesim.next_days(scenario, days=5, runs=3, jobs=2).numbers
    assert alone.numbers["in all"]["deliveries"]["each run"] == [2, 2, 2]


def test_the_same_seed_gives_the_same_numbers() -> None:
    """Alone or in a batch, and as JSON."""
    scenario = read_scenario(str(DEMO))
    batch = [run for chunk in runs_of(scenario, 10, 7, 3, 1) for run in chunk]
    first = [run for chunk in runs_of(scenario, 10, 7, 1, 1) for run in chunk]
    assert batch[0].moves == first[0].moves
    assert json.loads(json.dumps(answer(scenario, batch, 10, 7).numbers))["runs"] == 3
