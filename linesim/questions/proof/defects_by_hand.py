"""Hours that are drawn or multiplied, and the defects that they plant, on the smallest plants: rounds of repair, what
escapes the gates, what is expected of an aircraft."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ...line.records import State
from ...measures.ledger import Ledger
from ...measures.moment import spans_of
from .arithmetic import HAND
from .check import Check, each, exact, within
from .listed import Proof
from .plants import place, plant, run
from .rules_by_hand import NONE, at_work, closings, hour, work


def second_rounds() -> Iterator[Check]:
    """F71. One defect of an hour in each of 40 aircraft; a repair is refused with chance 0.5. Every round is another
    package with a name of its own, and the gate is repeated behind each."""
    serials = [f"S{n}" for n in range(1, 41)]
    gate = {"id": "g", "kind": "buy-off", "hours": 0, "gate": "position", "trade": "INS"}
    _, records = run(plant(
        [place("A", 1, 40, packages=[{"id": "a", "hours": 1, "trade": "T"}, gate])], 24 * 10,
        orders=[{"serial": serial} for serial in serials], trades={"T": {"people": 40}, "INS": {"people": 40}},
        quality={"defects_per_100_hours": 0, "repair_hours": 1, "second_round_chance": 0.5},
        known={"defects": [{"serial": serial, "package": "a", "found_by": "position", "hours": 1}
                           for serial in serials]}))
    repairs = [[c.job for c in records.closings if c.serial == n and c.job not in ("a", "g")] for n in range(40)]
    numbered = [["g repair T", *(f"g repair T {k}" for k in range(2, len(of) + 1))] for of in repairs]
    gates = [sum(c.serial == n and c.job == "g" for c in records.closings) for n in range(40)]
    rounds = [round(records.delivered.get(n, NONE) / 60) - 1 for n in range(40)]
    yield each("repairs by the hours after the work, names of repairs, gates but the first, by aircraft", HAND,
               [float(n) for n in rounds * 2], [float(n) for n in [*(len(set(of)) for of in repairs),
                                                                   *(count - 1 for count in gates)]])
    yield exact("aircraft whose rounds of repair are numbered without a gap", HAND, 40, sum(
        of == names for of, names in zip(repairs, numbered, strict=True)))
    yield within("repairs of a defect when half are refused", "geometric: mean 2, variance 2", 2, sum(rounds) / 40,
                 (2 / 40)**0.5)


def flight_line(docks: int) -> dict[str, Any]:
    """A flight of an hour for each aircraft, without squawks."""
    return {"id": "FL", "docks": docks, "flights": {"pilots": "P", "pilot_hours": 1, "flight_hours": 1, "squawks": {
        "mean_by_flight": [0], "fix_hours": 0, "trades": {"P": 1}}}}


def unseen() -> Iterator[Check]:
    """F70, F97. 10 defects in 100 h: of 100 h before a gate that finds half 5 escape, of 50 h after it all 5; a package
    of another scheme plants none. So it is too for aircraft that have all that behind them at the start."""
    count = 100
    names = [f"S{n}" for n in range(count)]
    packages = [work("a", 100), work("s", 300, schemes=["X"]),
                {"id": "g", "kind": "buy-off", "hours": 0, "gate": "position"}, work("b", 50)]
    standing = {"launches": {"moments": []}, "on_the_line": [{"serial": name, "at": "FL"} for name in names]}
    for name, parts in (("launched", {}), ("there at the start", standing)):
        _, records = run(plant(
            [{"id": "A", "docks": count, "packages": packages}, flight_line(count)], 24 * 40,
            trades={name: {"people": count} for name in ("T", "P", "INS")},
            orders=[{"serial": serial, "scheme": "Y"} for serial in names],
            quality={"defects_per_100_hours": 10, "found_in_position": 0.5, "repair_hours": 0}, **parts))
        yield within(f"defects that escape to flight, aircraft {name}", "Poisson", 10, sum(
            found for found, _ in records.escaped.values()) / count, (10 / count)**0.5)


def escapes() -> Iterator[Check]:
    """F73. Expected of an aircraft, at 10 defects in 100 h of which a gate finds half: those of the packages that its
    model and scheme have, 100 h, 50 h of scheme X, 40 h of model M, 20 h that half of all have; M takes double."""
    packages = [work("a", 100), work("s", 50, schemes=["X"]), work("m", 40, models=["M"]), work("c", 20, chance=0.5),
                {"id": "g", "kind": "buy-off", "hours": 0, "gate": "position"}]
    _, records = run(plant(
        [{"id": "A", "docks": 4, "packages": packages}, flight_line(4)], 24 * 40,
        trades={name: {"people": 4} for name in ("T", "P", "INS")}, work_time={"model_factors": {"M": 2}},
        orders=[{"serial": f"S{n}", "model": model, "scheme": scheme}
                for n, (model, scheme) in enumerate((("M", "X"), ("N", "X"), ("M", "Y"), ("N", "Y")))],
        quality={"defects_per_100_hours": 10, "found_in_position": 0.5, "repair_hours": 1}))
    yield each("escapes expected of aircraft of M and X, N and X, M and Y, N and Y", HAND,
               [2 * 10, 8, 2 * 7.5, 5.5], [records.escaped.get(n, (NONE, NONE))[1] for n in range(4)], 1e-9)


def drawn_holds() -> Iterator[Check]:
    """F110. A hold of 1 to 3 h is drawn for each aircraft; so is a buy-off. Mean 2, variance 1/3."""
    count = 300
    spread = {"uniform": {"low": 1, "high": 3}}
    for name, package in (("hold", {"id": "h", "kind": "hold", "elapsed_hours": spread}),
                          ("buy-off", {"id": "h", "kind": "buy-off", "hours": spread})):
        _, records = run(plant([{"id": "A", "docks": count, "packages": [package]}], 48, trades={
            "INS": {"people": count}}, orders=[{"serial": f"S{n}"} for n in range(count)]))
        took = [(c.closed - c.startable) / 60 for c in records.closings]
        yield within(f"length of a {name} of 1 to 3 h", "uniform: variance 1/3", 2, sum(took) / count,
                     (1 / 3 / count)**0.5)
        yield within(f"its variance, {name}", "uniform: fourth central moment 1/5", 1 / 3,
                     sum((t - 2)**2 for t in took) / count, ((1 / 5 - 1 / 9) / count)**0.5)


def factors() -> Iterator[Check]:
    """F52. 4 h at 1.5 for its model and 2 for its scheme: 12 h; each alone 6 and 8."""
    for model, scheme, expected in (("M", "X", 12), ("M", "Y", 6), ("N", "X", 8), ("N", "Y", 4)):
        _, records = run(plant(
            [{"id": "A", "packages": [work("a", 4)]}], 72, trades={"T": {"people": 1}},
            orders=[{"serial": "S1", "model": model, "scheme": scheme}],
            work_time={"model_factors": {"M": 1.5}, "scheme_factors": {"X": 2}}))
        yield exact(f"4 h of model {model} and scheme {scheme}: hours", HAND, expected, closings(records)[0], 1e-6)


def dialled() -> Iterator[Check]:
    """F70. 10 h of 100 aircraft at 20 defects in 100 h and a dial of 3: six of each in the mean, all found. Half as
    many at each doubling of the unit number: of units 101 to 200, at 25, a quarter to an eighth, 25 / n."""
    count = 100
    for name, parts, mean in (("", {}, 6.0), (" and learning", {"learning_slope": 0.5}, sum(
            6 * 25 / n for n in range(101, 201)) / count)):
        _, records = run(plant(
            [{"id": "A", "docks": count, "packages": [work("a", 10), {
                "id": "g", "kind": "buy-off", "hours": 0, "gate": "position"}]}], 48,
            trades={name: {"people": count} for name in ("T", "INS")},
            orders=[{"serial": f"S{n}"} for n in range(101, 101 + count)],
            work_time={"learning": {"slope": 1, "units_before_start": 100, "hours_stated_at_unit": 25}},
            quality={"defects_per_100_hours": 20, "dial": 3, "found_in_position": 1, "repair_hours": 0, **parts}))
        yield within(f"defects of 10 h at 20 in 100 h, three times{name}", "Poisson", mean, len(records.found) / count,
                     (mean / count)**0.5)


def answers() -> Iterator[Check]:
    """F116. The gate ends on Monday at 11:30 and finds an hour's repair. It waits for an answer of two work days, until
    Wednesday 11:30, is done at 12:30, and the gate once more at 13:30; without an answer on Monday at 13:30."""
    gate = {"id": "g", "kind": "buy-off", "hours": 1, "gate": "position"}
    for package, days, expected in (("g", 2, hour(6, 13.5)), ("g", 0, hour(4, 13.5)), ("a", 2, hour(4, 13.5))):
        sheet, records = at_work(
            [work("a", 4), gate], quality={"defects_per_100_hours": 0, "repair_hours": 1}, known={
                "answers": [{"serial": "S1", "package": package, "work_days": days}],
                "defects": [{"serial": "S1", "package": "a", "found_by": "position", "hours": 1}]})
        yield exact(f"an answer of {days} work days for {package}: hours until delivery", HAND, expected,
                    records.delivered.get(0, NONE) / 60, 1e-6)
        waits = [span.end - span.start for span in spans_of(Ledger(sheet, records), 0) if span.state == State.PARTS]
        yield exact("the same: hours of waiting for engineering", HAND, expected - hour(4, 13.5), sum(waits) / 60, 1e-6)


def fixings() -> Iterator[Check]:
    """F71, F120. 10 h of avionics work, an hour's check until Tuesday 09:00, and the package in which what it finds is
    fixed: none when nothing is found; 2 and 1.5 h of what is found, or its own hours when it is stated to exist."""
    packages = [work("a", 10, avionics=True), work("c", 1, gate="avionics check"), work("f", 5, rework=True)]
    found = [{"serial": "S1", "package": "a", "found_by": "avionics check", "hours": hours} for hours in (2, 1.5)]
    for name, known, expected in (("nothing found", {}, 9), ("two found", {"defects": found}, 13), (
            "stated to exist", {"packages": [{"serial": "S1", "package": "f", "exists": True}]}, 14.5), (
            "two found, stated not to exist",
            {"defects": found, "packages": [{"serial": "S1", "package": "f", "exists": False}]}, 9)):
        _, records = at_work(packages, quality={"defects_per_100_hours": 0, "repair_hours": 1}, known=known)
        yield exact(f"avionics check, {name}: hours until delivery", HAND, hour(5, expected),
                    records.delivered.get(0, NONE) / 60, 1e-6)


PROOFS = (Proof("second rounds of repair", second_rounds), Proof("escapes expected by hand", escapes),
          Proof("defects that no gate sees", unseen), Proof("holds that are drawn", drawn_holds),
          Proof("factors of hours by hand", factors), Proof("defects by the dial", dialled),
          Proof("answers of engineering by hand", answers), Proof("fixing what a check finds by hand", fixings))
