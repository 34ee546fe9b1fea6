"""Plants of the reader's own: where they are kept, how a new one is begun, and how a draft is saved.

Each stands in a folder of its own with the tables it needs. A shipped scenario is never written over, and neither is a
file that somebody else changed meanwhile.
"""

from __future__ import annotations

import io
import re
import zipfile
from pathlib import Path

from ....scenario.shipped import SHIPPED
from ... import words
from ...starting import NotWritten, contents
from ...whole_files import write_whole
from .draft import Draft
from .fixed import Refused
from .papers import Papers, opened, read
from .writing import put

PLANTS = "plants"  # in the folder of the results
STARTER = "starter"
GALLERY = {  # what `linesim new` offers, in words
    STARTER: ("A small plant", "Invented: eight positions, six trades. Runs as it stands; every line explained."),
    "birchwater": ("Birchwater", "The demo: nineteen positions, ten trades, an order book in a table beside it."),
    "pulse": ("Birchwater as a pulse line", "Says only what differs from Birchwater: all aircraft move together."),
    "textbook": ("Textbook line", "Three places in a row, as in books on queues; no people.")}


def own_files(results: Path) -> dict[str, Path]:
    """Scenario files of the reader's own by the name that stands in the address, the latest first."""
    found = [path for folder in (results / PLANTS).glob("*/") for path in [folder / f"{folder.name}.yaml"]
             if path.is_file()]
    return {key_of(path): path for path in sorted(found, key=lambda one: -one.stat().st_mtime)}


def key_of(path: Path) -> str:
    """The name of a plant of the reader's own in the address."""
    return f"own-{path.stem}"


def is_own(path: Path, results: Path, given: Path | None = None) -> bool:
    """Whether a file may be saved over: a plant of the reader's own, or the one that the command was given."""
    path = path.resolve()
    if path.is_relative_to(SHIPPED.resolve()):
        return False
    return path.is_relative_to((results / PLANTS).resolve()) or (given is not None and path == given.resolve())


def begun(name: str, like: str, results: Path) -> Path:
    """A new plant by a name, like one of the gallery; gives its file. Raises Refused."""
    path = _path(name, results)
    path.parent.mkdir(parents=True)
    try:
        wanted = contents(path, None if like == STARTER else like)
        for file, content in reversed(wanted.items()):
            write_whole(file, content)
        there = opened(path)
        _write(put(there, ("name",), name.strip()), path.parent, there)
    except (NotWritten, OSError) as error:
        _clear(path.parent)
        raise Refused(str(error)) from None
    return path


def saved(draft: Draft, path: Path) -> Draft:
    """The draft after it was written over its file; raises Refused where the file is not what it was."""
    _must_run(draft.now)
    try:
        if opened(path) != draft.saved:
            raise Refused(f"{path.name} was changed by someone else meanwhile; save a copy instead")
        _write(draft.now, path.parent, draft.saved)
    except OSError as error:
        raise Refused(f"{path.name} cannot be written: {error.strerror or error}") from None
    return Draft(draft.now, draft.states, draft.at)


def copied(papers: Papers, name: str, results: Path) -> Path:
    """A copy by a name of its own, which its file says, too; gives the file. Raises Refused."""
    path = _path(name, results)
    _must_run(papers)
    found = put(papers, ("name",), name.strip())
    if path.name in dict(found.files):
        raise Refused(f"{path.stem} is the name of a file that it needs beside it; choose another name")
    path.parent.mkdir(parents=True)
    try:
        _write(found.called(path.name), path.parent)
    except OSError as error:
        _clear(path.parent)
        raise Refused(f"It cannot be written: {error.strerror or error}") from None
    return path


def packed(papers: Papers) -> bytes:
    """All files as one ZIP file, the same bytes for the same papers."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as pack:
        for name, content in papers.files:
            pack.writestr(zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0)), content)
    return out.getvalue()


def _path(name: str, results: Path) -> Path:
    stem = re.sub(r"[^a-z0-9]+", "-", name.strip().lower()).strip("-")[:60]
    if not stem:
        raise Refused("It needs a name with letters or digits")
    path = results / PLANTS / stem / f"{stem}.yaml"
    if path.parent.exists():
        raise Refused(f"There is a plant called {stem} already; choose another name")
    return path


def _must_run(papers: Papers) -> None:
    count = len(read(papers).faults)
    if count:
        raise Refused(f"It has {words.counted(count, 'fault')}: a file that cannot run is not saved")


def _write(papers: Papers, folder: Path, before: Papers | None = None) -> None:
    """Write what differs; the scenario last, so that no half of a change can be read."""
    there = dict(before.files) if before else {}
    for name, content in reversed(papers.files):
        if there.get(name) != content:
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            write_whole(folder / name, content)


def _clear(folder: Path) -> None:
    for file in sorted(folder.rglob("*"), reverse=True):
        file.unlink() if file.is_file() else file.rmdir()
    folder.rmdir()
