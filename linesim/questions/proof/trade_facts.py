"""Facts of the trade on runs of the demo (common practice, no source): order of work, tool checks at both ends of a
shift, torque verification, check before panels close, squawks fixed before acceptance, touch-up after flight test.

Each counts how often a run breaks the rule, and how often it was looked at: a rule that never applies proves nothing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from math import fsum

from ...line.records import Records, State
from ...measures.columns import Columns
from ...measures.labour import ACCOUNT, labour
from ...measures.ledger import Ledger
from ...measures.run import numbers_of
from .arithmetic import floor, work
from .check import Check, exact
from .listed import Proof
from .plants import demo, run

PRACTICE = "common practice, no source"
LAW = "14 CFR 21.127, 21.183 (from memory): every aircraft is flown before its certificate"
AT_WORK = (State.WORK, State.REWORK)


def held(name: str, source: str, seen: Iterable[bool], least: int) -> Check:
    """How often a rule is broken; not a number, if it was looked at fewer than `least` times."""
    found = list(seen)
    return exact(f"{name}: times broken", source, 0, found.count(False) if len(found) >= least else float("nan"))


class Lives:
    """When work began and closed on each aircraft of a run, by package."""

    def __init__(self, records: Records) -> None:
        self.began: dict[tuple[int, str], float] = {}
        self.closed: dict[tuple[int, str], float] = {}
        self.first_closed: dict[tuple[int, str], float] = {}
        for s in records.segments:
            if s.people:
                self.began[s.serial, s.job] = min(s.start, self.began.get((s.serial, s.job), s.start))
        for c in records.closings:
            self.closed[c.serial, c.job] = max(c.closed, self.closed.get((c.serial, c.job), c.closed))
            self.first_closed[c.serial, c.job] = min(c.closed, self.first_closed.get((c.serial, c.job), c.closed))

    def before(self, first: str, then: str) -> Iterator[bool]:
        """For each aircraft with both: `first` is closed when `then` begins."""
        for (serial, job), moment in self.began.items():
            if job == then and (serial, first) in self.closed:
                yield self.closed[serial, first] <= moment + 1e-6


def order_of_work() -> Iterator[Check]:
    """Engine run, paint, avionics check, closing of panels, flight, touch-up, certificate, acceptance."""
    scenario = demo()
    if scenario is None:
        return
    _, records = run(scenario, 3)
    lives, launched = Lives(records), {entry.serial for entry in records.launches}
    for name, first, then in (
            ("engine run before paint", "ER-20", "PP-10"), ("paint before interior", "PB-final", "IA-10"),
            ("avionics check before panels close", "IA-10", "IA-30"),
            ("faults of the check fixed before panels close", "IA-20", "IA-30"),
            ("touch-up before final inspection", "FC-10", "FC-90"), ("sealer cured before base colour", "PB-seal cure",
                                                                     "PB-base")):
        yield held(name, PRACTICE, lives.before(first, then), 20)
    flown: dict[int, float] = defaultdict(float)
    first_flight: dict[int, float] = {}
    for flight in records.flights:
        flown[flight.serial] = max(flown[flight.serial], flight.end)
        first_flight[flight.serial] = min(flight.start, first_flight.get(flight.serial, flight.start))
    yield held("inspection before flight closed before the first flight", PRACTICE, (
        lives.first_closed[serial, "FL-90"] <= t for serial, t in first_flight.items() if serial in launched), 40)
    yield held("touch-up after the last flight", PRACTICE, (
        flown[serial] <= t for (serial, job), t in lives.began.items() if job == "FC-10" and serial in flown), 40)
    slots: dict[str, dict[int, float]] = {"FC-99": {}, "acceptance": {}}
    for serial, what, begins, _ in records.slots:
        slots[what][serial] = min(begins, slots[what].get(serial, begins))
    yield held("certificate after the last flight and the final inspection", LAW, (
        max(flown[serial], lives.closed[serial, "FC-90"]) <= t for serial, t in slots["FC-99"].items()
        if serial in launched), 40)
    yield held("acceptance after the certificate", PRACTICE, (
        lives.closed[serial, "FC-99"] <= t for serial, t in slots["acceptance"].items() if serial in launched), 40)
    yield held("squawks of flight test fixed before acceptance", PRACTICE, _fixed(records, slots["acceptance"]), 40)
    yield held("every delivered aircraft was flown at least twice", PRACTICE, (
        sum(flight.serial == serial for flight in records.flights) >= 2
        for serial in records.delivered if serial in launched), 40)


def _fixed(records: Records, begins: dict[int, float]) -> Iterator[bool]:
    """Work on squawks written up by a flight is over when acceptance begins."""
    flight_line = {visit.serial: visit.left for visit in records.visits if visit.serial in begins and any(
        flight.serial == visit.serial and visit.arrived <= flight.start < visit.left for flight in records.flights)}
    for c in records.closings:
        if "squawk" in c.job and c.serial in flight_line and c.startable < flight_line[c.serial]:
            yield c.closed <= begins[c.serial]


def tool_checks() -> Iterator[Check]:
    """No hands-on work inside the tool checks of the day shift, and everybody is paid for both checks."""
    scenario = demo()
    if scenario is None:
        return
    plain = scenario.model_copy(update={"attendance": None})
    sheet, records = run(plain, 4)
    shift, control = plain.shifts["day"], plain.tool_control
    assert control is not None
    assert shift.start is not None
    assert shift.end is not None
    begin, end = (60 * int(text[:2]) + int(text[3:]) for text in (shift.start, shift.end))
    worked = [s for s in records.segments if s.state in AT_WORK and s.people and s.shift == "day"]
    wall = sheet.calendar.wall
    clock = [(_minute(wall(s.start)), _minute(wall(s.end))) for s in worked]
    yield held("no hands-on work before the tool check at the start of the shift is over", PRACTICE, (
        begin + control.start_check_minutes <= a for a, _ in clock), 1000)
    yield held("no hands-on work after the tool check at the end of the shift has begun", PRACTICE, (
        b <= end - control.end_check_minutes + 1e-6 for _, b in clock), 1000)
    account = labour(sheet, Columns(sheet, records))
    ground = [n for n, trade in enumerate(plain.trades) if trade != "FTP"]  # a flight over the meal is paid on top
    checked, paid = (account[ground][..., ACCOUNT.index(entry)].sum() for entry in ("checked", "paid"))
    share = (control.start_check_minutes + control.end_check_minutes) / (end - begin - (shift.meal_minutes or 0))
    yield exact("share of the paid hours spent on tool checks", PRACTICE, share, float(checked / paid), 1e-6)
    yield exact("paid hours are worked, checked, breaks, trained, absent or idle: difference, hours", PRACTICE, 0,
                float(account[..., 1:].sum() - account[..., 0].sum()), 1e-4)


def _minute(moment) -> float:  # type: ignore[no-untyped-def]
    return float(moment.hour * 60 + moment.minute + moment.second / 60 + moment.microsecond / 6e7)


def torque() -> Iterator[Check]:
    """A torque tool found out at the daily verification recalls what it tightened the shift before."""
    for chance, hours in ((0.0, 0.0), (1.0, 2.0)):
        _, records = floor([{"id": "A", "packages": [work("a", 12, torque=True)]},
                            {"id": "B", "packages": [work("b", 40)]}], 2,
                           tool_control={"torque_recall": {"chance": chance, "hours": 2}})
        again = sum((s.end - s.start) * s.people for s in records.segments if s.state == State.REWORK) / 60
        yield exact(f"torque tools out with chance {chance:g}: hours worked again on the aircraft of the shift before",
                    PRACTICE, hours, again, 1e-6)


def conservation() -> Iterator[Check]:
    """Aircraft that came are delivered, stock, or on the floor; the hours of each have one reason."""
    scenario = demo()
    if scenario is None:
        return
    sheet, records = run(scenario, 5)
    came = [entry.serial for entry in records.launches] + records.standing
    there = {visit.serial for visit in records.unfinished} - {*records.delivered, *records.stock_ready}
    yield exact("aircraft that came less those delivered, finished for stock or on the floor", "in = out + there", 0,
                len(came) - len(records.delivered) - len(records.stock_ready) - len(there))
    yield exact("aircraft launched twice", "in = out + there", 0, len(came) - len(set(came)))
    ledger = Ledger(sheet, records)
    serials = ledger.aircraft()
    hours = ledger.by_aircraft(serials)
    spans = [(ledger.span(serial)[1] - ledger.span(serial)[0]) / 60 for serial in serials]
    yield exact("hours by reason less time on the floor, worst aircraft", "every hour has one reason", 0, max(
        abs(float(row.sum()) - span) for row, span in zip(hours, spans, strict=True)), 1e-6)
    numbers = numbers_of(sheet, records)
    flow = fsum(numbers.flow_hours.values())
    yield exact("hours by reason of the aircraft delivered in the window", "every hour has one reason", flow,
                fsum(numbers.reasons.values()), 1e-6 * flow)
    days, outside = numbers.chain.sum(axis=(1, 2))
    yield exact("what set the dates: work days x hours of one, and hours outside the reference shift", "each instant "
                "of a stay waits for one thing", flow,
                float(days * sheet.calendar.work_day / 60 + outside), 1e-6 * flow)
    yield exact("flights and squawks of a run", "records", len(records.flights) + sum(
        flight.squawks for flight in records.flights), numbers.flights + numbers.squawks)
    of_places = ledger.of_places().sum(axis=1)
    yield exact("hours of a place by reason less docks x hours, worst place", "every hour has one reason", 0, max(
        abs(float(of_places[n]) - place.docks * records.ended / 60) for n, place in enumerate(sheet.places)), 1e-6)


PROOFS = tuple(Proof(name, checks) for name, checks in (
    ("order of work on the demo", order_of_work), ("tool checks on the demo", tool_checks), ("torque recall", torque),
    ("conservation on the demo", conservation)))
