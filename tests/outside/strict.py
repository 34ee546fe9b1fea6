"""What must hold to the minute on plants without luck in their hours: worked out from the rules, run by run.

Each check yields what breaks a rule, in words, and how often it was looked at. It knows the scenario, the calendar and
the records, not the engine.
"""

from __future__ import annotations

import itertools
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator
from datetime import timedelta
from functools import cache, cached_property
from math import inf, isclose
from typing import Any, NamedTuple

from audit import AT_WORK, OVERTIME, TINY, Audit
from spans import Spans, common, inside, joined, lasts, without

from linesim.line.records import Closing, Segment, State, Visit
from linesim.scenario.calendar import shift_day
from linesim.scenario.plant import Package, Position

Broken = tuple[str, list[str], int]
Key = tuple[int, str]  # serial, package


# what audit.py looks at and these plants do otherwise (they go back, end at the cap, work on Saturdays): see above
ELSEWHERE = ("a move to a place that is not next", "more aircraft on the line than the cap",
             "work outside the shift date on which it began", "left before it was ready, or ready before it came",
             "launch owed while the first place stands empty")


class Instant(NamedTuple):
    """Between two changes: who waits, who works."""

    t: float
    waiting: list[Segment]
    working: list[Segment]


class Strict(Audit):
    """One run of a mixed plant."""

    def __init__(self, sheet: Any, records: Any) -> None:
        super().__init__(sheet, records)
        self.rules = self.scenario.work_rules
        self.closings: list[Closing] = records.closings
        self.where: dict[str, Position] = {p.id: one for one in self.scenario.positions for p in one.packages}
        self.pulse_on = self.scenario.pulse is not None and self.scenario.pulse.in_force
        self.promise = {n: records.promised.get(n, order.promised)
                        for n, order in enumerate(self.scenario.orders or ())}
        self.last_travel = {(t.serial, t.job): t for t in records.travelled}
        self.first_travel = {(t.serial, t.job): t for t in reversed(records.travelled)}
        self._crews: dict[tuple[str, int], Spans] = {}

    # clocks ------------------------------------------------------------------------------------------------------
    @cache  # noqa: B019
    def blocks_of(self, shift: str) -> Spans:
        return joined([(a, b) for a, b, _ in self._blocks(shift)])

    def outages(self, place: int) -> Spans:
        """Weekly service in the first working hours of a week's first work day, what is known, and by chance."""
        position, calendar = self.sheet.places[place].position, self.calendar
        name = position.id.removesuffix(" cure bay").removesuffix(" stripe bay")
        spans = list(self.records.outages.get(name, ()))
        for fact in self.scenario.known.out_of_service:
            if fact.position == name:
                spans.append((calendar.instant(fact.day), calendar.instant(fact.day + timedelta(1))) if fact.day else
                             (calendar.of_moment(fact.begins), calendar.of_moment(fact.ends)))
        hours = position.out_of_service.weekly_hours if position.out_of_service else 0
        if hours:
            weeks: dict[int, Spans] = defaultdict(list)
            for shift in position.shifts or (calendar.reference_shift,):
                for a, b, day in self._blocks(shift):
                    weeks[(day + self.scenario.start.weekday()) // 7].append((a, b))
            for week in weeks.values():
                day, left = calendar.day_number(min(week)[0]), hours * 60
                for a, b in joined([span for span in week if calendar.day_number(span[0]) == day]):
                    if left > 0:  # out from the first of these hours to the last, breaks between them, too
                        spans.append((min(week)[0], min(b, a + left)))
                    left -= b - a
        return joined([span for span in spans if span[0] < span[1]])

    def crew(self, shift: str, place: int) -> Spans:
        """F8, F29: when a crew of a shift may work in a place."""
        if (shift, place) not in self._crews:
            position = self.sheet.places[place].position
            hours = self.blocks_of(shift) if shift else [(0.0, self.calendar.midnights[-1])]
            if position.shifts:
                names = [*position.shifts]
                if shift.removesuffix(OVERTIME) in names:
                    names.append(shift)
                hours = common(hours, joined([span for name in names for span in self.blocks_of(name)]))
            self._crews[shift, place] = without(hours, self.outages(place))
        return self._crews[shift, place]

    def dates(self, shift: str) -> list[tuple[float, int]]:
        """First working instants of the shift dates of a shift."""
        found: dict[int, float] = {}
        for a, _, day in self._blocks(shift):
            found.setdefault(day, a)
        return [(a, day) for day, a in found.items()]

    def date_at(self, shift: str, t: float) -> int:
        dates = self._dates_of[shift]
        return dates[max(bisect_right(dates, (t + TINY, 10**9)) - 1, 0)][1]

    @cached_property
    def _dates_of(self) -> dict[str, list[tuple[float, int]]]:
        names = [*self.calendar.shifts, *(self.sheet.extra.names if self.sheet.extra else ())]
        return {name: sorted(self.dates(name)) for name in names}

    # how able ----------------------------------------------------------------------------------------------------
    @cached_property
    def weeks_in_a_row(self) -> dict[int, int]:
        """Weeks with overtime: how many in a row."""
        monday = self.scenario.start.weekday()
        found: dict[int, int] = {}
        for week in sorted({(e.day + monday) // 7 for e in self.records.overtime}):
            found[week] = found.get(week - 1, 0) + 1
        return found

    def _in_a_row(self, week: int) -> int:
        """Of a week that the end of the run cuts short, too."""
        return self.weeks_in_a_row.get(week, self.weeks_in_a_row.get(week - 1, 0) + 1)

    def effect(self, shift: str, week: int) -> float:
        """F64: by scheduled paid hours of the week, straight between the points, 1 at 40, the last value beyond."""
        rules = self.scenario.attendance.overtime
        monday = self.scenario.start.weekday()
        normal = shift_day(self.scenario.shifts[shift], self.scenario.tool_control).paid / 60
        days = sum((day + monday) // 7 == week for _, day in self._dates_of[shift])
        if rules.when == "Saturday":
            closed = self.scenario.start + timedelta(days=7 * week + 5 - monday) in self.scenario.calendar.closed
            hours = days * normal + (0.0 if closed else min(rules.max_hours_per_week, normal))
        else:
            names = self.scenario.shifts[shift].weekdays or self.scenario.work_weekdays
            hours = days * (normal + rules.max_hours_per_week * 60 / max(5, len(names)) // 15 * 15 / 60)
        points = [(40.0, 1.0), *sorted((float(h), e) for h, e in rules.effect_by_weekly_hours.items())]
        able = points[-1][1]
        for (h0, e0), (h1, e1) in itertools.pairwise(points):
            if hours <= h0:
                able = e0
                break
            if hours < h1:
                able = e0 + (e1 - e0) * (hours - h0) / (h1 - h0)
                break
        if rules.fatigue_after_weeks is not None and self._in_a_row(week) > rules.fatigue_after_weeks:
            able -= rules.extra_loss_after
        return max(able, 0.0)

    def able(self, trade: str, shift: str, t: float) -> float:
        """F62: work per person and hour."""
        name = shift.removesuffix(OVERTIME)
        day = self.date_at(shift, t)
        found = self.scenario.shifts[name].productivity if name in self.scenario.shifts else 1.0
        there = self.records.attended.get((trade, name))
        if there is not None:
            n = bisect_right(there.days, day) - 1
            found *= there.effectiveness[n]  # on an extra Saturday as on the date before
        if shift.endswith(OVERTIME):
            rules = self.scenario.attendance.overtime
            after = t > max(b for a, b, d in self._blocks(name) if d == day) - TINY if not self._is_saturday(
                name, day) else True
            if not rules.extra_hours_only or after:
                found *= self.effect(name, (day + self.scenario.start.weekday()) // 7)
        return found

    def _is_saturday(self, shift: str, day: int) -> bool:
        return all(d != day for _, d in self._dates_of[shift])

    # packages ----------------------------------------------------------------------------------------------------
    @cached_property
    def _goes_back(self) -> bool:
        return any(p.back_to for p in self.scenario.positions)

    @cached_property
    def of_job(self) -> dict[Key, list[Segment]]:
        found: dict[Key, list[Segment]] = defaultdict(list)
        for s in sorted(self.segments, key=lambda s: (s.start, s.end)):
            if s.job and s.job != "parking":
                found[s.serial, s.job].append(s)
        return found

    @cached_property
    def closed(self) -> dict[tuple[int, str, int], float]:
        return {(c.serial, c.job, c.repeat): c.closed for c in self.closings}

    def lives(self) -> Iterator[tuple[Closing, list[Segment]]]:
        """Every closing with the segments of the package since its last closing."""
        last: dict[Key, float] = {}
        for c in sorted(self.closings, key=lambda c: c.closed):
            key = (c.serial, c.job)
            since = last.get(key, -1.0)
            yield c, [s for s in self.of_job.get(key, ()) if s.start >= since and s.end <= c.closed + TINY]
            last[key] = c.closed

    def without_gaps(self) -> Iterator[Broken]:
        """F26-F29, F56: from the instant at which it could start to its closing a package is in one state at a time."""
        bad, seen = [], 0
        for c, life in self.lives():
            spans = sorted({(s.start, s.end) for s in life})
            seen += len(spans)
            for (_, b), (a, _) in itertools.pairwise(spans):
                if abs(a - b) > TINY and not (self._is_returned(c) or self._is_recalled(c.serial, a, a)
                                              or self._is_locked_to(c.serial, a)):
                    bad.append(f"{c} from {b} to {a}")
            if spans and abs(spans[-1][1] - c.closed) > TINY:
                bad.append(f"{c} closed, last worked or waited {spans[-1]}")
            states = defaultdict(set)
            for s in life:
                states[s.start].add(s.state)
            bad += [f"{c}: two states at {t}" for t, of in states.items() if len(of) > 1]
        yield "gaps or two states in the life of a package", bad, seen

    def _is_returned(self, c: Closing) -> bool:
        return c.job in self.packages and self.packages[c.job].kind == "appointment"

    def _asked(self, c: Closing) -> float | None:
        """Minutes of labour that a package takes, without its buy-off."""
        if c.job not in self.packages:
            if c.job.startswith("re-torque"):
                return self.scenario.tool_control.torque_recall.hours.mean * 60
            if c.job.startswith("fleet"):
                return next(h.hours for h in self.scenario.fleet_holds if c.job.endswith(f"{h.day}")) * 60
            return None
        package = self.packages[c.job]
        minutes = package.hours.mean * 60
        for entry in self.scenario.on_the_line:
            if self.records.serials.index(entry.serial) == c.serial and self.where[c.job].id in entry.at:
                return None
        travel = self.first_travel.get((c.serial, c.job))
        if travel is not None and travel.before:
            minutes += travel.after - travel.before
        return minutes

    def hours(self) -> Iterator[Broken]:
        """F6, F26, F33, F52, F62: people x what they do in an hour x their working time is the work of the package."""
        bad, seen = [], 0
        for c, life in self.lives():
            asked = self._asked(c)
            if asked is None or (c.job not in self.packages and self.lent):
                continue
            package = self.packages.get(c.job)
            done = inspected = 0.0
            for s in (s for s in life if s.state in AT_WORK and s.people):
                worked = lasts(self.crew(s.shift, s.place), s.start, s.end)
                if not s.trade:
                    done += worked
                    continue
                rate = s.people * self.able(s.trade, s.shift, s.start) * worked
                if (package is not None and s.trade == (package.inspector or "INS") and package.kind == "work"
                        and s.trade != package.trade):
                    inspected += rate
                elif package is not None and package.trade and s.trade != package.trade and package.kind == "work":
                    done += rate * self.scenario.trades[package.trade].cover[s.trade]
                else:
                    done += rate
            seen += 1
            if not isclose(done, asked, abs_tol=1e-4):
                bad.append(f"{c}: {done} minutes of {asked}")
            if package is not None and not isclose(inspected, package.inspection_hours * 60, abs_tol=1e-4):
                bad.append(f"{c}: {inspected} minutes of inspection of {package.inspection_hours * 60}")
        yield "packages with other hours than planned", bad, seen

    def starts(self) -> Iterator[Broken]:
        """F25, F37: a package is there from the instant at which the aircraft stands in the place and all before it is
        closed; a lock, and no more, puts that off."""
        bad, seen = [], 0
        for c, life in self.lives():
            if c.job not in self.packages or c.serial in self.records.standing:
                continue
            position, package = self.where[c.job], self.packages[c.job]
            if position.repeat_chance or (self.pulse_on and package.kind == "buy-off"):
                continue
            stay = self._stay_of(c)
            if stay is None or (c.repeat and not self._goes_back):
                continue
            free = max([stay.arrived, *(self._closed_before(c, name) for name in self._before(position, package))])
            begins = life[0].start if life else c.closed
            seen += 1
            for s in self._of_serial[c.serial]:
                if s.state == State.LOCKED and s.start <= free < s.end and s.half == c.half and package.kind != "hold":
                    free = s.end
            if abs(begins - free) > TINY and not self._is_recalled(c.serial, free, begins):
                bad.append(f"{c} from {begins}, could start at {free}")
        yield "packages that begin or wait from another instant", bad, seen

    def _stay_of(self, c: Closing) -> Visit | None:
        """The stay in which a package was planned."""
        names = {self.where[c.job].id}
        stays = [v for v in self.stays if v.serial == c.serial and not v.parked and self.names[v.place] in names]
        stays.sort(key=lambda v: v.arrived)
        n = c.repeat if self._goes_back else 0
        return stays[n] if n < len(stays) else None

    def _before(self, position: Position, package: Package) -> list[str]:
        ids = [p.id for p in position.packages]
        n = ids.index(package.id)
        return list(package.after) if package.after is not None else ids[max(0, n - 1):n]

    def _closed_before(self, c: Closing, name: str) -> float:
        times = [t for (serial, job, repeat), t in self.closed.items() if serial == c.serial and job == name
                 and (repeat == c.repeat or (self.packages[name].gate and not self._goes_back))]
        return max(times, default=inf)

    def _is_recalled(self, serial: int, free: float, begins: float) -> bool:
        """A re-torque that the last buy-off waits for (F68)."""
        return any(c.serial == serial and c.job.startswith("re-torque") and free - TINY <= c.closed <= begins + TINY
                   for c in self.closings)

    def _is_locked_to(self, serial: int, t: float) -> bool:
        return any(s.state == State.LOCKED and abs(s.end - t) < TINY for s in self._of_serial[serial])

    # who is served -----------------------------------------------------------------------------------------------
    def present_at(self, trade: str, shift: str, t: float) -> int:
        """People of a trade on a shift who are at work at an instant; 0 outside their blocks."""
        if inside(self.blocks_of(shift), t):
            return self.there(trade, shift).get(self.date_at(shift, t), 0)
        name = f"{shift}{OVERTIME}"
        if self.sheet.extra is not None and inside(self.blocks_of(name), t):
            return self._extra.get((trade, shift, self.date_at(name, t)), 0)
        return 0

    @cache  # noqa: B019
    def there(self, trade: str, shift: str) -> dict[int, int]:
        return self.present(trade, shift)

    @cached_property
    def instants(self) -> list[Instant]:
        """Between every two changes, as far as anybody is at work."""
        times = {t for s in self.segments for t in (s.start, s.end)}
        names = [*self.calendar.shifts, *(self.sheet.extra.names if self.sheet.extra else ())]
        times |= {t for name in names for span in self.blocks_of(name) for t in span}
        times |= {t for n in range(len(self.names)) for span in self.crew("", n) for t in span}
        cuts = sorted(t for t in times if t <= self.records.ended)
        segments = sorted((s for s in self.segments if s.state in (State.PEOPLE, State.INSPECTOR)
                           or (s.state in (*AT_WORK, State.FLIGHT) and s.people and s.trade)), key=lambda s: s.start)
        found, active, n = [], [], 0
        for a, b in itertools.pairwise(cuts):
            active = [s for s in active if s.end > a]
            while n < len(segments) and segments[n].start <= a:
                active.append(segments[n])
                n += 1
            if b - a > 1e-3 and active:
                found.append(Instant((a + b) / 2, [s for s in active if s.state in (State.PEOPLE, State.INSPECTOR)],
                                     [s for s in active if s.state in (*AT_WORK, State.FLIGHT)]))
        return found

    def free_at(self, at: Instant, trade: str, shift: str, place: int) -> int:
        """People of a trade and shift who are at work and have none, for a place that is open to them."""
        people = self.present_at(trade, shift, at.t)
        name = shift if inside(self.blocks_of(shift), at.t) else f"{shift}{OVERTIME}"
        if not people or not inside(self.crew(name, place), at.t):
            return 0
        return people - sum(s.people for s in at.working if s.trade == trade
                            and s.shift.removesuffix(OVERTIME) == shift and (s.state == State.FLIGHT or inside(
                                self.crew(s.shift, s.place), at.t)))

    @cache  # noqa: B019
    def _is_held(self, s: Segment, t: float) -> bool:
        return (s.daylight and not self._light(t)) or any(
            one.serial == s.serial and one.half == s.half and one.state in (State.LOCKED, State.FLIGHT)
            and one.start <= t < one.end for one in self._kept_spans[s.serial])

    @cached_property
    def _kept_spans(self) -> dict[int, list[Segment]]:
        found: dict[int, list[Segment]] = defaultdict(list)
        for s in self.segments:
            if s.state in (State.LOCKED, State.FLIGHT):
                found[s.serial].append(s)
        return found

    def _light(self, t: float) -> bool:
        first, last = self.sheet.light[self.calendar.day_number(t)]
        return first <= t < last

    def _crew_of(self, s: Segment) -> tuple[int, int]:
        package = self.packages.get(s.job)
        if package is None or package.kind != "work" or s.trade != package.trade or self._is_bought_off(s):
            return 1, 1
        return package.people

    def _is_bought_off(self, s: Segment) -> bool:
        return s.state == State.INSPECTOR

    def _lenders(self, trade: str) -> list[str]:
        if not self.rules.cover_in_force or trade not in self.scenario.trades:
            return []
        return list(self.scenario.trades[trade].cover)

    @cached_property
    def lent(self) -> set[str]:
        """Trades that lend or borrow."""
        if not self.rules.cover_in_force:
            return set()
        return {name for trade, of in self.scenario.trades.items() if of.cover for name in (trade, *of.cover)}

    def _keeps(self, trade: str) -> bool:
        of = self.scenario.trades[trade].reserve
        return self.rules.reserve if of is None else of

    def nobody_idle(self) -> Iterator[Broken]:
        """F27, F28, F33: no package waits that the free people of its trade on a shift, with those that may be lent to
        it, could begin; and none runs below its most people while they are free."""
        waits, grows, seen = [], [], 0
        for at in self.instants:
            for s in at.waiting:
                if self._is_held(s, at.t) or s.trade not in self.scenario.trades or self._keeps(s.trade):
                    continue
                least, _ = self._crew_of(s)
                for shift in self.calendar.shifts:
                    free = self.free_at(at, s.trade, shift, s.place)
                    lent = sum(self.free_at(at, other, shift, s.place) for other in self._lenders(s.trade)
                               if not self._keeps(other))
                    seen += 1
                    if free >= least or (lent and free + lent >= least):
                        waits.append(f"{at.t}: {s} with {free} + {lent} free on {shift}")
            if not self.rules.crew_grows:
                continue
            crews: dict[tuple[int, str, str], list[Segment]] = defaultdict(list)
            for s in (s for s in at.working if s.state in AT_WORK):
                crews[s.serial, s.half, s.job].append(s)
            for (_, _, job), crew in crews.items():
                package = self.packages.get(job)
                if package is None or package.kind != "work" or any(
                        s.trade == (package.inspector or "INS") for s in crew):
                    continue
                people, shift = sum(s.people for s in crew), crew[0].shift.removesuffix(OVERTIME)
                if people >= package.people[1] or not inside(self.crew(crew[0].shift, crew[0].place), at.t):
                    continue
                free = sum(self.free_at(at, trade, shift, crew[0].place)
                           for trade in (package.trade or "", *self._lenders(package.trade or ""))
                           if trade and not self._keeps(trade))
                seen += 1
                if free > 0:
                    grows.append(f"{at.t}: {crew[0]} with {free} free")
        yield "waiting although people are free", waits, seen
        yield "a crew below its most although people are free", grows, seen

    # who is first ------------------------------------------------------------------------------------------------
    @cached_property
    def ranks(self) -> dict[int, int]:
        """F31: the longest way from launch."""
        found = dict.fromkeys(range(len(self.names)), 0)
        for _ in self.names:
            for place in self.sheet.places:
                if place.next is not None:
                    found[place.next] = max(found[place.next], found[place.index] + 1)
        return found

    @cache  # noqa: B019
    def key(self, s: Segment) -> tuple[Any, ...] | None:
        """Order of serving of a package that waits or begins; None for work that is not a package of the file."""
        if s.job not in self._file_order or self.packages[s.job].gate or self.rules.dispatch != "promised date" or (
                s.trade in self.scenario.trades and self.scenario.trades[s.trade].dispatch):
            return None
        if any(one.job.startswith(("re-torque", "fleet")) for one in self._of_serial[s.serial]):
            return None  # a recall or a hold opens a package once more
        promise = self.promise.get(s.serial)
        mine = [one for one in self.of_job[s.serial, s.job] if one.end <= s.start + TINY and one.place == s.place
                and self._is_inspection(one) == self._is_inspection(s)]
        stay = max((v.arrived for v in self.stays if v.serial == s.serial and v.place == s.place and not v.parked
                    and v.arrived <= s.start + TINY), default=0.0)
        mine = [one for one in mine if one.start >= stay - TINY]
        since = stay if self._goes_back else -inf
        begun = any(one.people and one.state in AT_WORK and lasts(self.crew(one.shift, one.place), one.start, one.end)
                    > TINY for one in self.of_job[s.serial, s.job] if since <= one.start
                    and one.end <= s.start + TINY and self._is_inspection(one) == self._is_inspection(s))
        since = min([one.start for one in mine if one.state in (*AT_WORK, State.PEOPLE, State.INSPECTOR)],
                    default=s.start)
        return (promise.toordinal() if promise else inf, -self.ranks[s.place], not begun, since, s.serial,
                self._file_order[s.job])

    def _is_inspection(self, s: Segment) -> bool:
        return s.state == State.INSPECTOR or s.trade == "INS"

    @cached_property
    def _file_order(self) -> dict[str, int]:
        names = [p.id for position in self.scenario.positions for p in position.packages]
        return {name: n for n, name in enumerate(names)}

    def first_is_first(self) -> Iterator[Broken]:
        """F27, F28, F31: of two packages that could begin at an instant the one that is first in the order begins,
        unless its crew cannot be had; nobody joins a crew while a package could begin."""
        bad, seen = [], 0
        begins: dict[tuple[float, str, str], list[Segment]] = defaultdict(list)
        for s in self.worked:
            if s.trade in self.scenario.trades and s.trade not in self.lent and not self._keeps(s.trade):
                begins[s.start, s.trade, s.shift].append(s)
        waiting: dict[str, list[Segment]] = defaultdict(list)
        for s in self.segments:
            if s.state in (State.PEOPLE, State.INSPECTOR):
                waiting[s.trade].append(s)
        ends = {(s.serial, s.job, s.end): s for s in self.worked}
        for (t, trade, shift), begun in begins.items():
            if self.rules.share == "minimum first":
                continue
            taken: list[tuple[tuple[Any, ...], int]] = []
            for s in begun:
                before = ends.get((s.serial, s.job, t))
                key = self.key(s)
                if key is None:
                    continue
                if before is None or (before.trade, before.shift, before.place) != (s.trade, s.shift, s.place):
                    taken.append((key, s.people))
                elif s.people > before.people:
                    taken.append(((inf,), s.people - before.people))  # growth comes after all starts
            for w in waiting[trade]:
                if not w.start <= t < w.end or not taken or self._is_held(w, t) or not inside(
                        self.crew(shift, w.place), t):
                    continue
                key, least = self.key(w), self._crew_of(w)[0]
                if key is None:
                    continue
                seen += 1
                after = sum(people for other, people in taken if other > key)
                if after >= least:
                    bad.append(f"{t}: {w} waits, {after} people begin or join others: {taken}, its key {key}")
        yield "served before one that is first", bad, seen

    def order_of_docks(self) -> Iterator[Broken]:
        """F11: parked aircraft enter first, first come first in; then those who became ready first, by the order."""
        if self.rules.move_minutes or self.pulse_on or self.rules.ring == "exchange":
            return
        if self.rules.dispatch != "promised date":
            return
        bad, seen = [], 0
        waits: dict[int, list[tuple[tuple[Any, ...], float, float, Visit]]] = defaultdict(list)
        for v in self.stays:
            if v.half:
                continue
            promise = self.promise.get(v.serial)
            order = (promise.toordinal() if promise else inf, -self.ranks[v.place], v.serial)
            if v.parked:
                waits[v.place].append(((0, v.arrived), v.arrived, v.left, v))
            elif v in self.records.visits and (after := self._next_stay(v)) is not None:
                waits[after.place].append(((1, v.ready, *order), v.ready, v.left, v))
        for rows in waits.values():
            for key, _, left, v in rows:
                for other, since, until, w in rows:
                    if since < left < until and w is not v and not self._kept_near(w, left):
                        seen += 1
                        if other < key and (not w.parked or not self._next_is_parking(v)):
                            bad.append(f"{v} goes before {w}")
        yield "went before one that is first", bad, seen

    def _next_stay(self, v: Visit) -> Visit | None:
        return next((o for o in self.by_aircraft[v.serial, v.half] if o.arrived == v.left and o is not v), None)

    def _next_is_parking(self, v: Visit) -> bool:
        after = self._next_stay(v)
        return after is not None and after.parked

    def _kept_near(self, v: Visit, t: float) -> bool:
        return any(s.state in (State.LOCKED, State.PARTS, State.REWORK, State.INSPECTOR, State.WORK, State.PEOPLE)
                   and s.start <= t + TINY and s.end >= t - TINY for s in self._of_serial[v.serial])

    # moves and launches ------------------------------------------------------------------------------------------
    def next_places(self) -> Iterator[Broken]:
        """F13, F15, F21: from a place to the next, back as often as is known; two halves meet in one instant."""
        bad, seen = [], 0
        times = {(self.records.serials.index(f.serial), f.position): f.times for f in self.scenario.known.goings_back}
        for (serial, half), stays in self.by_aircraft.items():
            been: dict[int, int] = defaultdict(int)
            for a, b in itertools.pairwise(stays):
                seen += 1
                target = a.place
                if not a.parked:
                    place = self.sheet.places[a.place]
                    back = place.position.back_to
                    target = place.next
                    if back is not None and been[a.place] < times.get((serial, place.id), 0):
                        target = self.names.index(back.position)
                    been[a.place] += 1
                if b.place != target:
                    bad.append(f"{a} then {b}")
            if half and (whole := self.by_aircraft.get((serial, ""))):
                seen += 1
                if stays[-1].left != whole[0].arrived or whole[0].parked:
                    bad.append(f"{stays[-1]} and {whole[0]}")
        yield "a move to another place than the next, or halves that do not meet", bad, seen

    def allowed(self) -> Spans:
        """When aircraft move in free flow."""
        if self.rules.moves == "day and night":
            return [(0.0, self.records.ended)]
        return self.blocks_of(self.calendar.reference_shift)

    def _room(self, spans: list[tuple[float, float]], room: int, begin: float, end: float) -> Spans:
        """When fewer than so many of the spans last, between two instants."""
        cuts = sorted({begin, end, *(t for span in spans for t in span if begin < t < end)})
        return [(a, b) for a, b in itertools.pairwise(cuts)
                if sum(x <= a and y >= b for x, y in spans) < room]

    def _kept_times(self, serial: int) -> Spans:
        """When an aircraft is kept where it stands by something else than the place beyond."""
        return joined([(s.start, s.end) for s in self._of_serial[serial] if s.state == State.LOCKED
                       or s.job.startswith(("re-torque", "fleet"))])

    def blocked_for_nothing(self) -> Iterator[Broken]:
        """F11, F12: nobody stands ready, or parked, while a dock beyond is free and moves are made."""
        if self.pulse_on or self.rules.move_minutes or self.records.stuck:
            return
        bad, seen = [], 0
        docked: dict[int, Spans] = defaultdict(list)
        for v in self.stays:
            if not v.parked:
                docked[v.place].append((v.arrived, v.left))
        for v in self.stays:
            after = self._next_stay(v) if not v.half else None
            target = v.place if v.parked else after.place if after is not None else None
            begin = v.arrived if v.parked else v.ready
            if target is None or v.left - begin < TINY or begin == inf:
                continue
            if any(o.parked and o.place == target and o is not v and o.arrived < v.left and o.left > begin
                   and self._kept_times(o.serial) for o in self.stays):
                continue
            free = common(self._room(docked[target], self.sheet.places[target].docks, begin, v.left), self.allowed())
            seen += 1
            left = without(free, self._kept_times(v.serial))
            if sum(b - a for a, b in left) > TINY:
                bad.append(f"{v}: room {left}")
        yield "ready or parked while a dock beyond is free", bad, seen

    def moves_take_time(self) -> Iterator[Broken]:
        """F12: a move takes so many working minutes of the reference shift, or none; by day, if so declared."""
        bad, seen = [], 0
        takes, reference = self.rules.move_minutes, self.blocks_of(self.calendar.reference_shift)
        for stays in self.by_aircraft.values():
            for a, b in itertools.pairwise(stays):
                since = a.arrived if a.parked else a.ready
                if self.pulse_on or since == inf:
                    continue
                seen += 1
                if takes and self.rules.ring != "exchange" and lasts(reference, since, b.arrived) < takes - TINY:
                    bad.append(f"{a} to {b}: {lasts(reference, since, b.arrived)} minutes")
                if self.rules.moves != "day and night" and not any(
                        x - TINY <= b.arrived <= y + TINY for x, y in reference):
                    bad.append(f"{a} to {b}: at night")
        yield "moves of another length, or at night", bad, seen

    def launches_in_turn(self) -> Iterator[Broken]:
        """F40, F41, F113: an owed launch is made in the first instant at which the first places are free and the cap is
        not reached; never more on the line than the cap."""
        launches, made = self.scenario.launches, self.records.launches
        bad, seen = [], 0
        last, most = launches.most_on_line_until, launches.most_on_line
        spans: Spans = []
        if most is not None and last is not None:
            until = {self.names.index(last)}
            for _ in self.names:
                until |= {p.index for p in self.sheet.places if p.next in until}
            for n in {*self.launched, *self.records.standing}:
                stays = [v for v in self.stays if v.serial == n and v.place in until
                         and not (v.parked and self.names[v.place] not in {self.names[m] for m in until})]
                if stays:
                    spans.append((min(v.arrived for v in stays), max(v.left for v in stays)))
            seen += len(spans)
            over = self._room(spans, most + 1, 0.0, self.records.ended)
            if sum(b - a for a, b in over) < self.records.ended - TINY and not self._goes_back:
                bad.append("more on the line than the cap")
        if self.pulse_on or self.rules.halves != "together" or self._goes_back or self.scenario.order_changes:
            yield "launches that are late for nothing, or over the cap", bad, seen
            return
        before = 0.0
        for entry in made:
            begin, end = max(entry.planned, before), entry.made
            before = entry.made
            seen += 1
            if end - begin < TINY:
                continue
            free = common([(begin, end)], self.allowed())
            for place in self.sheet.first:
                docked = [(v.arrived, v.left) for v in self.stays if v.place == place and not v.parked]
                free = common(free, self._room(docked, self.sheet.places[place].docks, begin, end))
            if most is not None and spans:
                others = [span for span in spans if span[0] != entry.made or span[0] < begin]
                free = common(free, self._room(others, most, begin, end))
            if sum(b - a for a, b in free) > TINY:
                bad.append(f"{entry}: could be made in {free}")
        yield "launches that are late for nothing, or over the cap", bad, seen

    def order_book(self) -> Iterator[Broken]:
        """F117: what changes, when, for whom; promises follow; the first that waits in the book is launched."""
        rules = self.scenario.order_changes
        if rules is None:
            return
        bad, seen = [], 0
        promise = {n: order.promised for n, order in enumerate(self.scenario.orders or ())}
        book, sold_at, put_off = list(promise), {}, set()
        stated = {(self.calendar.instant(c.day), self.records.serials.index(c.serial)) for c in rules.stated}
        events = sorted([(c.at, 0, n, c) for n, c in enumerate(self.records.order_changes)]
                        + [(entry.made, 1, n, entry) for n, entry in enumerate(self.records.launches)])
        for t, kind, _, what in events:
            seen += 1
            n = what.serial
            if kind:
                if n < len(promise):
                    ahead = [m for m in book[:book.index(n)] if m not in put_off] if n in book else [-1]
                    if ahead and n not in put_off:
                        bad.append(f"{what} before {ahead}")
                    book.remove(n)
                continue
            first = self.calendar.date_of(t).day == 1 and t in self.calendar.midnights
            if what.what == "sold again":
                if not isclose(t, sold_at.pop(n), abs_tol=TINY):
                    bad.append(f"{what} at another time")
                book.append(n)
                continue
            if n not in book or not (first or (t, n) in stated):
                bad.append(f"{what}: launched, or at another time")
                continue
            if what.what == "cancelled":
                promise[n] = None
                if rules.cancelled == "resold":
                    book.remove(n)
                    sold_at[n] = self.calendar.work_days_later(t, rules.resold_after_work_days)
            elif what.what == "deferred":
                put_off.add(n)
                promise[n] = promise[n] and promise[n] + timedelta(days=what.by)
                if what.by != (10 if first and (t, n) not in stated else 6):
                    bad.append(f"{what} by other days")
            else:
                a, b = book.index(n), book.index(what.by)
                book[a], book[b] = book[b], book[a]
                promise[n], promise[what.by] = promise[what.by], promise[n]
        bad += [f"{n}: promised {day} for {promise[n]}" for n, day in self.records.promised.items()
                if day != promise[n]]
        bad += [f"{n}: promised {day}, not changed" for n, day in promise.items()
                if day != self.scenario.orders[n].promised and n not in self.records.promised]
        stock = {c.serial for c in self.records.order_changes if c.what == "cancelled"}
        if rules.cancelled == "built for stock" and stock != set(self.records.unordered):
            bad.append(f"for stock {self.records.unordered} for {stock}")
        yield "orders that change otherwise", bad, seen

    # the pulse ---------------------------------------------------------------------------------------------------
    def pulses(self) -> Iterator[Broken]:
        """F42-F50: when it is due, who moves, what may travel and how much, and why the line stood."""
        if not self.pulse_on:
            return
        rules, pulses, bad, seen = self.scenario.pulse, self.records.pulses, [], 0
        takt, clock = self.scenario.launches.takt_work_days, self.calendar.reference
        step = takt * self.calendar.work_day
        for a, b in itertools.pairwise(pulses):
            seen += 1
            since = clock.reading(b.due) - clock.reading(a.made)
            if rules.after_stop == "takt starts anew":
                right = isclose(since, step, abs_tol=1e-6)
            else:
                n = (clock.reading(b.due) - clock.reading(pulses[0].due)) / step
                right = isclose(n, round(n), abs_tol=1e-6) and a.made < b.due and since <= step + 1e-6
            if not right or b.made < b.due:
                bad.append(f"{a} then {b}")
        inside_line = set(rules.positions)
        last = self.names.index(rules.positions[-1])
        made = {pulse.made for pulse in pulses}
        for v in self.records.visits:
            if self.names[v.place] not in inside_line or v.place == last or rules.stops != "whole line":
                continue
            seen += 1
            if v.left not in made:
                bad.append(f"{v} leaves between two pulses")
        for pulse in pulses:
            seen += 1
            bad += self._of_pulse(pulse, last)
        for v in self.records.visits:
            if v.place == last and v.ready < inf:
                seen += 1
                if rules.roll_out == "on the pulse" and v.left not in made and rules.stops == "whole line":
                    bad.append(f"{v} rolls out between two pulses")
        yield "pulses that break a rule", bad, seen

    def _of_pulse(self, pulse: Any, last: int) -> Iterator[str]:
        rules = self.scenario.pulse
        moved = [v for v in self.records.visits if v.left == pulse.made and self.names[v.place] in rules.positions
                 and v.place != last and v.arrived < pulse.made]
        events = {c.closed for c in self.closings} | {s.end for s in self.segments if s.state == State.LOCKED} | {
            v.left for v in self.records.visits if v.place >= last}
        tight = False
        for v in moved:
            position = self.sheet.places[v.place].position
            carried = [t for t in self.records.travelled if t.serial == v.serial and t.at == pulse.made]
            taken = {t.job for t in carried}
            planned = left = 0.0
            for package in position.packages:
                if package.kind == "work":
                    planned += package.hours.mean * 60
                closed = self.closed.get((v.serial, package.id, 0), inf) <= pulse.made
                if not closed and package.id not in taken:
                    yield f"{v} moves with {package.id} open"
                if package.id in taken and (closed or not package.can_travel):
                    yield f"{v} takes {package.id} along"
            left = sum(t.before for t in carried if t.origin == v.place)
            limit = rules.travel_max_share * planned
            if left > limit + 1e-3:
                yield f"{v} takes {left} of {limit} minutes along"
            tight = tight or (left > 0 and isclose(left, limit, abs_tol=1e-3))
        if pulse.made > pulse.due and not tight and not any(abs(t - pulse.made) < TINY for t in events):
            yield f"{pulse} is not made when the last that hinders it is over"
        for t in (t for t in self.records.travelled if t.at == pulse.made):
            first = self.first_travel[t.serial, t.job]
            factor = rules.travel_multiplier if t == first else 1.0
            if not isclose(t.after, t.before * factor, abs_tol=1e-6):
                yield f"{t} at a price of {factor}"

    def stops(self) -> Iterator[Broken]:
        """F43, F105: a stop is from the due instant to the pulse; who has open work that may not travel then is a
        cause, who was closed and free long before is none."""
        if not self.pulse_on:
            return
        rules, bad, seen = self.scenario.pulse, [], 0
        made = {pulse.due: pulse.made for pulse in self.records.pulses}
        late = {(due, end) for due, end in made.items() if end > due}
        found = {(s.start, s.end) for s in self.records.stops if s.end < self.records.ended}
        if late ^ found:
            bad.append(f"stops {sorted(found ^ late)}")
        last = self.names.index(rules.positions[-1])
        for stop in self.records.stops:
            for v in self.stays:
                if self.names[v.place] not in rules.positions or v.place == last or not v.arrived < stop.start < v.left:
                    continue
                seen += 1
                open_work = [p for p in self.sheet.places[v.place].position.packages if not p.can_travel
                             and p.kind != "buy-off" and self.closed.get((v.serial, p.id, 0), inf) > stop.start]
                if open_work and v.serial not in stop.caused_by:
                    bad.append(f"{stop}: {v} has {open_work[0].id} open and is no cause")
                kept = self._kept_times(v.serial)
                if v.ready < stop.start and v.serial in stop.caused_by and not kept and not v.half:
                    bad.append(f"{stop}: {v} is a cause")
        yield "stops of another length or cause", bad, seen

    # tools -------------------------------------------------------------------------------------------------------
    def missing_tools(self) -> Iterator[Broken]:
        """F67: at the closing check of a shift, of all in a place and who left it last in this shift."""
        control = self.scenario.tool_control
        if control is None or control.missing_tool is None:
            return
        bad, checks = [], {}
        for name, shift in self.calendar.shifts.items():
            for _, day in self._dates_of[name]:
                begin, end = (60.0 * int(text[:2]) + int(text[3:]) for text in (shift.start, shift.end))
                end += 1440.0 * (end <= begin)
                midnight = self.calendar.midnights[day]
                extra = self._longer(name, day)
                checks[midnight + end - control.end_check_minutes + extra] = midnight + begin
        locked: dict[tuple[float, float], set[tuple[int, str]]] = defaultdict(set)
        for s in self.segments:
            if s.state == State.LOCKED:
                locked[s.start, s.end].add((s.serial, s.half))
        for (t, end), units in locked.items():
            if t not in checks:
                bad.append(f"locked at {t}, no check")
                continue
            near = [self._near(place.index, t, checks[t]) for place in self.sheet.places]
            if units not in near:
                bad.append(f"locked at {t}: {units}, near the places {near}")
            hours = {lasts(self.blocks_of(self.calendar.reference_shift), t, end) / 60}
            for shifts in (place.position.shifts for place in self.sheet.places if place.position.shifts):
                hours.add(lasts(joined([span for name in shifts for span in self.blocks_of(name)]), t, end) / 60)
            if end < self.calendar.run_end and not any(1 - TINY <= h <= 9 + TINY for h in hours):
                bad.append(f"searched from {t} to {end}")
        yield "locks at another instant, of others, or of another length", bad, len(locked)

    def _longer(self, shift: str, day: int) -> float:
        return max((e.paid for e in self.records.overtime if e.shift == shift and e.day == day
                    and not self._is_saturday(shift, day)), default=0.0)

    def _near(self, place: int, t: float, began: float) -> set[tuple[int, str]]:
        there = {(v.serial, v.half) for v in self.stays
                 if v.place == place and not v.parked and v.arrived <= t < v.left}
        left = [v for v in self.stays if v.place == place and not v.parked and began <= v.left <= t]
        if there and left:
            v = max(left, key=lambda v: v.left)
            on = [o for o in self.stays if o.serial == v.serial and o.arrived <= t < o.left]
            there |= {(o.serial, o.half) for o in on if not o.half or o.half == v.half}
        return there

    def recalls(self) -> Iterator[Broken]:
        """F68: at the start check of a shift of a trade all aircraft, or none, on which it closed torque-marked work
        since its shift before began."""
        control = self.scenario.tool_control
        if control is None or control.torque_recall is None or self.lent:
            return
        bad, seen = [], 0
        marked = {p.id: p.trade for p in self.packages.values() if p.torque}
        jobs: dict[tuple[str, float], set[int]] = defaultdict(set)
        for (serial, job), life in self.of_job.items():
            if job.startswith("re-torque"):
                jobs[life[0].trade, life[0].start].add(serial)
        for trade in self.scenario.trades:
            checks = []
            for shift in self.scenario.trades[trade].people:
                name = shift or self.calendar.reference_shift
                start = self.calendar.shifts[name].start
                checks += [self.calendar.midnights[day] + 60 * int(start[:2]) + int(start[3:])
                           for _, day in self._dates_of[name]]
            checks.sort()
            for before, t in zip([0.0, *checks], checks, strict=False):
                if t >= self.records.ended:
                    break
                units = {c.serial for c in self.closings if marked.get(c.job) == trade and before <= c.closed < t
                         and self.records.delivered.get(c.serial, inf) > t}
                found = jobs.pop((trade, t), set())
                seen += 1
                if found not in (set(), units) or (control.torque_recall.chance == 1 and found != units):
                    bad.append(f"{trade} at {t}: {found} of {units}")
        bad += [f"re-torque without a check: {key} {of}" for key, of in jobs.items()]
        yield "recalls of others, or at another instant", bad, seen

    # defects -----------------------------------------------------------------------------------------------------
    def repairs(self) -> Iterator[Broken]:
        """F70, F71: what a gate finds is mended in one package for each trade, in the hours found; then it is done
        again; known defects are found where it is known."""
        if self.scenario.quality is None:
            return
        bad, seen = [], 0
        by_gate: dict[tuple[int, float], list[Any]] = defaultdict(list)
        for f in self.records.found:
            by_gate[f.serial, f.at].append(f)
        for c in self.closings:
            package = self.packages.get(c.job)
            if package is None or not package.gate or c.serial in self.records.standing:
                continue
            found = by_gate.pop((c.serial, c.closed), []) if not c.repeat else []
            again = self.closed.get((c.serial, c.job, c.repeat + 1))
            seen += 1
            hours: dict[str, float] = defaultdict(float)
            for f in found:
                hours[self.packages[f.package].trade or ""] += f.hours
                if f.gate != package.gate or (f.gate == "position" and self.names[f.place] != self.where[c.job].id):
                    bad.append(f"{f} at {c}")
                price = 1 if f.place == c.place else 2
                if not self.scenario.known.defects and not 0.5 * price - TINY <= f.hours <= 3 * price + TINY:
                    bad.append(f"{f}: hours at {c}")
            if not found and not c.repeat and again is not None:
                bad.append(f"{c} is done again, nothing found")
            bad += self._mended(c, hours, again)
        bad += [f"found at no gate: {of}" for of in by_gate.values()]
        yield "repairs of other hours, or gates not done again", bad, seen
        if self.scenario.known.defects:
            yield self._known_defects()

    def _mended(self, c: Closing, hours: dict[str, float], again: float | None) -> Iterator[str]:
        for trade, h in hours.items():
            job = f"{c.job} repair {trade}"
            done = self.closed.get((c.serial, job, 0))
            if done is None:
                continue  # still open at the end
            life = [s for s in self.of_job[c.serial, job] if s.people and s.end <= done]
            worked = sum(s.people * self.able(s.trade, s.shift, s.start) * lasts(self.crew(s.shift, s.place), s.start,
                                                                                 s.end) for s in life)
            if not self.lent and not isclose(worked, h * 60, abs_tol=1e-4):
                yield f"{job} of {c}: {worked} minutes of {h * 60}"
            if again is not None and again < done:
                yield f"{c} is done again before {job}"

    def _known_defects(self) -> Broken:
        bad, seen = [], 0
        for n, name in enumerate(self.records.serials):
            facts = [d for d in self.scenario.known.defects if d.serial == name and d.found_by != "none"]
            for d in facts:
                gates = [p for p in self.packages.values() if p.gate == d.found_by and (
                    d.found_by != "position" or self.where[p.id] is self.where[d.package])]
                done = [self.closed.get((n, gate.id, 0)) for gate in gates]
                if not gates or done[0] is None:
                    continue
                seen += 1
                same = [f for f in self.records.found if f.serial == n and f.package == d.package
                        and f.gate == d.found_by and f.hours == d.hours and f.at == done[0]]
                if not same:
                    bad.append(f"{d} is not found")
        return "known defects that are not found", bad, seen

    # flights -----------------------------------------------------------------------------------------------------
    def first_chance(self) -> Iterator[Broken]:
        """F81, F84: while an aircraft waits for a pilot no pilot is there and free, under both caps, in light and in
        weather that lasts, with the block inside the shift."""
        rules = next((p.flights for p in self.scenario.positions if p.flights), None)
        if rules is None:
            return
        bad, seen = [], 0
        for s in self.segments:
            if s.state != State.PILOT or self._kept_times(s.serial):
                continue
            t = s.start
            while t < s.end - TINY:
                seen += 1
                if self._may_fly(rules, t):
                    bad.append(f"{s}: could fly at {t}")
                    break
                t = (t // 15 + 1) * 15
        yield "waiting for a pilot although one could fly", bad, seen

    def _may_fly(self, rules: Any, t: float) -> bool:
        block, air = rules.pilot_hours * 60, rules.flight_hours * 60
        off = t + (block - air) / 2
        day = self.calendar.day_number(t)
        first, last = self.sheet.light[day] if self.sheet.light else (-inf, inf)
        midnight = self.calendar.midnights[day]
        hours = range(int((off - midnight) // 60), int((off + air - midnight - TINY) // 60) + 1)
        if off < first or off + air > last or any(self.records.bad_hours[day] >> h & 1 for h in hours if h < 24):
            return False
        for shift in self.rostered_on(rules.pilots):
            spans = [(a, max(b for _, b, d in self._blocks(shift) if d == on)) for a, on in self._dates_of[shift]
                     if abs(a - t) < 2880]
            there = self.there(rules.pilots, shift).get(self.date_at(shift, t), 0)
            busy = sum(f.start <= t < f.end for f in self.records.flights) + sum(
                s.people for s in self.worked if s.trade == rules.pilots and s.start <= t < s.end)
            if there <= busy or not any(a <= t and t + block <= b for a, b in spans):
                continue
            if (rules.pilots, shift) in self.records.attended:
                continue  # who of them is there is not in the records
            for pilot in range(there):
                own = [f for f in self.records.flights if f.pilot == pilot and self.calendar.day_number(f.start) == day
                       and f.start < t]
                if any(f.end > t for f in own) or len(own) >= (rules.max_flights_per_day or inf):
                    continue
                start = min((f.start for f in own), default=t)
                if t + block - start <= (rules.max_duty_hours or inf) * 60 and busy == sum(
                        f.start <= t < f.end for f in self.records.flights):
                    return True
        return False

    def rostered_on(self, trade: str) -> list[str]:
        return [shift or self.calendar.reference_shift for shift in self.scenario.trades[trade].people]

    def squawks_in_turn(self) -> Iterator[Broken]:
        """F85-F87: a squawk is there from the end of its flight, a preflight from the instant at which the squawks that
        hold the flight are fixed, a flight after its preflight."""
        bad, seen = [], 0
        ends = {(f.serial, f.number): f.end for f in self.records.flights}
        starts = {(f.serial, f.number): f.start for f in self.records.flights}
        for c, life in self.lives():
            words = c.job.split()
            if words[0] == "squawk":
                number = int(words[1].split(".")[0])
                seen += 1
                if life and abs(life[0].start - ends.get((c.serial, number), inf)) > TINY:
                    bad.append(f"{c} from {life[0].start}, flight until {ends.get((c.serial, number))}")
            elif words[0] == "preflight":
                number = int(words[1])
                seen += 1
                flown = starts.get((c.serial, number))
                if flown is not None and not any(d.serial == c.serial and d.job == c.job and d.closed <= flown + TINY
                                                 for d in self.closings):
                    bad.append(f"{c} after its flight at {flown}")
                if number > 1 and life and life[0].start < ends[c.serial, number - 1] - TINY:
                    bad.append(f"{c} before the end of the flight before")
        yield "squawks and preflights out of turn", bad, seen

    def slots_in_turn(self) -> Iterator[Broken]:
        """F91, F92: who is ready takes the first slot that is free, in order of readiness, then of the order; slot k of
        n begins when (k-1)/n of the day's working time is over."""
        accept = next((p.acceptance for p in self.scenario.positions if p.acceptance), None)
        cert = next((p for p in self.packages.values() if p.kind == "appointment"), None)
        if accept is None or cert is None or self.scenario.fleet_holds or self.scenario.known.tool_locks:
            return
        bad, seen = [], 0
        for what, rules in (("acceptance", accept), (cert.id, cert)):
            given = sorted((begins, serial) for serial, name, begins, _ in self.records.slots if name == what)
            taken = {begins for begins, _ in given}
            ready = {(t, n): self._ready_for(what, n, t, accept, cert) for t, n in given}
            for (t, n), since in ready.items():
                if since is None:
                    continue
                seen += 1
                if since > t + TINY:
                    bad.append(f"{what} of {n} at {t}, ready at {since}")
                missed = [slot for slot in self._slots(rules, since, t) if slot not in taken]
                if missed:
                    bad.append(f"{what} of {n} at {t}, ready at {since}, free slots {missed}")
                promise = self.promise.get(n)
                mine = (since, promise.toordinal() if promise else inf, n)
                for (later, m), other in ready.items():
                    due = self.promise.get(m)
                    if later > t and other is not None and other <= t and (
                            other, due.toordinal() if due else inf, m) < mine:
                        bad.append(f"{what} of {n} at {t} before {m}, ready at {other}")
        yield "slots out of turn", bad, seen

    def _ready_for(self, what: str, n: int, t: float, accept: Any, cert: Package) -> float | None:
        """Since when an aircraft waits for a slot; None for an acceptance after a refusal."""
        if what != "acceptance":
            return max((c.closed for c in self.closings if c.serial == n and c.job == cert.records and c.closed <= t),
                       default=inf)
        if any(m == n and name == "acceptance" and begins < t for m, name, begins, _ in self.records.slots):
            return None
        bay = next(v.arrived for v in self.stays if v.serial == n and not v.parked
                   and self.sheet.places[v.place].position.acceptance)
        line = next((v.ready for v in self.stays if v.serial == n and not v.parked
                     and self.sheet.places[v.place].position.flights), 0.0)
        papers = max(c.closed for c in self.closings if c.serial == n and c.job == cert.id)
        notice = papers if accept.notice_from == "certificate" else line
        since = max(bay, self.calendar.work_days_later(notice, accept.notice_work_days))
        due, ahead = self.promise.get(n), accept.earliest_days_before_promise
        return since if due is None or ahead is None else max(since, self.calendar.instant(due - timedelta(days=ahead)))

    def _slots(self, rules: Any, since: float, until: float) -> Iterator[float]:
        words = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
        days: dict[int, Spans] = defaultdict(list)
        for a, b, day in self._blocks(self.calendar.reference_shift):
            days[day].append((a, b))
        for day, blocks in days.items():
            if words[(self.scenario.start + timedelta(days=day)).weekday()] not in rules.weekdays:
                continue
            whole = sum(b - a for a, b in blocks)
            for k in range(rules.slots_per_day):
                left = whole * k / rules.slots_per_day
                for a, b in blocks:
                    if left < b - a:
                        if since <= a + left < until - TINY:
                            yield a + left
                        break
                    left -= b - a

    # people ------------------------------------------------------------------------------------------------------
    def numbers(self) -> Iterator[Broken]:
        """F60: those on the roll by the dated steps; those known to be there."""
        bad, seen = [], 0
        rules = self.scenario.attendance
        known = {(f.trade, f.shift or self.calendar.reference_shift, (f.day - self.scenario.start).days): f.people
                 for f in self.scenario.known.present}
        for (trade, shift), a in self.records.attended.items():
            declared = self.scenario.trades[trade]
            roster = {name or self.calendar.reference_shift: n for name, n in declared.people.items()}.get(shift, 0)
            for n, day in enumerate(a.days):
                date = self.scenario.start + timedelta(days=day)
                steps = [s.people for s in declared.headcount_steps if s.shift == shift and s.day <= date]
                heads = steps[-1] if steps else roster
                seen += 1
                if (trade, shift, day) in known:
                    if a.present[n] != known[trade, shift, day]:
                        bad.append(f"{trade} {shift} {day}: {a.present[n]} there, known {known[trade, shift, day]}")
                elif not (rules and rules.turnover) and a.employed[n] != heads:
                    bad.append(f"{trade} {shift} {day}: {a.employed[n]} on the roll of {heads}")
                elif a.present[n] + a.on_leave[n] + a.absent[n] + a.in_training[n] != a.employed[n]:
                    bad.append(f"{trade} {shift} {day}: somebody is nowhere")
                elif not rules and a.present[n] != heads:
                    bad.append(f"{trade} {shift} {day}: {a.present[n]} there of {heads}")
        yield "other numbers than declared", bad, seen

    @cached_property
    def over(self) -> float:
        """When the last aircraft has left the floor, or the end of the run."""
        left = set(self.records.delivered) | set(self.records.stock_ready)
        if {*self.launched, *self.records.standing} <= left and self.launched:
            return max(*self.records.delivered.values(), *self.records.stock_ready.values(), self.calendar.end)
        return self.records.ended

    def longer_weeks(self) -> Iterator[Broken]:
        """F64: which days are longer, by how much, for whom."""
        rules = self.scenario.attendance.overtime if self.scenario.attendance else None
        if rules is None:
            return
        bad, seen = [], 0
        monday, start = self.scenario.start.weekday(), self.scenario.start
        for e in self.records.overtime:
            seen += 1
            weekday = (e.day + monday) % 7
            day = shift_day(self.scenario.shifts[e.shift], self.scenario.tool_control)
            cap = rules.max_hours_per_week * 60
            if rules.when == "Saturday":
                paid = min(cap, day.paid)
                right = weekday == 5 and e.work == paid - day.checked - day.breaks and e.checked == day.checked
            else:
                names = self.scenario.shifts[e.shift].weekdays or self.scenario.work_weekdays
                paid = cap / max(5, len(names)) // 15 * 15
                right = weekday < 5 and e.work == paid and not e.checked
            there = self.present(e.trade, e.shift)
            before = max(d for d in there if d <= e.day)
            people = there[before] if rules.people is None else min(there[before], rules.people)
            if not right or e.paid != paid or e.people != people or e.trade not in rules.trades:
                bad.append(f"{e}: {paid} minutes paid, {people} people")
        asked = {(e.day + monday) // 7 for e in self.records.overtime}
        for week in (n for n in asked if self.calendar.midnights[7 * n + 7 - monday] <= self.over):
            for trade in rules.trades:
                for shift in self.scenario.trades[trade].people:
                    days = [d for _, d in self._dates_of[shift] if (d + monday) // 7 == week
                            and self.calendar.midnights[d + 1] <= self.over]
                    got = [e for e in self.records.overtime if e.trade == trade and e.shift == shift
                           and (e.day + monday) // 7 == week]
                    seen += 1
                    closed = start + timedelta(days=7 * week + 5 - monday) in self.scenario.calendar.closed
                    if len(got) != (len(days) if rules.when != "Saturday" else int(not closed)):
                        bad.append(f"week {week}: {trade} on {shift} {len(got)} of {len(days)} days")
        if rules.trigger_work_days_late is not None and rules.trigger_launches_behind_work_days is None:
            wrong = self._wrong_weeks(rules.trigger_work_days_late, monday, self.over - 6 * 1440)
            seen += 1
            if wrong:
                bad.append(f"{wrong} weeks asked, or not, against the lateness")
        yield "overtime on other days, of another length, or of others", bad, seen

    def rules_of(self) -> Iterator[Broken]:
        """All of them, with those of the larger plants that hold here, too."""
        for of in (self.without_gaps, self.hours, self.starts, self.nobody_idle, self.first_is_first,
                   self.order_of_docks, self.next_places, self.blocked_for_nothing, self.moves_take_time,
                   self.launches_in_turn, self.pulses, self.stops, self.missing_tools, self.recalls, self.repairs,
                   self.numbers, self.longer_weeks, self.first_chance, self.squawks_in_turn,
                   self.order_book, self.slots_in_turn):
            yield from of()
        plain = [self.places, self.crews, self.in_docks, self.nothing_beside_flights_and_locks, self.people,
                 self.order_of_work, self.launches]
        if any(p.flights for p in self.scenario.positions):
            plain += [self.flights, self.appointments]
        for look in plain:
            for what, bad, seen in look():
                if what not in ELSEWHERE and not (self.scenario.order_changes and "launche" in what):
                    yield what, [f"{bad} times"] * bool(bad), seen
