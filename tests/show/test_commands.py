"""The commands as a user meets them: exit codes, files, numbers that agree, nothing written after a fault."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pandas as pd
import pytest

import linesim
from linesim.show.commands import main

SCENARIOS = Path(__file__).parents[2] / "scenarios"


def folder_in(out: Path) -> Path:
    """The one run folder in a results folder."""
    (found,) = out.iterdir()
    return found


def test_one_process_writes_the_files_of_two_byte_for_byte(tmp_path: Path) -> None:
    """Every file of the run folder, the tables included."""
    for jobs in ("1", "2"):
        assert (
            main(
                [
                    "run",
                    "--no-report",
                    str(SCENARIOS / "birchwater.yaml"),
                    "--runs",
                    "7",
                    "--jobs",
                    jobs,
                    "--out",
                    str(tmp_path / jobs),
                ]
            )
            == 0
        )
    one, two = folder_in(tmp_path / "1"), folder_in(tmp_path / "2")
    names, others = (
        sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())
        for folder in (one, two)
    )
    assert names == others
    assert {"manifest.json", "scenario.json", "segments.parquet", "visits.parquet", "labour.parquet"} <= set(names)
    for name in names:
        assert (one / name).read_bytes() == (two / name).read_bytes(), name


def test_json_gives_the_numbers_of_the_words_and_of_the_files(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """--json, the printed words and the folder agree."""
    file = str(SCENARIOS / "tiny.yaml")
    assert main(["run", "--no-report", file, "--runs", "30", "--jobs", "1", "--out", str(tmp_path), "--json"]) == 0
    numbers = json.loads(capsys.readouterr().out)
    assert main(["run", "--no-report", file, "--runs", "30", "--jobs", "1", "--out", str(tmp_path)]) == 0
    words = " ".join(capsys.readouterr().out.split())
    for sentence in numbers["sentences"]:
        assert " ".join(sentence.split()) in words
    deliveries = pd.read_parquet(folder_in(tmp_path) / "deliveries.parquet")
    counts = deliveries.groupby("run").size().reindex(range(30), fill_value=0)
    assert numbers["deliveries in the window"]["5 in 10 reach"] == sorted(counts)[15]
    manifest = json.loads((folder_in(tmp_path) / "manifest.json").read_text())
    assert manifest["tables"]["deliveries"] == len(deliveries)
    assert manifest["runs"] == list(range(30))


def test_only_runs_one_run(tmp_path: Path) -> None:
    """--only K is run K of the batch."""
    file = str(SCENARIOS / "tiny.yaml")
    assert main(["run", "--no-report", file, "--only", "3", "--out", str(tmp_path / "one")]) == 0
    assert main(["run", "--no-report", file, "--runs", "5", "--jobs", "1", "--out", str(tmp_path / "all")]) == 0
    one = pd.read_parquet(folder_in(tmp_path / "one") / "visits.parquet")
    among = pd.read_parquet(folder_in(tmp_path / "all") / "visits.parquet")
    pd.testing.assert_frame_equal(one, among[among["run"] == 3].reset_index(drop=True))


@pytest.mark.parametrize("text", ["name: x\nsrart: 2027-01-04\n", "- a\n- b\n", "name: [1, 2\n", ""])
def test_a_wrong_file_ends_with_2_and_writes_nothing(
    text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Faults on the error stream, exit code 2, no folder."""
    file = tmp_path / "wrong.yaml"
    file.write_text(text)
    for verb in ("check", "run"):
        arguments = [verb, str(file)] + (["--out", str(tmp_path / "out")] if verb == "run" else [])
        assert main(arguments) == 2
        said = capsys.readouterr()
        assert "wrong.yaml:" in said.err
        assert "Traceback" not in said.err
        assert said.out == ""
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("arguments", [["--runs", "0"], ["--seed", "-1"], ["--only", "-1"], ["--jobs", "-1"],
                                       ["--runs", "999999999999"], ["--jobs", "100000"]])
def test_a_wrong_number_ends_with_2(arguments: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What was found and what is allowed."""
    assert main(["run", "--no-report", str(SCENARIOS / "tiny.yaml"), "--out", str(tmp_path / "out"), *arguments]) == 2
    assert f"{arguments[0]} must be" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no device that is always full")
def test_a_full_disk_is_said_without_a_traceback() -> None:
    """The answer goes to a file on a disk that is full."""
    with open("/dev/full", "w") as full:
        found = subprocess.run([sys.executable, "-m", "linesim", "check", str(SCENARIOS / "tiny.yaml")], stdout=full,
                               stderr=subprocess.PIPE, text=True, check=False)
    assert found.returncode == 2
    assert found.stderr == "The answer cannot be written out: No space left on device\n"


def test_one_run_and_a_number_of_runs_contradict_each_other(capsys: pytest.CaptureFixture[str]) -> None:
    """Neither is ignored without a word."""
    assert main(["run", "--no-report", str(SCENARIOS / "tiny.yaml"), "--only", "3", "--runs", "5"]) == 2
    assert "leave out --only or --runs" in capsys.readouterr().err


def test_help_imports_no_heavy_library() -> None:
    """The command line answers before any of them is loaded."""
    code = (
        "import sys; from linesim.show.commands import parser; parser().format_help(); "
        "print(sorted({'pandas', 'matplotlib', 'scipy', 'streamlit', 'numpy', 'simpy'} & set(sys.modules)))"
    )
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "[]"


def test_check_says_the_same_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    """`check --json` holds every figure of the printed table of trades."""
    file = str(SCENARIOS / "birchwater.yaml")
    assert main(["check", file, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert main(["check", file]) == 0
    words = capsys.readouterr().out
    assert found["paper"]["trades"]
    for row in found["paper"]["trades"]:
        assert f"{row['load']:.0%}" in words


def test_the_names_for_python_give_what_the_command_gives(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`import linesim`: the same numbers and the same files as the command line."""
    file = SCENARIOS / "tiny.yaml"
    assert (
        main(["run", "--no-report", str(file), "--runs", "30", "--jobs", "1", "--out", str(tmp_path / "a"), "--json"])
        == 0
    )
    printed = json.loads(capsys.readouterr().out)
    result = linesim.run(linesim.read(file), runs=30)
    assert {key: printed[key] for key in result.answer.numbers} == json.loads(json.dumps(result.answer.numbers))
    folder = linesim.keep(result, tmp_path / "b", "tiny")
    assert folder.name == folder_in(tmp_path / "a").name
    assert (folder / "visits.parquet").read_bytes() == (folder_in(tmp_path / "a") / "visits.parquet").read_bytes()
    assert main(["check", str(file), "--json"]) == 0
    paper = linesim.check(linesim.read(file))
    assert paper is not None
    assert json.loads(capsys.readouterr().out)["paper"] == json.loads(json.dumps(paper.numbers))
