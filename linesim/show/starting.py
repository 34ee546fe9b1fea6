"""`linesim new`: a scenario file to begin with. It never takes the place of a file that is there."""

from __future__ import annotations

import os
import shlex
import sys
from importlib.resources import files
from pathlib import Path

from ..scenario.shipped import SHIPPED
from .words import listed, wrapped

LIKE = {  # the scenario first, then the files that it needs beside it
    "birchwater": ("birchwater.yaml", "birchwater-orders.csv"),
    "pulse": ("birchwater-pulse.yaml", "birchwater.yaml", "birchwater-orders.csv"),
    "textbook": ("textbook-line.yaml",)}
EXIT_REFUSED = 2


class NotWritten(Exception):
    """Why nothing is written."""


def new_file(file: str, like: str | None = None) -> int:
    """Write the starter, or a copy of a shipped scenario with the files it needs, and say what to do next."""
    try:
        written = _write(contents(Path(file), like))
    except NotWritten as why:
        print("\n".join(wrapped(f"Nothing is written: {why}")), file=sys.stderr)
        return EXIT_REFUSED
    beside = f", and beside it {listed([path.name for path in written[1:]])}" if written[1:] else ""
    what = f"a copy of {LIKE[like][0]}" if like else "a small invented plant, to be changed line by line"
    name = shlex.quote(file)
    print("\n".join([*wrapped(f"Written  {file}: {what}{beside}.", 9), f"Next     linesim check {name}",
                     f"         linesim run {name}"]))
    return 0


def contents(file: Path, like: str | None) -> dict[Path, bytes]:
    """What is to be written where; raises NotWritten."""
    if like is None:
        return {file: files("linesim.scenario").joinpath("starter.yaml").read_bytes()}
    scenario, *needed = LIKE[like]
    if file.name in needed:
        raise NotWritten(f"{file.name} is the name of a file that {scenario} needs beside it; choose another name")
    try:
        found = {file: (SHIPPED / scenario).read_bytes()}
        beside = {file.parent / name: (SHIPPED / name).read_bytes() for name in needed}
    except OSError:
        raise NotWritten(f"{scenario} is not installed here; it stands in the folder scenarios of the project. Without "
                         "--like there is always a small plant to begin with") from None
    return found | {path: content for path, content in beside.items() if not _holds(path, content)}


def _holds(path: Path, content: bytes) -> bool:
    """Whether a needed file is there already, as it is shipped."""
    try:
        return path.read_bytes() == content
    except OSError:
        return False


def _write(contents: dict[Path, bytes]) -> list[Path]:
    """Write all files or none; a file that is there stays as it is."""
    written: list[Path] = []
    for path, content in contents.items():
        try:
            with path.open("xb") as file:
                written.append(path)
                file.write(content)
        except (OSError, ValueError) as error:
            for half_done in written:
                half_done.unlink(missing_ok=True)
            raise NotWritten(_reason(path, error)) from None
    return written


def _reason(path: Path, error: OSError | ValueError) -> str:
    if isinstance(error, FileExistsError) or os.path.isdir(path):
        return f"{path} is there already; choose another name"
    if isinstance(error, FileNotFoundError) and not os.path.isdir(path.parent):
        return f"there is no folder {path.parent}; make it first"
    return f"{path}: {getattr(error, 'strerror', None) or error}"
