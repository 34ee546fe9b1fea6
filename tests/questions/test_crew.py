"""How many people: plants whose answer is known by hand, the measures from records, and the command."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import linesim
from linesim.line.floor import run_once
from linesim.line.sheet import Sheet
from linesim.measures.run import numbers_of
from linesim.questions.crew import Target
from linesim.questions.crew_days import days_by_month, first_place_of, waiting
from linesim.questions.crew_plans import NoCrew, crews_to_try, people_from, range_of
from linesim.scenario.reading import parse_scenario, read_scenario
from linesim.scenario.scenario import Scenario
from linesim.show.commands import main

SCENARIOS = Path(__file__).parents[2] / "scenarios"
DEMO, TINY = SCENARIOS / "birchwater.yaml", SCENARIOS / "tiny.yaml"
TWO_AT_ONCE = """
name: Two positions, one trade
start: 2027-01-04
end: 2027-01-29
shifts: {day: {start: "08:00", end: "16:00"}}
trades: {ASM: {people: {day: 1}, usd_per_hour: 60}, FIN: {people: {day: 1}, usd_per_hour: 20}}
positions:
  - {id: A, packages: [{id: a1, trade: ASM, hours: 8}]}
  - {id: B, packages: [{id: b1, trade: ASM, hours: 8}]}
  - {id: C, packages: [{id: c1, trade: FIN, hours: 4}]}
launches: {takt_work_days: 2}
orders: unlimited
"""


@pytest.fixture
def two() -> Scenario:
    """One person works a day on each of two aircraft in turn, then half a day of another trade."""
    return parse_scenario(TWO_AT_ONCE)


def test_days_and_waiting_of_a_clockwork_plant_are_those_by_hand(two: Scenario) -> None:
    """Launched every second day: a day in A, a day in B, half a day in C; nobody waits for anybody."""
    sheet = Sheet(two)
    run = linesim.run(two, runs=1).runs[0]
    found = days_by_month(sheet, run, 1)["2027-01"]
    assert found[:-1] == [pytest.approx(1.5)] * (len(found) - 1)
    whole = days_by_month(sheet, run, 0)["2027-01"]
    assert whole[0] == float("inf") or len(whole) == 10  # the first stands in A from the first minute on
    assert waiting(sheet, run, "ASM")[0] == pytest.approx(0.0)
    assert first_place_of(sheet, ["FIN"]) == 2
    assert first_place_of(sheet, ["ASM"]) == 0


def test_waiting_hours_count_jobs_that_nobody_is_free_for() -> None:
    """A launch a day and work of two, by hand: on every second of 20 days the one person works in B, for the aircraft
    further along, and the one in A waits for all of the day."""
    plant = parse_scenario(TWO_AT_ONCE.replace("takt_work_days: 2", "takt_work_days: 1"))
    sheet = Sheet(plant)
    hours, jobs = waiting(sheet, linesim.run(plant, runs=1).runs[0], "ASM")
    assert hours == pytest.approx(10 * 8)
    assert jobs == pytest.approx(0.5)


def test_open_squawks_are_the_time_between_written_up_and_fixed() -> None:
    """On the demo: the mean number open times the window is the sum over all squawks, from the records themselves."""
    sheet = Sheet(read_scenario(DEMO))
    records = run_once(sheet, 1, 0)
    found = numbers_of(sheet, records).open_squawks
    begin, end = sheet.calendar.instant(sheet.scenario.window.first), sheet.calendar.instant(  # type: ignore[union-attr]
        sheet.scenario.window.last) + 24 * 60  # type: ignore[union-attr]
    spans: dict[tuple[int, int, str], list[float]] = {}
    for row in records.segments:
        serial, _, place, job, _, start, stop, *_ = row
        if " squawk " in f" {job} ":
            spans.setdefault((serial, place, job), []).extend((start, stop))
    total = sum(max(0.0, min(max(one), end) - max(min(one), max(begin, 0.0))) for one in spans.values())
    assert total > 0
    assert found == pytest.approx(total / (end - max(begin, 0.0)), rel=1e-6)


def test_crews_are_all_combinations_cheapest_first(two: Scenario) -> None:
    """By their pay; one more finisher costs less than one more mechanic. The declared crew is the very scenario."""
    ranges = [range_of(two, "ASM", "1-2"), range_of(two, "FIN", "1-3")]
    crews = crews_to_try(two, ranges)
    assert [crew.people for crew in crews] == [(1, 1), (1, 2), (1, 3), (2, 1), (2, 2), (2, 3)]
    assert crews[0].scenario == two
    assert crews[-1].scenario.trades["ASM"].people["day"] == 2
    assert [crew.name(ranges) for crew in crews[:2]] == ["1 ASM, 1 FIN", "1 ASM, 2 FIN"]


def test_a_shift_without_people_is_the_scenario_as_it_is() -> None:
    """Nobody on an evening shift that the file does not staff: the same runs."""
    demo = read_scenario(DEMO)
    crews = crews_to_try(demo, [range_of(demo, "RIG.evening", "0-1")])
    assert crews[0].scenario == demo
    assert crews[1].scenario.trades["RIG"].people == {"day": 15, "evening": 1}


@pytest.mark.parametrize(("trade", "people", "said"), [
    ("FLN", "2", "'FLN'.*FLM"), ("FLM.evenin", "2", "'evenin'.*evening"), ("FLM", "two", "'two' is no number")])
def test_a_slip_in_a_trade_shift_or_range_is_named(trade: str, people: str, said: str) -> None:
    """With the nearest name that there is."""
    with pytest.raises(NoCrew, match=said):
        range_of(read_scenario(DEMO), trade, people)


def test_too_many_crews_are_refused(two: Scenario) -> None:
    """Their number and the limit are named; and a trade that stands there twice."""
    with pytest.raises(NoCrew, match="100 crews to try; at most 64"):
        crews_to_try(two, [range_of(two, "ASM", "1-10"), range_of(two, "FIN", "1-10")])
    with pytest.raises(NoCrew, match="twice"):
        crews_to_try(two, [range_of(two, "ASM", "1"), range_of(two, "ASM.day", "2")])
    assert people_from("5-2,9") == (2, 3, 4, 5, 9)


@pytest.mark.parametrize(("text", "kind", "value"), [("days <= 15", "days", 15), ("Deliveries>=48", "deliveries", 48),
                                                     ("waiting <= 1.5", "waiting", 1.5), ("12", "days", 12)])
def test_targets_are_read(text: str, kind: str, value: float) -> None:
    """Their kind and value."""
    assert Target.of(text) == Target(kind, value)


@pytest.mark.parametrize(("words", "said"), [
    ([], "name the trade"), (["--trade", "ASN", "--people", "1"], "'ASN'; did you mean 'ASM'"),
    (["--trade", "ASM", "--people", "1", "--target", "day <= 3"], "did you mean"),
    (["--trade", "ASM", "--people", "1", "--target", "days >= 3"], "days is asked for with <="),
    (["--trade", "ASM", "--people", "1", "--from", "Z"], "--from: nothing is called 'Z'"),
    (["--trade", "ASM", "--people", "1", "--settle"], "--settle needs a --target"),
    (["--trade", "ASM", "--people", "1", "--people", "2"], "1 trades need one range of people")])
def test_what_makes_no_sense_is_refused(words: list[str], said: str, tmp_path: Path,
                                        capsys: pytest.CaptureFixture[str]) -> None:
    """With exit code 2, before anything is run."""
    assert main(["crew", str(TINY), "--out", str(tmp_path / "out"), *words]) == 2
    assert said in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_the_command_names_the_smallest_crew_and_says_what_its_json_says(
        tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One person needs 2.5 work days for each aircraft, two side by side under 1: two are the smallest for 2 days."""
    words = ["crew", str(TINY), "--trade", "ASM", "--people", "1-3", "--target", "days <= 2", "--runs", "20",
             "--settle", "--jobs", "1", "--out", str(tmp_path / "out")]
    assert main([*words, "--picture", str(tmp_path / "crew.png"), "--page", str(tmp_path / "crew.html")]) == 0
    text = capsys.readouterr().out
    assert main([*words, "--json"]) == 0
    out = capsys.readouterr()
    assert out.err == "All runs of 3 scenarios were there already.\n" * out.err.count("\n")
    numbers = json.loads(out.out)
    flat = " ".join(text.split())
    for sentence in [*numbers["sentences"], *numbers["assumed"], *numbers["cautions"]]:
        assert " ".join(sentence.split()) in flat
    choice = numbers["choice"]
    assert (choice["crew"], choice["settled"], choice["wrong at most"]) == ("2 ASM", True, 0.05)
    assert [row["keeps the target"]["runs"] == row["runs"] for row in numbers["crews"]] == [False, True, True]
    assert (tmp_path / "crew.png").read_bytes().startswith(b"\x89PNG")
    assert numbers["sentences"][0] in (tmp_path / "crew.html").read_text()


def test_too_few_runs_settle_nothing_and_that_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Three runs without --settle: a crew is named by its count, and no bound is claimed."""
    assert main(["crew", str(TINY), "--trade", "ASM", "--people", "1-2", "--target", "days <= 2", "--runs", "3",
                 "--jobs", "1", "--out", str(tmp_path), "--json"]) == 0
    numbers = json.loads(capsys.readouterr().out)
    assert (numbers["choice"]["crew"], numbers["choice"]["settled"]) == ("2 ASM", False)
    assert numbers["choice"]["wrong at most"] is None
    assert any("cannot settle" in text for text in numbers["sentences"])
