"""Rules of the floor on the smallest plants that show them, worked by hand: pairs at mate, people who come, learn and
leave, longer weeks, tools, gates, slots of customers, orders that change, the pulse decided early, ties of places."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ...line.floor import run_once
from ...line.records import Records
from ...line.sheet import Sheet
from ...scenario.reading import parse_scenario
from .arithmetic import HAND
from .check import Check, each, exact, within
from .listed import Proof
from .plants import json, place, plant, run

NONE = float("nan")
DAY = 24.0
SHIFT = {"start": "06:00", "end": "14:30", "meal_minutes": 30}  # eight hours, the meal from 10:00


def at_work(packages: list[dict[str, Any]], people: Any = 1, **parts: Any) -> tuple[Sheet, Records]:
    """One place, one trade, one aircraft launched on Monday 4 January 2027 at 06:00."""
    values = {"name": "by hand", "start": "2027-01-04", "end": "2027-02-28", "shifts": {"day": SHIFT},
              "trades": {"T": {"people": people}, "INS": {"people": 1}}, "orders": [{"serial": "S1"}],
              "positions": [{"id": "A", "packages": packages}],
              "launches": {"moments": ["2027-01-04 06:00"]}, **parts}
    sheet = Sheet(parse_scenario(json.dumps(values)))
    return sheet, run_once(sheet, 1, 0)


def work(name: str, hours: float, **more: Any) -> dict[str, Any]:
    return {"id": name, "trade": "T", "hours": hours, **more}


def closings(records: Records) -> list[float]:
    """Hours since the start at which packages closed."""
    return [c.closed / 60 for c in records.closings]


def hour(day: int, clock: float) -> float:
    """Hours from the start to a clock time of a day of January 2027."""
    return (day - 4) * DAY + clock


def pairs() -> Iterator[Check]:
    """Fuselages are ready after 2 and 4 h, wings after 6 and 3 h; mate takes an hour. Any pair of one model: 3 h, and 6
    h. By serial, or of two models: 4 h, and 6 h."""
    facts = [("S1", "f", 2.0), ("S2", "f", 4.0), ("S1", "w", 6.0), ("S2", "w", 3.0)]
    for name, rule, models, expected in (("any of model", "any of model", "DD", [4, 7]),
                                         ("by serial", "by serial", "DD", [7, 5]),
                                         ("any of model, two models", "any of model", "DE", [7, 5])):
        orders = [{"serial": f"S{n}", "model": model} for n, model in enumerate(models, 1)]
        _, records = run(plant(
            [place("F", 1, 2, half="fuselage", packages=[{"id": "f"}]),
             place("W", 1, 2, half="wing", packages=[{"id": "w"}]), place("M", 1)], 48, orders=orders,
            known={"hours": [{"serial": s, "package": p, "hours": h} for s, p, h in facts]},
            work_rules={"pairing": rule}))
        yield each(f"{name}: hours of delivery of two fuselages", HAND, expected,
                   [records.delivered.get(n, NONE) / 60 for n in range(2)], 1e-6)


def headcount() -> Iterator[Check]:
    """40 h by two, from Wednesday by one or by three; a new person at half, a week to full, a tenth of drain."""
    for steps, crew, expected in (([(6, 1)], {"crew_max": 3}, hour(6, 14.5)), ([(6, 3)], {"crew_max": 3},
                                  hour(6, 6 + 8 / 3)), ([(6, 1)], {"crew": 2}, NONE), ([], {"crew": 2}, hour(6, 10)),
                                  ([(5, 0), (7, 4)], {"crew_max": 9}, hour(7, 13 - 0.5))):
        _, records = at_work([work("a", 40, **crew)], trades={
            "T": {"people": {"day": 2}, "headcount_steps": [
                {"from": f"2027-01-{day:02d}", "shift": "day", "people": n} for day, n in steps]},
            "INS": {"people": 1}})
        got = records.delivered.get(0, NONE) / 60
        name = f"40 h by two people, then {[n for _, n in steps]}, crew {crew}: hours until it is closed"
        if expected == expected:
            yield exact(name, HAND, expected, got, 1e-6)
        else:
            yield exact(f"{name}: never", HAND, 1, float(got != got))
    _, records = at_work([work("a", 400, crew_max=9)], attendance={"proficiency": {
        "start": 0.5, "weeks_to_full": 1, "trainer_drain": 0.1}}, trades={
            "T": {"people": {"day": 1}, "headcount_steps": [{"from": "2027-01-06", "shift": "day", "people": 2}]}})
    there = records.attended["T", "day"]
    able = dict(zip(there.days, there.effectiveness, strict=True))
    yield each("effectiveness with one new of two: before, on the day, two days later, after a week", HAND,
               [1, 1.4 / 2, (1 + 0.5 + 0.5 * 2 / 7 - 0.1) / 2, 1], [able[1], able[2], able[4], able[9]], 1e-9)
    yield each("people there and employed, before and after", HAND, [1, 1, 2, 2], [
        float(there.present[1]), float(there.employed[1]), float(there.present[2]), float(there.employed[2])])
    done = next(c for c in [sum(s.people * able[int(s.start // 1440)] * (s.end - s.start - 30) / 60
                                for s in records.segments if s.people and s.start < 5 * 1440)])
    yield exact("hours of work done in the first week by one, then by two of them new", HAND,
                8 * (1 + 1) + 8 * (1.4 + sum(1.4 + 0.5 * n / 7 for n in (1, 2))), done, 1e-6)


def longer_weeks() -> Iterator[Check]:
    """100 h, promised on 5 January: late by two work days on Monday 11th, so an hour more a day from then on, 45 a week
    at 0.9: 40 h, then 40.5, then 8.1 a day. With a loss of a tenth from the second week on 7.2 a day. With the effect
    on the hour alone 8.9 a day."""
    rules = {"trades": ["T"], "max_hours_per_week": 5, "trigger_work_days_late": 2,
             "effect_by_weekly_hours": {"45": 0.9, "50": 0.8}}
    for name, more, expected in (("", {}, hour(20, 6 + 3.3 / 0.9)),
                                 ("tired", {"fatigue_after_weeks": 1, "extra_loss_after": 0.1},
                                  hour(20, 6 + 0.5 + 5.1 / 0.8)),
                                 ("the extra hour only", {"extra_hours_only": True}, hour(19, 6 + 6.6 + 0.5)),
                                 ("not late enough", {"trigger_work_days_late": 9}, hour(20, 10)),
                                 ("one of one people", {"people": 1}, hour(20, 6 + 3.3 / 0.9)),
                                 ("nobody stays", {"people": 0}, hour(20, 6 + (100 - 40 - 36 - 14.4) / 0.9 + 0.5))):
        _, records = at_work([work("a", 100)], attendance={"overtime": {**rules, **more}},
                             orders=[{"serial": "S1", "promised": "2027-01-05"}])
        if name != "nobody stays":
            yield exact(f"100 h with overtime {name}: hours until it is closed", HAND, expected,
                        records.delivered.get(0, NONE) / 60, 1e-6)
        stays = [(extra.day, extra.people, extra.paid, extra.work) for extra in records.overtime[:2]]
        count = {"not late enough": 0.0}.get(name, 1.0)
        yield exact(f"overtime {name}: is recorded for Monday 11 January, an hour for who stays", HAND, count,
                    float(stays[:1] == [(7, 0 if name == "nobody stays" else 1, 60.0, 60.0)]))


def tools_and_gates() -> Iterator[Check]:
    """7 h of work a day from 06:30 with checks of half an hour. A tool is missing at 14:00 on Monday; two hours of
    search end on Tuesday 08:30; of 10 h the last three end at 12:00. At a gate: 4 h of work, the gate 10:30-11:30, two
    hours of repair, the gate once more on Tuesday until 06:30."""
    control = {"start_check_minutes": 30, "end_check_minutes": 30}
    for name, chance, expected in (("never", 0.0, hour(5, 9.5)), ("always", 1.0, hour(5, 12))):
        _, records = at_work([work("a", 10)], end="2027-01-05", tool_control={
            **control, "missing_tool": {"chance": chance, "search_hours": 2}})
        yield exact(f"10 h of work, tools missing {name}: hours until it is closed", HAND, expected,
                    records.delivered.get(0, NONE) / 60, 1e-6)
    gate = {"id": "g", "kind": "buy-off", "hours": 1, "gate": "position"}
    for defects, at in (([], [hour(4, 10), hour(4, 11.5)]),
                        ([1.5, 0.5], [hour(4, 10), hour(4, 11.5), hour(4, 13.5), hour(4, 14.5)])):
        _, records = at_work([work("a", 4), gate], quality={"defects_per_100_hours": 0, "repair_hours": 1}, known={
            "defects": [{"serial": "S1", "package": "a", "found_by": "position", "hours": h} for h in defects]})
        yield each(f"work, gate, and {len(defects)} defects found: hours of closing", HAND, at, closings(records), 1e-6)


def customers() -> Iterator[Check]:
    """Certificate on Tuesday; two work days of notice from it end at Friday 06:00; acceptances on Mondays and
    Wednesdays take a day: Monday 11th, refused, Wednesday 13th. Not before five days ahead of the 25th: Wednesday 20th,
    then Monday 25th. Booked for Wednesday 6th: refused, the Monday after."""
    finishing = {"id": "FC", "packages": [work("c", 3), {
        "id": "cert", "kind": "appointment", "weekdays": ["Tue", "Thu"], "certificate": True, "records": "c"}]}
    rules = {"weekdays": ["Mon", "Wed"], "duration_work_days": 1, "notice_work_days": 2,
             "notice_from": "certificate", "delivery_trade": "T", "delivery_hours": 4}
    positions = [finishing, {"id": "AC", "acceptance": rules}]
    early = [finishing, {"id": "AC", "acceptance": {**rules, "earliest_days_before_promise": 5}}]
    promised = [{"serial": "S1", "promised": "2027-01-25"}]
    standing = {"on_the_line": [{"serial": "S1", "at": "AC", "acceptance_booked": "2027-01-06"}],
                "launches": {"moments": []}}
    for name, parts, expected in (
            ("once refused", {"positions": positions}, hour(13, 14.5)),
            ("once refused, not too early", {"positions": early}, hour(25, 14.5)),
            ("booked, once refused", {"positions": positions, **standing}, hour(11, 14.5)),
            ("certificate once returned", {"positions": positions, "known": {
                "returns": [{"serial": "S1", "position": "FC", "times": 1}]}}, hour(13, 14.5))):
        _, records = at_work([], orders=promised, **{
            "known": {"refusals": [{"serial": "S1", "position": "AC", "times": 1}]}, **parts})
        yield exact(f"acceptance {name}: hours until delivery", HAND, expected, records.delivered.get(0, NONE) / 60,
                    1e-6)


def at_the_start() -> Iterator[Check]:
    """A cure until 10:00 and 4 h of work behind it; 6 of 8 h left; half of 4, 8 and 4 h of work gone with the hold
    between them; records and certificate in the delivery bay."""
    paint = [work("p", 2, cure_hours=5), work("q", 4)]
    three = [work("a", 4), {"id": "h", "kind": "hold", "elapsed_hours": 30}, work("b", 8), work("c", 4)]
    for name, packages, entry, expected in (
            ("curing until 10:00, then 4 h", paint, {"curing": {"package": "p", "until": "2027-01-04 10:00"}},
             hour(4, 14.5)),
            ("curing until 08:00, then 4 h", paint, {"curing": {"package": "p", "until": "2027-01-04 08:00"}},
             hour(4, 12.5)),
            ("6 of 8 h left", [work("a", 8)], {"hours_left": {"a": 6}}, hour(4, 12.5)),
            ("a twentieth of 16 h gone", [work("a", 16)], {"remaining_share": 0.95}, hour(5, 13.7)),
            ("3.5 of 4 h and 12 h gone", [work("a", 4), work("b", 12)], {"remaining_share": 0.78125}, hour(5, 11)),
            ("half of 16 h gone, the hold too", three, {"remaining_share": 0.5}, hour(4, 14.5)),
            # the hold runs 30 h from Monday 00:00; b on Tuesday, c on Wednesday
            ("a quarter of 16 h gone, the hold not begun", three, {"remaining_share": 0.75}, hour(6, 10)),
            ("a done, half of the rest gone", three, {"packages_done": ["a"], "remaining_share": 0.5}, hour(4, 12.5))):
        _, records = at_work(packages, on_the_line=[{"serial": "S1", "at": "A", **entry}], launches={"moments": []})
        yield exact(f"at the start {name}: hours until it is closed", HAND, expected,
                    records.delivered.get(0, NONE) / 60, 1e-6)
    positions = [{"id": "FC", "packages": [work("c", 3), work("r", 1), {
        "id": "cert", "kind": "appointment", "weekdays": ["Tue"], "certificate": True, "records": "r"}]},
        {"id": "AC", "acceptance": {"weekdays": ["Wed"], "duration_work_days": 1, "notice_work_days": 0}}]
    for where, left in (("finishing", hour(5, 14.5)), ("acceptance", hour(4, 9))):
        _, records = at_work([], positions=positions, work_rules={"certificate_at": where})
        yield each(f"certificate at {where}: hours until it leaves finishing, and until delivery", HAND,
                   [left, hour(6, 14.5)], [records.visits[0].left / 60, records.delivered.get(0, NONE) / 60], 1e-6)


def order_changes() -> Iterator[Check]:
    """A slot every work day for three aircraft of a day's work. S2 cancelled on Tuesday and sold again ten work days
    later, swapped with S3, put off by a week, or built for stock."""
    orders = [{"serial": f"S{n}", "promised": f"2027-02-0{n}"} for n in (1, 2, 3)]
    for name, rules, expected in (
            ("none", {}, [0, 1, 2]), ("swapped", {"stated": [{
                "date": "2027-01-05", "serial": "S2", "swapped_with": "S3"}]}, [0, 2, 1]),
            ("put off", {"stated": [{"date": "2027-01-05", "serial": "S2", "deferred_days": 7}]}, [0, 8, 1]),
            ("cancelled", {"stated": [{"date": "2027-01-05", "serial": "S2", "cancelled": True}],
                           "resold_after_work_days": 10}, [0, 15, 1])):
        _, records = at_work([work("a", 8)], orders=orders, launches={"takt_work_days": 1}, order_changes=rules)
        made = {entry.serial: entry.made / 1440 - 0.25 for entry in records.launches}
        yield each(f"order {name}: days from Monday 4 January to the launches of three", HAND, expected,
                   [made.get(n, NONE) for n in range(3)], 1e-6)
    _, records = at_work([work("a", 8)], orders=orders, launches={"takt_work_days": 1}, order_changes={
        "cancelled": "built for stock", "stated": [{"date": "2027-01-05", "serial": "S2", "cancelled": True}]})
    yield each("cancelled and built for stock: delivered, finished as stock", HAND, [2, 1],
               [len(records.delivered), len(records.stock_ready)])


def opening_hours() -> Iterator[Check]:
    """One person, S1 in A with 8 h, S2 in B with 4 h. A is open until 12:00: 5.5 h, then 2.5 h of S2; on Tuesday S1
    until 08:30 and S2 until 10:00. A is open from 12:00: S2 first, until 10:00, S1 2.5 h each day from 12:00. A is out
    of service from 08:00 to 12:00: S1 2 h, S2 until 12:30, S1 2 h, then 4 h on Tuesday."""
    places = [{"id": "A", "packages": [work("a", 8)]}, {"id": "B", "packages": [work("b", 4)]}]
    orders = [{"serial": "S1", "promised": "2027-02-01"}, {"serial": "S2", "promised": "2027-02-02"}]
    shifts = {"day": SHIFT, "early": {"work": ["06:00-12:00"]}, "late": {"work": ["12:00-20:00"]}}
    out = {"out_of_service": [{"position": "A", "from": "2027-01-04 08:00", "to": "2027-01-04 12:00"}]}
    for name, opens, known, expected in (
            ("open all day", None, {}, [hour(4, 14.5), hour(5, 10)]),
            ("open until 12:00", "early", {}, [hour(5, 8.5), hour(5, 10)]),
            ("open from 12:00", "late", {}, [hour(7, 12.5), hour(4, 10)]),
            ("out of service 08:00 to 12:00", None, out, [hour(5, 10), hour(4, 12.5)])):
        first = places[0] | ({"shifts": [opens]} if opens else {})
        _, records = at_work(
            [], positions=[first, places[1]], orders=orders, shifts=shifts, known=known, launches={"moments": []},
            trades={"T": {"people": {"day": 1}}, "INS": {"people": 1}},
            on_the_line=[{"serial": "S1", "at": "A"}, {"serial": "S2", "at": "B"}])
        own = ((0, "a"), (1, "b"))
        closed = {c.job: c.closed / 60 for c in records.closings if (c.serial, c.job) in own}
        yield each(f"a place {name}: hours until two packages are closed", HAND, expected,
                   [closed.get(job, NONE) for job in "ab"], 1e-6)


def late_items() -> Iterator[Check]:
    """16 h in A, then B, whose item is three work days late: from the arrival on Tuesday 14:30 until Monday 06:00, from
    the plan, a takt of one work day after the launch, until Friday 06:00. Then an hour of work."""
    places = [{"id": "A", "packages": [work("a", 16)]}, {"id": "B", "packages": [work("b", 1)]}]
    for since, expected in (("arrival", hour(11, 7)), ("plan", hour(8, 7))):
        _, records = at_work([], positions=places, launches={"takt_work_days": 1}, parts={"long_lead": [
            {"item": "engine", "position": "B", "late_chance": 1, "delay_work_days": 3, "counts_from": since}]})
        yield exact(f"an item three work days late from its {since}: hours until delivery", HAND, expected,
                    records.delivered.get(0, NONE) / 60, 1e-6)


def pilots() -> Iterator[Check]:
    """Three aircraft are ready, one pilot, flights of two hours: three on Monday; one a day; or, with five hours of
    duty from the first start to the last end, two on Monday."""
    for name, caps, expected in (("no cap", {}, [hour(4, 8), hour(4, 10), hour(4, 12)]),
                                 ("one flight a day", {"max_flights_per_day": 1}, [hour(d, 8) for d in (4, 5, 6)]),
                                 ("five hours of duty", {"max_duty_hours": 5},
                                  [hour(4, 8), hour(4, 10), hour(5, 8)])):
        flights = {"pilots": "T", "pilot_hours": 2, "flight_hours": 1, **caps}
        _, records = at_work([], positions=[{"id": "FL", "docks": 3, "flights": flights}], launches={"moments": []},
                             orders=[{"serial": f"S{n}"} for n in range(3)],
                             on_the_line=[{"serial": f"S{n}", "at": "FL"} for n in range(3)])
        yield each(f"three aircraft ready for one pilot, {name}: hours at which they have flown", HAND, expected,
                   [records.delivered.get(n, NONE) / 60 for n in range(3)], 1e-6)


def file_order() -> Iterator[Check]:
    """d is written first and waits for b, the last; c follows d, a follows nothing, b follows a: so a, b, d, c."""
    packages = [work("d", 1, after=["b"]), work("c", 2), work("a", 3, after=[]), work("b", 4)]
    _, records = at_work(packages)
    yield each("packages written in another order than they are done: hours of closing of a, b, d, c", HAND,
               [hour(4, 9), hour(4, 13.5), hour(4, 14.5), hour(5, 8)], closings(records), 1e-6)
    yield exact("the same by name", HAND, 4, sum(c.job == name for c, name in zip(
        records.closings, "abdc", strict=True)))


def early_decision() -> Iterator[Check]:
    """t takes 10 h and may travel, its buy-off 1 h. Decided at the pulse on Tuesday 06:00 the buy-off keeps the line
    until 07:00, and one hour of t is left; decided an hour before, nothing keeps it, and two are. At 1.5 times. A
    buy-off of 2 h from Monday 13:30 keeps the line until 07:00."""
    for before, lasts, expected in ((0, 1, [hour(5, 7), 60, 90]), (1, 1, [hour(5, 6), 120, 180]),
                                    (1, 2, [hour(5, 7), 60, 90])):
        packages = [work("t", 10, can_travel=True), {"id": "q", "kind": "buy-off", "hours": lasts}]
        _, records = at_work([], positions=[{"id": "P1", "packages": packages}, {"id": "P2", "packages": [
            work("e", 1)]}], launches={"takt_work_days": 1}, pulse={
                "positions": ["P1", "P2"], "travel_max_share": 1, "travel_multiplier": 1.5,
                "decide_hours_before": before})
        travel = records.travelled[0]
        yield each(f"pulse decided {before} h before, buy-off of {lasts} h: made, minutes of work left, and at their "
                   "price", HAND, expected, [records.pulses[1].made / 60, travel.before, travel.after], 1e-6)
    e = {"id": "e", "trade": "U", "hours": 1}
    for latest, third in (("P2", hour(7, 12.5)), ("P3", hour(6, 6))):  # 30 h of t: 8 a day, the last 6 on Thursday
        _, records = at_work(
            [], positions=[{"id": "P1", "packages": [work("t", 30, can_travel=True, latest_position=latest)]},
                           {"id": "P2", "packages": [e]}, {"id": "P3", "packages": [work("f", 1)]},
                           {"id": "P4", "packages": [work("g", 1)]}],
            trades={name: {"people": 1} for name in ("T", "U", "INS")}, launches={"takt_work_days": 1},
            pulse={"positions": ["P1", "P2", "P3", "P4"], "travel_max_share": 1})
        yield each(f"work that may travel up to {latest}: hours of the second and the third pulse", HAND,
                   [hour(5, 6), third], [pulse.made / 60 for pulse in records.pulses[1:3]], 1e-6)


def ties() -> Iterator[Check]:
    """S1 in D goes back once to B, S2 in A comes to it, both after an hour; each place takes an hour. By promise S2 is
    first, so S1 leaves last; by rank, or by a list of places, it may be the other way round. Of two places that the
    list does not name, without promises, the one furthest along."""
    late = [{"serial": "S1", "promised": "2027-02-02"}, {"serial": "S2", "promised": "2027-02-01"}]
    for rule, orders, expected in (
            ("promised date", late, [5, 4]), ("furthest along", late, [4, 5]), ({"places": ["D"]}, late, [4, 5]),
            ({"places": ["A"]}, late, [5, 4]), ({"places": ["C"]}, late, [5, 4]),
            ({"places": ["C"]}, [{"serial": "S1"}, {"serial": "S2"}], [4, 5])):
        _, records = run(plant(
            [place("A", 1), place("B", 1), place("C", 1), place("D", 1, back_to={"position": "B", "chance": 0})], 48,
            orders=orders, launches={"moments": []}, work_rules={"dispatch": rule},
            on_the_line=[{"serial": "S1", "at": "D"}, {"serial": "S2", "at": "A"}],
            known={"goings_back": [{"serial": "S1", "position": "D", "times": 1}]}))
        known = "promised" if len(orders[0]) > 1 else "no promise"
        yield each(f"two places of different rank, {rule}, {known}: hours of delivery", HAND, expected,
                   [records.delivered.get(n, NONE) / 60 for n in range(2)], 1e-6)


def draws_apart() -> Iterator[Check]:
    """1,500 aircraft; whether a package exists, whether its part is short, how late, and its hours are drawn apart:
    correlations are 0 with standard error n^-1/2; a late part is late by 2 work days in the mean (48 h here)."""
    count = 1500
    _, records = run(plant(
        [place("A", 0, packages=[{"id": "a", "hours": {"uniform": {"low": 1, "high": 3}}, "chance": 0.5}])], 24 * 2200,
        orders="unlimited", parts={"short_chance": 0.4, "delay_work_days": {"exponential": 2}}))
    arrived = {visit.serial: visit.arrived for visit in records.visits}
    late = {c.serial: (c.startable - arrived[c.serial]) / 60 for c in records.closings}
    hours = {c.serial: (c.closed - c.startable) / 60 for c in records.closings}
    serials = [n for n in sorted(late) if n in records.delivered]
    short = [n for n in serials if late[n] > 0]
    n_all = len(records.delivered)
    yield exact("aircraft in the runs: enough of them", HAND, 1, float(n_all >= count))
    yield within("share that has a package with chance 0.5", "binomial", 0.5, len(serials) / n_all,
                 0.5 / n_all**0.5)
    yield within("share of short parts with chance 0.4", "binomial", 0.4, len(short) / len(serials),
                 (0.24 / len(serials))**0.5)
    yield within("delay of a short part, work days", "exponential: standard deviation is the mean", 2,
                 sum(late[n] for n in short) / len(short) / 24, 2 / len(short)**0.5)
    yield within("hours of those that are short, 1 to 3", "uniform: variance 1/3", 2,
                 sum(hours[n] for n in short) / len(short), (1 / 3 / len(short))**0.5)
    yield within("hours of those that exist", "uniform: variance 1/3", 2, sum(hours[n] for n in serials) / len(serials),
                 (1 / 3 / len(serials))**0.5)
    a, b = [late[n] for n in short], [hours[n] for n in short]
    yield within("correlation of a delay with the hours", "0 with standard error n^-1/2", 0, _correlation(a, b),
                 len(a)**-0.5)


def _correlation(a: list[float], b: list[float]) -> float:
    n = len(a)
    x, y = sum(a) / n, sum(b) / n
    both = sum((p - x) * (q - y) for p, q in zip(a, b, strict=True))
    return both / (sum((p - x) ** 2 for p in a) * sum((q - y) ** 2 for q in b))**0.5


PROOFS = (Proof("pairs at mate by hand", pairs), Proof("headcount by hand", headcount),
          Proof("longer weeks by hand", longer_weeks), Proof("tools and gates by hand", tools_and_gates),
          Proof("acceptance by hand", customers), Proof("changed orders by hand", order_changes),
          Proof("hours of a place by hand", opening_hours), Proof("late items by hand", late_items),
          Proof("caps of a pilot by hand", pilots),
          Proof("packages in the order of the file", file_order),
          Proof("aircraft at the start by hand", at_the_start),
          Proof("pulse decided early by hand", early_decision), Proof("ties of places by hand", ties),
          Proof("draws of one package apart", draws_apart))
