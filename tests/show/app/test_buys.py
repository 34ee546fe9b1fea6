"""The page on what buys most: empty, asked, answered, stale, refused; what is there so far; the ticks and the link."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from linesim.line.runs import Stop, Workers
from linesim.questions.buys import measure_of, what_buys_most
from linesim.questions.buys_so_far import SO_FAR
from linesim.scenario.reading import read_scenario
from linesim.show import buying
from linesim.show.app.charts import buys as chart
from linesim.show.asking import Answered, Asking, Far, Where, WrongOption
from linesim.show.buying_course import guesses
from linesim.show.palette import LIGHT

from ..test_buying import PLANT

Opened = Callable[..., AppTest]
Finished = Callable[[AppTest], AppTest]
Text = Callable[[AppTest], str]
RUNS = 10


def plain(text: str) -> str:
    """The words of a page without their marks."""
    return re.sub(r"<[^>]*>", "", text)


def test_asked_answered_stale_and_found_again(opened: Opened, finished: Finished, text: Text) -> None:
    """No number before the button is pressed; then the answer; other inputs leave it there and say so; the link of the
    first inputs shows it again without a run."""
    app = opened("buys", each="1")
    assert "No run yet." in text(app)
    assert "5 changes, 1 run of each" in text(app)
    app = finished(app)
    assert not app.exception
    said = plain(text(app))
    assert "None of the 5 changes tried shows a gain in deliveries that 1 run can show." in said
    assert text(app).count("<table") == 2
    assert "Inputs have changed" not in said
    app.checkbox(key="try people ASM").uncheck().run()
    changed = plain(text(app))
    assert "Inputs have changed since these numbers were made." in changed
    assert "None of the 5 changes tried" in changed
    assert app.query_params["without"] == "people ASM"
    again = opened("buys", each="1")
    assert "None of the 5 changes tried" in plain(text(again))
    assert "Inputs have changed" not in text(again)


def test_what_is_ticked_is_tried_and_nothing_else(opened: Opened, finished: Finished, text: Text) -> None:
    """The ticks stand in the link; one tick for an area; without any there is nothing to press."""
    app = opened("buys", each="1", without=["furthest along", "serving ASM", "people ASM"], by="Days")
    assert not app.checkbox(key="try people ASM").value
    assert app.checkbox(key="area a place").value
    app = finished(app)
    said = plain(text(app))
    assert "None of the 2 changes tried shows a gain in days of flow" in said
    assert "3 further changes were not chosen and not tried." in said
    app.checkbox(key="area a place").uncheck().run()
    assert "No change is ticked" in text(app)
    assert not [one for one in app.button if one.key == "run"]
    app.checkbox(key="area paid hours").check().run()
    assert app.checkbox(key="try people ASM").value
    assert not app.exception


def asked(path: Path, partly: Callable[[Answered], None] | None = None,
          told: Callable[[Far], None] | None = None) -> Asking:
    """A question of a file in this process."""
    return Asking(Where("benches", 1, 1, path / "runs"), Stop(), Workers(), told, partly)


@pytest.fixture(scope="module")
def plant(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a file of a small plant with luck; its runs stand beside."""
    path = tmp_path_factory.mktemp("buys")
    (path / "benches.yaml").write_text(PLANT)
    return path


def test_what_is_there_so_far_is_told_and_the_answer_is_that_of_the_command(plant: Path) -> None:
    """First the plant as it is, then one change after the other, then the first step; the answer is the one of somebody
    who does not follow. How far it is never goes back."""
    scenario = read_scenario(plant / "benches.yaml")
    parts, fars = list[dict[str, Any]](), list[Far]()
    found = buying.answered(asked(plant, lambda part: parts.append(part.numbers), fars.append), scenario, {}, RUNS)
    assert found is not None
    looks = [part for part in parts if "tried" in part[SO_FAR]]
    number = len(found.numbers["first"]["tried"])
    assert [len(part[SO_FAR]["tried"]) for part in looks] == list(range(number + 1))
    assert looks[0]["runs"] == 1
    assert looks[-1]["runs"] == RUNS
    assert looks[0]["sentences"][0].startswith("No change is tried yet. As the file says: ")
    assert f"First look, {number} of {number} changes on {RUNS} runs each: " in looks[-1]["sentences"][0]
    assert "are now run again" in looks[-1]["sentences"][-1]
    assert [row["change"] for row in looks[-1][SO_FAR]["tried"]] == [
        row["change"] for row in found.numbers["first"]["tried"]]
    first, = (part for part in parts if "tried" not in part[SO_FAR])
    assert first["first"] == found.numbers["first"]
    assert first["second"] is None
    assert found.numbers["second"] is not None
    done = [far.variants * far.runs - far.missing + far.done for far in fars]
    assert done == sorted(done)
    assert fars[-1].variants * RUNS >= done[-1] > number * RUNS
    assert sum(guesses(number, RUNS)) > number * RUNS
    alone = buying.answered(asked(plant), scenario, {}, RUNS)
    assert alone is not None
    assert alone.numbers == found.numbers


def test_stopped_while_it_is_followed_it_goes_on(plant: Path, tmp_path: Path) -> None:
    """Stopped in the first look there is no answer, but what was told; asked again it is the whole answer."""
    scenario = read_scenario(plant / "benches.yaml")
    parts = list[dict[str, Any]]()
    ask = asked(tmp_path)

    def partly(part: Answered) -> None:
        parts.append(part.numbers)
        if len(part.numbers[SO_FAR]["tried"]) == 2:
            ask.stop.ask()

    ask.partly = partly
    assert buying.answered(ask, scenario, {}, RUNS) is None
    assert len(parts[-1][SO_FAR]["tried"]) == 2
    before = ask.stop.asked
    whole, there = (buying.answered(asked(path, lambda part: None), scenario, {}, RUNS) for path in (tmp_path, plant))
    assert before
    assert whole is not None
    assert there is not None
    assert whole.numbers == there.numbers


def test_only_some_changes_are_tried(plant: Path) -> None:
    """Those that are named by their keys; on top of the first no other, either."""
    scenario = read_scenario(plant / "benches.yaml")
    ask = asked(plant)
    found = buying.answered(ask, scenario, {"changes": ["people ASM", "dock B"]}, RUNS)
    assert found is not None
    names = {row["change"] for row in found.numbers["first"]["tried"]}
    assert names == {"a third assembler (ASM)", "a second dock in B"}
    every = what_buys_most(scenario, measure_of(scenario, "deliveries"), RUNS, buying.Runs(ask).more)
    rows = {one.candidate.change.words: one.verdict for one in every.first.tried}
    assert len(found.numbers["left out"]) == len(every.first.tried) - 2
    assert all(rows[row["change"]] == row["first look"] for row in found.numbers["first"]["tried"])
    with pytest.raises(WrongOption, match="nothing that may be changed"):
        buying.answered(ask, scenario, {"changes": []}, RUNS)
    with pytest.raises(WrongOption, match="money cannot be counted"):
        buying.answered(ask, scenario, {"by": "money"}, RUNS)


def test_the_chart_has_a_row_for_each_and_starts_the_second_step_where_the_first_ends(plant: Path) -> None:
    """Marks at the numbers of the answer."""
    scenario = read_scenario(plant / "benches.yaml")
    found = buying.answered(asked(plant), scenario, {}, RUNS)
    assert found is not None
    numbers = found.numbers
    first, second = numbers["first"]["run again"], numbers["second"]["run again"]
    drawn = chart.chart(LIGHT, numbers).to_dict()
    rows = [row for data in drawn["datasets"].values() for row in data if "said" in row]
    assert len(rows) == len(first) + len(second)
    assert rows[0]["mean"] == first[0]["deliveries"]["mean"]
    assert rows[len(first)]["mean"] == pytest.approx(first[0]["deliveries"]["mean"] + second[0]["deliveries"]["mean"])
    assert rows[len(first)]["name"].startswith("Then ")
    assert chart.said(numbers).count("95 % interval") == len(rows)
