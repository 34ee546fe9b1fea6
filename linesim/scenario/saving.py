"""A changed scenario file: only the changed lines differ, every comment stays, and a reader never meets half a file.

In a file that extends another, a change of what the other file says is written under its own `changes`.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Mapping
from contextlib import suppress
from copy import deepcopy
from dataclasses import dataclass
from difflib import SequenceMatcher
from pathlib import Path
from typing import Any

from .faults import Fault, ScenarioFaults
from .judging import judge
from .paths import path_of, put, stepped
from .reading import parse_scenario, source_of
from .scenario import Scenario
from .tables import is_table
from .tree import Path_, Source, read_text, read_tree, value_at
from .yaml_text import CannotKeep, with_section, with_value


@dataclass(frozen=True, slots=True)
class ChangedText:
    """A scenario file as changed: its text, the scenario that it says, and the lines that differ.

    A line is (number in the old text, old lines, new lines), counted from 1.
    """

    text: str
    scenario: Scenario
    lines: tuple[tuple[int, tuple[str, ...], tuple[str, ...]], ...]


def change_text(text: str, changes: Mapping[str, object], file: str = "scenario",
                folder: Path | None = None) -> ChangedText:
    """The text of a scenario file with changes by path; raises ScenarioFaults where that is no scenario."""
    folder = folder or Path()
    source = source_of(_one_newline(text), file, folder)
    new, faults = text, []
    for place, given in changes.items():
        try:
            path = path_of(source.values, place)
            value = stepped(source.values, path, given)
            if is_table(value):
                raise CannotKeep("a table is put in by hand")
            new = written_in(new, source, path, place, value)
            put(source.values, path, deepcopy(value))
        except (LookupError, ValueError, CannotKeep) as error:
            faults.append(_fault(source, place, str(error.args[0])))
    if faults:
        raise ScenarioFaults(file, [*source.faults, *faults])
    scenario = parse_scenario(_one_newline(new), file, folder)
    source.faults.clear()  # what the changes have put right
    if scenario != judge(source):
        raise ScenarioFaults(file, [Fault(file, 1, 1, "", "the changes cannot be written so that the file says just "
                                                          "what was asked for; change it by hand")])
    return ChangedText(new, scenario, _lines(text, new))


def change_file(file: str | Path, changes: Mapping[str, object], to: str | Path | None = None) -> ChangedText:
    """Change a scenario file, or write what it becomes under another name; after ScenarioFaults nothing is written.

    The new file takes the place of the old one at once. An existing file is never written over by a copy.
    """
    path = Path(file)
    read_text(path)
    before = path.read_bytes()
    text = before.decode("utf-8")
    mark, text = ("\ufeff", text[1:]) if text.startswith("\ufeff") else ("", text)
    target = path if to is None else Path(to)
    found = change_text(text, changes, str(path), target.parent if to is not None else path.parent)
    if to is not None or found.text != text:
        try:
            _write(path, before, target, (mark + found.text).encode("utf-8"), new=to is not None)
        except OSError as error:
            said = "there is such a file already" if isinstance(error, FileExistsError) else error.strerror or error
            raise ScenarioFaults(str(target), [Fault(str(target), 1, 1, "", f"cannot be written: {said}")]) from None
    return found


def _one_newline(text: str) -> str:
    return text.replace("\r\n", "\n")


# where a change is written --------------------------------------------------------------------------------------
def written_in(text: str, source: Source, path: Path_, place: str, value: Any) -> str:
    """The text of a file with a value where that file says it: `place` is the path as a change names it.

    Raises CannotKeep or ValueError.
    """
    own = read_tree(_one_newline(text), source.file).values
    if "extends" in own:
        there = _own_place(own, source, path, place)
        if there == ("changes", place) and not own.get("changes"):
            return with_section(text, "changes", place, value) if "changes" not in own else \
                with_value(text, ("changes",), {place: value})
        return with_value(text, there, value)
    table = next((source.files[path[:n]][0] for n in range(len(path) + 1) if path[:n] in source.files), None)
    if table:
        raise CannotKeep(f"it stands in the table {table}; change it there")
    there = next((path[:n] for n in range(1, len(path)) if value_at(path[:n], own) is None), path)
    for step in reversed(path[len(there):]):  # a section that the file leaves out is written whole
        value = {step: value}
    return with_value(text, there, value)


def _own_place(own: dict[str, Any], source: Source, path: Path_, place: str) -> Path_:
    """Where an extending file says a value: in its changes, in a section of its own, or in a new change."""
    changes = own.get("changes") or {}
    for earlier in reversed(changes):
        with suppress(LookupError):
            there = path_of(source.values, earlier)
            inside = ("changes", earlier, *path[len(there):])
            if there == path or (there == path[:len(there)] and value_at(inside, own) is not None):
                return inside
            if path == there[:len(path)]:
                break  # what is replaced here was changed inside before: a change behind it counts
    else:
        if path[0] in own and value_at(path, own) is not None and source.files.get(_nearest(path, source), ("",))[0] \
                == source.file:
            return path
    return ("changes", place)


def _nearest(path: Path_, source: Source) -> Path_:
    return next((path[:n] for n in range(len(path), -1, -1) if path[:n] in source.files), ())


def _fault(source: Source, place: str, message: str) -> Fault:
    """A refused change, marked at the part of its path that is there."""
    steps = place.split(".")
    for n in range(len(steps), -1, -1):
        with suppress(LookupError):
            found = source.fault_at(path_of(source.values, ".".join(steps[:n])) if n else (), message)
            return Fault(found.file, found.line, found.column, place[:200], message, found.sheet)
    return Fault(source.file, 1, 1, place[:200], message)


def _lines(old: str, new: str) -> tuple[tuple[int, tuple[str, ...], tuple[str, ...]], ...]:
    before, after = old.splitlines(), new.splitlines()
    blocks = SequenceMatcher(None, before, after, autojunk=False).get_opcodes()
    return tuple((a + 1, tuple(before[a:b]), tuple(after[c:d])) for kind, a, b, c, d in blocks if kind != "equal")


# writing --------------------------------------------------------------------------------------------------------
def _write(source: Path, before: bytes, target: Path, data: bytes, *, new: bool) -> None:
    """Write beside the target and put it in place in one step, on disk before it is seen."""
    real = target.resolve()  # a link stays a link
    handle, name = tempfile.mkstemp(prefix=f".{real.name}.", dir=real.parent)
    beside = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        shutil.copymode(source, beside)
        if source.read_bytes() != before:
            raise OSError(None, "the file was changed by someone else meanwhile; nothing is written")
        if new:
            _put_new(beside, real)
        else:
            os.replace(beside, real)
        _sync(real.parent)
    finally:
        beside.unlink(missing_ok=True)


def _put_new(beside: Path, real: Path) -> None:
    try:
        os.link(beside, real)  # refuses where there is a file, in the same step
    except OSError:
        if real.exists():
            raise FileExistsError from None
        os.replace(beside, real)  # not every system has links


def _sync(folder: Path) -> None:
    with suppress(OSError):  # not every system lets a folder be synced
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
