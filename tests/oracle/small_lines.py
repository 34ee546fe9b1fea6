"""The smallest plants on which the engine and the textbook model once parted, each with one instant worked by hand."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from plain_numbers import Scenario

HOUR, DAY = 60, 1440


def _plant(positions: list[Scenario], serials: list[str], launches: Scenario, **parts: Any) -> Scenario:
    """Monday 4 January, 06:00-10:00 and 10:30-14:30, one person of each trade."""
    return {"name": "Small line", "start": "2027-01-04", "end": "2027-01-29", "calendar": {"closed": []},
            "shifts": {"day": {"work": ["06:00-10:00", "10:30-14:30"]}},
            "trades": {name: {"people": {"day": 1}} for name in ("ASM", "RIG", "INS")},
            "work_rules": {"crew_grows": True}, "positions": positions, "orders": [{"serial": s} for s in serials],
            "launches": launches, "known": {}} | parts


def _place(name: str, *packages: Scenario, **parts: Any) -> Scenario:
    return {"id": name, "packages": list(packages), **parts}


def _work(name: str, hours: float, trade: str = "ASM", **parts: Any) -> Scenario:
    return {"id": name, "trade": trade, "hours": hours, **parts}


def those_behind_a_gap() -> tuple[Scenario, tuple[Any, ...], Fraction]:
    """S1 in P3 needs 12 h and hinders until Tuesday 10:00; S2 in P1 is closed and stands behind it, P2 between is
    empty: F43, only those ahead of the hindmost obstacle move."""
    plant = _plant([_place(p, _work(p.lower(), 4)) for p in ("P1", "P2", "P3")], ["S1", "S2", "S3"],
                   {"takt_work_days": 1, "first": "2027-01-05 06:00"},
                   pulse={"positions": ["P1", "P2", "P3"], "stops": "those behind"},
                   on_the_line=[{"serial": "S1", "at": ["P3"]}, {"serial": "S2", "at": ["P1"]}],
                   known={"hours": [{"serial": "S1", "package": "p3", "hours": 12}]})
    plant["trades"]["ASM"]["people"]["day"] = 3
    return plant, ("left", "S2", "", "P1", 1), Fraction(DAY + 10 * HOUR)


def saturated_and_held() -> tuple[Scenario, tuple[Any, ...], Fraction]:
    """Launched whenever the first place is free, but not before 00:00 of Wednesday: F40, F41."""
    plant = _plant([_place("P1", _work("p1", 4))], ["S1"], {"saturated": True, "launch_dates": "hold"})
    plant["orders"][0]["launch"] = "2027-01-06"
    return plant, ("launched", "S1"), Fraction(2 * DAY)


def work_behind_a_buy_off() -> tuple[Scenario, tuple[Any, ...], Fraction]:
    """t, 11 h, may travel; w, which must stay, comes after it by way of the buy-off q, so t must stay (F46) and closes
    Tuesday 09:00, q 10:00, w 11:30."""
    return (_plant([_place("P1", _work("t", 11, can_travel=True),
                           {"id": "q", "kind": "buy-off", "trade": "INS", "hours": 1, "after": ["t"]},
                           _work("w", 1, "RIG", after=["q"])),
                    _place("P2", _work("e", 1, "RIG"))], ["S1"], {"takt_work_days": 1},
                   pulse={"positions": ["P1", "P2"], "travel_max_share": 1}),
            ("pulse", 1), Fraction(DAY + 11 * HOUR + 30))


def travelled_into_a_closed_area() -> tuple[Scenario, tuple[Any, ...], Fraction]:
    """t, 12 h without people, works round the clock in P1 and travels Monday 15:00 with 3 h left into P2, which works
    on the day shift only: F34, it goes on there Tuesday 06:00-09:00."""
    plant = _plant([_place("P1", {"id": "t", "hours": 12, "can_travel": True}),
                    _place("P2", _work("e", 8), shifts=["day"]), _place("P3", _work("f", 1))], ["S1"],
                   {"takt_work_days": 0.75}, shifts={"day": {"work": ["06:00-14:00"]}},
                   pulse={"positions": ["P1", "P2", "P3"], "travel_max_share": 0.25})
    return plant, ("S1", "", "P1", "t", 0), Fraction(DAY + 9 * HOUR)


def late_part_under_a_lock() -> tuple[Scenario, tuple[Any, ...], Fraction]:
    """S1 is locked until Monday 10:30; only then is a startable but for its part, which is missed then (F25, F56) and
    comes one work day later, Tuesday 10:30."""
    plant = _plant([_place("P1", _work("a", 1))], ["S1"], {"moments": ["2027-01-04 06:00"]},
                   known={"late_parts": [{"serial": "S1", "package": "a", "work_days": 1}],
                          "tool_locks": [{"serial": "S1", "from": "2027-01-04 06:00", "to": "2027-01-04 10:30"}]})
    return plant, ("S1", "", "P1", "a", 0), Fraction(DAY + 11 * HOUR + 30)


def first_come_after_a_lock() -> tuple[Scenario, tuple[Any, ...], Fraction]:
    """One mechanic is busy with S3 until 09:00. S1, locked until 08:00, is startable from then; S2, launched at 07:00,
    from 07:00, so first come is S2, 09:00-10:00 (F25, F31)."""
    places = [_place("P1", _work("a", 1), docks=3)]
    facts = [{"serial": "S3", "package": "a", "hours": 3}]
    plant = _plant(places, ["S3", "S1", "S2"],
                   {"moments": ["2027-01-04 06:00", "2027-01-04 06:30", "2027-01-04 07:00"]},
                   work_rules={"crew_grows": True, "dispatch": "first come"},
                   known={"hours": facts, "tool_locks": [{"serial": "S1", "from": "2027-01-04 06:15",
                                                          "to": "2027-01-04 08:00"}]})
    return plant, ("S2", "", "P1", "a", 0), Fraction(10 * HOUR)
