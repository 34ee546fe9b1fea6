"""`linesim new`: a file to begin with, that runs as it stands and never takes the place of another."""

from __future__ import annotations

import json
import os
import tomllib
from importlib.resources import files
from pathlib import Path

import pytest

import linesim
from linesim.line.cautions import cautions_of
from linesim.scenario.shipped import INSTALLED
from linesim.show import starting
from linesim.show.commands import main

PROJECT = Path(__file__).parents[2]


def test_the_starter_is_written_and_the_next_commands_are_named(tmp_path: Path,
                                                                capsys: pytest.CaptureFixture[str]) -> None:
    """Byte for byte as it stands in the package; the printed commands work on it."""
    file = tmp_path / "my plant.yaml"
    assert main(["new", str(file)]) == 0
    said = capsys.readouterr().out
    assert file.read_bytes() == files("linesim.scenario").joinpath("starter.yaml").read_bytes()
    assert f"linesim check '{file}'" in said
    assert f"linesim run '{file}'" in said
    assert main(["check", str(file)]) == 0


def test_the_starter_is_installed_with_the_package() -> None:
    """A data file of the package, named as such for the build."""
    build = tomllib.loads((PROJECT / "pyproject.toml").read_text())["tool"]["setuptools"]
    assert "starter.yaml" in build["package-data"]["linesim.scenario"]
    assert files("linesim.scenario").joinpath("starter.yaml").is_file()


def test_the_shipped_scenarios_are_installed_with_the_package() -> None:
    """Named as data of the build, with the tables they need, where an installed package looks for them."""
    data = tomllib.loads((PROJECT / "pyproject.toml").read_text())["tool"]["setuptools"]["data-files"]
    sent = {path.name for pattern in data["/".join(INSTALLED)] for path in PROJECT.glob(pattern)}
    assert sent >= {name for files_ in starting.LIKE.values() for name in files_}


def test_the_starter_says_it_is_invented_and_has_no_other_caution(tmp_path: Path) -> None:
    """What is declared in it is in the numbers; no trade hangs on one person."""
    file = tmp_path / "plant.yaml"
    assert main(["new", str(file)]) == 0
    plant = linesim.read(file)
    said = [str(caution) for caution in cautions_of(plant)]
    assert "the data of this scenario are invented" in said
    assert not [text for text in said if not (
        "invented" in text or text.startswith(("assumed, ", "every range holds", "planning aid")))]


def test_the_starter_gives_a_plausible_answer(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A small plant that keeps its plan, with enough runs for ranges, a place to look at and some promises at risk."""
    file = tmp_path / "plant.yaml"
    assert main(["new", str(file)]) == 0
    capsys.readouterr()
    assert main(["run", "--no-report", str(file), "--jobs", "1", "--out", str(tmp_path / "out"), "--json"]) == 0
    numbers = json.loads(capsys.readouterr().out)
    assert 12 <= numbers["deliveries in the window"]["8 in 10 reach"] <= 24
    assert numbers["keeps the plan"]["holds"] is True
    assert all(0.02 < row["load"]["mean"] < 0.95 for row in numbers["trades"])
    kept = [row["runs that keep it"] for row in numbers["serials"]]
    assert min(kept) < numbers["runs"] == max(kept)
    assert numbers["never moving on"] == []


@pytest.mark.parametrize("name", ["plant.yaml", "link.yaml"])
def test_a_file_that_is_there_stays_as_it_is(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Also one that a link only points at."""
    (tmp_path / "plant.yaml").write_text("mine")
    (tmp_path / "link.yaml").symlink_to(tmp_path / "not there.yaml")
    assert main(["new", str(tmp_path / name)]) == 2
    assert "is there already" in " ".join(capsys.readouterr().err.split())
    assert (tmp_path / "plant.yaml").read_text() == "mine"
    assert not (tmp_path / "not there.yaml").exists()


@pytest.mark.parametrize(("name", "reason"), [
    ("none/plant.yaml", "there is no folder"), (".", "is there already"), ("", "is there already"),
    ("file/plant.yaml", "Not a directory"), ("a" * 300, "name too long")])
def test_what_cannot_be_written_is_said(name: str, reason: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
                                        capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 2 and one reason."""
    monkeypatch.chdir(tmp_path)
    Path("file").write_text("")
    assert main(["new", name]) == 2
    said = " ".join(capsys.readouterr().err.split())
    assert said.startswith("Nothing is written:")
    assert reason in said
    assert os.listdir() == ["file"]


@pytest.mark.parametrize("like", sorted(starting.LIKE))
def test_a_copy_reads_as_the_shipped_scenario_does(like: str, tmp_path: Path,
                                                   capsys: pytest.CaptureFixture[str]) -> None:
    """With all that it needs, in a folder of its own."""
    file = tmp_path / "copy.yaml"
    assert main(["new", str(file), "--like", like]) == 0
    assert linesim.read(file) == linesim.read(PROJECT / "scenarios" / starting.LIKE[like][0])
    said = " ".join(capsys.readouterr().out.split())
    assert {path.name for path in tmp_path.iterdir()} == {"copy.yaml", *starting.LIKE[like][1:]}
    assert all(name in said for name in starting.LIKE[like])


def test_a_copy_is_written_whole_or_not_at_all(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A needed file of other content stays, and nothing is written beside it; the same content is no obstacle."""
    needed = tmp_path / "birchwater-orders.csv"
    needed.write_text("mine")
    assert main(["new", str(tmp_path / "copy.yaml"), "--like", "pulse"]) == 2
    assert "birchwater-orders.csv is there already" in " ".join(capsys.readouterr().err.split())
    assert [path.name for path in tmp_path.iterdir()] == ["birchwater-orders.csv"]
    assert needed.read_text() == "mine"
    needed.write_bytes((PROJECT / "scenarios" / needed.name).read_bytes())
    assert main(["new", str(tmp_path / "copy.yaml"), "--like", "pulse"]) == 0


def test_a_copy_cannot_take_the_name_of_what_it_needs(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The file that it extends would be itself."""
    assert main(["new", str(tmp_path / "birchwater.yaml"), "--like", "pulse"]) == 2
    assert "choose another name" in " ".join(capsys.readouterr().err.split())
    assert not list(tmp_path.iterdir())


def test_without_the_project_a_copy_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
                                               capsys: pytest.CaptureFixture[str]) -> None:
    """An installed package alone has no shipped scenarios, and says so."""
    monkeypatch.setattr(starting, "SHIPPED", tmp_path / "none")
    assert main(["new", str(tmp_path / "copy.yaml"), "--like", "birchwater"]) == 2
    assert "is not installed here" in " ".join(capsys.readouterr().err.split())
    assert not list(tmp_path.iterdir())
