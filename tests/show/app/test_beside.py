"""The page that holds scenarios beside each other: nothing chosen, inputs that differ before any run, answered, stale,
refused; the link alone brings the answer back.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from linesim.show.app.charts import beside as chart
from linesim.show.commands import main
from linesim.show.palette import LIGHT

Opened = Callable[..., AppTest]
Finished = Callable[[AppTest], AppTest]
Text = Callable[[AppTest], str]
TINY = Path(__file__).parents[3] / "scenarios" / "tiny.yaml"
MORE = "trades.ASM.people.day=1"


def put_other(results: Path, text: str) -> None:
    """Another scenario among those that were opened."""
    folder = results / "opened" / "12345678"
    folder.mkdir(parents=True)
    (folder / "mine.yaml").write_text(text)


def test_nothing_chosen_asks_for_a_choice(opened: Opened, text: Text) -> None:
    """A question to the reader, no button."""
    app = opened("beside")
    assert "Nothing is held beside Tiny yet." in text(app)
    assert not app.button
    assert not app.exception


def test_asked_answered_stale_and_found_again(opened: Opened, finished: Finished, text: Text, results: Path,
                                              capsys: pytest.CaptureFixture[str]) -> None:
    """What differs in the input stands there before any run; then each measure, as the command says it."""
    app = opened("beside", runs="3", change=MORE)
    assert "No run yet." in text(app)
    assert "trades.ASM.people.day" in text(app)
    assert text(app).count("<table>") == 1
    app = finished(app)
    assert not app.exception
    said = text(app)
    assert said.count("<table>") == 2
    assert main(["compare", str(TINY), "--change", MORE, "--runs", "3", "--jobs", "1", "--out", str(results),
                 "--json"]) == 0
    numbers = json.loads(capsys.readouterr().out)
    assert f'<h1 class="say">{numbers["sentences"][0]}</h1>' in said.replace("<b>", "").replace("</b>", "").replace(
        '<span class="day">', "").replace("</span>", "")
    flow = numbers["scenarios"][1]["measures"]["flow time"]
    assert f"{flow['mean']:.2f}" in said
    assert f"+{flow['difference']['mean']:.2f}" in said
    app.text_input(key="change").set_value("trades.ASM.people.day=2").run()
    assert "Inputs have changed since these numbers were made." in text(app)
    assert text(app).count("<table>") == 2
    again = opened("beside", runs="3", change=MORE)
    assert text(again).count("<table>") == 2
    assert "Inputs have changed" not in text(again)


def test_files_that_were_opened_are_held_beside(opened: Opened, text: Text, results: Path) -> None:
    """By the name that stands in them; one that calls itself like the ground, by its own."""
    put_other(results, TINY.read_text().replace("ASM: {people: {day: 3}}", "ASM: {people: {day: 4}}"))
    app = opened("beside", runs="2", **{"with": "file mine-12345678"})
    assert "No run yet." in text(app)
    assert ">mine-12345678<" in text(app)
    (results / "opened" / "12345678" / "mine.yaml").write_text(TINY.read_text().replace("name: Tiny", "name: Mine"))
    assert ">Mine<" not in text(opened("beside", runs="2", **{"with": "file mine-12345678"}))  # nothing differs


@pytest.mark.parametrize(("change", "says"), [
    ("people", "people: a change is written PATH=VALUE"),
    ("trades.ASN.people.day=2", "nothing is called &#39;ASN&#39; in trades; did you mean &#39;ASM&#39;?"),
    ("trades.ASM.people.day=none", "trades, ASM, people, day: must be a whole number, found &#39;none&#39;")])
def test_what_cannot_be_changed_is_said(opened: Opened, text: Text, change: str, says: str) -> None:
    """One line at once, no button and no traceback."""
    app = opened("beside", runs="2", change=change)
    assert "cannot be held beside each other yet" in text(app)
    assert text(app).count('class="fault"') == 1
    assert says in text(app)
    assert not app.button
    assert not app.exception


def test_a_faulty_file_beside_and_too_many(opened: Opened, text: Text, results: Path) -> None:
    """The fault of the other file with its place; more than three are refused."""
    put_other(results, "name: Mine\nstart: soon\n")
    app = opened("beside", runs="2", **{"with": "file mine-12345678"})
    assert "mine.yaml:1:1: &#39;end&#39; is missing (4 faults more)" in text(app)
    app.multiselect(key="with").set_value(["file birchwater", "file textbook-line", "file birchwater-pulse"]).run()
    app.text_input(key="change").set_value(MORE).run()
    assert "3 scenarios beside the ground are the most; found 3 and a change." in text(app)


def test_panels_say_what_they_draw() -> None:
    """A panel for each measure that differs; an interval that holds 0 is no difference seen."""
    def of(low: float, mean: float, high: float) -> dict[str, object]:
        return {"mean": 5.0, "difference": {"mean": mean, "low": low, "high": high, "more in": 6, "of": 8}}

    names = ("deliveries in the window", "flow time", "line stops")
    numbers = {"runs": 8, "ground": "A", "measures": dict.fromkeys(names, "units"), "scenarios": [
        {"name": "A", "measures": {}}, {"name": "B", "measures": dict(zip(names, [
            of(1.0, 2.0, 3.0), of(-1.0, 0.5, 2.0), {"mean": 0.0, "difference": None}], strict=True))}]}
    (first, drawn, said), (second, _, none) = chart.panels(LIGHT, numbers)
    assert (first, second) == ("Deliveries in the window, units", "Flow time, units")
    assert said == "B: deliveries in the window +2.0 units, 95 % interval +1.0 to +3.0, more in 6 of 8 runs."
    assert none.endswith("No difference seen.")
    assert drawn.to_dict()["height"] > 0
