"""Rules that tie the parts of a scenario together: what must agree before anything runs.

A rule is read over every file that can be understood, also over one with faults: then those rules are left out that
look at a spoilt field, and what is said of an entry that has a spoilt field of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator
from datetime import date, timedelta
from functools import cache
from zoneinfo import available_timezones

from .calendar import months_on, weeks_with_work, work_blocks
from .declared import WEEKDAYS, names_used, parts_of
from .faults import did_you_mean, unknown
from .hourly import VFR_CEILING_FT, VFR_VISIBILITY_SM, HourlyRecord
from .order_rules import launch_rules, order_rules, travel_rules
from .people import OTHERS, Leave, Shift, ToolControl
from .plant_rules import (
    INSPECTOR,
    Found,
    certificate_rules,
    each_package,
    flight_rules,
    package_rules,
    predecessor_rules,
    routing_rules,
    service_rules,
    standing_rules,
)
from .quality_rules import gate_rules
from .risks import Weather
from .scenario import Scenario
from .spread import Spread
from .tree import Path_

DAY_MINUTES = 1440
MOST_MONTHS = 600           # of running on after the end
MOST_VALUE = 1e6            # of a length of work or a delay
LEAST_CV = 1e-3             # the inverse of a narrower gamma is not reliable
_SECTION = {"trade": "trades", "shift": "shifts", "position": "positions", "position or area": "positions",
            "package": "positions", "plan": "plans", "serial": "orders", "long-lead item": "parts", "model": "orders",
            "scheme": "orders"}
_AGAIN = ("repeat_chance", "return_chance", "refusal_chance", "second_round_chance")
_NAMED_BY = ("id", "serial", "name", "item", "packages", "long_lead", "area", "model", "scheme")


def faults_of(scenario: Scenario, spoilt: Collection[Path_] = ()) -> list[Found]:
    """All faults of a scenario, each with the path of its place; `spoilt` are places that are faults already."""
    checks: tuple[tuple[Callable[[Scenario], Iterable[Found]], str], ...] = (
        (_dates, "start end window calendar shifts weekdays run_on_months time_zone"),
        (_shifts, "tool_control start_check_minutes end_check_minutes"), (_twice_written, ""), (package_rules, ""),
        (predecessor_rules, "positions packages id after kind trade"),
        (_trades, "trades positions packages cover kind trade inspector flights pilots"),
        (_attendance, "attendance trades people leave overtime positions flights pilots shifts calendar start end"),
        (routing_rules, "positions id next half back_to on_the_line at"),
        (certificate_rules, "positions id next half flights"),
        (launch_rules, "launches pulse orders on_the_line plans"), (travel_rules, "positions pulse packages id"),
        (order_rules, "order_changes orders on_the_line start"),
        (standing_rules, "positions id docks half"), (service_rules, "positions out_of_service"),
        (gate_rules, "positions packages id after kind gate rework quality"),
        (_known, ""), (flight_rules, "positions flights squawks"), (_weather, ""), (_hours, ""), (_rounds, ""),
        (_spreads, ""))
    found = [fault for check, reads in checks if not any(_spoils(path, reads.split()) for path in spoilt)
             for fault in check(scenario)]
    found += _names(scenario, spoilt)
    said = {path[:n] for path in spoilt for n in (len(path) - 1, len(path)) if n > 0}
    spoilt = set(spoilt)
    return [(path, message) for path, message in found
            if path not in said and not any(path[:n] in spoilt for n in range(len(path)))]


def _spoils(path: Path_, reads: list[str]) -> bool:
    last = next((step for step in reversed(path) if isinstance(step, str)), "")
    return last in reads or (len(path) <= 2 and path[0] in reads)


def _names(s: Scenario, spoilt: Collection[Path_]) -> Iterator[Found]:
    """Every name that is used must be declared."""
    known = _declared_names(s)
    blind = {kind for kind, section in _SECTION.items() for path in spoilt if path[0] == section
             and (len(path) == 1 or path[-1] in _NAMED_BY or isinstance(path[-1], int))}
    quick = {kind: set(names) for kind, names in known.items()}
    for path, kinds, name in names_used(s):
        kind, *also = kinds.split("/")
        if kind in blind or name in quick[kind] or name in also:
            continue
        if kind == "serial" and s.orders is None:
            # what stands on the floor or is locked is looked up in the order book, which there is none of
            if not (path[0] == "on_the_line" or path[:2] == ("known", "tool_locks") or not name.isdecimal()):
                continue
            yield path, (f"serial {name!r} needs an order book: unlimited orders are numbered 1, 2, ... when they are "
                         "launched")
        elif kind == "position or area" and not did_you_mean(name, known[kind]):
            continue  # a comparison may give a position that area; what looks like a slip of the pen is a fault
        elif kind not in ("model", "scheme") or known[kind]:
            yield path, unknown(kind, name, known[kind])
    if "trade" in blind or INSPECTOR in s.trades:
        return
    for n, m, package in each_package(s):
        if package.kind == "buy-off" and package.trade is None:
            yield (("positions", n, "packages", m, "trade"),
                   f"a buy-off without a trade is done by {INSPECTOR}: {unknown('trade', INSPECTOR, s.trades)}")
        if package.inspection_hours and package.inspector is None:
            yield (("positions", n, "packages", m, "inspection_hours"),
                   f"its inspector is {INSPECTOR} unless named: {unknown('trade', INSPECTOR, s.trades)}")


def _declared_names(s: Scenario) -> dict[str, list[str]]:
    positions = [position.id for position in s.positions]
    used: dict[str, dict[str, None]] = {"model": {}, "scheme": {}}
    for order in s.orders or ():
        used["model"][order.model or ""] = used["scheme"][order.scheme or ""] = None
    for _, _, package in each_package(s):
        used["model"].update(dict.fromkeys(package.models or ()))
        used["scheme"].update(dict.fromkeys(package.schemes or ()))
    used["model"].update(dict.fromkeys(s.work_time.model_factors))
    used["model"].update(dict.fromkeys(s.money.material_per_aircraft if s.money else ()))
    used["scheme"].update(dict.fromkeys(s.work_time.scheme_factors))
    return {
        "trade": list(s.trades), "shift": list(s.shifts), "position": positions,
        "position or area": positions + list(dict.fromkeys(p.area for p in s.positions if p.area)),
        "package": [package.id for _, _, package in each_package(s)], "plan": [plan.name for plan in s.plans],
        "serial": [order.serial for order in s.orders or ()],
        "long-lead item": [item.item for item in (s.parts.long_lead if s.parts else ())],
        **{kind: [name for name in names if name] for kind, names in used.items()}}


def _dates(s: Scenario) -> Iterator[Found]:
    if s.end < s.start:
        yield ("end",), f"must not lie before the start {s.start}, found {s.end}"
    elif _first_worked(s, s.start, s.end) is None:
        yield ("end",), f"no work day lies between the start {s.start} and the end {s.end}"
    elif s.window and s.window.first <= s.window.last:
        yield from _window(s)
    if s.window and s.window.last < s.window.first:
        yield ("window", "to"), f"must not lie before {s.window.first}, found {s.window.last}"
    if s.run_on_months > MOST_MONTHS:
        yield ("run_on_months",), f"must be at most {MOST_MONTHS}, found {s.run_on_months}"
    if s.calendar.work_weekdays == ():
        yield ("calendar", "work_weekdays"), "must be at least one weekday; left out: the usual ones"
    if s.time_zone and s.time_zone not in _zones():
        yield ("time_zone",), unknown("time zone", s.time_zone, _zones_like(s.time_zone))


@cache
def _zones() -> set[str]:
    """Known here; asked once, since the whole folder of them is read."""
    return available_timezones()


def _zones_like(found: str) -> list[str]:
    """Time zones, those of the same first letters first: no more than a few hundred are compared."""
    return sorted(_zones(), key=lambda zone: (zone[:2].lower() != found[:2].lower(), zone))


def _window(s: Scenario) -> Iterator[Found]:
    assert s.window is not None
    if s.window.first > s.end or s.window.last < s.start:
        yield ("window",), f"lies outside the run, {s.start} to {s.end}"
        return
    if _first_worked(s, s.window.first, s.window.last) is None:
        yield ("window",), "no work day lies inside it"
    # New Year's Day may open the window of a run that starts on the first work day after it
    for field, first, last in (("from", s.window.first, s.start - timedelta(1)),
                               ("to", s.end + timedelta(1), s.window.last)):
        lost = _first_worked(s, first, last)
        if lost:
            yield ("window", field), f"lies outside the run, {s.start} to {s.end}: {lost} is a work day"


def _first_worked(s: Scenario, first: date, last: date) -> date | None:
    weekdays = {day for shift in s.shifts.values() for day in shift.weekdays or s.work_weekdays}
    for n in range((last - first).days + 1):
        day = first + timedelta(n)
        if WEEKDAYS[day.weekday()] in (weekdays or s.work_weekdays) and day not in s.calendar.closed:
            return day
    return None


def _shifts(s: Scenario) -> Iterator[Found]:
    for name, shift in s.shifts.items():
        yield from ((("shifts", name), message) for message in _shift_rules(shift, s.tool_control))


def _shift_rules(shift: Shift, control: ToolControl | None) -> Iterator[str]:
    checks = control and (control.start_check_minutes or control.end_check_minutes)
    gross = [field for field in ("start", "end", "meal", "meal_minutes", "breaks", "paid_break_minutes")
             if getattr(shift, field) is not None]
    gross += [field for field in ("meeting_minutes", "clean_down_minutes") if getattr(shift, field)]
    if shift.work is not None and gross:
        yield f"net work blocks and {gross[0]!r} say the same time twice: give one of them"
    elif shift.work is not None and checks:
        yield "net work blocks and the minutes of tool checks say the same time twice: give start and end"
    elif shift.work is None and (shift.start is None or shift.end is None):
        yield "needs start and end, or its work blocks"
    else:
        blocks = work_blocks(shift, control)
        if not blocks:
            yield "no time for work is left in it"
        elif blocks[-1][1] - blocks[0][0] > DAY_MINUTES:
            yield ("its work blocks overlap or are out of order: " + ", ".join(shift.work) if shift.work
                   else "is longer than a day")
    if shift.meal is not None and shift.meal_minutes is not None:
        yield "meal and meal_minutes say the same thing twice"
    if shift.breaks is not None and shift.paid_break_minutes is not None:
        yield "breaks and paid_break_minutes say the same thing twice"


def _twice_written(s: Scenario) -> Iterator[Found]:
    lists: tuple[tuple[str, list[Found]], ...] = (
        ("position {!r} is written twice", [(("positions", n, "id"), p.id) for n, p in enumerate(s.positions)]),
        ("package {!r} is written twice in the plant",
         [(("positions", n, "packages", m, "id"), p.id) for n, m, p in each_package(s)]),
        ("serial {!r} is ordered twice", [(("orders", n, "serial"), o.serial) for n, o in enumerate(s.orders or ())]),
        ("plan {!r} is written twice", [(("plans", n, "name"), p.name) for n, p in enumerate(s.plans)]),
        ("{!r} stands on the floor twice",
         [(("on_the_line", n, "serial"), a.serial) for n, a in enumerate(s.on_the_line)]))
    for message, entries in lists:
        seen: set[str] = set()
        for path, name in entries:
            if name in seen:
                yield path, message.format(name)
            seen.add(name)


def _trades(s: Scenario) -> Iterator[Found]:
    buys_off = {package.trade or INSPECTOR for _, _, package in each_package(s) if package.kind == "buy-off"}
    buys_off |= {package.inspector or INSPECTOR for _, _, package in each_package(s) if package.inspection_hours}
    buys_off.add(INSPECTOR)
    for name, declared in s.trades.items():
        if declared.cover and name in buys_off:
            yield ("trades", name, "cover"), "a buy-off trade neither lends nor borrows"
        for lender in declared.cover:
            if lender in buys_off:
                yield ("trades", name, "cover", lender), f"a buy-off trade neither lends nor borrows; {lender} buys off"
            if lender == name:
                yield ("trades", name, "cover", lender), "a trade does not lend to itself"
        flown = {name, *declared.cover} & _pilots(s) if declared.cover else set()
        if flown:
            yield ("trades", name, "cover"), f"pilots neither lend nor borrow: {', '.join(sorted(flown))} flies"


def _pilots(s: Scenario) -> set[str]:
    return {name for position in s.positions for name in (
        position.flights.pilots if position.flights else None,
        position.acceptance.pilots if position.acceptance else None) if name}


def _attendance(s: Scenario) -> Iterator[Found]:
    rules = s.attendance
    if rules is None:
        return
    if rules.leave is not None:
        if (rules.leave.share is None) == (rules.leave.weeks is None):
            yield ("attendance", "leave"), "needs exactly one of share and weeks"
        elif rules.leave.in_blocks:
            yield from _leave_weeks(s, rules.leave)
    if rules.overtime is not None:
        triggers = (rules.overtime.trigger_work_days_late, rules.overtime.trigger_launches_behind_work_days)
        if all(trigger is None for trigger in triggers):
            yield ("attendance", "overtime"), ("needs trigger_work_days_late or trigger_launches_behind_work_days: "
                                               "else it is never worked")
        for trade in rules.overtime.trades:
            if trade in _pilots(s):
                yield ("attendance", "overtime", "trades"), f"pilots work no overtime: {trade} flies"
        for hours in rules.overtime.effect_by_weekly_hours:
            if not hours.replace(".", "", 1).isdigit():
                yield (("attendance", "overtime", "effect_by_weekly_hours"),
                       f"weekly hours must be numbers, found {hours!r}")


def _leave_weeks(s: Scenario, leave: Leave) -> Iterator[Found]:
    """More people-weeks than there is room for in the weeks on offer of a year."""
    for year in range(s.start.year, s.end.year + 1):
        weeks = len(weeks_with_work(s, year))
        for name, trade in s.trades.items():
            most, people = leave.most_away.get(name, leave.most_away.get(OTHERS)), sum(trade.people.values())
            if most is not None and people * leave.weeks_each > most * weeks:
                yield ("attendance", "leave", "most_away"), (
                    f"{people} people of {name} with {leave.weeks_each} weeks each need "
                    f"{people * leave.weeks_each} weeks; {weeks} weeks of {year} with {most} away give {most * weeks}")
                return


def _known(s: Scenario) -> Iterator[Found]:
    for n, lock in enumerate(s.known.tool_locks):
        if lock.ends <= lock.begins:
            yield ("known", "tool_locks", n), "must end after it begins"
    for n, out in enumerate(s.known.out_of_service):
        at = ("known", "out_of_service", n)
        if (out.day is None) == (out.begins is None) or (out.begins is None) != (out.ends is None):
            yield at, "needs either a date, or from and to"
        elif out.begins and out.ends and out.ends <= out.begins:
            yield at, "must end after it begins"
    for n, told in enumerate(s.known.squawks):
        if (told.flight is None) == (told.acceptance is None):
            yield ("known", "squawks", n), "needs either flight or acceptance"


def _weather(s: Scenario) -> Iterator[Found]:
    weather = s.weather
    if weather is None:
        return
    yield from _hourly(s, weather)
    for field, floor, unit in (("ceiling_ft", VFR_CEILING_FT, "feet"), ("visibility_sm", VFR_VISIBILITY_SM, "miles")):
        found = getattr(weather.limits, field) if weather.limits else None
        if found is not None and found < floor:
            yield ("weather", "limits", field), f"never below {floor:.0f} {unit}, the day-VFR floor; found {found:g}"
    if weather.bad_after_bad and weather.day_to_day_correlation is not None:
        yield ("weather",), "day_to_day_correlation and bad_after_bad say the same thing twice"
    for month, good in (weather.flyable_share_by_month or {}).items():
        if weather.bad_after_bad and (1 - good) * (1 - weather.bad_after_bad[month]) > good:
            yield ("weather", "bad_after_bad"), f"month {month}: the chance of a bad day after a good one is over 1"


def _hourly(s: Scenario, weather: Weather) -> Iterator[Found]:
    if not weather.hourly:
        return
    if weather.flyable_share_by_month is not None:
        yield ("weather",), "hourly and flyable_share_by_month say the same thing twice"
    record, last = HourlyRecord(weather), months_on(s.end, s.run_on_months)
    if not record.covers(s.start, last) and not record.whole_years:
        yield ("weather", "hourly"), (f"must hold the dates of the run, {s.start} to {last}, or at least one whole "
                                      f"year; found {min(record.bad)} to {max(record.bad)}")
    if weather.limits and weather.limits.crosswind_kt is not None and weather.runway_deg is None:
        yield ("weather", "limits", "crosswind_kt"), "needs runway_deg, the direction of the runway"


def _hours(s: Scenario) -> Iterator[Found]:
    if abs(s.work_time.spread.mean - 1) > 1e-9:
        yield ("work_time", "spread"), f"its mean must be 1, found {s.work_time.spread.mean:g}"
    learning = s.work_time.learning
    if learning and learning.hours_stated_at and learning.hours_stated_at_unit:
        yield ("work_time", "learning"), "hours_stated_at and hours_stated_at_unit say the same thing twice"
    if learning and learning.curve == "Wright" and learning.slope <= 0.5:
        yield ("work_time", "learning", "slope"), f"must be above 0.5 on the curve of Wright, found {learning.slope:g}"


def _rounds(s: Scenario) -> Iterator[Found]:
    for path, chance, _ in parts_of(s):
        if chance == 1 and (path[-1] in _AGAIN or path[-2:] in (("repaint", "chance"), ("back_to", "chance"))):
            yield path, "must be below 1, found 1: it would be done again without end"


def _spreads(s: Scenario) -> Iterator[Found]:
    for path, spread, _ in parts_of(s):
        if not isinstance(spread, Spread):
            continue
        if max(spread.parts) > MOST_VALUE:
            yield path, f"must be at most {MOST_VALUE:,.0f}, found {max(spread.parts):g}"
        if spread.kind == "gamma" and 0 < spread.parts[1] < LEAST_CV:
            yield path, f"gamma: cv must be 0, or {LEAST_CV:g} or more; found {spread.parts[1]:g}"
