"""Rules of the places and the work in them: predecessors, buy-offs, routing, who stands where, what flies."""

from __future__ import annotations

from collections.abc import Iterator

from .faults import unknown
from .plant import Crewed, Package, Position
from .scenario import Scenario
from .tree import Path_

Found = tuple[Path_, str]
INSPECTOR = "INS"


def each_package(s: Scenario) -> Iterator[tuple[int, int, Package]]:
    """Every package with the number of its position and its own."""
    for n, position in enumerate(s.positions):
        for m, package in enumerate(position.packages):
            yield n, m, package


def _before(position: Position) -> dict[str, tuple[str, ...]]:
    """Predecessors of each package: the one written above where none are named."""
    ids = [package.id for package in position.packages]
    return {p.id: p.after if p.after is not None else tuple(ids[max(0, m - 1):m])
            for m, p in enumerate(position.packages)}


def package_rules(s: Scenario) -> Iterator[Found]:
    """What a package must and must not say."""
    for n, position in enumerate(s.positions):
        for m, package in enumerate(position.packages):
            yield from ((("positions", n, "packages", m), message) for message in _of_package(package))
        if position.repaint:
            yield from ((("positions", n, "repaint"), message) for message in _crew(position.repaint))


def _of_package(p: Package) -> Iterator[str]:
    yield from _crew(p)
    if p.kind == "hold" and p.elapsed_hours is None:
        yield "a hold needs elapsed_hours"
    if p.kind != "hold" and p.elapsed_hours is not None:
        yield f"elapsed_hours belongs to a hold; this is {p.kind}"
    if p.kind not in ("work", "buy-off") and (p.trade or p.hours.mean or p.inspection_hours or p.cure_hours):
        yield f"{p.kind} needs nobody: trade, hours, inspection_hours and cure_hours do not belong to it"
    if p.kind != "work" and p.can_travel:
        yield f"a {p.kind} never travels: can_travel must be false"
    if p.kind == "buy-off" and p.people[1] > 1:
        yield f"a buy-off is one inspector's; its crew must be 1, found {p.people[1]}"
    if p.kind == "buy-off" and p.inspection_hours:
        yield "a buy-off is not bought off again: inspection_hours must be 0"
    if p.kind == "work" and p.inspection_hours and p.trade == (p.inspector or INSPECTOR):
        yield f"{p.trade} would buy off its own work; another trade must do it"
    if p.kind != "appointment" and (p.records or p.return_chance or p.certificate or p.slots_per_day != 1):
        yield "records, return_chance, certificate and slots_per_day belong to an appointment"


def _crew(c: Crewed) -> Iterator[str]:
    if c.crew is not None and (c.crew_min is not None or c.crew_max is not None):
        yield "crew means exactly so many; crew_min or crew_max beside it say the same thing twice"
    if c.crew_min is not None and c.crew_max is not None and c.crew_min > c.crew_max:
        yield f"crew_min {c.crew_min} is above crew_max {c.crew_max}"


def predecessor_rules(s: Scenario) -> Iterator[Found]:
    """Predecessors exist in the position, do not wait in a ring, and nobody buys off own work."""
    for n, position in enumerate(s.positions):
        ids, before = {package.id: m for m, package in enumerate(position.packages)}, _before(position)
        for m, package in enumerate(position.packages):
            at = ("positions", n, "packages", m)
            named = [("after", name) for name in package.after or ()]
            named += [("records", package.records)] if package.records is not None else []
            for field, name in named:
                if name not in ids:
                    yield (*at, field), unknown("package of this position", name, ids)
            own = {p.trade for p in position.packages if p.id in _bought_off(package, position, before)}
            if package.kind == "buy-off" and (package.trade or INSPECTOR) in own:
                yield at, f"{package.trade or INSPECTOR} would buy off its own work; another trade must do it"
        ring = _ring(before)
        if ring:
            yield (("positions", n, "packages", ids[ring[0]]),
                   "packages wait for each other in a ring: " + " after ".join(ring))


def _bought_off(package: Package, position: Position, before: dict[str, tuple[str, ...]]) -> set[str]:
    """Work that a buy-off closes: a hold between the two changes nothing."""
    if package.kind != "buy-off":
        return set()
    kinds = {p.id: p.kind for p in position.packages}
    near, new = set(before[package.id]), set(before[package.id])
    while new:
        new = {name for hold in new if kinds.get(hold) == "hold" for name in before[hold]} - near
        near |= new
    return {name for name in near if kinds.get(name) == "work"}


def _ring(before: dict[str, tuple[str, ...]]) -> list[str]:
    """A ring of predecessors, first name repeated at the end; empty if there is none."""
    done: set[str] = set()
    for start in before:
        walk: list[tuple[str, Iterator[str]]] = [(start, iter(before[start]))]
        on_walk = {start: 0}
        while walk:
            name = next(walk[-1][1], None)
            if name is None:
                done.add(walk[-1][0])
                del on_walk[walk.pop()[0]]
            elif name in on_walk:
                return [*[step for step, _ in walk[on_walk[name]:]], name]
            elif name in before and name not in done:
                on_walk[name] = len(walk)
                walk.append((name, iter(before[name])))
    return []


def next_positions(s: Scenario) -> dict[str, str | None]:
    """Where the aircraft goes from each position; None: off the floor."""
    names: dict[str, str | None] = dict.fromkeys(position.id for position in s.positions)
    mate = next((p.id for p in s.positions if p.half is None), None)
    later: dict[str | None, str] = {}
    for position in reversed(s.positions):
        by_order = later.get(position.half) or (mate if position.half else None)
        names[position.id] = None if position.next == "out" else position.next or by_order
        later[position.half] = position.id
    return names


def routing_rules(s: Scenario) -> Iterator[Found]:
    """Every position can be reached, and every aircraft comes to an end of its way."""
    index = {position.id: n for n, position in enumerate(s.positions)}
    following = next_positions(s)
    ring = _ring({name: (after,) if after else () for name, after in following.items()})
    if ring:
        yield ("positions", index[ring[0]]), "the routing goes in a ring: " + ", ".join(ring)
        return
    halves = {half: next((p.id for p in s.positions if p.half == half), None) for half in ("fuselage", "wing")}
    if (halves["fuselage"] is None) != (halves["wing"] is None):
        yield ("positions",), "both halves need positions before mate, or none"
    reached = _reached(s, {name for name in halves.values() if name} or {s.positions[0].id}, following)
    for position in s.positions:
        if position.id not in reached:
            yield ("positions", index[position.id]), "no aircraft can reach this position"


def _reached(s: Scenario, first: set[str], following: dict[str, str | None]) -> set[str]:
    back = {position.id: position.back_to.position for position in s.positions if position.back_to}
    reached: set[str] = set()
    ahead = first | {entry for aircraft in s.on_the_line for entry in aircraft.at}
    while ahead:
        reached |= ahead
        ahead = {name for place in ahead for name in (following.get(place), back.get(place)) if name} - reached
    return reached


def certificate_rules(s: Scenario) -> Iterator[Found]:
    """No certificate before flight test. In the place of the flights itself it may be: its flights may lie behind."""
    following = next_positions(s)
    flown = {position.id for position in s.positions if position.flights}
    for n, m, package in each_package(s):
        name, seen = following.get(s.positions[n].id), {s.positions[n].id}
        while package.certificate and name is not None and name not in seen:
            if name in flown:
                yield ("positions", n, "packages", m), "no certificate before flight test: flights lie beyond it"
                break
            seen.add(name)
            name = following.get(name)


def standing_rules(s: Scenario) -> Iterator[Found]:
    """Aircraft on the floor at the start stand in docks that exist."""
    docks = {position.id: position.docks for position in s.positions}
    half = {position.id: position.half for position in s.positions}
    standing = dict.fromkeys(docks, 0)
    for n, aircraft in enumerate(s.on_the_line):
        at = ("on_the_line", n, "at")
        for place in aircraft.at:
            standing[place] = standing.get(place, 0) + 1
            if place in docks and standing[place] == docks[place] + 1:
                yield at, f"{place} has {docks[place]} dock{'s' * (docks[place] != 1)}; more aircraft stand in it"
        halves = sorted(half[place] or "" for place in aircraft.at if place in half)
        if set(aircraft.at) <= set(half) and halves not in ([""], ["fuselage", "wing"]):
            yield at, ("before mate both halves stand somewhere: name the fuselage's and the wing's position"
                       if any(halves) else "an aircraft stands in one position")


def flight_rules(s: Scenario) -> Iterator[Found]:
    """Flight test and acceptance can be done and staffed."""
    for n, position in enumerate(s.positions):
        flights, acceptance, at = position.flights, position.acceptance, ("positions", n)
        if flights and flights.flight_hours > flights.pilot_hours:
            yield (*at, "flights", "flight_hours"), "the airborne part is longer than the whole block"
        if flights and flights.max_duty_hours is not None and flights.pilot_hours > flights.max_duty_hours:
            yield (*at, "flights", "pilot_hours"), (f"one flight block is longer than the duty of a day, "
                                                    f"{flights.max_duty_hours:g} hours: nothing could be flown")
        if acceptance and acceptance.pilot_flies and (acceptance.pilots is None or not acceptance.pilot_hours):
            yield (*at, "acceptance", "pilot_flies"), "needs pilots and their pilot_hours"
        own = acceptance.squawks if acceptance else None
        if own and own.fix_hours is None and not any(p.flights and p.flights.squawks for p in s.positions):
            yield (*at, "acceptance", "squawks"), "fix_hours is missing: no flight test to take it from"
        for field, squawks in (("flights", flights.squawks if flights else None), ("acceptance", own)):
            if squawks and not sum(squawks.trades.values()):
                yield (*at, field, "squawks", "trades"), "somebody must fix squawks: the shares add up to 0"


def service_rules(s: Scenario) -> Iterator[Found]:
    """Breakdowns have both lengths, and time passes between them."""
    for n, position in enumerate(s.positions):
        rules, path = position.out_of_service, ("positions", n, "out_of_service")
        if rules is None:
            continue
        if (rules.hours_up is None) != (rules.hours_down is None):
            yield path, "needs both hours_up and hours_down, or neither"
        if rules.hours_up is not None and rules.hours_up.mean <= 0:
            yield (*path, "hours_up"), f"its mean must be above 0, found {rules.hours_up.mean:g}"
