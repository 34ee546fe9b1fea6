"""What a field of the language holds, in words: its unit, what it may be, and what it is when it is left out."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from datetime import date, datetime
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BeforeValidator
from pydantic.fields import FieldInfo

from .declared import FIRST_YEAR, LAST_YEAR, WEEKDAYS, Declared, fields_of
from .spread import Spread

LIMITS = ("ge", "gt", "le", "lt", "min_length", "max_length")
_YEARS = f"{FIRST_YEAR} to {LAST_YEAR}"
# unit, and what is allowed, of kinds that a function reads
_READ = {
    "_day": ("date", f"YYYY-MM-DD, {_YEARS}"),
    "_moment": ("date and clock time", f'"YYYY-MM-DD HH:MM", {_YEARS}'),
    "_clock_time": ("clock time", '"HH:MM", 00:00 to 47:59'),
    "_clock_span": ("clock times", '"HH:MM-HH:MM"'),
    "_weekday": ("weekdays", ", ".join(WEEKDAYS)),
}
_PLAIN = {bool: ("yes or no", "true, false"), str: ("text", "any text"), date: _READ["_day"],
          datetime: _READ["_moment"], int: ("number", ""), float: ("number", ""),
          Spread: ("number or spread", "0 or more, or a spread")}
_ANY = "that of the field that is changed"
_OWN = "its own fields"
# further forms that a function reads, after or instead of what is declared
_FORMS = {"_roster": "{}; or one number", "_orders": "{}; or `unlimited`",
          "_closed": "list of dates, or dates with their names", "_one_or_many": "one, or a {}",
          "_places": "one, or a {}", "_months": "months 1 to 12, all; {}"}


def readers_in(metadata: list[Any]) -> list[str]:
    """Names of the functions that read a kind before its limits are looked at."""
    return [item.func.__name__ for item in metadata if isinstance(item, BeforeValidator)]


def limits_in(metadata: list[Any]) -> dict[str, float]:
    """The limits of a kind by their short names; of two upper or lower limits the tighter."""
    found: dict[str, float] = {}
    for item in metadata:
        for part in (*getattr(item, "metadata", ()), item):
            for name in LIMITS:
                value = getattr(part, name, None)
                if value is not None:
                    tighter = max if name in ("ge", "gt", "min_length") else min
                    found[name] = tighter(value, found.get(name, value))
    return found


def opened(annotation: Any, metadata: list[Any]) -> tuple[Any, list[Any], list[Any]]:
    """A declared kind without its limits, the limits, and its alternatives if there are several (None is none)."""
    while get_origin(annotation) is Annotated:
        annotation, *more = get_args(annotation)
        metadata = [*more, *metadata]
    if get_origin(annotation) not in (Union, UnionType):
        return annotation, metadata, []
    parts = [part for part in get_args(annotation) if part is not NoneType]
    return opened(parts[0], metadata) if len(parts) == 1 else (annotation, metadata, parts)


# the unit -------------------------------------------------------------------------------------------------------
def unit_of(field: FieldInfo) -> str:
    """The unit of a field: as declared, else by what it holds."""
    extra = field.json_schema_extra if isinstance(field.json_schema_extra, dict) else {}
    names, said = str(extra.get("names", "")).split("/")[0], str(extra.get("unit", ""))
    kind, metadata, parts = opened(field.annotation, field.metadata)
    if not said:
        return _unit(kind, metadata, parts, names)
    if get_origin(kind) is dict:
        by_name = names or ("name" if get_args(kind)[0] is not str else "")
        by = "month" if "_months" in readers_in(metadata) else "" if "_closed" in readers_in(metadata) else by_name
        return f"{said}, by {by}" if by else said
    return f"{said}, a number or a spread" if kind is Spread else said


def _unit(kind: Any, metadata: list[Any], parts: list[Any], names: str) -> str:
    if parts:
        return ", or ".join(dict.fromkeys(_unit(*opened(part, []), names) for part in parts))
    for reader in readers_in(metadata):
        if reader in _READ:
            return _READ[reader][0]
    many = get_origin(kind) is tuple
    if names:
        one = " or ".join(f"{word}s" for word in names.split(" or ")) if many else names
        return f"names of {one}" if many else f"name of a{'n' * (names[0] in 'aeiou')} {names}"
    if get_origin(kind) is Literal:
        return "one of the words" if isinstance(get_args(kind)[0], str) else "number"
    if many or get_origin(kind) is dict:
        inner = _unit(*opened(get_args(kind)[-1 if get_origin(kind) is dict else 0], []), names)
        return {_OWN: "list of entries" if many else "entries by name", "a name": "names"}.get(inner, inner)
    if fields_of(kind):
        return _OWN
    return "a name" if kind is str and "min_length" in limits_in(metadata) else _PLAIN.get(kind, (_ANY, ""))[0]


# what is allowed ------------------------------------------------------------------------------------------------
def allowed(field: FieldInfo) -> str:
    """Words or limits of a field; kinds with fields of their own are named."""
    return _allowed(*opened(field.annotation, field.metadata))


def _allowed(kind: Any, metadata: list[Any], parts: list[Any]) -> str:
    readers = readers_in(metadata)
    said = next((_READ[reader][1] for reader in readers if reader in _READ), "") or _by_kind(kind, metadata, parts)
    for reader in readers:
        said = _FORMS.get(reader, "{}").format(said)
    return said


def _by_kind(kind: Any, metadata: list[Any], parts: list[Any]) -> str:
    if parts:
        return "; or ".join(_allowed(*opened(part, [])) for part in parts)
    if get_origin(kind) is Literal:
        return ", ".join(map(str, get_args(kind)))
    if get_origin(kind) is tuple:
        least = "list of one or more" if "min_length" in limits_in(metadata) else "list"
        return f"{least}; each {_of_each(get_args(kind)[0])}"
    if get_origin(kind) is dict:
        each = _of_each(get_args(kind)[1])
        return f"each {each}" if each != "any value" else "paths with values"
    if fields_of(kind):
        return f"the fields of *{title_of(kind.__name__)}*"
    if kind in (int, float):
        return f"{'whole number, ' if kind is int else ''}{_range(limits_in(metadata))}"
    if kind is str and "max_length" in limits_in(metadata):
        return f"1 to {limits_in(metadata)['max_length']} characters"
    return _PLAIN.get(kind, ("", "any value"))[1]


def _of_each(annotation: Any) -> str:
    kind, metadata, parts = opened(annotation, [])
    return f"{'with ' if fields_of(kind) else ''}{_allowed(kind, metadata, parts)}"


def _range(limits: dict[str, float]) -> str:
    low = next((limits[name] for name in ("ge", "gt") if name in limits), None)
    high = next((limits[name] for name in ("le", "lt") if name in limits), None)
    if low is None or high is None:
        return "any number" if low is None else f"{low:,.0f} or more"
    start = f"above {low:,.0f}, at most " if "gt" in limits else f"{low:,.0f} to "
    return f"{start}{'below ' * ('lt' in limits)}{high:,.0f}"


def declared_in(annotation: Any) -> Iterator[type[Declared]]:
    """Declarations of which a field holds one or more."""
    if fields_of(annotation):
        yield annotation
    for part in get_args(annotation):
        yield from declared_in(part)


def title_of(name: str) -> str:
    """A declaration's name in words."""
    return re.sub(r"(?<!^)(?=[A-Z])", " ", name).capitalize()


# values ---------------------------------------------------------------------------------------------------------
def default_of(field: FieldInfo) -> str:
    """What a field is when it is left out."""
    if field.is_required():
        return "must be given"
    value = field.get_default(call_default_factory=True)
    if value is None or value == "" or value == () or value == {} or isinstance(value, Declared):
        return "left out"
    return written(value.as_declared() if isinstance(value, Spread) else value)


def written(value: Any) -> str:
    """A value as one line of a file."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {written(item)}" for key, item in value.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(written, value)) + "]"
    if isinstance(value, str):
        plain = re.fullmatch(r"[A-Za-z]([\w /.-]*\w)?|\d{4}-\d\d-\d\d", value)
        return value if plain and value not in ("true", "false", "null") else json.dumps(value, ensure_ascii=False)
    if isinstance(value, datetime):
        return f'"{value:%Y-%m-%d %H:%M}"'
    if isinstance(value, float) and not isinstance(value, bool):
        return str(int(value)) if value.is_integer() and abs(value) < 10**15 else repr(value)
    return json.dumps(value) if isinstance(value, bool | int) else str(value)
