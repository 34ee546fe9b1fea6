"""The scenarios that come with the project are found beside the package and where an installed package has its data."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from shutil import copytree, ignore_patterns

from linesim.scenario.shipped import INSTALLED, folder_among, shipped

PROJECT = Path(__file__).parents[2]
ASKED = """
from linesim.questions.proof.plants import demo, demo_is_here
from linesim.scenario.examples import files_of_examples
from linesim.scenario.shipped import SHIPPED
print(SHIPPED, demo_is_here() and demo().name, *(file.name for file in files_of_examples()), sep="|")
"""


def test_the_folder_is_that_of_the_project_else_of_the_installed_data(tmp_path: Path) -> None:
    """The files of a package are listed relative to it; None if no scenario is among them."""
    assert shipped() == PROJECT / "scenarios"
    below = tmp_path / "lib" / "python" / ".." / ".."
    found = folder_among([below / "lib" / "linesim" / "tiny.yaml", below.joinpath(*INSTALLED, "tiny.yaml")])
    assert found == tmp_path.resolve().joinpath(*INSTALLED)
    assert folder_among([below / "lib" / "linesim" / "tiny.yaml"]) is None


def test_an_installed_package_has_its_demo(tmp_path: Path) -> None:
    """Without the project the checks on the demo and the examples of the language read the scenarios installed."""
    copytree(PROJECT / "linesim", tmp_path / "lib" / "linesim", ignore=ignore_patterns("__pycache__"))
    about = tmp_path / "lib" / "linesim-0.dist-info"
    about.mkdir()
    (about / "METADATA").write_text("Metadata-Version: 2.1\nName: linesim\nVersion: 0\n")
    (about / "RECORD").write_text("linesim/__init__.py,,\n")
    assert _asked(tmp_path) == [str(tmp_path.resolve() / "lib" / "scenarios"), "False", "starter.yaml"]
    copytree(PROJECT / "scenarios", tmp_path.joinpath(*INSTALLED))
    (about / "RECORD").write_text(f"linesim/__init__.py,,\n../{'/'.join(INSTALLED)}/birchwater.yaml,,\n")
    folder, demo, *files = _asked(tmp_path)
    assert folder == str(tmp_path.resolve().joinpath(*INSTALLED))
    assert demo.startswith("Birchwater")
    assert "birchwater.yaml" in files


def _asked(folder: Path) -> list[str]:
    """What a copy of the package alone finds, away from the project."""
    environment = {**os.environ, "PYTHONPATH": str(folder / "lib"), "PYTHONDONTWRITEBYTECODE": "1"}
    done = subprocess.run([sys.executable, "-c", ASKED], cwd=folder, env=environment, capture_output=True, text=True,
                          check=True)
    return done.stdout.strip().split("|")
