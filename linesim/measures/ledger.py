"""Where the time goes: every hour of every aircraft has one reason, the first true one in the order of ranks.

The records say what each job was in; the clocks say when its people could work. Both together give the reason of
each instant from launch (or the start) to delivery (or the end), and the reasons sum to the flow time.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator

from ..line.records import Records, Segment, State
from ..line.sheet import HOUR, Sheet
from ..scenario.plant import Flights

Piece = tuple[float, float, int]  # from, to, rank
_OFF = int(State.OFF_SHIFT)


class Ledger:
    """Reasons of one run, in hours."""

    def __init__(self, sheet: Sheet, records: Records) -> None:
        self.sheet, self.records = sheet, records
        self._flights = {p.flights.pilots: p.flights for p in sheet.scenario.positions if p.flights}
        self._by_serial: dict[int, list[Segment]] = defaultdict(list)
        for segment in records.segments:
            self._by_serial[segment.serial].append(segment)
        self._inspectors = {job.trade for place in sheet.places for job in place.jobs if job.kind == "buy-off"}
        self._inspectors |= {job.inspector for place in sheet.places for job in place.jobs if job.inspection}
        self._launched = {launch.serial: launch.made for launch in records.launches}

    def span(self, serial: int) -> tuple[float, float]:
        """From launch (the start, if it stood on the floor) to delivery, finished stock or the end of the run."""
        records = self.records
        ends = records.delivered.get(serial, records.stock_ready.get(serial, records.ended))
        return self._launched.get(serial, 0.0), ends

    def of(self, serial: int, half: str | None = None) -> dict[State, float]:
        """Hours of an aircraft (or of one half of it) by reason; they sum to its span (a half's: to mate)."""
        begin, end = self.span(serial)
        segments = [s for s in self._by_serial[serial] if half is None or s.half == half]
        if half:
            end = max((v.left for v in self.records.visits if v.serial == serial and v.half == half), default=end)
        pieces = [piece for segment in segments for piece in self._pieces(segment)]
        return _sweep(pieces, begin, end)

    def aircraft(self) -> list[int]:
        """Serials that were on the floor, in order."""
        return sorted({*self._launched, *self.records.standing})

    # one segment -------------------------------------------------------------------------------------------------
    def _pieces(self, s: Segment) -> Iterable[Piece]:
        state = s.state
        if state in (State.WORK, State.REWORK):
            if not s.shift:  # work that needs nobody
                return [(s.start, s.end, state)]
            crew = self.sheet.crew_clock(s.shift, s.place)
            idle = State.INSPECTOR if s.trade in self._inspectors else State.PEOPLE
            pieces: list[Piece] = []
            for a, b, at_work in crew.cut(s.start, s.end):
                if at_work:
                    pieces.append((a, b, state))
                else:
                    pieces += self._waiting(s, a, b, idle)
            return pieces
        if state in (State.PEOPLE, State.INSPECTOR):
            return self._waiting(s, s.start, s.end, state)
        if state == State.PILOT:
            return self._for_a_pilot(s)
        return [(s.start, s.end, state)]

    def _waiting(self, s: Segment, start: float, end: float, state: int) -> list[Piece]:
        if not s.trade:
            area = self.sheet.places[s.place].clock
            if area is None:
                return [(start, end, state)]
            return [(a, b, state if is_open else _OFF) for a, b, is_open in area.cut(start, end)]
        pieces: list[Piece] = []
        for a, b, at_work in self.sheet.roster_clock(s.trade, s.place).cut(start, end):
            if at_work and s.daylight and self.sheet.light is not None:
                pieces += self._by_light(a, b, state)
            else:
                pieces.append((a, b, state if at_work else _OFF))
        return pieces

    def _by_light(self, start: float, end: float, state: int) -> Iterator[Piece]:
        light = self.sheet.light
        assert light is not None
        yield from _overlay(start, end, [light[n] for n in self._days(start, end)], state, State.WEATHER)

    def _days(self, start: float, end: float) -> range:
        calendar = self.sheet.calendar
        return range(max(0, calendar.day_number(start)), min(calendar.days, calendar.day_number(end) + 1))

    def _for_a_pilot(self, s: Segment) -> Iterator[Piece]:
        shifts = self.sheet.rostered(s.trade)
        spans = [span for shift in shifts for span in _between(self.sheet.calendar.clock(shift).spans(), s)]
        spans.sort()
        flights = self._flights.get(s.trade)
        for a, b, state in _overlay(s.start, s.end, spans, State.PILOT, State.OFF_SHIFT):
            if state == State.PILOT and flights is not None:
                yield from _overlay(a, b, list(self._flyable_starts(a, b, flights)), State.PILOT, State.WEATHER)
            else:
                yield a, b, state

    def _flyable_starts(self, start: float, end: float, flights: Flights) -> Iterator[tuple[float, float]]:
        """Spans in which a block could begin by light and weather of the date."""
        brief = (flights.pilot_hours - flights.flight_hours) / 2 * HOUR
        airborne = flights.flight_hours * HOUR
        calendar, light = self.sheet.calendar, self.sheet.light
        for n in self._days(start, end):
            if self.records.good_days and not self.records.good_days[n]:
                continue
            first, last = light[n] if light is not None else (calendar.midnights[n], calendar.midnights[n + 1])
            yield first - brief, (last - airborne if light is not None else last) - brief


def _between(spans: list[tuple[float, float]], s: Segment) -> list[tuple[float, float]]:
    first = bisect_right(spans, (s.start, 0.0))
    last = bisect_right(spans, (s.end, 0.0))
    return spans[max(0, first - 1):last]


def _overlay(start: float, end: float, spans: Iterable[tuple[float, float]], inside: int,
             outside: int) -> Iterator[Piece]:
    t = start
    for a, b in spans:
        a, b = max(a, t), min(b, end)
        if a >= b:
            continue
        if t < a:
            yield t, a, outside
        yield a, b, inside
        t = b
    if t < end:
        yield t, end, outside


def _sweep(pieces: list[Piece], begin: float, end: float) -> dict[State, float]:
    """Hours by the lowest rank that is true; instants with none are left out and would break the sum."""
    changes: list[tuple[float, int, int]] = []
    for start, stop, rank in pieces:
        start, stop = max(start, begin), min(stop, end)
        if start < stop:
            changes.append((start, rank, 1))
            changes.append((stop, rank, -1))
    changes.sort()
    true, ranks = [0] * (len(State) + 1), 0  # how many pieces of each rank; bit n is set where rank n is true
    minutes = [0.0] * (len(State) + 1)
    previous = begin
    for t, rank, step in changes:
        if t > previous:
            minutes[(ranks & -ranks).bit_length() - 1 if ranks else 0] += t - previous
            previous = t
        true[rank] += step
        ranks = ranks | 1 << rank if true[rank] else ranks & ~(1 << rank)
    return {state: minutes[state] / HOUR for state in State if minutes[state]}
