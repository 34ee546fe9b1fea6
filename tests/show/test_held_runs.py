"""Held runs are the runs they were made of, and take up hardly any memory."""

from __future__ import annotations

import pickle
import tracemalloc
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import linesim
from linesim.line.runs import run_chunk
from linesim.line.sheet import Sheet
from linesim.measures.run import RunNumbers, numbers_of
from linesim.show.held_runs import AT_HAND, hold
from linesim.show.run_folder import RunFolder
from linesim.show.stored_runs import packed

SCENARIOS = Path(__file__).parents[2] / "scenarios"


@pytest.fixture(scope="module")
def some_runs() -> list[RunNumbers]:
    """Runs of the demo on a pulse line, with segments (run 0) and without (run 30): no field is empty in both."""
    plant = linesim.read(SCENARIOS / "birchwater-pulse.yaml")
    return run_chunk(Sheet(plant), plant.seed, [0, 30], numbers_of)


def same(one: Any, other: Any) -> bool:
    """Equal to the last bit, down to every entry; a held value may be of a kind of its own."""
    if isinstance(one, np.ndarray):
        return one.dtype == other.dtype and one.shape == other.shape and one.tobytes() == other.tobytes()
    if is_dataclass(one):
        return isinstance(other, type(one)) and all(
            same(getattr(one, field.name), getattr(other, field.name)) for field in fields(one))
    if isinstance(one, dict):
        return list(one) == list(other) and all(same(one[key], other[key]) for key in one)
    if isinstance(one, list | tuple):
        return len(one) == len(other) and all(map(same, one, other))
    return type(one) is type(other) and repr(one) == repr(other)


def test_every_field_comes_back_as_often_as_it_is_asked_for(some_runs: list[RunNumbers]) -> None:
    """In any order, again and again; what comes back may be changed, and the next look is not."""
    held = hold(some_runs)
    for field in reversed(fields(RunNumbers)):
        for one, other in [*zip(some_runs, held, strict=True)] * 2:
            assert same(getattr(one, field.name), getattr(other, field.name)), field.name
    held[0].tables.visits["arrived"][:] = -1.0
    held[0].labour[:] = -1.0
    assert same(some_runs[0], held[0])


def test_held_runs_are_put_away_as_the_runs_themselves(some_runs: list[RunNumbers]) -> None:
    """The same bytes."""
    assert packed(hold(some_runs), {"seed": 1}) == packed(some_runs, {"seed": 1})


def test_a_copy_has_everything_at_hand(some_runs: list[RunNumbers]) -> None:
    """Changed, pickled, or with other deliveries; nothing else of it is another."""
    held = hold(some_runs)
    fewer = {"one": "2027-03-01 10:00"}
    changed, with_fewer = replace(held[0], run=7), held[0].with_delivered(fewer)
    back = pickle.loads(pickle.dumps(held))
    again = changed.with_delivered(fewer)
    del held
    assert same(replace(some_runs[0], run=7), changed)
    assert same(replace(some_runs[0], delivered=fewer), with_fewer)
    assert same(replace(some_runs[0], run=7, delivered=fewer), again)
    assert all(map(same, some_runs, back))


def test_nothing_that_is_no_field_is_found(some_runs: list[RunNumbers]) -> None:
    """An unknown name is an error, as of any run."""
    held, = hold(some_runs[:1])
    for one in (held, held.tables):
        with pytest.raises(AttributeError, match="hours_lost"):
            _ = one.hours_lost  # type: ignore[union-attr]


def test_what_stays_in_memory_is_a_field() -> None:
    """And the deliveries and promises, which are asked for aircraft by aircraft, are among it."""
    assert {"delivered", "promised"} < set(AT_HAND) < {field.name for field in fields(RunNumbers)}


def test_a_held_run_is_small(some_runs: list[RunNumbers]) -> None:
    """Of a run of the demo some 8 kB stay in memory, where the run itself takes 130."""
    def copies(number: int) -> Iterator[RunNumbers]:
        content = pickle.dumps(some_runs[1])
        for n in range(number):
            yield replace(pickle.loads(content), run=n)

    hold(copies(2))
    tracemalloc.start()
    try:
        held = hold(copies(50))
        assert tracemalloc.get_traced_memory()[0] < 50 * 12_000
        assert len(pickle.dumps(held[0])) > 80_000
    finally:
        tracemalloc.stop()


def test_the_scratch_file_has_no_name(tmp_path: Path) -> None:
    """Nothing stands beside the run folder, and looking at the runs after it was closed finds them."""
    plant = linesim.read(SCENARIOS / "tiny.yaml")
    result = linesim.run(plant, runs=5, results=tmp_path, name="tiny")
    with RunFolder(tmp_path, "tiny", plant, result.seed) as folder:
        held = folder.hold(range(5))
    assert [path.name for path in tmp_path.iterdir()] == [folder.path.name]
    assert all(map(same, linesim.run(plant, runs=5).runs, held))
