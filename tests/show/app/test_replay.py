"""The replay of a run, against the floor of the same records: at any minute both say the same."""

from __future__ import annotations

import json
import random
from bisect import bisect_left, bisect_right
from collections import Counter
from datetime import datetime, timedelta
from math import ceil
from pathlib import Path
from typing import Any

import pytest

from linesim.line.floor import run_once
from linesim.line.sheet import Sheet
from linesim.measures.moment import Floor, floor_of
from linesim.scenario.reading import read_scenario
from linesim.show.app.replay.strip import LIKE, STEP_HOURS
from linesim.show.app.replay.telling import WIDTHS, document_of
from linesim.show.floor_layout import layout
from linesim.show.floor_words import marks

SCENARIOS = Path(__file__).parents[3] / "scenarios"
PLANTS = ("birchwater", "birchwater-pulse", "textbook-feedback", "tiny")


class Reader:
    """Reads the document as the page does: the last change of each part at or before a minute."""

    def __init__(self, floor: Floor) -> None:
        self.floor = floor
        self.told: dict[str, Any] = json.loads(json.dumps(document_of(floor)))
        self.frames = [(frame.place, frame.parked) for frame in layout(floor.sheet, WIDTHS[0]).frames]
        columns, minute = self.told["changes"], 0
        self.of_part: list[list[tuple[int, int, int]]] = [[] for _ in self.told["parts"]]
        for passed, part, stay, said in zip(*(columns[name] for name in ("passed", "part", "stay", "said")),
                                            strict=True):
            minute += passed
            self.of_part[part].append((minute, stay, said))

    def at(self, minute: int) -> list[tuple[Any, ...]]:
        """Serial, half, place, parked, spot, state, wordings and the sentence up to how long it is here."""
        told, found = self.told, []
        for (serial, half), changes in zip(told["parts"], self.of_part, strict=True):
            n = bisect_right(changes, (minute, 1 << 40, 0)) - 1
            if n < 0 or changes[n][1] < 0:
                continue
            frame, spot, since, allowed, where = told["stays"][changes[n][1]]
            state, wording, why = told["said"][changes[n][2]]
            name = told["serials"][serial]
            text = f"{name}{' ' + half if half else ''} {told['wheres'][where]}{told['whys'][why]}. "
            found.append((name, half, *self.frames[frame], spot, told["states"][state],
                          tuple(told["wordings"][wording]), text, since, allowed))
        return sorted(found, key=lambda one: (one[2], not one[3], one[4]))


@pytest.fixture(scope="module", params=PLANTS)
def reader(request: pytest.FixtureRequest) -> Reader:
    """Run 1 of a plant."""
    sheet = Sheet(read_scenario(SCENARIOS / f"{request.param}.yaml"))
    return Reader(floor_of(sheet, run_once(sheet, sheet.scenario.seed, 1)))


def minutes_of(reader: Reader, number: int) -> list[int]:
    """Minutes anywhere in the replay, and those of changes, on, before and after."""
    chance = random.Random(20270104)
    changes = [minute for of in reader.of_part for minute, _, _ in of]
    some = [minute + by for minute in chance.sample(changes, min(number, len(changes))) for by in (-1, 0, 1)]
    some += [chance.randrange(reader.told["until"]) for _ in range(number)] + [0, reader.told["until"]]
    return sorted({minute for minute in some if 0 <= minute <= reader.told["until"]})


def test_at_any_minute_it_is_the_floor_of_the_records(reader: Reader) -> None:
    """Who, where, in which dock, in which state, and in the same words; since when, and what the takt allows."""
    floor = reader.floor
    for minute in minutes_of(reader, 70):
        standing = floor.at(float(minute))
        wanted = [(one.serial, one.half, one.place, one.parked, one.spot, mark.family, mark.reasons,
                   mark.sentence[:mark.sentence.rindex("Here since")], one.since,
                   None if one.over_takt is None else pytest.approx(one.work_days - one.over_takt, abs=1e-9))
                  for one, mark in zip(standing, marks(floor.sheet, standing), strict=True)]
        assert reader.at(minute) == wanted, minute


def test_every_aircraft_stands_in_one_place_of_its_own_or_none(reader: Reader) -> None:
    """No part is told twice; no dock or spot holds two; none is told that is not drawn."""
    told = reader.told
    assert len({tuple(part) for part in told["parts"]}) == len(told["parts"])
    for minute in minutes_of(reader, 60):
        here = reader.at(minute)
        assert len({one[2:5] for one in here}) == len(here)
        whole = {one[0] for one in here if not one[1]}
        assert not whole & {one[0] for one in here if one[1]}
    for drawn in told["layouts"]:
        for frame, spot, *_ in told["stays"]:
            assert len(drawn["spots"][frame][spot]) == 3


def test_nothing_is_lost(reader: Reader) -> None:
    """From its launch (or the start) to its end an aircraft is on the floor, and at no other minute."""
    floor, records = reader.floor, reader.floor.records
    spans = {records.serials[n]: floor.ledger.span(n) for n in floor.ledger.aircraft()}
    for minute in minutes_of(reader, 60):
        there = {serial for serial, (begin, end) in spans.items() if begin <= minute < end}
        assert {one[0] for one in reader.at(minute)} == there
    ended = {name: {records.serials[serial] for _, serial, how in reader.told["delivered"] if how == name}
             for name in ("delivered", "finished stock")}
    until = reader.told["until"]
    assert ended["delivered"] == {records.serials[n] for n, t in records.delivered.items() if ceil(t) <= until}
    assert ended["finished stock"] == {records.serials[n] for n, t in records.stock_ready.items() if ceil(t) <= until}


def test_each_column_of_the_strip_counts_what_stands_then(reader: Reader) -> None:
    """By state, at steps anywhere in the run."""
    steps = reader.told["steps"]
    assert steps == sorted(set(steps))
    for n in {*random.Random(1).sample(range(len(steps)), 50), 0, len(steps) - 1}:
        counted = Counter(one[5] for one in reader.at(steps[n]))
        assert {like: of[n] for like, of in zip(LIKE, reader.told["counts"], strict=True)} == {
            like: counted[like] for like in LIKE}


def test_steps_are_even_hours_in_which_somebody_works(reader: Reader) -> None:
    """At an even hour, or the minute after a break that holds one; every shift date has some."""
    sheet, calendar = reader.floor.sheet, reader.floor.sheet.calendar
    manned, steps = sheet.manned_clock(), reader.told["steps"]
    for step in steps:
        wall = calendar.wall(float(step))
        assert manned.is_open(float(step))
        even = calendar.of_moment(wall.replace(hour=wall.hour - wall.hour % STEP_HOURS, minute=0))
        assert not any(manned.is_open(even + gone) for gone in range(round(step - even)))
    for first, last in manned.spans():
        assert last > reader.told["until"] or bisect_left(steps, last) > bisect_left(steps, first)


def test_the_clocks_of_the_page_are_those_of_the_plant(reader: Reader) -> None:
    """Wall time by its offsets, also where summer time begins and ends; work days by its blocks."""
    told, calendar = reader.told, reader.floor.sheet.calendar
    turns = [minute for minute, _ in told["offsets"]]
    zero = datetime.fromisoformat(told["start"])
    for minute in minutes_of(reader, 40) + [turn + by for turn in turns for by in (-1, 0, 1) if turn + by >= 0]:
        ahead = told["offsets"][bisect_right(turns, minute) - 1][1]
        wall = (zero + timedelta(minutes=minute + ahead)).strftime("%Y-%m-%d %H:%M")
        assert wall == calendar.wall_text(float(minute))
        passed = sum(min(last, minute) - first for first, last in told["clock"] if first <= minute)
        assert passed == pytest.approx(calendar.reference.reading(float(minute)), abs=1e-6)


def test_the_demo_is_small_enough_to_be_sent(reader: Reader) -> None:
    """Eighteen months of a plant are under two million characters."""
    assert len(json.dumps(reader.told, separators=(",", ":"))) < 2_000_000
