"""The README and its example run are what this code says: quoted words, figures, and the runs behind them."""

from __future__ import annotations

import csv
import importlib.util
import json
import math
import re
import tomllib
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

import linesim
from linesim.questions.by_run import deliveries_by_run

TREE = Path(__file__).parents[1]
EXAMPLE, README = TREE / "results" / "example", (TREE / "README.md").read_text(encoding="utf-8")
MOST_BYTES = 2_000_000


@pytest.fixture(scope="module")
def renewing() -> ModuleType:
    """The command that makes the example anew."""
    spec = importlib.util.spec_from_file_location("renew_example", TREE / ".ci" / "renew_example.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def kept(name: str) -> dict[str, Any]:
    """A file of the example."""
    found: dict[str, Any] = json.loads((EXAMPLE / name).read_text(encoding="utf-8"))
    return found


@pytest.fixture(scope="module")
def numbers() -> dict[str, Any]:
    """The answer of the example."""
    return kept("answer.json")


def test_the_example_is_what_this_code_gives() -> None:
    """Runs 0 to 2 made anew deliver in each quarter, in the window and in all what the example says. If they do not:
    `python .ci/renew_example.py`."""
    plant = linesim.read(TREE / "scenarios" / "birchwater.yaml")
    anew = deliveries_by_run(plant, linesim.run(plant, runs=3).runs)
    with (EXAMPLE / "csv" / "deliveries-by-run.csv").open(encoding="utf-8", newline="") as file:
        _, *kept = csv.reader(file)
    assert [[str(value) for value in row.values()] for row in anew] == kept[:3]


def test_what_the_readme_quotes_is_what_the_example_says(renewing: ModuleType, numbers: dict[str, Any]) -> None:
    """Every marked part, letter by letter."""
    marked = {part[2] for part in renewing.PART.finditer(README)}
    parts = renewing.parts(numbers, kept("asked.json"), kept("tale.json"))
    assert marked == set(parts)
    assert renewing.filled(README, parts) == README
    assert numbers["sentences"][0] in " ".join(README.split())


def test_the_tale_of_the_demo_is_still_that_of_this_code(renewing: ModuleType) -> None:
    """Its first three runs made anew. If they differ: `python .ci/renew_example.py --tale`, and read the tale again."""
    tale = kept("tale.json")
    assert tale["runs"] >= 200
    assert tale["first runs"] == renewing.first_runs(tale["seed"])
    declared = [one.name for one in linesim.read(TREE / renewing.DEMO).comparisons]
    assert [row["name"] for row in tale["scenarios"][1:]] == declared


def test_what_buys_most_agrees_with_the_comparisons() -> None:
    """Two estimates of one change from other luck, in other numbers of runs, agree within four standard errors (their
    95 % intervals, the first of five at once, read as normal ones)."""
    tale = kept("tale.json")
    compared = {row["name"]: row["measures"]["deliveries in the window"]["difference"] for row in tale["scenarios"][1:]}
    bought = {row["change"]: row["deliveries"] for row in tale["buys"]["first"]}
    for change, name in (("a third flight-line mechanic (FLM)", "4.5 + third flight-line mechanic"),
                         ("an evening shift in PP and PB (3 PNT more)", "4.5 + evening paint shift")):
        one, other = bought[change], compared[name]
        error = math.hypot((one["high"] - one["low"]) / 2 / 2.58, (other["high"] - other["low"]) / 2 / 1.96)
        assert abs(one["mean"] - other["mean"]) < 4 * error


def test_the_example_is_small_and_holds_what_the_readme_shows(renewing: ModuleType) -> None:
    """All of its files and no other; every picture and page that the README names is there."""
    found = {path.relative_to(EXAMPLE).as_posix(): path.stat().st_size for path in EXAMPLE.rglob("*") if path.is_file()}
    assert set(found) == set(renewing.FILES)
    assert sum(found.values()) < MOST_BYTES
    named = re.findall(r"\]\((?!https?:)([^)#]+)\)", README)
    assert len(named) > 5
    assert [name for name in named if not (TREE / name).is_file()] == []


def test_the_report_of_the_example_begins_with_the_same_answer(numbers: dict[str, Any]) -> None:
    """One run, one answer."""
    page = re.sub(r"<[^>]*>", "", (EXAMPLE / "report.html").read_text(encoding="utf-8"))
    assert numbers["sentences"][0] in page
    assert f"{numbers['runs']} runs · seed {numbers['seed']}" in page


def test_the_first_command_makes_the_example(renewing: ModuleType) -> None:
    """The first shell block installs and runs what the example is of; the second runs the tests."""
    first, second, *_ = re.findall(r"```sh\n(.*?)```", README, flags=re.DOTALL)
    assert first.strip().endswith(f"linesim run {renewing.DEMO} --runs {renewing.RUNS}")
    assert "-m pytest" in second
    assert "test" in tomllib.loads((TREE / "pyproject.toml").read_text(encoding="utf-8"))["project"][
        "optional-dependencies"]
