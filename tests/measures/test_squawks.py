"""Flights and squawks: only of the aircraft that count, each squawk once."""

from __future__ import annotations

import pandas as pd

from linesim.measures.squawks import by_flight, by_trade


def tables() -> dict[str, pd.DataFrame]:
    """Two runs; B of run 0 is not counted. One squawk is recorded in two stretches of work, one waited before it."""
    segments = pd.DataFrame([
        (0, "A", "FL", "squawk 1.1", "FLM"), (0, "A", "FL", "squawk 1.1", "FLM"), (0, "A", "FL", "squawk 1.2", ""),
        (0, "A", "FL", "squawk 1.2", "AVX"), (0, "A", "FL", "preflight 1", "FLM"), (0, "B", "FL", "squawk 1.1", "FLM"),
        (1, "A", "AC", "acceptance 1 squawk 2.1", "FIN")], columns=["run", "serial", "place", "job", "trade"])
    return {
        "reasons": pd.DataFrame([(0, "A"), (0, "A"), (1, "A"), (1, "C")], columns=["run", "serial"]),
        "flights": pd.DataFrame([(0, "A", 1, 2), (0, "A", 2, 0), (0, "B", 1, 9), (1, "A", 1, 3), (1, "C", 1, 5)],
                                columns=["run", "serial", "flight", "squawks"]),
        "segments": segments.astype({"job": "category"})}


def test_by_flight() -> None:
    """Aircraft that flew it, and what was written up on it."""
    found = by_flight(tables())
    assert found.to_numpy().tolist() == [[0, 1, 1, 2], [0, 2, 1, 0], [1, 1, 2, 8]]


def test_by_trade() -> None:
    """A squawk counts once, for the trade that clears it, however often it is put down."""
    assert by_trade(tables()).to_numpy().tolist() == [[0, "FL", "AVX", 1], [0, "FL", "FLM", 1], [1, "AC", "FIN", 1]]


def test_without_segments() -> None:
    """Runs of which no segment is kept give an empty table, not an error."""
    assert len(by_trade({**tables(), "segments": pd.DataFrame({"run": []})})) == 0
