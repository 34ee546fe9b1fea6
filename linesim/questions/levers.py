"""What a plant may change about a loss: one more of the people who are waited for, one more dock, a fifth less rework,
half the shortages, one more slot.

Cure and hold times, inspections and buy-offs, tool checks, weather limits and the certificate are no levers: nobody may
shorten them to keep a rate, so no scenario is run with less of them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

import numpy as np

from ..line.plans import PlacePlan
from ..line.records import State
from ..line.sheet import Sheet
from ..measures.columns import Numbers
from ..measures.run import RunNumbers
from ..scenario.paths import plain
from ..scenario.plant import Position
from .losses import Key

LESS, HALF = Decimal("0.8"), Decimal("0.5")
FOR_PEOPLE = (State.PEOPLE, State.INSPECTOR, State.PILOT)
HELD_UP = (State.LINE_STOP, State.PULSE, State.BLOCKED)
AT_WORK = (State.FLIGHT, State.WORK, State.REWORK, State.HOLD, State.APPOINTMENT)
BLOCKED_SHARE = 0.05  # of the stay in a place: more is a queue that grows back from beyond
BAYS = {"stripe bay": "stripe_bays", "cure bay": "cure_bays"}


@dataclass(frozen=True, slots=True)
class Lever:
    """A permitted change by paths of the scenario, in words; without changes, why there is none."""

    words: str
    changes: Mapping[str, object] = field(default_factory=dict)

    @property
    def there(self) -> bool:
        """Whether there is a change to run."""
        return bool(self.changes)


class Plant:
    """A scenario and what its runs waited for and did in each place: a lever is chosen from them."""

    def __init__(self, sheet: Sheet, runs: Sequence[RunNumbers]) -> None:
        self.sheet, self.scenario = sheet, sheet.scenario
        self.trades = ["", *self.scenario.trades]
        self.waits: Numbers = sum((run.waits for run in runs), np.zeros_like(runs[0].waits))
        self.hours: Numbers = sum((run.places for run in runs), np.zeros_like(runs[0].places))
        jobs = [job for place in sheet.places for job in place.jobs]
        self.inspectors = {job.trade for job in jobs if job.kind == "buy-off"} | {
            job.inspector for job in jobs if job.inspection} | {hold.trade for hold in self.scenario.fleet_holds}

    def most_waited_for(self, places: Sequence[int], able: Callable[[str], bool] = lambda _: True) -> str | None:
        """The trade that jobs in these places waited for longest, of those that are able."""
        hours = self.waits[list(places)].sum(axis=0)
        found = [(hours[n], trade) for n, trade in enumerate(self.trades) if trade and hours[n] > 0 and able(trade)]
        return max(found, key=lambda one: one[0])[1] if found else None

    def of_pulse(self) -> tuple[str, ...]:
        """Positions of a pulse line in force."""
        rules = self.scenario.pulse
        return rules.positions if rules is not None and rules.in_force else ()


def lever(plant: Plant, key: Key) -> Lever:
    """What may be changed about a loss."""
    place, state = key
    return LEVERS[state](plant, plant.sheet.places[place])


# people --------------------------------------------------------------------------------------------------------------
def _people(plant: Plant, place: PlacePlan) -> Lever:
    pilots = _pilots(place.position)
    trade = plant.most_waited_for([place.index], lambda one: one not in plant.inspectors and one not in pilots)
    return _one_more(plant, place, trade or plant.most_waited_for([place.index]))


def _inspector(plant: Plant, place: PlacePlan) -> Lever:
    return _one_more(plant, place, plant.most_waited_for([place.index], lambda one: one in plant.inspectors))


def _pilot(plant: Plant, place: PlacePlan) -> Lever:
    return _one_more(plant, place, plant.most_waited_for([place.index], lambda one: one in _pilots(place.position)))


def _pilots(position: Position) -> set[str | None]:
    return {one.pilots for one in (position.flights, position.acceptance) if one is not None}


def _one_more(plant: Plant, place: PlacePlan, trade: str | None) -> Lever:
    """One person more of a trade where it works for this place: on the reference shift, if it has people there."""
    if trade is None:
        return Lever("not a lever: no trade is short here")
    declared = plant.scenario.trades[trade]
    shifts = [shift for shift, people in declared.people.items() if people] or list(declared.people)
    open_on = [shift for shift in shifts if not place.position.shifts or shift in place.position.shifts] or shifts
    if not open_on:
        return Lever(f"not a lever: {trade} has nobody on any shift in the file")
    reference = plant.sheet.calendar.reference_shift
    shift = reference if reference in open_on else open_on[0]
    changes: dict[str, object] = {f"trades.{trade}.people" + (f".{shift}" if shift else ""): "+1"}
    steps = [{**plain(step), "people": step.people + (step.shift == shift)} for step in declared.headcount_steps]
    if steps and any(step.shift == shift for step in declared.headcount_steps):
        changes[f"trades.{trade}.headcount_steps"] = steps
    named = f"{declared.name} ({trade})" if declared.name else trade
    return Lever(f"one more {named}" + (f" on the {shift} shift" if len(declared.people) > 1 else ""), changes)


# places --------------------------------------------------------------------------------------------------------------
def _room(plant: Plant, place: PlacePlan) -> Lever:
    """Of a place without room: what keeps it full, or the fullest place beyond as far as aircraft stand blocked. Where
    its docks wait more than they work, what they wait for; else, and where that is no lever, one more dock."""
    full = _fullest_from(plant, place)
    kept_by = _mostly(plant, full)
    found = WAITED_FOR[kept_by](plant, full) if kept_by in WAITED_FOR else None
    return found if found is not None and found.there else _dock(plant, full)


def _fullest_from(plant: Plant, place: PlacePlan) -> PlacePlan:
    """Of a place and those beyond it, as long as aircraft stand blocked in more than BLOCKED_SHARE of their stay, the
    one whose docks are at work or waiting, neither blocked nor empty, most of the time."""
    line = [place]
    while _held_up(plant, line[-1]) > BLOCKED_SHARE:
        after = line[-1].next
        if after is None or plant.sheet.places[after] in line:
            break
        line.append(plant.sheet.places[after])
    return max(line, key=lambda one: _at_work_or_waiting(plant, one) / one.docks)


def _held_up(plant: Plant, place: PlacePlan) -> float:
    """Share of the hours in which an aircraft stands in the docks of a place that it is blocked there."""
    hours = plant.hours[place.index]
    return float(hours[list(HELD_UP)].sum() / max(hours[1:].sum(), 1e-9))


def _at_work_or_waiting(plant: Plant, place: PlacePlan) -> float:
    hours = plant.hours[place.index]
    return float(hours[1:].sum() - hours[list(HELD_UP)].sum())


def _mostly(plant: Plant, place: PlacePlan) -> str:
    """What the docks of a place are in for most of their working hours, empty and blocked ones aside."""
    hours = plant.hours[place.index]
    of = {"work": AT_WORK, "people": FOR_PEOPLE, "parts": (State.PARTS,), "customer": (State.CUSTOMER,),
          "tool": (State.LOCKED,), "half": (State.OTHER_HALF,), "weather": (State.WEATHER, State.OFF_SHIFT)}
    return max(of, key=lambda name: float(hours[list(of[name])].sum()))


def _position(place: PlacePlan) -> tuple[str, str]:
    """The position of a place as the file calls it, and what kind of bay of it the place is; "" its docks."""
    for bay in BAYS:
        if place.id.endswith(f" {bay}"):
            return place.id.removesuffix(f" {bay}"), bay
    return place.id, ""


def _dock(plant: Plant, place: PlacePlan) -> Lever:
    position, bay = _position(place)
    if bay:
        return Lever(f"one more {bay} of {position}", {f"positions.{position}.{BAYS[bay]}": "+1"})
    if position in plant.of_pulse():
        trade = plant.most_waited_for([place.index])
        return _one_more(plant, place, trade) if trade else Lever(
            "not a lever: a position of the pulse line has one dock")
    name = f"{place.position.name} ({position})" if place.position.name else position
    return Lever(f"one more dock in {name}", {f"positions.{position}.docks": "+1"})


# parts, rework, appointments, tools ----------------------------------------------------------------------------------
def _parts(plant: Plant, place: PlacePlan) -> Lever:
    """Half the shortages that can hit this place: a part, a long-lead item of this position, a squawk's part."""
    parts, changes, (position, _) = plant.scenario.parts, dict[str, object](), _position(place)
    if parts is not None:
        if parts.short_chance and any(package.can_be_short for package in place.position.packages):
            changes["parts.short_chance"] = _times(HALF, parts.short_chance)
        late = [{**plain(one), "late_chance": _times(HALF, one.late_chance)} if one.position == position else plain(one)
                for one in parts.long_lead]
        if any(one.position == position and one.late_chance for one in parts.long_lead):
            changes["parts.long_lead"] = late
    changes.update(_squawk_parts(plant, place))
    return Lever("half as many short and late parts", changes) if changes else Lever(
        "not a lever: an answer by engineering, or an inspection that it asks for")


def _squawk_parts(plant: Plant, place: PlacePlan) -> dict[str, object]:
    position, own, at = place.position, dict[str, object](), f"positions.{_position(place)[0]}"
    flown = next((one.flights.squawks for one in plant.scenario.positions if one.flights and one.flights.squawks), None)
    if position.flights and position.flights.squawks and position.flights.squawks.needs_part_share:
        own[f"{at}.flights.squawks.needs_part_share"] = _times(
            HALF, position.flights.squawks.needs_part_share)
    if position.acceptance and position.acceptance.squawks:
        share = position.acceptance.squawks.needs_part_share
        share = share if share is not None else flown.needs_part_share if flown else 0.0
        if share:
            own[f"{at}.acceptance.squawks.needs_part_share"] = _times(HALF, share)
    return own


def _rework(plant: Plant, place: PlacePlan) -> Lever:
    """A fifth less of what is done again here: squawks, defects, rounds of paint, repeated runs, faults to be fixed."""
    position, quality, at = place.position, plant.scenario.quality, f"positions.{_position(place)[0]}"
    dials: dict[str, Any] = {}
    if position.flights and position.flights.squawks:
        dials[f"{at}.flights.squawks.dial"] = position.flights.squawks.dial
    if position.acceptance and position.acceptance.squawks:
        dials[f"{at}.acceptance.squawks.mean"] = position.acceptance.squawks.mean
    if quality is not None and quality.defects_per_100_hours:
        dials["quality.dial"] = quality.dial
    if place.repaint is not None and position.repaint is not None:
        dials[f"{at}.repaint.chance"] = position.repaint.chance
    dials[f"{at}.repeat_chance"] = position.repeat_chance
    dials |= {f"{at}.packages.{package.id}.chance": package.chance for package in position.packages if package.rework}
    changes = {path: _times(LESS, value) for path, value in dials.items() if value}
    return Lever("a fifth less rework", changes) if changes else Lever(
        "not a lever: work that a torque check or an inspection asks for is done")


def _appointment(plant: Plant, place: PlacePlan) -> Lever:
    """One more slot on each day of the plant's own appointments. That of the certificate is not the plant's."""
    packages = [package for package in place.position.packages if package.kind == "appointment"]
    if any(package.certificate for package in packages):
        return Lever("not a lever: the certificate is given by its own authority")
    at = f"positions.{_position(place)[0]}"
    changes: dict[str, object] = {f"{at}.packages.{package.id}.slots_per_day": "+1" for package in packages}
    if place.position.acceptance is not None:
        changes[f"{at}.acceptance.slots_per_day"] = "+1"
    what = "acceptance" if place.position.acceptance is not None else "appointment"
    name = f"{place.position.name} ({place.id})" if place.position.name else place.id
    return Lever(f"one more {what} on each of its days at {name}", changes) if changes else Lever(
        "not a lever: the customer's date")


def _tool(plant: Plant, place: PlacePlan) -> Lever:
    control = plant.scenario.tool_control
    if control is None or control.missing_tool is None or not control.missing_tool.chance:
        return Lever("not a lever: a stop that the file states as a fact")
    return Lever("half as many missing tools (the checks stay)",
                 {"tool_control.missing_tool.chance": _times(HALF, control.missing_tool.chance)})


# what depends on others ----------------------------------------------------------------------------------------------
def _half(plant: Plant, place: PlacePlan) -> Lever:
    """The half that is waited for: one more of the people whom it waits for most."""
    others = [one for one in plant.sheet.places if one.half and one.half != place.half]
    return _of_places(plant, others, "not a lever: the other half waits for nobody")


def _line_stop(plant: Plant, place: PlacePlan) -> Lever:
    line = [one for one in plant.sheet.places if one.id in plant.of_pulse()]
    return _of_places(plant, line, "not a lever: nothing on the line waits for people")


def _of_places(plant: Plant, places: Sequence[PlacePlan], otherwise: str) -> Lever:
    trade = plant.most_waited_for([one.index for one in places]) if places else None
    if trade is None:
        return Lever(otherwise)
    at = max(places, key=lambda one: float(plant.waits[one.index, plant.trades.index(trade)]))
    return _one_more(plant, at, trade)


def _closed(plant: Plant, place: PlacePlan) -> Lever:
    if place.position.out_of_service is not None:
        return Lever("not a lever: service of the place and the limits of its climate")
    return Lever("not a lever here: nobody is on shift; another shift is another scenario (linesim compare)")


def _content(plant: Plant, place: PlacePlan) -> Lever:
    return Lever("not a lever: it is work, a flight, a cure, a hold or an appointment, and no loss")


def _weather(plant: Plant, place: PlacePlan) -> Lever:
    return Lever("not a lever: weather limits and daylight")


def _pulse(plant: Plant, place: PlacePlan) -> Lever:
    return Lever("not a lever: the pulse is the takt; another one is tried with linesim rate")


def _times(factor: Decimal, value: float) -> float:
    """As one would write it: half of 0.02 is 0.01."""
    return float(Decimal(str(value)) * factor)


WAITED_FOR: dict[str, Callable[[Plant, PlacePlan], Lever]] = {
    "people": lambda plant, place: _one_more(plant, place, plant.most_waited_for([place.index])), "parts": _parts,
    "customer": _appointment, "tool": _tool, "half": _half}
LEVERS: dict[State, Callable[[Plant, PlacePlan], Lever]] = {
    **dict.fromkeys((State.FLIGHT, State.WORK, State.HOLD, State.APPOINTMENT), _content), State.REWORK: _rework,
    State.LOCKED: _tool, State.PEOPLE: _people, State.INSPECTOR: _inspector, State.PILOT: _pilot,
    State.WEATHER: _weather, State.OFF_SHIFT: _closed, State.PARTS: _parts, State.CUSTOMER: _appointment,
    State.OTHER_HALF: _half, State.LINE_STOP: _line_stop, State.PULSE: _pulse, State.BLOCKED: _room}
