"""A scenario file that extends another: what is laid over what, and faults in the file in which they stand."""

from __future__ import annotations

from pathlib import Path

import pytest

from linesim.scenario.faults import ScenarioFaults
from linesim.scenario.reading import read_scenario

SCENARIOS = Path(__file__).parents[2] / "scenarios"
BASE = """\
name: base
start: 2027-01-04
end: 2027-02-26
shifts:
  day: {start: "06:00", end: "14:30", meal_minutes: 30}
trades:
  ASM: {people: 3}
  RIG: {people: 1}
positions:
  - {id: A, packages: [{id: a1, trade: ASM, hours: 8}]}
  - {id: B, packages: [{id: b1, trade: RIG, hours: 6}]}
launches: {takt_work_days: 1}
orders: {csv: orders.csv}
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "base.yaml").write_text(BASE)
    (tmp_path / "orders.csv").write_text("serial\n0249\n0250\n")
    return tmp_path


def faults(folder: Path, text: str) -> list[str]:
    (folder / "own.yaml").write_text(text)
    with pytest.raises(ScenarioFaults) as found:
        read_scenario(folder / "own.yaml")
    return [str(fault).replace(str(folder) + "/", "") for fault in found.value.faults]


def test_fields_are_laid_over_fields_and_lists_are_replaced(folder: Path) -> None:
    """A trade more, a number of people changed by path, the base's table kept."""
    (folder / "own.yaml").write_text("""\
extends: base.yaml
name: own
trades:
  INS: {people: 2}
changes:
  trades.ASM.people: 5
  positions.B.docks: 2
  positions.A.packages.a1.hours: 9
""")
    own, base = read_scenario(folder / "own.yaml"), read_scenario(folder / "base.yaml")
    assert (own.name, list(own.trades)) == ("own", ["ASM", "RIG", "INS"])
    assert (own.trades["ASM"].people, own.trades["RIG"].people) == ({"": 5}, {"": 1})
    assert (own.positions[0].packages[0].hours.mean, own.positions[1].docks) == (9, 2)
    assert own.orders == base.orders
    assert [order.serial for order in own.orders or ()] == ["0249", "0250"]
    assert base.positions[1].docks == 1


def test_a_fault_stands_in_the_file_that_has_it(folder: Path) -> None:
    """The changed value in the extending file, the untouched one in the base."""
    (folder / "base.yaml").write_text(BASE.replace("hours: 6", "hours: -6"))
    found = faults(folder, "extends: base.yaml\nname: own\nchanges:\n  positions.A.docks: none\n")
    assert len(found) == 2
    assert any(fault.startswith("base.yaml:11:") and "-6" in fault for fault in found)
    assert any(fault.startswith("own.yaml:4:") and "docks" in fault for fault in found)


@pytest.mark.parametrize(("text", "said"), [
    ("changes: {positions.Bb.docks: 2}", "did you mean 'B'?"),
    ("changes: {positoins.B.docks: 2}", "did you mean 'positions'?"),
    ("changes: {name.x: 2}", "is a single value"),
    ("changes: [1]", "one a line"),
    ("changes: {positions.B.dokcs: 2}", "docks")])
def test_a_change_of_nothing_is_a_fault(text: str, said: str, folder: Path) -> None:
    found = faults(folder, f"extends: base.yaml\n{text}\n")
    assert len(found) == 1
    assert found[0].startswith("own.yaml:2:")
    assert said in found[0]


@pytest.mark.parametrize(("name", "said"), [
    ("other.yaml", "No such file"), ("../base.yaml", "beside"), ("/etc/passwd", "beside"), ("''", "name of a file"),
    ("own.yaml", "ring")])
def test_a_file_that_cannot_be_extended(name: str, said: str, folder: Path) -> None:
    found = faults(folder, f"name: own\nextends: {name}\n")
    assert len(found) == 1
    assert said in found[0]


def test_the_pulse_demo_is_the_demo_with_its_line_in_force() -> None:
    """Nothing else differs but its name and what it is about."""
    pulse, demo = read_scenario(SCENARIOS / "birchwater-pulse.yaml"), read_scenario(SCENARIOS / "birchwater.yaml")
    assert pulse.pulse is not None
    assert demo.pulse is not None
    assert pulse.pulse.in_force
    assert not demo.pulse.in_force
    same = {"name": demo.name, "about": demo.about, "pulse": demo.pulse}
    assert pulse.model_copy(update=same) == demo
