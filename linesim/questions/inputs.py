"""What a scenario says, as a flat list: each value that its file gives, under the path by which it can be changed.

Long lists (orders, packages and the like) are counted, not listed: the scenario as run has them whole.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from ..scenario.declared import Declared
from ..scenario.paths import NAMES
from ..scenario.scenario import Scenario
from ..scenario.spread import Spread

COUNTED = ("orders", "packages", "on_the_line", "comparisons", "plans", "known", "fleet_holds", "closed")
ELSEWHERE = ("name", "about", "assumed", "invented", "language")  # said where the scenario itself is described
KEYS = ("id", "serial", "item")  # stand in the path

Value = str | int | float | date | None


@dataclass(frozen=True, slots=True)
class Input:
    """One value of a scenario file: its path, as `linesim change` takes it, its unit and what it means."""

    path: str
    value: Value
    unit: str
    meaning: str


def inputs_of(scenario: Scenario) -> list[Input]:
    """Every value that the file gives, in the order of the language."""
    return [one for one in _fields(scenario, ()) if one.path not in ELSEWHERE]


def _fields(declared: Declared, path: tuple[str, ...]) -> Iterator[Input]:
    for name, field in type(declared).model_fields.items():
        if name in declared.model_fields_set and name not in KEYS:
            extra = field.json_schema_extra
            unit = str(extra.get("unit", "")) if isinstance(extra, dict) else ""
            yield from _values(getattr(declared, name), (*path, field.alias or name), unit, field.description or "")


def _values(value: Any, path: tuple[str, ...], unit: str, meaning: str) -> Iterator[Input]:
    place = ".".join(path)
    if path[-1] in COUNTED and isinstance(value, tuple | dict):
        yield Input(place, len(value), "entries", meaning)
    elif path[-1] in COUNTED:  # orders without an end, and the facts that stand for draws
        yield Input(place, "unlimited" if value is None else "given", "", meaning)
    elif isinstance(value, Declared):
        yield from _fields(value, path)
    elif isinstance(value, dict) and value:
        for key, item in value.items():
            yield from _values(item, path if key == "" else (*path, str(key)), unit, meaning)
    elif isinstance(value, tuple) and value and isinstance(value[0], Declared):
        for n, item in enumerate(value):
            name = next((str(getattr(item, key)) for key in NAMES if getattr(item, key, "")), str(n + 1))
            yield from _fields(item, (*path, name))
    else:
        yield Input(place, _single(value), unit, meaning)


def _single(value: Any) -> Value:
    if isinstance(value, Spread):
        value = value.as_declared()
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.isoformat(" ", "minutes")
    if value is None or isinstance(value, str | int | float | date):
        return value
    if isinstance(value, tuple | list):
        return ", ".join(str(_single(item)) for item in value) or "none"
    if isinstance(value, dict):
        return ", ".join(f"{key}: {_single(item)}" for key, item in value.items()) or "none"
    return str(value)
