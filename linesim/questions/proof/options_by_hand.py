"""Rules and options of the floor that meet seldom, on the smallest plants that show them, worked by hand: moves in
working time, slots that pass, halves, locks and holds at odd moments, launches under the cap, docks by their number."""

from __future__ import annotations

from collections.abc import Iterator

from ...line.records import State
from ...measures.moment import floor_of
from .arithmetic import HAND
from .check import Check, each, exact, within
from .listed import Proof
from .plants import place, plant, run
from .rules_by_hand import NONE, at_work, closings, hour, work


def moves_by_day() -> Iterator[Check]:
    """F12. A holds for 4 h from Monday 06:00, into the meal; B for 10 h. A second launch is planned for Tuesday 02:00.
    Day and night everything moves at once; in working time of the reference shift after the meal and in the morning; a
    move of an hour from 10:30 ends at 11:30, one from Tuesday 06:00 at 07:00, and B, left in that instant, is on hold
    from 11:30 to 21:30."""
    places = [{"id": name, "packages": [{"id": name.lower(), "kind": "hold", "elapsed_hours": hours}]}
              for name, hours in (("A", 4), ("B", 10), ("C", 1))]
    for name, rules, expected in (
            ("day and night", {}, [hour(4, 10), hour(4, 20), hour(5, 2)]),
            ("in working time", {"moves": "reference shift"}, [hour(4, 10.5), hour(5, 6), hour(5, 6)]),
            ("in working time, an hour each", {"moves": "reference shift", "move_minutes": 60},
             [hour(4, 11.5), hour(5, 7), hour(5, 6)])):
        _, records = at_work([], positions=places, orders=[{"serial": "S1"}, {"serial": "S2"}], work_rules=rules,
                             launches={"moments": ["2027-01-04 06:00", "2027-01-05 02:00"]})
        left = {(v.serial, v.place): v.left / 60 for v in records.visits}
        made = {entry.serial: entry.made / 60 for entry in records.launches}
        yield each(f"moves {name}: hours at which S1 leaves A and B, S2 is launched", HAND, expected,
                   [left[0, 0], left[0, 1], made[1]], 1e-6)


def passed_slots() -> Iterator[Check]:
    """F117. A slot each work day from Monday 4 January, 40 h of S1 keep the place until Friday 14:30. Orders are
    cancelled on Friday: of the three slots that are owed those that are left take the first, the others pass, and so
    does every slot until the orders are sold again four work days later, from Thursday 14th on."""
    for gone, planned, made in (
            ((3,), [4, 5, 6, 7, 14], [hour(4, 6), hour(8, 14.5), hour(11, 14.5), hour(12, 14.5), hour(14, 6)]),
            ((3, 4), [4, 5, 6, 14, 15], [hour(4, 6), hour(8, 14.5), hour(11, 14.5), hour(14, 6), hour(15, 6)]),
            ((2, 3, 4), [4, 5, 14, 15, 18], [hour(4, 6), hour(8, 14.5), hour(14, 6), hour(15, 6), hour(18, 6)])):
        _, records = at_work(
            [work("a", 8)], orders=[{"serial": f"S{n}"} for n in range(1, 6)], launches={"takt_work_days": 1},
            known={"hours": [{"serial": "S1", "package": "a", "hours": 40}]}, order_changes={
                "resold_after_work_days": 4,
                "stated": [{"date": "2027-01-08", "serial": f"S{n}", "cancelled": True} for n in gone]})
        order = [0, *(n - 1 for n in (2, 3, 4, 5) if n not in gone), *(n - 1 for n in gone)]
        slots, launched = dict(records.planned), {entry.serial: entry.made for entry in records.launches}
        yield each(f"{len(gone)} orders cancelled: hours of the slots of S1, those left and those sold again", HAND,
                   [hour(day, 6) for day in planned], [slots.get(n, NONE) / 60 for n in order], 1e-6)
        yield each(f"{len(gone)} orders cancelled: hours at which they are launched, and number of slots", HAND,
                   [*made, 5], [*(launched.get(n, NONE) / 60 for n in order), float(len(records.planned))], 1e-6)


def halves_on_the_pulse() -> Iterator[Check]:
    """F21, F43. The wing is done on Monday at 10:00, the fuselage with 12 h on Tuesday at 10:00, after the pulse was
    due: both go to mate then, as one aircraft, whoever may move on while the line stands. The wing waits for the other
    half for 24 hours."""
    for stops in ("whole line", "those behind"):
        _, records = at_work([], positions=[
            {"id": "F", "half": "fuselage", "next": "M", "packages": [work("f", 12)]},
            {"id": "W", "half": "wing", "next": "M", "packages": [{"id": "w", "trade": "U", "hours": 4}]},
            {"id": "M", "packages": [{"id": "m", "hours": 1}]}], launches={"takt_work_days": 1},
            trades={name: {"people": 1} for name in ("T", "U", "INS")},
            pulse={"positions": ["F", "W", "M"], "stops": stops})
        left = {v.place: v.left / 60 for v in records.visits}
        waits = sum(s.end - s.start for s in records.segments if s.half == "wing" and s.state == State.OTHER_HALF) / 60
        yield each(f"halves on a pulse line, {stops} stands: hours at which both leave, aircraft at mate, hours waited",
                   HAND, [hour(5, 10), hour(5, 10), 1, 24],
                   [left[0], left[1], sum(v.place == 2 for v in (*records.visits, *records.unfinished)), waits], 1e-6)


def behind_a_gap() -> Iterator[Check]:
    """F43, F45. S1 stands in P3 with 20 h of work when the pulse is due on Monday at 06:00, S2 in P1 has none, P2 is
    empty. Who is behind S1 stands, too, however far: both go on Wednesday at 10:00. P3 is left when S1 is closed, or
    only on the pulse: then both go with it, at the same hour, S1 having waited for no other."""
    for rules in ({"stops": "whole line"}, {"stops": "those behind"},
                  {"stops": "those behind", "roll_out": "on the pulse"}):
        _, records = at_work([], positions=[{"id": "P1"}, {"id": "P2"}, {"id": "P3", "packages": [work("a", 20)]}],
                             orders=[{"serial": "S1"}, {"serial": "S2"}], launches={"takt_work_days": 9},
                             on_the_line=[{"serial": "S1", "at": "P3"}, {"serial": "S2", "at": "P1"}],
                             pulse={"positions": ["P1", "P2", "P3"], **rules})
        left = {(v.serial, v.place): v.left / 60 for v in records.visits}
        yield each(f"a gap behind who hinders, {rules}: hours at which S1 leaves P3, S2 P1", HAND,
                   [hour(6, 10), hour(6, 10)], [left.get((0, 2), NONE), left.get((1, 0), NONE)], 1e-6)


def rolled_out() -> Iterator[Check]:
    """F45. Pulses at 06:00 from Monday 4 January on, an hour's work in P1 and P2: S1 comes to P2 on Tuesday, and leaves
    it at 07:00, when it is closed, or with the pulse on Wednesday; is it the last place, it is delivered then, else it
    is in C for an hour."""
    for rule, place_after, expected in (("when closed", [], hour(5, 7)), ("on the pulse", [], hour(6, 6)),
                                        ("when closed", ["C"], hour(5, 8)), ("on the pulse", ["C"], hour(6, 7))):
        _, records = at_work([], positions=[{"id": name, "packages": [work(name.lower(), 1)]}
                                            for name in ("P1", "P2", *place_after)], launches={"takt_work_days": 1},
                             pulse={"positions": ["P1", "P2"], "roll_out": rule})
        yield exact(f"rolled out {rule}{', then C' if place_after else ''}: hours until delivery", HAND, expected,
                    records.delivered.get(0, NONE) / 60, 1e-6)


def full_beyond() -> Iterator[Check]:
    """F43, F45. A pulse each work day from Monday 4 January; no work on the line, 20 h in C, one dock: S1 is in it from
    Tuesday 06:00 to Thursday 10:00, or from Wednesday to Friday where P2 is left on the pulse only. S2, closed in P2
    for a day by then, cannot leave, so the fourth pulse is made at 10:00: S2 goes to C, and S4 is launched."""
    for rule, day in (("when closed", 7), ("on the pulse", 8)):
        _, records = at_work([], positions=[{"id": "P1"}, {"id": "P2"}, {"id": "C", "packages": [work("c", 20)]}],
                             orders=[{"serial": f"S{n}"} for n in range(1, 7)], launches={"takt_work_days": 1},
                             pulse={"positions": ["P1", "P2"], "roll_out": rule})
        left = {(v.serial, v.place): v.left / 60 for v in records.visits}
        yield each(f"a full place beyond, left {rule}: hours of four pulses, S2 leaves P2, S4 is launched", HAND,
                   [hour(4, 6), hour(5, 6), hour(6, 6), *[hour(day, 10)] * 3], [
                       *(pulse.made / 60 for pulse in records.pulses[:4]), left[1, 1], records.launches[3].made / 60],
                   1e-6)


def wings_change() -> Iterator[Check]:
    """F20, F31. T is on S0 until 08:00. The fuselage of S1, promised first, is ready at 07:00 and takes the wing of S2,
    which has no work; the wing that was S1's is S2's now, promised last. So T does x of S3 first, until 10:00, then
    that wing, from 10:30 to 14:30. If wings belong to their serial from the launch on, the wing of S1 is first, and x
    is done after it, at 14:30."""
    for pairing, expected in (("any of model", [hour(4, 10), hour(4, 14.5)]),
                              ("by serial", [hour(4, 14.5), hour(4, 12.5)])):
        _, records = at_work([], work_rules={"pairing": pairing}, positions=[
            {"id": "F", "half": "fuselage", "docks": 2, "next": "M", "packages": [
                {"id": "f", "kind": "hold", "elapsed_hours": 1}]},
            {"id": "W", "half": "wing", "docks": 2, "next": "M", "packages": [work("w", 4)]},
            {"id": "M", "docks": 2, "next": "out"}, {"id": "X", "docks": 2, "packages": [work("x", 2)]}],
            orders=[{"serial": "S0", "promised": "2027-01-30"}, {"serial": "S3", "promised": "2027-02-10"},
                    {"serial": "S1", "promised": "2027-02-01"}, {"serial": "S2", "promised": "2027-02-20"}],
            launches={"moments": ["2027-01-04 06:00"] * 2},
            on_the_line=[{"serial": name, "at": "X"} for name in ("S0", "S3")],
            known={"packages": [{"serial": "S2", "package": "w", "exists": False}],
                   "hours": [{"serial": "S2", "package": "f", "hours": 99}]})
        x = max(c.closed for c in records.closings if c.job == "x") / 60
        yield each(f"wings {pairing}: hours at which S3's x and the wing with work are closed", HAND, expected,
                   [x, *(c.closed / 60 for c in records.closings if c.job == "w")], 1e-6)


def halves_under_the_cap() -> Iterator[Check]:
    """F113, F21. Halves are one aircraft, and none when they have left: with at most two from launch to mate a pulse a
    day, of an hour's work in each place, is launched each day, from Monday 4 January; with at most one each second."""
    for most, days in ((2, [4, 5, 6, 7]), (1, [4, 6, 8, 12])):
        _, records = at_work([], positions=[
            {"id": "F", "half": "fuselage", "next": "M", "packages": [{"id": "f", "hours": 1}]},
            {"id": "W", "half": "wing", "next": "M", "packages": [{"id": "w", "hours": 1}]},
            {"id": "M", "packages": [{"id": "m", "hours": 1}]}, {"id": "C", "docks": 9}],
            orders=[{"serial": f"S{n}"} for n in range(4)], pulse={"positions": ["F", "W", "M"]},
            launches={"takt_work_days": 1, "most_on_line": most, "most_on_line_until": "M"})
        yield each(f"halves on a pulse line, at most {most} to mate: hours of four launches", HAND,
                   [hour(day, 6) for day in days], [entry.made / 60 for entry in records.launches], 1e-6)


def own_buy_off() -> Iterator[Check]:
    """F46, F48. 8 h of work are done on Monday, its own buy-off of 2 h is not: with a limit of 0 hours it travels, and
    its buy-off with it, at the pulse on Tuesday at 06:00; the buy-off ends in the next place at 08:00. An hour of work
    more keeps the line until 07:00."""
    for hours, made, closed in ((8, hour(5, 6), hour(5, 8)), (9, hour(5, 7), hour(5, 9))):
        _, records = at_work([], positions=[
            {"id": "P1", "packages": [work("a", hours, inspection_hours=2, can_travel=True)]},
            {"id": "P2", "packages": []}, {"id": "P3", "packages": []}], launches={"takt_work_days": 1},
            pulse={"positions": ["P1", "P2", "P3"], "travel_max_share": 0})
        yield each(f"{hours} h and their buy-off, limit 0: hours of the pulse and of closing", HAND, [made, closed],
                   [records.pulses[1].made / 60, *closings(records)], 1e-6)


def tries() -> Iterator[Check]:
    """F93, F94. An acceptance refused twice: three slots, three delivery works, repeats 0, 1 and 2."""
    _, records = at_work([], positions=[{"id": "AC", "acceptance": {"delivery_trade": "T", "delivery_hours": 4}}],
                         known={"refusals": [{"serial": "S1", "times": 2}]})
    yield each("delivery works of an acceptance that is refused twice: their repeats", HAND, [0, 1, 2],
               [c.repeat for c in records.closings])


def bad_hours() -> Iterator[Check]:
    """F81, F120. A flight of 2 h with 1 h in the air could begin at 06:00; the hours named cannot be flown. It begins
    half an hour before the first good hour: after one bad hour, after three of them on end, between two."""
    for hours, begins in (((), 6), ((6,), 6.5), ((6, 7, 8), 8.5), ((6, 8), 6.5), ((6, 7, 9), 7.5)):
        _, records = at_work([], trades={"P": {"people": 1}}, positions=[
            {"id": "FL", "flights": {"pilots": "P", "pilot_hours": 2, "flight_hours": 1}}], known={"flyable": [
                {"date": "2027-01-04", "hour": n, "flyable": False} for n in hours]})
        yield exact(f"hours {hours} cannot be flown: hours until the flight begins", HAND, hour(4, begins),
                    records.flights[0].start / 60, 1e-6)


def full_bay() -> Iterator[Check]:
    """F77. Each aircraft takes 9 h in the booth and 10 h to cure in the one bay. S1 leaves the booth at 9, S2 is ready
    at 18 and keeps the booth until the bay is free at 19: S3 comes to the booth then, to the bay at 29."""
    _, records = run(plant([{"id": "PB", "cure_bays": 1, "packages": [
        {"id": "p", "hours": 9, "cure_hours": 10}]}], 72, orders=[{"serial": f"S{n}"} for n in range(3)]))
    yield each("hours at which three aircraft leave the booth and the bay", HAND, [9, 19, 19, 29, 29, 39],
               [v.left / 60 for v in sorted(records.visits, key=lambda v: (v.serial, v.arrived))], 1e-6)


def short_delay() -> Iterator[Check]:
    """F56. A part that is late by half a minute, or by none, at the first instant of the run: an hour of work is done
    half a minute, or nothing, after its time."""
    for minutes in (0.5, 0.0):
        _, records = run(plant([place("A", 1)], 24, orders=[{"serial": "S1"}], known={"late_parts": [
            {"serial": "S1", "package": "A work", "work_days": minutes / 1440}]}))
        yield exact(f"a part late by {minutes:g} minutes: minutes until it is closed", HAND, 60 + minutes,
                    records.delivered[0], 1e-5)


def changed_by_chance() -> Iterator[Check]:
    """F117. 100 orders wait for their launch on the firsts of twelve months. Those put off or swapped with the next in
    the book are so with the chance of a month each time (the last one has a next only if the one before it has just
    been swapped with it); of those cancelled and built for stock 0.9^12 are left."""
    count, months = 100, 12
    for name, what, chance, mean, variance in (
            ("defer", "deferred", 0.2, months * count * 0.2, months * count * 0.16),
            ("swap", "swapped", 0.3, months * (count - 1 + 0.3) * 0.3, months * count * 0.21),
            ("cancel", "cancelled", 0.1, count * (1 - 0.9**12), count * 0.9**12 * (1 - 0.9**12))):
        _, records = at_work([], positions=[{"id": "A"}], start="2027-01-01", end="2027-12-31",
                             orders=[{"serial": f"S{n}"} for n in range(count)],
                             launches={"takt_work_days": 1, "first": "2027-12-30 06:00"},
                             order_changes={f"{name}_chance": chance, "cancelled": "built for stock"})
        yield within(f"orders {what}, of {count} in {months} months", "binomial", mean, sum(
            change.what == what for change in records.order_changes), variance**0.5)
    _, records = at_work([], positions=[{"id": "A"}], start="2027-01-01", end="2027-03-01", orders=[
        {"serial": f"S{n}"} for n in range(5)], launches={"takt_work_days": 1, "first": "2027-03-01 06:00"},
        order_changes={"defer_chance": 1})
    yield exact("five orders put off on every first of a month, the last of them the last day", HAND, 5 * 3,
                len(records.order_changes))


def out_of_order() -> Iterator[Check]:
    """F78. A place that works for 10 h and stands for 2, round the clock: 30 h of work are done at 10 + 12 + 12, 25 h
    at 29. On three work days of ten the climate is out: of the year's work days 0.7 are worked."""
    for hours, expected in ((30, 34), (25, 29), (10, 10)):
        _, records = run(plant([place("A", hours, out_of_service={"hours_up": 10, "hours_down": 2})], 96,
                               orders=[{"serial": "S1"}]))
        yield exact(f"{hours} h of work, ten hours up and two down: hours until closed", HAND, expected,
                    records.delivered.get(0, NONE) / 60, 1e-6)
    _, records = at_work([], end="2028-01-02", positions=[
        {"id": "A", "packages": [work("a", 4000)], "out_of_service": {"climate_share": 0.3}}])
    worked = {int(s.start // 1440) for s in records.segments if s.state == State.WORK}
    yield within("share of 260 work days that are worked, three of ten out of climate", "binomial", 0.7,
                 len(worked) / 260, (0.21 / 260)**0.5)


def done_before() -> Iterator[Check]:
    """F97. b follows a, 4 h each; what is named as done is done, and not done again when what it follows is."""
    for done, expected in (([], hour(4, 14.5)), (["a"], hour(4, 10)), (["b"], hour(4, 10)), (["a", "b"], 0.0)):
        _, records = at_work([work("a", 4), work("b", 4)], launches={"moments": []},
                             on_the_line=[{"serial": "S1", "at": "A", "packages_done": done}])
        yield exact(f"done at the start: {done}; hours until delivery", HAND, expected,
                    records.delivered.get(0, NONE) / 60, 1e-6)


def let_go_in_time() -> Iterator[Check]:
    """F47, F44. The plan is kept: pulses on Monday 4 and Thursday 14 January, the next on Tuesday 26th. Work that may
    travel is let go four working hours before a pulse and so frees its buy-off, on Wednesday 13th at 10:30. S2, in P1
    from the 14th, is not let go before Monday 25th, also if the run ends on the 15th."""
    for last, expected in (("2027-01-15", [hour(13, 11.5)]), ("2027-01-25", [hour(13, 11.5), hour(25, 11.5)])):
        _, records = at_work([], end=last, positions=[
            {"id": "P1", "packages": [work("t", 200, can_travel=True), {"id": "q", "kind": "buy-off", "hours": 1}]},
            {"id": "P2", "packages": []}], orders=[{"serial": f"S{n}"} for n in range(3)],
            launches={"takt_work_days": 8}, pulse={
                "positions": ["P1", "P2"], "travel_max_share": 1, "decide_hours_before": 4,
                "after_stop": "keep the plan"})
        got = [c.closed / 60 for c in records.closings if c.job == "q"]
        yield each(f"buy-offs of work let go, the run ends on {last}: hours of closing", HAND, expected, got, 1e-6)


def stated_locks() -> Iterator[Check]:
    """F67, F120. 4 h of work from 00:00 on, round the clock: a lock from the evening before until 05:00 begins with the
    run, one from 02:00 to 05:00 leaves two hours for after it, one that was over before the start is no more."""
    for since, until, expected in (("2026-12-30 20:00", "2026-12-31 05:00", 4),
                                   ("2026-12-31 20:00", "2027-01-01 05:00", 9),
                                   ("2027-01-01 02:00", "2027-01-01 05:00", 7)):
        _, records = run(plant([place("A", 4)], 48, orders=[{"serial": "S1"}], launches={"moments": []},
                               on_the_line=[{"serial": "S1", "at": "A"}],
                               known={"tool_locks": [{"serial": "S1", "from": since, "to": until}]}))
        yield exact(f"locked from {since}: hours until it is closed", HAND, expected,
                    records.delivered.get(0, NONE) / 60, 1e-6)


def locked_outside() -> Iterator[Check]:
    """F11, F67. S1 and S2 come from A, 1 h each, S2 is parked before B, which S1 leaves at 5; S2 is locked from 3 to 8
    and moves in then, or S3, parked behind it and free to move, enters before it and S2 at 9."""
    for serials, expected in ((2, [5, 12]), (3, [5, 13, 9])):
        _, records = run(plant([place("A", 1), place("B", 4, parking=2)], 48,
                               orders=[{"serial": f"S{n}"} for n in range(1, serials + 1)], known={"tool_locks": [
                                   {"serial": "S2", "from": "2027-01-01 03:00", "to": "2027-01-01 08:00"}]}))
        yield each(f"one of {serials - 1} parked aircraft is locked: hours of delivery", HAND, expected,
                   [records.delivered.get(n, NONE) / 60 for n in range(serials)], 1e-6)


def owed_under_the_cap() -> Iterator[Check]:
    """F113, F117. At most one aircraft up to P2, a pulse each work day: S2 is owed since Tuesday 5 January and launched
    on Wednesday, late by a day; S3 since Thursday, launched on Friday. If the order of S2, the last, is cancelled on
    Wednesday its slot passes; sold again on Tuesday 12th, it is planned and launched with that day's pulse."""
    gone = {"stated": [{"date": "2027-01-06", "serial": "S2", "cancelled": True}], "resold_after_work_days": 4}
    for name, count, changes, planned, made in (("S3 behind it", 3, {}, [4, 5, 7], [4, 6, 8]),
                                                ("cancelled", 2, gone, [4, 12], [4, 12])):
        _, records = at_work(
            [], positions=[{"id": f"P{n}", "packages": [{"id": f"p{n}", "hours": 1}]} for n in (1, 2)],
            orders=[{"serial": f"S{n}"} for n in range(1, count + 1)], pulse={"positions": ["P1", "P2"]},
            launches={"takt_work_days": 1, "most_on_line": 1, "most_on_line_until": "P2"}, order_changes=changes)
        launched = [(entry.planned / 60, entry.made / 60) for entry in records.launches]
        yield each(f"owed under the cap, {name}: hours at which slots are planned, launches planned and made", HAND,
                   [hour(day, 6) for day in (*planned, *planned, *made)],
                   [*(at / 60 for _, at in records.planned), *(at for at, _ in launched),
                    *(at for _, at in launched)], 1e-6)


def stock_names() -> Iterator[Check]:
    """F117. Slots without an order are built for stock: the serials go on after the last of the book, their width kept;
    without any order they begin at 1."""
    for name, orders, expected in (("DN-0098, DN-0099", ["DN-0098", "DN-0099"], ["DN-0098", "DN-0099", "DN-0100"]),
                                   ("none", [], ["stock-1", "stock-2", "stock-3"])):
        sheet, records = run(plant([place("A", 30, 3)], 48, orders=[{"serial": serial} for serial in orders],
                                   stock={"unsold_slots": "build"}))
        there = sorted(one.serial for one in floor_of(sheet, records).at(60.0))
        yield exact(f"orders: {name}; serials of three aircraft on the floor are {expected}", HAND, 1,
                    float(there == expected))


def held_on_the_way() -> Iterator[Check]:
    """F12, F116. Halves are closed at 23:00, 4 h of work wait at mate; a fleet hold from 00:00 with an inspection of 2
    h. Moved in no time, mate has an hour behind it at midnight and is done at 05:00. Moved in two hours, the move ends
    at 01:00, work begins after the inspection, at 02:00, and is done at 06:00; with a hold a day later at 05:00."""
    for minutes, held, expected in ((0, 2, 29), (120, 2, 30), (120, 3, 29)):
        _, records = run(plant(
            [place("F", 23, half="fuselage", next="M"), place("W", 23, half="wing", next="M"), place("M", 4)], 72,
            trades={"INS": {"people": 1}}, orders=[{"serial": "S1"}], work_rules={"move_minutes": minutes},
            fleet_holds=[{"from": f"2027-01-{held:02d}", "serials": ["S1"], "hours": 2}]))
        yield exact(f"moved to mate in {minutes} minutes, held from 2027-01-{held:02d}: hours until delivery", HAND,
                    expected, records.delivered.get(0, NONE) / 60, 1e-6)


def cut_short() -> Iterator[Check]:
    """F85, F99. A flight of 3 h begins at 22:00 in a night shift: if the run ends at midnight it is under way, nothing
    is written up and nothing delivered; a day later its two squawks, 1 and 2 h in the shift, are fixed at 04:00."""
    for last, expected in (("2027-01-04", [1, 0, NONE]), ("2027-01-05", [1, 2, hour(5, 4)])):
        _, records = at_work([], end=last, shifts={"night": {"work": ["20:00-04:00"]}}, trades={
            "P": {"people": 1}, "T": {"people": 2}}, positions=[
                {"id": "FL", "packages": [{"id": "h", "kind": "hold", "elapsed_hours": 16}], "flights": {
                    "pilots": "P", "pilot_hours": 3, "flight_hours": 1}}], known={"squawks": [
                        {"serial": "S1", "flight": 1, "squawks": [{"trade": "T", "hours": n} for n in (1, 3)]}]})
        got = [len(records.flights), sum(flight.squawks for flight in records.flights)]
        yield each(f"a flight from 22:00, the run ends on {last}: flights, squawks, delivered", HAND,
                   [*expected[:2], float(last[-1] == "5")], [*got, len(records.delivered)])
        if records.delivered:
            yield exact("the same: hours until delivery", HAND, expected[2], records.delivered[0] / 60, 1e-6)


PROOFS = (Proof("moves in working time by hand", moves_by_day), Proof("slots that pass by hand", passed_slots),
          Proof("stated locks by hand", stated_locks),
          Proof("names of stock by hand", stock_names),
          Proof("held on the way to mate", held_on_the_way), Proof("a flight under way at the end", cut_short),
          Proof("locked outside by hand", locked_outside), Proof("owed under the cap by hand", owed_under_the_cap),
          Proof("halves on a pulse line by hand", halves_on_the_pulse),
          Proof("halves under the cap by hand", halves_under_the_cap),
          Proof("behind a gap by hand", behind_a_gap), Proof("a full place beyond by hand", full_beyond),
          Proof("wings that change by hand", wings_change), Proof("rolled out by hand", rolled_out),
          Proof("let go in time by hand", let_go_in_time), Proof("own buy-off travels by hand", own_buy_off),
          Proof("tries of an acceptance by hand", tries),
          Proof("bad hours by hand", bad_hours), Proof("a full cure bay by hand", full_bay),
          Proof("a part late by half a minute", short_delay), Proof("orders changed by chance", changed_by_chance),
          Proof("out of service by hand", out_of_order), Proof("done before the start by hand", done_before))
