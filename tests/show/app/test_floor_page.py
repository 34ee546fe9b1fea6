"""The pages of the floor and of one aircraft's story, drawn without a browser."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from linesim.line.runs import run_chunk
from linesim.line.sheet import Sheet
from linesim.measures.run import numbers_of
from linesim.scenario.reading import read_scenario
from linesim.show.run_folder import RunFolder

Opened, Text = Callable[..., AppTest], Callable[[AppTest], str]
SCENARIOS = Path(__file__).parents[3] / "scenarios"
BLOCKED = Path(__file__).parent / "blocked.json"


@pytest.fixture
def jams(results: Path) -> str:
    """A plant that jams on its second day, opened; its name in the address."""
    folder = results / "opened" / "00000001"
    folder.mkdir(parents=True)
    (folder / "blocked.yaml").write_bytes(BLOCKED.read_bytes())
    return "blocked-00000001"


def test_the_first_jam_is_the_answer_and_its_moment_the_table(opened: Opened, text: Text, jams: str) -> None:
    """Sentence, where it came from, that it is one run, the rows of that moment; the address holds run and moment."""
    app = opened("floor", scenario=jams)
    assert not app.exception
    said = text(app)
    plain = re.sub(r"<[^>]*>", "", said)
    assert "In run 0 the line first jams on 2027-01-05: C is still at work, and S2 behind it in B cannot move." in plain
    assert "one possible course of events, not a forecast" in said
    assert "Most stand blocked at once on" in said
    assert "2027-01-05 11:00, plant time" in said
    assert re.findall(r'<th scope="row"[^>]*><a href="([^"]*)"', said) == [
        f"story?scenario={jams}&amp;run=0&amp;serial={serial}" for serial in ("S3", "S2", "S%201")]
    assert app.query_params["run"] == "0"
    assert app.query_params["at"] == "2027-01-05T11:00"


def test_a_link_shows_its_run_and_its_moment(opened: Opened, text: Text, jams: str) -> None:
    """And one that names neither a run nor a moment of it is shown as if it named none."""
    app = opened("floor", scenario=jams, run="2", at="2027-01-06T09:15")
    assert "In run 2 " in text(app)
    assert "2027-01-06 09:15, plant time" in text(app)
    strange = opened("floor", scenario=jams, run="two", at="2031-01-06T09:15")
    assert "In run 0 " in text(strange)
    assert "2027-01-05 11:00, plant time" in text(strange)
    assert not strange.exception


def test_another_run_begins_at_its_own_first_jam(opened: Opened, text: Text, jams: str) -> None:
    """The number typed is the run shown, and the moment of the run before does not stay."""
    app = opened("floor", scenario=jams, at="2027-01-06T09:15")
    app.number_input[0].set_value(4).run()
    assert "In run 4 " in text(app)
    assert "2027-01-05 11:00, plant time" in text(app)
    assert app.query_params["run"] == "4"


def test_a_middle_run_only_where_runs_are_kept(opened: Opened, text: Text, results: Path) -> None:
    """Without kept runs it says so; with them they can be taken, and dates of 8 in 10 runs stand in the table."""
    assert "No runs of this scenario are kept yet." in text(opened("floor"))
    scenario = read_scenario(SCENARIOS / "tiny.yaml")
    with RunFolder(results, "tiny", scenario, scenario.seed) as folder:
        folder.put(run_chunk(Sheet(scenario), scenario.seed, range(30), numbers_of))
    app = opened("floor", at=f"{scenario.start}T12:00")
    assert "No runs of this scenario" not in text(app)
    assert "8 in 10 by" in text(app)
    app.segmented_control[0].set_value("slow run").run()
    assert not app.exception
    assert "In run 0 no aircraft stood blocked for more than a work day." in text(app)


def test_a_story_is_told_of_the_serial_of_the_address(opened: Opened, text: Text, jams: str) -> None:
    """Sentence, picture with its words, stays, reasons and events; another serial is chosen from the list."""
    app = opened("story", scenario=jams, run="1", serial="S 1")
    assert not app.exception
    said = text(app)
    assert "In run 1 <b>S 1</b> was launched" in said
    assert "7.4 calendar days" in said.replace("7.4</b>", "7.4")
    assert said.count("<table>") == 3
    assert 'src="data:image/svg+xml;base64,' in said
    assert f'<a href="floor?scenario={jams}&amp;run=1&amp;at=2027-01-04T10%3A00" target="_self">' in said
    app.selectbox(key="story_serial").set_value("S3").run()
    assert "In run 1 <b>S3</b> was launched" in text(app)
    assert app.query_params["serial"] == "S3"


def test_a_serial_that_is_not_there_is_said(opened: Opened, text: Text, jams: str) -> None:
    """With what is near; another is shown instead."""
    app = opened("story", scenario=jams, serial="S9")
    assert not app.exception
    assert "S9" in text(app)
    assert "is shown." in text(app)
