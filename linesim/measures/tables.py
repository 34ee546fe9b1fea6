"""The records of one run as small arrays, to be written to the run folder."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..line.records import FIELDS, Records, Segment
from .columns import HALVES, Counts, Numbers


@dataclass(frozen=True, slots=True, eq=False)
class Words:
    """A column of few different words."""

    words: list[str]
    codes: NDArray[np.int16]

    def __len__(self) -> int:
        return len(self.codes)


Column = NDArray[np.generic] | Words


@dataclass(frozen=True, slots=True, eq=False)
class Tables:
    """Columns by name. Serials and places are numbers; times are minutes since 00:00 of the start."""

    visits: dict[str, Column]
    flights: dict[str, Column]
    launches: dict[str, Column]
    reasons: dict[str, Column]
    lost: dict[str, Column]                  # work days lost on the chain that set the date
    place_reasons: dict[str, Column] | None  # as segments: of the first runs only
    segments: dict[str, Column] | None


def tables_of(records: Records, counted: list[int], hours: Numbers, places: list[Numbers] | None,
              lost: Mapping[str, Counts | Numbers]) -> Tables:
    """All tables of one run; `hours` are those of the counted serials by rank, `places` those of docks and of parking
    by place and rank, given of the runs of which every segment is kept; `lost` as of `lost_on_the_way`."""
    serial, rank = np.nonzero(hours)
    return Tables(
        _columns([*records.visits, *records.unfinished],
                 ("serial", "half", "place", "parked", "arrived", "ready", "left")),
        _columns(records.flights, ("serial", "flight", "start", "end", "pilot", "squawks")),
        _columns(records.launches, ("serial", "planned", "launched")),
        {"serial": np.array(counted, dtype=np.int16)[serial], "reason": rank.astype(np.int8),
         "hours": hours[serial, rank]},
        {name: column.astype(_SMALL.get(name, np.float32)) for name, column in lost.items()},
        None if places is None else _by_place(np.array(places)),
        _named([records.segment_fields[n::FIELDS] for n in range(FIELDS)], Segment._fields)
        if places is not None else None)


def _by_place(hours: Numbers) -> dict[str, Column]:
    parked, place, rank = np.nonzero(hours)
    return {"place": place.astype(np.int16), "parked": parked.astype(np.bool_), "reason": rank.astype(np.int8),
            "hours": hours[parked, place, rank]}


_SMALL = {"serial": np.int16, "place": np.int16, "half": np.int8, "parked": np.bool_, "daylight": np.bool_,
          "flight": np.int16, "pilot": np.int16, "squawks": np.int16, "state": np.int8, "reason": np.int8,
          "people": np.int16}


def _columns(rows: Sequence[tuple[Any, ...]], names: tuple[str, ...]) -> dict[str, Column]:
    return _named(list(zip(*rows, strict=True)) or [()] * len(names), names)


def _named(columns: Sequence[Sequence[Any]], names: tuple[str, ...]) -> dict[str, Column]:
    return {name: _column(name, values) for name, values in zip(names, columns, strict=True)}


def _column(name: str, values: Sequence[object]) -> Column:
    if name == "half":
        values = [HALVES[str(value)] for value in values]
    if name in ("job", "trade", "shift"):
        codes: dict[object, int] = {}
        numbers = [codes.setdefault(value, len(codes)) for value in values]
        return Words([str(word) for word in codes], np.array(numbers, dtype=np.int16))
    return np.array(values, dtype=_SMALL.get(name, np.float64))


