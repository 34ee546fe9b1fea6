"""A scenario file that extends another: `extends: file.yaml`, then sections of its own and `changes` by path.

Sections are laid over those of the file that is extended: fields within fields, lists and single values whole. A change
names its place by fields and by the id, serial, name or item of a list entry: `positions.PB.docks: 2`.
"""

from __future__ import annotations

from copy import deepcopy
from typing import Any

from .faults import did_you_mean
from .tree import Path_, Source

OWN = ("extends", "changes")
NAMES = ("id", "serial", "name", "item")


def extend(base: Source, own: Source) -> Source:
    """The values of `base` with those of `own` laid over them; faults keep the file in which they stand."""
    found = Source(own.file, deepcopy(base.values), dict(base.marks), {(): base.file, **base.files},
                   [*base.faults, *own.faults], list(base.unread))
    for key, value in own.values.items():
        if key not in OWN:
            _lay(found, own, (key,), value)
    changes = own.values.get("changes")
    if changes is not None and not isinstance(changes, dict):
        own.add(("changes",), "changes are written `place.field: value`, one a line")
        found.faults.append(own.faults[-1])
    for place, value in changes.items() if isinstance(changes, dict) else ():
        mark = ("changes", place)
        try:
            path = path_of(found.values, str(place))
        except LookupError as error:
            own.add(mark, str(error.args[0]))
            found.faults.append(own.faults[-1])
            continue
        _put(found, path, deepcopy(value))
        _take_marks(found, own, path, mark)
    return found


def _lay(found: Source, own: Source, path: Path_, value: Any) -> None:
    there: Any = found.values
    for step in path[:-1]:
        there = there[step]
    before = there.get(path[-1])
    if isinstance(before, dict) and isinstance(value, dict) and "csv" not in value:
        for key, inner in value.items():
            _lay(found, own, (*path, key), inner)
        return
    there[path[-1]] = deepcopy(value)
    _take_marks(found, own, path, path)


def _take_marks(found: Source, own: Source, path: Path_, mark: Path_) -> None:
    """From here on the place stands in the extending file."""
    for marks in (found.marks, found.files):
        for old in [old for old in marks if old[:len(path)] == path]:
            del marks[old]
    found.unread = [old for old in found.unread if old[:len(path)] != path]
    found.files[path] = own.file
    for place, at in own.marks.items():
        if place[:len(mark)] == mark:
            found.marks[(*path, *place[len(mark):])] = at


def _put(found: Source, path: Path_, value: Any) -> None:
    there = found.values
    for step in path[:-1]:
        there = there[step]
    there[path[-1]] = value


def path_of(values: Any, place: str) -> Path_:
    """Keys and list places of a dotted path; its last field may be new. Raises LookupError saying what is there."""
    path: Path_ = ()
    steps = place.split(".")
    for n, step in enumerate(steps):
        if isinstance(values, dict):
            if step not in values and n < len(steps) - 1:
                raise LookupError(_nothing(step, path, [str(key) for key in values]))
            path, values = (*path, step), values.get(step)
        elif isinstance(values, list):
            number = next((k for k, entry in enumerate(values) if _is(entry, step)), None)
            if number is None:
                raise LookupError(_nothing(step, path, [name for entry in values for name in _names(entry)]))
            path, values = (*path, number), values[number]
        else:
            raise LookupError(f"{'.'.join(steps[:n])} is a single value; it has no {step!r}")
    return path


def _names(entry: Any) -> list[str]:
    return [str(entry[key]) for key in NAMES if isinstance(entry, dict) and key in entry][:1]


def _is(entry: Any, step: str) -> bool:
    return step in _names(entry)


def _nothing(step: str, path: Path_, known: list[str]) -> str:
    inside = f" in {'.'.join(map(str, path))}" if path else ""
    return f"nothing is called {step!r}{inside}{did_you_mean(step, known)}"
