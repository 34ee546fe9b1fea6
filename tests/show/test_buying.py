"""`linesim buys`: the answer, what is kept and gone on with, its figure and page, and what it refuses."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

import linesim
from linesim.questions.buys import NoMeasure, Stopped, measure_of, what_buys_most
from linesim.scenario.reading import read_scenario
from linesim.show.asking import Where, asking
from linesim.show.buying import Runs, section
from linesim.show.charts import buys
from linesim.show.commands import main

PLANT = """
name: Two benches
start: 2027-01-04
end: 2027-03-26
window: {from: 2027-02-01, to: 2027-03-19}
shifts: {day: {start: "08:00", end: "16:00"}}
trades: {ASM: {name: Assembler, people: {day: 2}}, INS: {people: {day: 1}}}
work_time: {spread: {lognormal: {mean: 1, cv: 0.5}}}
positions:
  - {id: A, packages: [{id: a1, trade: ASM, hours: 11, inspection_hours: 1}]}
  - {id: B, parking: 1, packages: [{id: b1, trade: ASM, hours: 9}, {id: b2, kind: hold, elapsed_hours: 24}]}
launches: {takt_work_days: 1}
orders: unlimited
"""
RUNS = 10


@pytest.fixture(scope="module")
def plant(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A file of a small plant with luck; the tests share the runs beside it."""
    path = tmp_path_factory.mktemp("buys") / "benches.yaml"
    path.write_text(PLANT)
    return path


def said(capsys: pytest.CaptureFixture[str], plant: Path, *options: str, runs: int = RUNS) -> str:
    """What the command prints; its runs stand beside the file."""
    code = main(["buys", str(plant), "--runs", str(runs), "--jobs", "1", "--out", str(plant.parent / "runs"), *options])
    assert code == 0
    return capsys.readouterr().out


def numbers(capsys: pytest.CaptureFixture[str], plant: Path, *options: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(said(capsys, plant, *options, "--json"))
    return found


def batches(results: Path) -> dict[str, bytes]:
    """All runs that are kept, by folder and file."""
    return {str(path.relative_to(results)): path.read_bytes() for path in sorted(results.rglob("*.runs"))}


def test_the_answer_comes_first_then_tables_and_cautions(capsys: pytest.CaptureFixture[str], plant: Path) -> None:
    """Sentence, the largest with their intervals, what comes on top, all that was tried; as wide as the screen where a
    change as written is not wider."""
    answer, text = numbers(capsys, plant), said(capsys, plant)
    alone = answer["first"]["run again"][1]["may be the largest"] is False and not answer["first"][
        "not told from the first, not run again"]
    assert f" {'buys most' if alone else 'comes first'}: " in answer["sentences"][0]
    assert " ".join(" ".join(answer["sentences"]).split()) in " ".join(text.split())
    assert "Each change by itself." in text
    assert "On top of " in text
    assert "Caution  Before you cut days." in text
    rows = answer["first"]["run again"]
    gains = [row["deliveries"]["mean"] for row in rows]
    assert gains == sorted(gains, reverse=True)
    assert all(row["deliveries"]["of"] == RUNS for row in rows)
    assert len(rows) == 5
    assert answer["fresh seed"] == answer["seed"] + 1
    assert answer["second"]["on top of"] == rows[0]["change"]
    assert not answer["money"]


def test_days_are_ranked_by_how_much_shorter_they_get(capsys: pytest.CaptureFixture[str], plant: Path) -> None:
    """The same runs, another order."""
    before = numbers(capsys, plant)
    kept = set(batches(plant.parent / "runs"))
    answer = numbers(capsys, plant, "--by", "days")
    days = [row["days"]["mean"] for row in answer["first"]["run again"]]
    assert days == sorted(days)
    assert "calendar days of flow less" in answer["sentences"][0]
    assert {row["change"] for row in answer["first"]["tried"]} == {row["change"] for row in before["first"]["tried"]}
    assert kept <= set(batches(plant.parent / "runs"))


def test_no_run_is_done_twice(capsys: pytest.CaptureFixture[str], plant: Path) -> None:
    """The same question again finds all of its runs. They end with the window, and so, where the file does too, a
    comparison with one of the changes finds them."""
    first, kept = numbers(capsys, plant), batches(plant.parent / "runs")
    assert numbers(capsys, plant) == first
    assert batches(plant.parent / "runs") == kept
    ends = plant.parent / "ends.yaml"
    ends.write_text(PLANT.replace("end: 2027-03-26", "end: 2027-03-19"))
    assert numbers(capsys, ends) == first
    assert main(["compare", str(ends), "--change", "trades.ASM.people.day=+1", "--runs", str(RUNS), "--jobs", "1",
                 "--out", str(plant.parent / "runs")]) == 0
    assert "All runs of 2 scenarios were there already." in capsys.readouterr().err


def test_stopped_it_goes_on_where_it_was(capsys: pytest.CaptureFixture[str], plant: Path, tmp_path: Path) -> None:
    """Runs that were done before the stop are kept and not done again; the answer is that of one go, from Python as
    from the command."""
    scenario = read_scenario(plant)
    where = Where("benches", scenario.seed, 1, tmp_path / "runs")
    with asking(where) as ask:
        runs = Runs(ask)

        def more(candidates: Any, number: int, fresh: bool) -> Any:
            found = runs.more(candidates, number, fresh)
            ask.stop.ask()  # after the first look
            return found

        with pytest.raises(Stopped):
            what_buys_most(scenario, measure_of(scenario, "deliveries"), RUNS, more)
    kept = batches(tmp_path / "runs")
    assert len(kept) == ask.done / RUNS > 5
    answer = numbers(capsys, plant)
    again = linesim.buys(scenario, runs=RUNS, results=tmp_path / "runs", name="benches")
    assert kept.items() <= batches(tmp_path / "runs").items()
    assert again.sentences == answer["sentences"]
    assert again.numbers["first"] == answer["first"]
    assert again.numbers["second"] == answer["second"]


def test_picture_and_page(capsys: pytest.CaptureFixture[str], plant: Path, tmp_path: Path) -> None:
    """The figure's title is its finding; the page has the same sentences."""
    answer = numbers(capsys, plant, "--picture", str(tmp_path / "buys.svg"), "--page", str(tmp_path / "buys.html"))
    drawn = (tmp_path / "buys.svg").read_text(encoding="utf-8")
    first = answer["first"]["run again"][0]["change"]
    assert first[1:] in buys.finding(answer).title
    assert "no difference seen" in drawn or "in 10 of 10" in drawn
    page = (tmp_path / "buys.html").read_text(encoding="utf-8")
    assert "Which change buys most, and what then?" in page
    assert section(answer).cautions


def test_the_title_of_the_figure_is_true(capsys: pytest.CaptureFixture[str], plant: Path) -> None:
    """It says whether the first is alone, tied, or no gain at all."""
    answer = numbers(capsys, plant)
    rows = answer["first"]["run again"]
    alone = {**answer["first"], "run again": [rows[0], *({**row, "may be the largest": False} for row in rows[1:])],
             "not told from the first, not run again": []}
    assert buys.finding({**answer, "first": alone}).title.endswith(" buys most")
    tied = {**alone, "run again": [rows[0], {**rows[1], "may be the largest": True}, *alone["run again"][2:]]}
    assert buys.finding({**answer, "first": tied}).title.endswith(" comes first, tied with 1 other")
    none = {**alone, "run again": [{**rows[0], "deliveries": {**rows[0]["deliveries"], "seen": False}}]}
    assert buys.finding({**answer, "first": none}).title.endswith(" changes shows a gain in 10 runs")


def test_a_single_run_shows_no_difference(capsys: pytest.CaptureFixture[str], plant: Path) -> None:
    """It has no interval, and no second step."""
    text = " ".join(said(capsys, plant, runs=1).split())
    assert text.startswith("None of the ")
    assert "that 1 run can show" in text
    assert "On top of" not in text


@pytest.mark.parametrize(("options", "message"), [
    (["--by", "money"], "money cannot be counted: the file declares no `money`"),
    (["--runs", "0"], "--runs must be 1 to 1000000, found 0"),
    (["--page", "buys.pdf"], "--page: buys.pdf: the name must end in .html")])
def test_wrong_options_are_refused(capsys: pytest.CaptureFixture[str], plant: Path, options: list[str],
                                   message: str) -> None:
    """One line that says what is wrong; nothing is run."""
    assert main(["buys", str(plant), "--out", str(plant.parent / "none"), *options]) == 2
    assert message in capsys.readouterr().err
    assert not (plant.parent / "none").exists()


def test_nothing_to_change_is_said(plant: Path) -> None:
    """A word that is no measure, from Python too."""
    with pytest.raises(NoMeasure, match="is not one of"):
        linesim.buys(read_scenario(plant), by="speed")
