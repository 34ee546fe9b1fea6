"""The page of the next work days: empty, answered, stale, decisions, two serials, recovery, refused; the link alone
brings the answer back.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from linesim.show import ten_days_section
from linesim.show.app.charts import ten_days as chart
from linesim.show.commands import main
from linesim.show.palette import LIGHT

Opened = Callable[..., AppTest]
Finished = Callable[[AppTest], AppTest]
Text = Callable[[AppTest], str]
TINY = Path(__file__).parents[3] / "scenarios" / "tiny.yaml"
HERE = "today-12345678"


@pytest.fixture
def today(results: Path) -> Path:
    """A small plant with an aircraft on the line."""
    folder = results / "opened" / "12345678"
    folder.mkdir(parents=True)
    file = folder / "today.yaml"
    file.write_text(f"{TINY.read_text()}\non_the_line: [{{serial: S1, at: B, remaining_share: 0.5}}]\n")
    return file


def plain(said: str) -> str:
    """Without the marks that hold dates together and underline."""
    for mark in ('<span class="day">', "</span>", "<b>", "</b>"):
        said = said.replace(mark, "")
    return said


def test_asked_answered_stale_and_found_again(opened: Opened, finished: Finished, text: Text, today: Path,
                                              capsys: pytest.CaptureFixture[str]) -> None:
    """The sentences of the command; fewer days leave the numbers there and say so; the link shows them again."""
    app = opened("ten_days", scenario=HERE, runs="30")
    assert "No run yet." in text(app)
    app = finished(app)
    assert not app.exception
    said = plain(text(app))
    assert main(["next", str(today), "--runs", "30", "--jobs", "1", "--json"]) == 0
    numbers = json.loads(capsys.readouterr().out)
    assert f'<h1 class="say">{numbers["sentences"][0]}</h1>' in said
    assert "DELIVERED" not in said
    for row in numbers["moves"]:
        assert (f">{row['half by']}<" in said) == (row["runs"] >= 15)
        assert f'<a href="story?scenario={HERE}&amp;run=0&amp;serial={row["serial"]}"' in said
    app.number_input(key="days").set_value(3).run()
    assert "Inputs have changed since these numbers were made." in text(app)
    again = opened("ten_days", scenario=HERE, runs="30")
    assert f'<h1 class="say">{numbers["sentences"][0]}</h1>' in plain(text(again))
    assert "Inputs have changed" not in text(again)


def test_decisions_come_first_where_they_are_asked(opened: Opened, finished: Finished, text: Text, today: Path) -> None:
    """The verdict is the answer; its table and figure stand above what comes."""
    app = finished(opened("ten_days", scenario=HERE, runs="4", ask="what may be decided"))
    assert not app.exception
    said = plain(text(app))
    assert '<h1 class="say">The 3 aircraft looked at deliver on average with' in said
    assert said.index("What each decision gives") < said.index("What comes, day by day")
    assert "no launch up to 2027-01-15" in said


def test_two_serials_and_a_recovery(opened: Opened, finished: Finished, text: Text, today: Path) -> None:
    """Both name what they need first; then the answer is about them."""
    app = opened("ten_days", scenario=HERE, runs="2", ask="two serials change places")
    assert "Choose two serials" in text(app)
    assert not app.button
    assert app.multiselect(key="swap").options == ["S2", "S3"]
    app.multiselect(key="swap").set_value(["S2", "S3"]).run()
    assert "S2 and S3 change places in the order book" in text(finished(app))
    app = opened("ten_days", scenario=HERE, runs="2", ask="recover a serial", recover="S2")
    assert "Give the date by which it is to be delivered" in text(app)
    app.text_input(key="by").set_value("2027-01-05").run()
    app = finished(app)
    assert not app.exception
    assert '<h1 class="say">Today&#39;s plant delivers S2 by 2027-01-05 in' in plain(text(app))


@pytest.mark.parametrize(("asked", "says"), [
    ({"days": "60"}, "Days: the scenario has 40 work days from 2027-01-04 to 2027-02-26; found 60 asked for"),
    ({"ask": "recover a serial", "by": "soon"}, "By needs a date like 2027-01-21, found &#39;soon&#39;."),
    ({"ask": "recover a serial", "by": "2029-01-01"}, "By must be 2027-01-04 to 2027-02-26, found 2029-01-01.")])
def test_what_cannot_be_asked_is_said_at_once(opened: Opened, text: Text, today: Path, asked: dict[str, str],
                                              says: str) -> None:
    """One line, no button."""
    app = opened("ten_days", scenario=HERE, **asked)
    assert says in plain(text(app))
    assert text(app).count('class="fault"') == 1
    assert not app.button
    assert not app.exception


def test_a_recovery_begins_with_the_changes() -> None:
    """What is to be changed, then today's plant; where nothing need be changed, that."""
    both = "Today's plant delivers S2 by 2027-01-05 in 1 in 10 runs. The cheapest is x, for 5 USD. On other luck: none."
    assert ten_days_section.of_recovery(both) == [
        "The cheapest is x, for 5 USD.", "Today's plant delivers S2 by 2027-01-05 in 1 in 10 runs.",
        "On other luck: none."]
    kept = "Today's plant delivers S2 in all 9 runs: nothing need be changed for it. On other luck: all 9 runs."
    assert ten_days_section.of_recovery(kept)[0].endswith("nothing need be changed for it.")


def test_charts_of_decisions_say_what_they_draw() -> None:
    """What was not tried is not drawn; a difference that is not seen is an open dot."""
    rows = [{"decision": "RIG helps FLM", "days earlier": {"mean": 2.5, "low": 0.1, "high": 4.8}, "verdict": "earlier"},
            {"decision": "no overtime", "days earlier": {"mean": -0.2}, "verdict": "no difference seen"},
            {"decision": "lend people", "not tried": "the file declares none"}]
    found = chart.decided(LIGHT, {"decisions": {"rows": rows}})
    assert found is not None
    drawn, said = found
    assert said == ("RIG helps FLM: +2.5 days earlier, 95 % interval +0.1 to +4.8; earlier. no overtime: −0.2 days "
                    "earlier; no difference seen.")
    assert [row["fill"] for rows in drawn.to_dict()["datasets"].values() for row in rows if "fill" in row] == [
        LIGHT["accent"], LIGHT["page"]]
    assert chart.decided(LIGHT, {}) is None
