"""A package or a position added by a form, in its place in the flow: what comes behind it waits for it, too.

A new package brings its own cure, hold, inspection and leave to travel; they are set once, here.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ....scenario.tree import value_at
from .edits import values_of
from .fixed import Refused
from .papers import Papers
from .writing import add, put


def with_package(papers: Papers, position: str, package: Mapping[str, Any]) -> Papers:
    """The papers with a package at the end of a position, before the buy-offs that close it, which wait for it.

    Fields that are None or "" are left out. Raises Refused.
    """
    values = values_of(papers)
    positions = value_at(("positions",), values) or []
    number = next((n for n, one in enumerate(positions) if isinstance(one, dict) and one.get("id") == position), None)
    entry = {name: value for name, value in package.items() if value is not None and value != ""}
    if number is None:
        raise Refused(f"No position is called {position}")
    if not entry.get("id"):
        raise Refused("A package needs a short name of its own")
    where = ("positions", number, "packages")
    there = value_at(where, values) or []
    at = len(there)
    while at and isinstance(there[at - 1], dict) and there[at - 1].get("kind") == "buy-off" \
            and entry.get("kind") != "buy-off":
        at -= 1
    papers = add(papers, where, at, [entry])
    if at < len(there):
        papers = _waits_for(papers, (*where, at + 1), there, at, str(entry["id"]), "after" in entry)
    return papers


def _waits_for(papers: Papers, path: tuple[Any, ...], there: list[Any], at: int, new: str, by_itself: bool) -> Papers:
    """The package behind the new one waits for it, and for what it waited for before."""
    after = there[at].get("after")
    if isinstance(after, str):
        after = [after]
    if isinstance(after, list):
        return put(papers, (*path, "after"), [*after, new])
    if by_itself and at:  # the new one does not wait for the one above it, so the one behind must do so itself
        return put(papers, (*path, "after"), [str(there[at - 1].get("id")), new])
    return papers


def with_position(papers: Papers, behind: str, position: Mapping[str, Any]) -> Papers:
    """The papers with a position behind another one in the order of flow ("": as the first). Raises Refused."""
    positions = value_at(("positions",), values_of(papers)) or []
    ids = [one.get("id") if isinstance(one, dict) else None for one in positions]
    entry = {name: value for name, value in position.items() if value is not None and value != ""}
    if not entry.get("id"):
        raise Refused("A position needs a short name of its own")
    if behind and behind not in ids:
        raise Refused(f"No position is called {behind}")
    at = ids.index(behind) + 1 if behind else 0
    if at and isinstance(positions[at - 1], dict) and positions[at - 1].get("next") is not None:
        raise Refused(f"{behind} says where its aircraft go next; change that first")
    return add(papers, ("positions",), at, [entry])
