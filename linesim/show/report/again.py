"""What is not kept of every run is read from a few runs made again: the same seed and number give the same run.

Before it is used, a run made again is held against its kept deliveries; where they differ (another version of the
floor) the sections that need it are left out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

import pandas as pd

from ...line.records import Records
from ...line.runs import run_chunk
from ...line.sheet import Sheet
from ...measures.chain_days import ChainDays, chain_days
from ...measures.moment import Floor, Jam, Standing, first_jam, floor_of
from ...measures.run import window_instants
from ...measures.window import window_of

CHAINS_OF = 5  # runs


@dataclass(frozen=True, slots=True)
class Moment:
    """The floor at an instant of a run."""

    name: str
    at: float
    standing: list[Standing]


@dataclass(frozen=True, slots=True)
class OneRun:
    """Three moments of one run."""

    run: int
    jam: Jam | None
    moments: list[Moment]


@dataclass(frozen=True, slots=True)
class Read:
    """What is read of a run made again."""

    delivered: dict[str, str]
    chain: ChainDays
    floor: OneRun | None


def made_again(sheet: Sheet, seed: int, tables: Mapping[str, pd.DataFrame]) -> tuple[list[ChainDays], OneRun | None]:
    """Chains of the first runs, and the floor of the middle one of them by deliveries; nothing where they differ."""
    numbers = tables["runs"]["run"].tolist()[:CHAINS_OF]
    middle = middle_run(sheet, tables, numbers)
    kept = {number: dict(zip(of["serial"], of["delivered"].dt.strftime("%Y-%m-%d %H:%M"), strict=True))
            for number, of in tables["deliveries"].groupby("run")}
    found = run_chunk(sheet, seed, numbers, partial(_read, middle=middle))
    same = all(kept.get(number, {}) == one.delivered for number, one in zip(numbers, found, strict=True))
    if not same:
        return [], None
    return [one.chain for one in found], next((one.floor for one in found if one.floor), None)


def middle_run(sheet: Sheet, tables: Mapping[str, pd.DataFrame], numbers: list[int]) -> int:
    """The run that has as many below as above it by deliveries in the window; of equals the first."""
    first, last = window_of(sheet.scenario)
    days = tables["deliveries"]["delivered"].dt.date
    inside = tables["deliveries"][(days >= first) & (days <= last)].groupby("run").size()
    return sorted(numbers, key=lambda number: (inside.get(number, 0), number))[(len(numbers) - 1) // 2]


def _read(sheet: Sheet, records: Records, middle: int) -> Read:
    begin, end = window_instants(sheet)
    wall = sheet.calendar.wall_text
    delivered = {records.serials[n]: wall(t) for n, t in records.delivered.items()}
    floor = _moments(floor_of(sheet, records), begin, end) if records.replication == middle else None
    return Read(delivered, chain_days(sheet, records, begin, end), floor)


def _moments(floor: Floor, begin: float, end: float) -> OneRun:
    """Early in the first shift, at the first jam, early in the last shift of the window: in working time."""
    calendar = floor.sheet.calendar
    until = min(end, floor.records.ended)
    spans = [span for span in calendar.reference.spans() if begin <= span[0] and span[1] <= until]
    jam = first_jam(floor)
    wanted = [("The first shift", spans[0][0])] if spans else []
    wanted += [("The first jam", jam.at)] if jam is not None and jam.at < end else []
    wanted += [("The last shift of the window", spans[-1][0])] if spans else []
    wanted = [(name, at if name == "The first jam" else calendar.reference.finish(at, calendar.work_day / 4))
              for name, at in wanted]
    return OneRun(floor.records.replication, jam, [Moment(name, at, floor.at(at)) for name, at in wanted])
