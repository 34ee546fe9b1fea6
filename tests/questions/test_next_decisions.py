"""Decisions against today's floor, and recovery of one aircraft: small plants in which the right choice is known."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

import pytest

from linesim.line.runs import run_many
from linesim.line.sheet import Sheet
from linesim.measures.estimates import Difference
from linesim.measures.run import RunNumbers, numbers_of
from linesim.questions.dates import UnknownSerial
from linesim.questions.next_decisions import (
    LAUNCH,
    LEND,
    LONGER,
    SATURDAY,
    SWAP,
    Decision,
    ahead,
    decisions,
    looked_at,
    outcome,
    verdict,
)
from linesim.questions.recover import NoRecovery, recover, sentences
from linesim.scenario.faults import ScenarioFaults
from linesim.scenario.scenario import Scenario

from ..line.small_plants import plant, work

MONDAY = date(2027, 1, 4)


def ran(scenario: Scenario, runs: int = 3, seed: int = 1) -> list[RunNumbers]:
    return [run for chunk in run_many(scenario, seed, range(runs), numbers_of) for run in chunk]


def do(named: Sequence[tuple[str, Scenario]], other: bool) -> list[list[RunNumbers]]:
    return [ran(scenario, seed=2 if other else 1) for _, scenario in named]


def of_hours(hours: float, cover: bool = False, rates: bool = True, **more: Any) -> Scenario:
    """S1 takes so many hours of ASM, of whom there is one; up to three may work on it. A rigger could help."""
    rate = {"usd_per_hour": 50} if rates else {}
    return plant([{"id": "A", "packages": [work("a", "ASM", hours, crew_max=3)]}],
                 {"ASM": {"people": 1, **rate, **({"cover": {"RIG": 1.0}} if cover else {})},
                  "RIG": {"people": 1, **rate}}, work_rules={"cover_in_force": False}, **more)


# recovery ------------------------------------------------------------------------------------------------------------
def test_nothing_need_be_changed() -> None:
    """8 h of one mechanic are done on Monday."""
    row = recover(of_hours(8), "S1", MONDAY, do)
    assert row["chosen"]["changes"] == []
    assert len(row["tried"]) == 1
    assert sentences(row) == ["Today's plant delivers S1 by 2027-01-04 in all 3 runs: nothing need be changed for it. "
                              "On other luck: all 3 runs."]


def test_one_more_person_where_there_is_nothing_else() -> None:
    """16 h by Monday take two; the second is paid 8 h at 50 dollars until then."""
    row = recover(of_hours(16), "S1", MONDAY, do)
    assert row["tried"][0]["runs"] == 0
    assert row["chosen"] == {"changes": ["one more ASM"], "runs": 3, "of": 3, "reaches": True, "cost": 400,
                             "paid hours": 8.0}
    assert row["on other luck"]["runs"] == 3
    assert "The cheapest of 1 sets" in sentences(row)[0]
    assert "for 400 USD of wages more by then" in sentences(row)[0]


def test_free_help_comes_before_a_hire() -> None:
    """Help between trades costs nothing and does it as well: it is chosen, and no pair need be tried."""
    row = recover(of_hours(16, cover=True), "S1", MONDAY, do)
    assert row["chosen"]["changes"] == ["the declared help between trades"]
    assert row["chosen"]["cost"] == 0
    assert [one["changes"] for one in row["tried"]] == [[], ["the declared help between trades"], ["one more ASM"]]


def test_both_together_where_neither_is_enough() -> None:
    """24 h by Monday take three: the rigger and one more."""
    row = recover(of_hours(24, cover=True), "S1", MONDAY, do)
    assert row["chosen"]["changes"] == ["the declared help between trades", "one more ASM"]
    assert (row["chosen"]["cost"], row["chosen"]["paid hours"]) == (400, 8.0)


def test_no_permitted_set_is_enough() -> None:
    """32 h by Monday would take a fourth, whom the package has no room for."""
    row = recover(of_hours(32, cover=True), "S1", MONDAY, do)
    assert row["chosen"] is None
    assert "None of the 3 sets of permitted changes tried reaches 8 in 10" in sentences(row)[0]


def test_without_rates_paid_hours_count() -> None:
    """Money is not invented."""
    row = recover(of_hours(16, rates=False), "S1", MONDAY, do)
    assert row["chosen"]["cost"] is None
    assert "for 8 paid hours of wages more" in sentences(row)[0]


def test_a_cure_is_never_shortened() -> None:
    """What waits for a hold has no permitted change that helps."""
    scenario = plant([{"id": "A", "packages": [work("a", "ASM", 8, cure_hours=24)]}], {"ASM": {"people": 1}})
    row = recover(scenario, "S1", MONDAY, do)
    assert row["chosen"] is None
    assert all(set(one["changes"]) <= {"one more ASM"} for one in row["tried"])


def test_a_serial_or_date_that_makes_no_sense() -> None:
    """Says what is allowed."""
    with pytest.raises(UnknownSerial, match="no serial 'S9'"):
        recover(of_hours(8), "S9", MONDAY, do)
    with pytest.raises(NoRecovery, match=r"--by must be 2027-01-04 to 2027-01-31, found 2028-01-01"):
        recover(of_hours(8), "S1", date(2028, 1, 1), do)


# decisions -----------------------------------------------------------------------------------------------------------
def of_takt(**more: Any) -> Scenario:
    """Three orders by a takt of one work day; A takes 8 h of one ASM; S0 stands in A with all of its work."""
    return plant([{"id": "A", "packages": [work("a", "ASM", 8)]}], {"ASM": {"people": 1}, "RIG": {"people": 1}},
                 [{"serial": f"S{n}", "promised": "2027-01-08"} for n in range(4)], launches={"takt_work_days": 1},
                 on_the_line=[{"serial": "S0", "at": "A"}], **more)


def by_question(scenario: Scenario, swap: tuple[str, str] | None = None) -> dict[str, Decision]:
    return {one.question: one for one in decisions(scenario, 5, swap)}


def against_today(scenario: Scenario, decision: Decision, serials: list[str]) -> dict[str, Any]:
    assert decision.scenario is not None
    sides = [(Sheet(one), ran(one)) for one in (scenario, decision.scenario)]
    return outcome(decision, serials, sides[0], sides[1])


def test_a_launch_held() -> None:
    """S1 is delivered on Tuesday; held until the week after, on Monday the 11th: six days later, and none is gained by
    S0."""
    scenario = of_takt()
    row = against_today(scenario, by_question(scenario)[LAUNCH], ["S0", "S1"])
    assert row["by serial"] == {"S0": 0, "S1": -6}
    assert row["days earlier"]["mean"] == -3
    assert row["loses most"] == {"serial": "S1", "days": -6}
    assert row["gains most"] is None
    assert row["verdict"] == "later"


def test_two_serials_change_places() -> None:
    """S1 and S3, which are delivered on Tuesday and Thursday, do so the other way round."""
    scenario = of_takt()
    row = against_today(scenario, by_question(scenario, ("S1", "S3"))[SWAP], ["S0", "S1", "S3"])
    assert row["by serial"] == {"S0": 0, "S1": -2, "S3": 2}
    assert row["verdict"] == "no difference seen"


def test_a_serial_on_the_floor_cannot_change_places() -> None:
    """The fault says where and why."""
    with pytest.raises(ScenarioFaults, match="S0 stands on the floor at the start: its launch is over"):
        decisions(of_takt(), 5, ("S0", "S1"))
    with pytest.raises(ScenarioFaults, match="unknown serial 'S8'"):
        decisions(of_takt(), 5, ("S1", "S8"))


def test_only_declared_help_is_tried() -> None:
    """Without any it says so; where it is in force already, it is tried without."""
    assert "`cover`" in by_question(of_takt())[LEND].why_not
    able = of_hours(16, cover=True)
    assert by_question(able)[LEND].words == "RIG helps ASM"
    row = against_today(able, by_question(able)[LEND], ["S1"])
    assert row["by serial"] == {"S1": 1}  # both of them: done on Monday, not on Tuesday
    assert row["verdict"] == "earlier"
    in_force = plant([{"id": "A", "packages": [work("a", "ASM", 16, crew_max=2)]}],
                     {"ASM": {"people": 1, "cover": {"RIG": 1.0}}, "RIG": {"people": 1}})
    assert by_question(in_force)[LEND].words == "RIG helps ASM no longer"
    assert against_today(in_force, by_question(in_force)[LEND], ["S1"])["by serial"] == {"S1": -1}


def test_saturdays() -> None:
    """S1 takes six days of one mechanic. It is late, so a Saturday is worked, and it is done two days before Monday."""
    scenario = plant([{"id": "A", "packages": [work("a", "ASM", 88)]}], {"ASM": {"people": 1}},
                     [{"serial": "S1", "promised": "2027-01-04"}])
    found = by_question(scenario)[SATURDAY]
    assert found.words == "a shift on Saturdays while the earliest promise is late"
    row = against_today(scenario, found, ["S1"])
    assert row["by serial"]["S1"] > 0
    assert row["verdict"] == "earlier"


def test_launches_that_are_not_by_takt_are_not_held() -> None:
    """It says so and runs nothing."""
    found = by_question(of_hours(8))[LAUNCH]
    assert found.scenario is None
    assert outcome(found, ["S1"], (Sheet(of_hours(8)), []), None)["not tried"] == \
        "only launches by takt without a pulse line are held here"


def test_whose_dates_count() -> None:
    """Who stands on the floor, who is launched in these days, who is named; without a takt nobody is added."""
    assert looked_at(of_takt(), 2, ("S3",)) == ["S0", "S1", "S2", "S3"]
    assert looked_at(of_takt(), 1) == ["S0", "S1"]
    assert looked_at(of_hours(8), 5, ("S1",)) == ["S1"]


def test_how_far_a_decision_is_followed() -> None:
    """LONGER days after the last promised date that counts, or to the file's own end."""
    scenario = of_takt(end="2027-12-31")
    assert (ahead(scenario, ["S0"]).end - date(2027, 1, 8)).days == LONGER
    assert ahead(of_takt(), ["S0"]).end == date(2027, 1, 31)


@pytest.mark.parametrize(("low", "high", "says"), [
    (0.1, 2, "earlier"), (-2, -0.1, "later"), (-1, 1, "no difference seen"),
    (float("nan"), float("nan"), "no difference seen")])
def test_a_difference_is_only_said_where_the_runs_show_it(low: float, high: float, says: str) -> None:
    """An interval that holds 0, or none, is no difference."""
    assert verdict(Difference(0.5, low, high, 1, 30)) == says
