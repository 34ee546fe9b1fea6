"""An aircraft, or before mate one of its halves, on its way through the places: a SimPy process."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any

from textbook_plant import Position, Stay
from textbook_work import Steps, Work

if TYPE_CHECKING:
    from textbook_floor import Floor


class Body:
    """An aircraft or a half, with the work that it carries from places behind."""

    def __init__(self, floor: Floor, order: int, position: Position, carried: tuple[Work, ...] = ()) -> None:
        self.floor, self.order, self.position = floor, order, position
        self.serial = floor.plant.orders[order].serial
        self.half = position.half
        self.visits: dict[str, int] = {}
        self.ready: Fraction = Fraction(0)
        self.goal: str | None = None
        self.works: list[Work] = []
        self.take(carried)
        self.arrived: Fraction = floor.env.now
        self.entered = floor.env.event()
        floor.docks[position.id].append(self)
        floor.env.process(self.process())

    @property
    def repeat(self) -> int:
        return self.visits[self.position.id] - 1

    @property
    def open_works(self) -> list[Work]:
        return [work for work in self.works if not work.closed.triggered]

    def take(self, carried: tuple[Work, ...]) -> None:
        """Unfinished work comes along."""
        self.works = list(carried)
        for work in carried:
            work.body = self

    def process(self) -> Steps:
        """Work, wait for a place (or be taken along by a pulse with work open), move on."""
        env, floor = self.floor.env, self.floor
        while True:
            here, self.entered = self.position, env.event()
            self.visits[here.id] = self.visits.get(here.id, 0) + 1
            self._plan_work()
            all_closed = env.all_of([work.closed for work in self.works])
            yield all_closed | self.entered
            if not self.entered.triggered:
                if self._again(here, floor.plant.repeats):
                    continue
                self.goal = here.goes_to
                if here.back_to and self._again(here, floor.plant.goings_back):
                    if here.back_to == here.id:
                        continue
                    self.goal = here.back_to
                self.ready = env.now
                floor.waiting.append(self)
                floor.ring()
            gone = yield self.entered
            if gone:
                return

    def _again(self, here: Position, times: dict[tuple[str, str], int]) -> bool:
        again = self.floor.again.setdefault((self.serial, self.half, here.id), 0)
        if again >= times.get((self.serial, here.id), 0):
            return False
        self.floor.again[self.serial, self.half, here.id] += 1
        return True

    def _plan_work(self) -> None:
        """Packages of the place; its last buy-off waits for carried work that may go no further."""
        carried = self.open_works
        own = {package.id: Work(self, package, self.floor.file_order[package.id])
               for package in self.position.packages}
        for work in own.values():
            work.before = [own[name] for name in work.package.after]
        buy_offs = [work for work in own.values() if work.package.kind == "buy-off"]
        if buy_offs:
            buy_offs[-1].before += [w for w in carried if self.floor.line.latest(w.package) == self.position.id]
        self.works = [*carried, *own.values()]
        for work in own.values():
            self.floor.env.process(work.process())

    def leave(self, to: Position | None) -> None:
        """Leave the dock; the stay is written down, open work is taken along."""
        floor = self.floor
        floor.docks[self.position.id].remove(self)
        if self in floor.waiting:
            floor.waiting.remove(self)
        floor.told.stays.append(Stay(self.serial, self.half, self.position.id, self.arrived, floor.env.now))
        self.works = self.open_works
        if to is not None:
            for work in self.works:
                work.moved_on(to, floor.line.pulse.multiplier)

    def enter(self, position: Position) -> None:
        """Stand in a dock."""
        self.floor.docks[position.id].append(self)
        self.position, self.arrived, self.goal = position, self.floor.env.now, None
        for work in self.works:
            work.startable_here()
        self.entered.succeed(False)

    def tie(self) -> tuple[Any, ...]:
        """Who goes first of those that became ready at one instant: ties of places keep the plant's key."""
        return self.floor.order_key(self, self.floor.plant.dispatch)
