"""Who is served first: one person and two aircraft, and two aircraft that wait for one dock, worked through by hand."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from .arithmetic import HAND, floor, work
from .check import Check, each
from .listed import Proof
from .plants import place

RULES: tuple[tuple[str, dict[str, Any], dict[str, str], list[float]], ...] = (
    # one person, 2 h at A and 2 h at B for each of two aircraft: hours of the clock at which they are delivered
    ("promised date, none given: furthest along", {}, {}, [10.0, 14.5]),
    ("promised date, the second earlier", {}, {"S1": "2027-03-02", "S2": "2027-03-01"}, [14.5, 10.0]),
    ("promised date, only the second has one", {}, {"S2": "2027-03-01"}, [14.5, 10.0]),
    ("first come", {"dispatch": "first come"}, {"S1": "2027-03-02", "S2": "2027-03-01"}, [12.5, 14.5]),
    ("furthest along", {"dispatch": "furthest along"}, {"S1": "2027-03-02", "S2": "2027-03-01"}, [14.5, 10.0]),
    ("place A first", {"dispatch": {"places": ["A"]}}, {}, [12.5, 14.5]),
    ("place B first", {"dispatch": {"places": ["B"]}}, {"S1": "2027-03-02", "S2": "2027-03-01"}, [14.5, 10.0]))


def people() -> Iterator[Check]:
    """Two aircraft of two packages each for one person."""
    positions = [{"id": name, "docks": 2, "packages": [work(name.lower(), 2)]} for name in ("A", "B")]
    for name, rules, promised, expected in RULES:
        orders = [{"serial": serial, **({"promised": promised[serial]} if serial in promised else {})}
                  for serial in ("S1", "S2")]
        _, records = floor(positions, 1, 2, work_rules=rules, orders=orders)
        yield each(f"{name}: hour of Monday at which two aircraft are delivered", HAND, expected,
                   [records.delivered.get(n, float("nan")) / 60 for n in range(2)], 1e-6)


def docks() -> Iterator[Check]:
    """Two aircraft become ready at one instant, or one after the other, and one dock beyond is free."""
    early = [{"serial": "S1", "promised": "2027-03-02"}, {"serial": "S2", "promised": "2027-03-01"}]
    positions = [place("A", 1, 2), place("B", 1)]
    facts = [{"serial": "S1", "package": "A work", "hours": 1.0}, {"serial": "S2", "package": "A work", "hours": 1.25}]
    for name, rules, known, expected in (
            ("the earlier promised goes first", {}, [], [9.0, 8.0]),
            ("first come, so by the order book", {"dispatch": "first come"}, [], [8.0, 9.0]),
            ("furthest along, then promised", {"dispatch": "furthest along"}, [], [9.0, 8.0]),
            ("who is ready first goes first", {}, facts, [8.0, 9.0])):
        _, records = floor(positions, 1, 2, work_rules=rules, orders=early, known={"hours": known})
        yield each(f"two aircraft for one dock, {name}: hours of delivery", HAND, expected,
                   [records.delivered.get(n, float("nan")) / 60 for n in range(2)], 1e-6)
    moves = floor([place("A", 1), place("B", 1)], 1, 1, work_rules={"move_minutes": 30, "moves": "reference shift"})[1]
    yield each("a move of 30 working minutes between two places of 1 h: hour of delivery", HAND, [8.5],
               [moves.delivered[0] / 60], 1e-6)


PROOFS = (Proof("order of serving", people), Proof("order of docks", docks))
