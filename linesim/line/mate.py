"""Mate: which fuselage goes together with which wing, and when both leave for the mate dock.

Both halves leave in the same instant, when both are closed and the mate dock is free. The fuselage's serial goes on.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from .records import State
from .traffic import Move, Place

if TYPE_CHECKING:
    from .aircraft import Unit
    from .floor import Floor


class Mating:
    """Halves that are ready and have no partner yet."""

    def __init__(self, floor: Floor, stand_at_mate: Callable[[Unit], object]) -> None:
        self.floor, self.stand_at_mate = floor, stand_at_mate
        self.waiting: dict[Unit, float] = {}
        self.labels: dict[int, int] = {}  # order for which a wing is launched -> serial that it carries

    def ready(self, half: Unit, mate: Place) -> None:
        """A half is closed; it goes with its partner, or waits for one."""
        now = self.floor.env.now
        other = self._partner(half)
        if other is None:
            self.waiting[half] = now
            return
        since = self.waiting.pop(other)
        fuselage, wing = sorted((half, other), key=lambda unit: unit.half)
        if fuselage.serial != wing.serial:
            self._exchange(fuselage.serial, wing)
        whole = fuselage.whole_unit = wing.whole_unit = self.floor.whole_of((fuselage, wing))

        def mated() -> None:
            self.floor.stand(other, other.place.index, State.OTHER_HALF, since, now)
            for unit in (fuselage, wing):
                self.floor.stand(unit, unit.place.index, State.BLOCKED, now, self.floor.env.now)
                self.floor.units.pop(unit, None)
            self.stand_at_mate(whole)

        self.floor.traffic.ready(Move([fuselage, wing], mate, now, mated))

    def _partner(self, half: Unit) -> Unit | None:
        """The other half: of the same serial, or the first that became ready of the same model."""
        if self.floor.scenario.work_rules.pairing == "by serial":
            able = [unit for unit in self.waiting if unit.serial == half.serial]
        else:
            able = [unit for unit in self.waiting if unit.half != half.half and unit.model == half.model]
        return min(able, key=lambda unit: (self.waiting[unit], unit.promise, -unit.rank, unit.order), default=None)

    def _exchange(self, serial: int, wing: Unit) -> None:
        """The wing goes on another fuselage than it was launched for: the two wings change serials (not luck)."""
        given = wing.serial
        left = next((unit for unit in self.floor.units if unit.half == wing.half and unit.serial == serial), None)
        wing.carry(serial)
        if left is not None:
            left.carry(given)
            self.floor.serve_anew(left)
        else:  # not launched yet
            self.labels[next((order for order, label in self.labels.items() if label == serial), serial)] = given
