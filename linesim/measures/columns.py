"""The segments of one run as columns, and the working time they are read on.

A segment says what a job was in; the clocks say when its people could work. Each kind of segment is laid in layers
(clock, rank): what is true at any time, what is true only while the trade is at work, while its crew is, while there
is light. The lowest rank that is true at an instant is its reason, so a later layer may lie on an earlier one.
"""

from __future__ import annotations

from array import array
from collections.abc import Callable, Iterable, Iterator
from copy import copy
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from ..line.records import FIELDS, Records, State
from ..line.sheet import HOUR, Sheet
from ..line.sky import spans_of
from ..scenario.clock import Block, Clock, joint, merged, without
from ..scenario.extra_hours import WITH_OVERTIME
from ..scenario.hourly import ALL_HOURS
from ..scenario.plant import Flights

Numbers = NDArray[np.float64]
Counts = NDArray[np.int64]
Spans = tuple[Numbers, Numbers]  # first and last instants
Layer = tuple[str, int]  # name of a clock, rank

ALWAYS = ""
HALVES = {"": 0, "fuselage": 1, "wing": 2}
_WORKED = (State.WORK, State.REWORK)


@dataclass(frozen=True, slots=True)
class Pieces:
    """Spans of time with their rank: `row` is the segment they come from."""

    row: Counts
    start: Numbers
    end: Numbers
    rank: Counts


class Clocks:
    """The clocks of a scenario as arrays, and the layers of every kind of segment. Shared by all runs."""

    def __init__(self, sheet: Sheet) -> None:
        self.sheet = sheet
        self.blocks: dict[str, Spans] = {}
        self.trades = {name: n for n, name in enumerate(["", *sheet.scenario.trades])}
        longer = [] if sheet.extra is None else [WITH_OVERTIME, *sheet.extra.names]
        self.shifts = {name: n for n, name in enumerate(["", *sheet.calendar.shifts, *longer])}
        hours: dict[int, int] = {}
        self.opening = np.array([hours.setdefault(id(p.clock), len(hours)) for p in sheet.places])  # alike: same hours
        self.of_opening = [next(p for p in sheet.places if id(p.clock) == key) for key in hours]
        jobs = [job for place in sheet.places for job in place.jobs]
        self.inspectors = {job.trade for job in jobs if job.kind == "buy-off"} | {
            job.inspector for job in jobs if job.inspection} | {
            hold.trade for hold in sheet.scenario.fleet_holds}
        self.flights = {p.flights.pilots: p.flights for p in sheet.scenario.positions if p.flights}
        self._layers: dict[int, tuple[Layer, ...]] = {}
        self._of_opening: dict[str, int] = {}  # clocks that depend on the hours of a place
        self._readings: dict[str, Spans] = {}
        self._shared, self._changed = self, set[int | None]()

    def in_run(self, sheet: Sheet) -> Clocks:
        """The clocks of a run in which some places were out of service by chance: those of the others are shared."""
        if sheet is self.sheet:
            return self
        changed: set[int | None] = {n for n, place in enumerate(self.of_opening)
                                    if sheet.places[place.index] is not place}
        found = copy(self)
        found._shared, found._changed = self, changed
        found.sheet, found.of_opening = sheet, [sheet.places[place.index] for place in self.of_opening]
        found.blocks, found._readings = ({name: part for name, part in of.items()
                                          if self._of_opening.get(name) not in changed}
                                         for of in (self.blocks, self._readings))
        openings = np.unravel_index(list(self._layers), self.kinds)[3].tolist() if self._layers else ()
        found._layers = {kind: layers for (kind, layers), opening in zip(self._layers.items(), openings, strict=True)
                         if opening not in changed}
        found._of_opening = dict(self._of_opening)
        return found

    @property
    def kinds(self) -> tuple[int, int, int, int, int]:
        """Numbers of states, trades, shifts, openings and kinds of light."""
        return len(State) + 1, len(self.trades), len(self.shifts), len(self.of_opening), 2

    def layers(self, kind: int) -> tuple[Layer, ...]:
        """Layers of one kind of segment."""
        if kind not in self._layers:
            state, trade, shift, opening, light = (int(n) for n in np.unravel_index(kind, self.kinds))
            self._layers[kind] = tuple(self._lay(State(state), list(self.trades)[trade], list(self.shifts)[shift],
                                                 opening, bool(light)))
        return self._layers[kind]

    def _lay(self, state: State, trade: str, shift: str, opening: int, daylight: bool) -> Iterator[Layer]:
        if state in _WORKED and shift:
            overtime = shift.endswith(WITH_OVERTIME)
            if self.sheet.rostered(trade) == [shift.removesuffix(WITH_OVERTIME)] and not daylight:
                yield ALWAYS, State.OFF_SHIFT
            else:
                idle = State.INSPECTOR if trade in self.inspectors else State.PEOPLE
                yield from self._waiting(idle, trade, opening, daylight, overtime=overtime)
            yield self.crew(shift, opening), state
        elif state in (State.PEOPLE, State.INSPECTOR):
            yield from self._waiting(state, trade, opening, daylight, overtime=shift == WITH_OVERTIME)
        elif state == State.PILOT:
            yield ALWAYS, State.OFF_SHIFT
            yield self.roster(trade, 0, spans=True), State.WEATHER
            yield f"flyable {trade}", State.PILOT
        else:
            yield ALWAYS, state

    def _waiting(self, state: State, trade: str, opening: int, daylight: bool, *, overtime: bool) -> Iterator[Layer]:
        if not trade and self.of_opening[opening].clock is None:
            yield ALWAYS, state
            return
        yield ALWAYS, State.OFF_SHIFT
        at_work = self.roster(trade, opening, overtime=overtime) if trade else self.crew("", opening)
        if daylight and self.sheet.light is not None:
            yield at_work, State.WEATHER
            yield self._in_light(at_work), state
        else:
            yield at_work, state

    # clocks by name ----------------------------------------------------------------------------------------------
    def crew(self, shift: str, opening: int) -> str:
        """Clock of a crew of a shift in places that open alike."""
        return self._clock(f"crew {shift} {opening}",
                           lambda: self.sheet.crew_clock(shift, self.of_opening[opening].index), opening)

    def roster(self, trade: str, opening: int, *, spans: bool = False, overtime: bool = False) -> str:
        """Clock on which a trade has working time; `spans`: from the first to the last instant of its shifts;
        `overtime`: in a week with overtime."""
        if spans:
            return self._clock(f"spans {trade}", lambda: [
                (a, b, 0) for a, b in sorted(span for shift in self.sheet.rostered(trade)
                                             for span in self.sheet.calendar.clock(shift).spans())])
        place = self.of_opening[opening].index

        def hours() -> Clock | Spans:
            if opening not in self._changed:
                return self.sheet.roster_clock(trade, place, overtime=overtime)
            planned = self._shared.roster(trade, opening, overtime=overtime)
            return outside(self._shared.blocks[planned], self.sheet.by_chance[self.sheet.places[place].id])

        return self._clock(f"roster {' '.join(self.sheet.rostered(trade))} {opening} {overtime}", hours, opening)

    def _in_light(self, name: str) -> str:
        light = [(a, b, n) for n, (a, b) in enumerate(self.sheet.light or ())]
        starts, ends = self.blocks[name]
        return self._clock(f"{name} in light", lambda: joint(
            [(float(a), float(b), 0) for a, b in zip(starts, ends, strict=True)], light), self._of_opening.get(name))

    def shift_clock(self, shift: str) -> str:
        """Clock of a shift."""
        return self._clock(f"shift {shift}", lambda: self.sheet.calendar.clock(shift))

    def plant(self) -> str:
        """Clock of the plant: when anybody is rostered."""
        return self._clock("plant", self.sheet.manned_clock)

    def open(self, place: int) -> str:
        """Clock on which a place is open for work: its own hours, or when anybody is rostered."""
        clock = self.sheet.places[place].clock
        opening = int(self.opening[place])
        return self.plant() if clock is None else self._clock(f"open {opening}", lambda: clock, opening)

    def _clock(self, name: str, hours: Callable[[], Clock | Spans | list[Block]], opening: int | None = None) -> str:
        if name not in self.blocks:
            found = hours()
            spans = ((np.array(found.starts), np.array(found.ends)) if isinstance(found, Clock)
                     else found if isinstance(found, tuple) else arrays_of(found))
            for clocks in (self,) if opening in self._changed else (self, self._shared):
                clocks.blocks[name] = spans
                if opening is not None:
                    clocks._of_opening[name] = opening
        return name

    def reading(self, name: str, t: Numbers) -> Numbers:
        """Working minutes passed up to each instant on a named clock."""
        if name not in self._readings:
            starts, ends = self.blocks[name]
            total = np.concatenate(([0.0], np.cumsum(ends - starts)))
            known = (np.column_stack((starts, ends)).ravel(), np.column_stack((total[:-1], total[1:])).ravel())
            self._readings[name] = known
            if self.blocks[name] is self._shared.blocks.get(name):
                self._shared._readings[name] = known
        at, passed = self._readings[name]
        return np.interp(t, at, passed) if len(at) else np.zeros_like(t)


def whole(values: Iterable[int]) -> Counts:
    """Whole numbers as an array; by way of `array`, twice as fast as NumPy's own reading of Python's numbers."""
    return np.frombuffer(array("q", values), dtype=np.int64)


def real(values: Iterable[float]) -> Numbers:
    """Real numbers as an array."""
    return np.frombuffer(array("d", values), dtype=np.float64)


def arrays_of(blocks: list[Block] | list[tuple[float, float]]) -> Spans:
    """First and last instants of blocks."""
    starts, ends = [block[0] for block in blocks], [block[1] for block in blocks]
    return np.array(starts, dtype=float), np.array(ends, dtype=float)


@lru_cache(maxsize=4)
def clocks_of(sheet: Sheet) -> Clocks:
    """The clocks of a sheet, made once."""
    return Clocks(sheet)


class Columns:
    """The segments of one run: one array per field, all of the same length."""

    def __init__(self, sheet: Sheet, records: Records) -> None:
        self.clocks, self.records = clocks_of(sheet).in_run(sheet.in_run(records.outages)), records
        rows = [records.segment_fields[n::FIELDS] for n in range(FIELDS)]
        clocks = self.clocks
        self.serial = whole(rows[0])
        self.half = whole(map(HALVES.__getitem__, rows[1]))
        self.place = whole(rows[2])
        self.jobs: list[str] = rows[3]
        self.states: list[int] = rows[4]
        self.state = whole(rows[4])
        self.parked = np.zeros(len(self.state), dtype=bool)
        self.parked[records.parked_rows] = True
        self.start, self.end = real(rows[5]), real(rows[6])
        self.trade = whole(map(clocks.trades.__getitem__, rows[7]))
        self.shift = whole(map(clocks.shifts.__getitem__, rows[8]))
        self.people, light = whole(rows[9]), whole(rows[10])
        self.kind = np.ravel_multi_index(
            (self.state, self.trade, self.shift, clocks.opening[self.place], light), clocks.kinds)

    def pieces(self, chosen: NDArray[np.bool_] | None = None) -> Pieces:
        """Spans with their ranks, of the chosen segments."""
        rows = np.arange(len(self.kind)) if chosen is None else np.flatnonzero(chosen)
        kinds = self.kind[rows]
        rows = rows[np.argsort(kinds.astype(np.min_scalar_type(kinds.max(initial=0))), kind="stable")]
        count = np.bincount(kinds)
        ends = np.cumsum(count)
        by_clock: dict[str, list[tuple[Counts, int]]] = {}
        for kind in np.flatnonzero(count).tolist():
            alike = rows[ends[kind] - count[kind]:ends[kind]]
            for clock, rank in self.clocks.layers(kind):
                by_clock.setdefault(clock, []).append((alike, rank))
        found = [self._laid(clock, of) for clock, of in by_clock.items()]
        if not found:
            none = np.zeros(0)
            return Pieces(none.astype(np.int64), none, none, none.astype(np.int64))
        return Pieces(*(np.concatenate(column) for column in zip(*found, strict=True)))

    def _laid(self, clock: str, layers: list[tuple[Counts, int]]) -> tuple[Counts, Numbers, Numbers, Counts]:
        """Spans of segments that lie on a clock, each kind with its rank; in the order of the segments."""
        here = np.concatenate([rows for rows, _ in layers])
        in_order = np.argsort(here)
        here = here[in_order]
        ranks = np.repeat([rank for _, rank in layers], [len(rows) for rows, _ in layers])[in_order]
        if clock == ALWAYS:
            return here, self.start[here], self.end[here], ranks
        starts, ends = self._flyable(clock) if clock.startswith("flyable ") else self.clocks.blocks[clock]
        n, start, end = cut(starts, ends, self.start[here], self.end[here])
        return here[n], start, end, ranks[n]

    def _flyable(self, clock: str) -> tuple[Numbers, Numbers]:
        """Spans in which a flight block could begin by the pilots' shifts, the light and the weather of the run."""
        trade = clock.removeprefix("flyable ")
        flights = self.clocks.flights.get(trade)
        starts, ends = self.clocks.blocks[self.clocks.roster(trade, 0, spans=True)]
        on_shift = [(float(a), float(b), 0) for a, b in zip(starts, ends, strict=True)]
        if flights is None:
            return starts, ends
        return arrays_of(joint(on_shift, list(self._could_begin(flights))))

    def _could_begin(self, flights: Flights) -> Iterator[Block]:
        sheet, bad = self.clocks.sheet, self.records.bad_hours
        calendar, light = sheet.calendar, sheet.light
        brief = (flights.pilot_hours - flights.flight_hours) / 2 * HOUR
        airborne = flights.flight_hours * HOUR
        blocks: list[Block] = []
        for n in range(calendar.days):
            if n < len(bad) and bad[n] == ALL_HOURS:
                continue
            first, last = light[n] if light is not None else (calendar.midnights[n], calendar.midnights[n + 1])
            last -= airborne if light is not None else 0.0
            if first < last:
                blocks.append((first - brief, last - brief, n))
        gaps = [(first - airborne - brief, last - brief) for n, hours in enumerate(bad) if 0 < hours < ALL_HOURS
                for first, last in spans_of(calendar.midnights[n], hours)]
        yield from without(blocks, gaps)


def outside(spans: Spans, gaps: list[tuple[float, float]]) -> Spans:
    """The parts of spans, none overlapping, that lie in no gap."""
    starts, ends = arrays_of(merged(gaps))
    _, first_parts, last_parts = cut(np.concatenate(([-np.inf], ends)), np.concatenate((starts, [np.inf])), *spans)
    return first_parts, last_parts


def cut(starts: Numbers, ends: Numbers, first: Numbers, last: Numbers) -> tuple[Counts, Numbers, Numbers]:
    """The parts of spans (first, last) that lie in blocks (starts, ends): number of the span, start, end."""
    begin = np.searchsorted(ends, first, side="right")
    count = np.maximum(np.searchsorted(starts, last, side="left") - begin, 0)
    span = np.repeat(np.arange(len(first)), count)
    block = np.arange(len(span)) - np.repeat(np.cumsum(count) - count - begin, count)
    return span, np.maximum(first[span], starts[block]), np.minimum(last[span], ends[block])
