"""The scenario language as a JSON Schema (draft 2020-12): what an editor completes and marks while a file is written.

Made from the declarations; the reader decides. What ties parts of a file together (names, dates in order) is said by
`linesim check` alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BeforeValidator
from pydantic.fields import FieldInfo

from .declared import Declared, fields_of
from .scenario import Scenario
from .spread import FORMS, Spread
from .tables import table_fields

DRAFT = "https://json-schema.org/draft/2020-12/schema"
Schema = dict[str, Any]

_DATE: Schema = {"type": "string", "format": "date", "pattern": r"^\d{4}-\d\d-\d\d$"}
_MOMENT: Schema = {"type": "string", "pattern": r"^\d{4}-\d\d-\d\d[ T]\d\d:\d\d$"}
_NUMBER: Schema = {"type": "number", "minimum": 0}
# further forms in which a value may be written, by the function that reads them
_ALSO: dict[str, list[Schema]] = {
    "_roster": [{"type": "integer", "minimum": 0}],
    "_orders": [{"const": "unlimited"}],
    "_places": [{"type": "string"}],
    "_closed": [{"type": "array", "items": _DATE}],
    "_one_or_many": [{"type": "string"}],
}
_WORDS = {
    "_day": _DATE,
    "_moment": _MOMENT,
    "_clock_time": {"type": "string", "pattern": r"^\d\d?:\d\d$"},
    "_clock_span": {"type": "string", "pattern": r"^\s*\d\d?:\d\d\s*-\s*\d\d?:\d\d\s*$"},
    "_weekday": {"enum": ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]},
}
_LIMITS = {
    "ge": "minimum",
    "gt": "exclusiveMinimum",
    "le": "maximum",
    "lt": "exclusiveMaximum",
    "min_length": "minLength",
    "max_length": "maxLength",
}
_TABLES: list[Schema] = [
    {
        "type": "object",
        "properties": {"csv": {"type": "string", "description": "CSV file beside this one"}},
        "required": ["csv"],
        "additionalProperties": False,
    },
    {
        "type": "object",
        "properties": {
            "xlsx": {"type": "string", "description": "XLSX file beside this one"},
            "sheet": {"type": "string", "description": "its sheet; left out: the first"},
        },
        "required": ["xlsx"],
        "additionalProperties": False,
    },
]


def json_schema() -> Schema:
    """The schema of a whole file."""
    found: dict[str, Schema] = {"spread": _spread()}
    top = _declaration(Scenario, found)
    required = top.pop("required")
    top["properties"] |= {
        "extends": {"type": "string", "description": "Scenario file that this one extends: it says only what differs."},
        "changes": {
            "type": "object",
            "description": "Changed values by path, such as `positions.PB.docks: 2`; `+1` is a "
            "step from what stands there.",
        },
    }
    return {
        "$schema": DRAFT,
        "title": "A scenario of a light-aircraft final assembly plant",
        **top,
        "anyOf": [{"required": required}, {"required": ["extends"]}],
        "$defs": dict(sorted(found.items())),
    }


def _declaration(kind: type[Declared], found: dict[str, Schema]) -> Schema:
    fields = fields_of(kind)
    return {
        "type": "object",
        "description": (kind.__doc__ or "").strip().splitlines()[0],
        "properties": {name: _field(kind, name, field, found) for name, field in fields.items()},
        "required": [name for name, field in fields.items() if field.is_required()],
        "additionalProperties": False,
    }


def _field(kind: type[Declared], name: str, field: FieldInfo, found: dict[str, Schema]) -> Schema:
    schema = _of(field.annotation, field.metadata, found)
    if (kind, name) in table_fields():
        schema = {"anyOf": [schema, *_TABLES]}
    extra = field.json_schema_extra if isinstance(field.json_schema_extra, dict) else {}
    unit = f" In {extra['unit']}." if extra.get("unit") else ""
    return {"description": f"{field.description or ''}{unit}".strip(), **schema, **_default(field)}


def _default(field: FieldInfo) -> Schema:
    value = None if field.is_required() else field.get_default(call_default_factory=True)
    return {"default": value} if isinstance(value, str | int | float | bool) and value != "" else {}


def _of(annotation: Any, metadata: list[Any], found: dict[str, Schema]) -> Schema:
    """The schema of a declared kind with its limits."""
    if get_origin(annotation) is Annotated:
        inner, *more = get_args(annotation)
        return _of(inner, [*more, *metadata], found)
    readers = [item.func.__name__ for item in metadata if isinstance(item, BeforeValidator)]
    for reader in readers:
        if reader in _WORDS:
            return dict(_WORDS[reader])
    schema = _plain(annotation, found)
    also = [form for reader in readers for form in _ALSO.get(reader, ())]
    if also:
        schema = {"anyOf": [schema, *also]}
    return {**schema, **_limits(metadata, schema)}


def _limits(metadata: list[Any], schema: Schema) -> Schema:
    limits: Schema = {}
    for item in metadata:
        for part in (*getattr(item, "metadata", ()), item):
            for name, word in _LIMITS.items():
                value = getattr(part, name, None)
                if value is not None:
                    limits[word if schema.get("type") != "array" else word.replace("Length", "Items")] = value
    return limits


def _plain(annotation: Any, found: dict[str, Schema]) -> Schema:
    origin, parts = get_origin(annotation), get_args(annotation)
    if origin in (Union, UnionType):
        return {"anyOf": [{"type": "null"} if part is NoneType else _of(part, [], found) for part in parts]}
    if origin is Literal:
        return {"enum": list(parts)}
    if origin is tuple:
        return {"type": "array", "items": _of(parts[0], [], found)}
    if origin is dict:
        return {"type": "object", "additionalProperties": _of(parts[1], [], found)}
    if annotation is Spread:
        return {"$ref": "#/$defs/spread"}
    if fields_of(annotation):
        name = annotation.__name__
        if name not in found:
            found[name] = {}  # a declaration may hold its own kind
            found[name] = _declaration(annotation, found)
        return {"$ref": f"#/$defs/{name}"}
    words: dict[Any, Schema] = {
        str: {"type": "string"},
        int: {"type": "integer"},
        float: {"type": "number"},
        bool: {"type": "boolean"},
        date: _DATE,
        datetime: _MOMENT,
    }
    return dict(words.get(annotation, {}))


def _spread() -> Schema:
    """All forms of a spread: one number, or one kind with its parameters."""
    forms: list[Schema] = [_NUMBER]
    for kind, what in FORMS.items():
        names = what.strip("{}").split(", ") if what.startswith("{") else []
        inner: Schema = (
            {
                "type": "object",
                "properties": dict.fromkeys(names, _NUMBER),
                "required": names,
                "additionalProperties": False,
            }
            if names
            else ({"type": "array", "items": _NUMBER, "minItems": 1} if kind == "column" else _NUMBER)
        )
        forms.append({"type": "object", "properties": {kind: inner}, "required": [kind], "additionalProperties": False})
    return {
        "description": "A number, or a spread: " + ", ".join(f"{kind} {what}" for kind, what in FORMS.items()),
        "anyOf": forms,
    }


def every_field() -> Iterator[tuple[type[Declared], str, FieldInfo]]:
    """Every field of the language once, with the declaration that it belongs to, in the order of a file."""
    seen: set[type[Declared]] = set()
    ahead: list[type[Declared]] = [Scenario]
    while ahead:
        kind = ahead.pop(0)
        if kind not in seen:
            seen.add(kind)
            inside = []
            for name, field in fields_of(kind).items():
                yield kind, name, field
                inside += list(_kinds_in(field.annotation))
            ahead = inside + ahead


def _kinds_in(annotation: Any) -> Iterator[type[Declared]]:
    if fields_of(annotation):
        yield annotation
    for part in get_args(annotation):
        yield from _kinds_in(part)
