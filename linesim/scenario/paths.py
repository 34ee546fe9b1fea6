"""The small language of changes: a dotted path names a place of a scenario, a value is put there.

A path goes by fields and by the id, serial, name or item of a list entry: `positions.PB.docks`. Its last field may be
new, and so may a section on the way whose fields are declared. On a number, the texts "+1" and "-0.5" are steps from
what stands there; in a field that may be negative, such as a longitude, they are the value itself.
"""

from __future__ import annotations

from copy import copy
from decimal import Decimal
from typing import Any, get_args, get_origin

from .declared import Declared, fields_of, kind_at
from .faults import MOST_SHOWN, did_you_mean
from .scenario import Scenario
from .spread import Spread
from .tree import STEP, Path_, number_in, value_at

NAMES = ("id", "serial", "name", "item")


def path_of(values: Any, place: str) -> Path_:
    """Keys and list places of a dotted path; its last field may be new. Raises LookupError saying what is there."""
    path: Path_ = ()
    steps = place.split(".")
    while steps:
        inside = ".".join(place.split(".")[:-len(steps)])
        if values is None and _holds_fields(path):
            values = {}  # a declared section that the file leaves out
        if isinstance(values, dict):
            step, steps = _key(values, steps, path)
            declared = fields_of(kind_at(Scenario, path))
            if step not in values and not _may_be_new(path, step, last=not steps):
                raise LookupError(_nothing(step, inside, [*map(str, values), *declared]) if step not in declared else
                                  f"{inside}.{step} is a single value; it has no {steps[0]!r}".lstrip("."))
            path, values = (*path, step), values.get(step)
        elif isinstance(values, list):
            number, steps = _entry(values, steps)
            if number is None:
                raise LookupError(_nothing(steps[0], inside, [name for entry in values for name in _names(entry)]))
            path, values = (*path, number), values[number]
        else:
            raise LookupError(f"{inside} is a single value; it has no {steps[0]!r}")
    return path


def _key(values: dict[Any, Any], steps: list[str], path: Path_) -> tuple[str, list[str]]:
    """The longest run of steps that is a key, for keys that hold a dot; else the first step."""
    if path[:1] == ("comparisons",) and path[2:] == ("changes",):
        return ".".join(steps), []  # the keys are paths themselves
    found = next((n for n in range(len(steps), 1, -1) if ".".join(steps[:n]) in values), 1)
    return ".".join(steps[:found]), steps[found:]


def _entry(values: list[Any], steps: list[str]) -> tuple[int | None, list[str]]:
    """The list entry that the longest run of steps names; names such as `4.0 from May` hold a dot."""
    for n in range(len(steps), 0, -1):
        name = ".".join(steps[:n])
        numbers = [k for k, entry in enumerate(values) if name in _names(entry)]
        if len(numbers) > 1:
            raise LookupError(f"{len(numbers)} entries are called {name[:80]!r}: a path cannot tell them apart")
        if numbers:
            return numbers[0], steps[n:]
    return None, steps


def _names(entry: Any) -> list[str]:
    return [str(entry[key]) for key in NAMES if isinstance(entry, dict) and key in entry][:1]


def _may_be_new(path: Path_, step: str, last: bool) -> bool:
    """The last field may be one that the file leaves out, and so may a declared section on the way."""
    declared = fields_of(kind_at(Scenario, path))
    return step in declared and (last or _holds_fields((*path, step))) if declared else last


def _holds_fields(path: Path_) -> bool:
    kind = kind_at(Scenario, path)
    return bool(fields_of(kind)) or get_origin(kind) is dict


def _nothing(step: str, inside: str, known: list[str]) -> str:
    there = ", ".join(list(dict.fromkeys(known))[:MOST_SHOWN])
    near = did_you_mean(step, known) or f"; there is {there or 'nothing'}"
    return f"nothing is called {step[:80]!r}{f' in {inside}' if inside else ''}{near}"


def put(values: Any, path: Path_, value: Any) -> None:
    """Put a value in its place; sections that are missing on the way are made."""
    for step in path[:-1]:
        if isinstance(values, dict) and values.get(step) is None:
            values[step] = {}
        values = values[step]
    values[path[-1]] = value


def put_apart(values: Any, path: Path_, value: Any) -> None:
    """As `put`; what lies on the way is copied first, for others may hold it, too."""
    for step in path[:-1]:
        if isinstance(values, dict) and values.get(step) is None:
            values[step] = {}
        else:
            values[step] = copy(values[step])
        values = values[step]
    values[path[-1]] = value


def stepped(values: Any, path: Path_, value: Any) -> Any:
    """The value that a change puts at a path: a step from what stands there, or the value as given.

    Raises ValueError where a step is asked for and no number stands there.
    """
    if not (isinstance(value, str) and STEP.fullmatch(value)):
        return value
    before = value_at(path, values)
    if before is None:
        before = _left_out(values, path)
    if _may_be_negative(path):
        return number_in(value)
    if isinstance(before, bool) or not isinstance(before, int | float):
        raise ValueError(f"a step of {value} needs a number that it starts from, found "
                         f"{'nothing' if before is None else 'another kind of value'}")
    after = Decimal(str(before)) + Decimal(value)
    return int(after) if isinstance(before, int) and after == after.to_integral_value() else float(after)


def _left_out(values: Any, path: Path_) -> Any:
    """What a field says that the file leaves out."""
    field = fields_of(kind_at(Scenario, path[:-1])).get(str(path[-1]))
    found = field.get_default(call_default_factory=True) if field and not field.is_required() else None
    return plain(found)


def _may_be_negative(path: Path_) -> bool:
    """Whether the declaration of a field, or of the values of its mapping, sets no limit at or above 0."""
    for n in (len(path) - 1, len(path) - 2):
        field = fields_of(kind_at(Scenario, path[:n])).get(str(path[n])) if n >= 0 else None
        if field:
            limits = [limit for limit in (*field.metadata, *_limits(field.annotation))
                      if isinstance(getattr(limit, "ge", getattr(limit, "gt", None)), int | float)]
            return bool(limits) and all(getattr(limit, "ge", getattr(limit, "gt", 0)) < 0 for limit in limits)
    return False


def _limits(annotation: Any) -> list[Any]:
    found: list[Any] = []
    for part in (*get_args(annotation), *getattr(annotation, "__metadata__", ())):
        found += [*getattr(part, "metadata", ()), part, *_limits(part)]
    return found


def plain(value: Any) -> Any:
    """A scenario, or a part of one, as the values of a file that would say the same."""
    if isinstance(value, Declared):
        return {field.alias or name: plain_field(value, name) for name, field in type(value).model_fields.items()
                if name in value.model_fields_set}
    if isinstance(value, dict):
        return plain(value[""]) if set(value) == {""} else {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    return value.as_declared() if isinstance(value, Spread) else value


def plain_field(value: Declared, name: str) -> Any:
    """A field of a declaration as a file would say it."""
    found = getattr(value, name)
    return "unlimited" if found is None and isinstance(value, Scenario) and name == "orders" else plain(found)
