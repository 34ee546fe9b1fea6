"""The command line on a terminal: as wide as the terminal, if that is narrower; help instead of a terse error."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from linesim.line.runs import Workers
from linesim.questions.carried_out import Task
from linesim.scenario.reading import read_scenario
from linesim.show import running, words

TINY = Path(__file__).parents[2] / "scenarios" / "tiny.yaml"


def printed(arguments: list[str], columns: int) -> str:
    """What a command prints on a terminal of so many columns."""
    pty = pytest.importorskip("pty", reason="terminals are made otherwise here")
    ours, its = pty.openpty()
    done = subprocess.Popen([sys.executable, "-m", "linesim", *arguments], stdout=its, stderr=subprocess.DEVNULL,
                            env={**os.environ, "COLUMNS": str(columns)})
    os.close(its)
    parts = []
    try:
        while part := os.read(ours, 4096):
            parts.append(part)
    except OSError:  # how Linux says that nobody writes any more
        pass
    os.close(ours)
    assert done.wait() == 0
    return b"".join(parts).decode().replace("\r\n", "\n")


@pytest.mark.parametrize("columns", [60, 200])
def test_sentences_fit_the_terminal(columns: int) -> None:
    """Wrapped to its width, never wider than the usual line; the words are the same."""
    text = printed(["check", str(TINY)], columns)
    sentences = [line for line in text.splitlines() if line.startswith(("Tiny: ", "Caution"))]
    assert sentences
    longest = max(len(line) for line in text[text.index("Caution"):].splitlines())
    assert longest <= min(columns, words.WIDTH)
    assert "every range holds only if the inputs are right; they are not fitted to a plant's records" in " ".join(
        text.split())


def test_a_file_gets_the_usual_width() -> None:
    """Where nobody looks on, lines do not depend on the terminal."""
    found = subprocess.run([sys.executable, "-m", "linesim", "check", str(TINY)], capture_output=True, text=True,
                           check=True, env={**os.environ, "COLUMNS": "50"}).stdout
    assert max(len(line) for line in found.splitlines()) > 60


def test_the_command_alone_shows_its_help() -> None:
    """All commands with what they do; the exit code of a command that was not given."""
    found = subprocess.run([sys.executable, "-m", "linesim"], capture_output=True, text=True, check=False)
    assert found.returncode == 2
    assert "run a scenario and print the answer" in found.stderr
    assert "usage: linesim" in found.stderr


@pytest.mark.parametrize(("runs", "looked_at", "compiled", "said"), [
    (100, True, False, True), (99, True, False, False), (100, False, False, False), (100, True, True, False)])
def test_many_runs_are_told_of_a_quicker_floor(runs: int, looked_at: bool, compiled: bool, said: bool,
                                               monkeypatch: pytest.MonkeyPatch,
                                               capsys: pytest.CaptureFixture[str]) -> None:
    """On a terminal, where the floor runs from its source."""
    monkeypatch.setattr(running, "is_compiled", lambda: compiled)
    monkeypatch.setattr(sys.stderr, "isatty", lambda: looked_at)
    task = Task(read_scenario(TINY), 1, range(runs), Workers())
    running.Progress(task, 0).begin()
    assert ("`linesim compile`" in capsys.readouterr().err) is said
