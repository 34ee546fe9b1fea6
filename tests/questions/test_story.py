"""One aircraft's story: without a gap, with sums that agree, the same numbers in words and in JSON."""

from __future__ import annotations

import itertools
import json
import re
from collections import defaultdict
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from linesim.line.floor import run_once
from linesim.line.records import Records, State
from linesim.line.runs import run_many
from linesim.line.sheet import Sheet
from linesim.measures.labour import ACCOUNT, labour
from linesim.measures.ledger import Ledger
from linesim.questions.story import Lives, Story, UnknownSerial, story
from linesim.questions.story_events import WAITS, events_of
from linesim.questions.story_numbers import numbers_of_story
from linesim.scenario.reading import read_scenario
from linesim.show.commands import main
from linesim.show.story_words import in_words, opening, said

SCENARIOS = Path(__file__).parents[2] / "scenarios"
PLANTS = ("birchwater", "birchwater-pulse")
ALL_PRESENT = " with all present"


@lru_cache(maxsize=8)
def run_of(plant: str) -> tuple[Sheet, Records]:
    """Run 0 of a plant; "... with all present" without what keeps people from work or slows them."""
    scenario = read_scenario(SCENARIOS / f"{plant.removesuffix(ALL_PRESENT)}.yaml")
    sheet = Sheet(scenario.model_copy(update={"attendance": None}) if plant.endswith(ALL_PRESENT) else scenario)
    return sheet, run_once(sheet, sheet.scenario.seed, 0)


@lru_cache(maxsize=8)
def stories_of(plant: str) -> list[Story]:
    """The stories of all serials that were on the floor in run 0."""
    sheet, records = run_of(plant)
    lives = Lives(sheet, records)
    return [lives.of(records.serials[n]) for n in lives.ledger.aircraft()]


DOCUMENTS: dict[tuple[str, str], dict[str, Any]] = {}  # each made once for all tests


def numbers_for(plant: str, life: Story) -> dict[str, Any]:
    """The document of a story, through JSON."""
    if (plant, life.serial) not in DOCUMENTS:
        sheet, records = run_of(plant)
        text = json.dumps(numbers_of_story(sheet, records, life, sheet.scenario.seed))
        DOCUMENTS[plant, life.serial] = json.loads(text)
    return DOCUMENTS[plant, life.serial]


@pytest.mark.parametrize("plant", PLANTS)
def test_every_life_is_told_without_gap_or_overlap(plant: str) -> None:
    """Work, holds and waits follow one another: from launch to mate in each half, from mate on in the aircraft."""
    delivered = 0
    for life in stories_of(plant):
        assert life.began is not None
        assert life.ended is not None
        mate = min((stay.arrived for stay in life.stays if not stay.half), default=life.ended)
        for half, spans in life.lives.items():
            assert spans[0].start == (life.began if half or "fuselage" not in life.lives else mate)
            assert spans[-1].end == (mate if half else life.ended)
            assert all(one.end == after.start for one, after in itertools.pairwise(spans))
            assert all(one.state != after.state for one, after in itertools.pairwise(spans))
        delivered += life.how == "delivered"
    assert delivered > 60


@pytest.mark.parametrize("plant", PLANTS)
def test_both_accounts_sum_to_launch_to_delivery(plant: str) -> None:
    """The chain that set the date and the ledger; each stay's reasons sum to the stay."""
    for life in stories_of(plant):
        numbers = numbers_for(plant, life)
        assert numbers["flow, hours"] > 0
        assert numbers["where its hours went"]["sum"] == pytest.approx(numbers["flow, hours"], abs=1e-6)
        assert numbers["what set its date"]["sum, hours"] == pytest.approx(numbers["flow, hours"], abs=1e-6)
        assert numbers["what set its date"]["before its slower half was launched, hours"] == 0.0
        assert sum(stay["hours"] for stay in numbers["what set its date"]["stays"]) == pytest.approx(
            numbers["flow, hours"], abs=1e-6)
        for stay in numbers["stays"]:
            assert sum(stay["hours by reason"].values()) == pytest.approx(stay["hours"], abs=1e-6)
        for part in numbers["lives"].values():
            assert all(one["hours"] > 0 for one in part)
        if set(numbers["lives"]) == {"aircraft"}:
            assert sum(one["hours"] for one in numbers["lives"]["aircraft"]) == pytest.approx(numbers["flow, hours"])


def test_halves_launched_apart_are_in_the_sums() -> None:
    """Each feeder launches by itself: the time before the slower half was launched stands beside its chain."""
    scenario = read_scenario(SCENARIOS / "birchwater.yaml")
    rules = scenario.work_rules.model_copy(update={"halves": "each by itself"})
    sheet = Sheet(scenario.model_copy(update={"work_rules": rules, "end": date(2027, 5, 31), "run_on_months": 9}))
    records = run_once(sheet, 1, 0)
    lives, later = Lives(sheet, records), 0
    for number in lives.ledger.aircraft():
        numbers = numbers_of_story(sheet, records, lives.of(records.serials[number]), 1)
        chain = numbers["what set its date"]
        assert chain["sum, hours"] == pytest.approx(numbers["flow, hours"], abs=1e-6)
        later += chain["before its slower half was launched, hours"] > 0
        assert sum("before its slower half" in line for line in in_words(numbers)) == (
            chain["before its slower half was launched, hours"] > 0)
    assert later > 0


@pytest.mark.parametrize("plant", PLANTS)
def test_hours_of_people_are_those_of_the_labour_account(plant: str) -> None:
    """All stories of a run together: the worked hours of each trade, up to the end of the account."""
    sheet, records = run_of(plant)
    worked: dict[str, float] = defaultdict(float)
    for life in stories_of(plant):
        for one in life.stretches:
            if one.start < sheet.calendar.end:
                worked[one.trade] += one.labour_hours
    account = labour(sheet, Ledger(sheet, records).columns)[:, :, ACCOUNT.index("worked")].sum(axis=1)
    assert np.array([worked[trade] for trade in sheet.scenario.trades]) == pytest.approx(account, abs=1e-6)
    assert account.sum() > 10_000


@pytest.mark.parametrize("plant", PLANTS)
def test_hours_agree_in_events_stays_and_stretches(plant: str) -> None:
    """Hours of people once as stretches, once as stays, once as what was done, put down, bought off and flown."""
    for life in stories_of(plant):
        numbers = numbers_for(plant, life)
        whole = numbers["worked, hours of people"]
        assert sum(one["hours of people"] for one in numbers["stretches"]) == pytest.approx(whole, abs=1e-6)
        assert sum(stay["worked, hours of people"] for stay in numbers["stays"]) == pytest.approx(whole, abs=1e-6)
        told = sum(event["hours"] for event in numbers["events"]
                   if event["what"] in ("done", "put down", "bought off", "flown"))
        assert told == pytest.approx(whole, abs=1e-6)


@pytest.mark.parametrize("plant", PLANTS)
def test_every_event_is_told_in_one_stay_and_in_order(plant: str) -> None:
    """Only launch and end belong to no stay; what is begun is closed, put down, or cut by the end of the run."""
    for life in stories_of(plant):
        events = numbers_for(plant, life)["events"]
        assert [event["at"] for event in events] == sorted(event["at"] for event in events)
        for event in events:
            ends = event["what"] in ("launched", "on the line", "delivered", "finished stock", "end of the run")
            assert ("stay" in event) is not ends, event
        begins = sum(event["what"] in ("begun", "taken up", "buy-off begun") for event in events)
        assert begins == sum(event["what"] in ("done", "put down", "bought off") for event in events)
        flights = [event for event in events if event["what"] == "flown"]
        squawks = [event for event in events if event["what"] == "written up" and "acceptance" not in event["package"]
                   and not event["package"].startswith("squawk 0.")]
        if life.how == "delivered" and life.launched is not None:
            assert len(flights) >= 2
            assert len(squawks) == sum(event["number"] for event in flights)
            assert sum(event["what"] == "certificate" for event in events) == 1


@pytest.mark.parametrize("plant", PLANTS)
def test_the_words_hold_the_numbers(plant: str) -> None:
    """Every stay and event of the JSON stands in the text, in 88 columns, and the sums are printed as they are."""
    for life in stories_of(plant)[::9]:
        numbers = numbers_for(plant, life)
        lines = in_words(numbers)
        assert max(map(len, lines)) <= 88
        text = " ".join(" ".join(lines).split())
        assert " ".join(opening(numbers).split()) in text
        for event in numbers["events"]:
            if event["what"] not in ("arrived", "parked"):
                assert f"{event['at']} {said(event)}" in text
        row_form = r"\S+ +(fuselage|wing|parked)? +\d{4}-\d\d-\d\d \d\d:\d\d +[\d.]+ +[\d.]+"
        rows = [line for line in lines if re.match(row_form, line)]
        assert len(rows) == len(numbers["stays"])
        for row, stay in zip(rows, numbers["stays"], strict=True):
            assert row.split()[0] == stay["place"]
            assert f"{stay['hours'] / 24:.1f}" in row.split()
            assert f"{stay['worked, hours of people']:.1f}" in row.split()
        assert sum(line.split()[-1] == f"{numbers['flow, hours']:.1f}" for line in lines if line) == 4


def test_travelled_work_of_a_pulse_line() -> None:
    """Hours left, at their price, stand with each move; the work goes on where the aircraft stands, and is closed.
    Where all are present and fully able, hours left are hours worked."""
    plant = "birchwater-pulse" + ALL_PRESENT
    sheet, records = run_of(plant)
    price = sheet.scenario.pulse.travel_multiplier if sheet.scenario.pulse else 0.0
    found = 0
    for life in stories_of(plant):
        moves = [travel for travel in records.travelled if travel.serial == life.number]
        events = numbers_for(plant, life)["events"]
        told = [event for event in events if event["what"] == "moved open"]
        assert len(told) == len(moves)
        for event in told:
            mine = [other for other in events if other.get("package") == event["package"]]
            done = [other for other in mine if other["what"] == "done"]
            if any(other["at"] <= event["at"] for other in done):  # only its buy-off is left: nothing to be dearer
                assert event["hours"] == event["hours before"]
                assert any(other["what"] == "bought off" and other["at"] >= event["at"] for other in mine)
                continue
            paid = any(other["what"] == "moved open" and other["at"] < event["at"] for other in mine)
            assert event["hours"] == pytest.approx((1.0 if paid else price) * event["hours before"])
            after = [other["hours"] for other in mine
                     if other["what"] in ("done", "put down") and other["at"] > event["at"]]
            assert sum(after) == pytest.approx(event["hours"], abs=1e-6)
        found += len(told)
    assert found > 5
    assert any(event["what"] == "stopped the line" for life in stories_of(plant)
               for event in numbers_for(plant, life)["events"])


def test_an_aircraft_holds_the_line_no_longer_than_it_stands_there() -> None:
    """One that was a cause of a stop and has rolled out holds nobody up any more, though the line may still stand."""
    sheet, records = run_of("birchwater-pulse")
    ends = {stop.start: stop.end for stop in records.stops}
    sooner = 0
    for life in stories_of("birchwater-pulse"):
        for event in (one for one in events_of(sheet, records, life) if one.what == "stopped the line"):
            assert event.until is not None
            assert any(stay.half == event.half and stay.place == event.place and not stay.parked
                       and stay.arrived <= event.at < event.until <= stay.left for stay in life.stays)
            sooner += event.until < ends.get(event.at, 0.0)
    assert sooner > 10


def test_a_feeder_wing_is_told_apart() -> None:
    """Before mate each half has its own stays, work and waits; both end when the aircraft stands at mate."""
    sheet, records = run_of("birchwater")
    life = story(sheet, records, "DN4-0255")
    assert set(life.lives) == {"", "fuselage", "wing"}
    wing = [stay for stay in life.stays if stay.half == "wing"]
    assert [sheet.places[stay.place].id for stay in wing] == ["WB-1", "WB-2"]
    assert wing[0].arrived == life.launched
    assert wing[-1].left == life.lives[""][0].start == life.lives["wing"][-1].end
    jobs = {one.job for one in life.stretches if one.half == "wing" and one.state == State.WORK}
    assert jobs
    assert all(job.startswith("WB") for job in jobs)
    assert "WB-1 Wing build-up 1, wing: " in "\n".join(in_words(numbers_for("birchwater", life)))


def test_waits_are_told_by_their_reason() -> None:
    """Only states of waiting become waits, and one that lasted less than a minute of its reason is not told."""
    for life in stories_of("birchwater")[::5]:
        for event in numbers_for("birchwater", life)["events"]:
            if event["what"] == "waited":
                assert event["hours"] >= 1 / 60
                assert event["until"] >= event["at"]
    assert State.OFF_SHIFT not in WAITS
    assert State.WORK not in WAITS


def test_one_run_alone_tells_the_story_of_the_batch() -> None:
    """Run 2 alone and as the third of a batch."""
    sheet, _ = run_of("birchwater")
    seed = sheet.scenario.seed
    alone = numbers_of_story(sheet, records := run_once(sheet, seed, 2), story(sheet, records, "DN4-0249"), seed)
    batch = [one for chunk in run_many(sheet.scenario, seed, [0, 1, 2], told_of_0249) for one in chunk]
    assert batch[2] == alone
    assert batch[1] != alone


def told_of_0249(sheet: Sheet, records: Records) -> dict[str, Any]:
    """The numbers of one serial."""
    return numbers_of_story(sheet, records, story(sheet, records, "DN4-0249"), sheet.scenario.seed)


def test_on_the_line_at_the_start_is_said() -> None:
    """It has no launch in the run: its story begins at the start."""
    life = stories_of("birchwater")[0]
    numbers = numbers_for("birchwater", life)
    assert numbers["launched"] is None
    assert numbers["begins"] == "2027-01-04 00:00"
    assert "stood on the line at the start, 2027-01-04 00:00, and was delivered" in opening(numbers)


def test_a_serial_that_is_never_launched_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its launch is owed at the end, or was never due; both are no fault."""
    file = tmp_path / "short.yaml"
    file.write_text((SCENARIOS / "tiny.yaml").read_text().replace("end: 2027-02-26", "end: 2027-01-05")
                    .replace("hours: 6", "hours: 60"))
    assert main(["story", str(file), "S3"]) == 0
    assert "S3 is never launched in run 0." in capsys.readouterr().out
    assert main(["story", str(file), "S3", "--json", "--picture", str(tmp_path / "none.svg")]) == 0
    assert json.loads(capsys.readouterr().out)["state"] == "not launched"
    assert not (tmp_path / "none.svg").exists()
    assert main(["story", str(file), "S2"]) == 0
    assert "not delivered when the run ends" in " ".join(capsys.readouterr().out.split())


def test_an_unknown_serial_is_refused_with_the_nearest(capsys: pytest.CaptureFixture[str]) -> None:
    """Exit 2, one line, no traceback; the function raises."""
    assert main(["story", str(SCENARIOS / "tiny.yaml"), "S33"]) == 2
    assert capsys.readouterr().err == "unknown serial 'S33'; did you mean 'S3'?\n"
    assert main(["story", str(SCENARIOS / "tiny.yaml"), "S1", "--run", "-1"]) == 2
    assert "--run must be 0 to 1000000" in capsys.readouterr().err
    sheet, records = run_of("birchwater")
    with pytest.raises(UnknownSerial):
        story(sheet, records, "nobody")


def test_a_tiny_story_by_hand(capsys: pytest.CaptureFixture[str]) -> None:
    """S1 in the tiny plant: 8 h by two people from 06:00, done at 10:00; the meal; 6 h by two, done at 13:30."""
    assert main(["story", str(SCENARIOS / "tiny.yaml"), "S1", "--json"]) == 0
    numbers = json.loads(capsys.readouterr().out)
    told = [(event["at"], event["what"], event.get("package"), event.get("people"), event.get("hours"))
            for event in numbers["events"] if event["what"] not in ("arrived", "parked")]
    assert told == [("2027-01-04 06:00", "launched", None, None, None),
                    ("2027-01-04 06:00", "begun", "a1", [2, 2], None),
                    ("2027-01-04 10:00", "done", "a1", [2, 2], 8.0),
                    ("2027-01-04 10:30", "begun", "b1", [2, 2], None),
                    ("2027-01-04 13:30", "done", "b1", [2, 2], 6.0),
                    ("2027-01-04 13:30", "delivered", None, None, None)]
    assert numbers["where its hours went"] == {"hours": {"hands-on work": 7.0, "off shift": 0.5}, "sum": 7.5}
    assert numbers["what set its date"]["reasons"]["hands-on work"]["hours"] == 7.0
    assert numbers["days late"] == -3


@pytest.mark.parametrize("kind", ["svg", "png"])
def test_the_picture_is_drawn_the_same_twice(kind: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Byte for byte; places named above, reasons below; other kinds are refused."""
    file, found = str(SCENARIOS / "birchwater.yaml"), []
    for n in range(2):
        picture = tmp_path / f"{n}.{kind}"
        assert main(["story", file, "DN4-0255", "--picture", str(picture)]) == 0
        assert f"Drawn in {picture}" in capsys.readouterr().out
        found.append(picture.read_bytes())
    assert found[0] == found[1]
    if kind == "svg":
        for word in (b">P1<", b">FB-1<", b">work<", b">fuselage<", b"DN4-0255, run 0: delivered"):
            assert word in found[0]
    assert main(["story", file, "DN4-0255", "--picture", str(tmp_path / "x.pdf")]) == 2
    assert "must end in .svg or .png" in capsys.readouterr().err
    assert main(["story", file, "DN4-0255", "--picture", str(tmp_path / "no" / "x.svg")]) == 2
    assert "cannot be written" in capsys.readouterr().err
