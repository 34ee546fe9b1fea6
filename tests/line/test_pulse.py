"""The pulse line by exact small cases: when it is due, who hinders it, at night, at a step of the takt, at the exit."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from linesim.line.floor import run_once
from linesim.line.records import Records, State
from linesim.line.sheet import Sheet
from linesim.measures.ledger import Ledger
from linesim.scenario.reading import read_scenario
from linesim.scenario.scenario import Scenario

DEMO = Path(__file__).parents[2] / "scenarios" / "birchwater.yaml"
SHIFT = {"day": {"work": ["06:00-10:00", "10:30-14:30"]}}


def run(hours: dict[str, list[float]], takt: float = 1, after: list[dict[str, Any]] | None = None,
        **changes: Any) -> tuple[Sheet, Records]:
    """Positions P1, P2, ... with one package each; hours of S1, S2, ... in each; one mechanic each package."""
    serials = [f"S{n + 1}" for n in range(max(map(len, hours.values())))]
    facts = [{"serial": serial, "package": place.lower(), "hours": value}
             for place, row in hours.items() for serial, value in zip(serials, row, strict=False)]
    pulse = {"positions": list(hours), **changes.pop("pulse", {})}
    known = {"hours": facts, **changes.pop("known", {})}
    positions = [{"id": place, "packages": [changes.pop(place, {"id": place.lower(), "trade": "ASM", "hours": 1})]}
                 for place in hours]
    orders = [{"serial": serial} for serial in serials]
    sheet = Sheet(Scenario.model_validate({
        "name": "pulse", "start": "2027-01-04", "end": "2027-02-28", "shifts": SHIFT, "trades": {"ASM": {"people": 9}},
        "positions": [*positions, *(after or [])], "orders": orders,
        "launches": {"takt_work_days": takt, **changes.pop("launches", {})}, "pulse": pulse, "known": known,
        **changes}))
    return sheet, run_once(sheet, 1, 0)


def pulses(sheet: Sheet, records: Records, number: int) -> list[str]:
    """Wall times of the first pulses."""
    return [sheet.calendar.wall_text(pulse.made) for pulse in records.pulses[:number]]


def test_a_pulse_at_the_end_of_a_shift_belongs_to_the_next_working_minute() -> None:
    """F6, F42: a takt of half a day falls after the meal, that of a whole day on the next morning; work that ends
    exactly then is done."""
    sheet, records = run({"P1": [4, 4, 4], "P2": [4, 4, 4]}, takt=0.5)
    assert pulses(sheet, records, 4) == ["2027-01-04 06:00", "2027-01-04 10:30", "2027-01-05 06:00", "2027-01-05 10:30"]
    assert records.stops == []


def test_the_line_moves_at_night_when_the_last_obstacle_ends_then() -> None:
    """F43: a hold that ends at 02:00 ends the line stop at 02:00."""
    sheet, records = run({"P1": [1, 1], "P2": [1, 1]}, P1={"id": "p1", "kind": "hold", "elapsed_hours": 44},
                         known={"hours": [{"serial": s, "package": "p1", "hours": 44} for s in ("S1", "S2")]})
    assert pulses(sheet, records, 2) == ["2027-01-04 06:00", "2027-01-06 02:00"]
    assert [(sheet.calendar.wall_text(s.start), sheet.calendar.wall_text(s.end), s.caused_by)
            for s in records.stops[:1]] == [("2027-01-05 06:00", "2027-01-06 02:00", (0,))]


def test_a_step_of_the_takt_during_a_stop_moves_the_line_once() -> None:
    """F40, F44: the stop runs from Tuesday to Thursday 08:00; the takt in force then, two days, counts from there."""
    steps = {"steps": [{"from": "2027-01-06", "takt_work_days": 2}]}
    sheet, records = run({"P1": [26, 1, 1], "P2": [1, 1, 1]}, launches=steps)
    assert pulses(sheet, records, 3) == ["2027-01-04 06:00", "2027-01-07 08:00", "2027-01-11 08:00"]
    assert len({pulse.made for pulse in records.pulses}) == len(records.pulses)


def test_the_next_pulse_is_later_than_a_late_one_that_falls_on_its_planned_moment() -> None:
    """F44 option: planned moments that passed, and the one of this very instant, are lost."""
    sheet, records = run({"P1": [16, 1, 1], "P2": [1, 1, 1]}, pulse={"after_stop": "keep the plan"})
    # S1 comes to P2 at the end of Tuesday's shift and needs an hour of Wednesday's
    assert pulses(sheet, records, 3) == ["2027-01-04 06:00", "2027-01-05 14:30", "2027-01-06 07:00"]
    assert sheet.calendar.wall_text(records.pulses[2].due) == "2027-01-06 06:00"


def test_an_exit_that_is_taken_stops_the_line() -> None:
    """F43, F45: S1 is closed in the last position and has no place beyond until S0's soak there is over."""
    sheet, records = run({"P1": [4, 4, 4], "P2": [4, 4, 4]}, after=[
        {"id": "OUT", "packages": [{"id": "soak", "kind": "hold", "elapsed_hours": 60}]}])
    # S1: P2 on Tuesday 06:00, closed 10:00, OUT 10:00 to Thursday 22:00; S2: P2 on Wednesday, closed 10:00, no place
    assert pulses(sheet, records, 4) == ["2027-01-04 06:00", "2027-01-05 06:00", "2027-01-06 06:00", "2027-01-07 22:00"]
    stop, = [stop for stop in records.stops if stop.end < 8 * 1440]
    assert (sheet.calendar.wall_text(stop.start), stop.caused_by) == ("2027-01-07 06:00", (1,))
    ledger = Ledger(sheet, records)
    assert ledger.of(1)[State.BLOCKED] == pytest.approx(36)  # Wednesday 10:00 to Thursday 22:00: it hinders itself
    assert ledger.of(2)[State.LINE_STOP] == pytest.approx(16)  # Thursday 06:00 to 22:00


def test_roll_out_on_the_pulse() -> None:
    """F45 option: the last position too waits for the pulse."""
    hours = {"P1": [4.0], "P2": [4.0]}
    sheet, records = run(hours)
    assert sheet.calendar.wall_text(records.delivered[0]) == "2027-01-05 10:00"
    sheet, records = run(hours, pulse={"roll_out": "on the pulse"})
    assert sheet.calendar.wall_text(records.delivered[0]) == "2027-01-06 06:00"


def test_only_those_behind_the_obstacle_stand() -> None:
    """F43 option: S2 needs 12 h in P2; S1 ahead of it in P3 moves on when due, S3 behind it waits."""
    hours = {"P1": [4.0, 4, 4], "P2": [4, 12, 4], "P3": [4, 4, 4], "P4": [4, 4, 4]}
    for stops, moved in (("whole line", "2027-01-07 10:00"), ("those behind", "2027-01-07 06:00")):
        sheet, records = run(hours, pulse={"stops": stops})
        p3 = next(place.index for place in sheet.places if place.id == "P3")
        assert [sheet.calendar.wall_text(v.left) for v in records.visits if v.serial == 0 and v.place == p3] == [moved]
        assert [sheet.calendar.wall_text(v.left) for v in records.visits if v.serial == 1 and v.place == p3 - 1] == [
            "2027-01-07 10:00"]


def test_let_go_hours_before_the_pulse() -> None:
    """F47 option: decided 2 working hours before, the buy-off is made before the due moment and nothing stands."""
    packages = {"P1": {"id": "p1", "trade": "ASM", "hours": 9, "can_travel": True}}
    extra = {"trades": {"ASM": {"people": 9}, "INS": {"people": 1}}}
    for before, moved in ((0, "2027-01-05 07:00"), (2, "2027-01-05 06:00")):
        sheet = Sheet(Scenario.model_validate({
            "name": "let go", "start": "2027-01-04", "end": "2027-02-28", "shifts": SHIFT, **extra,
            "positions": [{"id": "P1", "packages": [packages["P1"], {"id": "q", "kind": "buy-off", "hours": 1}]},
                          {"id": "P2", "packages": [{"id": "p2", "trade": "ASM", "hours": 1}]}],
            "orders": [{"serial": "S1"}], "launches": {"takt_work_days": 1},
            "pulse": {"positions": ["P1", "P2"], "travel_max_share": 0.5, "decide_hours_before": before}}))
        records = run_once(sheet, 1, 0)
        assert sheet.calendar.wall_text(records.pulses[1].made) == moved
        assert bool(records.stops) is (before == 0)


def test_the_demo_as_a_pulse_line_accounts_for_every_hour() -> None:
    """F105-F107: reasons sum to flow time for every aircraft; nobody passes a position; one aircraft in each."""
    demo = read_scenario(DEMO)
    assert demo.pulse is not None
    sheet = Sheet(demo.model_copy(update={"pulse": demo.pulse.model_copy(update={"in_force": True})}))
    records = run_once(sheet, demo.seed, 3)
    ledger = Ledger(sheet, records)
    for serial in ledger.aircraft():
        begin, end = ledger.span(serial)
        assert sum(ledger.of(serial).values()) == pytest.approx((end - begin) / 60, abs=1e-6)
    assert records.travelled
    assert records.stops
    on_line = {place.index for place in sheet.places if place.id in demo.pulse.positions}
    moved = {pulse.made for pulse in records.pulses}
    last = max(on_line, key=lambda n: sheet.places[n].rank)
    assert {v.left for v in records.visits if v.place in on_line - {last}} <= moved
    for place in on_line:
        stays = sorted((v.arrived, v.left) for v in records.visits if v.place == place)
        assert all(a[1] <= b[0] for a, b in pairwise(stays))


@pytest.mark.parametrize("hours", range(9, 20))
def test_the_limit_is_reached_at_its_instant_whatever_the_hours(hours: int) -> None:
    """F43, F48: three people at 0.7 work off nine tenths of the hours from 06:00; only then may the line move. At 19 h
    that is past the end of the shift, and the rest is done in the morning."""
    sheet = Sheet(Scenario.model_validate({
        "name": "limit", "start": "2027-01-04", "end": "2027-01-10", "orders": [{"serial": "S1"}, {"serial": "S2"}],
        "shifts": {"day": {"work": ["06:00-14:00"], "productivity": 0.7}}, "trades": {"R": {"people": 3}},
        "launches": {"takt_work_days": 0.25}, "pulse": {"positions": ["A", "B"], "travel_max_share": 0.1},
        "positions": [
            {"id": "A", "packages": [{"id": "a", "trade": "R", "hours": hours, "crew": 3, "can_travel": True}]},
            {"id": "B", "packages": [{"id": "b", "hours": 1}]}]}))
    pulse = run_once(sheet, 1, 0).pulses[1]
    done = 6 * 60 + 0.9 * hours * 60 / (3 * 0.7)
    night = 16 * 60 if done > 14 * 60 else 0
    assert pulse.due == 8 * 60
    assert pulse.made == pytest.approx(done + night, abs=1e-5)


@pytest.mark.parametrize(("feeders", "said"), [(2, 1), (1, 0)])
def test_halves_that_the_pulse_can_never_bring_together_are_named(feeders: int, said: int) -> None:
    """F14, F43: of feeders of different length the shorter holds up the pulse that alone could bring the other half."""
    fuselage = [{"id": f"F{n}", "half": "fuselage", "next": f"F{n + 1}" if n < feeders else "M",
                 "packages": [{"id": f"f{n}", "hours": 1}]} for n in range(1, feeders + 1)]
    wing = {"id": "W1", "half": "wing", "next": "M", "packages": [{"id": "w1", "hours": 1}]}
    sheet = Sheet(Scenario.model_validate({
        "name": "apart", "start": "2027-01-04", "end": "2027-01-20", "orders": [{"serial": "S1"}, {"serial": "S2"}],
        "positions": [*fuselage, wing, {"id": "M", "packages": [{"id": "m", "hours": 1}]}],
        "launches": {"takt_work_days": 1}, "pulse": {"positions": [*(place["id"] for place in fuselage), "W1", "M"]}}))
    records = run_once(sheet, 1, 0)
    assert len(records.delivered) == 2 * (1 - said)
    assert [stuck.why for stuck in records.stuck] == said * [
        "the half in W1 holds up the pulse until the other half is there; that one, in F1, can only come with the "
        "pulse"]
