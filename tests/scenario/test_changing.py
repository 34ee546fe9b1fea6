"""Changes by path: one language for the file, the command and Python, and a new scenario from it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from linesim.scenario.changing import changed
from linesim.scenario.faults import ScenarioFaults
from linesim.scenario.paths import path_of, plain, stepped
from linesim.scenario.reading import parse_scenario, read_scenario
from linesim.scenario.saving import change_text
from linesim.scenario.written import written

SCENARIOS = Path(__file__).parents[2] / "scenarios"
SHIPPED = sorted(path.name for path in SCENARIOS.glob("*.yaml"))
DEMO = (SCENARIOS / "birchwater.yaml").read_text(encoding="utf-8")
TINY = (SCENARIOS / "tiny.yaml").read_text(encoding="utf-8")


@pytest.mark.parametrize("number", range(len(parse_scenario(DEMO, folder=SCENARIOS).comparisons)))
def test_every_comparison_of_the_demo_can_be_made(number: int) -> None:
    """From the scenario or from its text, and as a file: three ways to one scenario."""
    demo = parse_scenario(DEMO, folder=SCENARIOS)
    changes = demo.comparisons[number].changes
    found = changed(demo, changes)
    assert found == changed(DEMO, changes, folder=SCENARIOS) == change_text(DEMO, changes, folder=SCENARIOS).scenario
    assert (found != demo) == bool(changes)
    assert demo == parse_scenario(DEMO, folder=SCENARIOS)


@pytest.mark.parametrize("name", SHIPPED)
def test_a_scenario_is_the_same_from_its_plain_values(name: str) -> None:
    """Every part of a scenario can be said in the language of the file again."""
    scenario = read_scenario(SCENARIOS / name)
    assert changed(scenario, {}) == scenario
    text = "\n".join(f"{key}: {written(value)}" for key, value in plain(scenario).items())
    assert parse_scenario(text) == scenario


def test_a_wrong_change_is_placed_by_its_number() -> None:
    """Every fault at once, in the file `changes`, each in the line of its change."""
    with pytest.raises(ScenarioFaults) as found:
        changed(parse_scenario(TINY), {"name": "x", "trades.ASN.people": 1, "positions.A.docks": "none"})
    assert [str(fault).split(": ")[0] for fault in found.value.faults] == ["changes:2:1", "changes:3:1"]


@pytest.mark.parametrize(("field", "before", "value", "after"), [
    ("trades.RIG.people", 2, "+1", 3), ("launches.takt_work_days", 4.5, "-0.5", 4.0), ("seed", 1, "+0.5", 1.5),
    ("work_time.floor", 0.1, "+0.2", 0.3), ("site.longitude", -80.0, "-85", -85), ("name", "x", "y", "y")])
def test_a_step_and_a_value_with_a_sign(field: str, before: Any, value: str, after: Any) -> None:
    """Exact in decimal; what may be negative takes its sign as its own."""
    values: dict[str, Any] = {"trades": {"RIG": {}}, "site": {}, "launches": {}, "work_time": {}}
    path = path_of({**values, "trades": {"RIG": {"people": 2}}, "work_time": {"floor": 0.1}}, field)
    holder = values
    for step in path[:-1]:
        holder = holder[step]
    holder[path[-1]] = before
    assert stepped(values, path, value) == after


def test_a_path_that_means_two_entries_is_refused() -> None:
    """Two facts of one serial: neither is changed by chance."""
    text = TINY + "known: {hours: [{serial: S1, package: a1, hours: 3}, {serial: S1, package: b1, hours: 4}]}\n"
    with pytest.raises(ScenarioFaults, match="2 entries are called 'S1': a path cannot tell them apart"):
        changed(text, {"known.hours.S1.hours": 5})
    with pytest.raises(ScenarioFaults, match="2 entries are called 'S1'"):
        change_text(text, {"known.hours.S1.hours": 5})


def test_the_scenario_that_is_changed_stays() -> None:
    """A change makes a new scenario; later changes build on earlier ones."""
    plant = parse_scenario(TINY)
    found = changed(plant, {"trades.ASM.people.day": "+1", "positions.A.packages.a1.hours": {"fixed": 9}, "seed": "+4"})
    assert (found.trades["ASM"].people, found.positions[0].packages[0].hours.mean, found.seed) == ({"day": 4}, 9, 5)
    assert plant == parse_scenario(TINY)
    assert changed(found, {"trades.ASM.people.day": 3, "positions.A.packages.a1.hours": 8, "seed": 1}) == plant
