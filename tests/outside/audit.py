"""Replays the records of a run and counts every break of a rule that can be read off them.

Written from the rules of the floor alone: it knows the scenario, the calendar and the light, and what a record says,
not how the engine came to it. Each check gives the number of breaks and how often the rule was looked at.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import timedelta
from functools import cache, cached_property, lru_cache
from itertools import pairwise
from math import inf, isclose
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from linesim.line.floor import run_once
from linesim.line.records import Segment, State, Visit
from linesim.line.sheet import Sheet
from linesim.scenario.changing import changed
from linesim.scenario.plan import planned_moments
from linesim.scenario.plant import Package
from linesim.scenario.reading import read_scenario

SCENARIOS = Path(__file__).parents[2] / "scenarios"
AT_WORK = (State.WORK, State.REWORK)
TINY = 1e-6  # minutes
OVERTIME = " with overtime"
Row = tuple[str, int, int]  # rule, breaks, how often it was looked at


class Kept(NamedTuple):
    """A run that is audited."""

    file: str
    number: int
    changes: tuple[tuple[str, Any], ...] = ()


FREE_FLOW = Kept("birchwater.yaml", 2)
HARD_YEAR = Kept("birchwater-hard-year.yaml", 1)
PULSE = Kept("birchwater-pulse.yaml", 1)
TWO_SHIFTS = Kept("birchwater.yaml", 3, (
    ("work_rules.cover_in_force", True), ("positions.PP.shifts", ("day", "evening")), ("positions.PB.stripe_bays", 1),
    ("positions.PB.shifts", ("day", "evening")), ("trades.PNT.people.evening", 3), ("trades.RIG.people.evening", 2),
    ("end", "2027-12-31"), ("run_on_months", 0)))
RUNS = {"free flow": FREE_FLOW, "hard year": HARD_YEAR, "pulse": PULSE, "two shifts": TWO_SHIFTS}


@lru_cache(maxsize=8)
def kept(run: Kept) -> Audit:
    """The run, made once."""
    scenario = read_scenario(SCENARIOS / run.file)
    if run.changes:
        scenario = changed(scenario, dict(run.changes))
    sheet = Sheet(scenario)
    return Audit(sheet, run_once(sheet, scenario.seed, run.number))


def most_at_once(spans: Iterable[tuple[float, float, int]]) -> int:
    """Largest sum of weights of spans that overlap; what ends at an instant is gone at it."""
    events = sorted((t, change) for a, b, n in spans if b > a for t, change in ((a, n), (b, -n)))
    most = now = 0
    for _, change in events:
        now += change
        most = max(most, now)
    return most


class Audit:
    """One run."""

    def __init__(self, sheet: Sheet, records: Any) -> None:
        self.sheet, self.records, self.scenario, self.calendar = sheet, records, sheet.scenario, sheet.calendar
        self.segments: list[Segment] = records.segments
        self.stays: list[Visit] = [*records.visits, *records.unfinished]
        self.names = [place.id for place in sheet.places]
        self.launched = {entry.serial: entry.made for entry in records.launches}
        self.packages: dict[str, Package] = {p.id: p for position in self.scenario.positions for p in position.packages}

    @cached_property
    def by_aircraft(self) -> dict[tuple[int, str], list[Visit]]:
        found: dict[tuple[int, str], list[Visit]] = defaultdict(list)
        for stay in sorted(self.stays, key=lambda stay: (stay.arrived, stay.left)):
            found[stay.serial, stay.half].append(stay)
        return found

    @cached_property
    def worked(self) -> list[Segment]:
        return [s for s in self.segments if s.state in AT_WORK and s.people]

    # places ------------------------------------------------------------------------------------------------------
    def places(self) -> Iterator[Row]:
        """F10, F11: no more aircraft than docks and parking; nobody in two places; stays follow one another."""
        over = 0
        for place in self.sheet.places:
            for parked, room in ((False, place.docks), (True, place.parking)):
                spans = [(v.arrived, v.left, 1) for v in self.stays if v.place == place.index and v.parked == parked]
                over += most_at_once(spans) > room
        yield "more aircraft than docks or parking spots, places", over, len(self.sheet.places)
        gaps = [a.left != b.arrived for stays in self.by_aircraft.values() for a, b in pairwise(stays)]
        yield "a stay that does not begin where the one before ends", sum(gaps), len(gaps)
        order = [not (v.arrived <= v.ready <= v.left) for v in self.records.visits if not v.parked]
        yield "left before it was ready, or ready before it came", sum(order), len(order)
        away = [self._goes_wrong(a, b) for stays in self.by_aircraft.values() for a, b in pairwise(stays)]
        yield "a move to a place that is not next", sum(away), len(away)

    def _goes_wrong(self, a: Visit, b: Visit) -> bool:
        return b.place != a.place if a.parked else b.place != self.sheet.places[a.place].next

    def idle_docks(self) -> Iterator[Row]:
        """F11, F12: nobody stands blocked, or parked, while a dock beyond is free (night or day)."""
        if self.scenario.pulse and self.scenario.pulse.in_force:
            return
        free = seen = 0
        for v in self.stays:
            stays = [(v.arrived, v.left)] if v.parked else [(v.ready, v.left)] if not v.half else []
            target = v.place if v.parked else self.sheet.places[v.place].next
            if target is None or not stays or stays[0][1] - stays[0][0] < TINY or self._is_kept(v, *stays[0]):
                continue
            begin, end = stays[0]
            room = self.sheet.places[target].docks
            there = [(max(o.arrived, begin), min(o.left, end), 1) for o in self.stays
                     if o.place == target and not o.parked and o.arrived < end and o.left > begin]
            free += sum(b - a for a, b, _ in there) < room * (end - begin) - TINY
            seen += 1
        yield "blocked or parked while a dock beyond is free", free, seen

    def _is_kept(self, v: Visit, begin: float, end: float) -> bool:
        """Whether something else may keep it there: a lock, a fleet hold, the inspection of one."""
        return any(s.serial == v.serial and s.start < end and s.end > begin
                   and (s.state in (State.LOCKED, State.PARTS, State.REWORK, State.INSPECTOR, State.WORK))
                   for s in self._of_serial[v.serial])

    @cached_property
    def _of_serial(self) -> dict[int, list[Segment]]:
        found: dict[int, list[Segment]] = defaultdict(list)
        for s in self.segments:
            found[s.serial].append(s)
        return found

    # work --------------------------------------------------------------------------------------------------------
    def crews(self) -> Iterator[Row]:
        """F26: never fewer people than the least, nor more than the most; F35, F36: the buy-off by one inspector."""
        crews: dict[tuple[Any, ...], list[tuple[float, float, int]]] = defaultdict(list)
        for s in self.worked:
            if s.job in self.packages:
                package = self.packages[s.job]
                inspects = s.trade == (package.inspector or "INS") and s.trade != package.trade
                crews[s.serial, s.half, s.job, inspects].append((s.start, s.end, s.people))
        over = under = 0
        for (_, _, job, inspects), spans in crews.items():
            least, most = (1, 1) if inspects or self.packages[job].kind == "buy-off" else self.packages[job].people
            over += most_at_once(spans) > most
            together: dict[tuple[float, float], int] = defaultdict(int)
            for a, b, n in spans:
                together[a, b] += n
            under += any(n < least for (a, b), n in together.items() if b > a)
        yield "crews over the most people", over, len(crews)
        yield "crews under the least people", under, len(crews)
        wrong = [s for s in self.worked if s.job in self.packages and s.trade not in self._trades_of(s.job)]
        yield "work by a trade that is not the package's, its inspector's or a lender", len(wrong), len(self.worked)

    def _trades_of(self, job: str) -> set[str]:
        package = self.packages[job]
        own = package.trade or "INS"
        lend = set(self.scenario.trades[own].cover) if self.scenario.work_rules.cover_in_force else set()
        return {own, *lend, *([package.inspector or "INS"] if package.inspection_hours else [])}

    def in_docks(self) -> Iterator[Row]:
        """F25: hands-on work lies inside a stay of its aircraft in a dock of its place (a fleet hold's: anywhere)."""
        outside = 0
        for s in self.worked:
            stays = self.by_aircraft.get((s.serial, s.half), [])
            outside += not any(v.place == s.place and v.arrived <= s.start and s.end <= v.left for v in stays
                               if not v.parked) and not s.job.startswith(("fleet", "inspection", "re-torque"))
        yield "work outside a stay in its place", outside, len(self.worked)

    def nothing_beside_flights_and_locks(self) -> Iterator[Row]:
        """F75, F85: nobody works on an aircraft that flies or is locked."""
        bad = seen = 0
        for segments in self._of_serial.values():
            closed = [(s.start, s.end, s.half) for s in segments if s.state in (State.FLIGHT, State.LOCKED)]
            for s in segments if closed else ():
                if s.state in AT_WORK and s.people:
                    seen += 1
                    bad += any(s.start < b - TINY and s.end > a + TINY and s.half == half for a, b, half in closed)
        yield "worked on while it flies or is locked", bad, seen

    # people ------------------------------------------------------------------------------------------------------
    def _blocks(self, shift: str) -> list[tuple[float, float, int]]:
        if shift.endswith(OVERTIME) and self.sheet.extra is not None:
            return self.sheet.extra.clock(shift).blocks()
        return self.calendar.clock(shift).blocks()

    @cached_property
    def _extra(self) -> dict[tuple[str, str, int], int]:
        return {(e.trade, e.shift, e.day): e.people for e in self.records.overtime}

    def present(self, trade: str, shift: str) -> dict[int, int]:
        """People there by shift date."""
        there = self.records.attended.get((trade, shift))
        if there is not None:
            return dict(zip(there.days, there.present, strict=True))
        heads = self.scenario.trades[trade].people
        number = heads.get(shift, 0) if isinstance(heads, dict) else heads
        return dict.fromkeys((day for _, _, day in self._blocks(shift)), number)

    def people(self) -> Iterator[Row]:
        """F29, F33, F60: crews work inside one shift date of their shift, never more people than are there; nobody is
        free while one person's work waits (no lock, night, cover, reserve), nor while a crew may grow (F27, F28)."""
        over = outside = waits = grows = seen = looked = 0
        for trade in self.scenario.trades:
            for shift in (one for one in self.calendar.shifts if self.present(trade, one)):
                blocks, longer = self._blocks(shift), {}
                if self.sheet.extra is not None and trade in self.sheet.extra.rules.trades:
                    longer = {day: (a, b) for a, b, day in self._blocks(f"{shift}{OVERTIME}")}
                ours = [s for s in self.worked if s.trade == trade and s.shift.removesuffix(OVERTIME) == shift]
                ours += [s for s in self.segments if s.state == State.FLIGHT and s.trade == trade and s.shift == shift]
                starts = np.array([a for a, _, _ in blocks])
                days: dict[int, list[tuple[float, float, int]]] = defaultdict(list)
                for s in ours:
                    n = int(np.searchsorted(starts, s.start, side="right")) - 1
                    day = blocks[max(n, 0)][2]
                    days[day].append((s.start, s.end, s.people))
                    if s.state != State.FLIGHT:
                        last = self._last(shift, day)
                        outside += s.start < blocks[n][0] - TINY or s.end > max(
                            last, longer.get(day, (0.0, 0.0))[1]) + TINY
                    seen += 1
                there = self.present(trade, shift)
                over += sum(most_at_once(spans) > there.get(day, 0) for day, spans in days.items())
                a, b, c = self._left_idle(trade, shift, blocks, ours, there)
                waits, grows, looked = waits + a, grows + b, looked + c
        yield "more people at work than are there, shift dates", over, seen
        yield "work outside the shift date on which it began", outside, seen
        yield "people free while work of one person waits", waits, looked
        yield "people free while a crew may grow", grows, looked

    @cache  # noqa: B019
    def _last(self, shift: str, day: int) -> float:
        ends: dict[int, float] = self._ends(shift)
        return ends[day]

    @cache  # noqa: B019
    def _ends(self, shift: str) -> dict[int, float]:
        found: dict[int, float] = {}
        for _, b, day in self._blocks(shift):
            found[day] = max(b, found.get(day, 0.0))
        return found

    def _left_idle(self, trade: str, shift: str, blocks: list[tuple[float, float, int]], ours: list[Segment],
                   there: dict[int, int]) -> tuple[int, int, int]:
        """Instants (between two changes, in working time) with free people and work for them."""
        declared = self.scenario.trades[trade]
        if declared.reserve or len(declared.people) > 1 or self.scenario.work_rules.cover_in_force or trade == "FTP":
            return 0, 0, 0
        kept = {s.serial for s in self.segments if s.state == State.LOCKED} | {
            self.records.serials.index(n) for hold in self.scenario.fleet_holds for n in hold.serials
            if n in self.records.serials}
        flying = [(s.serial, s.start, s.end) for s in self.segments if s.state == State.FLIGHT]
        waiting = [s for s in self.segments if s.trade == trade and s.state in (State.PEOPLE, State.INSPECTOR)
                   and s.serial not in kept and not s.daylight and not self.sheet.places[s.place].position.shifts
                   and not any(n == s.serial and a < s.end and b > s.start for n, a, b in flying)
                   and (s.job not in self.packages or self.packages[s.job].people[0] == 1
                        or trade != self.packages[s.job].trade)]
        growing = [s for s in ours if s.job in self.packages and s.trade == self.packages[s.job].trade
                   and self.packages[s.job].kind == "work" and s.people < self.packages[s.job].people[1]
                   and s.serial not in kept and s.state != State.FLIGHT and not s.daylight
                   and not self.sheet.places[s.place].position.shifts]
        times = np.unique(np.array([t for s in (*ours, *waiting) for t in (s.start, s.end)]
                                   + [t for a, b, _ in blocks for t in (a, b)]))
        middle, length = (times[:-1] + times[1:]) / 2, np.diff(times)
        n = np.clip(np.searchsorted([a for a, _, _ in blocks], middle, side="right") - 1, 0, None)
        ends = np.array([b for _, b, _ in blocks])
        number = np.array([there.get(day, 0) for _, _, day in blocks])
        on = (middle < ends[n]) & (length > 1e-3) & (middle > blocks[0][0]) & (middle < self.records.ended)
        free = number[n] - self._count(times, ours)
        idle = on & (free > 0)
        return (int((idle & (self._count(times, waiting, each=True) > 0)).sum()),
                int((idle & (self._count(times, growing, each=True) > 0)).sum()), int(on.sum()))

    @staticmethod
    def _count(times: np.ndarray, segments: list[Segment], *, each: bool = False) -> np.ndarray:
        change = np.zeros(len(times) + 1)
        for s in segments:
            weight = 1 if each else s.people
            change[np.searchsorted(times, s.start)] += weight
            change[np.searchsorted(times, s.end)] -= weight
        return np.cumsum(change)[:-2]

    def attendance(self) -> Iterator[Row]:
        """F60: everybody employed is there, on leave, absent or in training; effectiveness is between 0 and 1; the
        shares of the year lie within 6 standard errors of what is declared (spells and weeks widen the binomial)."""
        rules = self.scenario.attendance
        if rules is None:
            return
        bad = seen = 0
        total = np.zeros(5)
        for a in self.records.attended.values():
            rows = np.array([a.present, a.on_leave, a.absent, a.in_training, a.employed], dtype=float)
            bad += int((rows[:4].sum(axis=0) != rows[4]).sum()) + sum(not 0 < e <= 1 for e in a.effectiveness)
            seen += len(a.days)
            total += rows.sum(axis=1)
        yield "people employed who are nowhere, or effectiveness outside 0 to 1", bad, seen
        of = total[4]
        wide = 6 * np.sqrt(0.06 * 6 / of) + 0.004
        declared = ((1, rules.leave.rate if rules.leave and rules.leave.rate else 0.06),
                    (3, rules.training_share * 0.91))
        yield "shares on leave and in training far from what is declared", sum(
            abs(total[k] / of - share) > wide for k, share in declared), len(declared)

    def overtime(self) -> Iterator[Row]:
        """F64: no more than the cap of a week, rounded down to a quarter hour a day; only the trades named; all the
        week or not at all."""
        rules = self.scenario.attendance.overtime if self.scenario.attendance else None
        if rules is None:
            return
        weeks: dict[tuple[str, str, int], list[float]] = defaultdict(list)
        monday = self.scenario.start.weekday()
        for e in self.records.overtime:
            weeks[e.trade, e.shift, (e.day + monday) // 7].append(e.paid)
        bad = sum(sum(paid) > rules.max_hours_per_week * 60 + TINY or len({*paid}) > 1 or len(paid) > 5
                  for paid in weeks.values())
        named = sum(e.trade not in rules.trades or e.work > e.paid for e in self.records.overtime)
        yield "weeks over the cap, or people asked who are not named", bad + named, len(weeks)
        daily = rules.max_hours_per_week * 60 / 5 // 15 * 15
        yield "overtime days of another length", sum(e.paid != daily for e in self.records.overtime), len(weeks)
        yield "weeks of overtime without a late aircraft, or a late one without overtime", self._wrong_weeks(
            rules.trigger_work_days_late or 0.0, monday), len(self._weeks(monday))

    def _weeks(self, monday: int) -> dict[int, float]:
        """First working instant of each week."""
        weeks: dict[int, float] = {}
        for shift in self.calendar.shifts:
            for a, _, day in self.calendar.clock(shift).blocks():
                week = (day + monday) // 7
                weeks[week] = min(a, weeks.get(week, a))
        return weeks

    def _wrong_weeks(self, least: float, monday: int, until: float = inf) -> int:
        asked = {(e.day + monday) // 7 for e in self.records.overtime}
        promised = {order.serial: order.promised for order in self.scenario.orders or ()}
        if self.records.promised or self.records.unordered:
            return 0
        wrong = 0
        clock = self.calendar.reference
        for week, t in self._weeks(monday).items():
            late = -1e9
            for n, name in enumerate(self.records.serials):
                here = self.launched.get(n, 0.0 if n in self.records.standing else 1e18)
                gone = self.records.delivered.get(n, 1e18)
                if here < t < gone and promised.get(name):
                    due = max(0.0, self.calendar.instant(promised[name] + timedelta(days=1)))
                    late = max(late, (clock.reading(t) - clock.reading(due)) / self.calendar.work_day)
            wrong += (late >= least - 1e-9) != (week in asked) and t < min(until, self.records.ended)
        return wrong

    # the way of an aircraft --------------------------------------------------------------------------------------
    def order_of_work(self) -> Iterator[Row]:
        """F25, F37: predecessors are closed before a package starts; holds last to the minute; F97: what is begun is
        done once."""
        first: dict[tuple[int, str, str], float] = {}
        for c in self.records.closings:
            if c.repeat == 0:
                first.setdefault((c.serial, c.half, c.job), c.closed)
        began: dict[tuple[int, str, str], float] = {}
        for s in self.worked:
            began[s.serial, s.half, s.job] = min(s.start, began.get((s.serial, s.half, s.job), s.start))
        early = seen = 0
        for position in self.scenario.positions:
            ids = [p.id for p in position.packages]
            for n, package in enumerate(position.packages):
                before = package.after if package.after is not None else ids[max(0, n - 1):n]
                for (serial, half, _), t in ((key, t) for key, t in began.items() if key[2] == package.id):
                    for name in before:
                        seen += 1
                        early += first.get((serial, half, name), -1.0) > t + TINY and not self.packages[name].can_travel
        yield "begun before its predecessor is closed", early, seen
        holds = [abs(s.end - s.start - self.packages[s.job].elapsed_hours.mean * 60) > TINY  # type: ignore[union-attr]
                 for s in self.segments if s.state == State.HOLD and s.job in self.packages
                 and self.packages[s.job].kind == "hold" and self.packages[s.job].elapsed_hours.is_fixed  # type: ignore[union-attr]
                 and s.serial in self.launched]
        yield "holds of another length", sum(holds), len(holds)
        cures = [abs(s.end - s.start - self.packages[s.job.removesuffix(" cure")].cure_hours * 60) > TINY
                 for s in self.segments if s.state == State.HOLD and s.job.removesuffix(" cure") in self.packages
                 and s.job.endswith(" cure") and s.serial in self.launched]
        yield "cures of another length", sum(cures), len(cures)

    def buy_offs(self) -> Iterator[Row]:
        """F34, F35: the hours of buy-offs are as written (inspectors are fully able, work no overtime)."""
        done: dict[tuple[int, str, str], float] = defaultdict(float)
        for s in self.worked:
            if s.job in self.packages and s.trade == (self.packages[s.job].inspector or "INS"):
                done[s.serial, s.half, s.job] += s.people * self._minutes("day", s.start, s.end)
        closed: dict[tuple[int, str, str], int] = defaultdict(int)
        for c in self.records.closings:
            closed[c.serial, c.half, c.job] += 1
        bad = seen = 0
        for key, minutes in done.items():
            package = self.packages[key[2]]
            if key[0] not in self.launched or not closed.get(key):
                continue
            each = package.hours.mean if package.kind == "buy-off" else package.inspection_hours
            if package.kind == "work" and package.trade == "INS":
                continue
            seen += 1
            bad += not isclose(minutes, closed[key] * each * 60, abs_tol=1e-3)
        yield "buy-offs of other hours than written", bad, seen

    def _minutes(self, shift: str, a: float, b: float) -> float:
        clock = self.calendar.clock(shift)
        return clock.reading(b) - clock.reading(a)

    def launches(self) -> Iterator[Row]:
        """F40, F41: planned by takt, made at the plan or later, in the order of the book, one by one."""
        made = self.records.launches
        late = [entry.made < entry.planned - TINY for entry in made]
        yield "launched before the plan", sum(late), len(made)
        order = [a.made > b.made or a.planned >= b.planned for a, b in pairwise(made)]
        yield "launched out of turn", sum(order), len(order)
        launches = self.scenario.launches
        if launches.takt_work_days and not (self.scenario.pulse and self.scenario.pulse.in_force):
            plan = planned_moments(self.calendar, launches.takt_work_days, launches.steps, None)
            wrong = [not isclose(entry.planned, t, abs_tol=TINY) for entry, t in zip(made, plan, strict=False)]
            yield "planned launches that are not those of the takt", sum(wrong), len(made)
            first = self.sheet.first
            open_docks = [(entry.planned, entry.made) for entry in made if entry.made > entry.planned + TINY]
            idle = 0
            for a, b in open_docks if launches.most_on_line is None else ():
                idle += all(sum(min(v.left, b) - max(v.arrived, a) for v in self.stays if v.place == n and not v.parked
                                and v.left > a and v.arrived < b) < self.sheet.places[n].docks * (b - a) - TINY
                            for n in first) and len(first) == 1
            yield "launch owed while the first place stands empty", idle, len(made)
        if launches.most_on_line:
            last = launches.most_on_line_until
            here = {place.index for place in self.sheet.places}
            until = self.names.index(str(last))
            beyond = {n for n in here if self.sheet.places[n].rank > self.sheet.places[until].rank}
            spans = []
            for n in {*self.launched, *self.records.standing}:
                stays = [v for v in self.stays if v.serial == n]
                out = min([v.arrived for v in stays if v.place in beyond], default=self.records.ended)
                if all(v.place not in beyond for v in stays) or out > min(v.arrived for v in stays):
                    spans.append((min(v.arrived for v in stays), out, 1))
            yield "more aircraft on the line than the cap", int(most_at_once(spans) > launches.most_on_line), len(spans)

    def flights(self) -> Iterator[Row]:
        """F81-F87: blocks of their length, in the pilots' shift, in light and weather; caps; flights counted in order,
        while one is due; no pilot twice."""
        rules = next((p.flights for p in self.scenario.positions if p.flights), None)
        if rules is None:
            return
        flights, light = self.records.flights, self.sheet.light or []
        spans = [s for shift in self.calendar.shifts for s in self.calendar.clock(shift).spans()]
        brief = (rules.pilot_hours - rules.flight_hours) * 30
        bad = 0
        for f in flights:
            day = self.calendar.day_number(f.start)
            off, down = f.start + brief, f.end - brief
            first, last = light[day] if light else (0.0, 1e18)
            midnight, hours = self.calendar.midnights[day], self.records.bad_hours[day]
            touched = range(int((off - midnight + TINY) // 60), int((down - midnight - TINY) // 60) + 1)
            bad += (not isclose(f.end - f.start, rules.pilot_hours * 60, abs_tol=TINY) or off < first - TINY
                    or down > last + TINY or any(hours >> h & 1 for h in touched)
                    or not any(a - TINY <= f.start and f.end <= b + TINY for a, b in spans))
        yield "flights of another length, outside the shift, in the dark or in bad weather", bad, len(flights)
        of_day: dict[tuple[int, int], list[Any]] = defaultdict(list)
        for f in flights:
            of_day[f.pilot, self.calendar.day_number(f.start)].append(f)
        over = sum(len(of) > (rules.max_flights_per_day or 99) or max(f.end for f in of) - min(f.start for f in of) >
                   (rules.max_duty_hours or 24) * 60 + TINY or most_at_once((f.start, f.end, 1) for f in of) > 1
                   for of in of_day.values())
        yield "days of a pilot over a cap", over, len(of_day)
        numbers: dict[int, list[int]] = defaultdict(list)
        for f in flights:
            numbers[f.serial].append(f.number)
        wrong = sum(of != list(range(of[0], of[0] + len(of))) or (n in self.launched and of[0] != 1)
                    for n, of in numbers.items())
        wrong += sum(n in self.launched and len(numbers[n]) < rules.min_flights for n in self.records.delivered)
        yield "flights out of count, or delivered with too few", wrong, len(numbers)
        fixed: dict[tuple[int, int], int] = defaultdict(int)
        for c in self.records.closings:
            if c.job.startswith("squawk "):
                fixed[c.serial, int(c.job.split()[1].split(".")[0])] += 1
        left = {v.serial for v in self.records.visits if self.sheet.places[v.place].position.flights and not v.parked}
        bad = sum(fixed[f.serial, f.number] != f.squawks for f in flights if f.serial in left)
        yield "squawks written up and not fixed on the spot", bad, len(flights)
        preflights: dict[int, int] = defaultdict(int)
        for c in self.records.closings:
            preflights[c.serial] += c.job.startswith("preflight")
        yield "flights without a preflight", sum(preflights[n] < len(of) for n, of in numbers.items()), len(numbers)

    def appointments(self) -> Iterator[Row]:
        """F91, F92: on their days, one in a slot, after what they wait for; acceptance lasts its work days; notice and
        the customer's date are kept."""
        accept = next(p.acceptance for p in self.scenario.positions if p.acceptance)
        cert = next(p for p in self.packages.values() if p.kind == "appointment")
        days = {"acceptance": accept.weekdays, cert.id: cert.weekdays}
        words = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
        bad, taken = 0, set()
        slots = self.records.slots
        for _, what, begins, ends in slots:
            day = self.calendar.date_of(begins)
            bad += words[day.weekday()] not in days[what] or day in self.scenario.calendar.closed
            bad += (what, begins) in taken
            taken.add((what, begins))
            if what == "acceptance":
                lasts = self._minutes(self.calendar.reference_shift, begins, ends) / self.calendar.work_day
                bad += not isclose(lasts, accept.duration_work_days, abs_tol=1e-6)
        yield "appointments on other days, twice in a slot, or of another length", bad, len(slots)
        cleared = {v.serial: v.ready for v in self.records.visits if self.sheet.places[v.place].position.flights
                   and not v.parked}
        promised = {n: o.promised for n, o in enumerate(self.scenario.orders or ())}
        promised |= self.records.promised
        early = seen = 0
        for serial, what, begins, _ in slots:
            if what != "acceptance" or serial not in cleared or serial not in self.launched:
                continue
            seen += 1
            early += begins < self.calendar.work_days_later(cleared[serial], accept.notice_work_days) - TINY
            ahead, due = accept.earliest_days_before_promise, promised.get(serial)
            if ahead is not None and due is not None:
                early += begins < self.calendar.instant(due - timedelta(days=ahead)) - TINY
        yield "acceptance before the notice is over, or before the customer takes it", early, seen
        certified = {c.serial: c.closed for c in self.records.closings if c.job == cert.id}
        first = {serial: begins for serial, what, begins, _ in reversed(slots) if what == "acceptance"}
        yield "accepted without a certificate", sum(certified.get(n, 1e18) > t for n, t in first.items()
                                                    if n in self.launched), len(first)
        out = {v.serial: v.left for v in self.records.visits if v.place == self.names.index("AC") and not v.parked}
        yield "delivered at another instant than it leaves", sum(out.get(n) != t for n, t in
                                                                 self.records.delivered.items()), len(out)
        last = {serial: ends for serial, what, _, ends in slots if what == "acceptance"}
        yield "delivered before its acceptance is over", sum(t < last.get(n, 0.0) - TINY for n, t in
                                                             self.records.delivered.items()), len(last)

    # the pulse ---------------------------------------------------------------------------------------------------
    def pulse(self) -> Iterator[Row]:
        """F42-F50: all move at a pulse and at no other instant; made when due or later, a takt after the last; the
        price is paid once; not more than the limit travels; stops are from the due instant to the pulse."""
        rules = self.scenario.pulse
        if rules is None or not rules.in_force:
            return
        pulses, made = self.records.pulses, {p.made for p in self.records.pulses}
        inside = [v for v in self.records.visits if self.names[v.place] in rules.positions[:-1] and not v.parked]
        yield "left a pulse position at another instant than a pulse", sum(
            v.left not in made for v in inside), len(inside)
        takt = self.scenario.launches.takt_work_days or 0.0
        clock = self.calendar.reference
        apart = [(clock.reading(b.due) - clock.reading(a.made)) / self.calendar.work_day for a, b in pairwise(pulses)]
        yield "pulses due at another time than a takt after the last", sum(
            not isclose(x, takt, abs_tol=1e-6) for x in apart), len(apart)
        yield "pulses made before they are due", sum(p.made < p.due for p in pulses), len(pulses)
        stops = {(s.start, s.end) for s in self.records.stops}
        late = {(p.due, p.made) for p in pulses if p.made > p.due}
        yield "line stops that are not from due to made", len(stops ^ late) - self._open_stop(), len(stops)
        paid: dict[tuple[int, str], int] = defaultdict(int)
        bad = 0
        for t in self.records.travelled:
            factor = rules.travel_multiplier if not paid[t.serial, t.job] else 1.0
            bad += not isclose(t.after, t.before * factor, abs_tol=1e-3) or not self.packages[t.job].can_travel
            bad += t.at not in made
            paid[t.serial, t.job] += 1
        travelled = self.records.travelled
        yield "travelled work at another price, at another time, or that may not travel", bad, len(travelled)
        share: dict[tuple[int, int, float], float] = defaultdict(float)
        for t in self.records.travelled:
            if self._is_first(t):
                share[t.serial, t.origin, t.at] += t.before
        over = 0
        for (_, origin, _), minutes in share.items():
            planned = sum(p.hours.mean for p in self.sheet.places[origin].position.packages if p.kind == "work") * 60
            over += minutes > planned * rules.travel_max_share * 1.6
        yield "more travels than the limit", over, len(share)

    def _open_stop(self) -> int:
        last = self.records.stops[-1] if self.records.stops else None
        return int(last is not None and last.end >= self.records.ended)

    def _is_first(self, t: Any) -> bool:
        return t == next(o for o in self.records.travelled if (o.serial, o.job) == (t.serial, t.job))

    # the end -----------------------------------------------------------------------------------------------------
    def all_told(self) -> Iterator[Row]:
        """In = out + there; orders that change; found defects are mended; fleet holds; the end of the run."""
        came = [entry.serial for entry in self.records.launches] + self.records.standing
        there = {v.serial for v in self.records.unfinished} - {*self.records.delivered, *self.records.stock_ready}
        yield "aircraft that are lost", abs(len(came) - len(self.records.delivered) - len(self.records.stock_ready)
                                            - len(there)) + len(came) - len(set(came)), len(came)
        gone, came_at = self.records.delivered, self.launched
        after = [n for n, t in gone.items() if t > self.records.ended or t < came_at.get(n, 0.0)]
        after += [n for n, t in self.launched.items() if t >= self.calendar.end]
        yield "delivered or launched outside the run", len(after), len(came)
        gates: dict[tuple[int, str], float] = defaultdict(float)
        for f in self.records.found:
            gates[f.serial, f.gate] += f.hours
        yield "found defects of no hours", sum(not h > 0 for h in gates.values()), len(gates) + 1
        escaped = self.records.escaped.values()
        yield "escapes below none, or none expected", sum(n < 0 or e <= 0 for n, e in escaped), len(escaped)
        named = [(self.records.serials.index(n), hold) for hold in self.scenario.fleet_holds for n in hold.serials
                 if n in self.records.serials]
        bad = seen = 0
        for serial, hold in named:
            begin = max(self.calendar.instant(hold.day), self.launched.get(serial, 0.0))
            done = min((c.closed for c in self.records.closings if c.serial == serial and c.job.startswith("fleet")),
                       default=None)
            if done is not None and serial in self.launched and done < self.records.ended:
                seen += 1
                bad += any(s.people and s.state in AT_WORK and s.start < done - TINY and s.end > begin + TINY
                           and not s.job.startswith("fleet") for s in self._of_serial[serial])
                bad += any(begin < v.left < done for v in self.records.visits if v.serial == serial and not v.half)
        yield "worked on or moved in a fleet hold", bad, seen + 1

    def rules(self) -> Iterator[Row]:
        """All of them."""
        for of in (self.places, self.idle_docks, self.crews, self.in_docks, self.nothing_beside_flights_and_locks,
                   self.people, self.attendance, self.overtime, self.order_of_work, self.buy_offs, self.launches,
                   self.flights, self.appointments, self.pulse, self.all_told):
            yield from of()
