"""What a run depends on and what it does not, and rules that meet on the way of an aircraft, worked by hand: draws by
date, runs one after the other, halves and their defects, who passes whom, what may travel past a buy-off."""

from __future__ import annotations

from collections.abc import Iterator

from ...line.floor import run_once
from ...line.sheet import Sheet
from ...measures import balance
from ...measures.ledger import Ledger
from ...measures.run import numbers_of
from .arithmetic import HAND
from .balance_by_hand import sheet as balanced
from .balance_by_hand import tables
from .check import Check, each, exact, within
from .defects_by_hand import flight_line
from .listed import Proof
from .people_there import there
from .plants import SEED, place, plant, run
from .rules_by_hand import NONE, at_work, hour, work


def by_date() -> Iterator[Check]:
    """F110. Who is absent on a date hangs on the date and not on the days before it in the run: of ten people from 3
    January 2028 on, by a run that begins then, by one that begins a month earlier, and over 29 February and the end of
    the leap year by one that begins in June."""
    half = {"absence": {"share": 0.5}, "training_share": 0.2}
    first = there(half, 10, start="2028-01-03", end="2029-01-31", launches={"moments": ["2028-01-04 00:00"]})
    for start, offset in (("2027-12-06", 28), ("2028-06-05", -154)):
        other = there(half, 10, start=start, end="2029-01-31", launches={"moments": [f"{start} 12:00"]})
        days = {day + offset: n for day, n in zip(first.days, first.absent, strict=True)}
        same = [(days[day], n) for day, n in zip(other.days, other.absent, strict=True) if day in days]
        yield each(f"absent of ten, by date, in a run from {start} as in one from 2028-01-03", HAND,
                   [float(a) for a, _ in same], [float(b) for _, b in same])


def one_after_the_other() -> Iterator[Check]:
    """A run is what it is, whatever was done with the same sheet before: a place that breaks down by chance, in some of
    eight runs and in others not, hours of the place by reason, each as on a sheet of its own."""
    package = {"id": "a", "trade": "T", "hours": {"exponential": 3}}
    scenario = plant([{"id": "A", "docks": 2, "packages": [package], "out_of_service": {
        "hours_up": {"exponential": 240}, "hours_down": {"exponential": 50}}}], 240, trades={"T": {"people": 1}})
    shared, down = Sheet(scenario), 0
    for number in range(8):
        own = Sheet(scenario)
        runs = [(sheet, run_once(sheet, SEED, number)) for sheet in (own, shared)]
        alone, found = (Ledger(sheet, records).of_places()[0].tolist() for sheet, records in runs)
        down += bool(runs[0][1].outages)
        yield each(f"hours of the place by reason, run {number} after others on a sheet, as alone", HAND, alone, found)
    yield exact("both kinds of runs are there, with and without a breakdown", HAND, 1, float(0 < down < 8))


def halves_with_defects() -> Iterator[Check]:
    """F70. At 10 defects in 100 h, 30 h of the fuselage and 50 h of the wing plant 3 and 5, and 20 h at mate 2; without
    a gate all ten escape to flight."""
    count = 60
    _, records = run(plant(
        [{"id": "F", "half": "fuselage", "docks": count, "next": "M", "packages": [work("f", 30)]},
         {"id": "W", "half": "wing", "docks": count, "next": "M", "packages": [work("w", 50)]},
         {"id": "M", "docks": count, "packages": [work("m", 20)]}, flight_line(count)], 24 * 20,
        trades={"T": {"people": 2 * count}, "P": {"people": count}}, orders=[{"serial": f"S{n}"} for n in range(count)],
        quality={"defects_per_100_hours": 10, "repair_hours": 0}))
    yield within("defects that escape, of halves and of the aircraft", "Poisson", 10, sum(
        found for found, _ in records.escaped.values()) / count, (10 / count)**0.5)


def past_the_locked() -> Iterator[Check]:
    """F11, F67. B is taken until 5; S2 and S3 are ready in A at 1 and 2. The first goes to B first, unless it is
    locked, from 3 to 8: then S3, four hours of work, goes at 5 and S2 at 9."""
    for locked, expected in ((False, [9, 13]), (True, [13, 9])):
        lock = [{"serial": "S2", "from": "2027-01-01 03:00", "to": "2027-01-01 08:00"}] if locked else []
        _, records = run(plant([place("A", 2, 2), place("B", 4)], 48, launches={"moments": []},
                               orders=[{"serial": f"S{n}"} for n in (1, 2, 3)],
                               on_the_line=[{"serial": "S1", "at": "B"}, *({"serial": name, "at": "A"} for name in (
                                   "S2", "S3"))],
                               known={"tool_locks": lock, "hours": [{"serial": "S2", "package": "A work", "hours": 1},
                                                            {"serial": "S1", "package": "B work", "hours": 5}]}))
        yield each(f"ready first, {'locked' if locked else 'free'}: hours of delivery of S2 and S3", HAND, expected,
                   [records.delivered.get(n, NONE) / 60 for n in (1, 2)], 1e-6)


def locked_on_the_way() -> Iterator[Check]:
    """F12, F67. Halves are closed at 23:00 and move to mate for two hours; a lock from midnight to 05:00 is on the
    aircraft, too: 4 h of work at mate are done at 09:00, else at 05:00."""
    for locked, expected in ((True, 33), (False, 29)):
        lock = [{"serial": "S1", "from": "2027-01-02 00:00", "to": "2027-01-02 05:00"}] if locked else []
        _, records = run(plant(
            [place("F", 23, half="fuselage", next="M"), place("W", 23, half="wing", next="M"), place("M", 4)], 72,
            orders=[{"serial": "S1"}], work_rules={"move_minutes": 120}, known={"tool_locks": lock}))
        yield exact(f"moved to mate, {'locked on the way' if locked else 'not locked'}: hours until delivery", HAND,
                    expected, records.delivered.get(0, NONE) / 60, 1e-6)


def past_a_buy_off() -> Iterator[Check]:
    """F46. a, 10 h, may travel, b behind its buy-off q may not, so a may not either: it is done on Tuesday at 08:00, q
    at 09:00, b and the pulse at 10:00. May b travel, too, a is let go at 06:00 on Tuesday, q is done at 07:00, and the
    pulse made then."""
    for travels, expected in ((False, [hour(5, 9), hour(5, 10)]), (True, [hour(5, 7), hour(5, 7)])):
        packages = [work("a", 10, can_travel=True), {"id": "q", "kind": "buy-off", "hours": 1},
                    work("b", 1, can_travel=travels)]
        _, records = at_work([], positions=[{"id": "P1", "packages": packages}, {"id": "P2"}],
                             launches={"takt_work_days": 1}, pulse={"positions": ["P1", "P2"], "travel_max_share": 1})
        yield each(f"b {'may' if travels else 'may not'} travel: hours at which q is closed, the pulse is made", HAND,
                   expected, [*(c.closed / 60 for c in records.closings if c.job == "q"), records.pulses[1].made / 60],
                   1e-6)


def way_back() -> Iterator[Check]:
    """F15, F77. The way leads from A past Y to the booth, 2 h of work, its bay, 3 h of cure, and then to Y, 1 h, and
    out."""
    _, records = run(plant([place("A", 1, next="PB"), place("Y", 1, next="out"), {
        "id": "PB", "cure_bays": 1, "next": "Y", "packages": [{"id": "p", "hours": 2, "cure_hours": 3}]}], 48,
        orders=[{"serial": "S1"}]))
    yield each("booth and bay before a place written first: hours at which four places are left, delivery", HAND,
               [1, 3, 6, 7, 7], [*(visit.left / 60 for visit in records.visits), records.delivered.get(0, NONE) / 60],
               1e-6)


def flown_in_the_window() -> Iterator[Check]:
    """Pilots are there on 17 work days; the window holds the first ten of them. S1 flies on the first, S2 comes on the
    third Monday, which is not in the window: nine dates without an aircraft."""
    sheet, records = at_work([], trades={"P": {"people": 1}}, end="2027-01-26", positions=[
        {"id": "FL", "flights": {"pilots": "P", "pilot_hours": 2, "flight_hours": 1}}],
        window={"from": "2027-01-04", "to": "2027-01-17"}, orders=[{"serial": "S1"}, {"serial": "S2"}],
        launches={"moments": ["2027-01-04 06:00", "2027-01-18 06:00"]})
    days = numbers_of(sheet, records).flying_days
    yield each("dates of the window: flown, without an aircraft, all", HAND, [1, 9, 10],
               [days["flown"], days["no aircraft"], sum(days.values())])


def flown_before() -> Iterator[Check]:
    """F97. S3 stands on the flight line at the start: its first flight is behind it if it has flown one or more, and
    ahead of it if it has flown none."""
    plant_of = balanced().scenario
    standing = {entry.serial: entry for entry in plant_of.on_the_line}
    for flights, expected in ((0, 999.0), (1, -1.0), (2, -1.0)):
        entry = standing["S3"].model_copy(update={"at": ("FL",), "flights_flown": flights})
        sheet = Sheet(plant_of.model_copy(update={"on_the_line": (entry, standing["S5"])}))
        days = balance.passings(sheet, tables()).set_index(["run", "serial", "point"])["day"]
        yield exact(f"{flights} flights flown before the start: day of the first flight (-1: before, 999: never)", HAND,
                    expected, min(float(days[1, "S3", "first flight"]), 999.0))


PROOFS = (Proof("draws by date", by_date), Proof("runs one after the other", one_after_the_other),
          Proof("defects of halves", halves_with_defects), Proof("past the locked by hand", past_the_locked),
          Proof("locked on the way by hand", locked_on_the_way), Proof("past a buy-off by hand", past_a_buy_off),
          Proof("a way back by hand", way_back), Proof("flown in the window by hand", flown_in_the_window),
          Proof("flown before the start by hand", flown_before))
