"""Measures at their edges, worked by hand: the slower half, docks by their number, weeks of a year, payments on the
first day, single runs."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from math import inf, sqrt

from ...line.records import State
from ...measures import estimates
from ...measures.cash import BOUGHT_OUT, cash_of
from ...measures.chain import Chains
from ...measures.ledger import Ledger
from ...measures.moment import floor_of
from ...measures.not_flown import flying_days
from ...measures.run import numbers_of
from ...measures.value import in_the_plant
from .arithmetic import HAND
from .check import Check, each, exact
from .estimates_by_hand import refused
from .listed import Proof
from .money_by_hand import MONEY, small
from .plants import place, plant, run
from .rules_by_hand import at_work, work


def slower_half() -> Iterator[Check]:
    """F112. A fuselage of 1 and 9 h and a wing of 3 and 4 h in two places each, or the wing's last of 8 h: before mate
    the chain is that of the half that closed last, whatever its first place was."""
    for last, expected in ((4, [0, 1, 4]), (8, [2, 3, 4])):
        sheet, records = run(plant(
            [place("F1", 1, half="fuselage", next="F2"), place("F2", 9, half="fuselage", next="M"),
             place("W1", 3, half="wing", next="W2"), place("W2", last, half="wing", next="M"), place("M", 2)], 48,
            orders=[{"serial": "S1"}]))
        stays = Chains(Ledger(sheet, records)).that_set_the_date(0)
        yield each(f"halves of 10 and {3 + last} h: places of the chain", HAND, expected, [s.place for s in stays])
        yield exact("the same: hours of work in the chain, as long as the aircraft was there", HAND,
                    max(10, 3 + last) + 2, sum(s.work_days.get(State.WORK, 0.0) for s in stays) * 24, 1e-6)


def single_runs() -> Iterator[Check]:
    """One run on a side has no spread: a mean, and no limits. Counts that cannot be are refused, not put in words."""
    found = estimates.welch_difference([1.0], [2.0, 4.0])
    yield each("one run against two: difference, fewest runs, limits that are there", HAND, [-2, 1, 0],
               [found.mean, found.n, sum(limit == limit for limit in (found.low, found.high))])
    same = estimates.welch_difference([3.0, 3.0], [1.0, 1.0, 1.0])
    yield each("runs without any spread: difference, limits, fewest runs", HAND, [2, 2, 2, 2],
               [same.mean, same.low, same.high, same.n])
    yield each("a number that is 0 in ten runs: enough of them within a tenth of it, and within 0.1", HAND, [1, 1], [
        float(estimates.enough_runs([0.0] * 10, least=10, **{how: 0.1}).reached) for how in ("relative", "half_width")])
    yield exact("a digit for an error without end is refused", HAND, 1, *refused([partial(estimates.digits_for, inf)]))
    yield each("a percentile of no share, of a negative one and of more than all is refused", HAND, [1, 1, 1], refused(
        [partial(estimates.percentile, [1.0, 2.0], share) for share in (0.0, -0.1, 1.1)]))
    four = [1.0, 2.0, 3.0, 4.0]
    half = 3.182446305284263 * sqrt(5 / 3 / 4)  # t of 3 degrees at 95 %
    mean, pair = estimates.mean_interval(four), estimates.paired_difference(four, [0.0] * 4)
    yield each("1 to 4: limits of the mean and of the difference to 0, at 95 % unless another is asked for",
               "t interval (tables)", [2.5 - half, 2.5 + half] * 2, [mean.low, mean.high, pair.low, pair.high], 1e-9)
    yield each("chances in words: 11 of 10, -1 of 10 and 0 of 0 are refused", HAND, [1, 1, 1], refused(
        [partial(estimates.chance_words, *count) for count in ((11, 10), (-1, 10), (0, 0))]))


def spots() -> Iterator[Check]:
    """Who arrives takes the lowest free dock: S1 and S2, 10 and 4 h, stand in 0 and 1, S3 takes 1 at 4, S4 at 6 and S5
    dock 0 at 10. Who is parked keeps the spot that was free: S3 to S6 in 0 to 3."""
    hours = [10, 4, 2, 10, 10, 1]
    sheet, records = run(plant(
        [{"id": "A", "docks": 9}, place("B", 1, 2, parking=4)], 48, orders=[{"serial": f"S{n}"} for n in range(1, 7)],
        known={"hours": [{"serial": f"S{n}", "package": "B work", "hours": h} for n, h in enumerate(hours, 1)]}))
    floor = floor_of(sheet, records)
    for at, expected in ((1, [(1, 0, 0), (2, 1, 0), (3, 0, 1), (4, 1, 1), (5, 2, 1), (6, 3, 1)]),
                         (5, [(1, 0, 0), (3, 1, 0), (4, 1, 1), (5, 2, 1), (6, 3, 1)]),
                         (11, [(4, 1, 0), (5, 0, 0), (6, 3, 1)])):
        got = sorted((int(one.serial[1]), one.spot, int(one.parked)) for one in floor.at(at * 60.0))
        yield each(f"at {at}: serial, dock or spot, parked, of each", HAND, [float(n) for row in expected for n in row],
                   [float(n) for row in got for n in row])


def weeks() -> Iterator[Check]:
    """A person has 40 h in each of the 52 weeks from Monday 4 January 2027 to Sunday 2 January 2028; from Wednesday 6th
    on 24 h in the first."""
    for start, first in (("2027-01-04", 40), ("2027-01-06", 24)):
        sheet, records = at_work([work("a", 1)], start=start, end="2028-01-02",
                                 launches={"moments": [f"{start} 06:00"]})
        had = numbers_of(sheet, records).load_by_week[1, 0]
        yield each(f"hours had by week, from {start}", HAND, [first, *[40.0] * 51], had.tolist(), 1e-6)


def paid_at_once() -> Iterator[Check]:
    """Two fifths of the material, 40 of D and 120 of E, are paid so many days before the planned launches of 4 and 18
    January, 1 and 15 February, but for what was paid before the runs begin on 4 January: on that day it counts."""
    window = {"from": "2027-01-04", "to": "2027-03-31"}
    for days, expected in ((0, [-160, -80, 0]), (14, [-160, -40, 0]), (15, [-80, 0, 0])):
        payments = {**MONEY["payments"], "bought_out_days_before": days}
        found = cash_of(*small(window=window, money={**MONEY, "payments": payments}))
        yield each(f"bought-out material paid {days} days ahead, by month", HAND, expected, found[BOUGHT_OUT].tolist(),
                   1e-6)


def flying_dates() -> Iterator[Check]:
    """Pilots are there round the clock: every date of the run is one on which could be flown, and no other is."""
    for days in (1, 3):
        sheet, records = run(plant([{"id": "FL", "flights": {"pilots": "P", "pilot_hours": 2, "flight_hours": 1}}],
                                   24 * days, trades={"P": {"people": 1}}, orders=[{"serial": "S1"}]))
        yield exact(f"dates on which pilots are there, in a run of {days} days", HAND, days,
                    len(flying_days(Ledger(sheet, records))))


def a_pulse_line() -> Iterator[Check]:
    """S1 comes to P1 on Monday 4 January with 10 h of t, which may travel at 1.5 times, at 40 an hour. Due on Tuesday
    at 06:00, the pulse is made when t's buy-off is done, at 07:00: an hour's stop by S1 in P1, inspected meanwhile; 1 h
    of t travels as 1.5 h. In P2 S1 keeps the line from Wednesday 07:00 to Thursday 07:00 with 16 h of U: a stop of
    eight working hours, in P2, with work in all of them. S2 has no hours."""
    packages = [[work("t", 10, can_travel=True), {"id": "q", "kind": "buy-off", "hours": 1}],
                [{"id": "u", "trade": "U", "hours": 16}], []]
    sheet, records = at_work(
        [], positions=[{"id": f"P{n}", "packages": of} for n, of in enumerate(packages, 1)],
        trades={"T": {"people": 1, "usd_per_hour": 40}, "U": {"people": 1}, "INS": {"people": 1}},
        orders=[{"serial": "S1"}, {"serial": "S2"}], launches={"takt_work_days": 1},
        known={"hours": [{"serial": "S2", "package": name, "hours": 0} for name in "tu"]}, pulse={
            "positions": ["P1", "P2", "P3"], "travel_max_share": 1, "travel_multiplier": 1.5})
    found = numbers_of(sheet, records)
    travel, causes = found.travelled["P1"], found.stop_causes
    yield each("travelled from P1: packages, hours at their price, hours and money that the price adds; places it "
               "travelled from", HAND, [1, 1.5, 0.5, 20, 1],
               [travel.packages, travel.hours, travel.extra, travel.cost, len(found.travelled)], 1e-6)
    yield each("stops, their hours, those by S1, hours by S1's work in P1 and in P2, by anything", HAND,
               [2, 9, 2, 1, 8, 9], [found.line_stops, found.stop_hours, found.stopped_by["S1"],
                                    float(causes[0, State.WORK]), float(causes[1, State.WORK]), float(causes.sum())],
               1e-6)


def value_at_start() -> Iterator[Check]:
    """Z1, of model D, stands in B on a hold that does not end; A, ten hours of T at 50, is behind it: it is worth its
    material and these hours, 600, from the first day on; half done in A it has five of them behind it."""
    places = [{"id": "A", "packages": [{"id": "a", "trade": "T", "hours": 10}]},
              {"id": "B", "packages": [{"id": "b", "kind": "hold", "elapsed_hours": 9000}]}]
    for entry, people, expected in (({"at": "B"}, 1, 600), ({"at": "A", "remaining_share": 0.5}, 0, 350)):
        sheet, numbers = small(positions=places, orders=[{"serial": "Z1", "model": "D"}], launches={"moments": []},
                               on_the_line=[{"serial": "Z1", **entry}],
                               trades={"T": {"people": people, "usd_per_hour": 50}})
        found = in_the_plant(sheet, numbers)
        yield each(f"value of an aircraft that stands in {entry['at']}: at the end and in the mean of five stretches",
                   HAND, [expected] * 10, [*found.at_end.tolist(), *found.mean.tolist()], 1e-6)


def owed_stock() -> Iterator[Check]:
    """One order of 400 h keeps the place until February; stock of model E, 120 ahead each, is planned for 18 January, 1
    and 15 February, 1, 15 and 29 March and paid 20 days before, launched or not: the first before the window."""
    found = cash_of(*small(positions=[{"id": "A", "packages": [{"id": "a", "trade": "T", "hours": 400}]}],
                           orders=[{"serial": "S1", "model": "D"}], stock={"unsold_slots": "build", "model": "E"}))
    yield each("stock that is owed: bought-out material by month of the window", HAND, [-120, -240, -120],
               found[BOUGHT_OUT].tolist(), 1e-6)


PROOFS = (Proof("the slower half by hand", slower_half), Proof("docks and spots by hand", spots),
          Proof("weeks of a year by hand", weeks), Proof("dates with pilots by hand", flying_dates),
          Proof("paid on the first day by hand", paid_at_once), Proof("paid ahead for stock by hand", owed_stock),
          Proof("value at the start by hand", value_at_start),
          Proof("single runs and counts by hand", single_runs),
          Proof("numbers of a pulse line by hand", a_pulse_line))
