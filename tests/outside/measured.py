"""The measures of a mixed plant worked out once more from its records, between every two changes, by the words of the
rules: reasons of aircraft, halves and places (F105, F106, F109), hours of people (F108), what set a date (F112)."""

from __future__ import annotations

import itertools
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from functools import cache, cached_property
from math import inf, isclose
from typing import Any

import pandas as pd
from audit import AT_WORK, OVERTIME, TINY
from spans import Spans, inside, joined, lasts, without
from strict import Broken, Strict

from linesim.line.records import Closing, Segment, State, Visit
from linesim.measures.chain import Chains
from linesim.measures.in_areas import areas_in_order, by_week
from linesim.measures.labour import ACCOUNT
from linesim.measures.ledger import Ledger
from linesim.measures.moment import FAMILIES, first_jam, floor_of, spans_of
from linesim.measures.not_flown import flying_days
from linesim.measures.run import RunNumbers, numbers_of
from linesim.scenario.calendar import shift_day, taken_out

Piece = tuple[float, float, int]  # first and last instant, reason
Hours = dict[Any, float]
HELD = (State.OTHER_HALF, State.LINE_STOP, State.PULSE, State.BLOCKED)


def differ(what: str, expected: Hours, found: Hours, close: float = 1e-5) -> list[str]:
    """Where two tables of hours differ; what is missing is 0."""
    return [f"{what} {key}: {found.get(key, 0.0)} for {expected.get(key, 0.0)}" for key in {*expected, *found}
            if not isclose(expected.get(key, 0.0), found.get(key, 0.0), abs_tol=close)]


def lowest(pieces: Iterable[Piece]) -> list[Piece]:
    """The first true reason at every instant at which any is true, in order of time."""
    row = sorted(pieces)
    cuts = sorted({t for a, b, _ in row for t in (a, b)})
    found: list[Piece] = []
    active: list[Piece] = []
    n = 0
    for a, b in itertools.pairwise(cuts):
        active = [piece for piece in active if piece[1] > a]
        while n < len(row) and row[n][0] <= a:
            active.append(row[n])
            n += 1
        if active:
            found.append((a, b, min(state for _, _, state in active)))
    return found


def by_reason(pieces: Iterable[Piece], begin: float = -inf, end: float = inf) -> Hours:
    """Hours by reason between two instants."""
    found: Hours = defaultdict(float)
    for a, b, state in pieces:
        found[state] += max(0.0, min(b, end) - max(a, begin)) / 60
    return {state: hours for state, hours in found.items() if hours > 1e-9}


class Measured(Strict):
    """One run of a mixed plant and its measures."""

    @cached_property
    def ledger(self) -> Ledger:
        return Ledger(self.sheet, self.records)

    @cached_property
    def run(self) -> RunNumbers:
        return numbers_of(self.sheet, self.records)

    # reasons -----------------------------------------------------------------------------------------------------
    @cache  # noqa: B019
    def rostered(self, trade: str) -> list[str]:
        """Shifts on whose roster a trade stands at any time, in the order of the file."""
        declared = self.scenario.trades[trade]
        names = {shift or self.calendar.reference_shift for shift in declared.people}
        names |= {step.shift for step in declared.headcount_steps}
        return [name for name in self.calendar.shifts if name in names]

    @cache  # noqa: B019
    def roster(self, trade: str, place: int, overtime: bool) -> Spans:
        """F106: the trade's own shifts, whoever is there."""
        names = [f"{name}{OVERTIME}" if overtime else name for name in self.rostered(trade)]
        return joined([span for name in names for span in self.crew(name, place)])

    @cached_property
    def _light_spans(self) -> Spans:
        return list(self.sheet.light or ())

    def state(self, s: Segment, t: float) -> int:
        """What a package is in at an instant."""
        if s.state in AT_WORK and s.shift:
            if inside(self.crew(s.shift, s.place), t):
                return s.state
            if self.rostered(s.trade) == [s.shift.removesuffix(OVERTIME)] and not s.daylight:
                return State.OFF_SHIFT
            return self._waits(s, State.INSPECTOR if s.trade == "INS" else State.PEOPLE, t)
        if s.state in (State.PEOPLE, State.INSPECTOR):
            return self._waits(s, s.state, t)
        if s.state == State.PILOT:
            if not inside(self._pilots_there, t):
                return State.OFF_SHIFT
            return State.PILOT if inside(self._could_begin, t) else State.WEATHER
        return s.state

    @cached_property
    def _flights(self) -> Any:
        return next(p.flights for p in self.scenario.positions if p.flights)

    @cached_property
    def _pilots_there(self) -> Spans:
        """From the first to the last instant of the pilots' shifts."""
        found = []
        for shift in self.rostered(self._flights.pilots):
            last: dict[int, float] = {}
            for _, b, day in self._blocks(shift):
                last[day] = b
            found += [(a, last[day]) for a, day in self._dates_of[shift]]
        return joined(found)

    @cached_property
    def _could_begin(self) -> Spans:
        """When a block may begin by light and weather: take-off and landing in light, no bad hour touched."""
        air = self._flights.flight_hours * 60
        brief = (self._flights.pilot_hours * 60 - air) / 2
        found: Spans = []
        gaps: Spans = []
        for day, hours in enumerate(self.records.bad_hours):
            midnight = self.calendar.midnights[day]
            first, last = self.sheet.light[day] if self.sheet.light else (midnight, midnight + 1440 + air)
            found.append((first - brief, last - air - brief))
            for h in range(24):
                if hours >> h & 1:
                    gaps.append((midnight + 60 * h - air - brief, midnight + 60 * h + 60 - brief))
        return without([span for span in found if span[0] < span[1]], joined(gaps))

    def _waits(self, s: Segment, state: int, t: float) -> int:
        hours = self.roster(s.trade, s.place, s.shift.endswith(OVERTIME)) if s.trade else self.crew("", s.place)
        if not inside(hours, t):
            return State.OFF_SHIFT
        if s.daylight and self.sheet.light is not None and not self._light(t):
            return State.WEATHER
        return state

    @cached_property
    def pieces(self) -> list[list[Piece]]:
        """Of every segment, cut where anything may change."""
        return [self._cut(s) for s in self.segments]

    def _cut(self, s: Segment) -> list[Piece]:
        if s.state not in (*AT_WORK, State.PEOPLE, State.INSPECTOR, State.PILOT):
            return [(s.start, s.end, s.state)]
        rows: list[Spans] = []
        if s.state == State.PILOT:
            rows += [self._pilots_there, self._could_begin]
        elif s.trade:
            rows.append(self.roster(s.trade, s.place, s.shift.endswith(OVERTIME)))
        rows.append(self.crew(s.shift if s.state in AT_WORK else "", s.place))
        if s.daylight:
            rows.append(self._light_spans)
        cuts = {s.start, s.end}
        for spans in rows:
            n = max(bisect_right(spans, (s.start, inf)) - 1, 0)
            while n < len(spans) and spans[n][0] < s.end:
                cuts |= {t for t in spans[n] if s.start < t < s.end}
                n += 1
        edges = sorted(cuts)
        return [(a, b, int(self.state(s, (a + b) / 2))) for a, b in itertools.pairwise(edges)]

    @cached_property
    def parked(self) -> set[int]:
        return set(self.records.parked_rows)

    def pieces_of(self, serial: int, half: str | None = None) -> list[Piece]:
        return [piece for s, pieces in zip(self.segments, self.pieces, strict=True) for piece in pieces
                if s.serial == serial and half in (None, s.half)]

    def life(self, serial: int) -> tuple[float, float]:
        return (self.launched.get(serial, 0.0),
                self.records.delivered.get(serial, self.records.ended))

    def reasons(self) -> Iterator[Broken]:
        """F105: hours of every aircraft and half by the first true reason, and its life span by span."""
        bad, serials = [], sorted({*self.launched, *self.records.standing})
        table = self.ledger.by_aircraft(serials)
        for serial, row in zip(serials, table, strict=True):
            begin, end = self.life(serial)
            pieces = [(max(a, begin), min(b, end), state) for a, b, state in lowest(self.pieces_of(serial))
                      if a < end and b > begin]
            bad += differ(f"{serial}", by_reason(pieces), {n: h for n, h in enumerate(row.tolist()) if h > 1e-9})
            found = [(span.start, span.end, int(span.state)) for span in spans_of(self.ledger, serial)]
            together: list[Piece] = []
            for a, b, state in pieces:
                if together and together[-1][2] == state and together[-1][1] == a:
                    together[-1] = (together[-1][0], b, state)
                else:
                    together.append((a, b, state))
            if found != together:
                bad.append(f"life of {serial}: {found[:9]} for {together[:9]}")
            for half in {v.half for v in self.stays if v.serial == serial and v.half}:
                left = [v.left for v in self.stays if v.serial == serial and v.half == half]
                mine = by_reason(lowest(self.pieces_of(serial, half)), begin, max(left))
                alone = [(span.start, span.end, int(span.state)) for span in spans_of(self.ledger, serial, half)]
                bad += differ(f"spans of {half} of {serial}", mine, by_reason(alone))
                bad += differ(f"{half} of {serial}", mine,
                              {int(n): h for n, h in self.ledger.of(serial, half).items()})
        yield "hours of an aircraft by reason", bad, len(serials)

    # places ------------------------------------------------------------------------------------------------------
    def _by_spot(self, parked: bool) -> dict[tuple[int, int], list[Piece]]:
        """Pieces of an aircraft in a place, or parked before it."""
        found: dict[tuple[int, int], list[Piece]] = defaultdict(list)
        for n, (s, pieces) in enumerate(zip(self.segments, self.pieces, strict=True)):
            if (n in self.parked) == parked:
                found[s.serial, s.place] += pieces
        return found

    @cached_property
    def manned(self) -> Spans:
        """When anybody is rostered."""
        return joined([span for trade in self.scenario.trades for name in self.rostered(trade)
                       for span in self.blocks_of(name) if self._is_manned(trade, name)])

    def _is_manned(self, trade: str, shift: str) -> bool:
        there = self.present(trade, shift) if (trade, shift) in self.records.attended else None
        declared = self.scenario.trades[trade]
        heads = {name or self.calendar.reference_shift: n for name, n in declared.people.items()}.get(shift, 0)
        steps = [step.people for step in declared.headcount_steps if step.shift == shift]
        return heads > 0 or any(steps) or bool(there and any(there.values()))

    def hours_of_places(self) -> Iterator[Broken]:
        """F109: hours of the docks, and of the parking, of every place by reason; empty ones starved while it is open
        for work, else off shift; parking spots always starved."""
        bad = []
        ended = self.records.ended
        for parked in (False, True):
            spots, table = self._by_spot(parked), self.ledger.of_places(parking=parked)
            for place in self.sheet.places:
                expected: Hours = defaultdict(float)
                for (_, n), pieces in spots.items():
                    if n == place.index:
                        for state, hours in by_reason(lowest(pieces), 0.0, ended).items():
                            expected[state] += hours
                stays = [(v.arrived, v.left) for v in self.stays if v.place == place.index and v.parked == parked]
                room = place.parking if parked else place.docks
                limited = bool(place.position.shifts or place.position.out_of_service or self.outages(place.index))
                hours = self.crew("", place.index) if limited else self.manned
                empty = (room * ended - sum(b - a for a, b in stays)) / 60
                starved = (room * lasts(hours, 0.0, ended) - sum(lasts(hours, a, b) for a, b in stays)) / 60
                expected[0] += empty if parked else starved
                expected[int(State.OFF_SHIFT)] += 0.0 if parked else empty - starved
                row = dict(enumerate(table[place.index].tolist()))
                bad += differ(f"{place.id} parked {parked}", expected, row)
        yield "hours of a place by reason", bad, len(self.sheet.places)

    @cached_property
    def measured(self) -> tuple[float, float]:
        """The window as instants."""
        window = self.scenario.window
        return (self.calendar.instant(window.first), self.calendar.instant(window.last + timedelta(days=1)))

    def in_window(self) -> Iterator[Broken]:
        """Working hours by place and reason, waits by place and trade, aircraft in the areas, deliveries and flow."""
        begin, end = self.measured
        bad, run = [], self.run
        for place in self.sheet.places:
            expected: Hours = defaultdict(float)
            for (_, n), pieces in self._by_spot(parked=False).items():
                on_shift = [piece for piece in pieces if piece[2] != State.OFF_SHIFT]  # off shift is what is left
                for a, b, state in lowest(on_shift) if n == place.index else ():
                    expected[state] += lasts(self.manned, max(a, begin), min(b, end)) / 60
            stood = sum(lasts(self.manned, max(v.arrived, begin), min(v.left, end)) for v in self.stays
                        if v.place == place.index and not v.parked) / 60
            expected[int(State.OFF_SHIFT)] = max(stood - sum(expected.values()), 0.0)
            bad += differ(f"working hours of {place.id}", expected, dict(enumerate(run.places[place.index].tolist())))
        trades = ["", *self.scenario.trades]
        waits: Hours = defaultdict(float)
        for s, pieces in zip(self.segments, self.pieces, strict=True):
            for a, b, state in lowest(pieces):
                if state in (State.PEOPLE, State.INSPECTOR, State.PILOT):
                    waits[s.place, trades.index(s.trade)] += max(0.0, min(b, end) - max(a, begin)) / 60
        bad += differ("waits", waits, {(n, k): float(run.waits[n, k]) for n in range(len(self.names))
                                       for k in range(len(trades))})
        stood_in: Hours = defaultdict(float)
        for v in self.stays:
            position = self.sheet.places[v.place].position
            stood_in[position.area or position.id] += (0.5 if v.half else 1.0) * max(
                0.0, min(v.left, end) - max(v.arrived, begin)) / (end - begin)
        bad += differ("area", stood_in, run.in_process)
        counted = [n for n, t in self.records.delivered.items() if begin <= t < end and n in self.launched]
        flow = {self.records.serials[n]: (self.records.delivered[n] - self.launched[n]) / 60 for n in counted}
        bad += differ("flow", flow, run.flow_hours)
        total: Hours = defaultdict(float)
        for n in counted:
            for state, hours in by_reason(lowest(self.pieces_of(n)), *self.life(n)).items():
                total[state] += hours
        if not isclose(sum(total.values()), sum(run.reasons.values()), abs_tol=1e-5) or run.counted != len(counted):
            bad.append(f"{run.counted} aircraft with {run.reasons}, for {len(counted)} with {dict(total)}")
        yield "numbers of the window", bad, len(self.names) + len(waits) + len(flow)

    # people ------------------------------------------------------------------------------------------------------
    def _account(self, edges: list[float]) -> dict[tuple[str, int], list[float]]:
        """F108: minutes by trade and stretch: paid, worked, checked, breaks, trained, absent, idle."""
        scenario, rules = self.scenario, self.scenario.attendance
        leave_paid = rules is None or rules.leave is None or rules.leave.paid
        absence_paid = rules is None or rules.absence is None or rules.absence.paid
        found: dict[tuple[str, int], list[float]] = defaultdict(lambda: [0.0] * 7)

        def add(trade: str, t: float, *minutes: float) -> None:
            if edges[0] <= t < edges[-1]:
                cell = found[trade, bisect_right(edges, t) - 1]
                for n, m in enumerate(minutes):
                    cell[n] += m

        for trade in scenario.trades:
            for shift in self.rostered(trade):
                day = shift_day(scenario.shifts[shift], scenario.tool_control)
                there = self.records.attended.get((trade, shift))
                rows = zip(*there[2:7], strict=True) if there is not None else (
                    (number, people, 0, 0, 0) for number, people in self.present(trade, shift).items())
                for number, present, leave, absent, trained in rows:
                    if number < 0:
                        continue
                    away = leave * leave_paid + absent * absence_paid
                    add(trade, self.calendar.midnights[number], (present + trained + away) * day.paid, 0.0,
                        present * day.checked, present * day.breaks, trained * day.paid, away * day.paid,
                        present * day.work)
        for e in self.records.overtime:
            add(e.trade, self.calendar.midnights[e.day], e.people * e.paid, 0.0, e.people * e.checked,
                e.people * (e.paid - e.work - e.checked), 0.0, 0.0, e.people * e.work)
        for s in (s for s in self.worked if s.trade):
            minutes = s.people * lasts(self.crew(s.shift, s.place), s.start, min(s.end, edges[-1]))
            add(s.trade, s.start, 0.0, minutes, 0.0, 0.0, 0.0, 0.0, -minutes)
        for s in (s for s in self.segments if s.state == State.FLIGHT):  # over a break worked, over the meal paid, too
            last = min(s.end, edges[-1])
            work, meal = lasts(self.blocks_of(s.shift), s.start, last), lasts(self._meals(s.shift), s.start, last)
            add(s.trade, s.start, meal, last - s.start, 0.0, work + meal - (last - s.start), 0.0, 0.0, -work)
        return found

    @cache  # noqa: B019
    def _meals(self, shift: str) -> Spans:
        control = self.scenario.tool_control
        meals = [(a, b) for kind, a, b in taken_out(self.calendar.shifts[shift], control) if kind == "meal"]
        return [(self.calendar.midnights[day] + a, self.calendar.midnights[day] + b)
                for _, day in self._dates_of[shift] for a, b in meals]

    def hours_of_people(self) -> Iterator[Broken]:
        """By months cut at the window, and by weeks; what is paid more; what stands in aircraft not delivered."""
        bad, run, scenario = [], self.run, self.scenario
        window = scenario.window
        firsts = sorted({scenario.start, window.first, window.last + timedelta(days=1), *(
            date(2027, month, 1) for month in range(2, 13))})
        firsts = [first for first in firsts if scenario.start <= first <= scenario.end]
        edges = [*map(self.calendar.instant, firsts), self.calendar.end]
        account, trades = self._account(edges), list(scenario.trades)
        for (trade, n), minutes in account.items():
            row = run.labour[trades.index(trade), n].tolist()
            bad += differ(f"{trade} {firsts[n]}", dict(zip(ACCOUNT, [m / 60 for m in minutes], strict=True)),
                          dict(zip(ACCOUNT, row, strict=True)))
        weeks = [self.calendar.instant(scenario.start + timedelta(days=7 * n)) for n in range(
            (scenario.end - scenario.start).days // 7 + 1)]
        by_week = self._account([*weeks, self.calendar.end] if weeks[-1] < self.calendar.end else weeks)
        for (trade, n), minutes in by_week.items():
            load = run.load_by_week[:, trades.index(trade), n].tolist()
            if not isclose(load[0] * 60, minutes[1], abs_tol=1e-3) or not isclose(
                    load[1] * 60, minutes[1] + minutes[6], abs_tol=1e-3):
                bad.append(f"{trade} week {n}: {load} for {minutes}")
        bad += self._wages(edges, account)
        bad += self._standing(edges)
        yield "hours of people", bad, len(account) + len(by_week)

    def _wages(self, edges: list[float], account: dict[tuple[str, int], list[float]]) -> list[str]:
        rules, trades = self.scenario.attendance, list(self.scenario.trades)
        expected = {key: minutes[0] for key, minutes in account.items()}
        leave_paid = rules is None or rules.leave is None or rules.leave.paid
        absence_paid = rules is None or rules.absence is None or rules.absence.paid
        for trade in trades:
            if "evening" in self.rostered(trade):
                paid = shift_day(self.scenario.shifts["evening"], self.scenario.tool_control).paid
                there = self.records.attended.get((trade, "evening"))
                rows = zip(*there[2:7], strict=True) if there is not None else (
                    (number, people, 0, 0, 0) for number, people in self.present(trade, "evening").items())
                for number, present, leave, absent, trained in rows:
                    t = self.calendar.midnights[max(number, 0)]
                    if number >= 0 and t < edges[-1]:
                        heads = present + trained + leave * leave_paid + absent * absence_paid
                        expected[trade, bisect_right(edges, t) - 1] += 0.1 * heads * paid
        for e in self.records.overtime:
            t = self.calendar.midnights[e.day]
            if t < edges[-1]:
                more = self.scenario.attendance.overtime.premium - 1 + 0.1 * (e.shift == "evening")
                expected[e.trade, bisect_right(edges, t) - 1] += more * e.people * e.paid
        return differ("wages", {key: m / 60 for key, m in expected.items()},
                      {(trade, n): float(self.run.wage_hours[trades.index(trade), n]) for trade, n in expected})

    def _standing(self, edges: list[float]) -> list[str]:
        """Work put in at the middle of a stretch of work stands in the aircraft until it is delivered."""
        trades = list(self.scenario.trades)
        at_end: Hours = defaultdict(float)
        mean: Hours = defaultdict(float)
        flown = [s for s in self.segments if s.state == State.FLIGHT]
        for s in (s for s in (*self.worked, *flown) if s.trade and s.start < edges[-1]):
            last = min(s.end, edges[-1])
            hours = (last - s.start if s.state == State.FLIGHT else
                     s.people * lasts(self.crew(s.shift, s.place), s.start, last)) / 60
            middle, gone = (s.start + last) / 2, self.records.delivered.get(s.serial, inf)
            for n, (a, b) in enumerate(itertools.pairwise(edges)):
                if middle < b <= gone:
                    at_end[trades.index(s.trade), n] += hours
                mean[trades.index(s.trade), n] += hours * max(0.0, min(gone, b) - max(middle, a)) / (b - a)
        found = self.run.standing_labour
        keys = [(k, n) for k in range(len(trades)) for n in range(len(edges) - 1)]
        return differ("work in aircraft at the end", at_end, {key: float(found[0][key]) for key in keys}) + differ(
            "work in aircraft in the mean", mean, {key: float(found[1][key]) for key in keys})

    # what set the date -------------------------------------------------------------------------------------------
    def chains(self) -> Iterator[Broken]:
        """F112: from departure back to what closed last, from there to the instant at which it could have begun, then
        to what closed then. Stays with locks, recalls, holds or work from elsewhere are left out."""
        bad, seen = [], 0
        chains, reference = Chains(self.ledger), self.blocks_of(self.calendar.reference_shift)
        odd = {s.serial for s in self.segments if s.state == State.LOCKED or s.job.startswith(("re-torque", "fleet"))}
        odd |= {t.serial for t in self.records.travelled} | set(self.records.standing)
        for serial in self.launched:
            for stay in chains.stays(serial):
                total = sum(stay.work_days.values()) * self.calendar.work_day / 60 + sum(stay.outside_hours.values())
                visit = next(v for v in self.stays if (v.serial, v.half, v.place, v.parked, v.arrived) == (
                    serial, stay.half, stay.place, stay.parked, stay.arrived))
                if visit.ready == inf and not visit.parked:
                    continue
                seen += 1
                if serial not in odd and not isclose(total, (stay.left - stay.arrived) / 60, abs_tol=1e-5):
                    bad.append(f"{visit}: {total} hours in the chain")
                position = self.sheet.places[visit.place].position
                if position.flights or position.acceptance or any(p.kind == "appointment" for p in position.packages):
                    continue
                if serial in odd or visit.parked or (self.pulse_on and any(
                        p.can_travel for p in position.packages)):
                    continue
                through, pieces = self._back(visit)
                days: Hours = defaultdict(float)
                outside: Hours = defaultdict(float)
                for a, b, state in pieces:
                    worked = lasts(reference, a, b)
                    days[state] += worked / self.calendar.work_day
                    outside[state] += (b - a - worked) / 60
                if tuple(through) != stay.through:
                    bad.append(f"{visit}: through {stay.through} for {through}")
                bad += differ(f"{visit} days", days, {int(n): d for n, d in stay.work_days.items()})
                bad += differ(f"{visit} outside", outside, {int(n): d for n, d in stay.outside_hours.items()})
        yield "what set the dates", bad, seen

    def _back(self, visit: Visit) -> tuple[list[str], list[Piece]]:
        pieces: list[Piece] = []
        through: list[str] = []
        here = [(s, of) for s, of in zip(self.segments, self.pieces, strict=True)
                if (s.serial, s.half, s.place) == visit[:3] and s.start < visit.left and s.end > visit.arrived]
        for s, of in here:
            if s.state in HELD and s.start >= visit.ready - TINY and s.job == "":
                pieces += of
        t = visit.ready
        closings = [c for c in self.closings if (c.serial, c.half, c.place) == visit[:3]
                    and visit.arrived <= c.closed <= visit.left]
        order = {c: n for n, c in enumerate(closings)}
        while t > visit.arrived + TINY:
            last = [c for c in closings if c.closed == t and self._since(c, here) < t]
            if not last:
                break
            c = min(last, key=lambda c: (self._file_order.get(c.job, inf), order[c]))
            since = max(self._since(c, here), visit.arrived)
            mine = [(max(a, since), min(b, t), state) for s, of in here if s.job == c.job for a, b, state in of
                    if a < t and b > since]
            pieces += lowest(mine)
            through.append(c.job)
            t = since
        return list(dict.fromkeys(reversed(through))), pieces

    def _since(self, c: Closing, here: list[tuple[Segment, list[Piece]]]) -> float:
        """Since when a package that closed was in one state after the other without a gap."""
        since = c.closed
        for s, _ in sorted(here, key=lambda one: -one[0].end):
            if s.job == c.job and s.end >= since - TINY and s.start < since:
                since = s.start
        return since

    def lost(self) -> Iterator[Broken]:
        """Work days lost on the way: of the chain what is waiting, blocked or rework, in 64ths of a day, from 0.05."""
        chains = Chains(self.ledger)
        expected: Hours = defaultdict(float)
        for serial in {*self.launched, *self.records.standing}:
            for stay in chains.that_set_the_date(serial):
                for state, days in stay.work_days.items():
                    if FAMILIES[state] in ("waiting", "blocked", "rework"):
                        expected[serial, stay.place, stay.parked, int(state)] += days
        table = self.run.tables.lost
        columns = ("serial", "place", "parked", "reason", "work_days")
        found = {(int(a), int(b), bool(c), int(d)): float(days) for a, b, c, d, days in zip(
            *(list(table[name]) for name in columns), strict=True)}
        bad = [f"{key}: {days} for {expected[key]}" for key, days in found.items()
               if abs(days - expected[key]) > 1 / 128 + 1e-6 or days < 0.05]
        bad += [f"{key}: {days} are missing" for key, days in expected.items() if days > 0.07 and key not in found]
        yield "work days lost on the way", bad, len(expected)

    # the moment --------------------------------------------------------------------------------------------------
    def moments(self) -> Iterator[Broken]:
        """Where everything stands at some instants: its place and reason, since when, what is full, beyond the takt."""
        bad, seen, floor = [], 0, floor_of(self.sheet, self.records)
        takt, reference = self.scenario.launches.takt_work_days, self.blocks_of(self.calendar.reference_shift)
        for t in (self.records.ended * n / 13 + 7.0 for n in range(12)):
            standing = {(one.serial, one.half): one for one in floor.at(t)}
            there = {(self.records.serials[v.serial], v.half): v for v in self.stays if v.arrived <= t < v.left}
            if set(standing) != set(there):
                bad.append(f"{t}: {set(standing) ^ set(there)}")
                continue
            for key, v in there.items():
                one, seen = standing[key], seen + 1
                true = [(state, s) for s, of in zip(self.segments, self.pieces, strict=True)
                        if s.serial == v.serial and s.half == v.half and s.start <= t < s.end
                        for a, b, state in of if a <= t < b]
                state = min((of for of, _ in true), default=None)
                days = lasts(reference, v.arrived, t) / self.calendar.work_day
                place = self.sheet.places[v.place]
                allowed = None if takt is None else takt * (place.parking if v.parked else place.docks)
                full = (v.place if v.parked else place.next) if state == State.BLOCKED else None
                trades = {s.trade for of, s in true if of == state and s.trade}
                jobs = {s.job for of, s in true if of == state and s.job}
                got = (one.place, one.parked, one.state, one.since, one.full, set(one.trades), set(one.jobs))
                if got != (v.place, v.parked, state, v.arrived, full, trades, jobs) or not isclose(
                        one.work_days, days, abs_tol=1e-9) or (one.over_takt is None) != (allowed is None) or (
                        allowed is not None and not isclose(one.over_takt or 0.0, days - allowed, abs_tol=1e-9)):
                    bad.append(f"{t}: {one} for {v} in {state}, {days} days")
        yield "where everything stands at an instant", bad, seen

    def jam(self) -> Iterator[Broken]:
        """The first aircraft that stood in a dock, blocked or on a line that stood, for more than a work day: since
        when, where; ahead of it the first place that is not all blocked, and what that was in most of the time."""
        floor, reference = floor_of(self.sheet, self.records), self.calendar.reference
        found = first_jam(floor)
        stood = []
        for n, s in enumerate(self.segments):
            if s.state in (State.BLOCKED, State.LINE_STOP) and n not in self.parked:
                at = reference.finish(s.start, self.calendar.work_day)
                if at < s.end:
                    stood.append((at, -s.place, n, s))
        if not stood or found is None:
            yield "the first jam", [] if not stood and found is None else [f"{found} for {stood[:1]}"], 1
            return
        at, _, _, s = min(stood)
        bad = []
        if (found.serial, found.half, found.place, found.since, found.at) != (
                self.records.serials[s.serial], s.half, s.place, s.start, at):
            bad.append(f"{found} for {s} until {at}")
        front = self._front(s, at)
        if found.front != front:
            bad.append(f"{found}: in front {front}")
        elif front is not None:
            most = self._mostly(front, s.start, at)
            if most and found.state not in most:
                bad.append(f"{found}: in front {most}")
        yield "the first jam", bad, 1

    def _reason_at(self, v: Visit, t: float) -> int | None:
        return min((state for s, of in zip(self.segments, self.pieces, strict=True) if s.serial == v.serial
                    and s.half == v.half and s.start <= t < s.end for a, b, state in of if a <= t < b), default=None)

    def _front(self, s: Segment, t: float) -> int | None:
        docked = [v for v in self.stays if not v.parked and v.arrived <= t < v.left]
        causes = {n for stop in self.records.stops if stop.start <= t < stop.end for n in stop.caused_by}
        if causes and s.serial not in causes:
            return max((v.place for v in docked if v.serial in causes), default=None)
        passed, ahead = {s.place}, self.sheet.places[s.place].next
        while ahead is not None and ahead not in passed:
            if any(v.place == ahead and FAMILIES.get(State(self._reason_at(v, t) or 11), "off shift") != "blocked"
                   for v in docked):
                return ahead
            passed.add(ahead)
            ahead = self.sheet.places[ahead].next
        return None

    def _mostly(self, place: int, begin: float, end: float) -> set[int]:
        """Reasons of most of the time, off shift aside; the halves of an aircraft together."""
        minutes: Hours = defaultdict(float)
        for (_, n), pieces in self._by_spot(parked=False).items():
            on_shift = [(max(a, begin), min(b, end), state) for a, b, state in pieces if n == place
                        and state != State.OFF_SHIFT and a < end and b > begin]
            for a, b, state in lowest(on_shift):
                minutes[state] += b - a
        most = max(minutes.values(), default=0.0)
        return {state for state, m in minutes.items() if most - m < 1e-6}

    def days_of_flying(self) -> Iterator[Broken]:
        """Of each date with a pilots' shift whether anybody flew, else what kept the aircraft on the flight line
        longest in the hours of that shift."""
        if not any(p.flights for p in self.scenario.positions):
            return
        line = [p.index for p in self.sheet.places if p.position.flights]
        words = {State.WEATHER: "weather", State.PILOT: "no pilot", State.PEOPLE: "no mechanic",
                 State.INSPECTOR: "no mechanic"}
        flown = {self.calendar.day_number(f.start) for f in self.records.flights}
        found, bad = flying_days(self.ledger), []
        spots = {key: lowest(pieces) for key, pieces in self._by_spot(parked=False).items() if key[1] in line}
        for a, b in self._pilots_there:
            if a >= self.records.ended:
                break
            day = self.calendar.day_number(a)
            told = found.get(self.scenario.start + timedelta(days=day))
            minutes: Hours = defaultdict(float)
            for pieces in spots.values():
                for x, y, state in pieces:
                    if x < b and y > a and state not in (State.OFF_SHIFT, State.FLIGHT):
                        minutes[words.get(State(state), "aircraft not ready")] += min(y, b) - max(x, a)
            most = max(minutes.values(), default=0.0)
            able = {word for word, m in minutes.items() if most - m < 1e-6} or {"no aircraft"}
            if "weather" in able and not self.records.bad_hours[day]:
                able = able - {"weather"} | {"daylight"}
            if told not in ({"flown"} if day in flown else able):
                bad.append(f"day {day}: {told} for {able}")
        yield "why nobody flew", bad, len(found)

    def weeks_in_areas(self) -> Iterator[Broken]:
        """Mean number of aircraft in each area, week by week from Monday; a half counts a half."""
        rows = self.stays
        table = pd.DataFrame({
            "run": 0, "place": [self.names[v.place] for v in rows], "half": [v.half or "whole" for v in rows],
            "arrived": [v.arrived for v in rows], "left": [v.left for v in rows]})
        weeks, found = by_week(self.sheet, {"visits": table})
        areas, bad = areas_in_order(self.sheet), []
        expected = (self.scenario.end - self.scenario.start).days // 7 + (
            (self.scenario.end - self.scenario.start).days % 7 == 6)
        if len(weeks) != expected:
            bad.append(f"{len(weeks)} weeks for {expected}")
        for n, monday in enumerate(weeks):
            begin = self.calendar.instant(monday)
            stood: Hours = defaultdict(float)
            for v in rows:
                position = self.sheet.places[v.place].position
                stood[position.area or position.id] += (0.5 if v.half else 1.0) * max(
                    0.0, min(v.left, begin + 10080) - max(v.arrived, begin)) / 10080
            bad += differ(f"week {n}", stood, dict(zip(areas, found[0, :, n].tolist(), strict=True)))
        yield "aircraft in the areas by week", bad, len(weeks)

    def stopped(self) -> Iterator[Broken]:
        """Hours in which the line stood in the window, shared by what those who held it were in."""
        if not self.pulse_on:
            return
        begin, end = self.measured
        reference, run = self.blocks_of(self.calendar.reference_shift), self.run
        expected: Hours = defaultdict(float)
        hours = 0.0
        for stop in self.records.stops:
            first, last = max(stop.start, begin), min(stop.end, end)
            stood = lasts(reference, first, last) / 60 if first < last else 0.0
            hours += stood
            spots: dict[tuple[int, int], list[Piece]] = defaultdict(list)
            for s, of in zip(self.segments, self.pieces, strict=True):
                if s.serial in stop.caused_by:
                    spots[s.serial, s.place] += [(max(a, first), min(b, last), state) for a, b, state in of
                                                 if state not in HELD and a < last and b > first]
            shares: Hours = defaultdict(float)
            for (_, place), pieces in spots.items():
                for a, b, state in lowest(pieces):
                    shares[place, state] += lasts(reference, a, b)
            whole = sum(shares.values())
            for key, minutes in shares.items():
                expected[key] += stood * minutes / whole if whole else 0.0
        bad = [] if isclose(hours, run.stop_hours, abs_tol=1e-5) else [f"{run.stop_hours} hours for {hours}"]
        if run.line_stops != sum(begin <= stop.start < end for stop in self.records.stops):
            bad.append(f"{run.line_stops} stops")
        found = {(n, k): float(run.stop_causes[n, k]) for n in range(len(self.names))
                 for k in range(run.stop_causes.shape[1])}
        if isclose(sum(expected.values()), hours, abs_tol=1e-6):
            bad += differ("cause", expected, found)
        yield "hours of stops by cause", bad, len(self.records.stops)

    def measures_of(self) -> Iterator[Broken]:
        """All of them."""
        for of in (self.reasons, self.hours_of_places, self.in_window, self.hours_of_people, self.chains, self.lost,
                   self.moments, self.stopped, self.jam, self.days_of_flying, self.weeks_in_areas):
            yield from of()
