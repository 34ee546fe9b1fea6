"""Who works on what, on the smallest plants that show it, worked by hand: crews that grow, are lent, kept for others or
cut, longer weeks and their price, a shift that comes later."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ...line.records import State
from ...measures.labour import ACCOUNT
from ...measures.ledger import Ledger
from ...measures.moment import spans_of
from ...measures.present import people_present
from ...measures.run import numbers_of
from .arithmetic import HAND
from .check import Check, each, exact, within
from .listed import Proof
from .people_there import DATES, sheet_of, there
from .rules_by_hand import NONE, SHIFT, at_work, closings, hour, work


def growth() -> Iterator[Check]:
    """F28, F31. Four people, z takes three of them until 08:00; x has the fourth from 07:00, y needs two and could
    begin at 06:00. At 08:00, least first, y gets its two and the last joins x, which has been begun: x has 10 - 1 - 4 h
    left at the meal and is done at 13:00, when its two join y: 20 - 4 - 5 - 6 h are left for four on Tuesday. Most
    first, y takes all three and has 2 h left for Tuesday, x has 3; y, startable first, takes all four until 06:30, then
    x."""
    packages = [work("z", 6, crew=3, after=[]), work("y", 20, crew_min=2, crew_max=4, after=[]),
                {"id": "h", "kind": "hold", "elapsed_hours": 1, "after": []}, work("x", 10, crew_max=4, after=["h"])]
    for share, expected in (("minimum first", [hour(4, 13), hour(5, 7.25)]),
                            ("maximum first", [hour(5, 7.25), hour(5, 6.5)])):
        _, records = at_work(packages, 4, work_rules={"share": share})
        closed = {c.job: c.closed / 60 for c in records.closings}
        yield each(f"who has begun grows first, {share}: hours of closing of x and y", HAND, expected,
                   [closed["x"], closed["y"]], 1e-6)


def no_growth() -> Iterator[Check]:
    """F27, F28. Three people, some of them on z until 08:00; a, 12 h by up to three, begins with those that are free,
    its least first or not. With two a has 8 h left at 08:00, with one 10: if crews grow it then has three, and is
    done at 11:10 and 11:50; else it keeps two until 12:30, and one over Monday: the last 4 h are done by three on
    Tuesday."""
    for others, grows, expected in ((1, True, hour(4, 10.5 + 2 / 3)), (1, False, hour(4, 12.5)),
                                    (2, True, hour(4, 10.5 + 4 / 3)), (2, False, hour(5, 6 + 4 / 3))):
        for share in ("minimum first", "maximum first"):
            packages = [work("z", 2 * others, crew=others, after=[]), work("a", 12, crew_max=3, after=[])]
            _, records = at_work(packages, 3, work_rules={"share": share, "crew_grows": grows})
            closed = {c.job: c.closed / 60 for c in records.closings}
            yield exact(f"{others} on other work, crews grow: {grows}, {share}: hours of closing", HAND, expected,
                        closed["a"], 1e-6)


def lenders() -> Iterator[Check]:
    """F33, F100. Nobody of T; L lends at full, M at half effectiveness, one person each. 3 h by one: L alone, until
    09:00; 8 h until the end of the shift, in which it is finished and not put down; 3 h by up to three: both, 1.5 h in
    an hour, until 08:00. Only who is lent is written down."""
    for hours_of, most, expected in ((3, 1, [hour(4, 9), 3, 0, 1]), (8, 1, [hour(4, 14.5), 8.5, 0, 1]),
                                     (3, 3, [hour(4, 8), 2, 2, 2])):
        _, records = at_work([work("a", hours_of, crew_max=most)], trades={
            "T": {"people": {"day": 0}, "cover": {"L": 1.0, "M": 0.5}}, "L": {"people": 1}, "M": {"people": 1},
            "INS": {"people": 1}})
        of = [s for s in records.segments if s.state == State.WORK]
        hours = [sum((s.end - s.start) * s.people for s in of if s.trade == trade) / 60 for trade in "LM"]
        yield each(f"{hours_of} h, lent to up to {most}: hours until closed, of L and M with meals, entries", HAND,
                   expected, [closings(records)[0], *hours, float(len(of))], 1e-6)


def late_before() -> Iterator[Check]:
    """F64. An aircraft that stands there on Monday 4 January was promised for Wednesday 23 December: 24, 28, 29, 30 and
    31 December are over, the 25th and 1 January are closed, so it is five work days late; on Monday 11th ten."""
    for promised, days, first in (("2026-12-23", 5, 0), ("2026-12-23", 6, 7), ("2026-12-23", 10, 7),
                                  ("2026-12-23", 11, 14), ("2027-01-03", 0, 0), ("2027-01-03", 1, 7)):
        _, records = at_work(
            [work("a", 200)], orders=[{"serial": "S1", "promised": promised}], launches={"moments": []},
            on_the_line=[{"serial": "S1", "at": "A"}],
            calendar={"closed": {"2026-12-25": "Christmas", "2027-01-01": "New Year"}},
            attendance={"overtime": {"trades": ["T"], "max_hours_per_week": 5, "trigger_work_days_late": days,
                                     "effect_by_weekly_hours": {"45": 1}}})
        yield exact(f"promised for {promised}, overtime at {days} work days late: first day with it, from Monday 4",
                    HAND, first, records.overtime[0].day if records.overtime else NONE)


def later_shift() -> Iterator[Check]:
    """F60, F106. One on the day shift; from Wednesday 6 January one in the evening, too, 15:00 to 23:00. 40 h: 8 on
    Monday and Tuesday, 16 on Wednesday, 8 on Thursday. On the first two evenings nobody of the roster is there: 16 h
    of waiting for people; the rest of the time is off shift."""
    sheet, records = at_work([work("a", 40)], shifts={"day": SHIFT, "evening": {"work": ["15:00-23:00"]}}, trades={
        "T": {"people": {"day": 1}, "headcount_steps": [{"from": "2027-01-06", "shift": "evening", "people": 1}]},
        "INS": {"people": 1}})
    waits = [span.end - span.start for span in spans_of(Ledger(sheet, records), 0) if span.state == State.PEOPLE]
    yield exact("a shift that comes on Wednesday: hours until 40 h are done", HAND, hour(7, 14.5),
                records.delivered.get(0, NONE) / 60, 1e-6)
    yield exact("the same: hours of waiting for people", HAND, 16, sum(waits) / 60, 1e-6)


def kept() -> Iterator[Check]:
    """F32, F33. T has one, whom it keeps for j, a crew of three with two of L; L has two, one of them on x until 08:00.
    i, a crew of one, so is done by the other of L, 06:00 to 10:00; j after the meal until 12:30. L keeps its own, too:
    its two free people wait for y, a crew of three, until x is done, and are not lent before: y ends at 10:00, i, a
    crew of two of L alone, begins after the meal."""
    cover = {"people": {"day": 1}, "cover": {"L": 1.0}}
    _, records = at_work([work("j", 6, crew=3, after=[]), work("i", 4, after=[]),
                          {"id": "x", "trade": "L", "hours": 2, "after": []}],
                         trades={"T": {**cover, "reserve": True}, "L": {"people": 2}, "INS": {"people": 1}})
    closed = {c.job: c.closed / 60 for c in records.closings}
    yield each("own people kept: hours of closing of i and j, hours of T on i, of L on i", HAND,
               [hour(4, 10), hour(4, 12.5), 0, 4], [closed["i"], closed["j"], *(
                   sum((s.end - s.start) * s.people for s in records.segments if s.job == "i" and s.trade == trade
                       and s.state == State.WORK) / 60 for trade in "TL")], 1e-6)
    for reserve, expected in ((True, [hour(4, 10), hour(4, 13)]), (False, [hour(4, 11), hour(4, 8.5)])):
        _, records = at_work([{"id": "x", "trade": "L", "hours": 2, "after": []},
                              {"id": "y", "trade": "L", "hours": 6, "crew": 3, "after": []},
                              work("i", 5, crew=2, after=[])],
                             trades={"T": {**cover, "people": {"day": 0}}, "L": {"people": 3, "reserve": reserve},
                                     "INS": {"people": 1}})
        closed = {c.job: c.closed / 60 for c in records.closings}
        yield each(f"lenders {'keep' if reserve else 'do not keep'} their own: hours of closing of y and i", HAND,
                   expected, [closed["y"], closed["i"]], 1e-6)


def late(promised: str = "2026-12-01", **rules: Any) -> dict[str, Any]:
    """S1 stands in A, long late: overtime from Monday 4 January on."""
    return {"orders": [{"serial": "S1", "promised": promised}], "launches": {"moments": []},
            "on_the_line": [{"serial": "S1", "at": "A"}], "attendance": {"overtime": {
                "trades": ["T"], "trigger_work_days_late": 1, "effect_by_weekly_hours": {"45": 0.9, "50": 0.8},
                **rules}}}


def tired() -> Iterator[Check]:
    """F64. The effect of a week is straight between the points of the table, 1 at 40 h and the last beyond: 42.5 h at
    0.95, 45 at 0.9, 47.5 at 0.85, 50 and 52.5 at 0.8. What five days give is closed as Friday's longer shift ends."""
    for extra, effect in ((2.5, 0.95), (5, 0.9), (7.5, 0.85), (10, 0.8), (12.5, 0.8)):
        done = (40 + extra) * effect
        _, records = at_work([work("a", done)], **late(max_hours_per_week=extra))
        yield exact(f"{done:g} h in a week of {40 + extra:g} h: hours until it is closed", HAND,
                    hour(8, 14.5 + extra / 5), closings(records)[0] if records.closings else NONE, 1e-6)


def saturdays() -> Iterator[Check]:
    """F64. The hours of the cap on Saturday, at most a whole shift: the week then has 45, 48 and 48 h, at 0.9, 0.84 and
    0.84. What such a week gives is closed on Saturday as its hours end, 11:30 with the meal, and 14:30."""
    for cap, done, ends in ((5, 45 * 0.9, 11.5), (8, 48 * 0.84, 14.5), (12, 48 * 0.84, 14.5)):
        _, records = at_work([work("a", done)], **late(max_hours_per_week=cap, when="Saturday"))
        yield exact(f"{done:g} h with at most {cap} h on Saturday: hours until it is closed", HAND, hour(9, ends),
                    closings(records)[0] if records.closings else NONE, 1e-6)
    for extra in (5, 10):
        sheet, records = at_work([work("a", 900)], **late(max_hours_per_week=extra, when="Saturday"), end="2027-01-31")
        account = numbers_of(sheet, records).labour.sum(axis=1)[0]
        found = [float(account[ACCOUNT.index(name)]) for name in ("paid", "worked")]
        yield each(f"four weeks with at most {extra} h on Saturday: hours paid and worked", HAND,
                   [4 * (40 + min(extra, 8))] * 2, found, 1e-6)


def cut() -> Iterator[Check]:
    """F30. Three on a, two stay for the hour of overtime: a, which two can do, keeps these two and is done at 15:30 on
    Monday, though b, promised earlier and startable since 07:00, waits; b is done by three on Tuesday at 08:00. Had a
    to have three, it would be put down, and b begin at once: two of 6 h are done, and a is done on Tuesday at 07:40."""
    for least, expected in ((2, [hour(4, 15.5), hour(5, 8)]), (3, [hour(5, 6 + 4 / 3 + 2 / 3), hour(5, 6 + 4 / 3)])):
        parts = late(max_hours_per_week=5, people=2, effect_by_weekly_hours={"45": 1})
        parts["orders"] += [{"serial": "S2", "promised": "2026-11-02"}]
        parts["on_the_line"] += [{"serial": "S2", "at": "B"}]
        _, records = at_work([], 3, positions=[
            {"id": "A", "packages": [work("a", 26, crew_min=least, crew_max=3)]},
            {"id": "B", "packages": [{"id": "h", "kind": "hold", "elapsed_hours": 7},
                                     work("b", 6, crew_min=2, crew_max=3)]}], **parts)
        closed = {(c.serial, c.job): c.closed / 60 for c in records.closings}
        yield each(f"two of three stay, a needs {least}: hours of closing of a and b", HAND, expected,
                   [closed.get((0, "a"), NONE), closed.get((1, "b"), NONE)], 1e-6)


def risky_hours() -> Iterator[Check]:
    """F70. 128 aircraft with 60 h each in a week of 40 + 20 h, one person each; 10 defects in 100 h, overtime hours
    count twice: (40 + 2 x 20) / 10 = 8 in the mean, all found at the gate; without the multiplier 6."""
    count = 128
    serials = [f"S{n}" for n in range(count)]
    gate = {"id": "g", "kind": "buy-off", "hours": 0, "gate": "position"}
    for times, mean in ((2.0, 8), (1.0, 6)):
        parts = late(max_hours_per_week=20, effect_by_weekly_hours={"45": 1})
        parts["orders"] = [{"serial": name, "promised": "2026-12-01"} for name in serials]
        parts["on_the_line"] = [{"serial": name, "at": "A"} for name in serials]
        _, records = at_work([], count, end="2027-01-31", positions=[
            {"id": "A", "docks": count, "packages": [work("a", 60), gate]}], quality={
                "defects_per_100_hours": 10, "repair_hours": 0, "found_in_position": 1, "overtime_multiplier": times},
            **parts)
        yield within(f"defects found on an aircraft, overtime counted {times:g} times", "Poisson", mean,
                     len(records.found) / count, (mean / count)**0.5)


def waves() -> Iterator[Check]:
    """F114. A wave of sickness of ten days begins on every date, also before the start, and doubles absence of a half:
    nobody of ten is there on any of 260 dates. Without waves half are."""
    half = {"absence": {"share": 0.5}}
    count = 10 * DATES
    for per_year, factor, expected in ((365, 2.0, 1.0), (365, 0.0, 0.0)):
        found = there(half, 10, common_luck={"sickness_waves_per_year": per_year, "sickness_wave_factor": factor,
                                             "sickness_wave_days": 10})
        yield exact(f"share absent when every day is in a wave of factor {factor:g}", HAND, expected,
                    sum(found.absent) / count)
    # a day is in a wave if one of the ten dates up to it begins one
    found = there(half, 300, common_luck={"sickness_waves_per_year": 36.5, "sickness_wave_factor": 0.0,
                                          "sickness_wave_days": 10})
    calm = [n == 0 for n in found.absent]
    yield within("share of 260 dates in a wave, ten days long, begun on one date of ten", "1 - 0.9^10; dates depend on "
                 "each other over ten days", 1 - 0.9**10, sum(calm) / DATES, 0.476 * (10 / DATES)**0.5)


def small_trades() -> Iterator[Check]:
    """F115. Trades under six people show the share of days on which 0, 1, 2 ... are there; six or more do not."""
    for people, shown in ((5, 1.0), (6, 0.0)):
        paper = people_present(sheet_of({}, people), 5, 1)[0]
        yield exact(f"{people} people: the share of days with each number is shown", HAND, shown,
                    float(paper.days_with is not None))


def who_is_first() -> Iterator[Check]:
    """F31. One person, three aircraft of two hours each at 06:00: S1 and S3 in A, startable since 00:00 and 01:00,
    promised second and first; S2 in B, further along, startable since 02:00, promised last. The order is the trade's
    own, whatever the plant's; S1 and S3 have no work in B."""
    promised = {"S1": "2027-02-10", "S2": "2027-02-20", "S3": "2027-02-01"}
    done = [hour(4, 8), hour(4, 10), hour(4, 12.5)]
    hold = {"kind": "hold", "elapsed_hours": 1}
    for rule, order in (("promised date", "312"), ("furthest along", "231"), ("first come", "132"),
                        ({"places": ["B"]}, "231"), ({"places": ["A"]}, "312")):
        _, records = at_work(
            [], trades={"T": {"people": 1, "dispatch": rule}, "INS": {"people": 1}},
            positions=[{"id": "A", "docks": 2, "packages": [{"id": "h", **hold}, work("a", 2)]},
                       {"id": "B", "docks": 3, "packages": [{"id": "k", **hold}, work("b", 2)]}],
            orders=[{"serial": name, "promised": day} for name, day in promised.items()], launches={"moments": []},
            known={"hours": [{"serial": "S1", "package": "h", "hours": 0},
                             {"serial": "S2", "package": "k", "hours": 2}],
                   "packages": [{"serial": name, "package": "b", "exists": False} for name in ("S1", "S3")]},
            on_the_line=[{"serial": name, "at": place} for name, place in zip(promised, "ABA", strict=True)])
        closed = {c.serial: c.closed / 60 for c in records.closings if c.job in "ab"}
        yield each(f"served by {rule}: hours of closing in the order S{', S'.join(order)}", HAND, done,
                   [closed.get(int(n) - 1, NONE) for n in order], 1e-6)


def begun_before() -> Iterator[Check]:
    """F31, F97. One person, S1 and S2 in A with 8 h each, without promises. The order of the book decides, unless one
    of them has been begun: S2 with 7 h left is, with all 8 left it is not."""
    for left, first, done in ((8, 0, [hour(4, 14.5), hour(5, 14.5)]), (7, 1, [hour(4, 13.5), hour(5, 13.5)])):
        _, records = at_work([], positions=[{"id": "A", "docks": 2, "packages": [work("a", 8)]}],
                             orders=[{"serial": "S1"}, {"serial": "S2"}], launches={"moments": []},
                             on_the_line=[{"serial": "S1", "at": "A"},
                                          {"serial": "S2", "at": "A", "hours_left": {"a": left}}])
        yield each(f"S2 has {left} of 8 h left: who is first, hours of closing", HAND, [first, *done],
                   [records.closings[0].serial, *closings(records)], 1e-6)


def pilots_on_the_ground() -> Iterator[Check]:
    """F84. Of two pilots the last in number takes the hours on the ground, 06:00 to 10:00, so the flight at 07:00 is
    the first one's; the next flight, at 09:00, too. At 10:30 both are free: who has flown least flies, the last. The
    hours at 12:30 are of who has flown most, the first, so the flight at 12:45 is the last one's."""
    flight = {"pilots": "P", "pilot_hours": 1.5, "flight_hours": 1}
    at = {"S0": ("AC", 0), "S1": ("FL", 7), "S2": ("FL", 9), "S3": ("FL", 10.5), "S4": ("AD", 12.5),
          "S5": ("FL", 12.75)}
    _, records = at_work([], trades={"P": {"people": 2}}, positions=[
        {"id": "FL", "docks": 9, "next": "out", "packages": [{"id": "h", "kind": "hold", "elapsed_hours": 1}],
         "flights": flight},
        {"id": "AC", "next": "out", "packages": [{"id": "c", "trade": "P", "hours": 4}]},
        {"id": "AD", "packages": [{"id": "k", "kind": "hold", "elapsed_hours": 12.5},
                                  {"id": "d", "trade": "P", "hours": 2}]}],
        orders=[{"serial": name} for name in at], launches={"moments": []},
        on_the_line=[{"serial": name, "at": where} for name, (where, _) in at.items()],
        known={"hours": [{"serial": name, "package": "h", "hours": hours} for name, (where, hours) in at.items()
                         if where == "FL"]})
    lowest = min(flight.pilot for flight in records.flights)
    yield each("hours of four flights, pilots after the first of them by number", HAND,
               [hour(4, 7), hour(4, 9), hour(4, 10.5), hour(4, 12.75), 0, 0, 1, 1], [
                   *(flight.start / 60 for flight in records.flights),
                   *(float(flight.pilot - lowest) for flight in records.flights)], 1e-6)


def sold_again_and_made() -> Iterator[Check]:
    """F64, F117. Two orders, a pulse each five work days; S2 is cancelled on Tuesday 5 January, sold again on Thursday
    and launched on the 11th, in time. No other is to come, so no later slot is ever behind: no overtime."""
    _, records = at_work(
        [], positions=[{"id": "P1", "packages": [work("a", 1)]}, {"id": "P2"},
                       {"id": "C", "docks": 9, "packages": [{"id": "c", "trade": "U", "hours": 900}]}],
        trades={"T": {"people": 1}, "U": {"people": 1}}, orders=[{"serial": "S1"}, {"serial": "S2"}],
        launches={"takt_work_days": 5}, pulse={"positions": ["P1", "P2"]}, order_changes={
            "stated": [{"date": "2027-01-05", "serial": "S2", "cancelled": True}], "resold_after_work_days": 2},
        attendance={"overtime": {"trades": ["T"], "max_hours_per_week": 5, "trigger_launches_behind_work_days": 5,
                                 "effect_by_weekly_hours": {"45": 1}}})
    yield each("sold again and launched in time: hours of the launches, weeks with overtime", HAND,
               [hour(4, 6), hour(11, 6), 0], [*(entry.made / 60 for entry in records.launches),
                                              float(len(records.overtime))], 1e-6)


def waves_of_spells() -> Iterator[Check]:
    """F114, F115. Absence of 0.4 in spells of three shifts, always in a wave that halves it: 0.2."""
    found = there({"absence": {"share": 0.4, "spell_shifts": 3}}, 100, common_luck={
        "sickness_waves_per_year": 365, "sickness_wave_factor": 0.5, "sickness_wave_days": 10})
    stays = 1 - 1 / 3 - 0.2 / (3 * 0.8)
    yield within("share absent in spells in a wave of factor 0.5", "variance of the mean of a two-state Markov chain "
                 "(textbook)", 0.2, sum(found.absent) / 100 / DATES,
                 (0.16 * (1 + stays) / (1 - stays) / 100 / DATES)**0.5)


def behind_the_plan() -> Iterator[Check]:
    """F64, F99. Slots on 4, 11, 18 and 25 January, the plan ends on the 31st, the run a month later. 8 h are done
    in time: no week is behind, also not in February, for which nothing is planned. 60 h: S2 is launched on Wednesday
    13th, S3 on Friday 22nd, each before the Monday on which its slot would be a week late; that of the 25th never is:
    overtime in the four weeks from 1 February on. 90 h: on the 18th the slot of the 11th is a week late; six weeks."""
    for hours, expected in ((8, []), (60, [28, 35, 42, 49]), (90, [14, 21, 28, 35, 42, 49])):
        _, records = at_work(
            [], positions=[{"id": "P1", "packages": [work("a", hours)]}, {"id": "P2", "packages": []},
                           {"id": "C", "docks": 9, "packages": [{"id": "c", "trade": "U", "hours": 900}]}],
            trades={"T": {"people": 1}, "U": {"people": 9}, "INS": {"people": 1}}, end="2027-01-31", run_on_months=1,
            orders=[{"serial": f"S{n}"} for n in range(9)], launches={"takt_work_days": 5},
            pulse={"positions": ["P1", "P2"]}, attendance={"overtime": {
                "trades": ["T"], "max_hours_per_week": 5, "trigger_launches_behind_work_days": 5,
                "effect_by_weekly_hours": {"45": 1}}})
        weeks = sorted({extra.day // 7 * 7 for extra in records.overtime})
        yield exact(f"{hours} h before each pulse: weeks with overtime begin on days {expected}", HAND, 1,
                    float(weeks == expected))


def risky_travel() -> Iterator[Check]:
    """F70. Two packages of 16 h, one person each, travel at the first pulse: eight hours and one of overtime on Monday,
    seven on Tuesday. Five defects an hour, travelled hours counting three times and overtime hours nine times: 2 x 5 x
    (15 x 3 + 1 x 3 x 9), all of them found at the end of the line."""
    packages = [work(f"a{n}", 16, after=[], can_travel=True) for n in range(2)]
    for travelled, overtime, hours in ((3, 9, 15 * 3 + 27), (1, 9, 15 + 9), (3, 1, 16 * 3)):
        parts = late(max_hours_per_week=5, effect_by_weekly_hours={"45": 1}) | {"launches": {"takt_work_days": 1}}
        parts["on_the_line"] = [{"serial": "S1", "at": "P1"}]
        _, records = at_work([], 10, positions=[
            {"id": "P1", "packages": packages},
            {"id": "P2", "packages": [{"id": "g", "kind": "buy-off", "hours": 0, "gate": "end of line"}]}],
            pulse={"positions": ["P1", "P2"], "travel_max_share": 1}, quality={
                "defects_per_100_hours": 500, "repair_hours": 0, "found_end_of_line": 1,
                "travelled_multiplier": travelled, "overtime_multiplier": overtime}, **parts)
        yield within(f"defects of twice 16 h, travelled {travelled} times, overtime {overtime} times", "Poisson",
                     10 * hours, len(records.found), (10 * hours)**0.5)


def pilots_at_night() -> Iterator[Check]:
    """F3, F81. A pilot from 20:00 to 04:00; three aircraft are ready on Tuesday 5 January 01:00, a flight takes 2 h.
    That of 01:00 belongs to Monday's shift; with one flight a shift, or three hours of duty, the next are at 20:00 on
    Tuesday and on Wednesday, without either both on Tuesday."""
    ready = {"id": "h", "kind": "hold", "elapsed_hours": 25}
    serials = [{"serial": f"S{n}"} for n in range(3)]
    for caps, last in (({}, hour(5, 22)), ({"max_flights_per_day": 1}, hour(6, 20)),
                       ({"max_duty_hours": 3}, hour(6, 20))):
        _, records = at_work([], positions=[{"id": "FL", "docks": 3, "packages": [ready], "flights": {
            "pilots": "P", "pilot_hours": 2, "flight_hours": 1, **caps}}], launches={"moments": []}, orders=serials,
            shifts={"day": SHIFT, "night": {"work": ["20:00-04:00"]}}, trades={"P": {"people": {"night": 1}}},
            on_the_line=[{**one, "at": "FL"} for one in serials])
        yield each(f"a pilot's nights, {' '.join(caps) or 'no cap'}: hours of three flights", HAND,
                   [hour(5, 1), hour(5, 20), last], [flight.start / 60 for flight in records.flights], 1e-6)


PROOFS = (Proof("who grows first by hand", growth), Proof("two lenders by hand", lenders),
          Proof("crews that do not grow by hand", no_growth),
          Proof("people kept by hand", kept), Proof("late before the start by hand", late_before),
          Proof("a shift that comes later by hand", later_shift), Proof("weekly hours and their price", tired),
          Proof("Saturdays by hand", saturdays),
          Proof("crews cut by hand", cut), Proof("defects of overtime hours", risky_hours),
          Proof("waves of sickness", waves),
          Proof("small trades by hand", small_trades), Proof("who is served first by hand", who_is_first),
          Proof("behind the plan by hand", behind_the_plan),
          Proof("defects of travelled hours", risky_travel), Proof("begun before by hand", begun_before),
          Proof("pilots on the ground by hand", pilots_on_the_ground),
          Proof("pilots at night by hand", pilots_at_night),
          Proof("sold again and launched by hand", sold_again_and_made), Proof("waves of spells", waves_of_spells))
