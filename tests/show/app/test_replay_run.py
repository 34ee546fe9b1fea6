"""The replay by hand on a small plant, what stands in the address, which kept runs are taken, and the files."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from linesim.line.runs import run_chunk
from linesim.line.sheet import Sheet
from linesim.measures.run import RunNumbers, numbers_of
from linesim.measures.window import window_of
from linesim.scenario.reading import read_scenario
from linesim.show.app.replay import address
from linesim.show.app.replay.component import SCRIPTS, script, style
from linesim.show.app.replay.files import as_csv, as_workbook
from linesim.show.app.replay.kept import FAST, MIDDLE, SLOW, kept_in, said_by, stamp
from linesim.show.app.replay.moment_table import HEAD, table_of
from linesim.show.app.replay.one_run import OneRun, done_again, key_of, worst_words
from linesim.show.run_folder import RunFolder

SCENARIOS = Path(__file__).parents[3] / "scenarios"

# A, B, C with one person each, 08:00 to 16:00, a work day is 8 hours: 1 h in A, 1 h in B, 40 h in C. S2 closes in A at
# 10:00, and is blocked in B from 11:00, while S1 is in C until the end of Friday; S3 behind it in A, from 12:00.
BLOCKED = Path(__file__).parent / "blocked.json"


def hour(day: int, at: int) -> int:
    """Minute of an hour of a day in January."""
    return (day - 4) * 1440 + at * 60


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> OneRun:
    """The only run of that plant."""
    file = tmp_path_factory.mktemp("plant") / "plant.yaml"
    file.write_bytes(BLOCKED.read_bytes())
    return done_again(read_scenario(file), 1, 0)


def test_every_change_of_a_small_plant_by_hand(small: OneRun) -> None:
    """Minute, serial, place, state; -1: it left."""
    told = json.loads(small.document)
    columns, minute, found = told["changes"], 0, []
    for passed, part, stay, said in zip(columns["passed"], columns["part"], columns["stay"], columns["said"],
                                        strict=True):
        minute += passed
        place = told["frames"][told["stays"][stay][0]]["place"] if stay >= 0 else ""
        if minute <= hour(4, 16):
            found.append((minute, told["serials"][told["parts"][part][0]], place,
                          told["states"][told["said"][said][0]] if said >= 0 else "gone"))
    assert sorted(found) == [
        (0, "S 1", "A", "off shift"), (hour(4, 8), "S 1", "A", "work"),
        (hour(4, 9), "S 1", "B", "work"), (hour(4, 9), "S2", "A", "work"),
        (hour(4, 10), "S 1", "C", "work"), (hour(4, 10), "S2", "B", "work"), (hour(4, 10), "S3", "A", "work"),
        (hour(4, 11), "S2", "B", "blocked"), (hour(4, 11), "S3", "A", "blocked"),
        (hour(4, 16), "S 1", "C", "off shift")]
    assert told["delivered"] == [[hour(11, 10), 0, "delivered"], [hour(18, 10), 1, "delivered"],
                                 [hour(25, 10), 2, "delivered"]]
    assert told["jam"]["minute"] == hour(5, 11)
    assert told["steps"][:6] == [hour(4, 8), hour(4, 10), hour(4, 12), hour(4, 14), hour(5, 8), hour(5, 10)]
    assert told["worst"] == {"minute": hour(4, 12), "blocked": 2, "standing": 3}
    assert worst_words(small) == ["Most stand blocked at once on 2027-01-04 12:00: 2 of the 3 on the floor."]


def test_the_table_of_a_moment_by_hand(small: OneRun) -> None:
    """Most upstream first; a serial leads to its story; a date of 8 in 10 runs only where runs are kept."""
    table = table_of(small, hour(5, 10), {"S 1": "2027-01-12"}, address.story_of("plant", 0))
    assert table.head == HEAD
    link = '<a href="story?scenario=plant&amp;run=0&amp;serial=S%201" target="_self">S 1</a>'
    assert [tuple(row)[1:] for row in table.rows] == [
        ("A", "blocked", "B taken", "1.0", "", "", ""), ("B Second", "blocked", "C taken", "1.0", "", "", ""),
        ("C", "work", "work: TC", "1.0", "", "2027-01-11", "2027-01-12")]
    assert str(table.rows[2][0]) == link
    assert "2027-01-05 10:00" in table.note
    assert "Nothing stands" in table_of(small, hour(29, 10), {}).note


def test_the_table_as_files(small: OneRun) -> None:
    """The same cells; days are numbers in the workbook."""
    table = table_of(small, hour(5, 10), {})
    assert list(csv.reader(io.StringIO(as_csv(table)))) == [list(table.head), *(list(row) for row in table.rows)]
    page = openpyxl.load_workbook(io.BytesIO(as_workbook(table))).worksheets[0]
    assert [cell.value for cell in page[3]] == list(table.head)
    assert [page.cell(4 + n, 5).value for n in range(3)] == [1.0, 1.0, 1.0]
    assert page.cell(6, 7).value == "2027-01-11"


@pytest.mark.parametrize(("text", "minute"), [
    ("2027-01-05T10:00", hour(5, 10)), ("2027-01-05", hour(5, 0)), ("2027-01-03T10:00", None), ("", None),
    ("2027-05-01T10:00", None), ("soon", None), ("2027-01-05T10:00+01:00", None), (None, None)])
def test_a_moment_in_the_address(small: OneRun, text: str | None, minute: int | None) -> None:
    """What is none of this run is passed over."""
    assert address.minute_in(small, text) == minute


def test_moments_and_runs_go_through_the_address(small: OneRun) -> None:
    """There and back; without one it begins at the first jam; a run that is no number is the usual one."""
    for minute in (hour(5, 10), hour(30, 7) + 13):
        assert address.minute_in(small, address.at_words(small, minute)) == minute
    assert address.first_minute(small) == hour(5, 11)
    assert [address.run_in(text, 7) for text in ("3", "-1", "x", None, "99999", "²")] == [3, 7, 7, 7, 7, 7]


def test_a_plant_that_never_jams_begins_at_its_first_step() -> None:
    """The tiny plant."""
    scenario = read_scenario(SCENARIOS / "tiny.yaml")
    one = done_again(scenario, scenario.seed, 0)
    assert one.jam is None
    assert address.first_minute(one) == one.first_step == json.loads(one.document)["steps"][0]
    assert worst_words(one) == []


def test_a_run_done_again_is_the_same_and_its_key_is_its_own(small: OneRun) -> None:
    """Twice the same document; another seed, number or word is another key."""
    scenario = small.sheet.scenario
    assert done_again(scenario, 1, 0).document == small.document
    renamed = scenario.model_copy(update={"name": "Another"})
    assert len({small.key, key_of(scenario, 2, 0), key_of(scenario, 1, 1), key_of(renamed, 1, 0)}) == 4


def runs_that_deliver(one: OneRun, counts: Sequence[int]) -> list[RunNumbers]:
    """Runs as that one, but for the number delivered on the last day of the window, and one more after it."""
    numbers, last = numbers_of(one.sheet, one.floor.records), window_of(one.sheet.scenario)[1]
    return [replace(numbers, run=n, delivered={f"S{k}": f"{last} 10:00" for k in range(count)} | {
        "after": f"{last + timedelta(days=1)} 10:00"}) for n, count in enumerate(counts)]


def test_which_runs_are_the_middle_a_slow_and_a_fast_one(small: OneRun) -> None:
    """By deliveries in the window; of equals the first; of too few none, and no date of 8 in 10 runs."""
    counts = [5, 9, 1, 7, 3, 7, 2, 8, 6, 4, 7]  # sorted: 1 2 3 4 5 6 7 7 7 8 9
    found = said_by(small.sheet, runs_that_deliver(small, counts))
    assert found.picks == {MIDDLE: counts.index(6), SLOW: counts.index(2), FAST: counts.index(8)}
    assert found.by_date == {}
    assert said_by(small.sheet, runs_that_deliver(small, [1, 2])).picks == {}


def test_runs_that_are_kept_are_read_and_others_are_none(tmp_path: Path) -> None:
    """30 runs of the tiny plant; a folder that is not there, or damaged, says nothing."""
    scenario = read_scenario(SCENARIOS / "tiny.yaml")
    sheet = Sheet(scenario)
    with RunFolder(tmp_path, "tiny", scenario, scenario.seed) as folder:
        assert kept_in(folder.path, sheet, scenario.seed).runs == 0
        before = stamp(folder.path)
        folder.put(run_chunk(sheet, scenario.seed, range(30), numbers_of))
        found = kept_in(folder.path, sheet, scenario.seed)
        assert stamp(folder.path) != before
        path = folder.path
    assert found.runs == 30
    assert set(found.picks) == {MIDDLE, SLOW, FAST}
    assert set(found.by_date) == {order.serial for order in scenario.orders or ()}
    for batch in (path / "batches").iterdir():
        batch.write_bytes(batch.read_bytes()[:-20])
    assert kept_in(path, sheet, scenario.seed).runs == 0
    assert kept_in(tmp_path / "nowhere", sheet, scenario.seed).picks == {}


def test_the_component_asks_nothing_of_the_network() -> None:
    """No address but the names of SVG, no import, and every program file is part of it."""
    text: Any = script()
    assert text.replace("http://www.w3.org/2000/svg", "").count("http") == 0
    assert "import(" not in text
    assert "fetch(" not in text
    assert "url(" not in style()
    assert "@import" not in style()
    here = Path(__file__).parents[3] / "linesim" / "show" / "app" / "replay"
    assert sorted(path.name for path in here.glob("*.js")) == sorted(SCRIPTS)
