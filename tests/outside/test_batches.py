"""Who carries a run out changes nothing: alone, in a batch, at a desk that had another scenario before, cut short."""

from __future__ import annotations

import json
from typing import Any

import pytest

from linesim.line.cluster import Cluster
from linesim.line.desk import Order, at_the_desk, run_chunk
from linesim.line.floor import run_once
from linesim.line.records import Records
from linesim.line.runs import Stop, Workers, chunks_of, run_many
from linesim.line.sheet import Sheet
from linesim.scenario.reading import parse_scenario
from linesim.scenario.scenario import Scenario

SEED = 7


def line(mean: float) -> Scenario:
    """Two places with exponential hours, for ten days."""
    places = [{"id": name, "packages": [{"id": f"{name} work", "hours": {"exponential": mean}}]} for name in "AB"]
    return parse_scenario(json.dumps({
        "name": "batch", "start": "2027-01-04", "end": "2027-01-13", "orders": "unlimited",
        "launches": {"saturated": True}, "positions": places}))


def left(_: Sheet, records: Records) -> list[float]:
    return list(records.delivered.values())


def alone(mean: float, numbers: range) -> list[list[float]]:
    sheet = Sheet(line(mean))
    return [left(sheet, run_once(sheet, SEED, n)) for n in numbers]


def test_a_batch_is_its_runs() -> None:
    """Runs differ from each other, and each is what it is alone."""
    numbers = range(12)
    found = [run for chunk in run_many(line(5), SEED, list(numbers), left) for run in chunk]
    assert found == alone(5, numbers)
    assert len({tuple(run) for run in found}) == 12
    with Workers() as workers:
        assert [run for chunk in run_many(line(5), SEED, [3, 4], left, workers) for run in chunk] == found[3:5]


def test_a_desk_takes_one_scenario_after_the_other() -> None:
    for mean in (5.0, 3.0, 3.0, 5.0):
        assert at_the_desk(Order.of(line(mean), SEED, left), [0, 2]) == alone(mean, range(0, 3, 2))


@pytest.mark.parametrize("jobs", [1, 2, 8])
def test_chunks_hold_every_run_once(jobs: int) -> None:
    for many in (0, 1, 4, 24, 25, 26, 60, 133):
        numbers = list(range(100, 100 + many))
        chunks = [list(chunk) for chunk in chunks_of(numbers, jobs)]
        assert [n for chunk in chunks for n in chunk] == numbers
        assert all(1 <= len(chunk) <= 5 for chunk in chunks)
        far = [list(chunk) for chunk in Cluster.chunks(Cluster.__new__(Cluster), numbers)]
        assert [n for chunk in far for n in chunk] == numbers
        assert all(len(chunk) >= min(25, many) for chunk in far)


def test_a_wish_to_stop_keeps_what_is_done() -> None:
    asked: list[Any] = []
    sheet = Sheet(line(5))
    runs = run_chunk(sheet, SEED, range(6), lambda _, records: asked.append(1) or left(_, records),
                     lambda: len(asked) == 2)
    assert runs == alone(5, range(2))
    stop = Stop()
    chunks = run_many(line(5), SEED, list(range(12)), left, stop=stop)
    first = next(chunks)
    stop.ask()
    assert stop.asked
    assert first == alone(5, range(len(first)))
    assert list(chunks) == []
    assert list(run_many(line(5), SEED, [0], left, stop=stop)) == []
