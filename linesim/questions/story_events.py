"""The events of one aircraft's life, in order of time: what a supervisor would have seen and could look up.

A package is begun, put down and taken up again, its work is done, it is bought off; between these it waits. Only
waiting in working time is told; what is off shift is in the hours of the stays.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from ..line.plans import JobPlan
from ..line.records import PARKING, Closing, Records, State
from ..line.sheet import HOUR, Sheet
from .story import WORKED, Story, Stretch

WAITS = (State.LOCKED, State.PEOPLE, State.INSPECTOR, State.PILOT, State.WEATHER, State.PARTS, State.CUSTOMER,
         State.OTHER_HALF, State.LINE_STOP, State.PULSE, State.BLOCKED)
LEAST = 1.0 / HOUR  # hours of waiting that are told: a minute


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that happened. `what` is: launched, on the line, arrived, parked, begun, taken up, done (its work), put
    down, buy-off begun, bought off, closed, waited, held, flown, written up, appointment, certificate, moved open,
    stopped the line, delivered, finished stock, end of the run."""

    at: float
    what: str
    half: str = ""
    place: int | None = None
    job: str = ""
    until: float | None = None
    state: State | None = None        # waited, held, flown: the reason
    trade: str = ""
    people: tuple[int, int] | None = None  # fewest and most at once
    hours: float | None = None        # done: hours of people; waited: clock hours of the reason; travel: hours left
    count: int | None = None          # which repeat, flight, how many squawks
    planned: float | None = None      # launched: the planned instant; travel: hours before their price
    defects: int = 0                  # bought off: what the gate found, so that it is not bought off yet


def events_of(sheet: Sheet, records: Records, story: Story) -> list[Event]:
    """All events of a life, in order of time."""
    if story.began is None or story.ended is None:
        return []
    found = [*_ends(story), *_stays(story), *_packages(sheet, records, story), *_own_waits(story),
             *_flights(records, story), *_appointments(records, story), *_line(records, story)]
    finds = Counter(one.at for one in records.found if one.serial == story.number)
    found = [replace(one, defects=finds[one.at]) if one.what in ("bought off", "done") and one.at in finds
             and _is_gate(sheet, one.job) else one for one in found]
    return sorted(found, key=lambda one: (one.at, _ORDER.index(one.what)))


def _is_gate(sheet: Sheet, name: str) -> bool:
    return any(job.id == name and job.package.gate for place in sheet.places for job in place.jobs)


# of one instant: what ends stands before what begins
_ORDER = ("launched", "on the line", "flown", "appointment", "bought off", "done", "put down", "closed", "certificate",
          "moved open", "stopped the line", "arrived", "parked", "written up", "held", "waited", "begun", "taken up",
          "buy-off begun", "delivered", "finished stock", "end of the run")


def _ends(story: Story) -> Iterator[Event]:
    assert story.began is not None
    assert story.ended is not None
    if story.launched is None:
        yield Event(story.began, "on the line")
    else:
        yield Event(story.launched, "launched", planned=story.planned)
    yield Event(story.ended, {"open at the end": "end of the run"}.get(story.how, story.how))


def _stays(story: Story) -> Iterator[Event]:
    for stay in story.stays:
        yield Event(stay.arrived, "parked" if stay.parked else "arrived", stay.half, stay.place, until=stay.left,
                    count=stay.spot)


def _packages(sheet: Sheet, records: Records, story: Story) -> Iterator[Event]:
    plans = {job.id: job for place in sheet.places for job in place.jobs}
    closings = [one for one in records.closings if one.serial == story.number]
    for job, stretches, closing in _by_round(story.stretches, closings):
        plan = plans.get(job)
        if "squawk" in job:
            first = min([one.start for one in stretches] + ([closing.startable] if closing else []))
            place, trade = (stretches[0].place, stretches[0].trade) if stretches else (
                closing.place if closing else None, "")
            yield Event(first, "written up", place=place, job=job, trade=trade)
        yield from _waits(stretches)
        yield from _work(plan, stretches, closing)
        if closing is not None and plan is not None and plan.package.certificate:
            yield Event(closing.closed, "certificate", place=closing.place, job=job)


def _by_round(stretches: Sequence[Stretch], closings: Sequence[Closing]
              ) -> Iterator[tuple[str, list[Stretch], Closing | None]]:
    """Each package's stretches with the closing that ended them; a repeat is a round of its own, and so is work of one
    name in another place, unless it travelled."""
    closed: dict[str, list[Closing]] = defaultdict(list)
    for closing in sorted(closings, key=lambda one: one.closed):
        closed[closing.job].append(closing)
    of: dict[str, list[Stretch]] = defaultdict(list)
    for stretch in stretches:
        if stretch.job and stretch.job != PARKING:
            of[stretch.job].append(stretch)
    for job in dict.fromkeys([*of, *closed]):
        left = list(of[job])
        for closing in closed[job]:
            mine = [one for one in left if one.end <= closing.closed]
            left = left[len(mine):]
            yield job, mine, closing
        if left:
            yield job, left, None


def _waits(stretches: Sequence[Stretch]) -> Iterator[Event]:
    """Holds and waits, those in the same reason one after the other taken together."""
    open_: list[Stretch] = []
    for one in [*stretches, None]:
        if open_ and (one is None or one.state != open_[-1].state or one.start != open_[-1].end
                      or one.place != open_[-1].place or one.trade != open_[-1].trade):
            yield from _wait(open_)
            open_ = []
        if one is not None and (one.state in WAITS or one.state == State.HOLD):
            open_.append(one)


def _wait(alike: Sequence[Stretch]) -> Iterator[Event]:
    first = alike[0]
    hours: dict[State, float] = defaultdict(float)
    for one in alike:
        for state, value in one.hours.items():
            hours[state] += value
    for state, value in hours.items():
        if state != State.OFF_SHIFT and value >= LEAST:
            yield Event(first.start, "held" if state == State.HOLD else "waited", first.half, first.place, first.job,
                        alike[-1].end, state, first.trade, hours=value)


def _work(plan: JobPlan | None, stretches: Sequence[Stretch], closing: Closing | None) -> Iterator[Event]:
    """Begun, put down where it travels on, done; its buy-off by another trade the same; closed, if nobody worked."""
    worked = [one for one in stretches if one.state in WORKED]
    if not worked and closing is not None and not any(one.state == State.HOLD for one in stretches):
        if plan is None or plan.kind != "appointment":
            yield Event(closing.closed, "closed", closing.half, closing.place, closing.job, count=closing.repeat)
        return
    parts: list[list[Stretch]] = []
    for one in worked:
        if parts and parts[-1][-1].trade == one.trade and parts[-1][-1].place == one.place:
            parts[-1].append(one)
        else:
            parts.append([one])
    for n, part in enumerate(parts):
        earlier = any(before[0].trade == part[0].trade for before in parts[:n])
        last = not any(after[0].trade == part[0].trade for after in parts[n + 1:])
        buy_off = (plan is not None and plan.kind == "buy-off") or part[0].trade != parts[0][0].trade
        over = last and (closing is not None or n + 1 < len(parts))
        yield from _part(part, closing, "buy-off begun" if buy_off else "taken up" if earlier else "begun",
                         ("bought off" if buy_off else "done") if over else "put down")


def _part(part: Sequence[Stretch], closing: Closing | None, begins: str, ends: str) -> Iterator[Event]:
    first, last = part[0], part[-1]
    people = (min(one.people for one in part), max(one.people for one in part))
    repeat = closing.repeat if closing is not None else 0
    yield Event(first.start, begins, first.half, first.place, first.job, state=first.state, trade=first.trade,
                people=(first.people, first.people), count=repeat)
    yield Event(last.end, ends, last.half, last.place, last.job, state=first.state, trade=first.trade, people=people,
                hours=sum(one.labour_hours for one in part), count=repeat)


def _own_waits(story: Story) -> Iterator[Event]:
    """What the aircraft itself waited for: a pilot, a date, its other half, the pulse, a place."""
    yield from _waits([one for one in story.stretches if (not one.job or one.job == PARKING) and one.state in WAITS])


def _flights(records: Records, story: Story) -> Iterator[Event]:
    flown = {one.start: one for one in story.stretches if one.state == State.FLIGHT}
    for flight in records.flights:
        if flight.serial == story.number:
            one = flown[flight.start]
            yield Event(flight.start, "flown", place=one.place, job=f"flight {flight.number}", until=flight.end,
                        state=State.FLIGHT, trade=one.trade, people=(1, 1), hours=one.labour_hours,
                        count=flight.squawks)


def _appointments(records: Records, story: Story) -> Iterator[Event]:
    for serial, what, begins, ends in records.slots:
        if serial == story.number:
            place = next((stay.place for stay in story.stays if stay.arrived <= begins < stay.left), None)
            yield Event(begins, "appointment", place=place, job=what, until=ends)


def _line(records: Records, story: Story) -> Iterator[Event]:
    for travel in records.travelled:
        if travel.serial == story.number:
            yield Event(travel.at, "moved open", place=travel.to, job=travel.job, hours=travel.after / HOUR,
                        planned=travel.before / HOUR)
    for stop in records.stops:
        for one in stop.held:
            if one.serial == story.number:
                yield Event(one.start, "stopped the line", one.half, one.place, until=one.end)
