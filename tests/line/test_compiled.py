"""Compiled code is used only if it was made from just this source."""

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
    return subprocess.run([sys.executable, "-c", what], env={"PYTHONPATH": str(folder)}, cwd=folder,
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
