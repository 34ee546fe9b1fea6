"""Rules of the gates: what may be one, where its finds are mended, and what may not come before it."""

from __future__ import annotations

from collections.abc import Iterator

from .plant import Package, Position
from .plant_rules import Found
from .scenario import Scenario

CHECK = "avionics check"


def gate_rules(s: Scenario) -> Iterator[Found]:
    """Gates are buy-offs, the avionics check is work; behind a check stands the fixing of what it finds, and panels are
    closed only behind both."""
    for n, position in enumerate(s.positions):
        for m, package in enumerate(position.packages):
            path = ("positions", n, "packages", m)
            if package.gate == CHECK and package.kind != "work":
                yield (*path, "gate"), f"an avionics check is work with a trade; this is a {package.kind}"
            elif package.gate not in (None, CHECK) and package.kind != "buy-off":
                yield (*path, "gate"), f"this gate must be a buy-off; found {package.kind}"
        yield from (((("positions", n, "packages", m)), message) for m, message in _close_ups(position))
        if s.quality is not None:
            yield from ((("positions", n, "packages", m), message) for m, message in _checks(position))


def _checks(position: Position) -> Iterator[tuple[int, str]]:
    after = _after(position)
    for m, package in enumerate(position.packages):
        if package.gate != CHECK or package.kind != "work":
            continue
        fixing = [one.id for one in position.packages
                  if one.rework and one.kind == "work" and package.id in after[one.id]]
        if len(fixing) != 1:
            yield m, ("needs one package of work with rework: true right behind it, for what it finds; found "
                      + (", ".join(fixing) or "none"))


def _close_ups(position: Position) -> Iterator[tuple[int, str]]:
    """The gate before close-up: a safety rule of the trade, not a choice (common practice, no source)."""
    after = _after(position)
    checks = [p for p in position.packages if p.gate == CHECK]
    fixing = [p for p in position.packages if p.rework and any(check.id in after[p.id] for check in checks)]
    for m, package in enumerate(position.packages):
        if package.close_up:
            before = _all_before(package, after)
            late = [one.id for one in (*checks, *fixing) if one.id not in before and one.id != package.id]
            if late:
                yield m, ("panels are closed only behind the avionics check and its fault fixing: wait for "
                          + ", ".join(late))


def _after(position: Position) -> dict[str, tuple[str, ...]]:
    packages = position.packages
    return {package.id: package.after if package.after is not None else
            tuple(before.id for before in packages[max(0, m - 1):m]) for m, package in enumerate(packages)}


def _all_before(package: Package, after: dict[str, tuple[str, ...]]) -> set[str]:
    found: set[str] = set()
    ahead = list(after[package.id])
    while ahead:
        name = ahead.pop()
        if name not in found and name in after:
            found.add(name)
            ahead += after[name]
    return found
