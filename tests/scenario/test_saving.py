"""A changed scenario file: what is asked for and nothing else, every comment kept, never half a file."""

from __future__ import annotations

import os
import stat
import threading
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from linesim.scenario import saving
from linesim.scenario.changing import changed
from linesim.scenario.faults import ScenarioFaults
from linesim.scenario.quick import quick_nodes
from linesim.scenario.reading import parse_scenario, read_scenario
from linesim.scenario.saving import change_file, change_text
from linesim.scenario.tree import read_tree, value_at
from linesim.scenario.written import written
from linesim.scenario.yaml_text import CannotKeep, comments_of, end_of, with_value
from linesim.show.commands import main

SCENARIOS = Path(__file__).parents[2] / "scenarios"
SHIPPED = sorted(path.name for path in SCENARIOS.glob("*.yaml"))
DEMO = (SCENARIOS / "birchwater.yaml").read_text(encoding="utf-8")
PLANT = """\
# A plant with a layout of its own.
name:   Small    # its name
start: 2027-01-04
end: "2027-03-31"
shifts: {day: {start: "06:00", end: '14:30', meal_minutes: 30}}   # one shift
trades:
   ASM:   # assembly

      people:   {day: 3, }
      note: |
        two lines
        # not a comment
   RIG:
      people: 2        # on the first shift
      # behind RIG
positions:
- id: A
  packages:
  - {id: a1, trade: ASM, hours: 8,   # by the clock
     after: []}
- id: "B"  # second

  packages: [{id: b1, trade: RIG,
              hours: {triangular: {low: 4, mode: 5, high: 8}}}]
launches:
    takt_work_days: 1
site:
orders:
- serial: '0249'
- {serial: 'S#2', model: D4}
# the end
"""


def leaves(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Paths of all single values."""
    if isinstance(value, dict | list):
        pairs = value.items() if isinstance(value, dict) else enumerate(value)
        return [leaf for key, item in pairs for leaf in leaves(item, (*path, key))]
    return [path]


@pytest.mark.parametrize("name", SHIPPED)
def test_without_a_change_every_byte_stays(name: str, tmp_path: Path) -> None:
    """A copy of a shipped scenario is the same file, and writing what stands there already changes nothing."""
    for file in SCENARIOS.iterdir():
        (tmp_path / file.name).write_bytes(file.read_bytes())
    found = change_file(tmp_path / name, {}, to=tmp_path / "copy.yaml")
    assert (tmp_path / "copy.yaml").read_bytes() == (SCENARIOS / name).read_bytes()
    assert found.lines == ()
    assert found.scenario == read_scenario(SCENARIOS / name)
    text = (SCENARIOS / name).read_text(encoding="utf-8")
    values = read_tree(text, "").values
    same = leaves(values)[:: 1 + len(leaves(values)) // 25]
    for path in same:
        if not isinstance(value_at(path, values), str):
            assert with_value(text, path, value_at(path, values)) == text


@settings(max_examples=25, deadline=None)
@given(st.data())
def test_one_value_changes_one_line_and_back_every_byte(data: st.DataObject) -> None:
    """Any number or text of the small plant, put to another value and back."""
    values = read_tree(PLANT, "").values
    path = data.draw(st.sampled_from([path for path in leaves(values) if path[-1] not in ("note", "site")]))
    value = data.draw(st.one_of(st.integers(0, 10**6), st.floats(0, 1e6), st.booleans(), st.text(max_size=12).filter(
        lambda text: text.isprintable() or "\n" in text)))
    try:
        new = with_value(PLANT, path, value)
    except ValueError:
        assert isinstance(value, str)  # a text that no file may hold
        return
    assert value_at(path, read_tree(new, "").values) == value
    assert comments_of(new) == comments_of(PLANT)
    assert len([1 for old, one in zip(PLANT.split("\n"), new.split("\n"), strict=True) if old != one]) <= 1
    back = with_value(new, path, value_at(path, values))
    assert [line.split() for line in back.replace("'", '"').split("\n")] == \
        [line.split() for line in PLANT.replace("'", '"').split("\n")] or isinstance(value_at(path, values), str)


@example("-")
@given(st.recursive(st.none() | st.booleans() | st.integers(-10**17, 10**17) | st.floats(allow_nan=False,
       allow_infinity=False) | st.sampled_from(["0249", "true", "null", "~", "", " a", "a: b", "#x", "1e3", "it's", '"',
                                                "a, b", "[", "-", "- a", "two\nlines", "\\", "06:00", "é", "+1", "?"]),
       lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(["a", "4.0 from May", "1", "x: y"]),
                                                                   inner, max_size=3), max_leaves=6))
@settings(max_examples=200, deadline=None)
def test_what_is_written_reads_back(value: Any) -> None:
    """Every value of the language, with its kind."""
    back = read_tree(f"x: {written(value)}\ny: 1\n", "").values
    assert back == {"x": value, "y": 1}
    assert repr(back["x"]) == repr(value)


@pytest.mark.parametrize(("place", "value", "old", "new"), [
    ("name", "Larger", "name:   Small    # its", "name:   Larger   # its"),
    ("end", "2027-04-30", '"2027-03-31"', '"2027-04-30"'),
    ("trades.ASM.people.day", "+2", "{day: 3, }", "{day: 5, }"),
    ("trades.ASM.people", 4, "people:   {day: 3, }", "people:   4"),
    ("trades.RIG.people", "-1", "people: 2        #", "people: 1        #"),
    ("trades.RIG.people", {"day": 1}, "people: 2        #", "people: {day: 1}  #"),
    ("trades.RIG.usd_per_hour", 60, "first shift\n", "first shift\n      usd_per_hour: 60\n"),
    ("trades.ASM.note", "one", "note: |\n        two lines\n        # not a comment\n", "note: one\n"),
    ("positions.A.docks", 2, "     after: []}\n", "     after: []}\n  docks: 2\n"),
    ("positions.A.packages.a1.hours", 9.5, "hours: 8,   #", "hours: 9.5,   #"),
    ("positions.A.packages.a1.crew_max", 2, "after: []}", "after: [], crew_max: 2}"),
    ("positions.B.packages.b1.hours.triangular.high", 9, "high: 8", "high: 9"),
    ("positions.B.packages.b1.hours", 6, "hours: {triangular: {low: 4, mode: 5, high: 8}}", "hours: 6"),
    ("launches", {"takt_work_days": 2}, "launches:\n    takt_work_days: 1\n", "launches: {takt_work_days: 2}\n"),
    ("launches.takt_work_days", "+0.5", "takt_work_days: 1\n", "takt_work_days: 1.5\n"),
    ("site", {"latitude": 42, "longitude": -85.5}, "site:\n", "site: {latitude: 42, longitude: -85.5}\n"),
    ("work_rules.reserve", True, "model: D4}\n", "model: D4}\nwork_rules: {reserve: true}\n"),
    ("orders.S#2.model", "D5", "model: D4", "model: D5"),
    ("orders.0249.promised", "2027-02-01", "'0249'\n", "'0249'\n  promised: 2027-02-01\n"),
    ("work_time.learning", None, "model: D4}\n", "model: D4}\nwork_time: {learning: null}\n"),
    ("trades.ASM.cover.RIG", 0.5, "# not a comment\n", "# not a comment\n      cover: {RIG: 0.5}\n"),
    ("trades.RIG.cover", {"ASM": 1}, "first shift\n", "first shift\n      cover: {ASM: 1}\n"),
    ("shifts.day.end", "15:00", "'14:30'", "'15:00'")])
@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_only_what_is_asked_for_differs(place: str, value: object, old: str, new: str, newline: str) -> None:
    """Each kind of place, with both ends of line; the file says just what the changed scenario is."""
    text = PLANT.replace("\n", newline)
    old, new = old.replace("\n", newline), new.replace("\n", newline)
    assert text.count(old) == 1
    found = change_text(text, {place: value})
    assert found.text == text.replace(old, new)
    assert found.scenario == parse_scenario(found.text.replace("\r\n", "\n")) == changed(parse_scenario(PLANT),
                                                                                         {place: value})


def test_the_changes_of_a_comparison_are_changed_like_any_value() -> None:
    """Their keys are paths themselves; a wrong one is a fault."""
    text = PLANT + "comparisons: [{name: a 4.5, changes: {positions.A.docks: 2}}]\n"
    found = change_text(text, {"comparisons.a 4.5.changes.positions.A.docks": 3,
                               "comparisons.a 4.5.changes.trades.RIG.people": 4})
    assert found.text == text.replace("docks: 2", "docks: 3, trades.RIG.people: 4")
    with pytest.raises(ScenarioFaults, match="nothing is called 'C' in positions"):
        change_text(text, {"comparisons.a 4.5.changes.positions.C.docks": 3})


def test_several_changes_build_on_each_other() -> None:
    """A step starts from what the change before it made."""
    found = change_text(PLANT, {"trades.RIG.people": {"day": 4}, "trades.RIG.people.day": "+1"})
    assert found.scenario.trades["RIG"].people == {"day": 5}
    assert [number for number, _, _ in found.lines] == [14]


@pytest.mark.parametrize(("place", "value", "says"), [
    ("trades.ASN.people", 2, "nothing is called 'ASN' in trades; did you mean 'ASM'?"),
    ("trades.ASM.peeple", 2, "nothing is called 'peeple' in trades.ASM; did you mean 'people'?"),
    ("positions.A.packages.a2.hours", 2, "plant.yaml:18:3: positions.A.packages.a2.hours: nothing is called 'a2' in "
     "positions.A.packages; there is a1"), ("orders", {"csv": "a.csv"}, "a table is put in by hand"),
    ("positions.A.back_to.position.x", 1, "positions.A.back_to.position is a single value; it has no 'x'"),
    ("trades.RIG.people.day", 2, "trades.RIG.people is a single value; it has no 'day'"),
    ("trades", {"ASM": {"people": 3}, "RIG": {"people": 2}}, "a comment stands inside what would be replaced"),
    ("name", "+1", "needs a number that it starts from"),
    ("positions.A.packages.a1.hours", -3, "-3"), ("positions.A.packages.a1.hours", float("nan"), "no number"),
    ("positions.A.packages.a1.trade", "ASN", "unknown trade 'ASN'; did you mean 'ASM'?"),
    ("trades.ASM.people.evening", 1, "unknown shift 'evening'"),
    ("positions.A.next", "A", "ring"), ("about", {1}, "no kind of value")])
def test_a_fault_writes_nothing(place: str, value: object, says: str, tmp_path: Path) -> None:
    """The file keeps its bytes and its time, no other file is left, and the message says what is wrong."""
    path = tmp_path / "plant.yaml"
    path.write_text(PLANT)
    before = path.stat()
    for to in (None, tmp_path / "new.yaml"):
        with pytest.raises(ScenarioFaults) as found:
            change_file(path, {place: value, "launches.takt_work_days": 2}, to=to)
        assert says in str(found.value)
        assert path.read_text() == PLANT
        assert (path.stat().st_mtime_ns, path.stat().st_ino) == (before.st_mtime_ns, before.st_ino)
        assert [file.name for file in tmp_path.iterdir()] == ["plant.yaml"]


def test_what_stands_in_a_table_is_changed_there(tmp_path: Path) -> None:
    """Neither a cell nor the table itself is written into the scenario file."""
    (tmp_path / "birchwater-orders.csv").write_bytes((SCENARIOS / "birchwater-orders.csv").read_bytes())
    (tmp_path / "demo.yaml").write_text(DEMO)
    for place in ("orders.DN4-0250.promised", "orders"):
        with pytest.raises(ScenarioFaults, match=r"stands in the table \S*birchwater-orders.csv; change it there"):
            change_file(tmp_path / "demo.yaml", {place: "2027-02-01"})
    assert (tmp_path / "demo.yaml").read_text() == DEMO


EXTENDING = """\
extends: base.yaml   # the plant
name: own
trades:
  INS: {people: {day: 2}}
changes:
  # why so many
  trades.ASM.people: {day: 5}
  trades.INS.note: hired
"""


@pytest.mark.parametrize(("place", "value", "old", "new"), [
    ("trades.INS.people.day", 3, "INS: {people: {day: 2}}", "INS: {people: {day: 3}}"),
    ("name", "other", "name: own", "name: other"),
    ("trades.ASM.people.day", "+1", "{day: 5}", "{day: 6}"), ("trades.INS.note", "yes", "note: hired", "note: yes"),
    ("trades.RIG.people", "+1", "note: hired\n", "note: hired\n  trades.RIG.people: 3\n"),
    ("orders.0249.promised", "2027-02-01", "note: hired\n", "note: hired\n  orders.0249.promised: 2027-02-01\n"),
    ("positions.A.docks", 2, "note: hired\n", "note: hired\n  positions.A.docks: 2\n"),
    ("trades.ASM", {"people": 1}, "note: hired\n", "note: hired\n  trades.ASM: {people: 1}\n")])
def test_an_extending_file_is_changed_in_its_own_text(place: str, value: object, old: str, new: str,
                                                      tmp_path: Path) -> None:
    """What it says itself is changed where it stands; what the other file says goes under `changes`."""
    (tmp_path / "base.yaml").write_text(PLANT)
    path = tmp_path / "own.yaml"
    path.write_text(EXTENDING)
    before = read_scenario(path)
    found = change_file(path, {place: value})
    assert path.read_text() == EXTENDING.replace(old, new)
    assert (tmp_path / "base.yaml").read_text() == PLANT
    assert read_scenario(path) == found.scenario == changed(before, {place: value})


@pytest.mark.parametrize("ending", ["", "\nchanges:\n", "\nchanges: {}\n", "\nchanges: {name: x}"])
def test_an_extending_file_gets_its_changes(ending: str, tmp_path: Path) -> None:
    """The section is made where it is missing, and filled where it is empty."""
    (tmp_path / "base.yaml").write_text(PLANT)
    path = tmp_path / "own.yaml"
    path.write_text("extends: base.yaml" + ending)
    change_file(path, {"trades.ASM.people.day": "+1", "trades.RIG.people": 1})
    assert {name: trade.people for name, trade in read_scenario(path).trades.items()} == {"ASM": {"day": 4},
                                                                                          "RIG": {"": 1}}
    assert (tmp_path / "base.yaml").read_text() == PLANT


def test_a_reader_never_meets_half_a_file(tmp_path: Path) -> None:
    """While a file is changed again and again, every reading finds a whole scenario."""
    path = tmp_path / "plant.yaml"
    path.write_text(PLANT + "# " + "x" * 30_000 + "\n")
    seen: set[int] = set()
    wrong: list[BaseException] = []
    done = threading.Event()

    def read() -> None:
        while not done.is_set():
            try:
                text = path.read_text()
                assert text.endswith("x\n")
                seen.add(read_tree(text[:len(PLANT) + 4], "").values["trades"]["RIG"]["people"])
            except BaseException as error:
                wrong.append(error)
                return

    reader = threading.Thread(target=read)
    reader.start()
    for _ in range(15):
        change_file(path, {"trades.RIG.people": "+1"})
    done.set()
    reader.join()
    assert not wrong
    assert seen <= set(range(2, 18))
    assert read_scenario(path).trades["RIG"].people == {"": 17}
    assert [file.name for file in tmp_path.iterdir()] == ["plant.yaml"]


def test_the_file_keeps_its_mark_its_rights_and_its_link(tmp_path: Path) -> None:
    """A byte order mark, the rights of the file, and a link to it stay."""
    path, link = tmp_path / "plant.yaml", tmp_path / "link.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + PLANT.encode())
    path.chmod(0o640)
    link.symlink_to(path)
    change_file(link, {"seed": 7})
    assert link.is_symlink()
    assert path.read_bytes().startswith(b"\xef\xbb\xbf# A plant")
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert read_scenario(path).seed == 7


def test_a_file_changed_by_someone_else_is_not_written_over(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Between reading and writing another hand saves the file: its text stays."""
    path = tmp_path / "plant.yaml"
    path.write_text(PLANT)
    real = saving.change_text

    def slow(*args: Any, **kw: Any) -> Any:
        found = real(*args, **kw)
        path.write_text(PLANT + "# mine\n")
        return found

    monkeypatch.setattr(saving, "change_text", slow)
    with pytest.raises(ScenarioFaults, match="changed by someone else"):
        change_file(path, {"seed": 7})
    assert path.read_text() == PLANT + "# mine\n"
    assert os.listdir(tmp_path) == ["plant.yaml"]


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Prints old and new lines; a copy leaves the file as it is and writes over nothing; wrong words end with 2."""
    path, new = tmp_path / "plant.yaml", tmp_path / "new.yaml"
    path.write_text(PLANT)
    assert main(["change", str(path), "trades.RIG.people=+1", "shifts.day.end='15:00'", "--to", str(new)]) == 0
    said = capsys.readouterr().out
    assert f"{new}: 2 lines differ from {path}." in said
    assert "line 14\n   -       people: 2        # on the first shift\n  ->       people: 3        # on" in said
    assert path.read_text() == PLANT
    assert read_scenario(new).trades["RIG"].people == {"": 3}
    assert main(["change", str(path), "trades.RIG.people=2"]) == 0
    assert "says so already" in capsys.readouterr().out
    for words, says in ((["seed=2", "--to", str(new)], "there is such a file already"), (["seed"], "PATH=VALUE"),
                        (["seed=[1"], "not readable as YAML"), (["seed=1", "seed=2"], "changed twice"),
                        (["seed=&x 1"], "anchors"), (["sede=1"], "did you mean 'seed'?"),
                        (["seed=2", "--to", str(tmp_path / "none" / "a.yaml")], "No such file")):
        assert main(["change", str(path), *words]) == 2
        said = capsys.readouterr()
        assert said.err.startswith("Nothing is changed: 1 fault.\n")
        assert says in said.err
        assert said.out == ""
    assert path.read_text() == PLANT


def test_a_text_that_cannot_be_kept_is_refused() -> None:
    """A change that would need to touch what stands around it is left to the planner."""
    with pytest.raises(CannotKeep):
        with_value("a:\n- \n- 1\n", ("a", 0), 5)


@pytest.mark.parametrize("text", [PLANT, EXTENDING, *((SCENARIOS / name).read_text("utf-8") for name in SHIPPED)])
def test_both_readers_mark_the_same_parts(text: str) -> None:
    """Where every value begins and ends, by the quick reader and by the exact one."""
    def spans(node: Any) -> list[Any]:
        inner = [part for pair in node.value for part in pair] if node.id == "mapping" else \
            node.value if node.id == "sequence" else []
        flow = bool(node.id != "scalar" and node.flow_style)
        here = (node.id, flow, node.start_mark.index, end_of(node, text))
        return [here, *(span for part in inner for span in spans(part))]

    text = text.replace("site:\n", "")  # what is left empty is left to the exact reader
    quickly = quick_nodes(text)
    assert quickly is not None
    assert spans(quickly) == spans(YAML(typ="safe", pure=True).compose(text))
    assert quick_nodes(text + "about:\n") is None
