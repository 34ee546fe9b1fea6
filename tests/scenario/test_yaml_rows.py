"""Entries added to a scenario file and taken out of it: just that changes, and every other comment stays."""

from __future__ import annotations

from copy import deepcopy
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from linesim.scenario.csv_table import records
from linesim.scenario.csv_text import with_cell, with_rows, without_row
from linesim.scenario.tree import read_tree, value_at
from linesim.scenario.written import written
from linesim.scenario.yaml_rows import with_entries, without
from linesim.scenario.yaml_text import CannotKeep, comments_of

SCENARIOS = Path(__file__).parents[2] / "scenarios"
STARTER = files("linesim.scenario").joinpath("starter.yaml").read_text(encoding="utf-8")
LAYOUTS = """\
# above all
trades:   # who
  A: {people: 1}   # of A
  # before B
  B:
    people: 2
shifts: {day: {start: "06:00"}, late: {start: "14:00"}}
positions:
- id: P   # of P
  # inside P
  docks: 2
# before Q
- id: Q
plans:
  - {name: one}   # first
  # before two
  - {name: two}
orders: [   # the book
  {serial: a}, {serial: b},   # these
  {serial: c},
  # before d
  {serial: d}]
on_the_line: []   # nobody
assumed:
"""


def _lists(values: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    found = [path] if isinstance(values, list) else []
    inner = values.items() if isinstance(values, dict) else enumerate(values) if isinstance(values, list) else ()
    return found + [one for key, part in inner for one in _lists(part, (*path, key))]


@pytest.mark.parametrize("text", [LAYOUTS, LAYOUTS.replace("\n", "\r\n"), STARTER],
                         ids=["layouts", "returns", "starter"])
def test_every_entry_comes_in_and_goes_out(text: str) -> None:
    """Entries put into any list are there and nothing else differs; taken out, the file says what it did."""
    values = read_tree(text, "").values
    for path in _lists(values):
        there = value_at(path, values)
        new = {"id": "NEW", "name": "a: #b"} if there and isinstance(there[0], dict) else "NEW"
        for at in sorted({0, len(there) // 2, len(there)}):
            more = with_entries(text, path, at, [new, new])
            wanted = deepcopy(values)
            value_at(path, wanted)[at:at] = [new, new]
            assert read_tree(more, "").values == wanted
            assert comments_of(more) == comments_of(text)
            less = without(without(more, (*path, at + 1)), (*path, at))
            assert read_tree(less, "").values == values
            assert comments_of(less) == comments_of(text)


@pytest.mark.parametrize("text", [LAYOUTS, STARTER], ids=["layouts", "starter"])
def test_what_goes_out_takes_only_its_own_comments(text: str) -> None:
    """Any entry may go; the comments that stay are those of the text without what stood on its own lines."""
    values = read_tree(text, "").values
    for path in _lists(values):
        for number in range(len(value_at(path, values))):
            wanted = deepcopy(values)
            del value_at(path, wanted)[number]
            less = without(text, (*path, number))
            assert read_tree(less, "").values == wanted
            lost = [one for one in comments_of(text) if one not in comments_of(less)]
            assert len(lost) == len(comments_of(text)) - len(comments_of(less))
            for comment in lost:
                line = next(one for one in text.splitlines() if comment in one)
                assert line not in less.splitlines()


@pytest.mark.parametrize(("path", "gone", "stays"), [
    (("positions", 0), ["# of P", "# inside P"], ["# before Q"]),
    (("plans", 0), ["# first"], ["# before two"]), (("plans", 1), [], ["# first", "# before two"]),
    (("orders", 1), [], ["# these"]), (("orders", 3), [], ["# before d"]),
    (("trades", "A"), ["# of A"], ["# before B"]),
    (("shifts", "day"), [], []), (("shifts", "late"), [], []), (("trades", "B", "people"), [], ["# before B"])])
def test_comments_of_what_goes(path: tuple[Any, ...], gone: list[str], stays: list[str]) -> None:
    """A comment on the lines of an entry goes with it; one above or below it stays."""
    less = comments_of(without(LAYOUTS, path))
    assert set(less) == set(comments_of(LAYOUTS)) - set(gone)
    assert set(stays) <= set(less)


def test_what_is_left_of_a_section() -> None:
    """The last entry leaves an empty list, the last field an empty section; a list that is left out is begun."""
    text = "a:\n  - {x: 1}   # one\nb:\n  c: 2\n"
    assert without(text, ("a", 0)) == "a: []\nb:\n  c: 2\n"
    assert without(text, ("b", "c")) == "a:\n  - {x: 1}   # one\nb: {}\n"
    assert with_entries("a: 1\n# end\n", ("b",), 0, [{"x": 1}]) == "a: 1\nb:\n  - {x: 1}\n# end\n"
    assert with_entries(LAYOUTS, ("on_the_line",), 0, [{"serial": "a"}]).count(
        "on_the_line:   # nobody\n  - {serial: a}\n") == 1
    with pytest.raises(CannotKeep):
        without("- 1\n".replace("- 1", "a: [{b: 1}]\nc:\n  - - 1\n    - 2"), ("c", 0, 0))
    with pytest.raises(LookupError):
        without(text, ("b", "d"))
    with pytest.raises(CannotKeep):
        with_entries(text, ("b",), 0, [1])


def test_long_lists_are_broken() -> None:
    """A list in lines stays in lines: what is added begins a new one where the line would be over 120 letters."""
    at = len(read_tree(STARTER, "").values["orders"])
    new = [{"serial": f"T-{n}", "promised": "2028-03-01"} for n in range(200, 210)]
    more = with_entries(STARTER, ("orders",), at, new)
    assert max(map(len, more.splitlines())) <= 120
    assert more.splitlines()[-4].startswith("  {serial: ")


def test_clock_times_keep_their_quotes() -> None:
    """A clock time is written in quotes, as the language asks for it: other readers take 06:00 for a number."""
    assert written({"start": "06:00", "meal": "10:00-10:30", "at": "AB:00"}) == \
        '{start: "06:00", meal: "10:00-10:30", at: AB:00}'


# tables ---------------------------------------------------------------------------------------------------------
TABLE = 'serial,model,"note"\r\nS1,D4,"a, b"\r\n\r\nS2,,"say ""x"""\r\nS3'


def _cells(text: str) -> list[list[Any]]:
    return [[cell for cell, _, _ in row] for row in records(text)]


def test_a_cell_changes_and_nothing_else() -> None:
    """Quotes, empty lines and line ends stay as they are written; short rows are filled up."""
    assert with_cell(TABLE, 0, "note", "c") == TABLE.replace('"a, b"', '"c"')
    assert with_cell(TABLE, 1, "model", "D5") == TABLE.replace("S2,,", "S2,D5,")
    assert with_cell(TABLE, 1, "note", None) == TABLE.replace(',"say ""x"""', ",")
    assert with_cell(TABLE, 2, "note", "a;b") == TABLE + ",,a;b"
    assert with_cell(TABLE, 0, "model", 'x"y') == TABLE.replace("D4", '"x""y"')
    assert _cells(with_cell(TABLE, 1, "new", True))[:3] == [
        ["serial", "model", "note", "new"], ["S1", "D4", "a, b"], ["S2", "", 'say "x"', "true"]]
    with pytest.raises(IndexError):
        with_cell(TABLE, 3, "model", 1)
    with pytest.raises(ValueError, match="fields of its own"):
        with_cell(TABLE, 0, "model", {"a": 1})


def test_rows_come_in_and_go_out() -> None:
    """A row put in anywhere is there; taken out, the text is byte for byte what it was."""
    for at in range(4):
        more = with_rows(TABLE, at, [{"serial": "N", "model": ["a", "b"]}])
        assert _cells(more)[at + 1][:2] == ["N", "a; b"]
        assert [row for n, row in enumerate(_cells(more)) if n != at + 1] == _cells(TABLE)
        assert without_row(more, at) == TABLE
    assert _cells(without_row(TABLE, 1)) == [row for n, row in enumerate(_cells(TABLE)) if n != 2]
    assert without_row("a\n1", 0) == "a"
