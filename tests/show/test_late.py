"""`linesim late`: the answer, one serial, what is kept for the report, and what it refuses."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from linesim.show.commands import main
from linesim.show.folder_check import LOSSES

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
  - {id: B, packages: [{id: b1, trade: ASM, hours: 9}, {id: b2, kind: hold, elapsed_hours: 24}]}
launches: {takt_work_days: 1.5}
orders:
""" + "".join(f"  - {{serial: S{n}}}\n" for n in range(1, 100))
RUNS = "8"


@pytest.fixture
def plant(tmp_path: Path) -> Path:
    """A file of a small plant with luck."""
    path = tmp_path / "benches.yaml"
    path.write_text(PLANT)
    return path


def said(capsys: pytest.CaptureFixture[str], plant: Path, *words: str) -> str:
    """What a command prints; its runs stand beside the file."""
    verb, *options = words
    code = main([verb, str(plant), "--runs", RUNS, "--jobs", "1", "--out", str(plant.parent / "runs"), *options])
    assert code == 0
    return capsys.readouterr().out


def numbers(capsys: pytest.CaptureFixture[str], plant: Path, *words: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(said(capsys, plant, *words, "--json"))
    return found


def test_the_answer_comes_first_then_a_table_and_cautions(capsys: pytest.CaptureFixture[str], plant: Path) -> None:
    """Sentence, table with what each change gives, what was assumed, cautions; nothing wider than the screen."""
    answer, text = numbers(capsys, plant, "late"), said(capsys, plant, "late")
    assert text.startswith("Aircraft lose most to ")
    assert " ".join(answer["sentences"]) in " ".join(text.split())
    assert "Permitted change" in text
    assert "Caution  Before you cut days." in text
    assert "Assumed" in text
    assert max(map(len, text.splitlines())) <= 88
    rows = answer["largest"]
    assert [row["work days"] for row in rows] == sorted((row["work days"] for row in rows), reverse=True)
    assert all(row["gives"]["deliveries"]["of"] == int(RUNS) for row in rows if row["lever"])
    total = answer["work days lost"] + sum(answer["no loss"].values())
    assert total == pytest.approx(answer["work days on the chain"], abs=0.01)


def test_what_was_run_is_not_run_again(capsys: pytest.CaptureFixture[str], plant: Path) -> None:
    """The same question, and a question that shares a scenario."""
    first = numbers(capsys, plant, "late")
    assert numbers(capsys, plant, "late") == first
    assert main(["late", str(plant), "--serial", "S40", "--runs", RUNS, "--jobs", "1", "--out",
                 str(plant.parent / "runs")]) == 0
    assert "All runs of 1 scenario were there already." in capsys.readouterr().err


def test_one_serial(capsys: pytest.CaptureFixture[str], plant: Path) -> None:
    """What it loses, in how many runs that is its largest loss, and by how much a change moves its date."""
    answer, text = numbers(capsys, plant, "late", "--serial", "S40"), said(capsys, plant, "late", "--serial", "S40")
    assert text.startswith("S40 loses most to ")
    assert "Largest in" in " ".join(text.split())
    row = answer["largest"][0]
    assert 0 < row["largest in"] <= int(RUNS)
    assert row["2 in 10 runs"] >= row["half the runs"]
    assert row["gives"]["delivery, calendar days"]["of"] == int(RUNS)
    assert not list((plant.parent / "runs").glob(f"*/{LOSSES}"))


def test_the_report_names_the_losses_and_takes_up_what_was_run(capsys: pytest.CaptureFixture[str],
                                                               plant: Path) -> None:
    """First the command that runs the changes; then the figures of its answer."""
    folder = Path(numbers(capsys, plant, "run")["kept in"])
    before = page(folder)
    assert "Aircraft lose most to" in before
    assert "Permitted change" in before
    assert "All losses, work days" not in before
    assert f"`linesim late FILE --runs {RUNS} --seed 1`" in before
    answer = numbers(capsys, plant, "late")
    assert answer["kept in"] == str(folder)
    assert main(["report", str(folder)]) == 0
    capsys.readouterr()
    after = page(folder)
    assert "linesim late FILE" not in after
    assert "all losses together" in " ".join(answer["sentences"])
    assert "All losses, work days" in after
    assert said(capsys, plant, "run")  # the folder is still good, and keeps what was run
    assert (folder / LOSSES).is_file()


def test_what_another_version_ran_is_not_shown(capsys: pytest.CaptureFixture[str], plant: Path) -> None:
    """It says of itself what made it."""
    folder = Path(numbers(capsys, plant, "run")["kept in"])
    said(capsys, plant, "late")
    found = json.loads((folder / LOSSES).read_bytes())
    (folder / LOSSES).write_text(json.dumps({**found, "code": "0" * 16}))
    assert main(["report", str(folder)]) == 0
    assert "`linesim late FILE" in page(folder)
    (folder / LOSSES).write_text("{")
    assert main(["report", str(folder)]) == 0
    assert "`linesim late FILE" in page(folder)


def page(folder: Path) -> str:
    """The words of the report."""
    return " ".join(re.sub(r"<[^>]*>", "", (folder / "report.html").read_text(encoding="utf-8")).split())


def test_the_answer_as_a_page(capsys: pytest.CaptureFixture[str], plant: Path, tmp_path: Path) -> None:
    """The same sentences, to print or send; the figure alone, too."""
    text = said(capsys, plant, "late", "--page", str(tmp_path / "late.html"), "--picture", str(tmp_path / "late.svg"))
    assert "Work days lost per aircraft" in (tmp_path / "late.svg").read_text(encoding="utf-8")
    assert f"Written {tmp_path / 'late.html'}" in " ".join(text.split())
    assert "Permitted change" in (tmp_path / "late.html").read_text(encoding="utf-8")


@pytest.mark.parametrize(("options", "message"), [
    (["--serial", "S400"], "--serial: the order book has no serial 'S400'"),
    (["--runs", "0"], "--runs must be 1 to 1000000, found 0"),
    (["--serial", "S40", "--picture", "late.svg"], "--picture draws what all aircraft lose: leave out --serial"),
    (["--page", "late.pdf"], "--page: late.pdf: the name must end in .html"),
    (["--until-precision", "0"], "--until-precision must be above 0 (aircraft), found 0")])
def test_wrong_options_are_refused(capsys: pytest.CaptureFixture[str], plant: Path, options: list[str],
                                   message: str) -> None:
    """One line that says what is wrong; nothing is run."""
    assert main(["late", str(plant), "--out", str(plant.parent / "runs"), *options]) == 2
    assert message in capsys.readouterr().err
    assert not (plant.parent / "runs").exists()
