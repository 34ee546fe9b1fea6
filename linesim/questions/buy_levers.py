"""Everything that a plant may change, one by one, made from its scenario in the language of changes.

First what costs nothing: who is served first, cover between trades, the launch cap, what travels on a pulse line. Then
one more of each trade, a dock, a spot, a booth, a bay, an appointment, an evening shift; then a fifth fewer squawks and
defects, less absence, parts that come sooner. Cure and hold times, inspections and buy-offs, the most people of a
package, tool checks, weather limits, flights and the certificate stay as they are: no change here touches them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from ..scenario.changing import changed
from ..scenario.faults import ScenarioFaults
from ..scenario.paths import plain
from ..scenario.people import ByPlaces, Trade
from ..scenario.plant import Position
from ..scenario.plant_rules import INSPECTOR
from ..scenario.scenario import Scenario

LESS = Decimal("0.8")
TRAVELS = Decimal("0.1")  # share of a position's hours by which more may travel
FEW_PLACES = 4            # a trade of so many places at most has an order of serving them, and a shift of its own
ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")
FREE, PEOPLE, PLACE, EFFORT = "nothing", "paid hours", "a place", "effort"  # what a change takes
NOT_SCALED = ("cv", "k")


@dataclass(frozen=True, slots=True)
class Change:
    """One change in words and by paths; `key` names it also where a change before it altered the numbers in its words;
    `takes` says what it takes."""

    key: str
    words: str
    changes: Mapping[str, object]
    takes: str


@dataclass(frozen=True, slots=True)
class Candidate:
    """A change with the scenario that it makes."""

    change: Change
    scenario: Scenario


def candidates_of(scenario: Scenario) -> tuple[list[Candidate], list[tuple[Change, str]]]:
    """All changes that can be run, and those that the file forbids with the first fault."""
    able, unable = list[Candidate](), list[tuple[Change, str]]()
    for change in changes_of(scenario):
        try:
            able.append(Candidate(change, changed(scenario, change.changes)))
        except ScenarioFaults as faults:  # leave for one person more may find no room, say
            unable.append((change, str(faults.faults[0])))
    return able, unable


def changes_of(scenario: Scenario) -> list[Change]:
    """All changes of a scenario, those that cost nothing first."""
    return [*_serving(scenario), *_cover(scenario), *_cap(scenario), *_travel(scenario), *_people(scenario),
            *_places(scenario), *_appointments(scenario), *_evening(scenario), *_less(scenario)]


# what costs nothing --------------------------------------------------------------------------------------------------
def _serving(s: Scenario) -> Iterator[Change]:
    if s.trades and s.work_rules.dispatch != "furthest along":
        yield Change("furthest along", "the aircraft furthest along served first", {
            "work_rules.dispatch": "furthest along"}, FREE)
    for name, trade in s.trades.items():
        places = places_of(s, name)
        if 2 <= len(places) <= FEW_PLACES and trade.dispatch != ByPlaces(places=tuple(one.id for one in places)):
            yield Change(f"serving {name}", f"{place_words(places[0])} first in the queue for {name}", {
                f"trades.{name}.dispatch": {"places": [one.id for one in places]}}, FREE)


def places_of(s: Scenario, trade: str) -> list[Position]:
    """Positions at which a trade works, in order of flow."""
    return [position for position in s.positions if trade in _trades_of(position)]


def _trades_of(position: Position) -> set[str]:
    flights, acceptance, repaint = position.flights, position.acceptance, position.repaint
    found = {package.trade or INSPECTOR for package in position.packages
             if package.trade or package.kind == "buy-off"}
    found |= _inspectors_of(position) | ({repaint.trade} if repaint else set())
    if flights:
        found |= {flights.pilots, flights.mechanics or ""} | set(flights.squawks.trades if flights.squawks else ())
    if acceptance:
        found |= {acceptance.delivery_trade or "", acceptance.pilots or ""}
        found |= set(acceptance.squawks.trades if acceptance.squawks else ())
    return found - {""}


def _inspectors_of(position: Position) -> set[str]:
    return {package.inspector or INSPECTOR for package in position.packages if package.inspection_hours} | {
        package.trade or INSPECTOR for package in position.packages if package.kind == "buy-off"}


def _cover(s: Scenario) -> Iterator[Change]:
    if not s.work_rules.cover_in_force and (covered := [name for name, one in s.trades.items() if one.cover]):
        yield Change("cover", f"cover for {' and '.join(covered)} in force", {
            "work_rules.cover_in_force": True}, FREE)


def _cap(s: Scenario) -> Iterator[Change]:
    """No more aircraft before delivery than there are docks for them, so that none need stand parked."""
    if (now := s.launches.most_on_line) is not None:
        yield Change("cap", f"launch cap {now + 1} instead of {now}", {"launches.most_on_line": "+1"}, FREE)
        return
    before = [position for position in s.positions if position.acceptance is None]
    docks = sum(one.docks for one in before if one.half != "wing")  # two halves are one aircraft
    if len(before) > 1 and any(one.parking for one in before):
        yield Change("cap", f"at most {docks} aircraft from launch to the end of {before[-1].id}", {
            "launches.most_on_line": docks, "launches.most_on_line_until": before[-1].id}, FREE)


def _travel(s: Scenario) -> Iterator[Change]:
    if s.pulse is None or not s.pulse.in_force:
        return
    now = Decimal(str(s.pulse.travel_max_share))
    if now and now < 1:
        more = min(now + TRAVELS, Decimal(1))
        yield Change("more travels", f"up to {more:.0%} of a position's hours may travel ({now:.0%} now)", {
            "pulse.travel_max_share": float(more)}, FREE)
    if now:
        yield Change("nothing travels", f"no work travels ({now:.0%} of a position's hours may now)", {
            "pulse.travel_max_share": 0.0}, FREE)
    if s.pulse.stops == "whole line":
        yield Change("stops", "only those behind stand when one aircraft may not move", {
            "pulse.stops": "those behind"}, FREE)


# people --------------------------------------------------------------------------------------------------------------
def _people(s: Scenario) -> Iterator[Change]:
    for name, trade in s.trades.items():
        shifts = [shift for shift, people in trade.people.items() if people]
        if shifts:
            shift = next(iter(s.shifts), "") if next(iter(s.shifts), "") in shifts else shifts[0]
            on = f" on the {shift} shift" if len(shifts) > 1 else ""
            yield Change(f"people {name}", _one_more(name, trade, trade.people[shift] + 1) + on,
                         _more_people(name, trade, shift), PEOPLE)


def _one_more(name: str, trade: Trade, number: int) -> str:
    """A third flight-line mechanic (FLM); one more assembly mechanic (ASM)."""
    called = f"{_lower(trade.name)} ({name})" if trade.name else f"person of {name}"
    return f"{_a(ORDINALS[number - 1])} {called}" if number <= len(ORDINALS) else f"one more {called}"


def _a(word: str) -> str:
    return f"{'an' if word[0] in 'aeiou' else 'a'} {word}"


def _more_people(name: str, trade: Trade, shift: str) -> dict[str, object]:
    found: dict[str, object] = {f"trades.{name}.people" + (f".{shift}" if shift else ""): "+1"}
    if any(step.shift == shift for step in trade.headcount_steps):
        found[f"trades.{name}.headcount_steps"] = [
            {**plain(step), "people": step.people + (step.shift == shift)} for step in trade.headcount_steps]
    return found


# places --------------------------------------------------------------------------------------------------------------
def _places(s: Scenario) -> Iterator[Change]:
    """A dock for each place; of the positions of a line, declared as one, only for that with most to do."""
    line = [one for one in s.positions if s.pulse and one.id in s.pulse.positions]
    moves_at_once = s.pulse is not None and s.pulse.in_force
    longest = max(line, key=_hours_alone, default=None)
    for position in s.positions:
        if position not in line or (position is longest and not moves_at_once):
            kind = _dock(position)
            yield Change(f"{kind} {position.id}", f"{_a(ORDINALS[min(position.docks, 9)])} {kind} in "
                         f"{place_words(position)}", {f"positions.{position.id}.docks": "+1"}, PLACE)
        if any(package.stripe for package in position.packages):
            yield Change(f"stripe bay {position.id}", f"{'one more' if position.stripe_bays else 'a'} stripe bay "
                         f"outside {place_words(position)}", {f"positions.{position.id}.stripe_bays": "+1"}, PLACE)


def _dock(position: Position) -> str:
    if position.flights is not None:
        return "spot"
    if position.repaint is not None or any(package.stripe for package in position.packages):
        return "booth"
    return "dock" if position.acceptance is None else "bay"


def _hours_alone(position: Position) -> float:
    """What the packages of a place would take one after another with all the people they may have."""
    return sum(one.hours.mean / one.people[1] + (one.elapsed_hours.mean if one.elapsed_hours else 0.0)
               for one in position.packages)


def _appointments(s: Scenario) -> Iterator[Change]:
    """Appointments that are the plant's own; those of the certificate are not."""
    for position in s.positions:
        at = f"positions.{position.id}"
        if position.acceptance is not None:
            number = ORDINALS[min(position.acceptance.slots_per_day, 9)]
            yield Change(f"slots {position.id}", f"{_a(number)} acceptance on each of its days", {
                f"{at}.acceptance.slots_per_day": "+1"}, EFFORT)
        for package in position.packages:
            if package.kind == "appointment" and not package.certificate:
                called = _lower(package.name) or package.id
                yield Change(f"slots {package.id}", f"one more {called} on each of its days", {
                    f"{at}.packages.{package.id}.slots_per_day": "+1"}, EFFORT)


# an evening shift ----------------------------------------------------------------------------------------------------
def _evening(s: Scenario) -> Iterator[Change]:
    """Where places are closed on the second shift, they open with a crew; else trades of few places work it, each by
    itself."""
    if len(s.shifts) < 2:
        return
    shift = list(s.shifts)[1]
    closed = [one for one in s.positions if one.shifts is not None and shift not in one.shifts]
    apart = _inspectors(s) | _pilots(s)
    if closed:
        trades = [name for name in s.trades if name not in apart and any(name in _trades_of(one) for one in closed)]
        changes: dict[str, object] = {f"positions.{one.id}.shifts": [*(one.shifts or ()), shift] for one in closed}
        for name in trades:
            changes |= _on_shift(s, name, shift)
        yield Change(f"{shift} shift", f"{_a(shift)} shift in {' and '.join(one.id for one in closed)}{_with(changes)}",
                     changes, PEOPLE)
        return
    for name in s.trades:
        if name not in apart and 1 <= len(places_of(s, name)) <= FEW_PLACES and (more := _on_shift(s, name, shift)):
            yield Change(f"{shift} shift {name}", f"{_a(shift)} shift of {name}{_with(more)}", more, PEOPLE)


def _with(changes: Mapping[str, object]) -> str:
    crews = [f"{people} {path.split('.')[1]}" for path, people in changes.items()
             if path.startswith("trades.") and isinstance(people, int)]
    return f" ({', '.join(crews)} more)" if crews else ""


def _on_shift(s: Scenario, name: str, shift: str) -> dict[str, object]:
    """A crew for the job of theirs that takes most people, no larger than by day; nothing where some are there already,
    or none by day."""
    trade, first = s.trades[name], next(iter(s.shifts))
    by_day = trade.people.get(first, trade.people.get("", 0))
    if trade.people.get(shift) or not by_day:
        return {}
    most = max([package.people[1] for one in s.positions for package in one.packages if package.trade == name] + [1])
    people = min(by_day, most)
    if "" in trade.people:
        return {f"trades.{name}.people": {first: by_day, shift: people}}
    return {f"trades.{name}.people.{shift}": people}


def _inspectors(s: Scenario) -> set[str]:
    return {INSPECTOR}.union(*(_inspectors_of(position) for position in s.positions))


def _pilots(s: Scenario) -> set[str | None]:
    return {part.pilots for one in s.positions for part in (one.flights, one.acceptance) if part is not None}


# less of what goes wrong ---------------------------------------------------------------------------------------------
def _less(s: Scenario) -> Iterator[Change]:
    dials = {f"positions.{one.id}.flights.squawks.dial": one.flights.squawks.dial for one in s.positions
             if one.flights and one.flights.squawks}
    dials |= {f"positions.{one.id}.acceptance.squawks.mean": one.acceptance.squawks.mean for one in s.positions
              if one.acceptance and one.acceptance.squawks}
    if dials := {path: _times(value) for path, value in dials.items() if value}:
        yield Change("squawks", "a fifth fewer squawks", dials, EFFORT)
    if s.quality is not None and s.quality.defects_per_100_hours and s.quality.dial:
        yield Change("defects", "a fifth fewer defects", {"quality.dial": _times(s.quality.dial)}, EFFORT)
    absence = s.attendance.absence if s.attendance else None
    if absence is not None and absence.share:
        yield Change("absence", "a fifth less absence", {"attendance.absence.share": _times(absence.share)}, EFFORT)
    if sooner := {**_sooner(s), **_squawk_parts(s)}:
        yield Change("parts", "parts that are short or late come a fifth sooner", sooner, EFFORT)


def _sooner(s: Scenario) -> dict[str, object]:
    found: dict[str, object] = {}
    if s.parts is not None and s.parts.short_chance and s.parts.delay_work_days.mean:
        found["parts.delay_work_days"] = _shorter(s.parts.delay_work_days.as_declared())
    late = s.parts.long_lead if s.parts else ()
    if any(one.late_chance for one in late):
        found["parts.long_lead"] = [{**plain(one), "delay_work_days": _shorter(one.delay_work_days.as_declared())}
                                    for one in late]
    return found


def _squawk_parts(s: Scenario) -> dict[str, object]:
    return {f"positions.{one.id}.flights.squawks.part_delay_work_days":
            _shorter(one.flights.squawks.part_delay_work_days.as_declared()) for one in s.positions
            if one.flights and one.flights.squawks and one.flights.squawks.needs_part_share}


def _shorter(spread: Any) -> Any:
    """A spread as a file states it, all its values a fifth less."""
    if isinstance(spread, dict):
        return {key: value if key in NOT_SCALED else _shorter(value) for key, value in spread.items()}
    return [_shorter(value) for value in spread] if isinstance(spread, list) else _times(spread)


def _times(value: float) -> float:
    return float(Decimal(str(value)) * LESS)


# words ---------------------------------------------------------------------------------------------------------------
def place_words(position: Position) -> str:
    """A place in the middle of a sentence: engine run (ER)."""
    return f"{_lower(position.name)} ({position.id})" if position.name else position.id


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:] if text[1:2].islower() else text
