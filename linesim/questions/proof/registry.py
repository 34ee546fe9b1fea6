"""All checks, the ones without luck first, and how they are carried out on several processes."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

from . import (
    arithmetic,
    balance_by_hand,
    bays_by_hand,
    calendar_and_sun,
    crews_by_hand,
    defects_by_hand,
    edges_by_hand,
    estimates_by_hand,
    floor_by_hand,
    money_by_hand,
    networks,
    numbers_across_runs,
    options_by_hand,
    paper_by_hand,
    people_there,
    queues,
    rules_by_hand,
    serial_lines,
    serving,
    starts_and_ends_by_hand,
    trade_facts,
    ways_by_hand,
)
from .check import Check
from .listed import Proof

BY_HAND = "worked by hand"
PARTS = {
    BY_HAND: (*rules_by_hand.PROOFS, *bays_by_hand.PROOFS, *people_there.PROOFS, *floor_by_hand.PROOFS,
              *options_by_hand.PROOFS, *crews_by_hand.PROOFS, *defects_by_hand.PROOFS, *edges_by_hand.PROOFS,
              *starts_and_ends_by_hand.PROOFS, *ways_by_hand.PROOFS,
              *paper_by_hand.PROOFS, *balance_by_hand.PROOFS, *money_by_hand.PROOFS, *estimates_by_hand.PROOFS),
    "numbers across runs": numbers_across_runs.PROOFS, "arithmetic": (*arithmetic.PROOFS, *serving.PROOFS),
    "calendar and sun": calendar_and_sun.PROOFS, "facts of the trade": trade_facts.PROOFS,
    "networks": networks.PROOFS, "saturated lines": serial_lines.PROOFS, "queues": queues.PROOFS}


def proofs(*, slow: bool = False) -> list[tuple[str, Proof]]:
    """The subject and the proof of each; the slow ones too, if asked for."""
    return [(part, proof) for part, of in PARTS.items() for proof in of if slow or not proof.slow]


def by_name(name: str) -> Proof:
    """One proof by its name."""
    return next(proof for of in PARTS.values() for proof in of if proof.name == name)


def checks_of(name: str) -> list[Check]:
    """Carry out one proof."""
    return list(by_name(name).checks())


def carry_out(*, slow: bool = False, jobs: int = 1) -> Iterator[tuple[str, list[Check]]]:
    """The subject and the checks of each proof, in the order of the list, as they are done."""
    listed = proofs(slow=slow)
    names = [proof.name for _, proof in listed]
    if jobs <= 1:
        found: Iterator[list[Check]] = map(checks_of, names)
        yield from zip((part for part, _ in listed), found, strict=True)
        return
    with ProcessPoolExecutor(jobs, get_context("spawn")) as pool:
        try:
            yield from zip((part for part, _ in listed), pool.map(checks_of, names), strict=True)
        except BaseException:
            pool.shutdown(cancel_futures=True)
            raise
