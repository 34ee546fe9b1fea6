"""Wrong files: every fault at once, with line, column, place and what is allowed."""

from __future__ import annotations

import contextlib
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from linesim.scenario import tree
from linesim.scenario.faults import ScenarioFaults
from linesim.scenario.reading import parse_scenario, read_scenario
from linesim.show.commands import main

SCENARIOS = Path(__file__).parents[2] / "scenarios"
GOOD = """\
name: Small
start: 2027-01-04
end: 2027-03-31
shifts: {day: {start: "06:00", end: "14:30", meal_minutes: 30}}
trades:
  ASM: {people: {day: 3}}
  INS: {people: {day: 1}}
positions:
  - id: A
    packages:
      - {id: a1, trade: ASM, hours: 8, crew_max: 2}
      - {id: a2, kind: buy-off, trade: INS, hours: 1}
  - id: B
    packages:
      - {id: b1, trade: ASM, hours: 6}
launches: {takt_work_days: 1}
orders:
  - {serial: S1, promised: 2027-01-07}
"""


def faults_of(text: str) -> list[str]:
    """Messages of a text that cannot run."""
    with pytest.raises(ScenarioFaults) as found:
        parse_scenario(text, "small.yaml")
    return [str(fault) for fault in found.value.faults]


@pytest.mark.parametrize("name", ["birchwater", "tiny", "textbook-line", "textbook-feedback"])
def test_shipped_scenarios_have_no_faults(name: str) -> None:
    """Every scenario that is shipped can be run."""
    assert read_scenario(SCENARIOS / f"{name}.yaml").positions


@pytest.mark.parametrize(("old", "new", "where", "says"), [
    ("crew_max: 2", "crew_mx: 2", "small.yaml:11:40", "unknown field 'crew_mx'; did you mean 'crew_max'?"),
    ("hours: 8", "hours: -8", "small.yaml:11:30", "not a number of 0 or more"),
    ("trade: ASM, hours: 6", "trade: ASN, hours: 6", "small.yaml:15:18", "unknown trade 'ASN'; did you mean 'ASM'?"),
    ("trade: INS", "trade: ASM", "small.yaml:12:9", "ASM would buy off its own work"),
    ("end: 2027-03-31", "end: 2026-03-31", "small.yaml:3:1", "must not lie before the start"),
    ("end: 2027-03-31", "end: 2027-02-30", "small.yaml:3:1", "date YYYY-MM-DD"),
    ("  - id: B", "  - id: B\n    next: A", "small.yaml:9:5", "the routing goes in a ring"),
    ("  - id: B", "  - id: B\n    next: C", "small.yaml:14:5", "unknown position 'C'"),
    ("id: a1, trade", "id: a1, after: [a2], trade", "small.yaml:11:9", "wait for each other in a ring"),
    ("hours: 6", "hours: 6, crew: 2, crew_max: 3", "small.yaml:15:9", "same thing twice"),
    ("meal_minutes: 30", 'meal_minutes: 30, work: ["06:00-14:00"]', "small.yaml:4:10", "same time twice"),
    ("launches: {takt_work_days: 1}", "launches: {saturated: true, takt_work_days: 1}", "small.yaml:16:1",
     "exactly one of"),
    ("  - id: A\n", "  - id: A\n    next: out\n", "small.yaml:14:5", "no aircraft can reach"),
    ("orders:\n  - {serial: S1, promised: 2027-01-07}", "orders:", "small.yaml:17:1", "or `unlimited`"),
    ("name: Small", "name: Small\nsite: {latitude: null, longitude: 5}", "small.yaml:2:8", "must be a number"),
    ("name: Small", "name: Small\ncalendar: {closed: [{day: 1}]}", "small.yaml:2:12", "must be dates"),
    ("name: Small", "nme: Small", "small.yaml:1:1", "unknown field 'nme'; did you mean 'name'?"),
    ("name: Small", "name: &x Small", "small.yaml:1:7", "anchors"),
    ("name: Small", "name: !!python/name:os.system Small", "small.yaml:1:7", "tags are not read"),
    ("name: Small", "name: Small\nname: Other", "small.yaml:2:1", "given twice"),
    ("name: Small", "name: [" + "[" * 20 + "]" * 20 + "]", "small.yaml:1:", "nested deeper"),
    ("name: Small", "name: [Small", "small.yaml:2:", "not readable as YAML"),
    ("name: Small", "name: ! Small", "small.yaml:1:7", "tags are not read"),
    ("hours: 8", "hours: ! 8", "small.yaml:11:37", "tags are not read"),
    ("packages:", "packages: ! ", "small.yaml:10:15", "tags are not read"),
    ("name: Small", "about: &x one\nname: *x", "small.yaml:1:8", "anchors and aliases"),
    ("name: Small", "name: *x", "small.yaml:1:7", "anchors and aliases"),
    ("name: Small", "name: Small\n<<: {seed: 1}", "small.yaml:2:1", "must be plain text"),
    ("name: Small", "name: Small\n? [a, b]\n: 1", "small.yaml:2:3", "must be plain text"),
    ("name: Small", "name: Small\n---\nname: Other", "small.yaml:2:1", "not readable as YAML"),
    ("name: Small", "name: Small\nsite:\n\tlatitude: 5", "small.yaml:3:1", "not readable as YAML"),
    ("name: Small", "name: Sm\0all", "small.yaml:1:9", "the character '\\x00' may not stand in it"),
    ("hours: 8", "hours: " + "9" * 5000, "small.yaml:11:37", "at most 18 digits are read"),
    ("hours: 8", "hours: " + "9" * 400, "small.yaml:11:37", "at most 18 digits are read"),
    ("hours: 8", "hours: 1e400", "small.yaml:11:37", "at most 18 digits are read"),
    ("hours: 8", "hours: {lognormal: {mean: 1e400, cv: 1}}", "small.yaml:11:56", "at most 18 digits are read"),
    ("takt_work_days: 1", "takt_work_days: " + "1" * 5000, "small.yaml:16:28", "at most 18 digits are read"),
    ("hours: 8", "hours: .inf", "small.yaml:11:30", "found '.inf'"),
    ("name: Small", "name: Small\ncomparisons: [{name: a, changes: {x: 1e999}}]", "small.yaml:2:38", "at most 18"),
    ("name: Small", "name: Small\nshifts: {x: 1}", "small.yaml:5:1", "'shifts' is given twice"),
    ("name: Small", "name: " + "x" * 5000, "small.yaml:1:1", "text of at most 200 characters"),
])
def test_one_fault(old: str, new: str, where: str, says: str) -> None:
    """A fault says where it is, what was found, and what is allowed."""
    assert old in GOOD
    found = faults_of(GOOD.replace(old, new, 1))
    assert any(message.startswith(where) and says in message for message in found), found


def test_all_faults_at_once() -> None:
    """Several faults of one file are reported together, in the order of the file."""
    text = GOOD.replace("hours: 8", "hours: -8").replace("hours: 6", "hors: 6").replace("day: 3", "day: three")
    found = faults_of(text)
    assert [message.split(":")[1] for message in found] == ["6", "11", "15"]


@pytest.mark.parametrize(("text", "says"), [
    ("", "small.yaml:1:1: a scenario is a list of fields `name: value`; found nothing"),
    ("# only a remark\n", "found nothing"), ("---\n", "a scenario is a list of fields"),
    ("- a\n- b\n", "a scenario is a list of fields"), ("just text\n", "a scenario is a list of fields"),
    ("{}\n", "'name' is missing"), ("[" * 100_000, "nested deeper"), ("a: " * 2000, "not readable as YAML"),
    ("a:\n" + "".join(" " * n + "- \n" for n in range(1, 40)), "nested deeper"),
    ("\x07", "not readable as YAML"), ("%YAML 9.9\n---\na: 1\n", "not readable as YAML"),
])
def test_a_text_that_is_no_scenario(text: str, says: str) -> None:
    """Whatever the text is, it is answered by faults."""
    found = faults_of(text)
    assert says in found[0]


def test_a_file_that_is_no_text(tmp_path: Path) -> None:
    """Bytes that are not UTF-8, a folder, and a file that is not there are faults."""
    path = tmp_path / "bytes.yaml"
    path.write_bytes(b"name: \xff\xfe")
    for file, says in ((path, "not UTF-8"), (tmp_path, "it is no file"), (tmp_path / "none.yaml", "cannot be read"),
                       (tmp_path / "a\0b.yaml", "cannot be read")):
        with pytest.raises(ScenarioFaults, match=says):
            read_scenario(file)


@pytest.mark.parametrize("junk", ["null", "5", "text", "[]", "[1]", "{}", "{x: 1}", "[[1]]", "true", "1e400", "[{}]"])
def test_no_kind_of_value_in_any_place_is_a_traceback(junk: str) -> None:
    """Every value of the demonstration plant is replaced in turn by one of another kind."""
    text = (SCENARIOS / "tiny.yaml").read_text(encoding="utf-8")
    places = [found.span(1) for found in re.finditer(r"(?<=: )([^\s,{}\[\]][^,{}\[\]\n]*|\{.*\}|\[.*\])", text)]
    assert len(places) > 10
    for first, last in places:
        with contextlib.suppress(ScenarioFaults):
            parse_scenario(text[:first] + junk + text[last:], "tiny.yaml")


def test_a_large_file_is_refused(tmp_path: Path) -> None:
    """A 2 MB file is refused with its size."""
    path = tmp_path / "large.yaml"
    path.write_text("#" * 2_000_000)
    with pytest.raises(ScenarioFaults, match="2,000,000 bytes"):
        read_scenario(path)


def test_a_table_without_its_column(tmp_path: Path) -> None:
    """A table that lacks its needed column is one fault at the table."""
    (tmp_path / "orders.csv").write_text("model,promised\nD4,2027-01-07\n")
    path = tmp_path / "plant.yaml"
    path.write_text(GOOD.replace("orders:\n  - {serial: S1, promised: 2027-01-07}\n", "orders: {csv: orders.csv}\n"))
    with pytest.raises(ScenarioFaults, match="no column 'serial'"):
        read_scenario(path)


@pytest.mark.parametrize(("old", "new"), [
    ("hours: 8", "hours: " + "9" * 5000), ("hours: 8", "hours: ! 8"), (GOOD, ""), (GOOD, "- a list"),
    ("  - {serial: S1, promised: 2027-01-07}", "  csv: ../orders.csv"),
    ("  - {serial: S1, promised: 2027-01-07}", '  csv: "a\\0b"')])
def test_no_traceback_from_the_command(tmp_path: Path, old: str, new: str, capsys: pytest.CaptureFixture[str]) -> None:
    """What cannot be read ends with exit code 2 as well, and one fault."""
    path = tmp_path / "bad.yaml"
    assert old in GOOD
    path.write_text(GOOD.replace(old, new))
    assert main(["run", str(path), "--out", str(tmp_path / "results")]) == 2
    shown = capsys.readouterr()
    assert shown.err.startswith(f"This file cannot run: 1 fault.\n{path}:")
    assert not (tmp_path / "results").exists()


def test_the_command_says_faults_and_writes_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 2, the messages on the error stream, no run folder, no traceback."""
    path = tmp_path / "bad.yaml"
    path.write_text(GOOD.replace("hours: 8", "hours: -8"))
    assert main(["run", str(path), "--out", str(tmp_path / "results")]) == 2
    shown = capsys.readouterr()
    assert "This file cannot run: 1 fault." in shown.err
    assert shown.out == ""
    assert not (tmp_path / "results").exists()


SLIPS = ["{", "}", "[", "]", ",", ":", "?", "-", "#", "&", "*", "!", "|", ">", "'", '"', "%", "@", " ", "\n", "\\",
         "=", "~", "\t", "- ", ": ", " #", "? ", "\n  ", "\n---\n", "\n...\n", "|\n", ">-\n", "<<: ", "\u2028",
         "\x85", "\u00e9"]


@settings(max_examples=250, deadline=None)
@given(st.data())
def test_the_quick_reader_reads_what_the_exact_one_does(data: st.DataObject) -> None:
    """Values, places and faults of a text with slips: the same, or the quick reader leaves it to the exact one."""
    name = data.draw(st.sampled_from(["birchwater", "birchwater-pulse", "tiny", "textbook-line"]))
    lines = (SCENARIOS / f"{name}.yaml").read_text(encoding="utf-8").split("\n")
    first = data.draw(st.integers(0, len(lines) - 1))
    text = "\n".join(lines[first:first + data.draw(st.integers(1, 12))])
    for _ in range(data.draw(st.integers(0, 3))):
        at = data.draw(st.integers(0, len(text)))
        text = text[:at] + data.draw(st.sampled_from(SLIPS)) + text[at + data.draw(st.integers(0, 2)):]
    events = tree.quick_events(text)
    if events is None:
        return
    try:
        quick = tree._tree(events, "file")
    except (tree.NotSure, ScenarioFaults):
        return
    exact = tree._tree(YAML(typ="safe", pure=True).parse(text), "file")
    assert repr(quick) == repr(exact)


def test_the_shipped_scenarios_are_read_quickly() -> None:
    """The quick reader is sure of them: none falls back."""
    for file in SCENARIOS.glob("*.yaml"):
        events = tree.quick_events(file.read_text(encoding="utf-8"))
        assert events is not None
        assert tree._tree(events, "file").values["name"]
