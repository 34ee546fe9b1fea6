"""The page on rates: empty, asked, answered, stale, refused; the link alone brings the answer back."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from linesim.show.app.places import FILE

SCENARIOS = Path(__file__).parents[3] / "scenarios"

Opened, Finished, Text = Callable[..., AppTest], Callable[[AppTest], AppTest], Callable[[AppTest], str]


def test_asked_answered_stale_and_found_again(opened: Opened, finished: Finished, text: Text) -> None:
    """No number before the button is pressed; then the answer; other inputs leave it there and say so; the link of the
    first inputs shows it again without a run."""
    app = opened("rate", runs="3", takts="2,1")
    assert "No run yet." in text(app)
    assert not app.exception
    app = finished(app)
    assert not app.exception
    said = text(app)
    assert '<h1 class="say">The line holds' in said.replace("By these runs, not settled yet, the line", "The line")
    assert "3 runs · seed 1" in said.replace("</span>", "").replace("<span>", "")
    assert said.count("<table>") == 2
    assert "Inputs have changed" not in said
    app.text_input(key="takts").set_value("2").run()
    changed = text(app)
    assert "Inputs have changed since these numbers were made." in changed
    assert changed.count("<table>") == 2
    again = opened("rate", runs="3", takts="2,1")
    assert text(again).count("<table>") == 2
    assert "Inputs have changed" not in text(again)


def test_what_cannot_be_tried_is_said(opened: Opened, finished: Finished, text: Text) -> None:
    """Takts that are none: no traceback, the option and why."""
    app = finished(opened("rate", runs="1", takts="soon"))
    assert "It could not be carried out: takts: &#39;soon&#39; is no takt" in text(app)
    assert not app.exception


def test_a_file_with_faults_shows_them_and_nothing_else(opened: Opened, text: Text, results: Path) -> None:
    """Each fault with its place in the file; no inputs, no button."""
    folder = results / "opened" / "12345678"
    folder.mkdir(parents=True)
    (folder / "mine.yaml").write_text("name: Mine\nstart: soon\n")
    app = opened("rate", scenario="mine-12345678")
    said = text(app)
    assert "This file cannot run: " in said
    assert "mine.yaml:2:1: start: must be a date" in said
    assert str(results) not in said
    assert not app.button
    assert not app.exception


def test_where_nothing_can_be_written_that_is_said(opened: Opened, text: Text, results: Path) -> None:
    """The page is drawn, and the button says why it did nothing."""
    results.write_text("a file stands where the folder should be")
    app = opened("rate", runs="1")
    assert "No run yet." in text(app)
    app.button(key="run").click().run()
    assert "it cannot be written (Not a directory)." in text(app)
    assert not app.exception


def test_the_file_that_the_command_named_comes_first(opened: Opened, text: Text, results: Path, tmp_path: Path,
                                                     monkeypatch: pytest.MonkeyPatch) -> None:
    """`linesim app FILE` begins with it; a link goes before it."""
    file = tmp_path / "ours.yaml"
    file.write_text((SCENARIOS / "tiny.yaml").read_text().replace("name: Tiny", "name: Ours"))
    monkeypatch.setenv(FILE, str(file))
    assert "runs of Ours." in text(opened("rate", scenario=""))
    assert "runs of Tiny." in text(opened("rate"))


def test_another_of_the_rates_is_looked_at(opened: Opened, finished: Finished, text: Text) -> None:
    """The numbers and the hours lost are of the rate that is chosen, with no further run; the first numbers are known
    to come as soon as they came."""
    assert re.search(r"First numbers take about \d+ s", text(opened("rate", runs="2", takts="2,0.5")))
    app = finished(opened("rate", runs="2", takts="2,0.5"))
    chosen, = app.button_group
    assert chosen.options == ["2 d", "0.5 d"]
    first = text(app)
    assert f"({chosen.value})" in first
    other = next(one for one in chosen.options if one != chosen.value)
    app = chosen.set_value(other).run()
    assert not app.exception
    assert f"({other})" in text(app)
    assert "Inputs have changed" not in text(app)
