"""The actual hours of a package: standard x model x scheme x learning x spread draw."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable

from .risks import Learning


def natural_key(serial: str) -> list[tuple[int, int, str]]:
    """Serial order: numbers inside names count as numbers."""
    return [(0, int(part), "") if part.isdigit() else (1, 0, part) for part in re.split(r"(\d+)", serial) if part]


def next_serial(serial: str) -> str:
    """The serial after this one: its last number goes up by one, its width kept."""
    found = re.search(r"^(.*?)(\d+)(\D*)$", serial)
    if not found:
        return f"{serial}-2"
    head, number, tail = found.groups()
    return f"{head}{int(number) + 1:0{len(number)}d}{tail}"


def learning_factor(learning: Learning, unit: float, base_unit: float) -> float:
    """Hours of a unit number against the unit at which hours are stated, not under the floor.

    Crawford (unit curve): (unit/base)^log2(slope). Wright (cumulative average; J. Aero. Sci. 3, 1936, from memory):
    the unit's own hours n^(b+1) - (n-1)^(b+1), divided by the same at the base.
    """
    b = math.log2(learning.slope)
    if learning.curve == "Crawford":
        factor = (unit / base_unit) ** b
    else:
        factor = _wright(unit, b) / _wright(base_unit, b)
    return max(learning.floor, factor)


def _wright(unit: float, b: float) -> float:
    return unit ** (b + 1) - (unit - 1) ** (b + 1)


def effective_unit(unit: int, base_unit: float, changes: Iterable[tuple[int, float]]) -> float:
    """Unit number that learning uses after configuration changes: (unit of the change, share reset) in order.

    From the change on it is base + (1 - share) x (unit - base) at the change, then +1 per aircraft.
    """
    shift = 0.0
    for change, share in changes:
        if unit >= change:
            at_change = change - shift
            shift = change - (base_unit + (1 - share) * (at_change - base_unit))
    return unit - shift
