"""A scenario file that extends another: `extends: file.yaml`, then sections of its own and `changes` by path.

Sections are laid over those of the file that is extended: fields within fields, lists and single values whole. A change
names its place by a dotted path (`paths.py`): `positions.PB.docks: 2`.
"""

from __future__ import annotations

from copy import deepcopy
from typing import Any

from .paths import path_of, put, stepped
from .tables import is_table
from .tree import Path_, Source

OWN = ("extends", "changes")


def extend(base: Source, own: Source) -> Source:
    """The values of `base` with those of `own` laid over them; faults keep the file in which they stand."""
    found = Source(own.file, deepcopy(base.values), dict(base.marks), {(): (base.file, ""), **base.files},
                   [*base.faults, *own.faults], unread=list(base.unread))
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
            value = stepped(found.values, path, value)
        except (LookupError, ValueError) as error:
            own.add(mark, str(error.args[0]))
            found.faults.append(own.faults[-1])
            continue
        put(found.values, path, deepcopy(value))
        _take_marks(found, own, path, mark)
    return found


def _lay(found: Source, own: Source, path: Path_, value: Any) -> None:
    there: Any = found.values
    for step in path[:-1]:
        there = there[step]
    before = there.get(path[-1])
    if isinstance(before, dict) and isinstance(value, dict) and not is_table(value):
        for key, inner in value.items():
            _lay(found, own, (*path, key), inner)
        return
    there[path[-1]] = deepcopy(value)
    _take_marks(found, own, path, path)


def _take_marks(found: Source, own: Source, path: Path_, mark: Path_) -> None:
    """From here on the place stands in the extending file."""
    found.marks = {old: at for old, at in found.marks.items() if old[:len(path)] != path}
    found.files = {old: file for old, file in found.files.items() if old[:len(path)] != path}
    found.unread = [old for old in found.unread if old[:len(path)] != path]
    found.files[path] = (own.file, "")
    for place, at in own.marks.items():
        if place[:len(mark)] == mark:
            found.marks[(*path, *place[len(mark):])] = at
    for place, file in own.files.items():
        if place[:len(mark)] == mark:
            found.files[(*path, *place[len(mark):])] = file
