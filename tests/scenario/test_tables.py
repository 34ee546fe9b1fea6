"""Tables beside a scenario file: what they may stand for, how cells are read, and what is refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from linesim.scenario import reading
from linesim.scenario.faults import ScenarioFaults
from linesim.scenario.reading import parse_scenario, read_scenario

PLANT = """\
name: Small
start: 2027-01-04
end: 2027-03-31
shifts: {day: {start: "06:00", end: "14:30", meal_minutes: 30}}
trades:
  ASM: {people: {day: 3}}
positions:
  - {id: A, packages: [{id: a1, trade: ASM, hours: 8}]}
  - {id: B, packages: [{id: b1, trade: ASM, hours: 6}]}
launches: {takt_work_days: 1}
"""
ORDERS = "orders: [{serial: '0249'}, {serial: '0250'}]\n"


def write(folder: Path, text: str, **tables: str) -> Path:
    """A plant file with tables beside it."""
    for name, rows in tables.items():
        (folder / f"{name}.csv").write_bytes(rows.encode())
    path = folder / "plant.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def faults_in(path: Path) -> list[str]:
    """Messages of a file that cannot run, without its folder."""
    with pytest.raises(ScenarioFaults) as found:
        read_scenario(path)
    return [str(fault).replace(f"{path.parent}/", "") for fault in found.value.faults]


def test_an_order_book_says_what_the_list_would_say(tmp_path: Path) -> None:
    """Text stays text, numbers are numbers, empty cells are left out, the mark of a spreadsheet is passed over."""
    rows = '\ufeffserial,model,promised,price_usd,\r\n0249,D4,2027-01-07,700000.5\r\n,,,,\r\n"0250",,,1,\r\n'
    listed = ("orders:\n  - {serial: '0249', model: D4, promised: 2027-01-07, price_usd: 700000.5}\n"
              "  - {serial: '0250', price_usd: 1}\n")
    found = read_scenario(write(tmp_path, PLANT + "orders: {csv: orders.csv}\n", orders=rows))
    assert found == parse_scenario(PLANT + listed)
    assert [order.serial for order in found.orders or ()] == ["0249", "0250"]


def test_positions_in_a_table(tmp_path: Path) -> None:
    """A place without packages is one row; several shifts are parted by semicolons."""
    text = PLANT[:PLANT.index("positions:")] + "positions: {csv: places.csv}\nlaunches: {takt_work_days: 1}\n" + ORDERS
    places = "id,name,docks,parking,shifts,next\n01,First,2,,day;day,2\n2,\"Second, and last\",1,3,,out\n"
    found = read_scenario(write(tmp_path, text, places=places)).positions
    assert [(p.id, p.name, p.docks, p.parking, p.shifts, p.next) for p in found] == [
        ("01", "First", 2, 0, ("day", "day"), "2"), ("2", "Second, and last", 1, 3, None, "out")]
    bad = faults_in(write(tmp_path, text, places="id,packages\nA,a1\n"))
    assert len(bad) == 1
    assert bad[0].startswith("places.csv:1:4: positions: unknown column 'packages'; ")
    assert "the columns may be id, name, area, half, docks, parking" in bad[0]


@pytest.mark.parametrize(("name", "rows"), [
    ("present", "trade,date,people\nASM,2027-01-04,2\n"),
    ("hours", "serial,package,hours\n0249,a1,4.5\n"),
    ("packages", "serial,package,exists\n0249,a1,TRUE\n"),
    ("late_parts", "serial,package,work_days\n0249,a1,2\n"),
    ("tool_locks", "serial,from,to\n0249,2027-01-05 08:00,2027-01-05 09:00\n"),
    ("flyable", "date,hour,flyable\n2027-01-05,,false\n"),
    ("out_of_service", "position,date\nA,2027-01-05\n"),
    ("squawks", "serial,flight\n0249,1\n"),
    ("repeats", "serial,position,times\n0249,A,1\n"), ("repaints", "serial,times\n0249,1\n"),
    ("returns", "serial,times\n0249,1\n"), ("refusals", "serial,times\n0249,1\n"),
    ("goings_back", "serial,times\n0249,1\n"),
])
def test_facts_in_tables(tmp_path: Path, name: str, rows: str) -> None:
    """Every list of known facts may stand in a table."""
    path = write(tmp_path, PLANT + ORDERS + f"known: {{{name}: {{csv: facts.csv}}}}\n", facts=rows)
    assert len(getattr(read_scenario(path).known, name)) == 1


def test_packages_in_a_table(tmp_path: Path) -> None:
    """Cells become what their field holds: lists by semicolons, numbers, true or false."""
    text = PLANT.replace("[{id: b1, trade: ASM, hours: 6}]", "{csv: b.csv}") + ORDERS
    rows = "id,trade,hours,after,torque\nb1,ASM,6,,true\nb2,ASM,2,,\nb3,ASM,1,b1; b2,false\n"
    packages = read_scenario(write(tmp_path, text, b=rows)).positions[1].packages
    assert [(p.id, p.after, p.torque) for p in packages] == [("b1", None, True), ("b2", None, False),
                                                             ("b3", ("b1", "b2"), False)]


@pytest.mark.parametrize(("rows", "says"), [
    ("model,promised\nD4,2027-01-07\nD4,2027-01-08\n", ["orders.csv:1:1: orders: the table has no column 'serial'; "]),
    ("serial,modle\nS1,D4\nS2,D4\n", ["orders.csv:1:8: orders: unknown column 'modle'; did you mean 'model'? the col"]),
    ("serail,model\nS1,D4\nS2,D4\n", ["orders.csv:1:1: orders: unknown column 'serail'; did you mean 'serial'? the "]),
    ("serial,serial\nS1,S1\n", ["orders.csv:1:8: orders: column 'serial' is written twice"]),
    ("serial,price_usd\nS1,1\nS2,-5\n", ["orders.csv:3:4: orders S2, price_usd: must be 0 or more, found -5"]),
    ("serial,price_usd\nS1,1e400\n", ["orders.csv:2:4: orders S1, price_usd: a number too long or too large"]),
    ("serial,price_usd\nS1," + "9" * 5000 + "\n", ["orders.csv:2:4: orders S1, price_usd: a number too long"]),
    ("serial,price_usd\nS1,dear\n", ["orders.csv:2:4: orders S1, price_usd: must be a number, found 'dear'"]),
    ("serial,promised\nS1,7.1.2027\n", ["orders.csv:2:4: orders S1, promised: must be a date YYYY-MM-DD"]),
    ("serial,model\nS1,D4\n,D4\n", ["orders.csv:3:1: orders entry 2: 'serial' is missing"]),
    ("serial,model\nS1,D4,x\n", ["orders.csv:2:7: orders: this row has 3 cells and the header 2"]),
    ("serial,model\n\"S\n1\",D4\nS1,D4\nS1,D4\n", ["orders.csv:5:1: orders S1, serial: serial 'S1' is ordered twice"]),
    ("serial,model\nS1,\"D4\n", ["orders.csv:2:4: orders: a quotation mark is not closed"]),
    ("", ["orders.csv:1:1: orders: the table has no column 'serial'; it has none"]),
])
def test_a_fault_in_a_table(tmp_path: Path, rows: str, says: list[str]) -> None:
    """A fault in a table names the table, its line and column; a wrong column is said once."""
    found = faults_in(write(tmp_path, PLANT + "orders: {csv: orders.csv}\n", orders=rows))
    assert len(found) == len(says), found
    for message, start in zip(found, says, strict=True):
        assert message.startswith(start)


@pytest.mark.parametrize(("name", "says"), [
    ("../orders.csv", "not outside its folder"), ("/etc/hosts", "not outside its folder"), ("none.csv", "No such file"),
    ("7", "needs the name of a file"), ("[]", "needs the name of a file"), ("sub", "it is no file"),
    ('"a\\0b.csv"', "no file name may hold"), ("link.csv", "not outside its folder"), ("latin.csv", "not UTF-8 text"),
    ("x" * 5000, "File name too long"), ("large.csv", "at most 100 are read"),
])
def test_a_table_that_is_not_read(tmp_path: Path, name: str, says: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A table stands beside the scenario and can be read, or it is one fault at its name."""
    monkeypatch.setattr(reading, "MOST_TABLE_BYTES", 100)
    folder = tmp_path / "inner"
    (folder / "sub").mkdir(parents=True)
    (tmp_path / "orders.csv").write_text("serial\nS1\n")
    (folder / "link.csv").symlink_to(tmp_path / "orders.csv")
    (folder / "latin.csv").write_bytes(b"serial\n\xff\n")
    (folder / "large.csv").write_text("serial\n" + "S" * 200)
    found = faults_in(write(folder, PLANT + f"orders: {{csv: {name}}}\n"))
    assert len(found) == 1, found
    assert found[0].startswith("plant.yaml:11:10: orders: ")
    assert says in found[0]


def test_a_table_with_another_field(tmp_path: Path) -> None:
    """`csv` stands alone."""
    found = faults_in(write(tmp_path, PLANT + "orders: {csv: orders.csv, sep: ;}\n", orders="serial\nS1\n"))
    assert len(found) == 1
    assert found[0].startswith("plant.yaml:11:27: orders: a table is written {csv: file.csv}; unknown field 'sep'")
