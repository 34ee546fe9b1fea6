"""The page on trust: the kept table of checks, what the scenario assumes, the log of forecasts; without a table."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable
from pathlib import Path

from streamlit.testing.v1 import AppTest

from linesim.questions.proof import summary
from linesim.scenario.reading import read_scenario
from linesim.show import believing
from linesim.show.app.charts import believe as chart
from linesim.show.commands import main
from linesim.show.palette import LIGHT

Opened = Callable[..., AppTest]
Text = Callable[[AppTest], str]
ROOT = Path(__file__).parents[3]
KEPT, TINY = ROOT / "results" / "proof.json", ROOT / "scenarios" / "tiny.yaml"


def test_the_kept_table_is_shown(opened: Opened, text: Text) -> None:
    """As many checks as the file holds; those of the subject that is chosen; none is run."""
    kept = json.loads(KEPT.read_text())
    of = kept["summary"]
    app = opened("believe", scenario="birchwater", subject="queues")
    assert not app.exception
    said = text(app)
    first = f"{of['hold']} of {of['checks']} checks against values from outside the engine hold; 4 groups"
    assert f'<h1 class="say">{first}' in said
    for row in kept["checks"]:
        assert (f'<th scope="row">{row["check"]}</th>' in said.replace(' class="w"', "")) == (
            row["subject"] == "queues") or "&" in row["check"] or "'" in row["check"]
    assert "All data of this scenario are invented." in said
    assert "No forecast of this scenario is kept yet." in said
    app.selectbox(key="subject").set_value("arithmetic").run()
    assert text(app) != said


def test_a_log_of_forecasts_is_shown_and_scored(opened: Opened, text: Text, results: Path) -> None:
    """What was said of each serial; actual deliveries are scored; a table that is none is refused in one line."""
    assert main(["dates", str(TINY), "--runs", "30", "--jobs", "1", "--out", str(results), "--log"]) == 0
    app = opened("believe")
    assert "1 forecast, made" in text(app)
    app.file_uploader[0].set_value(("actual.csv", b"serial,delivered\nS1,2027-01-05\n", "text/csv")).run()
    assert not app.exception
    assert "How the forecasts came out." in text(app)
    app.file_uploader[0].set_value(("other.csv", b"serial\nS1\n", "text/csv")).run()
    assert "other.csv: line 1: needs the columns serial and delivered" in text(app)
    assert not app.exception


def test_without_a_table_it_says_how_to_make_one(tmp_path: Path) -> None:
    """No file, a broken one, one without checks: none of them is taken for a table."""
    for name, content in (("a", "{"), ("b", '{"linesim": "1"}'), ("c", '{"summary": {}, "checks": []}')):
        (tmp_path / name).write_text(content)
        assert summary.kept_table(tmp_path / name) is None
    assert summary.kept_table(tmp_path / "none") is None
    said = believing.sentences(None, read_scenario(TINY))
    assert said[0] == "Tiny names no input as assumed."
    assert believing.NO_TABLE in said


def test_the_table_goes_along_with_an_installed_package() -> None:
    """The build is told to take the file that is read there."""
    built = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"]["data-files"]
    assert built["/".join(summary.INSTALLED)] == [str(summary.KEPT)]


def test_checks_that_fail_are_loud() -> None:
    """A check that does not hold says so in the table, and its stroke has the colour of what is late."""
    rows = [{"subject": "queues", "check": "a", "source": "s", "expected": 1.0, "got": 9.0,
             "standard errors away": 5.0, "holds": False},
            {"subject": "queues", "check": "b", "source": "s", "expected": 1.0, "got": None,
             "standard errors away": None, "holds": False}]
    kept = {"checks": rows, "summary": {**summary.numbers_of(rows)}}
    assert [row[4] for row in believing.checks(kept).rows] == ["FAILS", "FAILS"]
    assert [row[2] for row in believing.checks(kept).rows] == ["9", "none"]
    assert LIGHT["late"] in json.dumps(chart.chart(LIGHT, kept).to_dict())
    assert chart.said(kept) == "Queues: at most 5.0 standard errors away."
    first, *_ = believing.sentences(kept, read_scenario(TINY))
    assert first.startswith("0 of 2 checks against values from outside the engine")
