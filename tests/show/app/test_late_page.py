"""The page on where the days go: empty, asked, answered, one aircraft, stale, refused; the way to the stories."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from linesim.line.runs import Stop, Workers
from linesim.questions import figures
from linesim.questions.late_each import EACH
from linesim.questions.losses import of_serial
from linesim.scenario.reading import read_scenario
from linesim.show import late
from linesim.show.app.charts import late as chart
from linesim.show.asking import Asking, Far, Variant, Where, WrongOption
from linesim.show.palette import LIGHT

from ..test_late import PLANT

Opened = Callable[..., AppTest]
Finished = Callable[[AppTest], AppTest]
Text = Callable[[AppTest], str]
NAME = "benches-12345678"


@pytest.fixture
def benches(results: Path) -> str:
    """A small plant with luck and orders, opened here; the name to choose it by."""
    folder = results / "opened" / "12345678"
    folder.mkdir(parents=True)
    (folder / "benches.yaml").write_text(PLANT)
    return NAME


def plain(text: str) -> str:
    """The words of a page without their marks."""
    return re.sub(r"<[^>]*>", "", text)


def test_asked_answered_and_the_way_to_each_story(benches: str, opened: Opened, finished: Finished, text: Text) -> None:
    """No number before the button is pressed; then the answer, with a link to the story of each aircraft in two runs;
    another aircraft is other inputs; a serial that is none is said in one line."""
    app = opened("late", scenario=benches, runs="2")
    assert "No run yet." in text(app)
    app = finished(app)
    assert not app.exception
    said = plain(text(app))
    assert "Aircraft lose most to waiting for room in B: " in said
    assert "Mean of the " in said
    assert "With one more dock in B: " in said
    links = re.findall(r'href="(story[^"]*)"', text(app))
    assert len(links) == 2 * 99
    assert f"story?scenario={NAME}&amp;run=" in links[0]
    assert re.search(r"&amp;serial=S\d+$", links[0])
    app.selectbox(key="aircraft").select("S40").run()
    assert "Inputs have changed since these numbers were made." in text(app)
    wrong = opened("late", scenario=benches, runs="2", aircraft="S400")
    assert "The order book has no serial" in text(wrong)
    assert "S400" in text(wrong)
    assert not wrong.exception


def test_one_aircraft_by_its_link(benches: str, opened: Opened, finished: Finished, text: Text) -> None:
    """What it loses, and two links to its story; the link alone shows it again."""
    app = finished(opened("late", scenario=benches, runs="2", aircraft="S40"))
    assert not app.exception
    assert "S40 loses " in plain(text(app))
    links = re.findall(r'href="(story[^"]*)"', text(app))
    assert len(links) == 2
    assert all(link.endswith("&amp;serial=S40") for link in links)
    assert "S40 loses " in plain(text(opened("late", scenario=benches, runs="2", aircraft="S40")))


def test_a_plant_that_loses_nothing(opened: Opened, finished: Finished, text: Text) -> None:
    """It says so; no table of losses, nothing to hand out that would be empty."""
    app = finished(opened("late", runs="1"))
    assert not app.exception
    assert "Aircraft lose no time on the chain that sets their dates." in plain(text(app))


def test_each_aircraft_loses_what_is_said_of_it_alone(tmp_path: Path) -> None:
    """The table of all is the answers on each; the answer is that of somebody who does not follow."""
    path = tmp_path / "benches.yaml"
    path.write_text(PLANT)
    scenario, fars = read_scenario(path), list[Far]()
    where = Where("benches", 1, 1, tmp_path / "runs")
    ask = Asking(where, Stop(), Workers(), fars.append)
    found = late.answered(ask, scenario, {}, 5)
    assert found is not None
    each = found.tables[EACH].set_index("serial")
    sheet = late.Sheet(scenario)
    runs = list(ask.read(Variant("", scenario), range(5)))
    for number, serial in ((9, "S10"), (39, "S40"), (98, "S99")):
        lost = [of_serial(sheet, run, number) for run in runs]
        days = [sum(of.values()) for of in lost]
        assert each.loc[serial, "days"] == pytest.approx(sum(days) / 5)
        assert days[int(each.loc[serial, "middle"])] == sorted(days)[2]
        assert days[int(each.loc[serial, "slow"])] == max(days)
        assert each.loc[serial, "delivered_in"] == sum(serial in run.delivered for run in runs)
    assert (each["of"] == 0).all()
    assert [far.variants for far in (fars[0], fars[-1])] == [4, 2]
    assert fars[-1].missing >= fars[-1].done > 0
    with pytest.raises(WrongOption, match="has no serial 'S400'"):
        late.answered(ask, scenario, {"serial": "S400"}, 5)
    alone = late.answered(Asking(where, Stop(), Workers()), scenario, {}, 5)
    assert alone is not None
    assert alone.numbers == found.numbers
    table = figures.chain(found.numbers)
    drawn = chart.areas(LIGHT, table).to_dict()
    rows = [row for data in drawn["datasets"].values() for row in data]
    blocked = next(row for row in rows if row["name"].startswith("A: ") and row["family"] == "blocked")
    assert blocked["days"] == pytest.approx(found.numbers["largest"][0]["work days"], abs=0.001)


def test_the_figure_of_one_aircraft(tmp_path: Path) -> None:
    """Its title is true of the runs, on the screen and to print."""
    path = tmp_path / "benches.yaml"
    path.write_text(PLANT)
    found = late.answered(Asking(Where("benches", 1, 1, tmp_path / "runs"), Stop(), Workers()), read_scenario(path),
                          {"serial": "S40"}, 5)
    assert found is not None
    row = found.numbers["largest"][0]
    if row["largest in"] >= 2.5:
        assert chart.finding(found.numbers).title.endswith(f"is its largest loss in {row['largest in']} of 5 runs")
    else:
        assert chart.finding(found.numbers).title == "No loss is the largest in half the runs"
    assert chart.chart(LIGHT, found.numbers).to_dict()["height"] > chart.BELOW
    assert chart.plate(LIGHT, found.numbers).axes[0].get_xlabel() == "Work days lost"
