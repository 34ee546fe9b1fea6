"""Scenarios side by side: the same runs as alone, differences run by run, and what differs in the input."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import linesim
from linesim.line.sheet import Sheet
from linesim.questions.compare import MEASURES, Alternative, compare, difference_of
from linesim.scenario.changing import changed
from linesim.scenario.differences import NOT_SAID, compared, differences, with_plan
from linesim.scenario.reading import read_scenario
from linesim.scenario.scenario import Scenario
from linesim.show import words
from linesim.show.commands import main

SCENARIOS = Path(__file__).parents[2] / "scenarios"
DEMO = SCENARIOS / "birchwater.yaml"
RUNS = 4


@pytest.fixture(scope="module")
def demo() -> Scenario:
    return read_scenario(DEMO)


def alternative(scenario: Scenario, name: str) -> Alternative:
    return Alternative.of(name, Sheet(scenario), linesim.run(scenario, runs=RUNS).runs)


@pytest.fixture(scope="module")
def ground(demo: Scenario) -> Alternative:
    return alternative(demo, demo.name)


def test_a_comparison_counts_as_the_run_does(demo: Scenario, ground: Alternative) -> None:
    """The same scenario, seed and runs give the same deliveries in `run` and in `compare`: a difference of 0."""
    alone = linesim.run(demo, runs=RUNS).answer.numbers["deliveries in the window"]["each run"]
    assert ground.values(MEASURES[0]) == alone
    answer = compare(ground, [Alternative("again", ground.sheet, ground.runs)], demo.seed)
    for found in answer.numbers["scenarios"][1]["measures"].values():
        assert found["difference"]["mean"] == 0
        assert found["difference"]["more in"] == 0
    assert answer.sentences == ["again: no difference that 4 runs can show."]


def test_differences_are_taken_run_by_run(demo: Scenario, ground: Alternative) -> None:
    """The mean of the differences is the difference of the means, and the gains are counted over pairs; a run that one
    of the two lacks does not count."""
    other = alternative(changed(demo, {"trades.FLM.people.day": "+1"}), "third mechanic")
    found = difference_of(MEASURES[0], ground, other)
    assert found is not None
    pairs = list(zip(other.values(MEASURES[0]), ground.values(MEASURES[0]), strict=True))
    assert found.mean == pytest.approx(np.mean([a - b for a, b in pairs]))
    assert found.better_in == sum(a > b for a, b in pairs)
    fewer = difference_of(MEASURES[0], ground, Alternative("fewer", other.sheet, other.runs[1:]))
    assert fewer is not None
    assert fewer.n == RUNS - 1
    assert fewer.mean == pytest.approx(np.mean([a - b for a, b in pairs[1:]]))


def test_what_differs_in_the_input_is_said_in_the_words_of_a_file(demo: Scenario) -> None:
    """Paths as changes name them; comparisons, plans and descriptions are no input."""
    other = changed(demo, {"trades.FLM.people.day": 3, "positions.PB.docks": 2, "work_rules.reserve": True})
    assert sorted(differences(demo, other), key=lambda found: found[0]) == [
        ("positions.PB.docks", 1, 2) if "docks" in demo.positions[14].model_fields_set
        else ("positions.PB.docks", NOT_SAID, 2),
        ("trades.FLM.people.day", 2, 3), ("work_rules.reserve", NOT_SAID, True)]
    assert differences(demo, demo.model_copy(update={"name": "other", "runs": 5})) == []


def test_declared_comparisons_with_their_plan(demo: Scenario) -> None:
    """A comparison takes its plan's steps, then its changes."""
    found = compared(demo, "4.0 + third flight-line mechanic")
    assert found.launches.steps == with_plan(demo, "4.0 from May").launches.steps != demo.launches.steps
    assert found.trades["FLM"].people["day"] == 3
    with pytest.raises(LookupError, match="no rate plan"):
        with_plan(demo, "9.0")


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = main(list(words))
    out = capsys.readouterr()
    return code, out.out, out.err


def test_the_command_says_what_its_json_says(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One change of a small plant: words and JSON agree; the second time nothing is run again."""
    words = ["compare", str(SCENARIOS / "tiny.yaml"), "--change", "positions.A.packages.a1.hours=+30", "--runs", "3",
             "--jobs", "1", "--out", str(tmp_path)]
    code, out, _ = run(capsys, *words)
    assert code == 0
    code, text, err = run(capsys, *words, "--json")
    assert code == 0
    assert err == "All runs of 2 scenarios were there already.\n"
    found: dict[str, Any] = json.loads(text)
    row = found["scenarios"][1]
    assert row["differs in"] == [{"path": "positions.A.packages.a1.hours", "ground": 8, "here": 38}]
    flow = row["measures"]["flow time"]["difference"]
    assert flow["mean"] > 0
    assert flow["more in"] == 3
    assert "positions.A.packages.a1.hours: 8 -> 38" in out
    line = next(line for line in out.splitlines() if line.strip().startswith("flow time"))
    assert f"{flow['mean']:+.2f}" in line
    assert all(sentence.split(":")[0] in out for sentence in found["sentences"])


@pytest.mark.parametrize(("words", "says"), [
    ([str(DEMO), "--with", "4.5 + third flight line mechanic"], "did you mean"),
    ([str(SCENARIOS / "tiny.yaml")], "nothing to compare with"),
    ([str(SCENARIOS / "tiny.yaml"), "--change", "positions.Q.docks=2"], "'Q'"),
    ([str(SCENARIOS / "tiny.yaml"), "--change", "positions.A.docks=-2"], "docks")])
def test_what_cannot_be_compared_is_one_clear_fault(words: list[str], says: str, tmp_path: Path,
                                                    capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 2, a reason, and nothing written."""
    code, _, err = run(capsys, "compare", *words, "--out", str(tmp_path / "out"), "--runs", "2")
    assert code == 2
    assert says in err
    assert not (tmp_path / "out").exists()


def test_differences_with_dates_can_be_printed_as_json() -> None:
    """Steps of a rate plan hold dates; the answer is JSON all the same."""
    ground = read_scenario(DEMO)
    other = compared(ground, "4.0 from May, no other change")
    runs = linesim.run(ground, runs=1).runs
    found = compare(Alternative.of("a", Sheet(ground), runs), [Alternative.of("b", Sheet(other), runs)], 1)
    assert "2027-05-03" in json.dumps(found.numbers)


def test_the_page_and_the_picture_say_what_the_json_says(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Each difference with its interval stands in the page, what differs in the input too; so does the picture."""
    page, drawn = tmp_path / "beside.html", tmp_path / "beside.svg"
    code, text, _ = run(capsys, "compare", str(SCENARIOS / "tiny.yaml"), "--change",
                        "positions.A.packages.a1.hours=+30", "--runs", "3", "--jobs", "1", "--out", str(tmp_path),
                        "--json", "--page", str(page), "--picture", str(drawn))
    assert code == 0
    found = json.loads(text)
    assert found["files"] == [str(drawn), str(page)]
    said = " ".join(re.sub(r"<[^>]*>", " ", page.read_text(encoding="utf-8")).split())
    for name, of in found["scenarios"][1]["measures"].items():
        if of["difference"] and of["difference"]["mean"]:
            mean, low, high = (words.difference(of["difference"][key], 2) for key in ("mean", "low", "high"))
            assert f"{mean} {low} {high} {of['difference']['more in']} of 3" in said, name
    assert "positions.A.packages.a1.hours 8 38" in said
    assert "No scenario is seen to deliver more" in drawn.read_text(encoding="utf-8")


@pytest.mark.parametrize("option", [["--picture", "beside.bmp"], ["--page", "beside.pdf"]])
def test_a_wrong_file_name_is_refused(option: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    code, _, err = run(capsys, "compare", str(SCENARIOS / "tiny.yaml"), *option)
    assert code == 2
    assert "must end in" in err
