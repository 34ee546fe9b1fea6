"""The papers of a scenario as they lie on the desk: its file and the files beside it that it needs, byte for byte.

They are edited here and not on the disk; what is read from them is what the files would say if they were saved.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from ....scenario.comparisons import add_comparison_faults
from ....scenario.faults import Fault, ScenarioFaults
from ....scenario.judging import judge
from ....scenario.reading import source_of
from ....scenario.scenario import Scenario
from ....scenario.tables import FORMS, beside, is_table
from ....scenario.tree import Source, read_text, read_tree

MARK = "\ufeff"  # some editors begin a text with it


@dataclass(frozen=True, slots=True)
class Papers:
    """A scenario file and the files that it needs, by their names from its folder, the scenario first."""

    files: tuple[tuple[str, bytes], ...]

    @property
    def name(self) -> str:
        """Name of the scenario file."""
        return self.files[0][0]

    def text(self, name: str | None = None) -> str:
        """Text of the scenario file, or of a table beside it."""
        content = dict(self.files)[self.name if name is None else name]
        return content.decode("utf-8").removeprefix(MARK)

    def with_text(self, text: str, name: str | None = None) -> Papers:
        """The papers with another text in one of the files; raises ValueError for what no file can hold."""
        name = self.name if name is None else name
        begun = MARK if dict(self.files)[name].startswith(MARK.encode()) else ""
        try:
            content = (begun + text).encode("utf-8")
        except UnicodeEncodeError:
            raise ValueError("it holds a character that no file can hold") from None
        return replace(self, files=tuple((one, content if one == name else old) for one, old in self.files))

    def called(self, name: str) -> Papers:
        """The papers with another name of the scenario file."""
        return replace(self, files=((name, self.files[0][1]), *self.files[1:]))


@dataclass(frozen=True, slots=True, eq=False)
class Reading:
    """What papers say: values with their places (None: no file that can be read), the scenario or what is wrong."""

    source: Source | None
    own: Source | None            # the values of the file itself, without those of a file that it extends
    scenario: Scenario | None
    faults: tuple[Fault, ...]
    folder: Path

    def file_of(self, path: tuple[Any, ...]) -> str:
        """Name of the file in which a place stands."""
        if self.source is None:
            return ""
        above = (path[:n] for n in range(len(path), -1, -1))
        file = next((self.source.files[part][0] for part in above if part in self.source.files), self.source.file)
        return str(Path(file).relative_to(self.folder))

    @property
    def extends(self) -> bool:
        """Whether the file says only what differs from another one."""
        return self.own is not None and "extends" in self.own.values


def opened(path: Path) -> Papers:
    """The papers of a file on the disk; raises ScenarioFaults where it cannot be read as text."""
    read_text(path)
    found = {path.name: path.read_bytes()}
    for name in _needed(path.read_text(encoding="utf-8-sig"), path.parent):
        found.setdefault(name, (path.parent / name).read_bytes())
    return Papers(tuple(found.items()))


def _needed(text: str, folder: Path, deep: int = 0) -> Iterator[str]:
    """Names of the files that a scenario text needs and that are there."""
    try:
        values = read_tree(text, "").values
    except ScenarioFaults:
        return
    for name in _named(values):
        try:
            found = beside(name, folder)
        except (OSError, ValueError, RuntimeError):
            continue  # the reader says what is wrong with it
        yield str(name)
        if name == values.get("extends") and deep < len(FORMS) + 3:
            yield from _needed(found.read_text(encoding="utf-8-sig", errors="replace"), folder, deep + 1)


def _named(values: Any) -> Iterator[Any]:
    if isinstance(values, dict):
        if "extends" in values:
            yield values["extends"]
        if is_table(values):
            yield from (values[form] for form in FORMS if form in values)
    for inner in values.values() if isinstance(values, dict) else values if isinstance(values, list) else ():
        yield from _named(inner)


@lru_cache(maxsize=32)
def read(papers: Papers) -> Reading:
    """What the papers say."""
    with TemporaryDirectory() as name:
        folder = Path(name)
        for file, content in papers.files:
            (folder / file).parent.mkdir(parents=True, exist_ok=True)
            (folder / file).write_bytes(content)
        return _read(papers, folder)


def _read(papers: Papers, folder: Path) -> Reading:
    file, own = str(folder / papers.name), None
    try:
        text = papers.text()
        own = read_tree(text, file)
        source = source_of(text, file, folder)
    except ScenarioFaults as faults:
        return Reading(None, own, None, tuple(faults.faults), folder)
    try:
        scenario = judge(source)
        add_comparison_faults(scenario, source)
    except ScenarioFaults as faults:
        return Reading(source, own, None, tuple(faults.faults), folder)
    return Reading(source, own, None if source.faults else scenario, tuple(source.faults), folder)
