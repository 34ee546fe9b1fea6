"""Compiled code is used only if it was made from just this source."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import linesim

PROBE = """
from linesim.scenario import LIBRARY, folder_of_this_source
folder = folder_of_this_source()
folder.mkdir(parents=True)
(folder / LIBRARY).write_bytes(b"no library")
"""


def done_in(folder: Path, what: str) -> subprocess.CompletedProcess[str]:
    """What a new Python says that finds the package in a folder."""
    return subprocess.run([sys.executable, "-c", what], env={**os.environ, "PYTHONPATH": str(folder)}, cwd=folder,
                          capture_output=True, text=True, check=False)


@pytest.fixture
def copied(tmp_path: Path) -> Path:
    """A folder with a copy of the package, and something under the name of its compiled code."""
    package = Path(linesim.__file__).parent
    shutil.copytree(package, tmp_path / "linesim", ignore=shutil.ignore_patterns("compil*_*", "__pycache__"))
    assert done_in(tmp_path, PROBE).returncode == 0
    return tmp_path


def test_code_compiled_from_this_source_is_looked_for(copied: Path) -> None:
    """What stands under the digest of the source is loaded."""
    assert "ImportError" in done_in(copied, "import linesim.line.duty").stderr


def test_code_compiled_from_other_source_is_passed_over(copied: Path) -> None:
    """After any change of the source the source itself is used."""
    duty = copied / "linesim" / "line" / "duty.py"
    duty.write_text(duty.read_text(encoding="utf-8") + "\n# another line\n", encoding="utf-8")
    done = done_in(copied, "import linesim.line.duty as duty; print(duty.__file__)")
    assert (done.returncode, done.stdout.strip()) == (0, str(duty))


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


@pytest.mark.slow
@pytest.mark.skipif(shutil.which("cc") is None, reason="there is no C compiler here")
def test_the_compiled_floor_gives_the_same_records(tmp_path: Path) -> None:
    """One source, compiled or not: every record and every number of demo runs is the same to the last digit."""
    package = Path(linesim.__file__).parent
    shutil.copytree(package, tmp_path / "linesim", ignore=shutil.ignore_patterns("compil*_*", "__pycache__"))
    records = RECORDS.replace("{FOLDER}", str(Path(__file__).parents[2] / "scenarios"))
    *plain, kind = done_in(tmp_path, records).stdout.split("\n")[:-1]
    assert kind == "py"
    made = done_in(tmp_path, "from linesim.line.compiled import compile_floor; compile_floor(remove=False, level='0')")
    assert "the same records" in made.stdout, made.stderr
    *compiled, kind = done_in(tmp_path, records).stdout.split("\n")[:-1]
    assert (compiled, kind, len(plain)) == (plain, "so", 3)
