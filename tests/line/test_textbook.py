"""Lines without people against recursions and closed forms; extremes end with a named reason."""

from __future__ import annotations

import random
from typing import Any

import pytest

from linesim.line.floor import run_once
from linesim.line.luck import Luck
from linesim.line.sheet import Sheet
from linesim.measures.ledger import Ledger
from linesim.scenario.scenario import Scenario


def plant(positions: list[dict[str, Any]], **parts: Any) -> Scenario:
    """A round-the-clock plant."""
    return Scenario.model_validate({"name": "textbook", "start": "2027-01-01", "end": "2027-12-31", "orders":
                                    "unlimited", "launches": {"saturated": True}, "positions": positions, **parts})


@pytest.mark.parametrize("places", [3, 4, 5])
@pytest.mark.parametrize("parking", [0, 1, 2, 3])
def test_a_line_equals_its_max_plus_recursion(places: int, parking: int) -> None:
    """F11, F12: departures of a fixed table of times equal D_i(k) = max(C_i(k), D_{i+1}(k-b-1)) to the last digit."""
    aircraft, draw = 40, random.Random(places * 10 + parking)
    times = [[draw.expovariate(1.0) for _ in range(aircraft)] for _ in range(places)]
    positions = [{"id": f"P{i}", "parking": parking if i else 0, "packages": [{"id": f"w{i}", "hours": 1}]}
                 for i in range(places)]
    orders = [{"serial": f"S{k:03d}"} for k in range(aircraft)]
    hours = [{"serial": f"S{k:03d}", "package": f"w{i}", "hours": times[i][k]}
             for i in range(places) for k in range(aircraft)]
    records = run_once(Sheet(plant(positions, orders=orders, known={"hours": hours})), 1, 0)
    left = [[0.0] * aircraft for _ in range(places)]
    for k in range(aircraft):
        for i in range(places):
            before = left[i - 1][k] if i else 0.0
            free = left[i][k - 1] if k else 0.0
            left[i][k] = max(before, free) + times[i][k] * 60
            if i + 1 < places and k > parking:
                # the next place takes it into a dock or a parking place once aircraft k-b-1 has left it
                left[i][k] = max(left[i][k], left[i + 1][k - parking - 1])
    # an aircraft that is parked has left its dock, and enters the next one when that is free
    assert [records.delivered[k] for k in range(aircraft)] == left[-1]


def test_parallel_docks_start_at_the_smallest_free_time() -> None:
    """F10: with c docks and first come, start = max(arrival, smallest free time)."""
    draw, docks, aircraft = random.Random(5), 3, 60
    times = [draw.expovariate(1.0) for _ in range(aircraft)]
    orders = [{"serial": f"S{k:03d}"} for k in range(aircraft)]
    hours = [{"serial": f"S{k:03d}", "package": "w", "hours": times[k]} for k in range(aircraft)]
    records = run_once(Sheet(plant([{"id": "A", "docks": docks, "packages": [{"id": "w", "hours": 1}]}],
                                   orders=orders, known={"hours": hours})), 1, 0)
    free = [0.0] * docks
    for k in range(aircraft):
        start = min(free)
        free[free.index(start)] = start + times[k] * 60
        assert records.delivered[k] == start + times[k] * 60


def test_output_of_three_places_without_parking() -> None:
    """22/39 of an aircraft an hour (Hunt 1956, Oper. Res. 4:674-683; value recomputed, source from memory), within 4
    exact standard errors (asymptotic variance rate 0.2323370252)."""
    sheet = Sheet(plant([{"id": f"P{i}", "packages": [{"id": f"p{i}", "hours": {"exponential": 1}}]}
                         for i in range(3)]))
    hours = sheet.calendar.end / 60
    rate = len(run_once(sheet, 20270104, 0).delivered) / hours
    assert abs(rate - 22 / 39) <= 4 * (0.2323370252 / hours) ** 0.5


def test_reasons_sum_on_a_line_that_blocks() -> None:
    """F105: hours sum to flow time on every path, here with blocking."""
    sheet = Sheet(plant([{"id": f"P{i}", "packages": [{"id": f"p{i}", "hours": {"exponential": 1}}]}
                         for i in range(3)], end="2027-01-20"))
    ledger = Ledger(sheet, run_once(sheet, 1, 0))
    for serial in ledger.aircraft():
        begin, end = ledger.span(serial)
        assert sum(ledger.of(serial).values()) == pytest.approx((end - begin) / 60, abs=1e-9)


def test_luck_is_a_function_of_names_only() -> None:
    """F110: a draw depends on seed, run, purpose and key, not on what was drawn before."""
    one, two = Luck(1, 17), Luck(1, 17)
    one.uniform("weather", "2027-01-04")
    assert one.eight("package", "DN4-0249", "P1-10", 0) == two.eight("package", "DN4-0249", "P1-10", 0)
    others = {Luck(2, 17).uniform("a", 1), Luck(1, 18).uniform("a", 1), Luck(1, 17).uniform("b", 1),
              Luck(1, 17).uniform("a", 2), Luck(1, 17).uniform("a", 1)}
    assert len(others) == 5


def test_uniforms_are_uniform() -> None:
    """Mean and variance of 8,000 uniforms within 4 exact standard errors (1/12 and 1/180)."""
    values = [u for n in range(1000) for u in Luck(7, 0).eight("test", n)]
    mean = sum(values) / len(values)
    spread = sum((u - 0.5) ** 2 for u in values) / len(values)
    assert abs(mean - 0.5) <= 4 * (1 / 12 / len(values)) ** 0.5
    assert abs(spread - 1 / 12) <= 4 * (1 / 180 / len(values)) ** 0.5


DAY = {"day": {"work": ["06:00-10:00", "10:30-14:30"]}}


def test_a_start_inside_a_holiday_waits_for_the_first_work_day() -> None:
    """F40: the first launch is at the first working minute on or after the start."""
    sheet = Sheet(plant([{"id": "A", "packages": [{"id": "a", "trade": "ASM", "hours": 2}]}], shifts=DAY,
                        trades={"ASM": {"people": 1}}, calendar={"closed": ["2027-01-01", "2027-01-04"]},
                        launches={"takt_work_days": 1}, orders=[{"serial": "S1"}], end="2027-01-31"))
    records = run_once(sheet, 1, 0)
    assert sheet.calendar.wall_text(records.launches[0].made) == "2027-01-05 06:00"
    assert sheet.calendar.wall_text(records.delivered[0]) == "2027-01-05 08:00"


def test_a_ring_may_exchange() -> None:
    """F14 option: the ring moves together in one instant."""
    positions = [{"id": "A", "packages": [{"id": "a"}]},
                 {"id": "B", "packages": [{"id": "b"}], "back_to": {"position": "A", "chance": 0}}]
    known = {"goings_back": [{"serial": "S1", "times": 1}],
             "hours": [{"serial": s, "package": p, "hours": h, "repeat": r} for s in ("S1", "S2")
                       for p, h in (("a", 2), ("b", 3)) for r in (0, 1)]}
    parts: dict[str, Any] = {"orders": [{"serial": "S1"}, {"serial": "S2"}], "known": known, "end": "2027-01-31"}
    stuck = run_once(Sheet(plant(positions, **parts)), 1, 0)
    assert stuck.delivered == {}
    assert len(stuck.stuck) == 1
    free = run_once(Sheet(plant(positions, **parts, work_rules={"ring": "exchange"})), 1, 0)
    assert len(free.delivered) == 2
    assert free.stuck == []


LOOP: list[dict[str, Any]] = [
    {"id": "A", "packages": [{"id": "a"}]}, {"id": "B", "parking": 1, "packages": [{"id": "b"}]},
    {"id": "C", "packages": [{"id": "c"}], "back_to": {"position": "A", "chance": 0}}]


def _two_on_the_loop(first: tuple[float, float], second: tuple[float, float], known: dict[str, Any],
                     **parts: Any) -> Scenario:
    """S1 and S2 with their hours in A and B, an hour in C; C may send back to A."""
    hours = [{"serial": serial, "package": package, "hours": h}
             for serial, of in (("S1", first), ("S2", second)) for package, h in zip("abc", (*of, 1), strict=True)]
    return plant(LOOP, orders=[{"serial": "S1"}, {"serial": "S2"}], known={"hours": hours, **known}, end="2027-01-31",
                 **parts)


def test_a_parked_aircraft_that_is_locked_is_no_ring() -> None:
    """F14: it waits for nobody. S2 parks before B at 02:00, is locked 03:00 to 14:00; B is free from 08:00."""
    records = run_once(Sheet(_two_on_the_loop((1, 7), (1, 1), known={"tool_locks": [
        {"serial": "S2", "from": "2027-01-01 03:00", "to": "2027-01-01 14:00"}]})), 1, 0)
    assert records.stuck == []
    assert {serial: t / 60 for serial, t in records.delivered.items()} == {0: 9.0, 1: 16.0}


def test_who_waits_for_the_morning_is_no_ring() -> None:
    """F12 option, F14: aircraft move by day only. S1 is delivered from B in the night, S2 is parked before it."""
    hours = [{"serial": serial, "package": package, "hours": h} for serial in ("S1", "S2")
             for package, h in (("a", 1), ("b", 10))]
    positions = [{"id": "A", "packages": [{"id": "a"}]},
                 {"id": "B", "parking": 1, "packages": [{"id": "b"}], "back_to": {"position": "A", "chance": 0}}]
    sheet = Sheet(plant(positions, orders=[{"serial": "S1"}, {"serial": "S2"}], known={"hours": hours}, shifts=DAY,
                        start="2027-01-04", end="2027-01-31", work_rules={"moves": "reference shift"}))
    records = run_once(sheet, 1, 0)
    assert records.stuck == []
    assert [sheet.calendar.wall_text(t) for t in records.delivered.values()] == ["2027-01-04 17:00", "2027-01-05 16:00"]


def test_a_launch_date_of_the_customer_may_hold_the_launch() -> None:
    """F41: an order's own launch date is ignored, or read as not before 00:00 of it if `hold` is set."""
    for rule, expected in (("ignore", "2027-01-04 06:00"), ("hold", "2027-01-06 00:00")):
        sheet = Sheet(plant([{"id": "A", "packages": [{"id": "a", "trade": "ASM", "hours": 2}]}], shifts=DAY,
                            trades={"ASM": {"people": 1}}, start="2027-01-04", end="2027-01-31",
                            launches={"takt_work_days": 1, "launch_dates": rule},
                            orders=[{"serial": "S1", "launch": "2027-01-06"}]))
        assert sheet.calendar.wall_text(run_once(sheet, 1, 0).launches[0].made) == expected


def test_a_shorter_crew_than_is_ever_on_duty_is_named() -> None:
    """F14: work that needs more people than are ever on duty is named, and the run ends."""
    sheet = Sheet(plant([{"id": "A", "packages": [{"id": "a", "trade": "ASM", "hours": 2, "crew": 2}]}], shifts=DAY,
                        trades={"ASM": {"people": 1}}, start="2027-01-04", end="2027-01-31",
                        launches={"takt_work_days": 1}, orders=[{"serial": "S1"}]))
    records = run_once(sheet, 1, 0)
    assert records.delivered == {}
    assert [stuck.why for stuck in records.stuck] == ["a needs 2 of trade ASM; at most 1 are ever on duty"]
