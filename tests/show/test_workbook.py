"""The workbook and the CSV files, read back with another library: every cell is one of the answer or of the runs."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from importlib.resources import files
from pathlib import Path
from typing import Any

import openpyxl
import pandas as pd
import pytest

import linesim
from linesim.line.sheet import Sheet
from linesim.scenario.paths import path_of, plain
from linesim.scenario.reading import parse_scenario
from linesim.scenario.tree import value_at
from linesim.show.workbook import as_text, write_csv, write_workbook

SCENARIOS = Path(__file__).parents[2] / "scenarios"


@dataclass
class Kept:
    """A run folder with its workbook and what was read back from it."""

    folder: Path
    result: linesim.Result
    file: Path
    numbers: dict[str, Any]

    @property
    def book(self) -> openpyxl.Workbook:
        return openpyxl.load_workbook(self.file)

    def rows(self, title: str) -> list[dict[str, Any]]:
        """Rows of a sheet by the heads of their columns."""
        head, *rows = self.book[title].iter_rows(values_only=True)
        return [dict(zip(head, row, strict=True)) for row in rows]


def kept(folder: Path, plant: Any, runs: int) -> Kept:
    result = linesim.run(plant, runs=runs)
    at = linesim.keep(result, folder, "plant")
    file = write_workbook(at, Sheet(plant), result.runs, result.answer)
    assert write_csv(at, Sheet(plant), result.runs, result.answer) == at / "csv"
    return Kept(at, result, file, json.loads((at / "answer.json").read_text()))


@pytest.fixture(scope="module")
def starter(tmp_path_factory: pytest.TempPathFactory) -> Kept:
    text = files("linesim.scenario").joinpath("starter.yaml").read_text(encoding="utf-8")
    return kept(tmp_path_factory.mktemp("starter"), parse_scenario(text), 30)


@pytest.fixture(scope="module")
def pulse(tmp_path_factory: pytest.TempPathFactory) -> Kept:
    return kept(tmp_path_factory.mktemp("pulse"), linesim.read(SCENARIOS / "birchwater-pulse.yaml"), 2)


def iso(value: Any) -> Any:
    return str(value.date()) if isinstance(value, datetime) else value


def cells_of(row: dict[str, Any]) -> list[Any]:
    return [iso(value) for value in row.values()]


def mean(row: dict[str, float] | None) -> list[float | None]:
    return [row.get(name) if row else None for name in ("mean", "low", "high")]


ACCOUNT = ["paid", "worked", "checked", "breaks and meetings", "trained", "absent", "idle"]
SHARES = ["worked", "holds and appointments", "waiting for people", "waiting for weather, parts, customer, other half",
          "off shift", "blocked", "empty"]


def expected(of: Kept) -> dict[str, list[list[Any]]]:
    """What the sheets must hold by the JSON of the folder, worked out here a second time; words are left out."""
    n = of.numbers
    reach = [f"{x} in 10 reach" for x in (9, 8, 5, 1)]
    counts, keeps = n["deliveries in the window"], n["keeps the plan"]
    enough = "note" not in counts
    return {
        "Deliveries in the window": [[*n["window"], *([counts[x] for x in reach] if enough else []), keeps["runs"],
                                      keeps["of"], "yes" if keeps["holds"] else "no",
                                      *([] if enough else [counts["note"]])]],
        "Deliveries by quarter": [[name, row["plan"], *([row[x] for x in reach] if enough else []),
                                   row["runs that keep the plan"], n["runs"]] for name, row in n["quarters"].items()],
        "Deliveries by month": [[f"{month}-01", row["plan"], *mean(row)]
                                for month, row in n["deliveries by month"].items()],
        "Dates by serial": [[row["promised"], *(row[x] for x in ("half by", "8 in 10 by", "19 in 20 by") if enough),
                             row["runs that keep it"], n["runs"]] for row in n["serials"]],
        "Places": [[row["place"], row["name"], row["area"], row["docks"], *mean(row["at work or waiting"]),
                    *(row[x] for x in SHARES), row["most waited for"], row["most waited for, besides people"]]
                   for row in n["places"]],
        "Trades": [[row["trade"], row["name"], *mean(row["load"]), *(row[f"{x} hours"] for x in ACCOUNT)]
                   for row in n["trades"]],
        "Line as a whole": [mean(row) for row in (
            n["work days between deliveries"], n["flow, calendar days"], *n["aircraft in process"].values(),
            keeps["backlog growth in the last six months"]) if row]}


def held(of: Kept) -> dict[str, list[list[Any]]]:
    """The same parts of the workbook."""
    cut = {"Deliveries by quarter": (0, -1), "Dates by serial": (2, -2), "Line as a whole": (2, None)}
    return {title: [cells_of(row)[slice(*cut.get(title, (0, None)))] for row in of.rows(title)]
            for title in expected(of)}


@pytest.mark.parametrize("name", ["starter", "pulse"])
def test_every_number_is_that_of_the_answer(name: str, request: pytest.FixtureRequest) -> None:
    """Cell by cell against answer.json, with ranges (30 runs) and without (2 runs)."""
    of = request.getfixturevalue(name)
    found, wanted = held(of), expected(of)
    for title in wanted:
        assert found[title] == wanted[title], title
    hours = of.numbers["hours per delivered aircraft by reason"]
    rows = of.rows("Where the hours go")
    assert {row["Reason"]: row["Hours per delivered aircraft"] for row in rows} == hours
    assert [row["Days per delivered aircraft"] for row in rows] == pytest.approx([each / 24 for each in hours.values()])


@pytest.mark.parametrize("name", ["starter", "pulse"])
def test_no_sheet_is_left_unread(name: str, request: pytest.FixtureRequest) -> None:
    """Every sheet is one that these tests compare."""
    of = request.getfixturevalue(name)
    others = {"About this run", "Deliveries by run", "Where the hours go", "Flights", "Squawks", "Inputs", "Columns"}
    assert set(of.book.sheetnames) - {"What set the dates"} == {*expected(of), *others} | (
        {"Line stops", "Stopped for", "Travelled work"} if name == "pulse" else set())


def test_line_stops_and_travelled_work(pulse: Kept) -> None:
    """Of a pulse line, as in the answer."""
    line = pulse.numbers["pulse line"]
    assert [cells_of(row)[2:] for row in pulse.rows("Line stops")] == [
        mean(line["line stops in the window"]), mean(line["working hours it stood"])]
    assert [cells_of(row) for row in pulse.rows("Stopped for")] == [
        [one["place"], one["reason"], one["hours"]] for one in line["working hours it stood, by who held it"]]
    assert [cells_of(row) for row in pulse.rows("Travelled work")] == [
        [place, row["packages"], row["hours"], row["of which price of travel"]]
        for place, row in line["travelled, by where the work was planned"].items()]


@pytest.mark.parametrize("name", ["starter", "pulse"])
def test_deliveries_by_run_are_those_of_the_parquet_table(name: str, request: pytest.FixtureRequest) -> None:
    """Counted anew from deliveries.parquet, by quarter, in the window and in all."""
    of = request.getfixturevalue(name)
    table = pd.read_parquet(of.folder / "deliveries.parquet")
    runs = pd.read_parquet(of.folder / "runs.parquet").set_index("run")
    first, last = (pd.Timestamp(day) for day in of.numbers["window"])
    inside = table[(table["delivered"] >= first) & (table["delivered"] < last + pd.Timedelta(days=1))]
    quarter = inside["delivered"].dt.year.astype(str) + " Q" + inside["delivered"].dt.quarter.astype(str)
    for row in of.rows("Deliveries by run"):
        run = row["Run"]
        assert row["In the window, aircraft"] == (inside["run"] == run).sum()
        assert row["In all, aircraft"] == (table["run"] == run).sum() == runs["delivered"][run]
        assert row["Backlog growth, aircraft"] == runs["backlog_growth"][run]
        for name in of.numbers["quarters"]:
            assert row[f"{name}, aircraft"] == ((inside["run"] == run) & (quarter == name)).sum()
    assert [row["Run"] for row in of.rows("Deliveries by run")] == runs.index.tolist()


def test_flights_and_squawks_are_those_of_the_parquet_tables(starter: Kept) -> None:
    """Over aircraft that were launched in the run and delivered in the window."""
    pairs = pd.read_parquet(starter.folder / "reasons.parquet")[["run", "serial"]].astype(str).drop_duplicates()
    found = pd.read_parquet(starter.folder / "flights.parquet").astype({"run": str, "serial": str}).merge(pairs)
    for row in starter.rows("Flights"):
        here = found[found["flight"] == row["Flight"]]
        assert row["Fly it, share"] == pytest.approx(len(here) / len(pairs))
        assert row["Squawks, a flight"] == pytest.approx(here.groupby("run")["squawks"].mean().mean())
    assert [row["Flight"] for row in starter.rows("Flights")] == sorted(set(found["flight"]))
    every = sum(row["Squawks per aircraft"] for row in starter.rows("Squawks"))
    counted = found[found["run"].astype(int) < 25]
    assert every == pytest.approx(counted["squawks"].sum() / (pairs["run"].astype(int) < 25).sum(), rel=0.02)


def test_inputs_stand_under_the_paths_that_change_them(pulse: Kept) -> None:
    """Each value is the one that its path leads to."""
    values = plain(pulse.result.plant)
    rows = pulse.rows("Inputs")
    assert len(rows) > 250
    for row in rows:
        there = value_at(path_of(values, row["Path"]), values)
        if isinstance(row["Value"], datetime):
            there = str(there)
        if row["Unit"] == "entries":
            assert row["Value"] == len(there), row["Path"]
        elif isinstance(there, int | float | str) and not isinstance(there, bool):
            assert iso(row["Value"]) == there, row["Path"]


@pytest.mark.parametrize("name", ["starter", "pulse"])
def test_csv_files_hold_the_cells_of_the_sheets(name: str, request: pytest.FixtureRequest) -> None:
    """One file a sheet, the same heads, the same cells, lines that end as RFC 4180 says."""
    of = request.getfixturevalue(name)
    by_title = {row["Sheet"]: row["CSV file"] for row in of.rows("Columns")}
    by_title |= {"About this run": "about-this-run.csv", "Columns": "columns.csv"}
    assert {path.name for path in (of.folder / "csv").iterdir()} == set(by_title.values())
    assert set(of.book.sheetnames) == set(by_title)
    for page in of.book.worksheets:
        content = (of.folder / "csv" / by_title[page.title]).read_bytes()
        assert content.count(b"\r\n") == content.count(b"\n")
        for row, line in zip(page.iter_rows(), lines_of(content), strict=True):
            for cell, text in zip(row, line, strict=True):
                assert the_same(cell, text), (page.title, cell.coordinate, cell.value, text)


def lines_of(content: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(content.decode("utf-8"), newline="")))


def the_same(cell: Any, text: str) -> bool:
    """A cell of the sheet and of the CSV file; a sheet keeps 16 digits, and no difference between 1 and 1.0."""
    if cell.value is None:
        return text == ""
    if isinstance(cell.value, datetime):
        return text == str(cell.value.date())[:7 if cell.number_format == "yyyy-mm" else 10]
    if isinstance(cell.value, str):
        return text == (f"'{cell.value}" if cell.quotePrefix else cell.value)
    return float(text) == pytest.approx(cell.value, rel=1e-15, abs=0)


def test_the_first_sheet_says_where_the_numbers_come_from(starter: Kept) -> None:
    """Scenario, digest, seed, runs, window, sentences and every caution, as in the manifest and the answer."""
    assert starter.book.sheetnames[0] == "About this run"
    rows = starter.rows("About this run")
    of = {row["What"]: row["Value"] for row in rows if row["What"]}
    manifest = json.loads((starter.folder / "manifest.json").read_text())
    assert of["Name"] == manifest["scenario"]
    assert of["Digits by which its run folder is known"] == manifest["scenario sha256"][:8]
    assert (of["Seed"], of["Runs"], of["linesim"]) == (manifest["seed"], len(manifest["runs"]), manifest["linesim"])
    assert [iso(of[f"Measuring window, {end} day"]) for end in ("first", "last")] == starter.numbers["window"]
    said = [row["Value"] for row in rows]
    for text in [*starter.result.answer.sentences, *starter.numbers["cautions"]]:
        assert text in said
    assert any("8 in 10 runs deliver 44" in str(text) for text in said)


def test_sections_that_are_left_out_are_named_as_such(pulse: Kept) -> None:
    """Cautions of declared sections that the numbers do not hold stand under a subject of their own."""
    left_out = [row["Value"] for row in pulse.rows("About this run") if row["Subject"] == "Not in these numbers"]
    assert left_out == [text for text in pulse.numbers["cautions"] if "not in these numbers" in text] != []


@pytest.mark.parametrize("name", ["starter", "pulse"])
def test_sheets_are_tables_to_read_and_print(name: str, request: pytest.FixtureRequest) -> None:
    """Header row frozen, filtered and repeated on paper; landscape, one page wide; a note on every head."""
    of = request.getfixturevalue(name)
    for page in of.book.worksheets:
        assert len(page.title) <= 31
        assert page.freeze_panes == "B2"
        table, = page.tables.values()
        assert table.ref == page.dimensions == table.autoFilter.ref
        assert (page.page_setup.orientation, page.sheet_properties.pageSetUpPr.fitToPage) == ("landscape", True)
        assert (page.page_setup.fitToWidth or 1, page.page_setup.fitToHeight) == (1, 0)
        assert page.print_title_rows == "$1:$1"
        for head in page[1]:
            assert isinstance(head.value, str)
            assert head.comment.text.strip()
            assert 9 <= page.column_dimensions[head.column_letter].width <= 64


def test_dates_are_dates_and_numbers_are_numbers(starter: Kept) -> None:
    """Cells of the right kind with ISO formats; counts whole, shares as percent."""
    page = starter.book["Dates by serial"]
    heads = [cell.value for cell in page[1]]
    for row in page.iter_rows(min_row=2):
        cell = row[heads.index("8 in 10 by")]
        assert (cell.is_date, cell.number_format) == (True, "yyyy-mm-dd")
        assert row[heads.index("Runs that keep it")].data_type == "n"
    assert all(cell.number_format == "yyyy-mm" for cell in starter.book["Deliveries by month"]["A"][1:])
    assert all(cell.number_format in ("0%", "0.0%") for cell in starter.book["Places"]["H"][1:])


def test_the_same_run_gives_the_same_bytes(starter: Kept, tmp_path: Path) -> None:
    """No clock in it: parts of one date, and the scenario's start as the date of making."""
    (tmp_path / starter.folder.name).mkdir()
    again = tmp_path / starter.folder.name
    (again / "scenario.json").write_bytes((starter.folder / "scenario.json").read_bytes())
    sheet = Sheet(starter.result.plant)
    file = write_workbook(again, sheet, starter.result.runs, starter.result.answer)
    assert file.read_bytes() == starter.file.read_bytes()
    write_csv(again, sheet, starter.result.runs, starter.result.answer)
    for path in (again / "csv").iterdir():
        assert path.read_bytes() == (starter.folder / "csv" / path.name).read_bytes()
    with zipfile.ZipFile(file) as package:
        assert {part.date_time for part in package.infolist()} == {(1980, 1, 1, 0, 0, 0)}
    assert starter.book.properties.created == datetime(2027, 1, 4)
    made = write_workbook(again, sheet, starter.result.runs, starter.result.answer, made=date(2027, 2, 3))
    assert openpyxl.load_workbook(made).properties.created == datetime(2027, 2, 3)
    assert not list(again.glob("**/*.part"))


ODD = """
name: "=1+2 &A [x]*?:/\\\\ \\u00e9\\U0001f6e9 \\x07"
about: "\\tcmd|' /C calc'!A0"
assumed: ["@SUM(A1)"]
start: 2027-01-04
end: 2027-01-08
launches: {takt_work_days: 1}
shifts: {day: {start: "06:00", end: "14:30", meal_minutes: 30}}
trades: {"+T": {name: "-2+3", people: {day: 1}}}
positions:
  - {id: "=P", name: "@x", area: "=A1", packages: [{id: a, trade: "+T", hours: 6}]}
orders:
  - {serial: "=HYPERLINK(1)", promised: 2027-01-04}
  - {serial: "-1", promised: 2027-01-05}
  - {serial: "0042", promised: 2027-01-06}
  - {serial: "T9"}
  - {serial: "T8", promised: 2027-01-08}
  - {serial: "T7", promised: 2027-01-08}
"""


@pytest.fixture(scope="module")
def odd(tmp_path_factory: pytest.TempPathFactory) -> Kept:
    return kept(tmp_path_factory.mktemp("odd"), parse_scenario(ODD), 30)


def cells(book: openpyxl.Workbook) -> Iterator[Any]:
    for page in book.worksheets:
        for row in page.iter_rows():
            yield from row


def test_a_text_never_turns_into_a_formula(odd: Kept) -> None:
    """What begins with = + - @ or a tab stays a text: quoted in the sheet, with an apostrophe in the CSV file."""
    starts = ("=", "+", "-", "@", "\t", "\r")
    dangerous = [cell for cell in cells(odd.book) if isinstance(cell.value, str) and cell.value.startswith(starts)]
    assert {cell.value for cell in dangerous} >= {"=HYPERLINK(1)", "-1", "+T", "-2+3", "@x", "=P", "=A1"}
    assert all(cell.data_type == "s" and cell.quotePrefix for cell in dangerous)
    with zipfile.ZipFile(odd.file) as package:
        names = package.namelist()
        assert not any(b"<f>" in package.read(name) or b"<f " in package.read(name) for name in names)
        assert not [name for name in names if "vba" in name or "externalLink" in name]
    for path in (odd.folder / "csv").iterdir():
        for line in lines_of(path.read_bytes()):
            assert not [cell for cell in line if cell.startswith(starts) and not is_number(cell)], path.name


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20"])
def test_each_start_of_a_formula_gets_an_apostrophe(start: str) -> None:
    """Numbers and dates do not, negative ones neither."""
    assert as_text(f"{start}1+1") == f"'{start}1+1"
    assert as_text(f"a{start}") == f"a{start}"
    assert (as_text(-1.5), as_text(-2), as_text(date(2027, 1, 4)), as_text(None), as_text(float("nan"))) == (
        "-1.5", "-2", "2027-01-04", "", "")


def is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def test_odd_names_are_kept_and_printed_as_they_are(odd: Kept) -> None:
    """A serial of digits stays text; a name is no code of a page head; what XML cannot hold is replaced."""
    assert [row["Serial"] for row in odd.rows("Dates by serial")][:3] == ["=HYPERLINK(1)", "-1", "0042"]
    name = {row["What"]: row["Value"] for row in odd.rows("About this run")}["Name"]
    assert name == "=1+2 &A [x]*?:/\\ \u00e9\U0001f6e9 \ufffd"
    assert odd.book["Places"].oddHeader.left.text == "=1+2 &&A [x]*?:/\\ \u00e9\U0001f6e9 \ufffd"
    for row in odd.rows("Inputs"):
        assert row["Path"] != ""


def test_an_aircraft_that_is_not_delivered_has_the_words_for_it(odd: Kept) -> None:
    """One person, six hours a day: the runs end before the last one is done."""
    serials = {row["serial"]: row for row in odd.numbers["serials"]}
    assert serials["T7"]["half by"] == "after 2027-01-08"
    rows = {row["Serial"]: row for row in odd.rows("Dates by serial")}
    assert rows["T7"]["8 in 10 by"] == "after 2027-01-08"
    assert (rows["T9"]["Promised"], rows["T9"]["Runs that keep it"], rows["T9"]["State"]) == (None, None, None)


def test_a_quarter_that_is_cut_is_refused_in_words(odd: Kept) -> None:
    """No count stands beside it."""
    row, = odd.rows("Deliveries by quarter")
    assert row["Remark"] == odd.numbers["quarters"]["2027 Q1"]
    assert [row[head] for head in ("Promised, aircraft", "8 in 10 reach, aircraft", "Runs that keep the plan")] == (
        [None] * 3)


@pytest.mark.parametrize("name", ["tiny", "textbook-line", "textbook-feedback"])
def test_plants_without_orders_flights_or_people_have_fewer_sheets(name: str, tmp_path: Path) -> None:
    """A table without rows gives no sheet and no file, also if one is there from before."""
    (tmp_path / "plant").mkdir()
    of = kept(tmp_path, linesim.read(SCENARIOS / f"{name}.yaml"), 1)
    assert not {"Flights", "Squawks", "Line stops"} & set(of.book.sheetnames)
    assert ("Dates by serial" in of.book.sheetnames) == (name == "tiny")
    (of.folder / "csv" / "flights.csv").write_text("old")
    write_csv(of.folder, Sheet(of.result.plant), of.result.runs, of.result.answer)
    assert not (of.folder / "csv" / "flights.csv").exists()
