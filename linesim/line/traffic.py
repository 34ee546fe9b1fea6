"""Where aircraft stand and how they move: docks, parking, blocking after service, joins, rings.

A finished aircraft keeps its dock until a dock or parking place beyond is free. Moves of one instant are settled from
the most downstream place upward until nothing moves. A place knows no work.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, Any

from .instant import CALENDAR, MOVES
from .plans import PlacePlan
from .records import Stuck, Visit

if TYPE_CHECKING:
    from .aircraft import Unit
    from .floor import Floor


class Place:
    """A place with the aircraft in its docks, those parked before it, those on their way to a dock or a parking spot of
    it, and those that want to come in."""

    __slots__ = ("coming", "coming_to_park", "docked", "index", "parked", "plan", "wanting")

    def __init__(self, plan: PlacePlan) -> None:
        self.plan, self.index = plan, plan.index
        self.docked: dict[Unit, None] = {}
        self.parked: dict[Unit, Move] = {}
        self.coming: dict[Unit, None] = {}
        self.coming_to_park: dict[Unit, None] = {}
        self.wanting: list[Move] = []

    @property
    def has_dock(self) -> bool:
        """Whether a dock is free."""
        return len(self.docked) + len(self.coming) < self.plan.docks

    @property
    def has_parking(self) -> bool:
        """Whether a parking spot is free."""
        return len(self.parked) + len(self.coming_to_park) < self.plan.parking

    @property
    def is_awaited(self) -> bool:
        """Whether a parked aircraft waits for a dock: it comes before all others."""
        return any(unit not in self.coming for unit in self.parked)


class Move:
    """Aircraft (or the two halves of one) that are ready to go to a place, or off the floor (None)."""

    __slots__ = ("arrive", "at_once", "ready", "stuck", "target", "units")

    def __init__(self, units: list[Unit], target: Place | None, ready: float, arrive: Callable[[], object], *,
                 at_once: bool = False) -> None:
        self.units, self.target, self.ready, self.arrive = units, target, ready, arrive
        self.at_once = at_once  # with the pulse: at any hour and in no time
        self.stuck = False


class Traffic:
    """All places of the floor and the moves between them."""

    def __init__(self, floor: Floor) -> None:
        self.floor = floor
        self.places = [Place(plan) for plan in floor.sheet.places]
        self.downstream_first = sorted(self.places, key=lambda place: (-place.plan.rank, -place.index))
        self._fed_back = [self.places[n] for n in dict.fromkeys(
            place.back_to for place in floor.sheet.places if place.back_to is not None)]
        self.leaving: list[Move] = []
        self.moving: dict[Unit, Move] = {}  # on their way: each still takes up the place that it leaves
        rules = floor.sheet.scenario.work_rules
        self._order = floor.order_of_units(rules.dispatch)
        self._takes, self._by_day = rules.move_minutes, rules.moves != "day and night"
        self._clock = floor.calendar.reference

    def _key(self, move: Move) -> tuple[Any, ...]:
        """Who became ready first; ties by the plant's order of serving."""
        return (move.ready, *self._order(move.units[0], move.ready))

    def ready(self, move: Move) -> None:
        """Aircraft are closed where they stand and want to move."""
        if move.target is None:
            self.leaving.append(move)
        else:
            move.target.wanting.append(move)
        self.floor.settle_moves()

    def settle(self) -> None:
        """Make all moves that are possible at this instant."""
        allowed = self.are_allowed(self.floor.settle_moves)
        moved = True
        while moved:
            moved = bool(self.leaving) and self._leave()
            for place in self.downstream_first:
                if place.parked or place.wanting:
                    while place.parked and place.has_dock and allowed and self._from_parking(place):
                        moved = True
                    if place.wanting and (place.has_dock or place.has_parking):
                        moved = self._let_in(place, allowed) or moved
        if self._fed_back and self._somebody_goes_back():
            self._look_for_rings(allowed=allowed)

    def are_allowed(self, later: Callable[[], object]) -> bool:
        """Whether aircraft may be moved in this instant; if not, `later` is called in the first in which they may."""
        now = self.floor.env.now
        if not self._by_day or self._clock.is_open(now):
            return True
        self.floor.at(self._clock.next_open(now), CALENDAR, later)
        return False

    def _leave(self) -> bool:
        going = [move for move in self.leaving if not any(map(_is_held, move.units))]
        for move in sorted(going, key=self._key):
            self.leaving.remove(move)
            self._go(move)
            move.arrive()
        return bool(going)

    def _from_parking(self, place: Place) -> bool:
        for unit, move in place.parked.items():
            # re-torque of a parked aircraft is done in the dock: it does not keep it out
            if not (unit.locked or unit.held) and unit not in place.coming:
                self._take(move, place, place.coming, partial(self._unpark, move, place))
                return True
        return False

    def _let_in(self, place: Place, allowed: bool) -> bool:
        moved = False
        for move in sorted(place.wanting, key=self._key):
            if any(map(_is_held, move.units)) or move.stuck or not (allowed or move.at_once):
                continue
            if place.has_dock and not place.is_awaited:
                place.wanting.remove(move)
                self._take(move, place, place.coming, partial(self._dock, move, place))
                moved = True
            elif len(move.units) == 1 and place.has_parking:
                place.wanting.remove(move)
                self._take(move, place, place.coming_to_park, partial(self._park, move, place))
                moved = True
        return moved

    def _take(self, move: Move, place: Place, coming: dict[Unit, None], arrive: Callable[[], object]) -> None:
        """Make a move, in no time or in working time of the reference shift."""
        if move.at_once or not self._takes:
            arrive()
            return
        unit = move.units[0]
        coming[unit] = None
        self.moving.update(dict.fromkeys(move.units, move))

        def end() -> None:
            del coming[unit]
            for one in move.units:
                del self.moving[one]
            arrive()
            self.floor.settle_moves()

        self.floor.at(self._clock.finish(self.floor.env.now, self._takes), MOVES, end)

    def _dock(self, move: Move, place: Place) -> None:
        self._go(move)
        whole = move.units[0].whole_unit
        if whole is not None:
            for half in move.units:
                self._becomes(half, whole)
        self.enter(whole or move.units[0], place)
        for unit in move.units:
            self.floor.lock_goes_on(unit, whole or unit)
        move.arrive()

    def _becomes(self, half: Unit, whole: Unit) -> None:
        """What holds a half back since it left for the mate dock holds the aircraft that it becomes."""
        whole.locked += half.locked
        whole.recalled += half.recalled
        whole.held = max(whole.held, half.held)
        self.floor.tools.goes_on_as(half, whole)

    def _park(self, move: Move, place: Place) -> None:
        self._go(move)
        place.parked[move.units[0]] = move
        move.units[0].arrived = move.units[0].parked_at = self.floor.env.now

    def _unpark(self, move: Move, place: Place) -> None:
        unit = move.units[0]
        del place.parked[unit]
        self._visit(unit, place, True, unit.arrived, self.floor.env.now)
        self.enter(unit, place)
        move.arrive()

    def enter(self, unit: Unit, place: Place) -> None:
        """The aircraft stands in a dock of the place."""
        place.docked[unit] = None
        unit.place, unit.arrived, unit.rank = place, self.floor.env.now, place.plan.rank
        if unit.recalled:
            self.floor.tools.has_entered(unit)

    def is_between(self, unit: Unit) -> bool:
        """Whether an aircraft is on its way, or parked before its next place."""
        return unit in self.moving or self.parked_before(unit) is not None

    def parked_before(self, unit: Unit) -> Place | None:
        """The place that an aircraft is parked before."""
        return next((place for place in self.places if unit in place.parked), None)

    def _go(self, move: Move) -> None:
        self.leave(move.units, move.ready)

    def leave(self, units: list[Unit], ready: float) -> None:
        """The aircraft leave where they stand."""
        now = self.floor.env.now
        for unit in units:
            left = unit.place
            self._visit(unit, left, False, ready if unit.ready_at is None else unit.ready_at, now)
            del left.docked[unit]
            unit.ready_at = None
            self.floor.tools.has_left(left, unit)
        self.floor.launch_if_owed()
        if self.floor.pulse is not None:
            self.floor.pulse.look()

    def _visit(self, unit: Unit, place: Place, parked: bool, ready: float, left: float) -> None:
        records = self.floor.records
        records.visits.append(Visit(unit.serial, unit.half, place.index, parked, unit.arrived, ready, left))

    # rings ------------------------------------------------------------------------------------------------------
    def _somebody_goes_back(self) -> bool:
        """Whether a ring is possible at all: those that go on with the flow wait for nobody behind them."""
        return any(move.units[0].place.plan.rank >= place.plan.rank for place in self._fed_back
                   for move in place.wanting)

    def _look_for_rings(self, *, allowed: bool) -> None:
        """Aircraft that wait only for each other can never move: the largest set in which the docks of each one's
        target are full of others of the set."""
        waiting = {unit: move for place in self.places for move in place.wanting for unit in move.units
                   if not move.stuck and not any(map(_is_held, move.units))}
        held = set(waiting)
        shrunk = bool(held)
        while shrunk:  # from the end of the flow: who is free there frees those behind in the same round
            shrunk = False
            for place in self.downstream_first:
                for move in place.wanting:
                    if held.issuperset(move.units) and not _is_full_of(place, move, held):
                        held.difference_update(move.units)
                        shrunk = True
        if held:
            self._break_ring([unit for unit in waiting if unit in held], waiting, allowed=allowed)

    def _break_ring(self, held: list[Unit], waiting: dict[Unit, Move], *, allowed: bool) -> None:
        walk, unit = [held[0]], held[0]
        while True:  # follow "waits for a place held by" until it closes
            target = waiting[unit].target
            assert target is not None
            unit = next(iter(target.docked))
            if unit in walk:
                ring = walk[walk.index(unit):]
                break
            walk.append(unit)
        if self.floor.sheet.scenario.work_rules.ring == "exchange":
            if allowed:
                self._exchange(ring, waiting)
            return
        for member in ring:
            waiting[member].stuck = True
        members = sorted(ring, key=lambda member: member.serial)
        places = tuple(sorted({member.place.index for member in ring}))
        self.floor.records.stuck.append(Stuck(self.floor.env.now, places, tuple(m.serial for m in members),
                                              "each waits for a place held by the next"))

    def _exchange(self, ring: list[Unit], waiting: dict[Unit, Move]) -> None:
        """Option: the ring moves together in one instant."""
        moves = list({id(waiting[unit]): waiting[unit] for unit in ring}.values())
        for move in moves:
            assert move.target is not None
            move.target.wanting.remove(move)
            self._go(move)
        for move in moves:
            assert move.target is not None
            self.enter(move.units[0], move.target)
            move.arrive()


def _is_full_of(target: Place, move: Move, held: set[Unit]) -> bool:
    """Whether nothing comes free in a place until one of those that are held leaves it. Who is parked before it is no
    reason: it enters as soon as a dock is free."""
    if target.coming or target.coming_to_park or target.has_dock or (target.has_parking and len(move.units) == 1):
        return False
    return held.issuperset(target.docked)


def _is_held(unit: Unit) -> bool:
    return bool(unit.locked or unit.recalled or unit.held)
