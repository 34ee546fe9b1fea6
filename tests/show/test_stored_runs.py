"""Runs put away come back exactly, and nothing else is taken for a run."""

from __future__ import annotations

import hashlib
import json
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pytest

import linesim
from linesim.line.runs import run_chunk
from linesim.line.sheet import Sheet
from linesim.measures.run import RunNumbers, numbers_of
from linesim.show.stored_runs import NotRuns, packed, unpacked

SCENARIOS = Path(__file__).parents[2] / "scenarios"


def same(one: Any, other: Any) -> bool:
    """Equal to the last bit and of the same types, down to every entry."""
    if type(one) is not type(other):
        return False
    if isinstance(one, np.ndarray):
        return one.dtype == other.dtype and one.shape == other.shape and one.tobytes() == other.tobytes()
    if is_dataclass(one):
        return all(same(getattr(one, field.name), getattr(other, field.name)) for field in fields(one))
    if isinstance(one, dict):
        return list(one) == list(other) and all(same(one[key], other[key]) for key in one)
    if isinstance(one, list | tuple):
        return len(one) == len(other) and all(map(same, one, other))
    return repr(one) == repr(other)


@pytest.fixture(scope="module")
def some_runs() -> list[RunNumbers]:
    """Runs of the demo on a pulse line, with segments (run 0) and without (run 30): no field is empty in both."""
    plant = linesim.read(SCENARIOS / "birchwater-pulse.yaml")
    return run_chunk(Sheet(plant), plant.seed, [0, 30], numbers_of)


def test_every_field_of_a_run_comes_back_equal(some_runs: list[RunNumbers]) -> None:
    """Bit for bit, in type and in order; a field that is added to a run is part of this."""
    back = unpacked(packed(some_runs, {"seed": 1}))
    assert len(back) == len(some_runs)
    for one, other in zip(some_runs, back, strict=True):
        for field in fields(RunNumbers):
            assert same(getattr(one, field.name), getattr(other, field.name)), field.name


def test_what_comes_back_is_written_the_same_again(some_runs: list[RunNumbers]) -> None:
    """So the files do not depend on how often runs were put away."""
    content = packed(some_runs, {"seed": 1})
    assert packed(unpacked(content), {"seed": 1}) == content


def test_no_byte_of_a_stored_run_can_change_unnoticed(some_runs: list[RunNumbers]) -> None:
    """Neither a changed byte nor a missing end passes."""
    content = packed(some_runs, {"seed": 1})
    body = content.index(b"\n") + 1
    for place in (body, (body + len(content)) // 2, len(content) - 1):
        changed = bytearray(content)
        changed[place] ^= 1
        with pytest.raises(NotRuns):
            unpacked(bytes(changed))
    for end in (0, body // 2, body, len(content) - 1):
        with pytest.raises(NotRuns):
            unpacked(content[:end])


@pytest.mark.parametrize(("old", "new"), [
    ('"flights":', '"fights":'), ('"counted":', '"counted":"x","c":'), ('"<f8",', '"|O",'),
    ('"<f8",0', '"<f8",99999999999'), ('"run":0', '"run":1')])
def test_a_stored_run_that_does_not_fit_its_fields_is_refused(old: str, new: str, some_runs: list[RunNumbers]) -> None:
    """Checked against the declared fields, even with a right checksum; nothing is made of kinds not declared."""
    head, _, rest = packed(some_runs, {}).partition(b"\n")
    first = json.loads(head)
    whole = pa.Codec("zstd").decompress(rest, first["bytes"], asbytes=True)
    text = whole[first["arrays, bytes"]:].decode()
    assert old in text
    whole = whole[:first["arrays, bytes"]] + text.replace(old, new, 1).encode()
    rest = pa.compress(whole, "zstd", asbytes=True)
    first |= {"bytes": len(whole), "sha256": hashlib.sha256(rest).hexdigest()}
    with pytest.raises(NotRuns):
        unpacked(json.dumps(first).encode() + b"\n" + rest)
