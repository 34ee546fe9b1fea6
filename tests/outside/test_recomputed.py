"""Measures worked out once more from the records, one instant after the other, by the words of the rules.

Nothing here uses the columns or the sweep of the measures: the reason of an aircraft at an instant is the first true
one of F105, and F106 says what a package that nobody works on waits for.
"""

from __future__ import annotations

import sys
from bisect import bisect_right
from collections import defaultdict
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
from audit import Audit
from audit.runs import RUNS, kept
from recorded.run import AT_WORK, OVERTIME
from spans import Spans, common, inside, joined, lasts, without

from linesim.line.records import Segment, State
from linesim.measures.chain import Chains
from linesim.measures.columns import Columns
from linesim.measures.labour import ACCOUNT, labour
from linesim.measures.ledger import Ledger
from linesim.measures.moment import FAMILIES
from linesim.measures.run import numbers_of, window_instants
from linesim.measures.window import periods_of
from linesim.scenario.calendar import shift_day


class Plain:
    """Reasons of one run, one instant at a time."""

    def __init__(self, audit: Audit) -> None:
        self.audit, self.sheet, self.calendar = audit, audit.sheet, audit.calendar
        self.of: dict[int, list[Segment]] = defaultdict(list)
        for s in audit.segments:
            self.of[s.serial].append(s)

    @cache  # noqa: B019
    def shift(self, name: str) -> Spans:
        """Working time of a shift, with overtime if its name says so."""
        clock = self.sheet.extra.clock(name) if name.endswith(OVERTIME) and self.sheet.extra else \
            self.calendar.clock(name)
        return [(a, b) for a, b, _ in clock.blocks()]

    @cache  # noqa: B019
    def area(self, place: int, overtime: str) -> Spans:
        """When a place is open for a crew of a shift."""
        position = self.sheet.places[place].position
        spans: Spans = [(0.0, self.calendar.midnights[-1])]
        if position.shifts:
            spans = [span for name in position.shifts for span in self.shift(name)]
            if overtime.removesuffix(OVERTIME) in position.shifts:
                spans += self.shift(overtime)
        return without(joined(spans), joined(self.sheet.in_run(self.audit.records.outages).outages(position)))

    @cache  # noqa: B019
    def crew(self, shift: str, place: int) -> Spans:
        area = self.area(place, shift)
        return common(joined(self.shift(shift)), area) if shift else area

    @cache  # noqa: B019
    def roster(self, trade: str, place: int, overtime: bool) -> Spans:
        """F106: the trade's own shifts, whoever is there; a trade on no roster on the reference shift."""
        people = self.audit.scenario.trades[trade].people if trade in self.audit.scenario.trades else {}
        shifts = [shift or self.calendar.reference_shift for shift in people] or [self.calendar.reference_shift]
        extra = self.sheet.extra
        names = [f"{s}{OVERTIME}" if overtime and extra is not None else s for s in shifts]
        return joined([span for name in names for span in self.crew(name, place)])

    def state(self, s: Segment, t: float) -> int:
        """State of one package at an instant."""
        rosters = self.roster(s.trade, s.place, s.shift.endswith(OVERTIME) or s.shift == OVERTIME) if s.trade else None
        if s.state in AT_WORK and s.shift:
            if inside(self.crew(s.shift, s.place), t):
                return s.state
            if s.daylight or len(self.audit.scenario.trades[s.trade].people) > 1:
                return self._waits(s, State.INSPECTOR if s.trade == "INS" else State.PEOPLE, t, rosters)
            return State.OFF_SHIFT
        if s.state in (State.PEOPLE, State.INSPECTOR):
            return self._waits(s, s.state, t, rosters)
        if s.state == State.PILOT:
            return self._pilot(s, t)
        return s.state

    def _waits(self, s: Segment, state: int, t: float, rosters: Spans | None) -> int:
        if not inside(rosters if rosters is not None else self.area(s.place, ""), t):
            return State.OFF_SHIFT
        if s.daylight and self.sheet.light is not None:
            first, last = self.sheet.light[self.calendar.day_number(t)]
            return state if first <= t < last else State.WEATHER
        return state

    def _pilot(self, s: Segment, t: float) -> int:
        flights = next(p.flights for p in self.audit.scenario.positions if p.flights)
        spans = [span for shift in self.audit.scenario.trades[flights.pilots].people
                 for span in self.calendar.clock(shift or self.calendar.reference_shift).spans()]
        if not any(a <= t < b for a, b in spans):
            return State.OFF_SHIFT
        brief, day = (flights.pilot_hours - flights.flight_hours) * 30, self.calendar.day_number(t)
        bad = self.audit.records.bad_hours
        for n in (day, day + 1):  # a block may begin before midnight for the next date
            first, last = self.sheet.light[n] if self.sheet.light else (0.0, 1e18)
            if bad[n] == 2**24 - 1:
                continue
            if first - brief <= t < last - flights.flight_hours * 60 - brief:
                return State.PILOT
        return State.WEATHER

    def reasons(self, serial: int, begin: float, end: float) -> dict[int, float]:
        """Hours by reason: between two changes of anything the reason is one."""
        segments = [s for s in self.of[serial] if s.start < end and s.end > begin and s.end > s.start]
        cuts = {begin, end} | {t for s in segments for t in (s.start, s.end)}
        for name in (*self.calendar.shifts, *(self.sheet.extra.names if self.sheet.extra else ())):
            cuts |= {t for a, b in self.shift(name) for t in (a, b)}
        for place in {s.place for s in segments}:
            cuts |= {t for a, b in self.area(place, "") for t in (a, b)}
        for a, b in self.sheet.light or ():
            flights = next(p.flights for p in self.audit.scenario.positions if p.flights)
            brief = (flights.pilot_hours - flights.flight_hours) * 30
            cuts |= {a, b, a - brief, b - brief - flights.flight_hours * 60}
        cuts |= set(self.calendar.midnights)
        found: dict[int, float] = defaultdict(float)
        segments.sort(key=lambda s: s.start)
        for a, b in pairwise(sorted(t for t in cuts if begin <= t <= end)):
            if b - a > 1e-9:
                t = (a + b) / 2
                found[min(self.state(s, t) for s in segments if s.start <= t < s.end)] += (b - a) / 60
        return found


@pytest.mark.parametrize("name", RUNS)
def test_reasons_are_the_first_true_ones(name: str) -> None:
    """F105, F106: three aircraft of each run, from launch to delivery, hour by hour."""
    audit = kept(RUNS[name])
    ledger, plain = Ledger(audit.sheet, audit.records), Plain(audit)
    serials = [n for n in sorted(audit.records.delivered) if n in audit.launched]
    some = [serials[0], serials[len(serials) // 2]]
    hours = ledger.by_aircraft(some)
    for serial, row in zip(some, hours, strict=True):
        expected = plain.reasons(serial, audit.launched[serial], audit.records.delivered[serial])
        assert {rank: row[rank] for rank in np.flatnonzero(row > 1e-6)} == pytest.approx(
            {rank: h for rank, h in expected.items() if h > 1e-6}, abs=1e-5)


@pytest.mark.parametrize("name", RUNS)
def test_account_of_paid_hours(name: str) -> None:
    """F108: every trade and stretch: paid, checked, breaks, trained, absent from the people there and the minutes of
    the shift; worked from the work itself; the rest is idle."""
    audit = kept(RUNS[name])
    sheet, scenario, plain = audit.sheet, audit.scenario, Plain(audit)
    found = labour(sheet, Columns(sheet, audit.records))
    firsts = [first for first, _ in periods_of(scenario)]
    bounds = [audit.calendar.instant(first) for first in firsts] + [audit.calendar.end]
    starts = [(first - scenario.start).days for first in firsts]
    last = (scenario.end - scenario.start).days
    expected = np.zeros_like(found)
    for n, (trade, declared) in enumerate(scenario.trades.items()):
        for shift in declared.people:
            minutes = shift_day(scenario.shifts[shift], scenario.tool_control)
            there = audit.records.attended[trade, shift]
            for day, present, leave, absent, trained in zip(*there[2:7], strict=True):
                if day <= last:
                    cell = expected[n, bisect_right(starts, day) - 1]
                    cell += np.array([present + leave + absent + trained, 0, 0, 0, trained, leave + absent, 0],
                                     dtype=float) * minutes.paid
                    cell += present * np.array([0, 0, minutes.checked, minutes.breaks, 0, 0, minutes.work], dtype=float)
        if trade == "FTP":
            continue
        for e in audit.records.overtime:
            if e.trade == trade and e.day <= last:
                cell = expected[n, bisect_right(starts, e.day) - 1]
                cell += e.people * np.array([e.paid, 0, e.checked, e.paid - e.work - e.checked, 0, 0, e.work])
        for s in (s for s in audit.worked if s.trade == trade and s.shift and s.start < bounds[-1]):
            worked = s.people * lasts(plain.crew(s.shift, s.place), s.start, min(s.end, bounds[-1]))
            cell = expected[n, bisect_right(bounds, s.start) - 1]
            cell += np.array([0, worked, 0, 0, 0, 0, -worked])
    wages = expected[:, :, 0] / 60  # an evening hour a tenth more, an overtime hour half as much again
    for n, (trade, declared) in enumerate(scenario.trades.items()):
        for shift in (shift for shift in declared.people if shift == "evening"):
            there = audit.records.attended[trade, shift]
            for day, *groups in zip(*there[2:7], strict=True):
                if day <= last:
                    wages[n, bisect_right(starts, day) - 1] += 0.1 * sum(groups) * shift_day(
                        scenario.shifts[shift], scenario.tool_control).paid / 60
        for e in audit.records.overtime:
            if e.trade == trade and e.day <= last:
                more = 0.5 + 0.1 * (e.shift == "evening")
                wages[n, bisect_right(starts, e.day) - 1] += more * e.people * e.paid / 60
    ground = [n for n, trade in enumerate(scenario.trades) if trade != "FTP"]
    np.testing.assert_allclose(numbers_of(sheet, audit.records).wage_hours[ground], wages[ground], atol=1e-4)
    np.testing.assert_allclose(found[ground], expected[ground] / 60, atol=1e-4)
    pilots = found[list(scenario.trades).index("FTP")]
    np.testing.assert_allclose(pilots[:, 1:].sum(axis=1), pilots[:, 0], atol=1e-6)
    flown = sum(f.end - f.start for f in audit.records.flights if f.start < bounds[-1]) / 60
    ground_hours = sum(s.people * lasts(plain.crew(s.shift, s.place), s.start, min(s.end, bounds[-1]))
                       for s in audit.worked if s.trade == "FTP" and s.start < bounds[-1]) / 60
    assert pilots[:, ACCOUNT.index("worked")].sum() == pytest.approx(flown + ground_hours, abs=1e-4)


@pytest.mark.parametrize("name", RUNS)
def test_numbers_of_a_run(name: str) -> None:
    """What is counted and summed over a window: from the records by the meaning of the words."""
    audit = kept(RUNS[name])
    sheet, records, serials = audit.sheet, audit.records, audit.records.serials
    run = numbers_of(sheet, records)
    begin, end = window_instants(sheet)
    counted = [n for n, t in records.delivered.items() if begin <= t < end and n in audit.launched]
    assert run.counted == len(counted) == len(run.flow_hours)
    assert {name: h * 60 for name, h in run.flow_hours.items()} == pytest.approx(
        {serials[n]: records.delivered[n] - audit.launched[n] for n in counted})
    assert (run.flights, run.squawks) == (len(records.flights), sum(f.squawks for f in records.flights))
    assert sum(run.reasons.values()) == pytest.approx(sum(run.flow_hours.values()))
    stood = sum((0.5 if v.half else 1.0) * max(0.0, min(v.left, end) - max(v.arrived, begin)) for v in audit.stays)
    assert sum(run.in_process.values()) == pytest.approx(stood / (end - begin))
    assert run.line_stops == sum(begin <= stop.start < end for stop in records.stops)
    reference = joined(Plain(audit).shift(audit.calendar.reference_shift))
    assert run.stop_hours == pytest.approx(sum(
        lasts(reference, max(s.start, begin), min(s.end, end)) for s in records.stops if s.end > begin) / 60)
    assert run.stop_causes.sum() == pytest.approx(run.stop_hours)
    days, outside = run.chain.sum(axis=(1, 2))
    assert days * audit.calendar.work_day / 60 + outside == pytest.approx(sum(run.flow_hours.values()))
    waited = sum((min(s.end, end) - max(s.start, begin)) / 60 for s in audit.segments
                 if s.state in (State.PEOPLE, State.INSPECTOR) and s.start < end and s.end > begin)
    assert 0 < run.waits.sum() < waited + 5000
    first = [t for t in records.travelled
             if t == next(o for o in records.travelled if (o.serial, o.job) == (t.serial, t.job))]
    rates = {p.id: audit.scenario.trades[p.trade].usd_per_hour or 0 for p in audit.packages.values() if p.trade}
    for place in {t.origin for t in first}:
        of, ours = run.travelled[sheet.places[place].id], [t for t in first if t.origin == place]
        assert (of.packages, of.hours, of.extra, of.cost) == pytest.approx((
            len(ours), sum(t.after for t in ours) / 60, sum(t.after - t.before for t in ours) / 60,
            sum((t.after - t.before) * rates[t.job] for t in ours) / 60))


@pytest.mark.parametrize("name", RUNS)
def test_hours_of_places_and_lost_days(name: str) -> None:
    """F109: docks x hours; the stays are the hours that are not empty; days lost are those of the chain."""
    audit = kept(RUNS[name])
    ledger, records = Ledger(audit.sheet, audit.records), audit.records
    for parked in (False, True):
        hours = ledger.of_places(parking=parked)
        for place in audit.sheet.places:
            room = place.parking if parked else place.docks
            row = hours[place.index]
            assert row.sum() == pytest.approx(room * records.ended / 60, abs=1e-5)
            stood = sum(v.left - v.arrived for v in audit.stays if v.place == place.index and v.parked == parked) / 60
            assert row.sum() - row[0] - row[State.OFF_SHIFT] <= stood + 1e-6
            assert row.min() >= -1e-6
    run = numbers_of(audit.sheet, records)
    chains = Chains(ledger)
    lost = run.tables.lost
    serial = sorted(audit.launched)[7]
    mine = np.asarray(lost["serial"]) == serial
    by_reason: dict[int, float] = defaultdict(float)
    for stay in chains.that_set_the_date(serial):
        for state, days in stay.work_days.items():
            if FAMILIES[state] in ("waiting", "blocked", "rework"):
                by_reason[int(state)] += days
    kept_days: dict[int, float] = defaultdict(float)
    for reason, days in zip(np.asarray(lost["reason"])[mine], np.asarray(lost["work_days"])[mine], strict=True):
        kept_days[int(reason)] += float(days)
    assert sum(kept_days.values()) == pytest.approx(sum(by_reason.values()), abs=0.05 * (3 + len(kept_days) * 4))
    for reason, days in kept_days.items():
        assert days <= by_reason[reason] + 0.2
