"""What every declaration of a scenario has in common: it is frozen, takes no unknown field, and says its unit.

A declared field carries its unit and its meaning on the line where it is declared; the reference page and the
editor's completion are made from the same line.
"""

from __future__ import annotations

import re
from datetime import date, datetime
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field
from pydantic.config import JsonDict

Whole = Annotated[int, Field(strict=True, ge=0)]
AtLeastOne = Annotated[int, Field(strict=True, ge=1)]
Amount = Annotated[float, Field(strict=True, ge=0)]
Above0 = Annotated[float, Field(strict=True, gt=0)]
Share = Annotated[float, Field(strict=True, ge=0, le=1)]
YesNo = Annotated[bool, Field(strict=True)]
Name = Annotated[str, Field(strict=True, min_length=1, max_length=200)]

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


class Declared(BaseModel):
    """Base of all declarations: frozen, no unknown fields, no infinities."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, populate_by_name=True,
                              arbitrary_types_allowed=True)


def says(default: Any = ..., text: str = "", *, unit: str = "", **kw: Any) -> Any:
    """A field with its meaning and unit; `...` as default means that it must be given."""
    extra: JsonDict | None = {"unit": unit} if unit else None
    if callable(default) and default is not ...:
        return Field(default_factory=default, description=text, json_schema_extra=extra, **kw)
    return Field(default, description=text, json_schema_extra=extra, **kw)


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
            return date.fromisoformat(value)
        except ValueError:
            raise ValueError("must be a date YYYY-MM-DD that exists") from None
    return value


def _moment(value: Any) -> Any:
    if isinstance(value, datetime):
        return value
    if not isinstance(value, str) or not re.fullmatch(r"\d{4}-\d\d-\d\d[ T]\d\d:\d\d", value):
        raise ValueError("must be a date and a clock time, YYYY-MM-DD HH:MM")
    try:
        return datetime.fromisoformat(value.replace(" ", "T"))
    except ValueError:
        raise ValueError("must be a date and a clock time that exist, YYYY-MM-DD HH:MM") from None


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
