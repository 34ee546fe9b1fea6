"""`linesim dates`: the table, one serial, a new order in a folder of its own, and the picture."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from linesim.show.commands import main

TINY = str(Path(__file__).parents[2] / "scenarios" / "tiny.yaml")


def asked(capsys: pytest.CaptureFixture[str], folder: Path, *options: str, runs: int = 30) -> str:
    assert main(["dates", TINY, "--runs", str(runs), "--jobs", "1", "--out", str(folder), *options]) == 0
    return capsys.readouterr().out


def test_every_serial_against_its_promise(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """One row each with the dates of the answer, in promised order."""
    numbers = json.loads(asked(capsys, tmp_path, "--json"))
    text = asked(capsys, tmp_path)
    rows = [line.split() for line in text.splitlines() if line.startswith("S") and line[1:2].isdigit()]
    assert [row[0] for row in rows] == ["S1", "S2", "S3"]
    for row, of in zip(rows, numbers["serials"], strict=True):
        assert row[1:5] == [of["promised"], of["half by"], of["8 in 10 by"], of["19 in 20 by"]]
        assert row[5] == f"{of['runs that keep it']}/30"
    assert "Before this becomes a promise." in text
    assert max(map(len, text.splitlines())) <= 88


def test_one_serial(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Its dates in a sentence, and all that it loses days to."""
    text = asked(capsys, tmp_path, "--serial", "S2")
    assert text.startswith("S2: half the runs deliver by 2027-01-")
    assert "Promised 2027-01-08" in text
    assert len(json.loads(asked(capsys, tmp_path, "--serial", "S2", "--json"))["serials"]) == 1


def test_a_new_order_is_run_in_a_folder_of_its_own(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Both scenarios' runs are kept, and not done again by the same question."""
    text = asked(capsys, tmp_path, "--new")
    assert "A new order launched on 2027-01-07 may be promised for 2027-01-" in text
    assert "1 in 5 such promises will be missed." in text
    assert len(list(tmp_path.iterdir())) == 2
    assert main(["dates", TINY, "--runs", "30", "--jobs", "1", "--out", str(tmp_path), "--new"]) == 0
    found = capsys.readouterr()
    assert "All runs of 2 scenarios were there already." in found.err
    assert found.out == text


def test_too_few_runs_for_a_date(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """First and last date instead of percentiles; no date to promise; nothing drawn."""
    text = " ".join(asked(capsys, tmp_path, "--new", "--picture", str(tmp_path / "d.png"), runs=3).split())
    assert "first" in text
    assert "8 in 10 by" not in text
    assert "29 are needed to name a date." in text
    assert "Drawn nothing" in text
    assert not (tmp_path / "d.png").exists()


def test_without_an_order_book(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """One sentence instead of a table; nothing to draw."""
    line = str(Path(TINY).parent / "textbook-line.yaml")
    assert main(["dates", line, "--runs", "1", "--jobs", "1", "--out", str(tmp_path), "--picture",
                 str(tmp_path / "d.png")]) == 0
    text = capsys.readouterr().out
    assert text.startswith("The scenario has no order book, so no aircraft has a date of its own.")
    assert "serial  promised" not in text


def test_the_picture(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """The chart of the report, with its finding."""
    asked(capsys, tmp_path, "--picture", str(tmp_path / "d.svg"))
    drawn = (tmp_path / "d.svg").read_text(encoding="utf-8")
    assert "S3" in drawn
    assert "3 aircraft" in drawn


@pytest.mark.parametrize(("options", "message"), [
    (["--serial", "S22"], "--serial: the order book has no serial 'S22'; it has S1 to S3"),
    (["--new", "--model", "M"], "--new: no order is of model 'M'"),
    (["--model", "M"], "--model is the model of a new order: give --new, too"),
    (["--picture", "d.gif"], "the name must end in .svg or .png")])
def test_wrong_options(capsys: pytest.CaptureFixture[str], tmp_path: Path, options: list[str], message: str) -> None:
    """One clear message, and nothing else."""
    assert main(["dates", TINY, "--runs", "3", "--out", str(tmp_path), *options]) == 2
    found = capsys.readouterr()
    assert message in found.err
    assert not found.out
