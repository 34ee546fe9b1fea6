"""The report: what is printed equals the tables and the answer, nothing comes from outside, nothing is said that the
runs do not hold."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import date
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import linesim
from linesim.line.records import REASON_WORDS
from linesim.line.sheet import Sheet
from linesim.measures.window import window_of
from linesim.questions import figures
from linesim.scenario.scenario import Window
from linesim.show import words, workbook_tables
from linesim.show.commands import main
from linesim.show.folder import tables_of_runs
from linesim.show.report import report_html, write_report
from linesim.show.report.blocks import circles, filled
from linesim.show.report.kept import report_of_folder, scenario_of
from linesim.show.whole_files import FolderRefused

SCENARIOS = Path(__file__).parents[2] / "scenarios"
FORBIDDEN = ("optimis", "solution", "insight", "smart", " ai ", "guaranteed", "simulat", "entity", "kpi", "dashboard",
             "utilisation", "likely", "probably", "p80")


@dataclass
class Printed(HTMLParser):
    """Tables by the first words of their caption, headings, ids and references of a page."""

    tables: list[tuple[str, list[list[str]]]] = field(default_factory=list)
    tags: list[tuple[str, dict[str, str | None]]] = field(default_factory=list)
    text: list[str] = field(default_factory=list)
    _in: str = ""

    def __post_init__(self) -> None:
        super().__init__()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag == "table":
            self.tables.append(("", []))
        elif tag == "tr":
            self.tables[-1][1].append([])
        elif tag in ("td", "th"):
            self.tables[-1][1][-1].append("")
        if tag in ("caption", "td", "th", "style"):
            self._in = tag

    def handle_endtag(self, tag: str) -> None:
        if tag in ("caption", "td", "th", "style"):
            self._in = ""

    def handle_data(self, data: str) -> None:
        if self._in in ("td", "th"):
            self.tables[-1][1][-1][-1] += data
        elif self._in == "caption":
            self.tables[-1] = (self.tables[-1][0] + data, self.tables[-1][1])
        if self._in != "style":
            self.text.append(data)

    def table(self, begins: str) -> list[list[str]]:
        """Rows of the table whose caption begins so."""
        return next(rows for caption, rows in self.tables if caption.startswith(begins))


def printed(page: str) -> Printed:
    found = Printed()
    found.feed(page)
    return found


@dataclass
class Run:
    """One result with its page."""

    result: linesim.Result
    tables: dict[str, pd.DataFrame]
    numbers: dict[str, Any]
    page: str
    read: Printed


def run_of(plant: Any, runs: int) -> Run:
    result = linesim.run(plant, runs=runs)
    sheet = Sheet(plant)
    tables = tables_of_runs(sheet, result.runs)
    numbers = {**result.answer.numbers, "sentences": result.answer.sentences}
    page = report_html(sheet, tables, numbers, "2027-01-04 08:00")
    return Run(result, tables, numbers, page, printed(page))


@pytest.fixture(scope="module")
def half_year() -> Run:
    """The demo to the end of June, with a name that has to be escaped."""
    plant = linesim.read(SCENARIOS / "birchwater.yaml").model_copy(update={
        "name": 'Half a <year> & "co"', "end": date(2027, 6, 30), "run_on_months": 0,
        "window": Window(**{"from": "2027-01-01", "to": "2027-06-30"})})
    return run_of(plant, 29)


@pytest.fixture(scope="module")
def pulse() -> Run:
    """Two runs of the pulse line."""
    return run_of(linesim.read(SCENARIOS / "birchwater-pulse.yaml"), 2)


# what is printed is what was found ---
def test_quarters_equal_the_answer(half_year: Run) -> None:
    """Plan, what 9, 8, 5 and 1 in 10 runs reach, and how many keep the plan."""
    rows = half_year.read.table("Aircraft delivered. Counts")
    assert len(rows) == 1 + len(half_year.numbers["quarters"])
    for name, *cells in rows[1:]:
        row = half_year.numbers["quarters"][name]
        assert cells == [str(row["plan"]), *(str(row[f"{n} in 10 reach"]) for n in (9, 8, 5, 1)),
                         words.chance(row["runs that keep the plan"], 29)]


def test_months_equal_the_answer(half_year: Run) -> None:
    """Promised, delivered and the interval."""
    for month, *cells in half_year.read.table("Deliveries by month")[1:]:
        row = half_year.numbers["deliveries by month"][month]
        assert cells == [str(row["plan"]), *(words.tenths(row[name]) for name in ("mean", "low", "high"))]


def test_serials_equal_the_answer_and_the_deliveries(half_year: Run) -> None:
    """All promised serials once, their dates as in --json, the chance counted anew from the table of deliveries."""
    rows = half_year.read.table("Dates are read as by")[1:]
    answer = {row["serial"]: row for row in half_year.numbers["serials"] if row["promised"]}
    assert sorted(row[0] for row in rows) == sorted(answer)
    delivered = half_year.tables["deliveries"]
    for serial, _, promised, half, eight, nineteen, keeps, of, state, most in rows:
        row = answer[serial]
        lost = row["most days lost to"]
        assert most.endswith(f": {words.tenths(lost['work days'])}" if lost else "")
        assert bool(most) == bool(lost)
        assert lost is None or lost["place"] in most
        assert [promised, half, eight, nineteen] == [row[key] for key in (
            "promised", "half by", "8 in 10 by", "19 in 20 by")]
        days = delivered.loc[delivered["serial"] == serial, "delivered"].dt.strftime("%Y-%m-%d")
        kept = int((days <= promised).sum())
        assert (keeps, of) == (words.chance(kept, 29), f"{kept} of 29")
        assert state == ("on time" if kept >= 23.2 else "at risk" if kept >= 14.5 else "late")


def test_places_equal_the_answer(half_year: Run) -> None:
    """Every place once; its parts, rework taken out of work, are those of the answer."""
    rows = half_year.read.table("Percent of each place's working hours")[1:]
    answer = {words.named(row["place"], row["name"]): row for row in half_year.numbers["places"]}
    assert sorted(row[0] for row in rows) == sorted(answer)
    for name, docks, full, _, *cells in rows:
        row = answer[name]
        parts = [float(cell.replace("<1", "0.4")) for cell in cells[:7]]
        assert (docks, full) == (str(row["docks"]), words.percent(row["at work or waiting"]["mean"]).split("\u202f")[0])
        work, rework, holds, people, other, blocked, empty = parts
        assert work + rework == pytest.approx(100 * row["worked"], abs=1.01)
        for cell, key in ((holds, "holds and appointments"), (people, "waiting for people"), (blocked, "blocked"), (
                other, "waiting for weather, parts, customer, other half"), (empty, "empty")):
            assert cell == pytest.approx(100 * row[key], abs=0.51)


def test_hours_trades_and_areas_equal_the_answer(half_year: Run) -> None:
    """Hours by reason, the account of the trades, aircraft by area."""
    hours = half_year.numbers["hours per delivered aircraft by reason"]
    for (reason, cell, _), (word, value) in zip(half_year.read.table("Clock hours")[1:], hours.items(), strict=False):
        assert (reason, cell) == (words.reason(word), words.hours(value))
    for cells, row in zip(half_year.read.table("Paid hours")[1:], half_year.numbers["trades"], strict=True):
        assert cells[0] == words.named(row["trade"], row["name"])
        assert cells[4:6] == [words.hours(row["paid hours"]), words.hours(row["worked hours"])]
    for area, *cells in half_year.read.table("Aircraft standing in each area")[1:]:
        row = half_year.numbers["aircraft in process"][area]
        assert cells == [words.tenths(row[name]) for name in ("mean", "low", "high")]


def test_the_answers_stand_on_top_as_the_command_says_them(half_year: Run) -> None:
    """The first sentence is the title of the page; the others follow before any figure."""
    text = " ".join("".join(half_year.read.text).split())
    said = [" ".join(sentence.split()) for sentence in half_year.numbers["sentences"]]
    assert [sentence for sentence in said if sentence not in text] == []
    assert text.index(said[0]) < text.index("How far can these numbers be trusted?")
    heads = [tag for tag, _ in half_year.read.tags if tag in ("h1", "svg")]
    assert heads[0] == "h1"
    assert heads.count("h1") == 1


def test_every_caution_is_printed(half_year: Run) -> None:
    """What is left out, what is assumed, and that it is a planning aid."""
    text = " ".join("".join(half_year.read.text).split())
    for caution in half_year.numbers["cautions"]:
        what = caution.partition(": ")[2] or caution
        what = what.removesuffix(" is declared and not in these numbers").strip(" ,")
        assert what[1:] in text, caution
    assert words.AID in text
    assert "29 runs" in text
    assert words.IF_RIGHT in text


def test_circles_of_a_quarter_are_runs(half_year: Run) -> None:
    """Circles are what 9 .. 1 in 10 runs reach, as in the table, and as many are filled as the words say."""
    table = figures.quarters(Sheet(half_year.result.plant), half_year.tables, half_year.numbers)
    for name, here in table.groupby("quarter"):
        row = half_year.numbers["quarters"][name]
        assert len(here) == 10
        assert here["deliveries"].is_monotonic_increasing
        assert here["deliveries"].iloc[[1, 2, 5, 9]].tolist() == [row[f"{n} in 10 reach"] for n in (9, 8, 5, 1)]
        assert (here["deliveries"] >= row["plan"]).tolist() == here["keeps"].tolist()
        assert here["keeps"].sum() == words.tenths_full(row["runs that keep the plan"], 29)


# the page ---
def test_nothing_comes_from_outside(half_year: Run, pulse: Run) -> None:
    """No script, no reference but to the page itself, no address of any kind; and it is small."""
    for page in (half_year, pulse):
        assert not re.search(r"https?:|//[a-z]|url\(|@import|javascript:|data:", page.page)
        assert not {"script", "link", "img", "iframe", "object", "base", "form"} & {tag for tag, _ in page.read.tags}
        for _, attributes in page.read.tags:
            assert not {"src", "xlink:href", "onload", "onclick"} & set(attributes)
            assert (attributes.get("href") or "#").startswith("#")
        assert len(page.page.encode()) < 3_000_000


def test_ids_are_unique_and_references_arrive(half_year: Run) -> None:
    """Many figures on one page keep their names apart."""
    ids = [name for _, attributes in half_year.read.tags if (name := attributes.get("id"))]
    assert len(ids) == len(set(ids))
    wanted = {ref[1:] for _, attributes in half_year.read.tags if (ref := attributes.get("href"))}
    wanted |= {one for _, attributes in half_year.read.tags
               for one in (attributes.get("aria-labelledby") or "").split()}
    assert wanted <= set(ids)


def test_names_are_escaped(half_year: Run) -> None:
    """A scenario's own words are text, whatever they hold."""
    assert "Half a &lt;year&gt; &amp; &#34;co&#34;" in half_year.page
    assert "<year>" not in half_year.page


def test_a_section_has_its_table_and_its_caution(half_year: Run) -> None:
    """Each figure is described and has a table; promises, people, flights and cures have their caution."""
    for part in half_year.page.split("<section")[1:]:
        if "<figure" in part and 'id="floor"' not in part:
            assert "<table" in part
            assert part.count("<desc") == part.count('<svg class="figure"') == part.count("<figure")
    for head in ("Before you raise the rate", "Before this becomes a promise", "Before you add people",
                 "Before you cut days", "Before you fly more", "One possible course of events"):
        assert head in half_year.page


def test_no_forbidden_word(half_year: Run) -> None:
    """The words of the page are those of the trade."""
    page = re.sub(r"<(style|pre|svg)\b.*?</\1>", " ", half_year.page, flags=re.DOTALL)
    text = f" {' '.join(re.sub(r'<[^>]*>', ' ', page).split()).lower()} "
    assert [word for word in FORBIDDEN if word in text] == []


def test_dates_do_not_break(half_year: Run) -> None:
    """Every date of the answers stands in a stretch that is kept together."""
    head = half_year.page[half_year.page.index('<dl class="answers">'):half_year.page.index("</dl>")]
    loose = re.sub(r'<span class="day">.*?</span>', "", head)
    assert not re.search(r"\d{4}-\d\d", loose)


def test_the_title_of_the_page_has_no_marks(half_year: Run) -> None:
    """A browser's tab and the head of a printed page show it as it stands."""
    title = half_year.page.split("<title>", 1)[1].split("</title>", 1)[0]
    assert half_year.numbers["sentences"][0].split(";")[0] in title.replace("&#39;", "'")
    assert "span" not in title


def test_sections_stand_only_where_they_say_something(half_year: Run, pulse: Run) -> None:
    """No pulse section in free flow; on a pulse line stops and travelled work as in the answer."""
    assert 'id="pulse"' not in half_year.page
    line = pulse.numbers["pulse line"]
    rows = pulse.read.table("Work that travelled in a run")[1:]
    assert [row[0] for row in rows] == list(line["travelled, by where the work was planned"])
    stops = pulse.read.table("Mean of the runs with its 95 % interval.")[1:]
    assert stops[0][1] == words.tenths(line["line stops in the window"]["mean"])
    assert "Before more work travels" in pulse.page


def test_few_runs_give_no_range_of_eight_in_ten(pulse: Run) -> None:
    """Under 29 runs: the least and the most, said so; no date is promised."""
    text = "".join(pulse.read.text)
    assert "too few runs for an 8-in-10 range; 29 are needed" in text
    assert "8 in 10 by" not in {cell for _, rows in pulse.read.tables for row in rows for cell in row}
    assert "line: all 2 runs" in text
    assert "Each circle is one run" in text


def test_a_plant_of_a_few_lines_has_a_report_too(tmp_path: Path) -> None:
    """No areas, no flights, no weather; one run, so no interval."""
    page = run_of(linesim.read(SCENARIOS / "tiny.yaml"), 1).read
    captions = " ".join(caption for caption, _ in page.tables)
    assert "Squawks" not in captions
    assert page.table("Paid hours")[0] == ["Trade", "People", "Load", "Paid h", "Worked", "Checked", "Breaks",
                                           "Trained", "Absent", "Idle"]


def test_runs_that_cannot_be_repeated_are_not_told(half_year: Run) -> None:
    """If the run made again differs from the kept one, the floor is left out instead of told of another run."""
    delivered = half_year.tables["deliveries"]
    other = {**half_year.tables, "deliveries": delivered[delivered.duplicated("run")]}  # of each run without the first
    page = report_html(Sheet(half_year.result.plant), other, half_year.numbers, "2027-01-04 08:00")
    assert 'id="floor"' in half_year.page
    assert 'id="floor"' not in page


def test_what_set_the_dates_equals_the_answer_and_the_table(half_year: Run) -> None:
    """By reason and area, over the aircraft of all runs; the answer is the table of the folder over its aircraft."""
    found = half_year.numbers["what set the dates"]
    head, *rows = half_year.read.table("Work days per delivered aircraft on what set its date, mean of 29 runs")
    areas = found["work days by area and reason"]
    assert head[2:] == list(areas)
    for reason, total, *cells in rows[:-1]:
        word, = (one for one in REASON_WORDS.values() if words.reason(one) == reason)
        assert cells == [words.tenths(days.get(word, 0.0)) for days in areas.values()]
        assert total == words.tenths(sum(days.get(word, 0.0) for days in areas.values()))
    assert rows[-1][1] == words.tenths(sum(sum(days.values()) for days in areas.values()))
    table = half_year.tables["chain"]
    assert found["aircraft"] == half_year.tables["runs"]["aircraft_counted"].sum()
    for name, column in (("work days", "work_days"), ("hours outside the reference shift", "outside_hours")):
        said = sum(sum(row.values()) for row in found[f"{name} by area and reason"].values())
        assert said == pytest.approx(table[column].sum() / found["aircraft"], abs=0.01)
    for area, reason, _, inside, outside in workbook_tables.chain(half_year.numbers).rows:
        assert inside == areas[area].get(reason, 0.0)
        assert outside == found["hours outside the reference shift by area and reason"][area].get(reason, 0.0)


# the folder ---
@pytest.mark.parametrize("name", ["tiny", "birchwater", "birchwater-pulse", "textbook-line", "textbook-feedback"])
def test_a_kept_scenario_reads_back_whole(name: str, tmp_path: Path) -> None:
    """The scenario of a run folder is the scenario that was run."""
    plant = linesim.read(SCENARIOS / f"{name}.yaml")
    text = plant.model_dump_json(indent=1, by_alias=True, fallback=lambda value: value.as_declared())
    (tmp_path / "scenario.json").write_text(text)
    assert scenario_of(tmp_path) == plant


def test_the_report_of_a_kept_folder_is_the_same(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Written with the runs, and anew from the folder alone: every letter but the moment."""
    result = linesim.run(linesim.read(SCENARIOS / "tiny.yaml"), runs=30)
    folder = linesim.keep(result, tmp_path, "tiny")
    write_report(folder, Sheet(result.plant), result.runs, result.answer)
    moment = re.compile(r'run <span class="day">[^<]*</span>')
    first = moment.sub("", (folder / "report.html").read_text())
    (folder / "report.html").unlink()
    assert main(["report", str(folder)]) == 0
    assert str(folder) in capsys.readouterr().out
    assert moment.sub("", (folder / "report.html").read_text()) == first
    assert not list(folder.glob("*.part"))


def test_a_folder_that_is_not_whole_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One clear line, exit code 2; a scenario that reads differently is refused too."""
    assert main(["report", str(tmp_path / "nowhere")]) == 2
    said = capsys.readouterr()
    assert "manifest.json is missing" in said.err
    assert "Traceback" not in said.err
    (tmp_path / "scenario.json").write_text('{"name": "x"}')
    with pytest.raises(FolderRefused, match="cannot read it back"):
        scenario_of(tmp_path)


def test_a_folder_that_was_changed_is_refused(tmp_path: Path) -> None:
    """Tables that somebody has written over are not printed as if they were the runs'."""
    result = linesim.run(linesim.read(SCENARIOS / "tiny.yaml"), runs=2)
    folder = linesim.keep(result, tmp_path, "tiny")
    pd.read_parquet(folder / "deliveries.parquet").iloc[1:].to_parquet(folder / "deliveries.parquet", index=False)
    with pytest.raises(FolderRefused, match=r"deliveries\.parquet is missing or not as linesim wrote it"):
        report_of_folder(folder)
    assert not (folder / "report.html").exists()


def test_circles_follow_the_true_count() -> None:
    """Fewer than 1 in 20 fills none and is not called none; under ten runs there is one circle a run."""
    assert [filled(n, 200) for n in (0, 7, 10, 20, 60, 159, 160, 190, 191, 200)] == [0, 0, 0, 1, 3, 7, 8, 9, 10, 10]
    assert filled(1, 4) == 1
    assert circles(1, 4, "1 of 4 runs").count("<circle") == 4
    assert circles(60, 200, "3 in 10").count('class="full"') == 3


def test_window_of_the_half_year(half_year: Run) -> None:
    """The fixture is what it says: two quarters, all of them whole."""
    assert window_of(half_year.result.plant) == (date(2027, 1, 1), date(2027, 6, 30))
    assert list(half_year.numbers["quarters"]) == ["2027 Q1", "2027 Q2"]
