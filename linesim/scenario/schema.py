"""The scenario language as a JSON Schema (draft 2020-12): what an editor completes and marks while a file is written.

Made from the declarations; the reader decides. What ties parts of a file together (names, dates in order) is said by
`linesim check` alone. A file that extends another says only what differs, so what must be given is asked for only of a
file that stands alone, and of the entries of lists, which take the place of the other file's lists as a whole.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Literal, get_args, get_origin

from pydantic.fields import FieldInfo

from .declared import WEEKDAYS, Declared, fields_of
from .scenario import Scenario
from .spread import FORMS, Spread
from .tables import table_fields
from .units import allowed, declared_in, default_of, limits_in, opened, readers_in, unit_of

DRAFT = "https://json-schema.org/draft/2020-12/schema"
Schema = dict[str, Any]

_DATE: Schema = {"type": "string", "format": "date",
                 "pattern": r"^(19|2[01])\d\d-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$"}
_CLOCK = r"([0-3]?\d|4[0-7]):[0-5]\d"
_DAY_CLOCK = r"([01]\d|2[0-3]):[0-5]\d"
_NUMBER: Schema = {"type": "number", "minimum": 0}
_NAME: Schema = {"type": "string", "minLength": 1, "maxLength": 200}
# forms of values by the function that reads them
_WORDS: dict[str, Schema] = {
    "_day": _DATE,
    "_moment": {"type": "string", "pattern": f"{_DATE['pattern'][:-1]}[ T]{_DAY_CLOCK}$"},
    "_clock_time": {"type": "string", "pattern": f"^{_CLOCK}$"},
    "_clock_span": {"type": "string", "pattern": rf"^\s*{_CLOCK}\s*-\s*{_CLOCK}\s*$"},
    "_weekday": {"enum": list(WEEKDAYS)},
}
_ALSO: dict[str, Schema] = {
    "_roster": {"type": "integer", "minimum": 0, "maximum": 10_000},
    "_orders": {"const": "unlimited"},
    "_places": _NAME,
    "_closed": {"type": "array", "items": _DATE},
    "_one_or_many": _NAME,
}
_KEYS: dict[str, Schema] = {
    "_months": {"propertyNames": {"pattern": "^([1-9]|1[0-2])$"}},
    "_closed": {"propertyNames": {"pattern": _DATE["pattern"]}},
}
_PLAIN: dict[Any, Schema] = {
    str: {"type": "string"},
    int: {"type": "integer"},
    float: {"type": "number"},
    bool: {"type": "boolean"},
    Spread: {"$ref": "#/$defs/spread"},
}
_LIMITS = {"ge": "minimum", "gt": "exclusiveMinimum", "le": "maximum", "lt": "exclusiveMaximum",
           "min_length": "minLength", "max_length": "maxLength"}
EXTENDING: dict[str, Schema] = {
    "extends": {"type": "string", "minLength": 1,
                "description": "Scenario file beside this one that this one extends: it says only what differs."},
    "changes": {"type": ["object", "null"],
                "description": "Changed values by path, such as `positions.PB.docks: 2`; with a sign, `+1`, a step "
                               "from what stands there. Only beside `extends`."}}
TABLE: dict[str, Schema] = {
    "csv": {"type": "string", "minLength": 1, "description": "CSV file beside this one: one row an entry."},
    "xlsx": {"type": "string", "minLength": 1, "description": "XLSX file beside this one, read in the same way."},
    "sheet": {"type": "string", "minLength": 1, "description": "Sheet of the XLSX file; left out: the first."}}
_TABLES: list[Schema] = [
    {"type": "object", "properties": {name: TABLE[name] for name in names}, "required": [names[0]],
     "additionalProperties": False} for names in (("csv",), ("xlsx", "sheet"))]


def json_schema() -> Schema:
    """The schema of a whole file."""
    found: dict[str, Schema] = {"spread": _spread(), "whole_spread": _whole_spread()}
    top = _declaration(Scenario, found)
    for kind in _laid_over():
        (top if kind is Scenario else found[kind.__name__]).pop("required", None)
    return {"$schema": DRAFT, "title": "A scenario of a light-aircraft final assembly plant", **top,
            "properties": {**top["properties"], **EXTENDING},
            "dependentRequired": {"changes": ["extends"]},
            "if": {"required": ["extends"]}, "else": needed(Scenario, []),
            "$defs": dict(sorted(found.items()))}


def _laid_over() -> set[type[Declared]]:
    """Declarations of which a file that extends another may say a part: all that are not reached through a list."""
    found: set[type[Declared]] = set()
    ahead: list[type[Declared]] = [Scenario]
    while ahead:
        kind = ahead.pop()
        if kind not in found:
            found.add(kind)
            ahead += [inner for field in fields_of(kind).values() for inner in _not_in_lists(field.annotation)]
    return found


def _not_in_lists(annotation: Any) -> Iterator[type[Declared]]:
    if get_origin(annotation) is not tuple:
        if fields_of(annotation):
            yield annotation
        for part in get_args(annotation):
            yield from _not_in_lists(part)


def needed(annotation: Any, metadata: list[Any]) -> Schema:
    """What a value must hold in a file that stands alone, beyond the schema of a part of it; nothing for most."""
    kind, metadata, parts = opened(annotation, metadata)
    if "_months" in readers_in(metadata):
        return {"minProperties": 12}
    for part in parts:
        if found := needed(part, []):
            return found
    if kind is Spread:
        return {"$ref": "#/$defs/whole_spread"}
    if get_origin(kind) is dict:
        inner = needed(get_args(kind)[1], [])
        return {"additionalProperties": inner} if inner else {}
    fields = fields_of(kind)
    inside = {name: found for name, field in fields.items() if (found := needed(field.annotation, field.metadata))}
    required = [name for name, field in fields.items() if field.is_required()]
    return {**({"required": required} if required else {}), **({"properties": inside} if inside else {})}


def _declaration(kind: type[Declared], found: dict[str, Schema]) -> Schema:
    fields = fields_of(kind)
    return {"type": "object", "description": " ".join((kind.__doc__ or "").split()),
            "properties": {name: _field(kind, name, field, found) for name, field in fields.items()},
            "required": [name for name, field in fields.items() if field.is_required()],
            "additionalProperties": False}


def _field(kind: type[Declared], name: str, field: FieldInfo, found: dict[str, Schema]) -> Schema:
    schema = _of(field.annotation, field.metadata, found)
    if (kind, name) in table_fields():
        schema = {"anyOf": [schema, *_TABLES]}
    default = default_of(field)
    said = [field.description or "", f"Unit: {unit_of(field)}.", f"Allowed: {allowed(field)}.",
            f"{default.capitalize()}." if default in ("must be given", "left out") else f"Default: {default}."]
    said = said[:3] if default == "left out" else said
    return {"description": " ".join(said).replace("*", ""), **schema, **_default(field)}


def _default(field: FieldInfo) -> Schema:
    value = None if field.is_required() else field.get_default(call_default_factory=True)
    if isinstance(value, Spread):
        value = value.as_declared()
    return {"default": value} if isinstance(value, str | int | float | bool) and value != "" else {}


def _of(annotation: Any, metadata: list[Any], found: dict[str, Schema]) -> Schema:
    """The schema of a declared kind with its limits; nothing (null) where a field may be left out by it."""
    kind, inner_metadata, parts = opened(annotation, metadata)
    readers = readers_in(inner_metadata)
    said = next((_WORDS[reader] for reader in readers if reader in _WORDS), None)
    schema = dict(said) if said else {**_plain(kind, parts, found), **_limits(inner_metadata, kind)}
    more = [_ALSO[reader] for reader in readers if reader in _ALSO]
    for reader in readers:
        schema |= _KEYS.get(reader, {})
    if type(None) in get_args(annotation) and "_orders" not in readers:
        more.append({"type": "null"})
    return {"anyOf": [schema, *more]} if more else schema


def _limits(metadata: list[Any], kind: Any) -> Schema:
    return {_LIMITS[name].replace("Length", "Items" if get_origin(kind) is tuple else "Length"): value
            for name, value in limits_in(metadata).items()}


def _plain(kind: Any, parts: list[Any], found: dict[str, Schema]) -> Schema:
    if parts:
        return {"anyOf": [_of(part, [], found) for part in parts]}
    if get_origin(kind) is Literal:
        return {"enum": list(get_args(kind))}
    if get_origin(kind) is tuple:
        item = get_args(kind)[0]
        return {"type": "array", "items": {**_of(item, [], found), **(needed(item, []) if fields_of(item) else {})}}
    if get_origin(kind) is dict:
        return {"type": "object", "additionalProperties": _of(get_args(kind)[1], [], found)}
    if fields_of(kind):
        if kind.__name__ not in found:
            found[kind.__name__] = {}  # a declaration may hold its own kind
            found[kind.__name__] = _declaration(kind, found)
        return {"$ref": f"#/$defs/{kind.__name__}"}
    return dict(_PLAIN.get(kind, {}))


def _spread() -> Schema:
    """All forms of a spread: one number, or one kind with its parameters; of a part of one, some of them."""
    forms: list[Schema] = [_NUMBER]
    for kind, what in FORMS.items():
        names = what.strip("{}").split(", ") if what.startswith("{") else []
        parameters = {name: {"type": "integer", "minimum": 1} if name == "k" else _NUMBER for name in names}
        inner: Schema = {"type": "object", "properties": parameters, "additionalProperties": False}
        if not names:
            inner = _NUMBER
        if kind == "column":
            inner = {"type": "array", "items": _NUMBER, "minItems": 1}
        forms.append({"type": "object", "properties": {kind: inner}, "additionalProperties": False})
    return {"description": "A number, or a spread: " + ", ".join(f"{kind} {what}" for kind, what in FORMS.items()),
            "anyOf": forms}


def _whole_spread() -> Schema:
    """What a spread must hold, unless it is laid over that of another file."""
    kinds = {kind: {"required": what.strip("{}").split(", ")} for kind, what in FORMS.items() if what.startswith("{")}
    return {"minProperties": 1, "properties": kinds}


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
                inside += list(declared_in(field.annotation))
            ahead = inside + ahead
