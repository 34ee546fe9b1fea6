"""The run folder loses nothing: killed, stopped, asked for more or fewer runs, it holds what one go would have written.

A folder that is damaged, of something else or in use is refused with the reason, and stays as it is.
"""

from __future__ import annotations

import json
import os
import resource
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

import linesim
from linesim.line.desk import run_chunk
from linesim.line.sheet import Sheet
from linesim.measures.run import numbers_of, without_segments
from linesim.scenario.acted_on import acted_on
from linesim.scenario.reading import read_scenario
from linesim.show import folder_check
from linesim.show.commands import main
from linesim.show.folder import tables_of_runs
from linesim.show.folder_lock import FolderLock, InUse
from linesim.show.run_folder import RunFolder, runs_there
from linesim.show.stored_runs import head_of

SCENARIOS = Path(__file__).parents[2] / "scenarios"
TINY = SCENARIOS / "tiny.yaml"
LONG = """
name: One bench, hours that vary
start: 2027-01-04
end: 2032-12-31
shifts: {day: {start: "08:00", end: "16:00"}}
trades: {ASM: {people: {day: 1}}}
work_time: {spread: {lognormal: {mean: 1, cv: 0.8}}}
positions: [{id: A, packages: [{id: a1, trade: ASM, hours: 12}]}]
launches: {saturated: true}
orders: unlimited
"""


def command(*arguments: object) -> list[str]:
    return [sys.executable, "-m", "linesim", "run", "--no-report", *map(str, arguments)]


def folder_in(out: Path) -> Path:
    (found,) = out.iterdir()
    return found


def contents(folder: Path) -> dict[str, bytes]:
    """Every file below a folder."""
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def done_in(out: Path) -> set[int]:
    """Runs that the batches of the one folder in `out` hold."""
    return {number for path in out.glob("*/batches/*.runs") for number in head_of(path.read_bytes())["runs"]}


def wait_for_runs(out: Path, least: int, process: subprocess.Popen[bytes]) -> None:
    """Until so many runs are put away; the command must still be at it."""
    while len(done_in(out)) < least:
        assert process.poll() is None, process.communicate()
        time.sleep(0.02)


@pytest.fixture
def long(tmp_path: Path) -> Path:
    """One bench for six years: a tenth of a second a run, so that a command can be killed in the middle."""
    path = tmp_path / "long.yaml"
    path.write_text(LONG)
    return path


# going on ------------------------------------------------------------------------------------------------------------
def test_a_killed_command_goes_on_and_writes_what_one_go_writes(long: Path, tmp_path: Path) -> None:
    """SIGKILL twice, mid-run: what was put away stays, no process is left behind, every byte is that of one go."""
    runs, out = 60, tmp_path / "killed"
    arguments = (long, "--runs", runs, "--jobs", 2, "--out")
    for least in (1, 20):
        process = subprocess.Popen(command(*arguments, out), stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        wait_for_runs(out, least, process)
        process.kill()
        process.communicate()  # ends only when no worker holds the other end any more
        assert not (folder_in(out) / "manifest.json").exists()
    there = len(done_in(out))
    again = subprocess.run(command(*arguments, out), capture_output=True, text=True, check=True)
    assert f"{there} runs were there; {runs - there} to go." in again.stderr
    whole = subprocess.run(command(*arguments, tmp_path / "whole"), capture_output=True, text=True, check=True)
    assert contents(folder_in(out)) == contents(folder_in(tmp_path / "whole"))
    assert again.stdout.splitlines()[:-1] == whole.stdout.splitlines()[:-1]


@pytest.mark.parametrize("jobs", [1, 2])
@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM])
def test_a_stopped_command_keeps_its_runs_and_goes_on(
    how: signal.Signals, jobs: int, long: Path, tmp_path: Path
) -> None:
    """Ctrl-C (which reaches every process of the command) and SIGTERM: exit 130, an answer from what is there."""
    runs, out = 100, tmp_path / "stopped"
    arguments = (long, "--runs", runs, "--jobs", jobs, "--out")
    process = subprocess.Popen(
        command(*arguments, out, "--json"), stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True
    )
    wait_for_runs(out, 3, process)
    if how == signal.SIGINT:
        os.killpg(process.pid, how)
    else:
        process.send_signal(how)
    said, errors = process.communicate()
    assert process.returncode == 130, errors
    assert b"Traceback" not in errors
    there = done_in(out)
    assert f"Stopped. {len(there)} runs are kept in" in errors.decode()
    numbers = json.loads(said)
    assert numbers["stopped"]
    assert set(range(numbers["runs"])) <= there
    assert numbers["runs"] not in there
    again = subprocess.run(
        command(*arguments[:2], numbers["runs"] + 1, *arguments[3:], out, "--json"),
        capture_output=True,
        text=True,
        check=True,
    )
    assert json.loads(again.stdout)["runs"] == numbers["runs"] + 1


def test_the_same_command_on_a_finished_folder_runs_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """It says so, prints the same and touches no file."""
    arguments = ["run", "--no-report", str(TINY), "--runs", "30", "--jobs", "1", "--out", str(tmp_path)]
    assert main(arguments) == 0
    first = capsys.readouterr()
    assert first.err == ""
    before = {path: path.stat().st_mtime_ns for path in folder_in(tmp_path).rglob("*") if path.is_file()}
    monkeypatch.setattr("linesim.line.desk.run_once", None)  # whoever began a run would fail
    assert main(arguments) == 0
    second = capsys.readouterr()
    assert second.out == first.out
    assert second.err == "30 runs were there already.\n"
    assert {path: path.stat().st_mtime_ns for path in folder_in(tmp_path).rglob("*") if path.is_file()} == before


def test_more_runs_and_fewer_use_those_that_are_there(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Tables and answer are those of a folder that was made in one go; fewer runs throw none away."""
    for runs in (30, 60, 40):
        assert (
            main(
                ["run", "--no-report", str(TINY), "--runs", str(runs), "--jobs", "1", "--out", str(tmp_path / "grown")]
            )
            == 0
        )
        assert (
            main(
                [
                    "run",
                    "--no-report",
                    str(TINY),
                    "--runs",
                    str(runs),
                    "--jobs",
                    "1",
                    "--out",
                    str(tmp_path / str(runs)),
                ]
            )
            == 0
        )
        grown, one_go = (contents(folder_in(tmp_path / name)) for name in ("grown", str(runs)))
        assert {name: grown[name] for name in one_go if name[:7] != "batches"} == {
            name: content for name, content in one_go.items() if name[:7] != "batches"
        }
        assert runs == 40 or grown == one_go
    said = capsys.readouterr().err
    assert "30 runs were there; 30 to go." in said
    assert "40 runs were there already." in said
    assert done_in(tmp_path / "grown") == set(range(60))


def test_files_set_from_an_older_answer_are_removed_with_it(tmp_path: Path) -> None:
    """A report of 30 runs must not lie beside the answer of 40."""
    arguments = ["run", "--no-report", str(TINY), "--jobs", "1", "--out", str(tmp_path), "--runs"]
    assert main([*arguments, "30"]) == 0
    folder = folder_in(tmp_path)
    stale = [folder / "report.html", folder / f"{folder.name}.xlsx"]
    for path in stale:
        path.write_text("of 30 runs")
    assert main([*arguments, "30"]) == 0
    assert all(path.exists() for path in stale)
    assert main([*arguments, "40"]) == 0
    assert not any(path.exists() for path in stale)


def test_a_single_run_has_a_folder_of_its_own(tmp_path: Path) -> None:
    """--only K leaves the runs of the batch as they are."""
    assert main(["run", "--no-report", str(TINY), "--runs", "5", "--jobs", "1", "--out", str(tmp_path)]) == 0
    batch = folder_in(tmp_path)
    before = contents(batch)
    assert main(["run", "--no-report", str(TINY), "--only", "3", "--jobs", "1", "--out", str(tmp_path)]) == 0
    assert contents(batch) == before
    assert (tmp_path / f"{batch.name}-only-3" / "manifest.json").exists()


def test_python_shares_the_folder_with_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`linesim.run(results=...)` goes on in the folder of a command, and the other way round; `keep` adds to it."""
    assert main(["run", "--no-report", str(TINY), "--runs", "10", "--jobs", "1", "--out", str(tmp_path / "a")]) == 0
    plant = linesim.read(TINY)
    result = linesim.run(plant, runs=30, results=tmp_path / "a", name="tiny")
    assert result.folder == folder_in(tmp_path / "a")
    in_memory = linesim.run(plant, runs=30)
    assert in_memory.answer == result.answer
    assert linesim.keep(in_memory, tmp_path / "b", "tiny").name == result.folder.name
    assert contents(folder_in(tmp_path / "b")) == contents(result.folder)
    capsys.readouterr()
    assert main(["run", "--no-report", str(TINY), "--runs", "30", "--jobs", "1", "--out", str(tmp_path / "b")]) == 0
    assert capsys.readouterr().err == "30 runs were there already.\n"


# refused -------------------------------------------------------------------------------------------------------------
@pytest.fixture
def finished(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    """A finished folder of 30 runs of the small plant."""
    assert main(["run", "--no-report", str(TINY), "--runs", "30", "--jobs", "1", "--out", str(tmp_path / "out")]) == 0
    capsys.readouterr()
    return folder_in(tmp_path / "out")


def refused(folder: Path, capsys: pytest.CaptureFixture[str], *more: str, file: Path = TINY) -> str:
    """What the command says; it must refuse and leave every byte as it is."""
    before = contents(folder)
    assert (
        main(["run", "--no-report", str(file), "--runs", "40", "--jobs", "1", "--out", str(folder.parent), *more]) == 2
    )
    assert contents(folder) == before
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith(f"{folder}: ")
    assert "Traceback" not in said.err
    return said.err


@pytest.mark.parametrize("name", ["notes.txt", "batches/notes.txt", "other.parquet"])
def test_a_folder_with_foreign_files_is_refused(name: str, finished: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """It names them."""
    (finished / name).write_text("mine")
    assert f"it holds what linesim did not write: {name}." in refused(finished, capsys)


def test_what_file_managers_leave_behind_is_not_foreign(finished: Path, tmp_path: Path) -> None:
    """Looking into a folder does not spoil it."""
    (finished / ".DS_Store").write_bytes(b"\0")
    (finished / f"~${finished.name}.xlsx").write_bytes(b"\0")
    assert main(["run", "--no-report", str(TINY), "--runs", "40", "--jobs", "1", "--out", str(tmp_path / "out")]) == 0


@pytest.mark.parametrize("name", ["deliveries.parquet", "answer.json", "manifest.json", "batches/0000-0024.runs"])
def test_a_damaged_file_is_named_with_what_to_do(
    name: str, finished: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A changed byte is noticed; doing what the message says mends the folder."""
    whole = contents(finished)
    content = bytearray(whole[name])
    content[len(content) // 2] ^= 0x80
    (finished / name).write_bytes(content)
    said = refused(finished, capsys)
    assert name in said
    assert "damaged" in said or "is not as linesim wrote it" in said
    (finished / (name if name.startswith("batches") else "manifest.json")).unlink()
    assert main(["run", "--no-report", str(TINY), "--runs", "30", "--jobs", "1", "--out", str(tmp_path / "out")]) == 0
    assert contents(finished) == whole


@pytest.mark.parametrize(
    ("name", "said"), [("visits.parquet", "visits.parquet is missing"), ("scenario.json", "scenario.json is missing")]
)
def test_a_missing_file_is_named(name: str, said: str, finished: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A manifest promises every file it names."""
    (finished / name).unlink()
    assert said in refused(finished, capsys)


def test_runs_of_another_seed_or_scenario_are_refused(finished: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A folder renamed by hand, or two scenarios of one digest."""
    other_seed = finished.rename(finished.with_name(finished.name[:-1] + "2"))
    assert "is of another seed (1, not 2)" in refused(other_seed, capsys, "--seed", "2")
    changed = other_seed.parents[1] / "tiny.yaml"
    changed.write_text(TINY.read_text().replace("hours: 8", "hours: 9", 1))
    digest = folder_check.Identity.of(linesim.read(changed), 1).digest[:8]
    other = other_seed.rename(other_seed.with_name(f"tiny-{digest}-1"))
    assert "is of another scenario" in refused(other, capsys, file=changed)


def test_an_unfinished_folder_of_another_scenario_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Even before the first run: scenario.json stands first."""
    with RunFolder(tmp_path, "tiny", linesim.read(TINY), 1) as folder:
        pass
    scenario = json.loads((folder.path / "scenario.json").read_text())
    (folder.path / "scenario.json").write_text(json.dumps({**scenario, "end": "2027-02-25"}))
    assert "scenario.json there is another scenario, or was changed" in refused(folder.path, capsys)


@pytest.mark.parametrize("key", ["linesim", "code", "form"])
def test_runs_of_another_version_are_refused(key: str, finished: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Runs of two versions are never mixed, with a manifest or without."""
    path = finished / "batches" / "0025-0029.runs"
    head, _, rest = path.read_bytes().partition(b"\n")
    path.write_bytes(json.dumps({**json.loads(head), key: "older"}).encode() + b"\n" + rest)
    assert f"{key} older" in refused(finished, capsys)
    path.write_bytes(head + b"\n" + rest)
    manifest = json.loads((finished / "manifest.json").read_text())
    (finished / "manifest.json").write_text(json.dumps({**manifest, key: "older"}))
    assert f"{key} older" in refused(finished, capsys)
    del manifest[key]
    (finished / "manifest.json").write_text(json.dumps(manifest))
    assert f"{key} unknown" in refused(finished, capsys)


def test_the_code_that_makes_runs_is_part_of_their_origin() -> None:
    """Its digest is that of its text: a change without a new version number is seen, too."""
    one = folder_check.code_digest(("line",))
    assert one != folder_check.code_digest(("line", "measures"))
    assert one == folder_check.code_digest(("line",))


def test_two_commands_do_not_write_one_folder(finished: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The second names the process that is at it; the lock is gone with its holder."""
    lock = FolderLock(finished)
    with pytest.raises(InUse):
        FolderLock(finished)
    assert f"another command is writing it (process {os.getpid()})" in refused(finished, capsys)
    lock.release()
    assert main(["run", "--no-report", str(TINY), "--runs", "30", "--jobs", "1", "--out", str(finished.parent)]) == 0


def test_a_lock_of_a_killed_command_holds_nobody_up(tmp_path: Path) -> None:
    """The file may stay; the lock does not."""
    code = (
        f"import os; from pathlib import Path; from linesim.show.folder_lock import FolderLock; "
        f"FolderLock(Path({str(tmp_path)!r})); os.kill(os.getpid(), 9)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == -signal.SIGKILL
    assert list(tmp_path.iterdir()) != []
    FolderLock(tmp_path).release()
    assert list(tmp_path.iterdir()) == []


def test_a_results_folder_that_cannot_be_written_is_said_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A file stands where the folder should be."""
    (tmp_path / "out").write_text("")
    assert main(["run", "--no-report", str(TINY), "--runs", "5", "--jobs", "1", "--out", str(tmp_path / "out")]) == 2
    said = capsys.readouterr()
    assert "it cannot be written (" in said.err
    assert "Traceback" not in said.err


def test_a_full_disk_is_said_once_and_loses_nothing(tmp_path: Path) -> None:
    """No file over 4 kB can be written: the runs that were there are kept, and the folder goes on later."""
    assert main(["run", "--no-report", str(TINY), "--runs", "30", "--jobs", "1", "--out", str(tmp_path)]) == 0
    arguments = command(TINY, "--runs", 400, "--jobs", 1, "--out", tmp_path)
    full = subprocess.run(
        arguments,
        capture_output=True,
        text=True,
        check=False,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (4_000, 4_000)),
    )
    assert full.returncode == 2, full.stderr
    assert "it cannot be written (" in full.stderr
    assert "30 runs are kept there" in full.stderr
    assert "Traceback" not in full.stderr
    assert done_in(tmp_path) == set(range(30))
    assert not list(folder_in(tmp_path).rglob("*.part"))
    subprocess.run(arguments, capture_output=True, check=True)
    assert (folder_in(tmp_path) / "manifest.json").exists()


def test_every_table_that_is_written_is_one_that_the_folder_knows() -> None:
    """Else the next command would find a file that is not its own."""
    plant = linesim.read(TINY)
    assert set(tables_of_runs(Sheet(plant), linesim.run(plant, runs=1).runs)) == set(folder_check.TABLES)


def test_runs_without_segments_are_done_again_for_who_wants_them(tmp_path: Path) -> None:
    """Runs 0 to 29 kept without segments, then wanted with them: 0 to 24 are missing; the folder ends as if they had
    been done with them at once. Wanted without, all of them do."""
    plant = read_scenario(TINY)
    sheet = Sheet(acted_on(plant))
    full, lean = (run_chunk(sheet, 7, range(30), read) for read in (numbers_of, without_segments))
    assert [run.tables.segments is None for run in full] == [n >= 25 for n in range(30)]
    assert all(run.tables.segments is None for run in lean)
    with RunFolder(tmp_path / "both", "tiny", plant, 7, segments=False) as folder:
        folder.put(lean[10:])
        folder.put(lean[:10])
        assert folder.there == set(range(30))
        folder.gather()
        assert folder.there == set(range(30))
        assert [run.run for run in folder.read(range(30))] == list(range(30))
    assert runs_there(tmp_path / "both", "tiny", plant, 7) == set(range(25, 30))
    assert runs_there(tmp_path / "both", "tiny", plant, 7, segments=False) == set(range(30))
    with RunFolder(tmp_path / "both", "tiny", plant, 7) as folder:
        assert folder.there == set(range(25, 30))
        folder.put([full[n] for n in (0, 9, 24)])
        folder.gather()
    with RunFolder(tmp_path / "both", "tiny", plant, 7) as folder:
        assert folder.there == {0, 9, 24, *range(25, 30)}
        assert len(list(folder.read([0, 1, 24]))) == 3
        folder.put(full)
        folder.gather()
        assert folder.there == set(range(30))
    with RunFolder(tmp_path / "once", "tiny", plant, 7) as folder:
        folder.put(full)
        folder.gather()
    one, other = (contents(folder_in(tmp_path / name)) for name in ("both", "once"))
    assert {name for name in one if "batches" in name} == {"batches/0000-0024.runs", "batches/0025-0029.runs"}
    assert one == other
