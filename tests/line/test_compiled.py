"""Compiled code is used only if it was made from just this source, and every question is answered alike with it."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import linesim
from linesim.scenario import folder_of_this_source

DEMOS = Path(__file__).parents[2] / "scenarios"

PROBE = """
from linesim.scenario import LIBRARY, folder_of_this_source
folder = folder_of_this_source()
folder.mkdir(parents=True)
(folder / LIBRARY).write_bytes(b"no library")
"""


def done_in(folder: Path, *what: str, floor: str = "") -> subprocess.CompletedProcess[str]:
    """What a new Python says that finds the package in a folder; with the source of the floor, or what is compiled."""
    return subprocess.run([sys.executable, *what],
                          env={**os.environ, "PYTHONPATH": str(folder), "LINESIM_FLOOR": floor}, cwd=folder,
                          capture_output=True, text=True, check=False)


@pytest.fixture
def copied(tmp_path: Path) -> Path:
    """A folder with a copy of the package, and something under the name of its compiled code."""
    package = Path(linesim.__file__).parent
    shutil.copytree(package, tmp_path / "linesim", ignore=shutil.ignore_patterns("compil*_*", "__pycache__"))
    assert done_in(tmp_path, "-c", PROBE).returncode == 0
    return tmp_path


def test_code_compiled_from_this_source_is_looked_for(copied: Path) -> None:
    """What stands under the digest of the source is loaded."""
    assert "ImportError" in done_in(copied, "-c", "import linesim.line.duty").stderr


def test_the_source_may_be_asked_for(copied: Path) -> None:
    """With a word in the environment nothing compiled is used."""
    done = done_in(copied, "-c", "import linesim.line.duty as duty; print(duty.__file__)", floor="source")
    assert (done.returncode, done.stdout.strip()) == (0, str(copied / "linesim" / "line" / "duty.py"))


def test_code_compiled_from_other_source_is_passed_over(copied: Path) -> None:
    """After any change of the source the source itself is used."""
    duty = copied / "linesim" / "line" / "duty.py"
    duty.write_text(duty.read_text(encoding="utf-8") + "\n# another line\n", encoding="utf-8")
    done = done_in(copied, "-c", "import linesim.line.duty as duty; print(duty.__file__)")
    assert (done.returncode, done.stdout.strip()) == (0, str(duty))


def test_without_a_compiler_it_says_so_and_nothing_changes(copied: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The README's first command goes on to its run then."""
    shutil.rmtree(copied / "linesim" / "compiled_code")
    monkeypatch.setenv("PATH", str(copied))  # nothing is found there
    done = done_in(copied, "-m", "linesim", "compile")
    assert (done.returncode, done.stdout) == (2, "")
    assert "There is no C compiler here" in done.stderr
    assert "the source is used" in done.stderr
    assert sorted(path.name for path in (copied / "linesim").glob("compil*")) == []


RECORDS = """
import hashlib
from linesim.scenario.reading import read_scenario
from linesim.line import floor
from linesim.line.sheet import Sheet
from linesim.measures.run import numbers_of
from linesim.show.stored_runs import packed
def plain(value):  # whether a state is named or a number makes no difference
    if isinstance(value, (list, tuple)):
        return [plain(one) for one in value]
    if isinstance(value, dict):
        return [(plain(key), plain(one)) for key, one in value.items()]
    return int(value) if isinstance(value, int) else value
for name in ("birchwater", "birchwater-pulse", "birchwater-hard-year"):
    sheet = Sheet(read_scenario(f"{FOLDER}/{name}.yaml"))
    records = floor.run_once(sheet, 7, 1)
    parts = [plain(getattr(records, part)) for part in records.__slots__]
    print(name, hashlib.sha256(repr(parts).encode()).hexdigest(),
          hashlib.sha256(packed([numbers_of(sheet, records)], {})).hexdigest())
print(floor.__file__.rsplit(".", 1)[1])
"""


QUESTIONS = (
    "rate birchwater.yaml --takts 5,4", "rate birchwater-pulse.yaml --takts 5",
    "quarters birchwater.yaml --at-least 44",
    "crew birchwater.yaml --trade FLM --people 2-3 --from FL", "dates birchwater.yaml --new",
    "next birchwater.yaml --decide", "late tiny.yaml", "buys tiny.yaml",
    "compare birchwater.yaml birchwater-hard-year.yaml")

ANSWERS = """
import contextlib, io, json, os, sys
from linesim.line import floor
from linesim.show.commands import main
demos, *questions = sys.argv[1:]
os.chdir(demos)
said = {"floor": floor.__file__.rsplit(".", 1)[1]}
for question in questions:
    with contextlib.redirect_stdout(io.StringIO()) as out:
        ended = main([*question.split(), "--runs", "2", "--jobs", "1", "--json", "--out", OUT])
    said[question] = (ended, out.getvalue().replace(OUT, ""))
print(json.dumps(said))
"""


@pytest.mark.slow
@pytest.mark.skipif(shutil.which("cc") is None, reason="there is no C compiler here")
def test_compiled_and_from_its_source_the_floor_is_the_same(tmp_path: Path) -> None:
    """To the last digit. What `linesim compile` made of this source is taken as it stands. One test: to compile takes
    longer than to look."""
    shutil.copytree(Path(linesim.__file__).parent, tmp_path / "linesim",
                    ignore=shutil.ignore_patterns("compiling_*", "__pycache__"))
    if not folder_of_this_source().exists():
        made = done_in(tmp_path, "-c",
                       "from linesim.line.compiled import compile_floor; compile_floor(remove=False, level='0')")
        assert "the same records" in made.stdout, made.stderr
    the_records_and_numbers_are_the_same(tmp_path)
    every_question_is_answered_alike(tmp_path)
    every_proof_holds(tmp_path)


def the_records_and_numbers_are_the_same(folder: Path) -> None:
    """Of a run of each demo."""
    records = RECORDS.replace("{FOLDER}", str(DEMOS))
    *plain, kind = done_in(folder, "-c", records, floor="source").stdout.splitlines()
    assert (len(plain), kind) == (3, "py")
    assert done_in(folder, "-c", records).stdout.splitlines() == [*plain, "so"]


def every_question_is_answered_alike(folder: Path) -> None:
    """What the commands print as JSON; each kind of floor with runs of its own."""
    def said(floor: str) -> dict[str, list[object]]:
        done = done_in(folder, "-c", ANSWERS.replace("OUT", repr(str(folder / f"asked_{floor}"))), str(DEMOS),
                       *QUESTIONS, floor=floor)
        assert done.returncode == 0, done.stderr
        found: dict[str, list[object]] = json.loads(done.stdout)
        return found

    plain, quick = said("source"), said("compiled")
    assert (plain.pop("floor"), quick.pop("floor")) == ("py", "so")
    for question in QUESTIONS:
        assert plain[question][0] == 0, question
        assert quick[question] == plain[question], question


def every_proof_holds(folder: Path) -> None:
    """All rules of the floor, by hand and from outside."""
    done = done_in(folder, "-m", "linesim", "proof", "--json")
    assert done.returncode == 0, done.stderr
    checks = json.loads(done.stdout)["checks"]
    assert checks
    assert all(check["holds"] for check in checks)
