"""Where the scenarios lie that come with the project: in its folder, or where an installed package has its data."""

from __future__ import annotations

from collections.abc import Iterable
from importlib.metadata import PackageNotFoundError
from importlib.metadata import files as distribution_files
from pathlib import Path

IN_PROJECT = Path(__file__).parents[2] / "scenarios"
INSTALLED = ("share", "linesim", "scenarios")  # where an installed package has them, below the folder of its data


def shipped() -> Path:
    """The folder of the shipped scenarios: that of the project, else the one that came with an installed package; where
    there is neither, the first, which is not there."""
    if IN_PROJECT.is_dir():
        return IN_PROJECT
    try:
        listed = distribution_files("linesim") or []
    except PackageNotFoundError:
        return IN_PROJECT
    return folder_among(Path(str(one.locate())) for one in listed) or IN_PROJECT


def folder_among(files_: Iterable[Path]) -> Path | None:
    """The folder of the shipped scenarios among the files of an installed package; None if they are not among them."""
    return next((file.parent.resolve() for file in files_ if file.parts[-4:-1] == INSTALLED), None)


SHIPPED = shipped()
