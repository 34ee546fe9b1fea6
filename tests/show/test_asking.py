"""Questions share runs: none is done twice, the same scenario gives the same count, a stopped question goes on."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pytest
from scipy.stats import binom

import linesim
from linesim.line.runs import run_many
from linesim.measures.run import RunNumbers
from linesim.questions.enough import Enough
from linesim.scenario.acted_on import acted_on
from linesim.scenario.changing import changed
from linesim.scenario.reading import parse_scenario, read_scenario
from linesim.scenario.scenario import Scenario
from linesim.show import rating
from linesim.show.asking import MOST_SHEETS, SO_FAR, Variant, Where, asking
from linesim.show.commands import main
from linesim.show.folder_check import Identity
from linesim.show.run_folder import RunFolder, runs_there
from linesim.show.whole_files import FolderRefused

RUNS = 30
PLANT = """
name: Two benches
start: 2027-01-04
end: 2027-06-25
window: {from: 2027-02-01, to: 2027-05-31}
runs: 7
shifts: {day: {start: "08:00", end: "16:00"}}
trades: {ASM: {people: {day: 2}}, INS: {people: {day: 1}}}
work_time: {spread: {lognormal: {mean: 1, cv: 0.5}}}
positions:
  - {id: A, packages: [{id: a1, trade: ASM, hours: 11, inspection_hours: 1}]}
  - {id: B, packages: [{id: b1, trade: ASM, hours: 9}]}
launches: {takt_work_days: 2}
plans:
  - {name: as it is}
  - {name: faster from April, steps: [{from: 2027-04-01, takt_work_days: 1}]}
orders: unlimited
comparisons:
  - {name: one more mechanic, changes: {trades.ASM.people.day: "+1"}}
"""


@pytest.fixture
def plant(tmp_path: Path) -> Path:
    """A file of a small plant with luck."""
    path = tmp_path / "benches.yaml"
    path.write_text(PLANT)
    return path


def answer(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    """What a command gives as JSON, and on the other stream."""
    assert main([*words, "--json", "--jobs", "1"]) == 0
    out = capsys.readouterr()
    return {**json.loads(out.out), "said": out.err}


def batches(results: Path) -> dict[str, bytes]:
    """All runs that are kept, by folder and file."""
    return {str(path.relative_to(results)): path.read_bytes() for path in sorted(results.rglob("*.runs"))}


def test_the_same_scenario_gives_the_same_count_in_every_question(plant: Path, tmp_path: Path,
                                                                  capsys: pytest.CaptureFixture[str]) -> None:
    """Run, rate, crew, compare, quarters and dates: difference 0, from the same kept runs, each done once."""
    out = ["--runs", str(RUNS), "--out", str(tmp_path / "results")]
    rate = answer(capsys, "rate", str(plant), *out)
    kept = batches(tmp_path / "results")
    crew = answer(capsys, "crew", str(plant), "--trade", "ASM", "--people", "2-3", *out)
    compare = answer(capsys, "compare", str(plant), *out)
    run = answer(capsys, "run", str(plant), "--no-report", *out)
    quarters = answer(capsys, "quarters", str(plant), *out)
    dates = answer(capsys, "dates", str(plant), *out)
    ground, with_more = compare["scenarios"]
    mean = ground["measures"]["deliveries in the window"]["mean"]
    assert rate["plans"][0]["mean deliveries in the window"]["mean"] == mean
    assert crew["crews"][0]["deliveries in the window"]["mean"] == pytest.approx(mean, abs=0.005)
    assert crew["crews"][1]["deliveries in the window"]["mean"] == pytest.approx(
        with_more["measures"]["deliveries in the window"]["mean"], abs=0.005)
    assert rate["plans"][0]["deliveries in the window"] == run["deliveries in the window"]
    assert quarters["deliveries in the window"]["8 in 10 reach"] == run["deliveries in the window"]["8 in 10 reach"]
    assert quarters["runs"] == dates["runs"] == run["runs"] == RUNS
    assert rate["plans"][0]["keeps the plan"]["runs"] == run["keeps the plan"]["runs"] \
        == ground["keeps the plan"]["runs"]
    whole = batches(tmp_path / "results")
    assert {name: content for name, content in whole.items() if name in kept} == kept
    folders = {name.split("/")[0] for name in whole}
    assert len(folders) == 3  # as it is, faster from April, one more mechanic
    for name in folders:
        *_, digest, seed = name.split("-")
        assert (len(digest), seed) == (8, "1")


def test_python_gives_the_numbers_of_the_command(plant: Path, tmp_path: Path,
                                                 capsys: pytest.CaptureFixture[str]) -> None:
    """Rate and crew, in memory and from kept runs."""
    scenario, results = linesim.read(plant), tmp_path / "results"
    words = ["--runs", "3", "--out", str(results)]
    rate = answer(capsys, "rate", str(plant), "--takts", "2,1", *words)
    crew = answer(capsys, "crew", str(plant), "--trade", "ASM", "--people", "2-3", "--target", "days <= 4", *words)
    for where in (None, results):
        found = linesim.rate(scenario, takts=[2, 1], runs=3, results=where, name="benches")
        assert json.loads(json.dumps(found.numbers)).items() <= rate.items()
        assert found.sentences == rate["sentences"]
        found = linesim.crew(scenario, {"ASM": "2-3"}, target="days <= 4", runs=3, results=where, name="benches")
        assert json.loads(json.dumps(found.numbers)).items() <= crew.items()
        assert found.sentences == crew["sentences"]


def test_no_run_is_done_twice(plant: Path, tmp_path: Path) -> None:
    """Counted: the first asking does all of them, the same in another order with other names does none, and one that
    asks for more does the difference."""
    scenario = linesim.read(plant)
    where = Where("benches", 1, 1, tmp_path)
    more = changed(scenario, {"trades.ASM.people.day": "+1"})
    variants = [Variant("as it is", scenario), Variant("more", more)]
    with asking(where) as ask:
        assert ask.do(variants, 6) == [range(6), range(6)]
        assert ask.done == 12
    again = [Variant("b", more.model_copy(update={"name": "another", "about": "a note", "comparisons": (), "runs": 9})),
             Variant("a", scenario), Variant("a once more", scenario)]
    with asking(Where("called otherwise", 1, 1, tmp_path)) as ask:
        assert ask.do(again, 6) == [range(6)] * 3
        assert ask.done == 0
        assert ask.do(again, 8) == [range(8)] * 3
        assert ask.done == 4
    assert len(list(tmp_path.glob("benches-*"))) == 2


@pytest.mark.parametrize("change", [
    {"name": "Another"}, {"about": "A note"}, {"runs": 3}, {"seed": 99}, {"comparisons": ()}, {"plans": ()},
    {"invented": True}, {"assumed": ("all of it",)}])
def test_what_is_not_acted_on_is_no_part_of_the_identity(change: dict[str, Any]) -> None:
    """The same folder, and runs that are equal to the last bit."""
    scenario = parse_scenario(PLANT)
    other = scenario.model_copy(update=change)
    assert Identity.of(other, 1).digest == Identity.of(scenario, 1).digest
    assert acted_on(other) == acted_on(scenario)
    one, same = (linesim.run(which, runs=1, seed=1).runs[0] for which in (other, scenario))
    assert one.delivered == same.delivered


@pytest.mark.parametrize("change", [
    {"trades.ASM.people.day": 3}, {"window.to": "2027-05-30"}, {"launches.takt_work_days": 2.5},
    {"positions.A.packages.a1.hours": 11.5}])
def test_what_is_acted_on_is(change: dict[str, Any]) -> None:
    """Another digest, so another folder."""
    scenario = parse_scenario(PLANT)
    assert Identity.of(changed(scenario, change), 1).digest != Identity.of(scenario, 1).digest


def test_the_same_runs_may_stand_under_another_name(plant: Path, tmp_path: Path) -> None:
    """A file that only says its name otherwise finds them, and its own name is what the finished folder says."""
    results = tmp_path / "results"
    with asking(Where("benches", 1, 1, results)) as ask:
        ask.do([Variant("tried", linesim.read(plant).model_copy(update={"name": "tried"}))], 3)
    copy = tmp_path / "copy.yaml"
    copy.write_text(PLANT.replace("name: Two benches", "name: My benches"))
    before = batches(results)
    assert main(["run", str(copy), "--no-report", "--runs", "3", "--jobs", "1", "--out", str(results)]) == 0
    folder, = results.iterdir()
    assert batches(results) == before
    assert json.loads((folder / "scenario.json").read_text())["name"] == "My benches"
    assert json.loads((folder / "manifest.json").read_text())["scenario"] == "My benches"
    with RunFolder(results, "benches", linesim.read(plant), 1) as found:
        assert found.there == {0, 1, 2}


def test_a_stopped_question_keeps_its_runs_and_goes_on(plant: Path, tmp_path: Path) -> None:
    """Stopped after two of three scenarios; the same question then does the third alone, and all is as in one go."""
    scenario = linesim.read(plant)
    variants = [Variant(f"{n}", changed(scenario, {"trades.ASM.people.day": n})) for n in (2, 3, 4)]
    with asking(Where("benches", 1, 1, tmp_path / "stopped")) as ask:
        ask.do(variants[:2], 5)
        ask.stop.ask()
        assert ask.do(variants, 5) == [range(5), range(5), range(0)]
        assert ask.stopped
        assert ask.done == 10
    with asking(Where("benches", 1, 1, tmp_path / "stopped")) as ask:
        assert ask.do(variants, 5) == [range(5)] * 3
        assert ask.done == 5
        on = [[run.delivered for run in ask.read(one, range(5))] for one in variants]
    with asking(Where("benches", 1, 1, tmp_path / "once")) as ask:
        ask.do(variants, 5)
        assert [[run.delivered for run in ask.read(one, range(5))] for one in variants] == on
    assert batches(tmp_path / "stopped") == batches(tmp_path / "once")


def test_a_damaged_folder_of_one_scenario_is_refused_before_any_run(plant: Path, tmp_path: Path) -> None:
    """All folders are looked at first."""
    scenario = linesim.read(plant)
    variants = [Variant(f"{n}", changed(scenario, {"trades.ASM.people.day": n})) for n in (2, 3)]
    where = Where("benches", 1, 1, tmp_path)
    with asking(where) as ask:
        ask.do(variants[1:], 2)
    batch, = tmp_path.rglob("*.runs")
    batch.write_bytes(batch.read_bytes()[:-9])
    with asking(where) as ask:
        with pytest.raises(FolderRefused, match="damaged"):
            ask.do(variants, 2)
        assert ask.done == 0
    assert runs_there(tmp_path, "benches", variants[0].scenario, 1) == set()


def test_with_a_precision_all_scenarios_have_the_same_number_of_runs(plant: Path, tmp_path: Path) -> None:
    """That of the one that needs most, since they are compared run by run."""
    scenario = linesim.read(plant)
    variants = [Variant("sure", changed(scenario, {"work_time.spread": 1})), Variant("varied", scenario)]
    alone: list[int] = []
    for one in variants:
        with asking(Where("alone", 1, 1, tmp_path / one.name)) as ask:
            alone += map(len, ask.do([one], 300, until_precision=0.12))
    with asking(Where("both", 1, 1, tmp_path / "both")) as ask:
        found = ask.do(variants, 300, until_precision=0.12)
    assert alone[0] == 100 < alone[1] < 300
    assert [len(one) for one in found] == [max(alone)] * 2


ONE_PLACE = """
name: One place, always work, exponential hours
start: 2027-01-01
end: 2027-01-01
positions: [{id: A, packages: [{id: a, hours: {exponential: 8}}]}]
launches: {saturated: true}
orders: unlimited
"""
MEAN, PRECISION = 24 / 8, 0.33


def stopped_at(scenario: Scenario, seed: int) -> tuple[float, float]:
    """Mean of the deliveries and half-width at the stop of one seed."""
    def note(sheet: Any, records: Any) -> RunNumbers:
        return RunNumbers(**{**blank, "run": records.replication, "delivered": {
            records.serials[n]: sheet.calendar.wall_text(t) for n, t in records.delivered.items()}})

    blank = dict.fromkeys(RunNumbers.__dataclass_fields__)
    enough, counts, most = Enough(scenario, PRECISION), list[int](), 0
    while not enough.over:
        for chunk in run_many(scenario, seed, range(most, most := most + (20 if most else 100)), note):
            for run in chunk:
                enough.note(run)
                counts.append(len(run.delivered))
    assert enough.last is not None
    return sum(counts[:enough.last.n]) / enough.last.n, enough.last.half_width


@pytest.mark.slow
def test_stopping_by_precision_keeps_its_coverage() -> None:
    """Deliveries of a day at one place of exponential hours are Poisson: of 400 stops 95 in 100 must hold the exact
    mean, within exact binomial bounds, and none is wider than asked."""
    scenario = parse_scenario(ONE_PLACE)
    found = [stopped_at(scenario, seed) for seed in range(400)]
    assert all(half <= PRECISION for _, half in found)
    covered = sum(math.fabs(mean - MEAN) <= half for mean, half in found)
    assert binom.ppf(1e-4, 400, 0.95) <= covered, covered


def test_who_hears_parts_has_the_first_scenario_before_the_others(plant: Path, tmp_path: Path) -> None:
    """Once, and only where several are tried; then all of them; who hears none gets the same numbers."""
    scenario = read_scenario(plant)
    found = []
    for partly in (None, []):
        where = Where("benches", 1, 1, tmp_path / str(partly))
        with asking(where, lambda far: None, None if partly is None else partly.append) as ask:
            found.append([rating.answered(ask, scenario, {"takts": takts}, 1) for takts in ("2,1", "2,1", "2")])
        if partly is not None:
            part, = partly
            assert part.numbers[SO_FAR] == {"scenarios": 1, "of": 2}
            assert [row["plan"] for row in part.numbers["plans"]] == ["2"]
            assert part.numbers["plans"] == found[1][0].numbers["plans"][:1]
    assert [one.numbers for one in found[0]] == [one.numbers for one in found[1]]


def test_a_sheet_is_made_once(plant: Path, tmp_path: Path) -> None:
    """Of each scenario at hand; of many the last ones are kept."""
    scenario = read_scenario(plant)
    with asking(Where("benches", 1, 1, tmp_path)) as ask:
        first = ask.sheet(scenario)
        assert ask.sheet(scenario) is first
        assert ask.on_other_luck(1).sheet(scenario) is first
        others = [scenario.model_copy() for _ in range(MOST_SHEETS)]
        assert len({id(ask.sheet(one)) for one in others}) == MOST_SHEETS
        assert ask.sheet(scenario) is not first
