"""What a list of checks is made of: a name, the function that carries them out, and values from outside with their
sources (`values.json`)."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import Any

from .check import Check


@dataclass(frozen=True, slots=True)
class Proof:
    """Checks that need the same runs. Slow ones are left out unless they are asked for."""

    name: str
    checks: Callable[[], Iterable[Check]]
    slow: bool = False


@dataclass(frozen=True, slots=True)
class Outside:
    """A value from outside with its source; `rounding` is half a unit of its last printed digit."""

    number: float
    source: str
    rounding: float


@lru_cache(maxsize=1)
def _values() -> dict[str, Any]:
    found: dict[str, Any] = json.loads(files(__package__ or "").joinpath("values.json").read_text(encoding="utf-8"))
    return found


def value(name: str) -> Outside:
    """One printed value."""
    of = _values()["printed"][name]
    text = str(of["value"])
    digits = len(text.partition(".")[2])
    return Outside(float(text), of["source"], 0.5 * 10.0**-digits)


def table(name: str) -> tuple[dict[str, Any], str]:
    """A table of values with its source."""
    of = _values()["tables"][name]
    return of["values"], of["source"]
