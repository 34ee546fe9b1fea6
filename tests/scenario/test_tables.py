"""Tables beside a scenario file: what they may stand for, how cells are read, and what is refused."""

from __future__ import annotations

import csv
import subprocess
import sys
import zipfile
from datetime import date, datetime, time
from pathlib import Path

import pytest
from openpyxl import Workbook

from linesim.scenario import tables
from linesim.scenario.faults import ScenarioFaults
from linesim.scenario.reading import parse_scenario, read_scenario
from linesim.show.commands import main

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


def write(folder: Path, text: str, **rows_of: str) -> Path:
    """A plant file with tables beside it."""
    for name, rows in rows_of.items():
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
    monkeypatch.setattr(tables, "MOST_TABLE_BYTES", 100)
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


# sheets ---------------------------------------------------------------------------------------------------------
def sheet(folder: Path, rows: list[list[object]], name: str = "orders.xlsx", formats: dict[str, str] | None = None,
          title: str = "Orders") -> None:
    """An XLSX file with one sheet."""
    book = Workbook()
    page = book.active
    assert page is not None
    page.title = title
    for row in rows:
        page.append(row)
    for cell, shown in (formats or {}).items():
        page[cell].number_format = shown
    book.save(folder / name)


BOOK = PLANT + "orders: {xlsx: orders.xlsx}\n"


def test_the_demo_is_the_same_from_a_sheet(tmp_path: Path) -> None:
    """The order book as CSV, as a sheet with real dates and numbers, and as a sheet of texts: one scenario."""
    scenarios = Path(__file__).parents[2] / "scenarios"
    with (scenarios / "birchwater-orders.csv").open(encoding="utf-8", newline="") as file:
        head, *rows = csv.reader(file)
    real: list[list[object]] = [[date.fromisoformat(cell) if name == "promised" and cell else
                                 float(cell) if name == "price_usd" else int(cell) if name == "deposit_usd" else cell
                                 for name, cell in zip(head, row, strict=True)] for row in rows]
    demo = read_scenario(scenarios / "birchwater.yaml")
    text = (scenarios / "birchwater.yaml").read_text(encoding="utf-8")
    assert "{csv: birchwater-orders.csv}" in text
    for body in (real, rows):
        sheet(tmp_path, [list(head), *map(list, body)], "plant.xlsx", title="Order book")
        path = write(tmp_path, text.replace("{csv: birchwater-orders.csv}", "{xlsx: plant.xlsx, sheet: Order book}"))
        assert read_scenario(path) == demo


def test_cells_of_a_sheet(tmp_path: Path) -> None:
    """Dates, clock times a hair off, whole numbers, true and false, gaps, and rows and columns of nothing."""
    sheet(tmp_path, [["serial", "model", None, None], [249, "D4"], [None, " "], [], ["0250", 4]])
    facts = tmp_path / "facts.xlsx"
    book = Workbook()
    locks, parts = book.active, book.create_sheet("parts")
    assert locks is not None
    locks.title = "locks"
    locks.append(["serial", "from", "to"])
    locks.append(["249", datetime(2027, 1, 5, 7, 59, 59, 999_000), "2027-01-05 09:00"])
    parts.append(["serial", "package", "exists"])
    parts.append([249, "a1", True])
    parts.append(["0250", "a1", "FALSE"])
    book.save(facts)
    text = BOOK + "known: {tool_locks: {xlsx: facts.xlsx}, packages: {xlsx: facts.xlsx, sheet: parts}}\n"
    found = read_scenario(write(tmp_path, text))
    assert [(order.serial, order.model) for order in found.orders or ()] == [("249", "D4"), ("0250", "4")]
    assert found.known.tool_locks[0].begins == datetime(2027, 1, 5, 8)
    assert [fact.exists for fact in found.known.packages] == [True, False]


def test_packages_and_places_in_sheets(tmp_path: Path) -> None:
    """Lists by semicolons; numbers stay whole; the places of a CSV table and of a sheet are the same."""
    text = PLANT.replace("[{id: b1, trade: ASM, hours: 6}]", "{xlsx: b.xlsx}") + ORDERS
    sheet(tmp_path, [["id", "trade", "hours", "after", "crew"], ["b1", "ASM", 6.0, None, 2.0],
                     ["b2", "ASM", 2.5, "b1; ", None]], "b.xlsx")
    rows = "id,trade,hours,after,crew\nb1,ASM,6,,2\nb2,ASM,2.5,b1;,\n"
    listed = PLANT.replace("[{id: b1, trade: ASM, hours: 6}]", "{csv: b.csv}") + ORDERS
    assert read_scenario(write(tmp_path, text)) == read_scenario(write(tmp_path, listed, b=rows))
    places = PLANT[:PLANT.index("positions:")] + "positions: {xlsx: places.xlsx}\nlaunches: {takt_work_days: 1}\n"
    sheet(tmp_path, [["id", "docks", "next"], [1, 2, 2], [2, 1, "out"]], "places.xlsx")
    found = read_scenario(write(tmp_path, places + ORDERS)).positions
    assert [(place.id, place.docks, place.next) for place in found] == [("1", 2, "2"), ("2", 1, "out")]


@pytest.mark.parametrize(("rows", "formats", "says"), [
    ([["model"], ["D4"]], {}, "A1: orders: the table has no column 'serial'; it has model"),
    ([["serial", "modle"], ["S1", "D4"]], {}, "B1: orders: unknown column 'modle'; did you mean 'model'? the columns"),
    ([["serial", "serial"], ["S1", "S1"]], {}, "B1: orders: column 'serial' is written twice"),
    ([["serial", 7], ["S1", "S1"]], {}, "B1: orders: unknown column '7'"),
    ([["serial", "price_usd"], ["S1", 1], [], ["S2", -5]], {}, "B4: orders S2, price_usd: must be 0 or more, found -5"),
    ([["serial", "price_usd"], ["S1", "dear"]], {}, "B2: orders S1, price_usd: must be a number, found 'dear'"),
    ([["serial", "price_usd"], ["S1", True]], {}, "B2: orders S1, price_usd: must be a number, found true"),
    ([["serial", "price_usd"], ["S1", date(2027, 1, 7)]], {}, "B2: orders S1, price_usd: must not be a date, found"),
    ([["serial", "price_usd"], ["S1", 10**18]], {}, "B2: orders S1, price_usd: must be at most 1,000"),
    ([["serial", "model"], ["S1", date(2027, 1, 7)]], {}, "B2: orders S1, model: must not be a date, found the"),
    ([["serial", "model"], ["S1", 4.5]], {}, "B2: orders S1, model: must be text, found the number 4.5"),
    ([["serial"], [249]], {"A2": "0000"}, "A2: orders entry 1, serial: must be text, found the number 249"),
    ([["serial", "model"], ["S1", True]], {}, "B2: orders S1, model: must be text, found true"),
    ([["serial", "promised"], ["S1", 46394]], {}, "B2: orders S1, promised: must be a date YYYY-MM-DD"),
    ([["serial", "promised"], ["S1", "7.1.2027"]], {}, "B2: orders S1, promised: must be a date YYYY-MM-DD"),
    ([["serial", "promised"], ["S1", datetime(2027, 1, 7, 8)]], {}, "B2: orders S1, promised: must be a date YYYY"),
    ([["serial", "promised"], ["S1", date(1900, 1, 1)]], {}, None),
    ([["serial", "promised"], ["S1", time(8)]], {}, "B2: orders S1, promised: the cell holds a clock time"),
    ([["serial", "promised"], ["S1", date(2250, 1, 1)]], {}, "B2: orders S1, promised: must be a date of the years"),
    ([["serial", "model"], [None, "D4"]], {}, "A2: orders entry 1: 'serial' is missing"),
    ([["serial", "model"], ["S1", "D4", None, "x"]], {}, "D2: orders: this row has 4 cells and the header 2"),
    ([["serial", "model"], ["S1", "=1+1"]], {}, "B2: orders S1, model: the formula has no kept value"),
    ([["serial", "=1+1"], ["S1", "D4"]], {}, "B1: orders: the formula has no kept value"),
    ([["serial", "model"], ["S1", "#N/A"]], {}, "B2: orders S1, model: the cell shows the error #N/A"),
    ([["serial"], ["S1"], ["S1"]], {}, "A3: orders S1, serial: serial 'S1' is ordered twice"),
    ([], {}, "A1: orders: the table has no column 'serial'; it has none"),
])
def test_a_fault_in_a_sheet(tmp_path: Path, rows: list[list[object]], formats: dict[str, str],
                            says: str | None) -> None:
    """A fault in a sheet names file, sheet and cell; it is one fault."""
    sheet(tmp_path, rows, formats=formats)
    path = write(tmp_path, BOOK)
    if says is None:
        assert (read_scenario(path).orders or ())[0].promised == date(1900, 1, 1)
        return
    found = faults_in(path)
    assert len(found) == 1, found
    assert found[0].startswith(f"orders.xlsx, sheet Orders, {says}")


def test_a_clock_time_needs_its_date_and_its_clock(tmp_path: Path) -> None:
    """A moment that the sheet shows as a date alone is refused, as in CSV."""
    sheet(tmp_path, [["serial", "from", "to"], ["0249", date(2027, 1, 5), datetime(2027, 1, 5, 9)]], "locks.xlsx")
    found = faults_in(write(tmp_path, PLANT + ORDERS + "known: {tool_locks: {xlsx: locks.xlsx}}\n"))
    assert len(found) == 1
    assert found[0].startswith("locks.xlsx, sheet Orders, B2: known, tool_locks 0249, from: must be a date and a clock")


def test_a_formula_counts_by_its_kept_value(tmp_path: Path) -> None:
    """What the spreadsheet showed when it was saved."""
    sheet(tmp_path, [["serial", "price_usd"], ["S1", "=350000*2"]])
    repack(tmp_path / "orders.xlsx", "xl/worksheets/sheet1.xml", b"<v />", b"<v>700000</v>")
    assert (read_scenario(write(tmp_path, BOOK)).orders or ())[0].price_usd == 700_000


def repack(file: Path, name: str, old: bytes, new: bytes) -> None:
    """The file with one of its parts changed."""
    with zipfile.ZipFile(file) as package:
        parts = {part: package.read(part) for part in package.namelist()}
    assert old in parts[name]
    parts[name] = parts[name].replace(old, new)
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as package:
        for part, data in parts.items():
            package.writestr(part, data)


@pytest.mark.parametrize(("kind", "says"), [
    ("old", "an old XLS file, or has a password"), ("text", "damaged, or no XLSX file"), ("empty", "damaged, or no"),
    ("cut", "damaged, or no XLSX file"), ("zip", "damaged, or no XLSX file"), ("xml", "damaged, or no XLSX file"),
    ("part", "damaged, or no XLSX file"), ("bomb", "it unpacks to 4"), ("wide", "beyond row 50,000 or column SF"),
    ("long", "beyond row 50,000 or column SF"), ("folder", "it is no file"), ("none", "No such file")])
def test_a_sheet_that_is_not_read(kind: str, says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Whatever is wrong with the file, it is one fault at its name, and no traceback."""
    file = tmp_path / "orders.xlsx"
    sheet(tmp_path, [["serial"], ["S1"]])
    page = "xl/worksheets/sheet1.xml"
    whole = file.read_bytes()
    if kind == "old":
        file.write_bytes(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600)
    elif kind in ("text", "empty", "cut"):
        file.write_bytes({"text": b"serial\nS1\n", "empty": b"", "cut": whole[:len(whole) // 2]}[kind])
    elif kind == "zip":
        with zipfile.ZipFile(file, "w") as package:
            package.writestr("orders.csv", "serial\nS1\n")
    elif kind == "xml":
        repack(file, page, b"</sheetData>", b"</sheet")
    elif kind == "part":
        repack(file, "xl/workbook.xml", b"<", b"")
    elif kind == "bomb":
        with zipfile.ZipFile(file, "a", zipfile.ZIP_DEFLATED) as package:
            package.writestr("xl/media/large.bin", b"0" * 41_000_000)
    elif kind == "wide":
        repack(file, page, b'r="A2"', b'r="XFD2"')
    elif kind == "long":
        repack(file, page, b'<row r="2"', b'<row r="1048576"')
    else:
        file.unlink()
        if kind == "folder":
            file.mkdir()
    path = write(tmp_path, BOOK)
    assert main(["check", str(path)]) == 2
    said = capsys.readouterr().err.splitlines()
    assert said[0] == "This file cannot run: 1 fault."
    assert said[1].startswith(f"{path}:11:10: orders: table 'orders.xlsx' cannot be read: ")
    assert says in said[1]
    assert len(said) == 2


@pytest.mark.parametrize(("given", "where", "says"), [
    ("{xlsx: orders.xlsx, sheet: Ordres}", "11:29", "it has no sheet 'Ordres'; did you mean 'Orders'?"),
    ("{xlsx: orders.xlsx, sheet: Parts list}", "11:29", "it has no sheet 'Parts list'; there is Orders"),
    ("{xlsx: orders.xlsx, sheet: 1}", "11:29", "must be the name of a sheet, as text"),
    ("{xlsx: orders.xlsx, page: Orders}", "11:29", "a table is written {xlsx: file.xlsx, sheet: name}; unknown field"),
    ("{csv: orders.csv, sheet: Orders}", "11:27", "a table is written {csv: file.csv}; unknown field 'sheet'"),
    ("{xlsx: ../orders.xlsx}", "11:10", "not outside its folder"), ("{xlsx: 7}", "11:10", "needs the name of a file")])
def test_a_sheet_that_is_written_wrongly(given: str, where: str, says: str, tmp_path: Path) -> None:
    """One fault where it stands in the scenario file."""
    sheet(tmp_path, [["serial"], ["S1"]])
    found = faults_in(write(tmp_path, PLANT + f"orders: {given}\n", orders="serial\nS1\n"))
    assert len(found) == 1, found
    assert found[0].startswith(f"plant.yaml:{where}: orders: ")
    assert says in found[0]


def test_the_first_sheet_that_is_seen(tmp_path: Path) -> None:
    """A hidden sheet is read only by its name; a wrong size in the file and blank rows far below change nothing."""
    book = Workbook()
    hidden, seen = book.active, book.create_sheet("seen")
    assert hidden is not None
    hidden.title, hidden.sheet_state = "old", "hidden"
    for page, serial in ((hidden, "S0"), (seen, "S1")):
        page.append(["serial"])
        page.append([serial])
    seen.row_dimensions[60_000].height = 20
    book.save(tmp_path / "orders.xlsx")
    repack(tmp_path / "orders.xlsx", "xl/worksheets/sheet2.xml", b"<dimension ", b'<dimension ref="A1:A1" /><x ')
    assert [order.serial for order in read_scenario(write(tmp_path, BOOK)).orders or ()] == ["S1"]
    named = write(tmp_path, PLANT + "orders: {xlsx: orders.xlsx, sheet: old}\n")
    assert [order.serial for order in read_scenario(named).orders or ()] == ["S0"]


def test_a_scenario_without_sheets_needs_no_library_for_them() -> None:
    """The library is loaded when a sheet is met."""
    code = ("import sys, linesim; linesim.read(sys.argv[1]); "
            "print(sorted({'openpyxl', 'pandas', 'matplotlib', 'scipy', 'streamlit', 'simpy'} & set(sys.modules)))")
    demo = Path(__file__).parents[2] / "scenarios" / "birchwater.yaml"
    said = subprocess.run([sys.executable, "-c", code, str(demo)], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "[]"


def test_a_table_of_an_extending_file(tmp_path: Path) -> None:
    """A fault in a table names the table also where its file extends another."""
    write(tmp_path, PLANT + ORDERS)
    sheet(tmp_path, [["serial", "price_usd"], ["S1", -1]])
    own = tmp_path / "own.yaml"
    for table, says in (("{xlsx: orders.xlsx}", "orders.xlsx, sheet Orders, B2: "), ("{csv: o.csv}", "o.csv:2:4: ")):
        own.write_text(f"extends: plant.yaml\norders: {table}\n")
        (tmp_path / "o.csv").write_text("serial,price_usd\nS1,-1\n")
        found = faults_in(own)
        assert len(found) == 1
        assert found[0].startswith(f"{says}orders S1, price_usd: must be 0 or more, found -1")
