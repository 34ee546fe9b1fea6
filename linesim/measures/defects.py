"""Defects of one run by the gate that found them, and those that no gate found."""

from __future__ import annotations

from collections import Counter

from ..line.gates import AVIONICS, END_OF_LINE, POSITION
from ..line.records import Records

ESCAPED, EXPECTED, HOURS = "escaped to flight test", "escapes expected", "repair hours at gates"


def defects_of(records: Records) -> dict[str, float]:
    """Numbers over the whole run; empty without planted defects. Escapes are those of aircraft that have flown."""
    if not records.found and not records.escaped:
        return {}
    by_gate = Counter(one.gate for one in records.found)
    return {**{gate: float(by_gate[gate]) for gate in (POSITION, END_OF_LINE, AVIONICS)},
            ESCAPED: float(sum(count for count, _ in records.escaped.values())),
            EXPECTED: sum(expected for _, expected in records.escaped.values()),
            HOURS: sum(one.hours for one in records.found)}
