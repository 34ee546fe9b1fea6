"""The next work days in the report: of which runs, from which floor, and where there is no such section."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from linesim.line.sheet import Sheet
from linesim.scenario.reading import read_scenario
from linesim.scenario.scenario import Scenario
from linesim.show.commands import main
from linesim.show.report.soon import MOST, soon_section

TINY = Path(__file__).parents[2] / "scenarios" / "tiny.yaml"
FLOOR = "\non_the_line: [{serial: S1, at: B, remaining_share: 0.5}]\n"


def plant(folder: Path, text: str) -> Scenario:
    """A scenario file, and what it says."""
    (folder / "today.yaml").write_text(text)
    return read_scenario(str(folder / "today.yaml"))


def test_it_says_what_the_command_says(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The same sentences and tables as `linesim next` with so many runs of the same seed."""
    scenario = plant(tmp_path, TINY.read_text() + FLOOR)
    found = soon_section(Sheet(scenario), 7, 200)
    assert found is not None
    assert main(["next", str(tmp_path / "today.yaml"), "--runs", str(MOST), "--seed", "7", "--jobs", "1",
                 "--json"]) == 0
    numbers = json.loads(capsys.readouterr().out)
    assert list(found.answer) == [*numbers["sentences"],
                                  f"These are the first {MOST} runs of the 200, made again over these days."]
    assert found.question.startswith("The next ten work days: what moves, flies")
    days = next(table for table in found.tables if table.head[0] == "Day")
    assert [row[0] for row in days.rows] == numbers["work days"]


def test_nothing_without_aircraft_on_the_line(tmp_path: Path) -> None:
    """The section is about today's floor."""
    assert soon_section(Sheet(plant(tmp_path, TINY.read_text())), 1, 2) is None


def test_a_scenario_that_ends_sooner(tmp_path: Path) -> None:
    """As many work days as there are, and the heading says how many."""
    short = TINY.read_text().replace("end: 2027-02-26", "end: 2027-01-07") + FLOOR
    found = soon_section(Sheet(plant(tmp_path, short)), 1, 2)
    assert found is not None
    assert found.question.startswith("The next 4 work days: ")
    assert found.answer[-1] == "These are the same 2 runs, made again over these days."


def test_the_report_has_it_before_the_floor(tmp_path: Path) -> None:
    """Once, with its figure beside the page."""
    plant(tmp_path, TINY.read_text() + FLOOR)
    assert main(["run", str(tmp_path / "today.yaml"), "--runs", "2", "--jobs", "1", "--out", str(tmp_path)]) == 0
    folder = next(tmp_path.glob("today-*"))
    page = (folder / "report.html").read_text()
    assert page.count('<section id="next">') == 1
    assert page.index('<section id="next">') < page.index('<section id="floor">')
    assert (folder / "figures" / "next.svg").exists()
