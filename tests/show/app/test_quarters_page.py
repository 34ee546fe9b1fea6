"""The page on quarters: asked and answered with few runs; of one model; a link that names what is not there."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from linesim.scenario.changing import changed
from linesim.scenario.reading import read_scenario

SCENARIOS = Path(__file__).parents[3] / "scenarios"


@pytest.fixture
def small(results: Path) -> str:
    """The tiny plant over a whole quarter, opened here; the name it is chosen by."""
    folder = results / "opened" / "00000001"
    folder.mkdir(parents=True)
    text = (SCENARIOS / "tiny.yaml").read_text().replace("end: 2027-02-26", "end: 2027-03-31")
    (folder / "quarter.yaml").write_text(text.replace("start: 2027-01-04", "start: 2027-01-01"))
    return "quarter-00000001"


def test_asked_and_answered(opened: Callable[..., AppTest], finished: Callable[[AppTest], AppTest],
                            text: Callable[[AppTest], str], small: str) -> None:
    """The sentence, the numbers beside their circles, every table, and where it came from."""
    app = finished(opened("quarters", scenario=small, runs="3"))
    assert not app.exception
    said = text(app)
    assert "3 runs deliver" in said
    assert 'aria-label="all 3 runs"' in said
    assert "Aircraft delivered in the quarter; counts are read &#34;at least&#34;." in said
    assert changed(read_scenario(SCENARIOS / "tiny.yaml"), {}).name in said
    assert len(app.get("vega_lite_chart") + app.get("arrow_vega_lite_chart")) == 3
    least = app.number_input(key="least").set_value(2).run()
    assert "Inputs have changed" in text(least)
