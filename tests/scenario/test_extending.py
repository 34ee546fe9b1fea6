"""A scenario file that extends another: what is laid over what, and faults in the file in which they stand."""

from __future__ import annotations

from pathlib import Path

import pytest

from linesim.scenario.changing import changed
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


@pytest.mark.parametrize(("text", "said"), [
    ("comparisons: [{name: c, changes: {positions.Bb.docks: 2}}]", "5:35: comparisons c, changes, "
     "positions.Bb.docks: nothing is called 'Bb' in positions; did you mean 'B'?"),
    ("comparisons: [{name: c, changes: {trades.ASM.peple: 2}}]", "nothing is called 'peple' in trades.ASM; did you "
     "mean 'people'?"),
    ("comparisons: [{name: c, changes: {trades.ASM.people.day: 2}}]", "trades.ASM.people is a single value"),
    ("comparisons: [{name: c, changes: {positions.B.docks: two}}]", "positions.B.docks: positions B, docks: must be a "
     "whole number, found 'two'"),
    ("comparisons: [{name: c, changes: {positions.B.shifts: [nite]}}]", "unknown shift 'nite'"),
    ("comparisons: [{name: c, changes: {work_rules: {reserv: true}}}]",
     "unknown field 'reserv'; did you mean 'reserve"),
    ("comparisons: [{name: c, changes: {positions.A.next: A}}]", "ring"),
    ("comparisons: [{name: c, changes: {comparisons: []}}]", "a comparison cannot change comparisons"),
    ("comparisons: [{name: c, changes: {name: +1}}]", "a step of +1 needs a number"),
    ("comparisons: [{name: c, changes: {positions.B.docks: 2}}, {name: d, changes: {positions.B.docks: -9}}]",
     "5:79: comparisons d, changes, positions.B.docks: positions B, docks: must be 1 or more, found -8")])
def test_a_comparison_is_looked_at_when_it_is_read(text: str, said: str, folder: Path) -> None:
    """Path, field, value and rules, each at the change; also in the extending file."""
    text = text.replace("docks: -9", "docks: '-9'")
    for start in ("extends: base.yaml\nname: own\nrun_on_months: 0\nseed: 1\n", BASE.replace("\n", "\n#\n", 1)):
        found = faults(folder, start + text + "\n")
        assert len(found) == 1, found
        assert found[0].startswith("own.yaml:")
        assert said.split(": ", 1)[-1] in found[0]
        if start.startswith("extends") and said[:1] == "5":
            assert f"own.yaml:{said}" in found[0]


def test_what_one_comparison_changes_is_not_held_against_another(folder: Path) -> None:
    """Two comparisons that could not stand together, each right by itself."""
    (folder / "own.yaml").write_text(BASE + """\
comparisons:
  - {name: a, changes: {launches: {saturated: true}}}
  - {name: b, changes: {launches.takt_work_days: 2}}
  - {name: c, changes: {positions.A.area: Front, trades.RIG.dispatch: {places: [Front]}}}
""")
    assert len(read_scenario(folder / "own.yaml").comparisons) == 3


@pytest.mark.parametrize(("written", "people"), [("+1", 4), ("-1", 2), ("'+1'", 4), ("1", 1), ("+0", 3)])
def test_a_signed_number_among_changes_is_a_step(written: str, people: int, folder: Path) -> None:
    """As on the command line: +1 is one more than what stands there."""
    (folder / "own.yaml").write_text(f"extends: base.yaml\nname: own\nchanges: {{trades.ASM.people: {written}}}\n"
                                     f"comparisons: [{{name: c, changes: {{trades.ASM.people: {written}}}}}]\n")
    own = read_scenario(folder / "own.yaml")
    assert own.trades["ASM"].people == {"": people}
    again = people + (int(written.strip("'")) if written != "1" else 1 - people)
    assert changed(own, own.comparisons[0].changes).trades["ASM"].people == {"": again}


def test_a_section_that_the_file_leaves_out_may_be_changed(folder: Path) -> None:
    """Where its fields are declared; a new trade or place is still a slip of the pen."""
    (folder / "own.yaml").write_text("extends: base.yaml\nname: own\nchanges: {work_rules.reserve: true}\n")
    assert read_scenario(folder / "own.yaml").work_rules.reserve
    assert "nothing is called 'PNT'" in faults(folder, "extends: base.yaml\nchanges: {trades.PNT.people: 1}\n")[0]
