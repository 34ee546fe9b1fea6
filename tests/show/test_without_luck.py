"""Ranges with and without the luck that aircraft share: the same runs twice, each kept in its own folder."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import linesim
from linesim.line.sheet import Sheet
from linesim.questions.without_luck import beside, without_common_luck
from linesim.show.commands import main
from linesim.show.report.kept import report_of_folder
from linesim.show.report.tables import both_ways

PLANT = """
name: One shop
start: 2027-01-01
end: 2027-06-30
window: {from: 2027-01-01, to: 2027-06-30}
shifts: {day: {start: "06:00", end: "14:00"}}
trades: {ASM: {people: {day: 1}}}
parts: {short_chance: 0.1, delay_work_days: 2}
positions:
  - {id: A, packages: [{id: a, trade: ASM, hours: 16, crew: 1}]}
launches: {takt_work_days: 2}
orders: unlimited
"""
SPELL = "common_luck: {supplier_spells: [{item: parts, from: 2027-01-04, days: 100, share: 1}]}\n"


def run(tmp_path: Path, text: str, *more: str) -> Path:
    """Run a plant with 30 runs; the folder in which its results are."""
    (tmp_path / "plant.yaml").write_text(text)
    out = tmp_path / "out"
    assert main(["run", str(tmp_path / "plant.yaml"), "--runs", "30", "--jobs", "1", "--out", str(out), *more]) == 0
    return out


def finished(out: Path) -> Path:
    """The run folder with an answer."""
    folder, = (path.parent for path in out.glob("*/manifest.json"))
    return folder


def test_the_answer_holds_the_same_runs_without_the_shared_luck(tmp_path: Path) -> None:
    """As the scenario without that section gives them, which differ from those with it; the report prints both."""
    folder = finished(run(tmp_path, PLANT + SPELL))
    numbers = json.loads((folder / "answer.json").read_text())
    plain = linesim.run(linesim.read(write(tmp_path, PLANT)), runs=30).answer.numbers
    found = numbers["without common luck"]
    assert found == {"runs": 30, **{name: plain[name] for name in ("deliveries in the window", "quarters")}}
    assert found["deliveries in the window"]["9 in 10 reach"] > numbers["deliveries in the window"]["1 in 10 reach"] + 9
    table = both_ways(numbers)
    assert table is not None
    assert [row[0] for row in table.rows] == ["2027 Q1", "2027 Q2", "The window"]
    page = (folder / "report.html").read_text()
    assert "with the luck that many aircraft share as declared" in page
    assert "without the luck that aircraft share, " in report_of_folder(folder).read_text()


def test_the_command_says_both_ranges(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Under the table of quarters, as in the answer."""
    numbers = json.loads((finished(run(tmp_path, PLANT + SPELL, "--no-report")) / "answer.json").read_text())
    with_it, without = (f"{one['9 in 10 reach']} to {one['1 in 10 reach']}" for one in (
        numbers["deliveries in the window"], numbers["without common luck"]["deliveries in the window"]))
    said = " ".join(capsys.readouterr().out.split())
    assert f"deliver {with_it} aircraft in the window; without the luck that aircraft share, {without}." in said


def test_they_are_kept_beside_and_not_done_twice(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A second command does no run again; the folder beside is that of the scenario without the section."""
    out = run(tmp_path, PLANT + SPELL)
    assert len(list(out.iterdir())) == 2
    assert "without the luck that aircraft share" in capsys.readouterr().err
    run(tmp_path, PLANT + SPELL)
    assert capsys.readouterr().err.count("30 runs were there already") == 2
    run(tmp_path, PLANT)
    assert "30 runs were there already" in capsys.readouterr().err


def test_nothing_is_added_without_shared_luck(tmp_path: Path) -> None:
    """No section, no second set; nor for one run alone."""
    out = run(tmp_path, PLANT, "--no-report")
    assert len(list(out.iterdir())) == 1
    assert "without common luck" not in json.loads((finished(out) / "answer.json").read_text())
    assert without_common_luck(linesim.read(write(tmp_path, PLANT))) is None


def test_too_few_runs_give_no_range(tmp_path: Path) -> None:
    """Under 29 runs there is no table of ranges."""
    plant = linesim.read(write(tmp_path, PLANT + SPELL))
    plain = without_common_luck(plant)
    assert plain is not None
    numbers = {**linesim.run(plant, runs=2).answer.numbers,
               "without common luck": beside(plain, linesim.run(plain, runs=2).runs)}
    assert both_ways(numbers) is None
    assert Sheet(plain).scenario.parts == plant.parts


def write(tmp_path: Path, text: str) -> Path:
    """The plant as a file of its own."""
    path = tmp_path / "other.yaml"
    path.write_text(text)
    return path
