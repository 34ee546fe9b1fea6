"""The page on crews: empty, asked, answered as the command answers, stale, refused; the link brings the answer back."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from linesim.scenario.reading import read_scenario
from linesim.show import crewing
from linesim.show.commands import main

Opened, Finished, Text = Callable[..., AppTest], Callable[[AppTest], AppTest], Callable[[AppTest], str]
SHIPPED = Path(__file__).parents[3] / "scenarios"
TINY = str(SHIPPED / "tiny.yaml")
ASKED = {"runs": "3", "people": "1-2", "within": "2"}


def test_asked_answered_stale_and_found_again(opened: Opened, finished: Finished, text: Text) -> None:
    """No number before the button is pressed; then the crew that keeps the target; other inputs leave it there and say
    so; the link of the first inputs shows it again without a run."""
    app = opened("crew", **ASKED)
    assert "No run yet." in text(app)
    assert "<thead>" not in text(app)
    assert app.selectbox(key="trade").value == "ASM"
    app = finished(app)
    assert not app.exception
    said = text(app)
    assert "By these runs, not settled yet: the smallest crew tried that keeps 8 in 10 aircraft within 2 work" in said
    assert "Smallest so far, unsettled" in said
    assert "--settle" not in said
    assert said.count("<thead>") == 2
    assert "Inputs have changed" not in said
    app.text_input(key="people").set_value("1-3").run()
    assert "Inputs have changed since these numbers were made." in text(app)
    assert text(app).count("<thead>") == 2
    again = text(opened("crew", **ASKED))
    assert again.count("<thead>") == 2
    assert "Inputs have changed" not in again


def test_the_numbers_are_those_of_the_command(opened: Opened, finished: Finished, text: Text, results: Path,
                                              capsys: pytest.CaptureFixture[str]) -> None:
    """The days of each crew in the cells, and no run is done twice."""
    said = text(finished(opened("crew", runs="3", people="1,2")))
    assert main(["crew", TINY, "--trade", "ASM", "--people", "1,2", "--runs", "3", "--jobs", "1", "--out",
                 str(results), "--json"]) == 0
    printed = capsys.readouterr()
    assert "All runs of 2 scenarios were there already." in printed.err
    numbers = json.loads(printed.out)
    assert f'<h1 class="say">{numbers["sentences"][0]}' in re.sub("</?b>", "", said)
    for row in numbers["crews"]:
        assert f"8 in 10 keep, {row['crew']}</div><div class=\"v\">{row['8 in 10']:.1f}" in said


def test_two_trades_are_tried_together(opened: Opened, text: Text) -> None:
    """The second one has its own people; the mechanics of the flight line are asked about first."""
    app = opened("crew", scenario="birchwater", runs="1")
    assert app.selectbox(key="trade").value == "FLM"
    assert app.text_input(key="people").placeholder == "2-4"
    app.selectbox(key="other_trade").set_value("FTP").run()
    assert not app.exception
    assert app.text_input(key="other_people").placeholder == "2-3"
    assert "No run yet." in text(app)


@pytest.mark.parametrize(("wrong", "why"), [
    ({"people": "many"}, "people: &#39;many&#39; is no number of people; write 2-5 or 2,4"),
    ({"people": "1-90"}, "people: these are 90 crews to try; at most 64 are")])
def test_what_cannot_be_tried_is_said(opened: Opened, finished: Finished, text: Text, wrong: dict[str, str],
                                      why: str) -> None:
    """One line with the option and why; no traceback."""
    app = finished(opened("crew", runs="1", **wrong))
    assert f"It could not be carried out: {why}" in text(app)
    assert not app.exception


def test_a_plant_without_trades_has_nobody_to_try(opened: Opened, text: Text) -> None:
    """One sentence instead of inputs."""
    app = opened("crew", scenario="textbook-line")
    assert "This scenario has no trades" in text(app)
    assert not app.exception


def test_whose_want_keeps_aircraft_on_the_ground() -> None:
    """Pilots and the mechanics of the flight line, each by the reason that names them; nobody else."""
    scenario = read_scenario(SHIPPED / "birchwater.yaml")
    assert crewing.wanted_for_flying(scenario, "FTP") == "no pilot"
    assert crewing.wanted_for_flying(scenario, "FLM") == "no mechanic"
    assert crewing.wanted_for_flying(scenario, "PNT") is None
