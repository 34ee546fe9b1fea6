"""Rules that tie the parts of a scenario together: what must agree before anything runs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise
from typing import Any
from zoneinfo import available_timezones

from .faults import did_you_mean
from .people import Shift
from .plant import Crewed, Package, Position
from .scenario import Scenario

Found = tuple[tuple[Any, ...], str]
INSPECTOR = "INS"
VFR_CEILING_FT = 1000.0     # 14 CFR 91.155(a), below 10,000 ft: 3 statute miles, 1,000 ft above, 500 ft below cloud
VFR_VISIBILITY_SM = 3.0


def faults_of(scenario: Scenario) -> list[Found]:
    """All faults of a scenario, each with the path of its place."""
    checks = (_dates, _shifts, _names, _packages, _trades, _routing, _launches, _orders, _flight_rules, _hours)
    return [fault for check in checks for fault in check(scenario)]


def _unknown(what: str, found: object, known: Iterable[str]) -> str:
    names = list(known)
    return f"unknown {what} {found!r}" + (did_you_mean(found, names) or f"; there is {', '.join(names) or 'none'}")


def _dates(s: Scenario) -> Iterator[Found]:
    if s.end < s.start:
        yield ("end",), f"must not lie before the start {s.start}, found {s.end}"
    if s.window and s.window.last < s.window.first:
        yield ("window", "to"), f"must not lie before {s.window.first}, found {s.window.last}"
    if s.window and (s.window.first > s.end or s.window.last < s.start):
        yield ("window",), f"lies outside the run, {s.start} to {s.end}"
    if s.time_zone and s.time_zone not in available_timezones():
        yield ("time_zone",), _unknown("time zone", s.time_zone, sorted(available_timezones()))[:200]
    for before, after in pairwise(s.launches.steps):
        if after.day <= before.day:
            yield ("launches", "steps"), f"dates must ascend; {after.day} follows {before.day}"
    for n, lock in enumerate(s.known.tool_locks):
        if lock.ends <= lock.begins:
            yield ("known", "tool_locks", n), "must end after it begins"


def _shifts(s: Scenario) -> Iterator[Found]:
    checks = s.tool_control and (s.tool_control.start_check_minutes or s.tool_control.end_check_minutes)
    for name, shift in s.shifts.items():
        at = ("shifts", name)
        gross = [field for field in ("start", "end", "meal", "meal_minutes", "breaks", "paid_break_minutes")
                 if getattr(shift, field) is not None]
        gross += [field for field in ("meeting_minutes", "clean_down_minutes") if getattr(shift, field)]
        if shift.work is not None and gross:
            yield at, f"net work blocks and {gross[0]!r} say the same time twice: give one of them"
        elif shift.work is not None and checks:
            yield at, "net work blocks and the minutes of tool checks say the same time twice: give start and end"
        elif shift.work is None and (shift.start is None or shift.end is None):
            yield at, "needs start and end, or its work blocks"
        yield from ((at, message) for message in _twice(shift))


def _twice(shift: Shift) -> Iterator[str]:
    if shift.meal is not None and shift.meal_minutes is not None:
        yield "meal and meal_minutes say the same thing twice"
    if shift.breaks is not None and shift.paid_break_minutes is not None:
        yield "breaks and paid_break_minutes say the same thing twice"


def _names(s: Scenario) -> Iterator[Found]:
    seen: set[str] = set()
    for n, position in enumerate(s.positions):
        if position.id in seen:
            yield ("positions", n, "id"), f"position {position.id!r} is written twice"
        seen.add(position.id)
    packages: set[str] = set()
    for n, m, package in _each_package(s):
        if package.id in packages:
            yield ("positions", n, "packages", m, "id"), f"package {package.id!r} is written twice in the plant"
        packages.add(package.id)


def _each_package(s: Scenario) -> Iterator[tuple[int, int, Package]]:
    for n, position in enumerate(s.positions):
        for m, package in enumerate(position.packages):
            yield n, m, package


def _packages(s: Scenario) -> Iterator[Found]:
    for n, position in enumerate(s.positions):
        ids = [package.id for package in position.packages]
        before = {p.id: p.after if p.after is not None else tuple(ids[max(0, m - 1):m])
                  for m, p in enumerate(position.packages)}
        for m, package in enumerate(position.packages):
            at = ("positions", n, "packages", m)
            for name in package.after or ():
                if name not in ids:
                    yield (*at, "after"), _unknown("package of this position", name, ids)
            yield from ((at, message) for message in _package_rules(package))
            own = {p.trade for p in position.packages if p.id in before[package.id] and p.kind == "work"}
            if package.kind == "buy-off" and (package.trade or INSPECTOR) in own:
                yield at, f"{package.trade or INSPECTOR} would buy off its own work; another trade must do it"
            if package.records is not None and package.records not in ids:
                yield (*at, "records"), _unknown("package of this position", package.records, ids)
        ring = _ring(before)
        if ring:
            yield ("positions", n, "packages"), "packages wait for each other in a ring: " + " after ".join(ring)
        if position.repaint:
            yield from ((("positions", n, "repaint"), message) for message in _crew(position.repaint))


def _package_rules(p: Package) -> Iterator[str]:
    yield from _crew(p)
    works = p.kind in ("work", "buy-off")
    if p.kind == "hold" and p.elapsed_hours is None:
        yield "a hold needs elapsed_hours"
    if p.kind != "hold" and p.elapsed_hours is not None:
        yield f"elapsed_hours belongs to a hold; this is {p.kind}"
    if not works and (p.trade or p.hours.mean or p.inspection_hours or p.cure_hours):
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


def _ring(before: dict[str, tuple[str, ...]]) -> list[str]:
    """A ring of predecessors, first name repeated at the end; empty if there is none."""
    done: set[str] = set()
    for start in before:
        walk: list[tuple[str, Iterator[str]]] = [(start, iter(before[start]))]
        while walk:
            name = next(walk[-1][1], None)
            on_walk = [step for step, _ in walk]
            if name is None:
                done.add(walk.pop()[0])
            elif name in on_walk:
                return [*on_walk[on_walk.index(name):], name]
            elif name in before and name not in done:
                walk.append((name, iter(before[name])))
    return []


def _trades(s: Scenario) -> Iterator[Found]:
    for path, trade in _trades_named(s):
        if trade not in s.trades:
            yield path, _unknown("trade", trade, s.trades)
    for name, declared in s.trades.items():
        for shift in declared.people:
            if shift and shift not in s.shifts:
                yield ("trades", name, "people", shift), _unknown("shift", shift, s.shifts)
        buys_off = any(p.kind == "buy-off" and (p.trade or INSPECTOR) == name for _, _, p in _each_package(s))
        if declared.cover and (buys_off or name == INSPECTOR):
            yield ("trades", name, "cover"), "a buy-off trade neither lends nor borrows"
    for n, position in enumerate(s.positions):
        for shift in position.shifts or ():
            if shift not in s.shifts:
                yield ("positions", n, "shifts"), _unknown("shift", shift, s.shifts)


def _trades_named(s: Scenario) -> Iterator[Found]:
    for n, m, package in _each_package(s):
        at = ("positions", n, "packages", m)
        if package.trade or package.kind == "buy-off":
            yield (*at, "trade"), package.trade or INSPECTOR
        if package.inspection_hours:
            yield (*at, "inspector"), package.inspector or INSPECTOR
    for n, position in enumerate(s.positions):
        place = ("positions", n)
        if position.repaint:
            yield (*place, "repaint", "trade"), position.repaint.trade
        if position.flights:
            yield (*place, "flights", "pilots"), position.flights.pilots
            if position.flights.mechanics:
                yield (*place, "flights", "mechanics"), position.flights.mechanics
            for trade in position.flights.squawks.trades if position.flights.squawks else ():
                yield (*place, "flights", "squawks", "trades", trade), trade
        if position.acceptance:
            for field in ("delivery_trade", "pilots"):
                if getattr(position.acceptance, field):
                    yield (*place, "acceptance", field), getattr(position.acceptance, field)
            for trade in position.acceptance.squawks.trades if position.acceptance.squawks else ():
                yield (*place, "acceptance", "squawks", "trades", trade), trade
    for name, declared in s.trades.items():
        for lender in declared.cover:
            yield ("trades", name, "cover", lender), lender


def next_positions(s: Scenario) -> dict[str, str | None]:
    """Where the aircraft goes from each position; None: off the floor."""
    names: dict[str, str | None] = {}
    for n, position in enumerate(s.positions):
        same = next((p.id for p in s.positions[n + 1:] if p.half == position.half), None)
        mate = next((p.id for p in s.positions if p.half is None), None) if position.half else None
        names[position.id] = None if position.next == "out" else position.next or same or mate
    return names


def _routing(s: Scenario) -> Iterator[Found]:
    index = {position.id: n for n, position in enumerate(s.positions)}
    for n, position in enumerate(s.positions):
        for path, name in _positions_named(n, position):
            if name not in index:
                yield path, _unknown("position", name, index)
    following = next_positions(s)
    ring = _ring({name: (after,) if after else () for name, after in following.items()})
    if ring:
        yield ("positions", index[ring[0]]), "the routing goes in a ring: " + ", ".join(ring)
        return
    halves = {half: next((p.id for p in s.positions if p.half == half), None) for half in ("fuselage", "wing")}
    if (halves["fuselage"] is None) != (halves["wing"] is None):
        yield ("positions",), "both halves need positions before mate, or none"
    reached: set[str] = {entry for aircraft in s.on_the_line for entry in aircraft.at}
    reached |= {name for name in halves.values() if name} or {s.positions[0].id}
    for _ in s.positions:
        reached |= {after for name in reached if (after := following.get(name))}
    for position in s.positions:
        if position.id not in reached:
            yield ("positions", index[position.id]), "no aircraft can reach this position"
    for n, m, package in _each_package(s):
        if package.certificate and _leads_to_flights(s.positions[n].id, following, s):
            yield ("positions", n, "packages", m), "no certificate before flight test: flights lie beyond it"


def _positions_named(n: int, position: Position) -> Iterator[Found]:
    if position.next and position.next != "out":
        yield ("positions", n, "next"), position.next
    if position.back_to:
        yield ("positions", n, "back_to", "position"), position.back_to.position


def _leads_to_flights(name: str | None, following: dict[str, str | None], s: Scenario) -> bool:
    flown = {position.id for position in s.positions if position.flights}
    while name is not None:
        name = following.get(name)
        if name in flown:
            return True
    return False


def _launches(s: Scenario) -> Iterator[Found]:
    l_ = s.launches
    given = [name for name in ("takt_work_days", "moments", "between_hours") if getattr(l_, name) is not None]
    given += ["saturated"] if l_.saturated else []
    if len(given) != 1:
        yield ("launches",), ("needs exactly one of takt_work_days, moments, between_hours, saturated; found "
                              + (", ".join(given) or "none"))
    if l_.steps and l_.takt_work_days is None:
        yield ("launches", "steps"), "steps change a takt; there is no takt_work_days"
    if s.pulse and s.pulse.takt_work_days is not None and s.pulse.takt_work_days != l_.takt_work_days:
        yield ("pulse", "takt_work_days"), (f"the pulse interval is the takt {l_.takt_work_days}; found "
                                            f"{s.pulse.takt_work_days}")
    ahead = len(s.orders or ()) - len(s.on_the_line)
    if l_.moments is not None and s.orders is not None and len(l_.moments) < ahead:
        yield ("launches", "moments"), f"{ahead} orders are to be launched, found {len(l_.moments)} moments"


def _orders(s: Scenario) -> Iterator[Found]:
    serials = [order.serial for order in s.orders or ()]
    for n, serial in enumerate(serials):
        if serial in serials[:n]:
            yield ("orders", n, "serial"), f"serial {serial!r} is ordered twice"
    standing: dict[str, int] = {}
    docks = {position.id: position.docks for position in s.positions}
    half = {position.id: position.half for position in s.positions}
    for n, aircraft in enumerate(s.on_the_line):
        at = ("on_the_line", n)
        if aircraft.serial not in serials:
            yield (*at, "serial"), _unknown("serial", aircraft.serial, serials)[:200]
        if aircraft.serial in [other.serial for other in s.on_the_line[:n]]:
            yield (*at, "serial"), f"{aircraft.serial!r} stands on the floor twice"
        for place in aircraft.at:
            if place not in docks:
                yield (*at, "at"), _unknown("position", place, docks)
                continue
            standing[place] = standing.get(place, 0) + 1
            if standing[place] == docks[place] + 1:
                yield (*at, "at"), f"{place} has {docks[place]} docks; more aircraft stand in it"
        if len({half.get(place) for place in aircraft.at} & {"fuselage", "wing"}) == 1:
            yield (*at, "at"), "before mate both halves stand somewhere: name the fuselage's and the wing's position"
    for kind in ("hours", "packages", "late_parts", "tool_locks", "squawks"):
        for n, fact in enumerate(getattr(s.known, kind)):
            if s.orders is not None and fact.serial not in serials:
                yield ("known", kind, n, "serial"), _unknown("serial", fact.serial, serials)[:200]


def _flight_rules(s: Scenario) -> Iterator[Found]:
    for n, position in enumerate(s.positions):
        flights = position.flights
        if flights and flights.flight_hours > flights.pilot_hours:
            yield ("positions", n, "flights", "flight_hours"), "the airborne part is longer than the whole block"
        own = position.acceptance.squawks if position.acceptance else None
        if own and own.fix_hours is None and not any(p.flights and p.flights.squawks for p in s.positions):
            yield ("positions", n, "acceptance", "squawks"), "fix_hours is missing: no flight test to take it from"
    weather = s.weather
    if weather is None:
        return
    if weather.limits and weather.limits.ceiling_ft is not None and weather.limits.ceiling_ft < VFR_CEILING_FT:
        yield ("weather", "limits", "ceiling_ft"), f"never below {VFR_CEILING_FT:.0f} feet, the day-VFR floor"
    if weather.limits and weather.limits.visibility_sm is not None and weather.limits.visibility_sm < VFR_VISIBILITY_SM:
        yield ("weather", "limits", "visibility_sm"), f"never below {VFR_VISIBILITY_SM:.0f} miles, the day-VFR floor"
    if weather.bad_after_bad and weather.day_to_day_correlation is not None:
        yield ("weather",), "day_to_day_correlation and bad_after_bad say the same thing twice"
    for month, good in (weather.flyable_share_by_month or {}).items():
        if weather.bad_after_bad and (1 - good) * (1 - weather.bad_after_bad[month]) > good:
            yield ("weather", "bad_after_bad"), f"month {month}: the chance of a bad day after a good one is over 1"


def _hours(s: Scenario) -> Iterator[Found]:
    if abs(s.work_time.spread.mean - 1) > 1e-9:
        yield ("work_time", "spread"), f"its mean must be 1, found {s.work_time.spread.mean:g}"
    learning = s.work_time.learning
    if learning and learning.hours_stated_at and learning.hours_stated_at_unit:
        yield ("work_time", "learning"), "hours_stated_at and hours_stated_at_unit say the same thing twice"
    if learning and learning.hours_stated_at and learning.hours_stated_at not in [o.serial for o in s.orders or ()]:
        yield ("work_time", "learning", "hours_stated_at"), f"unknown serial {learning.hours_stated_at!r}"
    for n, item in enumerate(s.parts.long_lead if s.parts else ()):
        if item.position not in [position.id for position in s.positions]:
            yield ("parts", "long_lead", n, "position"), _unknown("position", item.position,
                                                                  [p.id for p in s.positions])
