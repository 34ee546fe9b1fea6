"""Runs on a cluster are those of this machine: a scheduler and workers as processes of their own on 127.0.0.1.

One worker is killed while it does runs; the bytes are those of one process all the same. What cannot be used is said in
one line.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

import linesim
from linesim.show.stored_runs import head_of

TREE = Path(linesim.__file__).parents[1]
TINY = Path(__file__).parents[2] / "scenarios" / "tiny.yaml"
BENCH = """
name: One bench, hours that vary
start: 2027-01-04
end: 2028-06-30
shifts: {day: {start: "08:00", end: "16:00"}}
trades: {ASM: {people: {day: 1}}}
work_time: {spread: {lognormal: {mean: 1, cv: 0.8}}}
positions: [{id: A, packages: [{id: a1, trade: ASM, hours: 12}]}]
launches: {takt_work_days: 2}
orders: unlimited
plans: [{name: as it is}, {name: faster, steps: [{from: 2027-06-01, takt_work_days: 1.5}]}]
"""


class Machines:
    """A scheduler and workers, ended with the test."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.file, self.running = folder, folder / "scheduler.json", list[subprocess.Popen[bytes]]()
        self._start(TREE, "dask_scheduler", "--port", "0", "--no-dashboard")
        while not self.file.exists():
            self._all_there()
        self.address = json.loads(self.file.read_text())["address"]

    def worker(self, tree: Path = TREE) -> subprocess.Popen[bytes]:
        """Another worker, once the scheduler knows it."""
        log = self.folder / f"{len(self.running)}.log"
        process = self._start(tree, "dask_worker", "--nthreads", "1", "--no-nanny", "--no-dashboard",
                              "--local-directory", str(self.folder / f"worker-{len(self.running)}"))
        while "Registered to" not in log.read_text():
            self._all_there()
        return process

    def _start(self, tree: Path, module: str, *more: str) -> subprocess.Popen[bytes]:
        with (self.folder / f"{len(self.running)}.log").open("wb") as log:
            process = subprocess.Popen([sys.executable, "-m", f"distributed.cli.{module}", "--host", "127.0.0.1",
                                        "--scheduler-file", str(self.file), *more], stdout=log, stderr=log,
                                       cwd=self.folder, env={**os.environ, "PYTHONPATH": str(tree)})
        self.running.append(process)
        return process

    def _all_there(self) -> None:
        time.sleep(0.05)
        for n, process in enumerate(self.running):
            assert process.poll() is None, (self.folder / f"{n}.log").read_text()

    def end(self) -> None:
        for process in reversed(self.running):
            process.kill()
            process.wait()


@pytest.fixture
def machines(tmp_path: Path) -> Iterator[Machines]:
    """A scheduler without workers."""
    (tmp_path / "machines").mkdir()
    found = Machines(tmp_path / "machines")
    yield found
    found.end()


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    """One bench for a year and a half."""
    path = tmp_path / "bench.yaml"
    path.write_text(BENCH)
    return path


def command(*words: object) -> subprocess.Popen[str]:
    return subprocess.Popen([sys.executable, "-m", "linesim", *map(str, words)], stdout=subprocess.PIPE,
                            stderr=subprocess.PIPE, text=True, env={**os.environ, "PYTHONPATH": str(TREE)},
                            start_new_session=True)


def carried_out(*words: object) -> str:
    """What a command prints; it must succeed and say nothing besides."""
    process = command(*words)
    out, err = process.communicate()
    assert (process.returncode, err) == (0, "")
    return out


def refused(*words: object) -> str:
    """The one line of a command that is refused."""
    process = command(*words)
    out, err = process.communicate()
    assert (process.returncode, out) == (2, ""), err
    line, = err.splitlines()
    return line


def contents(results: Path) -> dict[str, bytes]:
    """Every file of a folder of results."""
    return {path.relative_to(results).as_posix(): path.read_bytes() for path in results.rglob("*") if path.is_file()}


def done_in(out: Path) -> int:
    """Runs that are put away."""
    return sum(len(head_of(path.read_bytes())["runs"]) for path in out.rglob("*.runs"))


def test_a_worker_that_dies_costs_nothing(machines: Machines, bench: Path, tmp_path: Path) -> None:
    """Killed mid-run, its runs are done by the other: every file is that of one process on this machine."""
    doomed, _ = machines.worker(), machines.worker()
    words = ("run", bench, "--no-report", "--runs", 200, "--json", "--out")
    process = command(*words, tmp_path / "cluster", "--cluster", machines.address)
    while not done_in(tmp_path / "cluster"):
        assert process.poll() is None, process.communicate()
        time.sleep(0.02)
    doomed.kill()
    doomed.wait()
    assert done_in(tmp_path / "cluster") < 200
    out, err = process.communicate()
    assert (process.returncode, err) == (0, "")
    alone = carried_out(*words, tmp_path / "alone", "--jobs", 1)
    assert json.loads(out) | {"kept in": ""} == json.loads(alone) | {"kept in": ""}
    assert contents(tmp_path / "cluster") == contents(tmp_path / "alone")


def test_a_stopped_command_keeps_what_the_cluster_has_done(machines: Machines, bench: Path, tmp_path: Path) -> None:
    """Ctrl-C: exit 130 with an answer; the same command goes on, and the cluster works for the next question."""
    machines.worker()
    words = ("--runs", 125, "--json", "--out", tmp_path / "out", "--cluster", machines.address)
    process = command("run", bench, "--no-report", *words)
    while not done_in(tmp_path / "out"):
        assert process.poll() is None, process.communicate()
        time.sleep(0.02)
    process.send_signal(signal.SIGINT)
    out, err = process.communicate()
    assert process.returncode == 130
    assert "Traceback" not in err
    there = done_in(tmp_path / "out")
    assert f"Stopped. {there} runs are kept in" in err
    assert json.loads(out)["stopped"]
    rate = json.loads(carried_out("rate", bench, *words))
    assert [row["plan"] for row in rate["plans"]] == ["as it is", "faster"]
    alone = json.loads(carried_out("rate", bench, *words[:4], tmp_path / "alone", "--jobs", 2))
    assert rate == alone
    assert contents(tmp_path / "out").keys() >= contents(tmp_path / "alone").keys()


def test_workers_of_another_version_are_refused(machines: Machines, tmp_path: Path) -> None:
    """Their code differs by a blank line; the line says what runs there and here."""
    other = tmp_path / "other"
    shutil.copytree(TREE / "linesim", other / "linesim", ignore=shutil.ignore_patterns("__pycache__"))
    with (other / "linesim" / "line" / "floor.py").open("a") as file:
        file.write("\n")
    machines.worker(other)
    line = refused("run", TINY, "--runs", 30, "--out", tmp_path / "out", "--cluster", machines.address)
    assert line.startswith(f"--cluster {machines.address}: a worker runs another version (linesim code ")
    assert "never mixed" in line


def test_a_cluster_without_workers_is_refused(machines: Machines, tmp_path: Path) -> None:
    """It would be waited for without an end."""
    line = refused("run", TINY, "--out", tmp_path / "out", "--cluster", machines.address)
    assert "the cluster has no workers" in line


@pytest.mark.parametrize(("address", "why"), [
    ("tcp://127.0.0.1:9", "the cluster cannot be reached"), ("nowhere", "this is not an address"),
    ("x://127.0.0.1:9", "this is not an address")])
def test_an_address_that_cannot_be_reached_is_refused(address: str, why: str, tmp_path: Path) -> None:
    """In one line that names it."""
    line = refused("rate", TINY, "--out", tmp_path / "out", "--cluster", address)
    assert line.startswith(f"--cluster {address}: {why}")


def test_without_the_library_the_line_says_what_to_install(tmp_path: Path) -> None:
    """The extra is named."""
    text = ("import sys; sys.modules['distributed'] = None; from linesim.show.commands import main; "
            f"sys.exit(main(['run', {str(TINY)!r}, '--out', {str(tmp_path)!r}, '--cluster', 'tcp://127.0.0.1:8786']))")
    process = subprocess.run([sys.executable, "-c", text], capture_output=True, text=True, check=False,
                             env={**os.environ, "PYTHONPATH": str(TREE)})
    assert process.returncode == 2
    assert process.stderr == ("--cluster tcp://127.0.0.1:8786: this needs dask.distributed: pip install "
                              "'linesim[cluster]'.\n")


def test_processes_of_this_machine_and_a_cluster_exclude_each_other(tmp_path: Path) -> None:
    """Which of the two was meant is not guessed."""
    assert refused("run", TINY, "--jobs", 2, "--cluster", "tcp://127.0.0.1:8786", "--out", tmp_path) == (
        "--jobs is for this machine, --cluster for others: leave out one of them")
