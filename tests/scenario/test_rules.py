"""Rules that tie the parts of a scenario together, and that they are read over the rest of a file with faults."""

from __future__ import annotations

import pytest

from linesim.scenario.faults import ScenarioFaults
from linesim.scenario.reading import parse_scenario

TOP = "name: Small"
PLANT = """\
name: Small
start: 2027-01-04
end: 2027-03-31
shifts: {day: {start: "06:00", end: "14:30", meal_minutes: 30}}
trades:
  ASM: {people: {day: 3}}
  INS: {people: {day: 1}}
positions:
  - id: Bay
    packages:
      - {id: a1, trade: ASM, hours: 8, crew_max: 2}
      - {id: a2, kind: buy-off, trade: INS, hours: 1}
  - id: Ramp
    packages:
      - {id: b1, trade: ASM, hours: 6}
launches: {takt_work_days: 1}
orders:
  - {serial: S1, model: D4, scheme: two_tone, promised: 2027-01-07}
"""
SHIFT = 'start: "06:00", end: "14:30", meal_minutes: 30'
ORDERS = "orders:\n  - {serial: S1, model: D4, scheme: two_tone, promised: 2027-01-07}\n"
BUY_OFF = "kind: buy-off, trade: INS, hours: 1"
RAMP = "  - id: Ramp\n"


def faults_of(text: str) -> list[str]:
    """Messages of a text that cannot run."""
    with pytest.raises(ScenarioFaults) as found:
        parse_scenario(text, "small.yaml")
    return [str(fault) for fault in found.value.faults]


def added(line: str) -> str:
    """The top line with another one below it."""
    return f"{TOP}\n{line}"


@pytest.mark.parametrize(("old", "new", "where", "says"), [
    # dates
    ("end: 2027-03-31", "end: 2026-12-31", "3:1", "must not lie before the start"),
    ("start: 2027-01-04\nend: 2027-03-31", "start: 2027-01-02\nend: 2027-01-03", "3:1", "no work day lies between"),
    (TOP, added("window: {from: 2027-01-09, to: 2027-01-10}"), "2:1", "no work day lies inside it"),
    (TOP, added("window: {from: 2027-01-01, to: 2027-03-01}"), "2:10", "2027-01-01 is a work day"),
    (TOP, added("window: {from: 2027-02-01, to: 2027-04-30}"), "2:28", "2027-04-01 is a work day"),
    (TOP, added("window: {from: 2028-01-03, to: 2028-02-01}"), "2:1", "lies outside the run"),
    (TOP, added("window: {from: 2027-02-01, to: 2027-01-10}"), "2:28", "must not lie before"),
    (TOP, added("calendar: {work_weekdays: []}"), "2:12", "at least one weekday"),
    (TOP, added("run_on_months: 99999"), "2:1", "at most 600"),
    (TOP, added("time_zone: America/Detriot"), "2:1", "did you mean 'America/Detroit'?"),
    ("takt_work_days: 1", "takt_work_days: 1, steps: [{from: 2027-03-01, takt_work_days: 2}, "
     "{from: 2027-02-01, takt_work_days: 3}]", "16:31", "must ascend; 2027-02-01 follows 2027-03-01"),
    (TOP, added("plans: [{name: p, steps: [{from: 2027-03-01, takt_work_days: 2}, "
                "{from: 2027-02-01, takt_work_days: 3}]}]"), "2:19", "must ascend"),
    (TOP, added("known: {tool_locks: [{serial: S1, from: 2027-01-05 09:00, to: 2027-01-05 08:00}]}"), "2:22",
     "must end after it begins"),
    (TOP, added("known: {out_of_service: [{position: Bay, from: 2027-01-05 09:00, to: 2027-01-05 08:00}]}"), "2:26",
     "must end after it begins"),
    (TOP, added("known: {out_of_service: [{position: Bay}]}"), "2:26", "either a date, or from and to"),
    (TOP, added("known: {squawks: [{serial: S1}]}"), "2:19", "either flight or acceptance"),
    # shifts
    (SHIFT, 'work: ["06:00-10:00", "09:00-14:00"]', "4:10", "overlap"),
    (SHIFT, 'start: "06:00", end: "06:20", meal_minutes: 20', "4:10", "no time for work is left"),
    (SHIFT, 'start: "06:00", end: "47:00"', "4:10", "longer than a day"),
    # names
    ("{day: 3}", "{dya: 3}", "6:18", "unknown shift 'dya'; did you mean 'day'?"),
    (RAMP, RAMP + "    flights: {pilots: INZ, pilot_hours: 2, flight_hours: 1}\n", "14:15", "did you mean 'INS'?"),
    (RAMP, RAMP + "    acceptance: {delivery_trade: DEL}\n", "14:18", "unknown trade 'DEL'; there is ASM, INS"),
    (TOP, added("stock: {unsold_slots: build, model: D5}"), "2:30", "unknown model 'D5'; there is D4"),
    (TOP, added("stock: {unsold_slots: build, scheme: two_tne}"), "2:30", "did you mean 'two_tone'?"),
    (TOP, added("known: {hours: [{serial: S2, package: a1, hours: 1}]}"), "2:18", "unknown serial 'S2'; there is S1"),
    (TOP, added("known: {hours: [{serial: S1, package: a11, hours: 1}]}"), "2:30", "unknown package 'a11'; did"),
    (TOP, added("known: {out_of_service: [{position: Ba, date: 2027-01-05}]}"), "2:27", "did you mean 'Bay'?"),
    (TOP, added("known: {present: [{trade: ASN, date: 2027-01-05, people: 1}]}"), "2:20", "did you mean 'ASM'?"),
    (TOP, added("known: {present: [{trade: ASM, shift: dy, date: 2027-01-05, people: 1}]}"), "2:32", "mean 'day'?"),
    (TOP, added("known: {squawks: [{serial: S1, flight: 1, squawks: [{trade: ASN, hours: 1}]}]}"), "2:54", "'ASM'?"),
    (TOP, added("known: {repeats: [{serial: S1, position: Bya, times: 1}]}"), "2:32", "did you mean 'Bay'?"),
    (TOP, added("pulse: {positions: [Bay, Rmap]}"), "2:9", "unknown position 'Rmap'; did you mean 'Ramp'?"),
    (TOP, added("work_rules: {dispatch: {places: [Bay, Rmap]}}"), "2:25", "did you mean 'Ramp'?"),
    ("{day: 3}", "{day: 3}, dispatch: {places: [Rmap]}", "6:38", "did you mean 'Ramp'?"),
    (TOP, added("plans: [{name: as now}]\ncomparisons: [{name: c, plan: as nwo}]"), "3:25", "did you mean 'as now'?"),
    (TOP, added("plans: [{name: as now}, {name: as now}]"), "2:26", "plan 'as now' is written twice"),
    (TOP, added("on_the_line: [{serial: S1, at: Rmap}]"), "2:28", "did you mean 'Ramp'?"),
    (TOP, added("on_the_line: [{serial: S1, at: Bay, packages_done: [a3]}]"), "2:37", "unknown package 'a3'"),
    (TOP, added("on_the_line: [{serial: S1, at: [Bay, Ramp]}]"), "2:28", "stands in one position"),
    (TOP, added("fleet_holds: [{from: 2027-02-01, serials: [S9], hours: 1}]"), "2:34", "unknown serial 'S9'"),
    (ORDERS, "orders: unlimited\non_the_line: [{serial: '1', at: Bay}]\n", "18:16", "needs an order book"),
    (ORDERS, "orders: unlimited\nknown: {hours: [{serial: S1, package: a1, hours: 1}]}\n", "18:18", "order book"),
    # buy-off
    (BUY_OFF, "kind: buy-off, trade: ASM, hours: 1", "12:9", "ASM would buy off its own work"),
    (BUY_OFF, "kind: hold, elapsed_hours: 2}\n      - {id: a3, kind: buy-off, trade: ASM", "13:9", "its own work"),
    ("hours: 8", "hours: 8, inspection_hours: 1, inspector: ASM", "11:9", "would buy off its own work"),
    ("{day: 3}}", "{day: 3}, cover: {INS: 1}}", "6:35", "neither lends nor borrows; INS buys off"),
    # ways
    ("id: a1, trade", "id: a1, after: [a2], trade", "11:9", "in a ring: a1 after a2 after a1"),
    (RAMP, "  - id: Ramp\n    next: Bay\n", "9:5", "the routing goes in a ring: Bay, Ramp, Bay"),
    ("  - id: Bay\n", "  - id: Bay\n    next: out\n", "14:5", "no aircraft can reach this position"),
    (RAMP, RAMP + "    back_to: {position: Bay, chance: 1}\n", "14:30", "must be below 1"),
    (RAMP, RAMP + "    repeat_chance: 1\n", "14:5", "must be below 1"),
    # sizes
    ("hours: 8", "hours: 1.0e+9", "11:30", "must be at most 1,000,000"),
    ("crew_max: 2", "crew_max: 200000", "11:40", "must be at most 10,000"),
    (TOP, added("weather: {runway_deg: 360}"), "2:11", "must be below 360"),
    (TOP, added("weather: {runway_deg: -10}"), "2:11", "must be 0 or more"),
    ("promised: 2027-01-07", "promised: 0007-01-07", "18:47", "of the years 1900 to 2199"),
    ("meal_minutes: 30", "meal_minutes: 3000", "4:46", "must be at most 1,440"),
])
def test_one_rule(old: str, new: str, where: str, says: str) -> None:
    """Each rule refuses the file that breaks it, at the place that breaks it."""
    assert old in PLANT
    found = faults_of(PLANT.replace(old, new, 1))
    assert any(message.startswith(f"small.yaml:{where}:") and says in message for message in found), found


@pytest.mark.parametrize(("old", "new"), [
    (TOP, added("calendar: {closed: {2027-01-01: New Year}}\nwindow: {from: 2027-01-01, to: 2027-03-31}")),
    (TOP, added("window: {from: 2027-01-02, to: 2027-03-31}")),
    (TOP, added("weather: {runway_deg: 0}")),
    (TOP, added("work_rules: {dispatch: {places: [Ramp, Bay]}}")),
    (TOP, added("stock: {unsold_slots: build, model: D4, scheme: two_tone}")),
    ("people: {day: 3}", "people: {}"),                                  # nobody of a trade is only a caution
    (SHIFT, 'work: ["22:00-24:00", "00:30-06:00"]'),
    (BUY_OFF, "kind: appointment, certificate: true"),
    (RAMP, RAMP + "    flights: {pilots: ASM, pilot_hours: 2, flight_hours: 1}\n"),
    ("      - {id: b1, trade: ASM, hours: 6}\n", "      - {id: b1, kind: appointment, certificate: true}\n"
     "    flights: {pilots: ASM, pilot_hours: 2, flight_hours: 1}\n"),   # certificate in the place of the flights
    (ORDERS, "orders: unlimited\nknown: {hours: [{serial: '3', package: a1, hours: 1}]}\n"),
    ("  - id: Bay\n", "  - id: Bay\n    next: Ramp\n    back_to: {position: Shed, chance: 0.1}\n"
     "  - id: Shed\n    next: Bay2\n  - id: Bay2\n    next: Ramp\n"),
])
def test_what_may_stand(old: str, new: str) -> None:
    """A rule does not refuse what it allows."""
    assert parse_scenario(PLANT.replace(old, new, 1)).name == "Small"


def lines(found: list[str]) -> list[str]:
    """Line numbers of the messages."""
    return [message.split(":")[1] for message in found]


def test_rules_are_read_over_the_rest_of_a_file_with_faults() -> None:
    """A wrong value hides no fault elsewhere: unknown names, dates, rings and sizes are said in the same breath."""
    text = PLANT
    for old, new in (("hours: 8", "hours: -8"), ("name: Small", "nme: Small"), ("b1, trade: ASM", "b1, trade: ASN"),
                     ("end: 2027-03-31", "end: 2026-03-31"), ("serial: S1", "srial: S1"),
                     ("takt_work_days: 1", "takt_work_days: 1, saturated: true")):
        assert old in text
        text = text.replace(old, new, 1)
    found = faults_of(text)
    assert lines(found) == ["1", "1", "3", "11", "15", "16", "18", "18"], found
    assert "unknown field 'nme'; did you mean 'name'?" in found[1]
    assert "'name' is missing" in found[0]


@pytest.mark.parametrize(("changes", "says"), [
    ([("id: Bay", "idd: Bay"), (TOP, added("pulse: {positions: [Bay, Ramp]}"))], ["'id' is missing", "'idd'"]),
    ([("trades:", "trdaes:")], ["unknown field 'trdaes'; did you mean 'trades'?"]),
    ([("positions:", "positins:")], ["'positions' is missing", "unknown field 'positins'"]),
    ([("orders:", "ordrs:"), (TOP, added("on_the_line: [{serial: S1, at: Bay}]"))], ["'orders' is missing", "'ordrs'"]),
    ([("serial: S1", "serial: 0249"), (TOP, added("on_the_line: [{serial: S7, at: Bay}]"))],
     ["must be text, found 249; put it in quotes"]),
    ([(RAMP, RAMP + "    next: [Bay]\n"), ("  - id: Bay\n", "  - id: Bay\n    next: out\n")], ["must be text"]),
    ([("hours: 1}", "hours: x, elapsed_hours: -1}")], ["found 'x'", "not a number of 0 or more"]),
    ([("start: 2027-01-04", "start: 4.1.2027"), (TOP, added("window: {from: 2020-01-01, to: 2020-02-01}"))],
     ["must be a date"]),
    ([("launches: {takt_work_days: 1}", "launches: {takt_work_days: one}")], ["must be a number, found 'one'"]),
    ([(TOP, added("work_rules: {dispatch: {palces: [Bay]}}"))], None),
    ([("start: \"06:00\"", "start: 6")], ["clock time HH:MM"]),
])
def test_a_fault_has_no_echo(changes: list[tuple[str, str]], says: list[str] | None) -> None:
    """What follows from a fault that is said already is not said again as another one."""
    text = PLANT
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    found = faults_of(text)
    if says is None:
        assert set(lines(found)) == {"2"}
        return
    assert len(found) == len(says), found
    for part in says:
        assert any(part in message for message in found), (part, found)


def test_travelled_work_is_closed_on_the_pulse_line() -> None:
    """A place beyond it is one that travelled work never comes to."""
    text = PLANT.replace("hours: 8, crew_max: 2", "hours: 8, can_travel: true, latest_position: Ramp").replace(
        TOP, added("pulse: {positions: [Bay]}"), 1)
    found, = faults_of(text)
    assert "latest_position" in found
    assert "Ramp is no position of the pulse line, Bay" in found
