"""Where everything stood at three moments of one run, made again: the same seed and number give the same run.

Before it is used, the run made again is held against its kept deliveries; where they differ (another version of the
floor) the section that needs it is left out.
"""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from ...line.records import Records
from ...line.runs import run_chunk
from ...line.sheet import Sheet
from ...measures.by_parts import Tables, parts_of
from ...measures.moment import Floor, Jam, Standing, first_jam, floor_of
from ...measures.run import window_instants
from ...measures.window import window_of


@dataclass(frozen=True, slots=True)
class Moment:
    """The floor at an instant of a run; `key` stands in the name of its file."""

    key: str
    name: str
    at: float
    standing: list[Standing]


@dataclass(frozen=True, slots=True)
class OneRun:
    """Three moments of one run."""

    run: int
    jam: Jam | None
    moments: list[Moment]


def made_again(sheet: Sheet, seed: int, tables: Tables) -> OneRun | None:
    """The floor in the middle run by deliveries; nothing if the run made again is another."""
    number = middle_run(sheet, tables)
    kept = pd.concat([of[of["run"] == number] for part in parts_of(tables) for of in (part["deliveries"],)])
    (delivered, found), = run_chunk(sheet, seed, [number], _read)
    same = dict(zip(kept["serial"], kept["delivered"].dt.strftime("%Y-%m-%d %H:%M"), strict=True)) == delivered
    return found if same else None


def middle_run(sheet: Sheet, tables: Tables) -> int:
    """The run that has as many below as above it by deliveries in the window; of equals the first."""
    first, last = map(pd.Timestamp, window_of(sheet.scenario))
    inside: dict[int, int] = {}
    for part in parts_of(tables):
        inside.update(dict.fromkeys(part["runs"]["run"].tolist(), 0))
        days = part["deliveries"]["delivered"].dt.normalize()
        inside.update(part["deliveries"][(days >= first) & (days <= last)].groupby("run").size().to_dict())
    middle = sorted(inside.values())[(len(inside) - 1) // 2]
    return next(number for number, count in inside.items() if count == middle)


def _read(sheet: Sheet, records: Records) -> tuple[dict[str, str], OneRun]:
    wall = sheet.calendar.wall_text
    delivered = {records.serials[n]: wall(t) for n, t in records.delivered.items()}
    return delivered, _moments(floor_of(sheet, records), *window_instants(sheet))


def _moments(floor: Floor, begin: float, end: float) -> OneRun:
    """Early in the first shift, at the first jam, early in the last shift of the window: in working time."""
    calendar = floor.sheet.calendar
    until = min(end, floor.records.ended)
    spans = [span for span in calendar.reference.spans() if begin <= span[0] and span[1] <= until]
    jam = first_jam(floor)
    quarter_day = calendar.work_day / 4
    wanted = []
    if spans:
        wanted.append(("first-shift", "The first shift", calendar.reference.finish(spans[0][0], quarter_day)))
    if jam is not None and jam.at < end:
        wanted.append(("first-jam", "The first jam", jam.at))
    if spans:
        at = calendar.reference.finish(spans[-1][0], quarter_day)
        wanted.append(("last-shift", "The last shift of the window", at))
    return OneRun(floor.records.replication, jam, [Moment(key, name, at, floor.at(at)) for key, name, at in wanted])
