"""What every declaration of a scenario has in common: it is frozen, takes no unknown field, and says its unit.

A declared field carries its unit and its meaning on the line where it is declared; the reference page and the
editor's completion are made from the same line.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date, datetime
from functools import cache
from types import NoneType, UnionType
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field
from pydantic.config import JsonDict
from pydantic.fields import FieldInfo

SINGLE = (str, int, float, date, NoneType)  # what has no parts

# The upper limits lie far beyond any plant: they catch a slip of the pen before it fills the memory.
Whole = Annotated[int, Field(strict=True, ge=0, le=10**15)]
AtLeastOne = Annotated[int, Field(strict=True, ge=1, le=10**6)]
Units = Annotated[int, Field(strict=True, ge=0, le=1_000_000)]
Count = Annotated[int, Field(strict=True, ge=0, le=10_000)]
Number = Annotated[int, Field(strict=True, ge=1, le=10_000)]  # a count of at least one
Minutes = Annotated[int, Field(strict=True, ge=0, le=1440)]
Amount = Annotated[float, Field(strict=True, ge=0, le=1e12)]
Hours = Annotated[float, Field(strict=True, ge=0, le=100_000)]
Days = Annotated[float, Field(strict=True, ge=0, le=10_000)]
WeekHours = Annotated[float, Field(strict=True, ge=0, le=168)]
Bearing = Annotated[float, Field(strict=True, ge=0, lt=360)]
Factor = Annotated[float, Field(strict=True, ge=0, le=1000)]
Above0 = Annotated[float, Field(strict=True, gt=0, le=10_000)]
Share = Annotated[float, Field(strict=True, ge=0, le=1)]
ShareAbove0 = Annotated[float, Field(strict=True, gt=0, le=1)]
YesNo = Annotated[bool, Field(strict=True)]
Name = Annotated[str, Field(strict=True, min_length=1, max_length=200)]

FIRST_YEAR, LAST_YEAR = 1900, 2199
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


class Declared(BaseModel):
    """Base of all declarations: frozen, no unknown fields, no infinities."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, populate_by_name=True,
                              arbitrary_types_allowed=True)


def says(default: Any = ..., text: str = "", *, unit: str = "", names: str = "", **kw: Any) -> Any:
    """A field with its meaning and unit; `...` as default means that it must be given.

    `names` says what kind of thing the field calls by name (of a mapping: by its keys); "position/out" allows the
    word `out` beside the positions.
    """
    extra: JsonDict | None = {key: said for key, said in (("unit", unit), ("names", names)) if said} or None
    if callable(default) and default is not ...:
        return Field(default_factory=default, description=text, json_schema_extra=extra, **kw)
    return Field(default, description=text, json_schema_extra=extra, **kw)


def fields_of(kind: Any) -> dict[str, FieldInfo]:
    """Fields of a declaration by the names that a file uses; none where the kind is no declaration."""
    if not (isinstance(kind, type) and issubclass(kind, Declared)):
        return {}
    return {field.alias or name: field for name, field in kind.model_fields.items()}


def kind_of(annotation: Any) -> Any:
    """A declared kind without its limits; of alternatives the one that has parts."""
    if get_origin(annotation) is Annotated:
        return kind_of(get_args(annotation)[0])
    if get_origin(annotation) in (Union, UnionType):
        kinds = [kind_of(part) for part in get_args(annotation) if part is not NoneType]
        return next((kind for kind in kinds if get_origin(kind) in (dict, tuple) or fields_of(kind)), kinds[0])
    return annotation


def kind_at(top: type[Declared], path: tuple[Any, ...]) -> Any:
    """The declared kind of value at a place of the file; None where nothing is declared."""
    here: Any = top
    for step in path:
        if fields_of(here):
            field = fields_of(here).get(str(step))
            here = kind_of(field.annotation) if field else None
        else:
            inner = [part for part in get_args(here) if part is not Ellipsis]
            here = kind_of(inner[-1]) if inner else None
    return here


def parts_of(top: Declared) -> list[tuple[tuple[Any, ...], Any, str]]:
    """Place, value and named kind of every field of a declaration and of those inside it."""
    found: list[tuple[tuple[Any, ...], Any, str]] = []
    _add_parts(top, (), found)
    return found


def _add_parts(here: Any, path: tuple[Any, ...], found: list[tuple[tuple[Any, ...], Any, str]]) -> None:
    if isinstance(here, SINGLE):  # asked first: whether something is a declaration takes pydantic long to say
        return
    if isinstance(here, Declared):
        for name, said, kind in _fields_and_kinds(type(here)):
            value, at = getattr(here, name), (*path, said)
            found.append((at, value, kind))
            _add_parts(value, at, found)
    elif isinstance(here, dict | tuple):
        for key, item in here.items() if isinstance(here, dict) else enumerate(here):
            if not isinstance(item, (*SINGLE, tuple, dict)):
                _add_parts(item, (*path, key), found)


@cache
def _fields_and_kinds(declaration: type[Declared]) -> list[tuple[str, str, str]]:
    """Of each field its name here, its name in the file, and what it names."""
    found = []
    for name, field in declaration.model_fields.items():
        extra = field.json_schema_extra
        found.append((name, field.alias or name, str(extra.get("names", "")) if isinstance(extra, dict) else ""))
    return found


def names_used(top: Declared) -> Iterator[tuple[tuple[Any, ...], str, str]]:
    """Place, kind and name of everything that a declaration calls by a name declared elsewhere."""
    for path, value, kind in parts_of(top):
        if kind and value is not None:
            for used in (value,) if isinstance(value, str) else value:
                yield ((*path, used) if isinstance(value, dict) else path), kind, used


def _weekday(value: Any) -> Any:
    if value not in WEEKDAYS:
        raise ValueError(f"must be one of {', '.join(WEEKDAYS)}")
    return value


def _day(value: Any) -> Any:
    if isinstance(value, datetime) or not isinstance(value, date | str):
        raise ValueError("must be a date YYYY-MM-DD")
    if isinstance(value, str):
        if not re.fullmatch(r"\d{4}-\d\d-\d\d", value):
            raise ValueError("must be a date YYYY-MM-DD")
        try:
            value = date.fromisoformat(value)
        except ValueError:
            raise ValueError("must be a date YYYY-MM-DD that exists") from None
    _year(value)
    return value


def _year(value: date) -> None:
    if not FIRST_YEAR <= value.year <= LAST_YEAR:
        raise ValueError(f"must be a date of the years {FIRST_YEAR} to {LAST_YEAR}")


def _moment(value: Any) -> Any:
    if isinstance(value, datetime):
        return value
    if not isinstance(value, str) or not re.fullmatch(r"\d{4}-\d\d-\d\d[ T]\d\d:\d\d", value):
        raise ValueError("must be a date and a clock time, YYYY-MM-DD HH:MM")
    try:
        moment = datetime.fromisoformat(value.replace(" ", "T"))
    except ValueError:
        raise ValueError("must be a date and a clock time that exist, YYYY-MM-DD HH:MM") from None
    _year(moment)
    return moment


def clock_minutes(text: Any) -> int:
    """Minutes after midnight of a clock time "HH:MM"; 24:00 and later belong to the next calendar day."""
    found = re.fullmatch(r"(\d\d?):(\d\d)", text) if isinstance(text, str) else None
    if not found or int(found[2]) > 59 or int(found[1]) > 47:
        raise ValueError("must be a clock time HH:MM in quotes")
    return int(found[1]) * 60 + int(found[2])


def _clock_time(value: Any) -> Any:
    clock_minutes(value)
    return value


def _clock_span(value: Any) -> Any:
    parts = value.split("-") if isinstance(value, str) else []
    if len(parts) != 2:
        raise ValueError('must be two clock times, "HH:MM-HH:MM"')
    for part in parts:
        clock_minutes(part.strip())
    return value


def span_minutes(text: str) -> tuple[int, int]:
    """First and last minute of "HH:MM-HH:MM"; a second time at or before the first lies on the next day."""
    first, last = (clock_minutes(part.strip()) for part in text.split("-"))
    return first, last + (1440 if last <= first else 0)


Weekday = Annotated[str, BeforeValidator(_weekday)]
Day = Annotated[date, BeforeValidator(_day)]
Moment = Annotated[datetime, BeforeValidator(_moment)]
ClockTime = Annotated[str, BeforeValidator(_clock_time)]
ClockSpan = Annotated[str, BeforeValidator(_clock_span)]
