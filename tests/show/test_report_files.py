"""The figures of a report as files beside it: the same figures, once each, gone as soon as the answer is another."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

import linesim
from linesim.line.sheet import Sheet
from linesim.show import words
from linesim.show.commands import main
from linesim.show.folder import tables_of_runs
from linesim.show.report.kept import report_of_folder
from linesim.show.report.page import write_report
from linesim.show.report.tables import people_there

SCENARIOS = Path(__file__).parents[2] / "scenarios"
TITLE = "{http://www.w3.org/2000/svg}title"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A run folder of two runs of the demo with its report."""
    result = linesim.run(linesim.read(SCENARIOS / "birchwater.yaml"), runs=2)
    found = linesim.keep(result, tmp_path_factory.mktemp("results"), "birchwater")
    write_report(found, Sheet(result.plant), result.runs, result.answer)
    return found


def test_every_figure_of_the_page_has_its_files(folder: Path) -> None:
    """SVG with the title of the page's figure and PNG; of the floor SVG alone, for it is no chart."""
    page = (folder / "report.html").read_text()
    titles = re.findall(r"<figure><h3>(.*?)</h3>", page)
    drawings = {path.stem: ElementTree.parse(path).getroot() for path in (folder / "figures").glob("*.svg")}
    said = {drawing.findtext(TITLE) for drawing in drawings.values()}
    assert said == {re.sub("<.*?>", "", title) for title in titles}
    assert len(drawings) == len(titles) > 8
    charts = {name for name in drawings if not name.startswith("floor-")}
    assert {path.stem for path in (folder / "figures").glob("*.png")} == charts
    assert all(path.read_bytes().startswith(b"\x89PNG") for path in (folder / "figures").glob("*.png"))
    assert set(drawings) - charts == {"floor-first-shift", "floor-first-jam", "floor-last-shift"}


def test_the_numbers_in_a_figure_are_those_of_the_page(folder: Path) -> None:
    """Each text of the page's figure stands in the file, too: one drawing, two forms."""
    page = (folder / "report.html").read_text()
    for name in ("lost", "chain", "load"):
        inside = page[page.index(f'aria-labelledby="{name}-t'):]
        texts = re.findall(r"<text[^>]*>(.*?)</text>", inside[:inside.index("</svg>")])
        alone = re.findall(r"<text[^>]*>(.*?)</text>", (folder / "figures" / f"{name}.svg").read_text())
        assert len(texts) > 10
        assert set(texts) <= set(alone), name


def test_files_that_are_no_figures_any_more_are_taken_away(folder: Path) -> None:
    """Written anew, the folder holds the figures of this page only, and the same bytes."""
    before = {path.name: path.read_bytes() for path in (folder / "figures").iterdir()}
    (folder / "figures" / "old.svg").write_text("old")
    report_of_folder(folder)
    assert {path.name: path.read_bytes() for path in (folder / "figures").iterdir()} == before


def test_no_report_no_figures_and_another_answer_takes_them_away(tmp_path: Path) -> None:
    """--no-report leaves them out; more runs make them old."""
    command = ["run", str(SCENARIOS / "tiny.yaml"), "--jobs", "1", "--out", str(tmp_path)]
    assert main([*command, "--runs", "2"]) == 0
    found, = tmp_path.iterdir()
    assert (found / "figures" / "lost.svg").exists()
    assert main([*command, "--runs", "3", "--no-report"]) == 0
    assert not (found / "figures").exists()
    assert not (found / "report.html").exists()
    assert main([*command, "--runs", "3"]) == 0
    assert (found / "figures" / "lost.png").exists()


def test_small_trades_by_how_many_are_there(folder: Path) -> None:
    """As in the answer; shares of each trade sum to one; nothing where nobody is ever away."""
    plant = linesim.read(SCENARIOS / "birchwater.yaml")
    numbers = linesim.run(plant, runs=2).answer.numbers
    table = people_there(numbers)
    assert table is not None
    for row, printed in zip(numbers["people there, small trades"], table.rows, strict=True):
        shares = row["share of days with 0, 1, 2 ... there"]
        assert sum(shares) == pytest.approx(1, abs=1e-3)
        assert sum(n * one for n, one in enumerate(shares)) == pytest.approx(row["there"], abs=0.01)
        assert printed[0] == words.named(row["trade"], row["name"])
        assert [cell for cell in printed[3:] if cell] == [
            words.percent(one).removesuffix("\u202f%").replace("under ", "<") for one in shares]
    assert "Trades of few people" in (folder / "report.html").read_text()
    assert people_there(linesim.run(linesim.read(SCENARIOS / "tiny.yaml"), runs=1).answer.numbers) is None


def test_the_table_of_chains_sums_to_the_flow() -> None:
    """Work days and outside hours of a run's table are the hours from launch to delivery of its aircraft."""
    plant = linesim.read(SCENARIOS / "birchwater.yaml")
    sheet, runs = Sheet(plant), linesim.run(plant, runs=2).runs
    table = tables_of_runs(sheet, runs)["chain"].groupby("run")[["work_days", "outside_hours"]].sum()
    for run in runs:
        row = table.loc[run.run]
        hours = row["work_days"] * sheet.calendar.work_day / 60 + row["outside_hours"]
        assert hours == pytest.approx(sum(run.flow_hours.values()), rel=1e-6)
