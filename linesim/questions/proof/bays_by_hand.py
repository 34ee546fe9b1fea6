"""Rules of the floor on the smallest plants, worked by hand: paint in bays, what is never done or flown, caps and stops
of a pulse line, orders put off, the first jam, bad times of suppliers, the level of squawks in a quarter."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ...line.records import State
from ...measures.moment import first_jam, floor_of
from .arithmetic import HAND
from .check import Check, each, exact, within
from .listed import Proof
from .plants import plant, run
from .rules_by_hand import NONE, at_work, closings, hour, work


def bays() -> Iterator[Check]:
    """Two steps of 2 h in the booth, cured for 5 and 10 h, round the clock, two aircraft from 00:00. In the booth all
    the while: 19 h each. With a cure bay the booth is free after the last step, at 9; the second is there at 18 and
    waits for the bay until 19. With a stripe bay for the second step the booth is free at 7."""
    both = {"cure_bays": 1, "stripe_bays": 1}
    for name, more, stripe, expected in (
            ("none", {}, False, [19, 38]), ("a cure bay", {"cure_bays": 1}, False, [19, 29]),
            ("a stripe bay", {"stripe_bays": 1}, True, [19, 31]), ("both", both, True, [19, 29])):
        steps: list[dict[str, Any]] = [{"id": "p", "hours": 2, "cure_hours": 5},
                                       {"id": "q", "hours": 2, "cure_hours": 10, "stripe": stripe}]
        _, records = run(plant([{"id": "PB", "packages": steps, **more}], 60,
                               orders=[{"serial": "S1"}, {"serial": "S2"}]))
        yield each(f"paint with {name}: hours at which two aircraft leave", HAND, expected,
                   [records.delivered.get(n, NONE) / 60 for n in range(2)], 1e-6)


def never() -> Iterator[Check]:
    """A trade of nobody, a crew of three where two are, a place that opens when nobody is there: each is said, from the
    instant at which the work waits; with enough people nothing is."""
    shifts = {"day": {"work": ["06:00-14:00"]}, "night": {"work": ["20:00-23:00"]}}
    for name, people, parts, told in (
            ("nobody", 0, {}, "nobody of trade T is ever on duty"),
            ("a crew of three of two", 2, {"crew": 3}, "a needs 3 of trade T; at most 2 are ever on duty"),
            ("a place open at night", 2, {}, "A is never open while trade T works"), ("enough people", 3, {}, "")):
        position = {"id": "A", "packages": [work("a", 4, **parts)]}
        if "night" in name:
            position["shifts"] = ["night"]
        _, records = at_work([], people, positions=[position], shifts=shifts)
        yield exact(f"{name}: what is said of work that is never done", HAND, 1,
                    float([stuck.why for stuck in records.stuck] == ([told] if told else [])))
        yield each(f"{name}: since when, and deliveries", HAND, [hour(4, 6) if told else 0, 0 if told else 1],
                   [records.stuck[0].since / 60 if records.stuck else 0, len(records.delivered)], 1e-6)


def never_flown() -> Iterator[Check]:
    """A flight of three hours: no pilot on the roster, a pilot for two hours a day, and one for eight."""
    shifts = {"day": {"work": ["06:00-14:00"]}, "short": {"work": ["08:00-10:00"]}}
    for name, people, told in (
            ("no pilot", {"day": 0}, "nobody of trade P is ever on duty"),
            ("two hours", {"short": 1}, "a flight takes 3 hours; no shift of trade P is that long"),
            ("eight hours", {"day": 1}, "")):
        _, records = at_work([], positions=[{"id": "FL", "flights": {
            "pilots": "P", "pilot_hours": 3, "flight_hours": 1}}], shifts=shifts, trades={"P": {"people": people}})
        yield exact(f"a pilot for {name}: what is said of a flight that is never made", HAND, 1,
                    float([stuck.why for stuck in records.stuck] == ([told] if told else [])))


def squawk_level() -> Iterator[Check]:
    """A flight every ten days, four squawks in the mean, in 16 runs of a year: the level of a quarter has mean 1 and
    spread 0.5, drawn once for all of it."""
    counts: list[list[int]] = []
    for number in range(16):
        _, records = run(plant([{"id": "FL", "docks": 40, "flights": {
            "pilots": "P", "pilot_hours": 1, "flight_hours": 1, "squawks": {
                "mean_by_flight": [4], "fix_hours": 0, "trades": {"P": 1}}}}], 24 * 360, trades={"P": {"people": 40}},
            launches={"between_hours": 240}, common_luck={"squawk_level_cv": 0.5}), number)
        quarters: list[list[int]] = [[], [], [], []]
        for flight in records.flights:
            quarters[min(int(flight.start // (1440 * 91)), 3)].append(flight.squawks)
        counts += [of for of in quarters if of]
    means = [sum(of) / len(of) for of in counts]
    flights = sum(map(len, counts))
    yield within("squawks of a flight in the mean of 64 quarters", "lognormal level of mean 1 and cv 0.5; Poisson", 4,
                 sum(map(sum, counts)) / flights, 4 * (0.25 / len(means) + 0.25 / flights) ** 0.5)
    level = (sum((mean - 4) ** 2 for mean in means) / len(means) - 4 / (flights / len(means))) ** 0.5 / 4
    yield within("spread of the level of a quarter", "moments of a lognormal with cv 0.5", 0.5, level, 0.09)


def capped_pulse() -> Iterator[Check]:
    """Pulses on Monday to Friday at 06:00. P3 is beyond the cap. With at most one aircraft up to P2 S2 is launched when
    S1 has left P2, two pulses later; with two, one pulse later, and S3 two after S1."""
    e = {"hours": 1}
    for most, expected in ((1, [4, 6, 8]), (2, [4, 5, 6]), (None, [4, 5, 6])):
        _, records = at_work(
            [], positions=[{"id": name, "packages": [{"id": name.lower(), **e}]} for name in ("P1", "P2", "P3")],
            orders=[{"serial": f"S{n}"} for n in (1, 2, 3)],
            launches={"takt_work_days": 1, **({"most_on_line": most, "most_on_line_until": "P2"} if most else {})},
            pulse={"positions": ["P1", "P2", "P3"]})
        made = {entry.serial: entry.made / 60 for entry in records.launches}
        yield each(f"at most {most} on a pulse line up to P2: hours of three launches", HAND,
                   [hour(day, 6) for day in expected], [made.get(n, NONE) for n in range(3)], 1e-6)


def those_behind() -> Iterator[Check]:
    """On Tuesday S2 comes to P1 with 12 h of work: it is done on Wednesday at 10:00, the pulse is due at 06:00. The
    whole line stands until then; or S1, ahead of it in P2, moves at 06:00. The next pulse is a work day later, Thursday
    10:30 after the meal."""
    for stops, ahead, stood in (("whole line", hour(6, 10), 4.0), ("those behind", hour(6, 6), 0.0)):
        _, records = at_work(
            [], positions=[{"id": "P1", "packages": [work("a", 1)]}, *({"id": name, "packages": [
                {"id": name.lower(), "hours": 1}]} for name in ("P2", "P3", "P4"))],
            orders=[{"serial": f"S{n}"} for n in (1, 2, 3)], launches={"takt_work_days": 1},
            known={"hours": [{"serial": "S2", "package": "a", "hours": 12}]},
            pulse={"positions": ["P1", "P2", "P3", "P4"], "stops": stops})
        left = {(v.serial, v.place): v.left / 60 for v in records.visits}
        made = {entry.serial: entry.made / 60 for entry in records.launches}
        waits = [s.end - s.start for s in records.segments if s.serial == 0 and s.state == State.LINE_STOP]
        yield each(f"{stops} stands: hours at which S1 leaves P2, S2 P1, S3 is launched, S1 leaves P3", HAND,
                   [ahead, hour(6, 10), hour(6, 10), hour(7, 10.5)], [left[0, 1], left[1, 0], made[2], left[0, 2]],
                   1e-6)
        yield each(f"{stops} stands: hours that S1 waits for the line, start and end of the stop, its cause", HAND,
                   [stood, hour(6, 6), hour(6, 10), 1], [
                       sum(waits) / 60, records.stops[0].start / 60, records.stops[0].end / 60,
                       float(records.stops[0].caused_by[0])], 1e-6)


def put_off() -> Iterator[Check]:
    """Launched whenever A is free, 8 h of work: S1 on Monday at 00:00, done at 14:30. S2 is put off by three days from
    the slot it comes to: Thursday 00:00, whatever is stated for February. S3 is sold again two work days after
    Monday 00:00: Wednesday 06:00, before S2."""
    stated = [{"date": "2027-01-04", "serial": "S2", "deferred_days": 3},
              {"date": "2027-02-01", "serial": "S2", "cancelled": True}]
    sold = [{"date": "2027-01-04", "serial": "S3", "cancelled": True}]
    for name, serials, changes, expected in (("put off", 2, stated, [0, 72]),
                                             ("put off, and one sold again", 3, [*stated, *sold], [0, 72, 54])):
        _, records = at_work([work("a", 8)], orders=[{"serial": f"S{n}"} for n in range(1, serials + 1)],
                             launches={"saturated": True},
                             order_changes={"stated": changes, "resold_after_work_days": 2})
        made = {entry.serial: entry.made / 60 for entry in records.launches}
        yield each(f"{name}: hours of launches whenever the place is free", HAND, expected,
                   [made.get(n, NONE) for n in range(serials)], 1e-6)


def no_jam() -> Iterator[Check]:
    """S2 is ready in A on Monday at 14:30 and blocked until S1 leaves B: on Tuesday at 14:30 that is a work day and not
    more, with half an hour more of work on Wednesday it is."""
    for hours, since in ((12.0, 0.0), (12.5, hour(4, 14.5))):
        sheet, records = at_work(
            [], positions=[{"id": "A", "packages": [work("a", 4)]}, {"id": "B", "packages": [
                {"id": "b", "trade": "U", "hours": hours}]}], trades={"T": {"people": 1}, "U": {"people": 1}},
            orders=[{"serial": "S1"}, {"serial": "S2"}],
            launches={"moments": ["2027-01-04 06:00", "2027-01-04 10:30"]})
        jam = first_jam(floor_of(sheet, records))
        yield exact(f"{hours:g} h in front of one that is blocked: since when is the first jam, 0: there is none", HAND,
                    since, jam.since / 60 if jam else 0.0, 1e-6)


def bad_times() -> Iterator[Check]:
    """Three packages of 8, 8 and 1 h from Monday on. Parts are never short but on Tuesday, when all are: of the package
    looked for on Monday at 14:30 none is, of the one on Tuesday at 14:30 it is, by a work day: Thursday
    06:00. An engine of the place that is never late but in a week in which the aircraft comes: two work days, Wednesday
    06:00; in the week after: not."""
    spell = {"item": "parts", "from": "2027-01-05", "days": 1, "share": 1}
    packages = [work("a", 8), work("b", 8), work("c", 1)]
    _, records = at_work(packages, parts={"short_chance": 0, "delay_work_days": 1},
                         common_luck={"supplier_spells": [spell]})
    yield each("parts short on Tuesday only: hours of closing of three packages", HAND,
               [hour(4, 14.5), hour(5, 14.5), hour(7, 7)], closings(records), 1e-6)
    for first, expected in (("2027-01-01", hour(6, 7)), ("2027-01-05", hour(4, 7)), ("2026-12-28", hour(4, 7))):
        _, records = at_work([work("a", 1)], parts={"long_lead": [
            {"item": "engine", "position": "A", "late_chance": 0, "delay_work_days": 2}]}, common_luck={
                "supplier_spells": [{"item": "engine", "from": first, "days": 7, "share": 1}]})
        yield exact(f"an engine late in the week from {first}: hours until it is closed", HAND, expected,
                    closings(records)[0], 1e-6)


PROOFS = (Proof("paint bays by hand", bays), Proof("never done by hand", never),
          Proof("a capped pulse line by hand", capped_pulse),
          Proof("who stands with a pulse line by hand", those_behind), Proof("orders put off by hand", put_off),
          Proof("no jam by hand", no_jam),
          Proof("never flown by hand", never_flown), Proof("level of squawks in a quarter", squawk_level),
          Proof("bad times of suppliers by hand", bad_times))
