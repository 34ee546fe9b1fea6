"""In which position each package is planned, and after which others."""

from __future__ import annotations

from ..scenario.plant import Package, Position
from ..scenario.scenario import Scenario


def positions_of(scenario: Scenario) -> list[Position]:
    """The positions, with records and certificate where the rules put them: as the last packages of finishing, or
    as the first of the position in which the customer accepts."""
    positions = list(scenario.positions)
    at = next((n for n, position in enumerate(positions) if position.acceptance), None)
    if scenario.work_rules.certificate_at == "finishing" or at is None:
        return positions
    moved = []
    for n, position in enumerate(positions):
        names = {name for package in position.packages if package.certificate for name in (package.id, package.records)}
        if n != at and names:
            moved += [package for package in position.packages if package.id in names]
            positions[n] = position.model_copy(update={
                "packages": tuple(package for package in position.packages if package.id not in names)})
    here = {package.id for package in (*moved, *positions[at].packages)}
    moved = [package if package.after is None else package.model_copy(update={
        "after": tuple(name for name in package.after if name in here)}) for package in moved]
    positions[at] = positions[at].model_copy(update={"packages": (*moved, *positions[at].packages)})
    return positions


def in_order(packages: list[Package]) -> list[Package]:
    """Packages with every predecessor before its successors, else in file order."""
    default = {p.id: p.after if p.after is not None else tuple(q.id for q in packages[max(0, n - 1):n])
               for n, p in enumerate(packages)}
    placed: list[Package] = []
    waiting = list(packages)
    while waiting:
        here = {p.id for p in waiting}
        ready = next(p for p in waiting if not here.intersection(default[p.id]))
        placed.append(ready.model_copy(update={"after": default[ready.id]}))
        waiting.remove(ready)
    return placed
