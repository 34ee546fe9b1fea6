"""The plant edited in tables: every comment kept, undo to the byte, each fault at its row, what may not move stays."""

from __future__ import annotations

import ast
from pathlib import Path
from typing import Any

import pytest

from linesim.scenario.reading import parse_scenario
from linesim.scenario.tree import value_at
from linesim.scenario.yaml_text import comments_of
from linesim.show.app.editing import draft, papers, plants
from linesim.show.app.editing.adding import with_package, with_position
from linesim.show.app.editing.draft import Draft
from linesim.show.app.editing.edits import Edits, edited, since
from linesim.show.app.editing.fixed import Refused, kept_package
from linesim.show.app.editing.nouns import NOUNS, ON_THE_LINE, ORDERS, PACKAGES, PEOPLE, POSITIONS, RATE, SHIFTS, Noun
from linesim.show.app.editing.on_paper import answer, on_paper
from linesim.show.app.editing.papers import Papers, read
from linesim.show.app.editing.picture import pictures
from linesim.show.app.editing.tables import row_faults, sheet
from linesim.show.palette import LIGHT
from linesim.show.starting import LIKE

SCENARIOS = Path(__file__).parents[3] / "scenarios"
DEMO, PULSE, TINY = (papers.opened(SCENARIOS / name)
                     for name in ("birchwater.yaml", "birchwater-pulse.yaml", "tiny.yaml"))


def _row(found: Papers, noun: Noun, code: str) -> int:
    table = sheet(noun, read(found))
    return next(n for n, row in enumerate(table.rows) if code in row[:2])


def _differing(old: Papers, new: Papers) -> list[tuple[str, str]]:
    """Lines that differ, by position, of papers with as many lines as before."""
    return [(a, b) for (_, x), (_, y) in zip(old.files, new.files, strict=True)
            for a, b in zip(x.decode().splitlines(), y.decode().splitlines(), strict=True) if a != b]


def _values(found: Papers) -> Any:
    source = read(found).source
    assert source is not None
    return source.values


def test_editing_draws_nothing() -> None:
    """The editing knows no page: none of its modules imports what draws one."""
    for file in Path(papers.__file__).parent.glob("*.py"):
        names = [name for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
                 for name in ([one.name for one in node.names] if isinstance(node, ast.Import) else
                              [node.module or ""] if isinstance(node, ast.ImportFrom) else [])]
        assert not [name for name in names if name.startswith("streamlit")], file.name


@pytest.mark.parametrize(("noun", "code", "column", "cell", "old", "new"), [
    (PACKAGES, "P1-20", "crew max", 3, "crew_max: 2", "crew_max: 3"),
    (PACKAGES, "P1-20", "crew max", None, ", crew_max: 2", ""),
    (PACKAGES, "P1-10", "hours", 30.5, "hours: 34", "hours: 30.5"),
    (PACKAGES, "P1-10", "hours", "{triangular: {low: 20, mode: 34, high: 60}}", "hours: 34",
     "hours: {triangular: {low: 20, mode: 34, high: 60}}"),
    (PACKAGES, "P4-30", "after", "P4-10; P4-20", "after: [P4-10]", "after: [P4-10, P4-20]"),
    (PEOPLE, "FLM", "people, day", 3.0, "people: {day: 2}", "people: {day: 3}"),
    (PEOPLE, "FLM", "people, evening", 1, "people: {day: 2}", "people: {day: 2, evening: 1}"),
    (PEOPLE, "FLM", "cover", "RIG 0.8; ASM 0.5", "cover: {RIG: 0.8}", "cover: {RIG: 0.8, ASM: 0.5}"),
    (SHIFTS, "evening", "start", "15:00", 'start: "14:30"', 'start: "15:00"'),
    (ON_THE_LINE, "DN4-0234", "remaining share", 0.4, "remaining_share: 0.5", "remaining_share: 0.4"),
    (ON_THE_LINE, "DN4-0236", "hours left", "FL-10 8.5", "hours_left: {FL-10: 9}", "hours_left: {FL-10: 8.5}"),
    (ORDERS, "DN4-0234", "promised", "2027-02-01", ",2027-01-28", ",2027-02-01"),
    (POSITIONS, "PB", "shifts", "day; evening", "shifts: [day]   #", "shifts: [day, evening]  #")])
def test_a_cell_changes_its_line_alone(noun: Noun, code: str, column: str, cell: Any, old: str, new: str) -> None:
    """One line differs, by just what was typed; all comments, layout and quotes stay, and the file can run."""
    found = edited(DEMO, noun, Edits({_row(DEMO, noun, code): {column: cell}}))
    before, after = _differing(DEMO, found)[0]
    assert len(_differing(DEMO, found)) == 1
    assert after == before.replace(old, new)
    assert comments_of(found.text()) == comments_of(DEMO.text())
    assert read(found).scenario is not None


def test_every_cell_as_it_is_shown_says_what_it_said() -> None:
    """Typing into each cell what it shows changes no byte of any shipped file."""
    for file in sorted(SCENARIOS.glob("*.yaml")):
        there = papers.opened(file)
        for noun in NOUNS:
            table = sheet(noun, read(there))
            cells = {n: {column.name: cell for column, cell in zip(table.columns, row, strict=True)
                         if column.at and not column.fixed and cell is not None
                         and value_at((*noun.rows(_values(there))[n], *column.at), _values(there)) is not None}
                     for n, row in enumerate(table.rows)}
            if noun is PACKAGES:  # buy-offs, holds and steps with a cure refuse, whatever is typed
                cells = {n: found for n, found in cells.items()
                         if not kept_package(value_at(noun.rows(_values(there))[n], _values(there)))}
            assert edited(there, noun, Edits(cells)) == there


def test_rows_come_and_go() -> None:
    """A new row stands where it belongs; taken out again, every byte is what it was."""
    new = {PEOPLE: {"trade": "WLD", "name": "Welder", "people, day": 2}, SHIFTS: {"shift": "night", "start": "23:00",
           "end": "06:00"}, ORDERS: {"serial": "DN4-0399", "promised": "2028-06-01"}, ON_THE_LINE: {
           "serial": "DN4-0249", "at": "ER", "remaining share": 0.5}, RATE: {"plan": "slow", "from": "2027-06-01",
           "takt work days": 5}}
    for noun, cells in new.items():
        rows = len(noun.rows(_values(DEMO)))
        more = edited(DEMO, noun, Edits(new=[{}, cells]))
        assert len(noun.rows(_values(more))) == rows + 1
        assert read(more).faults == ()
        assert comments_of(more.text()) == comments_of(DEMO.text())
        less = edited(more, noun, Edits(out=[rows]))
        assert (less == DEMO) is (noun is not RATE)
    assert value_at(("on_the_line", 16), _values(edited(DEMO, ON_THE_LINE, Edits(new=[new[ON_THE_LINE]])))) == {
        "serial": "DN4-0249", "at": "ER", "remaining_share": 0.5}


def test_dated_changes_stand_in_order() -> None:
    """A dated change of the takt is put between those before and after it, of the plan that it names."""
    found = edited(DEMO, RATE, Edits(new=[{"plan": "4.0 then 3.5", "from": "2027-06-01", "takt work days": 3.8}]))
    scenario = read(found).scenario
    assert scenario is not None
    assert [str(step.day) for step in scenario.plans[2].steps] == ["2027-05-03", "2027-06-01", "2027-09-07"]
    with pytest.raises(Refused, match="holds from the start"):
        edited(DEMO, RATE, Edits({0: {"from": "2027-06-01"}}))


@pytest.mark.parametrize(("noun", "edits", "said"), [
    (PACKAGES, Edits({11 - 1: {"crew max": 0}}), "Packages, row 11 (WB1-30), crew max: 0 is below 1."),
    (PACKAGES, Edits({0: {"trade": "ASN"}}), "Packages, row 1 (FB1-10), trade: unknown trade 'ASN'; did you mean"),
    (PACKAGES, Edits({0: {"hours": "many"}}), "Packages, row 1 (FB1-10), hours: 'many' is no number; nor one of"),
    (PACKAGES, Edits({0: {"hours": "12,5"}}), "Packages, row 1 (FB1-10), hours: '12,5' is no number; nor one of"),
    (PACKAGES, Edits({0: {"crew max": "2 men"}}), "Packages, row 1 (FB1-10), crew max: must be a whole number"),
    (POSITIONS, Edits({4: {"docks": 0}}), "Positions, row 5 (P1), docks: 0 is below 1."),
    (PEOPLE, Edits({0: {"people, day": -1}}), "People, row 1 (ASM), people, day: -1 is below 0."),
    (SHIFTS, Edits({0: {"start": "6 o'clock"}}), "Shifts, row 1 (day), start: must be a clock time"),
    (RATE, Edits({2: {"takt work days": 0}}), "Rate plan, row 3 (2027-05-03), takt work days: 0 is not above 0."),
    (ORDERS, Edits({3: {"promised": "2027-02-30"}}), "Orders, row 4 (DN4-0236), promised: must be a date"),
    (ON_THE_LINE, Edits(new=[{"serial": "DN4-0249", "at": "ERX"}]),
     "On the line, row 17 (DN4-0249), at: unknown position 'ERX'; did you mean 'ER'?"),
    (ON_THE_LINE, Edits(new=[{"at": "ER"}]), "On the line, row 17: 'serial' is missing.")])
def test_each_fault_lands_on_its_row(noun: Noun, edits: Edits, said: str) -> None:
    """A fault names table, row and column as they are seen, and what is wrong; the edit stays, to be put right."""
    found = edited(DEMO, noun, edits)
    assert read(found).scenario is None
    faults = row_faults(read(found))
    assert [fault.noun for fault in faults] == [noun.name] * len(faults)
    assert any(fault.text.startswith(said) for fault in faults), [fault.text for fault in faults]
    assert answer(found)[0].startswith("This file cannot run: ")
    assert on_paper(found) is None


def test_faults_of_what_stands_in_no_table() -> None:
    """A fault elsewhere names file and line."""
    broken = DEMO.with_text(DEMO.text().replace("runs: 200", "runs: many"))
    assert row_faults(read(broken))[0].text == "birchwater.yaml, line 20, runs: must be a whole number, found 'many'."
    unread = DEMO.with_text("name: [")
    assert read(unread).source is None
    assert row_faults(read(unread))[0].text.startswith("birchwater.yaml, line 1: not readable as YAML")
    with pytest.raises(Refused, match="cannot be read"):
        edited(unread, PACKAGES, Edits({0: {"hours": 1}}))


# what may not move ----------------------------------------------------------------------------------------------
@pytest.mark.parametrize(("code", "column", "cell", "why"), [
    ("PB-base", "cure hours", 1.0, "Nobody may shorten it"), ("P6-20", "elapsed hours", 1, "Nobody may shorten it"),
    ("P6-20", "chance", 0.1, "Nobody may shorten it"), ("PB-base", "schemes", "solid", "Nobody may shorten it"),
    ("P1-10", "inspection hours", 0, "not skipped"), ("P1-90", "kind", "work", "not skipped"),
    ("P1-90", "gate", None, "not skipped"), ("P1-90", "trade", "ASM", "not skipped"),
    ("P1-90", "hours", 0.1, "not skipped"), ("P1-90", "chance", 0.5, "not skipped"),
    ("P1-10", "can travel", True, "decided by engineering"), ("P1-10", "position", "P2", "stays in its position"),
    ("P6-40", "after", "none", "P6-40 waits for P6-20, a hold"), ("P6-40", "after", "P6-10", "that wait stays"),
    ("P8-90", "after", "P8-40; P8-50", ""), ("P6-90", "after", "P6-30", "")])
def test_what_may_not_move_stays(code: str, column: str, cell: Any, why: str) -> None:
    """Cure, hold, inspection, buy-off and leave to travel are refused with the reason, whatever the screen does."""
    edits = Edits({_row(DEMO, PACKAGES, code): {column: cell}})
    if not why:
        edited(DEMO, PACKAGES, edits)
        return
    with pytest.raises(Refused) as refused:
        edited(DEMO, PACKAGES, edits)
    assert str(refused.value).startswith(f"Packages, row {_row(DEMO, PACKAGES, code) + 1}, {column}: ")
    assert why in str(refused.value)


def test_holds_and_buy_offs_are_not_taken_out() -> None:
    """Nor is a position that holds one; other work goes, and so does nothing of an edit that is refused in part."""
    for code in ("P6-20", "P1-90", "PB-base", "FC-99", "IA-10"):
        with pytest.raises(Refused, match=f"{code} stays"):
            edited(DEMO, PACKAGES, Edits(out=[_row(DEMO, PACKAGES, code)]))
    with pytest.raises(Refused, match="P6 stays"):
        edited(DEMO, POSITIONS, Edits(out=[_row(DEMO, POSITIONS, "P6")]))
    gone = edited(DEMO, PACKAGES, Edits(out=[_row(DEMO, PACKAGES, "P6-40")]))
    assert len(PACKAGES.rows(_values(gone))) == len(PACKAGES.rows(_values(DEMO))) - 1


def test_a_new_package_is_waited_for() -> None:
    """It stands before the buy-off, which waits for it and for what it waited for; its cure is its own."""
    found = with_package(DEMO, "P6", {"id": "P6-50", "trade": "ASM", "hours": 4, "cure_hours": 6, "after": [],
                                      "name": "", "crew_max": None})
    place = read(found).scenario.positions[9]  # type: ignore[union-attr]
    assert [package.id for package in place.packages[-2:]] == ["P6-50", "P6-90"]
    assert place.packages[-1].after == ("P6-30", "P6-40", "P6-50")
    chain = TINY.with_text(TINY.text().replace("{id: a1, trade: ASM, hours: 8, crew_max: 2}", (
        "{id: a1, kind: hold, elapsed_hours: 8}, {id: a9, kind: buy-off, trade: ASM, hours: 1}")))
    by_itself = with_package(chain, "A", {"id": "a5", "hours": 1, "after": []})
    assert read(by_itself).scenario.positions[0].packages[2].after == ("a1", "a5")  # type: ignore[union-attr]
    with pytest.raises(Refused, match="short name"):
        with_package(DEMO, "P6", {"name": "x"})


def test_a_new_position_stands_in_the_flow() -> None:
    """It comes behind the one that is named; its first package begins its list."""
    found = with_package(with_position(DEMO, "P6", {"id": "P6b", "name": "Glue", "area": "Line"}), "P6b",
                         {"id": "P6b-1", "trade": "ASM", "hours": 4})
    scenario = read(found).scenario
    assert scenario is not None
    assert [position.id for position in scenario.positions[9:12]] == ["P6", "P6b", "P7"]
    assert comments_of(found.text()) == comments_of(DEMO.text())
    with pytest.raises(Refused, match="No position is called"):
        with_position(DEMO, "P99", {"id": "x"})


# a file that extends another ------------------------------------------------------------------------------------
def test_an_extending_file_says_what_differs() -> None:
    """A cell of the other file is changed under `changes` of this one; the other stays, rows are refused."""
    found = edited(PULSE, PEOPLE, Edits({_row(PULSE, PEOPLE, "FLM"): {"people, day": 3}}))
    assert dict(found.files)["birchwater.yaml"] == dict(PULSE.files)["birchwater.yaml"]
    assert read(found).scenario.trades["FLM"].people == {"day": 3}  # type: ignore[union-attr]
    assert "trades.FLM.people.day: 3" in found.text()
    with pytest.raises(Refused, match="extends another"):
        edited(PULSE, ON_THE_LINE, Edits(new=[{"serial": "x"}]))


# undo, keeping, saving ------------------------------------------------------------------------------------------
def test_undo_gives_the_same_bytes() -> None:
    """Back through every state and on again, each to the byte; a new edit lets go of what was undone."""
    states, found = [DEMO], Draft.of(DEMO)
    for number in range(5):
        states.append(edited(states[-1], PEOPLE, Edits({number: {"usd per hour": 40 + number}})))
        found = found.to(states[-1])
    assert found.lines_changed() == 5
    for number in (4, 3, 2, 1, 0):
        found = found.undone()
        assert found.now.files == states[number].files
    assert not found.changed
    assert not found.can_undo
    assert found.undone() == found
    found = found.redone().redone()
    assert found.now.files == states[2].files
    other = found.to(states[5])
    assert not other.can_redo
    assert other.undone().now.files == states[2].files


def test_what_was_typed_since() -> None:
    """Edits are taken in one by one: a cell once, a new row first whole and then by its cells."""
    first = Edits({0: {"a": 1}}, [{}, {"b": 2}])
    then = Edits({0: {"a": 1, "c": 3}}, [{}, {"b": 2, "d": 4}, {"e": 5}], [2])
    assert since(Edits(), first, 7) == Edits({0: {"a": 1}}, [{"b": 2}])
    assert since(first, then, 7) == Edits({0: {"c": 3}, 7: {"d": 4}}, [{"e": 5}], (2,))
    assert not since(then, then, 7)


def test_a_draft_outlives_its_page(tmp_path: Path) -> None:
    """What was not saved is found again, unless the file on the disk is another one by then."""
    path = plants.begun("My plant", plants.STARTER, tmp_path)
    there = papers.opened(path)
    found = Draft.of(there).to(edited(there, PEOPLE, Edits({0: {"people, day": 6}})))
    draft.keep(found, path, tmp_path)
    again = draft.begun(there, path, tmp_path)
    assert again.now == found.now
    assert again.undone().now == there
    assert draft.begun(found.now, path, tmp_path).now == found.now
    other = there.with_text(there.text() + "# more\n")
    assert draft.begun(other, path, tmp_path).now == other
    draft.keep(found.undone(), path, tmp_path)
    assert draft.begun(there, path, tmp_path).now == there


def test_a_plant_is_begun_edited_and_saved_with_its_comments(tmp_path: Path) -> None:
    """From `new` to the disk: the file says what was typed, with every comment of the starter."""
    path = plants.begun("My plant", plants.STARTER, tmp_path)
    assert path == tmp_path / "plants" / "my-plant" / "my-plant.yaml"
    there = papers.opened(path)
    found = Draft.of(there).to(edited(there, PEOPLE, Edits({0: {"people, day": 6}})))
    saved = plants.saved(found, path)
    assert not saved.changed
    assert saved.undone().now == there
    text = path.read_text(encoding="utf-8")
    assert text == there.text().replace("people: {day: 5}", "people: {day: 6}")
    assert parse_scenario(text).name == "My plant"
    assert plants.own_files(tmp_path) == {"own-my-plant": path}
    path.write_text(text + "# by another hand\n", encoding="utf-8")
    with pytest.raises(Refused, match="changed by someone else"):
        plants.saved(saved.undone(), path)
    assert path.read_text(encoding="utf-8").endswith("# by another hand\n")


@pytest.mark.parametrize("like", [plants.STARTER, *LIKE])
def test_the_gallery_is_what_the_command_offers(like: str, tmp_path: Path) -> None:
    """Everything that `linesim new` writes can be begun here, runs as it stands, and is not written over."""
    assert set(plants.GALLERY) == {plants.STARTER, *LIKE}
    path = plants.begun("Here", like, tmp_path)
    scenario = read(papers.opened(path)).scenario
    assert scenario is not None
    assert scenario.name == "Here"
    with pytest.raises(Refused, match="already"):
        plants.begun("here!", like, tmp_path)
    with pytest.raises(Refused, match="letters or digits"):
        plants.begun(" - ", like, tmp_path)


def test_a_copy_has_its_tables_and_its_name(tmp_path: Path) -> None:
    """A copy stands by itself: its tables beside it, its name in it, and otherwise the very bytes."""
    changed = edited(DEMO, ORDERS, Edits({0: {"promised": "2027-01-22"}}))
    path = plants.copied(changed, "Second try", tmp_path)
    copy = papers.opened(path)
    assert [name for name, _ in copy.files] == ["second-try.yaml", "birchwater-orders.csv"]
    assert copy.files[1] == changed.files[1]
    assert copy.text() == DEMO.text().replace("name: Birchwater baseline 2027", "name: Second try")
    broken = edited(DEMO, POSITIONS, Edits({0: {"docks": 0}}))
    with pytest.raises(Refused, match="1 fault"):
        plants.copied(broken, "Third", tmp_path)
    assert not (tmp_path / "plants" / "third").exists()


def test_shipped_scenarios_are_nobodys_own(tmp_path: Path) -> None:
    """Only a plant of the reader's own, or the file that the command was given, may be saved over."""
    shipped = SCENARIOS / "birchwater.yaml"
    assert not plants.is_own(shipped, tmp_path, shipped)
    given = tmp_path / "given.yaml"
    assert plants.is_own(given, tmp_path / "results", given)
    assert not plants.is_own(given, tmp_path / "results")
    assert plants.is_own(plants.begun("x", plants.STARTER, tmp_path), tmp_path)


# on paper -------------------------------------------------------------------------------------------------------
def test_the_loads_follow_every_edit() -> None:
    """A faster takt brings places over 100 % with the word; a second dock takes one back."""
    assert "nothing looks wrong on paper" in answer(DEMO)[0]
    fast = edited(DEMO, RATE, Edits({0: {"takt work days": 4}}))
    paper = on_paper(fast)
    assert paper is not None
    assert [load.place for load in paper.places if load.over] == ["P8"]
    assert "At takt 4, P8 is over on paper." in answer(fast)[0]
    wide, narrow = pictures(paper, LIGHT)
    for svg in (wide, narrow):
        assert svg.count('class="track"') == len(paper.places)
        assert svg.count(">over</tspan>") == 1
        assert svg.count('class="over"') == 1
    two = edited(fast, POSITIONS, Edits({_row(fast, POSITIONS, "P8"): {"docks": 2}}))
    assert [load.place for load in on_paper(two).places if load.over] == []  # type: ignore[union-attr]


def test_a_month_over_its_time_is_said() -> None:
    """Under 100 % over all months and over it in one: the answer holds, and the month is named."""
    first, more = answer(DEMO)
    paper = on_paper(DEMO)
    assert paper is not None
    assert paper.numbers is not None
    fullest = max(paper.numbers["places"], key=lambda row: float(row["load in it"]))
    assert fullest["load in it"] > 1 > fullest["load"]
    assert "nothing looks wrong" in first
    assert more[0].startswith(f"Not in every month: in {fullest['fullest month']} more is asked of {fullest['place']}")


def test_many_places_over_are_counted() -> None:
    """The answer names a few of them, and what would change each is said below."""
    first, more = answer(edited(DEMO, RATE, Edits({0: {"takt work days": 2}})))
    assert " more are over on paper." in first
    assert len(more) > 4
