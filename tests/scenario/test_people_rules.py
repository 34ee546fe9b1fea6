"""What a file may say of people: cover, leave and overtime that cannot be are faults with their place."""

from __future__ import annotations

from typing import Any

import pytest

from linesim.scenario.rules import faults_of
from linesim.scenario.scenario import Scenario

PLANT: dict[str, Any] = {
    "name": "people", "start": "2027-01-04", "end": "2027-12-31", "launches": {"takt_work_days": 5},
    "orders": [{"serial": "S1"}],
    "shifts": {"day": {"start": "06:00", "end": "14:30", "meal_minutes": 30}},
    "trades": {"ASM": {"people": 6}, "RIG": {"people": 2}, "INS": {"people": 1}, "PIL": {"people": 1}},
    "positions": [{"id": "A", "packages": [{"id": "a", "trade": "ASM", "hours": 3, "inspection_hours": 1}]},
                  {"id": "F", "flights": {"pilots": "PIL", "pilot_hours": 2, "flight_hours": 1}}]}
OVERTIME = {"trades": ["ASM"], "max_hours_per_week": 8, "trigger_work_days_late": 5}


def faults(**changes: Any) -> dict[tuple[Any, ...], str]:
    return dict(faults_of(Scenario.model_validate({**PLANT, **changes})))


def test_the_plant_itself_has_none() -> None:
    """And neither have leave that fits and overtime with a trigger."""
    assert faults(attendance={"leave": {"weeks": 5, "in_blocks": True, "most_away": {"others": 1}},
                              "overtime": OVERTIME}) == {}


@pytest.mark.parametrize(("cover", "words"), [
    ({"ASM": {"INS": 1}}, "neither lends nor borrows"), ({"INS": {"ASM": 1}}, "neither lends nor borrows"),
    ({"ASM": {"ASM": 1}}, "lend to itself"), ({"ASM": {"PIL": 1}}, "pilots"), ({"PIL": {"ASM": 1}}, "pilots")])
def test_cover_that_cannot_be(cover: dict[str, Any], words: str) -> None:
    """F33: a buy-off trade neither lends nor borrows; nor do pilots, and nobody lends to itself."""
    trades = {name: {**declared, "cover": cover.get(name, {})} for name, declared in PLANT["trades"].items()}
    assert words in " ".join(faults(trades=trades).values())


def test_more_weeks_of_leave_than_there_is_room_for() -> None:
    """F115: people x weeks against weeks on offer x most away."""
    found = faults(attendance={"leave": {"weeks": 9, "in_blocks": True, "most_away": {"ASM": 1}}})
    assert found == {("attendance", "leave", "most_away"): (
        "6 people of ASM with 9 weeks each need 54 weeks; 52 weeks of 2027 with 1 away give 52")}
    assert faults(attendance={"leave": {"weeks": 9, "in_blocks": True, "most_away": {"ASM": 2}}}) == {}
    assert faults(attendance={"leave": {"weeks": 9, "most_away": {"ASM": 1}}}) == {}  # by day, not in weeks


@pytest.mark.parametrize(("attendance", "place"), [
    ({"leave": {}}, ("attendance", "leave")), ({"leave": {"share": 0.1, "weeks": 5}}, ("attendance", "leave")),
    ({"overtime": {"trades": ["ASM"], "max_hours_per_week": 8}}, ("attendance", "overtime")),
    ({"overtime": {**OVERTIME, "trades": ["PIL"]}}, ("attendance", "overtime", "trades")),
    ({"overtime": {**OVERTIME, "effect_by_weekly_hours": {"many": 0.9}}},
     ("attendance", "overtime", "effect_by_weekly_hours"))])
def test_leave_and_overtime_that_cannot_be(attendance: dict[str, Any], place: tuple[Any, ...]) -> None:
    """Half a rule, or one that says two things, is a fault."""
    assert list(faults(attendance=attendance)) == [place]
