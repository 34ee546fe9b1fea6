"""Beginnings and ends, worked by hand: launch dates that hold, notice given before, papers returned, locks at launch,
what still waits when the run ends, squawks and money where there is no order book."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ...line.records import State
from ...measures.cash import BOUGHT_OUT, MATERIAL, cash_of
from ...measures.ledger import Ledger
from ...measures.moment import spans_of
from ...measures.paper import flights_per_aircraft
from ...measures.run import numbers_of
from ...measures.value import in_the_plant
from ...measures.window import up_to_the_window
from ...scenario.plant import Flights
from ...scenario.reading import parse_scenario
from .arithmetic import HAND
from .check import Check, each, exact, within
from .listed import Proof
from .money_by_hand import MONEY, small
from .plants import json, place, plant, run
from .rules_by_hand import NONE, at_work, hour, work


def launch_dates() -> Iterator[Check]:
    """F41. S1 is wanted on Wednesday 6 January, S2 has no date; slots on Monday and Tuesday 06:00. The date is only
    looked at if it holds: then both are launched on Wednesday at 00:00, S2 behind S1; on a pulse line with that day's
    pulse and the next; whenever the place is free, from Wednesday 00:00 on."""
    orders = [{"serial": "S1", "launch": "2027-01-06"}, {"serial": "S2"}]
    takt, pulse = {"takt_work_days": 1}, {"pulse": {"positions": ["A", "B"]}}
    for name, launches, parts, expected in (
            ("not held", takt, {}, [hour(4, 6), hour(5, 6)]),
            ("held", {**takt, "launch_dates": "hold"}, {}, [hour(6, 0), hour(6, 0)]),
            ("held, on a pulse line", {**takt, "launch_dates": "hold"}, pulse, [hour(6, 6), hour(7, 6)]),
            ("held, whenever the place is free", {"saturated": True, "launch_dates": "hold"}, {},
             [hour(6, 0), hour(6, 0)])):
        _, records = at_work([], orders=orders, launches=launches, positions=[
            {"id": "A", "docks": 1 if parts else 2, "packages": [{"id": "a", "hours": 1}]}, {"id": "B"}], **parts)
        made = {entry.serial: entry.made / 60 for entry in records.launches}
        yield each(f"launch dates {name}: hours of the launches of S1 and S2", HAND, expected,
                   [made.get(n, NONE) for n in range(2)], 1e-6)


def notices() -> Iterator[Check]:
    """F92, F97. S1 stands in the delivery bay on Monday 4 January; an acceptance of a day, five work days after notice.
    Given on Monday it begins on Monday 11th, on Wednesday 6th on Wednesday 13th; not stated: as on the first day. Given
    before the start, on Wednesday 30 December three of the five days have passed, since Monday 28th and longer all."""
    for given, expected in (({}, hour(11, 14.5)), ({"notice_given": "2027-01-04"}, hour(11, 14.5)),
                            ({"notice_given": "2027-01-06"}, hour(13, 14.5)),
                            ({"notice_given": "2026-12-30"}, hour(6, 14.5)),
                            ({"notice_given": "2026-12-28"}, hour(4, 14.5)),
                            ({"notice_given": "2026-12-14"}, hour(4, 14.5))):
        _, records = at_work([], launches={"moments": []}, on_the_line=[{"serial": "S1", "at": "AC", **given}],
                             positions=[{"id": "AC", "acceptance": {"duration_work_days": 1, "notice_work_days": 5}}])
        yield exact(f"notice {given or 'not stated'}: hours until delivery", HAND, expected,
                    records.delivered.get(0, NONE) / 60, 1e-6)


def papers() -> Iterator[Check]:
    """F91. The certificate takes the slot of a Tuesday. Returned once, two hours of records are worked again and the
    next Tuesday's slot is taken; without a package of records there is nothing to be worked again, and it is too. No
    slot falls on a closed Tuesday."""
    for name, records_of, closed, expected in (("with records", "r", {}, 12), ("without records", None, {}, 12),
                                               ("a closed Tuesday", None, {"2027-01-12": "closed"}, 19)):
        cert: dict[str, Any] = {"id": "cert", "kind": "appointment", "weekdays": ["Tue"], "certificate": True}
        _, records = at_work([work("r", 2), {**cert, **({"records": records_of} if records_of else {})}],
                             calendar={"closed": closed}, known={"returns": [{"serial": "S1", "times": 1}]})
        yield exact(f"papers returned once, {name}: hours until delivery", HAND, hour(expected, 14.5),
                    records.delivered.get(0, NONE) / 60, 1e-6)
        yield exact(f"papers returned once, {name}: hours of work on the records", HAND, 4 if records_of else 2, sum(
            s.end - s.start for s in records.segments if s.job == "r" and s.people) / 60, 1e-6)


def customer_flies() -> Iterator[Check]:
    """F93. The acceptance begins on Monday at 06:00. Two hours of the pilot, who is there from 12:00: on the ground
    they are worked until 14:00; as a flight of two hours they are a block then, and need good weather."""
    for flies, bad, expected in ((False, (), hour(4, 14)), (False, (4,), hour(4, 14)), (True, (), hour(4, 14)),
                                 (True, (4,), hour(5, 14))):
        _, records = at_work([], shifts={"day": {"work": ["06:00-14:00"]}, "late": {"work": ["12:00-20:00"]}},
                             trades={"P": {"people": {"late": 1}}}, positions=[{"id": "AC", "acceptance": {
                                 "pilots": "P", "pilot_hours": 2, "pilot_flies": flies}}], known={"flyable": [
                                     {"date": f"2027-01-{day:02d}", "flyable": False} for day in bad]})
        yield each(f"pilot {'flies' if flies else 'on the ground'}, bad days {bad}: hours until delivery, flights",
                   HAND, [expected, float(flies)], [records.delivered.get(0, NONE) / 60, len(records.flights)], 1e-6)


def lock_at_launch() -> Iterator[Check]:
    """F67, F120. S1 is locked from 05:00 to 09:00 and launched at 06:00: it is locked until 09:00 where it stands, and
    two hours of work are done at 11:30, after the meal."""
    for until, expected in (("09:00", hour(4, 11.5)), ("05:30", hour(4, 8))):
        _, records = at_work([work("a", 2)], known={"tool_locks": [
            {"serial": "S1", "from": "2027-01-04 05:00", "to": f"2027-01-04 {until}"}]})
        yield exact(f"locked until {until} and launched at 06:00: hours until closed", HAND, expected,
                    records.delivered.get(0, NONE) / 60, 1e-6)


def repaints() -> Iterator[Check]:
    """F74. A step of 2 h and its cure of 3, then two rounds of an hour, each with a cure of 4 h or with none."""
    for cure, expected in ((4, 2 + 3 + 2 * 5), (0, 2 + 3 + 2)):
        _, records = run(plant([{"id": "PB", "packages": [{"id": "p", "hours": 2, "cure_hours": 3}], "repaint": {
            "chance": 0.1, "trade": "T", "hours": 1, "cure_hours": cure}}], 48, trades={"T": {"people": 1}},
            orders=[{"serial": "S1"}], known={"repaints": [{"serial": "S1", "times": 2}]}))
        yield exact(f"two repaint rounds, cure of {cure} h: hours until it leaves", HAND, expected,
                    records.delivered.get(0, NONE) / 60, 1e-6)


def waits_at_the_end() -> Iterator[Check]:
    """F99, F105. What is not over at the end of Tuesday is cut there: 42 h of waiting since Monday 06:00 for a customer
    whose slot is a Friday; an inspection that nobody comes for; 46 h blocked since Monday 02:00 before a place that is
    taken. The reasons add up to the life."""
    never = {"trades": {"INS": {"people": 0}, "T": {"people": 1}},
             "fleet_holds": [{"from": "2027-01-05", "serials": ["S1"], "hours": 1}]}
    slot = [{"id": "AC", "acceptance": {"weekdays": ["Fri"]}}]
    two = [place("A", 1), place("B", 900)]
    for name, positions, parts, state, expected in (
            ("a customer", slot, {}, State.CUSTOMER, 42.0), ("engineering", [], never, State.PARTS, 0.0),
            ("a place", two, {"orders": [{"serial": "S0"}, {"serial": "S1"}], "launches": {"saturated": True}},
             State.BLOCKED, 46.0)):
        packages = [work("a", 100)] if not positions else []
        sheet, records = at_work(packages, end="2027-01-05", **({"positions": positions} if positions else {}), **parts)
        serial = len(parts.get("orders", [0])) - 1
        spans = spans_of(Ledger(sheet, records), serial)
        waited = sum(span.end - span.start for span in spans if span.state == state) / 60
        life = sum(span.end - span.start for span in spans) / 60
        begun = min(entry.made for entry in records.launches if entry.serial == serial) / 60
        if state != State.PARTS:
            yield exact(f"the run ends, S1 waits for {name}: hours", HAND, expected, waited, 1e-6)
        yield exact(f"the run ends, S1 waits for {name}: hours of its reasons are its life", HAND, 48 - begun, life,
                    1e-6)


def fewer_squawks() -> Iterator[Check]:
    """F73. Eight squawks a flight, half as many at each doubling of the unit number: units 101 to 300 at 50."""
    count = 200
    _, records = run(plant(
        [{"id": "FL", "docks": count, "flights": {"pilots": "P", "pilot_hours": 1, "flight_hours": 1, "squawks": {
            "mean_by_flight": [8], "fix_hours": 0, "trades": {"P": 1}, "learning_slope": 0.5}}}], 48,
        trades={"P": {"people": count}}, orders=[{"serial": f"S{n}"} for n in range(101, 101 + count)],
        work_time={"learning": {"slope": 1, "units_before_start": 100, "hours_stated_at_unit": 50}}))
    mean = sum(8 * 50 / n for n in range(101, 101 + count)) / count
    yield within("squawks of a flight by the unit number", "Poisson", mean, sum(
        flight.squawks for flight in records.flights) / count, (mean / count)**0.5)


def still_open() -> Iterator[Check]:
    """A flight on Monday from 06:00 to 08:00 writes up a squawk of two hours for T, done at 10:00, and one
    of 18 h for U, open until Wednesday at 10:00: in the mean of Monday 18 / 24, of Tuesday 1, of Thursday 0."""
    for first, last, expected in ((4, 4, (2 + 16) / 24), (5, 5, 1), (4, 5, (2 + 16 + 24) / 48), (6, 6, 10 / 24),
                                  (7, 8, 0)):
        sheet, records = at_work([], trades={name: {"people": 1} for name in "PTU"}, positions=[
            {"id": "FL", "flights": {"pilots": "P", "pilot_hours": 2, "flight_hours": 1}}],
            window={"from": f"2027-01-{first:02d}", "to": f"2027-01-{last:02d}"}, known={"squawks": [
                {"serial": "S1", "flight": 1, "squawks": [{"trade": "T", "hours": 2}, {"trade": "U", "hours": 18}]}]})
        yield exact(f"squawks open in the mean from {first} to {last} January", HAND, expected,
                    numbers_of(sheet, records).open_squawks, 1e-9)


def without_orders() -> Iterator[Check]:
    """Orders without end have no model and so no material; without a takt nothing is planned and paid ahead beyond the
    launches made. With two stated launches the material of S1 and S2 is paid at both, two fifths of it on the day."""
    sheet, numbers = small(orders="unlimited")
    yield exact("value in the plant without orders: only the work of the fifty a paid hour is in it", HAND, 1, float(
        in_the_plant(sheet, numbers).at_end[0] == 800))
    payments = {**MONEY["payments"], "bought_out_days_before": 0}
    found = cash_of(*small(launches={"moments": ["2027-01-20 06:00", "2027-02-01 06:00", "2027-02-08 06:00",
                                                 "2027-03-29 06:00"]}, money={**MONEY, "payments": payments}))
    yield each("stated launches: bought-out and other material by month of the window", HAND,
               [-40, -160, 0, -60, -240, 0], [*found[BOUGHT_OUT].tolist(), *found[MATERIAL].tolist()], 1e-6)


def windows_and_flights() -> Iterator[Check]:
    """A scenario cut at its window ends with it, or as it was, and goes on no months. Without squawks just the least
    number of flights is flown."""
    values = {"name": "cut", "start": "2027-01-04", "end": "2027-12-31", "run_on_months": 2, "orders": "unlimited",
              "launches": {"saturated": True}, "positions": [place("A", 1)]}
    for window, expected in (({"window": {"from": "2027-02-01", "to": "2027-06-30"}}, [6, 30, 0]), ({}, [12, 31, 0])):
        cut = up_to_the_window(parse_scenario(json.dumps({**values, **window})))
        yield each(f"cut at {window or 'no window'}: month and day of the end, months beyond", HAND, expected,
                   [cut.end.month, cut.end.day, cut.run_on_months])
    for least in (0, 1, 3):
        flown = flights_per_aircraft(Flights(pilots="P", pilot_hours=1, flight_hours=1, min_flights=least))
        yield exact(f"flights on paper, at least {least}, without squawks", HAND, least, sum(flown))


def recalled() -> Iterator[Check]:
    """F68. T tightens an hour on S1 and S2 on Monday, in A; S1 is in B, ten hours of U, S2 parked before it. On Tuesday
    morning both are called back: an hour of T each, on S1 at once, on S2 in its dock, from 09:00, when S1 has left, on.
    S2's ten hours of U are done on Wednesday at 11:30."""
    _, records = at_work([], positions=[{"id": "A", "packages": [work("a", 1, torque=True)]}, {
        "id": "B", "parking": 1, "packages": [{"id": "b", "trade": "U", "hours": 10}]}],
                         trades={name: {"people": 1} for name in ("T", "U")}, launches={"saturated": True},
                         orders=[{"serial": "S1"}, {"serial": "S2"}], tool_control={
                             "torque_recall": {"chance": 1, "hours": 1}})
    again = {c.serial: c.closed / 60 for c in records.closings if c.job not in "ab"}
    yield each("called back: hours at which re-torque of S1 and S2 is closed, S1 and S2 leave", HAND,
               [hour(5, 7), hour(5, 10), hour(5, 9), hour(6, 11.5)],
               [again.get(0, NONE), again.get(1, NONE), *(records.delivered.get(n, NONE) / 60 for n in range(2))], 1e-6)


def no_aircraft() -> Iterator[Check]:
    """Nothing is launched in the run, since the only order holds for a later date: all numbers are there and 0."""
    sheet, records = at_work([work("a", 1)], launches={"takt_work_days": 1, "launch_dates": "hold"},
                             orders=[{"serial": "S1", "launch": "2027-06-01"}])
    found = numbers_of(sheet, records)
    yield each("a run without an aircraft: delivered, counted, mean number there, days of the chain, hours worked, and "
               "had in eight weeks", HAND, [0, 0, 0, 0, 0, 320], [
                   len(found.delivered), found.counted, sum(found.in_process.values()), float(found.chain.sum()),
                   *(float(found.load_by_week[n, 0].sum()) for n in range(2))], 1e-6)


def why_it_waits() -> Iterator[Check]:
    """F105, F106. A flight asked for at 06:00 begins half an hour before the first good hour: until then it waits for
    the weather, hour after hour. Of one in a night shift, the day is off shift."""
    for hours, weather in (((6,), 0.5), ((6, 7, 8), 2.5), ((6, 7, 9), 1.5), ((), 0.0)):
        sheet, records = at_work([], trades={"P": {"people": 1}}, positions=[
            {"id": "FL", "flights": {"pilots": "P", "pilot_hours": 2, "flight_hours": 1}}], known={"flyable": [
                {"date": "2027-01-04", "hour": n, "flyable": False} for n in hours]})
        found = [span.end - span.start for span in spans_of(Ledger(sheet, records), 0) if span.state == State.WEATHER]
        yield exact(f"hours {hours} cannot be flown: hours of waiting for the weather", HAND, weather, sum(found) / 60,
                    1e-6)
    sheet, records = at_work([], shifts={"day": {"work": ["06:00-14:00"]}, "night": {"work": ["20:00-23:00"]}},
                             trades={"P": {"people": {"night": 1}}}, positions=[
                                 {"id": "FL", "flights": {"pilots": "P", "pilot_hours": 2, "flight_hours": 1}}])
    night = [(span.state, span.start / 60, span.end / 60) for span in spans_of(Ledger(sheet, records), 0)]
    yield exact("a flight in the night shift: off shift from 06:00 to 20:00, flown until 22:00", HAND, 1, float(
        night == [(State.OFF_SHIFT, 6, 20), (State.FLIGHT, 20, 22)]))


def nothing_needed() -> Iterator[Check]:
    """F38, F80. Without daylight declared work that needs it is done at any time, also from 06:00 in January; without
    mechanics named none is needed for a preflight; one of no hours needs nobody to be there."""
    _, records = at_work([work("a", 2, needs_daylight=True)])
    yield exact("work that needs daylight, and no daylight declared: hours until it is closed", HAND, hour(4, 8),
                records.delivered.get(0, NONE) / 60, 1e-6)
    for rules, expected in (({"mechanics": "T", "preflight_hours": 1}, 9),
                            ({"mechanics": "T", "preflight_hours": 0}, 8), ({"preflight_hours": 1}, 8)):
        _, records = at_work([], trades={"P": {"people": 1}, "T": {"people": 1}}, positions=[{"id": "FL", "flights": {
            "pilots": "P", "pilot_hours": 2, "flight_hours": 1, **rules}}])
        yield exact(f"a flight of two hours, {rules}: hours until it is flown", HAND, hour(4, expected),
                    records.delivered.get(0, NONE) / 60, 1e-6)


def never_on() -> Iterator[Check]:
    """F14. The shift of T is only on Saturdays, and the run is Monday to Friday: nobody of T is ever on duty."""
    for attendance in ({"absence": {"share": 0.1}}, {}):
        _, records = at_work([work("a", 2)], end="2027-01-08", shifts={
            "day": {"work": ["06:00-14:00"]}, "sat": {"work": ["06:00-14:00"], "weekdays": ["Sat"]}},
            trades={"T": {"people": {"sat": 1}}}, attendance=attendance)
        yield exact(f"a shift without a date in the run, {'' if attendance else 'no '}absence: what is said", HAND, 1,
                    float([stuck.why for stuck in records.stuck] == ["nobody of trade T is ever on duty"]))


PROOFS = (Proof("launch dates by hand", launch_dates), Proof("notice given before", notices),
          Proof("papers returned by hand", papers), Proof("who flies at acceptance by hand", customer_flies),
          Proof("locked at launch by hand", lock_at_launch), Proof("repaint rounds by hand", repaints),
          Proof("waits at the end by hand", waits_at_the_end), Proof("squawks by unit number", fewer_squawks),
          Proof("squawks open by hand", still_open), Proof("money without orders by hand", without_orders),
          Proof("cut at the window by hand", windows_and_flights), Proof("called back by hand", recalled),
          Proof("a run without an aircraft", no_aircraft), Proof("why a flight waits by hand", why_it_waits),
          Proof("nothing needed by hand", nothing_needed), Proof("never on duty by hand", never_on))
