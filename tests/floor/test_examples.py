"""Worked examples of the floor rules, through the scenario language and the real engine, to the minute."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import adapter
import pytest

from linesim.line.floor import run_once
from linesim.line.luck import Luck
from linesim.line.records import REASON_WORDS, State
from linesim.line.sheet import Sheet
from linesim.measures.chain import Chains
from linesim.measures.ledger import Ledger
from linesim.scenario.scenario import Scenario

OWN = Path(__file__).with_name("examples.json")
REASONS = {words: state for state, words in REASON_WORDS.items()} | {"waiting appointment": State.CUSTOMER,
                                                                       "engineering": State.PARTS}


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Every example with areas, from the file named by --examples."""
    if "example" in metafunc.fixturenames:
        path = Path(metafunc.config.getoption("--examples") or OWN)
        examples = [e for e in json.loads(path.read_text(encoding="utf-8"))["examples"] if "areas" in e["given"]]
        metafunc.parametrize("example", examples, ids=[e["id"] for e in examples])


@contextmanager
def given_uniforms(given: dict[str, Any]) -> Iterator[None]:
    """The draws of an example in place of the hash of their names: one uniform for each serial and long-lead item."""
    drawn, stated = Luck.digest, given.get("uniforms", {})

    def digest(luck: Luck, name: str) -> bytes:
        purpose, *key = name.split("/")
        if purpose == "long lead" and key[0] in stated:
            return (int(stated[key[0]] * 2**53) << 11).to_bytes(8, "little") + drawn(luck, name)[8:]
        return drawn(luck, name)

    Luck.digest = digest  # type: ignore[method-assign]
    try:
        yield
    finally:
        Luck.digest = drawn  # type: ignore[method-assign]


class Outcome:
    """What a run says, in the words of the examples."""

    def __init__(self, example: dict[str, Any]) -> None:
        self.sheet = Sheet(Scenario.model_validate(adapter.scenario_of(example)))
        with given_uniforms(example["given"]):
            self.calendar, self.records = self.sheet.calendar, run_once(self.sheet, seed=1, replication=0)
        self.ledger = Ledger(self.sheet, self.records)
        self.serials = self.records.serials

    def wall(self, t: float) -> str:
        return self.calendar.wall_text(t)

    def closed(self, serial: str | None, job: str | None) -> list[str]:
        return [self.wall(c.closed) for c in self.records.closings
                if (serial is None or self.serials[c.serial] == serial) and (job is None or c.job == job)]

    def hours(self, serial: str, reason: str) -> float:
        return self.ledger.of(self.serials.index(serial)).get(REASONS[reason], 0.0)

    def entered(self, serial: str, place: str) -> list[str]:
        return [self.wall(v.arrived) for v in self.records.visits
                if self.serials[v.serial] == serial and self.sheet.places[v.place].id == place and not v.parked]

    def delivered(self, serial: str) -> str | None:
        t = self.records.delivered.get(self.serials.index(serial))
        return None if t is None else self.wall(t)


def test_example(example: dict[str, Any]) -> None:
    """Each expected figure of the example comes out of the engine."""
    outcome = Outcome(example)
    checked = [key for key, value in example["expected"].items() if check(outcome, key, value)]
    assert len(checked) == len(example["expected"]), set(example["expected"]) - set(checked)


def check(o: Outcome, key: str, value: Any) -> bool:
    """Compare one expected figure; False if its wording is not understood (a failure of the test)."""
    words = key.split()
    named = words[0] in o.serials
    serial = words[0] if named else o.serials[0]
    rest = " ".join(words[1:] if named else words)
    if rest == "ledger":
        for reason, hours in value.items():
            assert o.hours(o.serials[-1], reason) == pytest.approx(hours, abs=1 / 60)
    elif rest.startswith("at ") and isinstance(value, dict):
        check_chain(o, serial, rest.removeprefix("at "), value)
    elif rest.startswith("hours: "):
        assert o.hours(serial, rest.removeprefix("hours: ")) == pytest.approx(value, abs=1 / 60)
    elif rest in REASONS and not isinstance(value, str):
        assert o.hours(serial, rest) == pytest.approx(value, abs=1 / 60)
    elif rest == "" and isinstance(value, list):
        begin, end = o.ledger.span(o.serials.index(serial))
        assert [(end - begin) / 60, sum(o.ledger.of(o.serials.index(serial)).values())] == pytest.approx(value)
    elif rest == "same":
        begin, end = o.ledger.span(o.serials.index(serial))
        assert (sum(o.ledger.of(o.serials.index(serial)).values()) == pytest.approx((end - begin) / 60)) is value
    elif rest == "closed" or rest == "":
        assert (o.closed(serial, None)[-1:] == [value] or (value == f"after {o.calendar.last_day}"
                and o.delivered(serial) is None))
    elif rest.endswith(" closed"):
        assert value in o.closed(serial if named else None, rest.removesuffix(" closed"))
    else:
        return check_instant(o, serial, rest, value)
    return True


def check_chain(o: Outcome, serial: str, place: str, value: dict[str, Any]) -> None:
    """F112: what set the date of a stay, in work days and clock hours outside the reference shift."""
    stay, = (stay for stay in Chains(o.ledger).stays(o.serials.index(serial))
             if o.sheet.places[stay.place].id == place and not stay.parked)
    assert list(stay.through) == value["through"]
    assert {REASON_WORDS[state]: days for state, days in stay.work_days.items()} == pytest.approx(value["work days"])
    assert {REASON_WORDS[state]: hours for state, hours in stay.outside_hours.items()} == pytest.approx(
        value["off-shift hours"])
    assert (stay.left - stay.arrived) / 60 == pytest.approx(value["stay hours"])


def check_instant(o: Outcome, serial: str, rest: str, value: Any) -> bool:
    """Deliveries, launches, moves, flights, slots, and sums."""
    made = {o.serials[n.serial]: n for n in o.records.launches}
    flights = [[o.wall(f.start), o.wall(f.end)] for f in o.records.flights]
    whole = [s for s in o.records.visits if not s.half and o.serials[s.serial] == serial]
    ledger = [sum(o.ledger.of(n).values()) for n in o.ledger.aircraft()]
    found: Any
    match rest.split():
        case ["delivered"] if isinstance(value, list):
            found = [o.wall(t) for t in o.records.delivered.values()]
        case ["delivered"] if isinstance(value, bool | int):
            found = len(o.records.delivered)
        case ["delivered"]:
            found = o.delivered(serial)
        case ["launched"]:
            found = o.wall(made[serial].made) if serial in made else False
        case ["late", "hours"]:
            found = (made[serial].made - made[serial].planned) / 60
        case ["in", place]:
            found = o.entered(serial, place)[0]
        case ["left", place]:
            found = next(o.wall(v.left) for v in o.records.visits if o.sheet.places[v.place].id == place)
        case ["rolls", "out"]:
            until = o.sheet.scenario.launches.most_on_line_until
            found = next(o.wall(v.left) for v in o.records.visits if o.sheet.places[v.place].id == until)
        case ["mate"]:
            found = o.wall(whole[0].arrived)
        case ["flight", number, "ends"]:
            found = flights[int(number) - 1][1]
        case ["flight", number, "starts"]:
            found = flights[int(number) - 1][0]
        case ["flight", number]:
            found = flights[int(number) - 1] if isinstance(value, list) else flights[int(number) - 1][0]
        case ["flights"]:
            found = len(flights)
        case ["fixed"]:
            found = next(o.wall(c.closed) for c in o.records.closings if c.job.startswith("squawk"))
        case ["part"]:
            found = next(o.wall(s.end) for s in o.records.segments if s.state == State.PARTS)
        case ["sum"]:
            found = pytest.approx(ledger[0])
        case ["ledger", "hours"] if isinstance(value, dict):
            found = pytest.approx({o.serials[n]: sum(o.ledger.of(n).values()) for n in o.ledger.aircraft()})
        case ["ledger", "hours"]:
            found = pytest.approx(ledger[0])
        case ["cert", "begins"]:
            found = o.wall(o.records.slots[0][2])
        case ["run", "ends"]:
            found = o.wall(o.records.ended)
        case ["stuck_from"]:
            found = o.wall(o.records.stuck[0].since)
        case ["areas"]:
            found = [o.sheet.places[n].id for n in o.records.stuck[0].places]
        case ["serials"]:
            found = [o.serials[n] for n in o.records.stuck[0].serials]
        case ["pulses"]:
            found = [o.wall(pulse.made) for pulse in o.records.pulses[:len(value)]]
        case ["pulse"] | ["moved"]:
            found = o.wall(o.records.pulses[1].made)
        case ["stop"]:
            stop = o.records.stops[0]
            causes = [o.serials[n] for n in stop.caused_by]
            found = {"from": o.wall(stop.start), "to": o.wall(stop.end), "caused_by": causes}
        case [job, "worked"]:
            found = max(o.wall(s.end) for s in o.records.segments if s.job == job and s.trade != "INS" and s.people)
        case ["deliveries"]:
            found = len(o.records.delivered)
        case ["deliveries", "in", "the", "run"]:
            found = sum(t < o.calendar.end for t in o.records.delivered.values())
        case ["flow", "time", "of"]:
            found = [o.serials[n] for n in o.records.delivered if n not in o.records.standing]
        case ["flow", "hours"]:
            n, = (n for n in o.records.delivered if n not in o.records.standing)
            begin, end = o.ledger.span(n)
            found = (end - begin) / 60
        case ["days"]:
            found = ["good" if good else "bad" for good in o.records.good_days[:len(value)]]
        case _:
            return False
    assert found == value
    return True
