"""Values as a planner would write them in a scenario file: on one line, quoted only where they must be."""

from __future__ import annotations

import json
import math
import re
from datetime import date, datetime
from typing import Any

from .faults import ScenarioFaults
from .spread import Spread
from .tree import read_tree

_CLOCK = re.compile(r"\d\d?:\d\d(-\d\d?:\d\d)?")


def written(value: Any, quote: str = "") -> str:
    """A value in the language of the file; a text keeps the quotation mark that it had, if it can.

    Raises ValueError for a value that no file can hold.
    """
    if isinstance(value, Spread):
        return written(value.as_declared())
    if value is None or isinstance(value, bool):
        return {None: "null", True: "true", False: "false"}[value]
    if isinstance(value, int | float):
        if not math.isfinite(value):
            raise ValueError(f"{value} is no number that a file can hold")
        return _number(value)
    if isinstance(value, datetime):
        return value.strftime("%Y-%m-%d %H:%M")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key_written(key)}: {written(item)}" for key, item in value.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(written, value)) + "]"
    if isinstance(value, str):
        quote = quote or '"' * bool(_CLOCK.fullmatch(value))  # other readers of YAML take 06:00 for a number
        return _first_that_reads_back(value, quote, "{{x: {}}}", "x")
    raise ValueError(f"{type(value).__name__} is no kind of value that a file can hold")


def _number(value: int | float) -> str:
    text = repr(value)
    if read_tree(f"x: {text}", "").values != {"x": value}:
        raise ValueError(f"{text} is no number that a file can hold")
    return text


def key_written(key: Any) -> str:
    """The name of a field as it stands before its colon."""
    return _first_that_reads_back(str(key), "", "{{{}: 1}}", None)


def _first_that_reads_back(text: str, quote: str, form: str, field: str | None) -> str:
    single, double = "'" + text.replace("'", "''") + "'", json.dumps(text, ensure_ascii=False)
    ways = {"'": [single, double], '"': [double, single]}.get(quote, [text, single, double])
    for way in ways:
        try:
            found = read_tree(form.format(way), "").values
            if field is not None and read_tree(f"{field}: {way}", "").values != {field: text}:
                continue  # a lone dash is a text inside brackets only
        except ScenarioFaults:
            continue
        back = found.get(field) if field else next(iter(found))
        if isinstance(back, str) and back == text and len(found) == 1:
            return way
    raise ValueError(f"{text[:80]!r} is no text that a file can hold")
