"""Tables written and read part by part are those of all runs at once, and so are the figures that are made of them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import linesim
from linesim.line.sheet import Sheet
from linesim.measures.by_parts import Tables, parts_of
from linesim.questions import figures, spread
from linesim.show import folder, table_files
from linesim.show.folder import TablesOfRuns, tables_in_parts, tables_of_runs
from linesim.show.report.again import middle_run
from linesim.show.table_files import TablesOfFolder, write_parts

DEMO = Path(__file__).parents[2] / "scenarios" / "birchwater.yaml"


@pytest.fixture(scope="module")
def demo() -> linesim.Result:
    """Runs of which each has other jobs, and another number of aircraft past the order book."""
    return linesim.run(linesim.read(DEMO), runs=5)


@pytest.fixture
def few_at_a_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two runs in a part, one where every segment is kept; and ranges are given of few runs, too."""
    for module in (folder, table_files):
        monkeypatch.setattr(module, "PART", 2)
    monkeypatch.setattr(folder, "FEW", 1)
    for reader in (figures, spread):
        monkeypatch.setattr(reader, "LEAST_RUNS", 2)


def written(of: linesim.Result, at: Path) -> dict[str, Path]:
    """The tables as files."""
    found = {}
    for name, parts in tables_in_parts(Sheet(of.plant), of.runs):
        found[name] = at / f"{name}.parquet"
        with found[name].open("wb") as file:
            rows = write_parts(file, parts)
        assert rows == len(pd.read_parquet(found[name]))
    return found


def equal(one: pd.DataFrame, other: pd.DataFrame) -> None:
    """Values to the last bit, types, categories in their order."""
    pd.testing.assert_frame_equal(one.reset_index(drop=True), other.reset_index(drop=True), check_exact=True)


@pytest.mark.usefixtures("few_at_a_time")
def test_a_file_of_many_parts_is_read_as_one_table(demo: linesim.Result, tmp_path: Path) -> None:
    """Categories that a later part adds stand behind those of the first, as if all rows were one table."""
    whole = tables_of_runs(Sheet(demo.plant), demo.runs)
    assert sum(1 for _ in whole.parts()) == 3
    jobs = [set(part["segments"]["job"].cat.categories) for part in whole.parts()]
    assert jobs[1] - jobs[0]
    for name, path in written(demo, tmp_path).items():
        equal(whole[name], pd.read_parquet(path))


@pytest.mark.usefixtures("few_at_a_time")
def test_parts_of_a_folder_are_those_of_its_runs(demo: linesim.Result, tmp_path: Path) -> None:
    """Also where the file holds its rows in other parts."""
    paths, whole = written(demo, tmp_path), tables_of_runs(Sheet(demo.plant), demo.runs)
    whole["visits"].to_parquet(paths["visits"], index=False)
    parts = [list(part["visits"]["run"].unique()) for part in parts_of(TablesOfFolder(paths))]
    assert parts == [[0, 1], [2, 3], [4]]
    for one, other in zip(whole.parts(), parts_of(TablesOfFolder(paths)), strict=True):
        equal(one["deliveries"], other["deliveries"])
        equal(one["flights"].astype({"serial": str}), other["flights"].astype({"serial": str}))


@pytest.mark.usefixtures("few_at_a_time")
def test_figures_of_parts_are_those_of_all_at_once(demo: linesim.Result, tmp_path: Path) -> None:
    """To the last bit; of runs and of a folder."""
    sheet = Sheet(demo.plant)
    numbers = {**demo.answer.numbers, "sentences": demo.answer.sentences}
    made: list[Callable[[Tables], Any]] = [
        lambda of: figures.quarters(sheet, of, numbers), lambda of: figures.dates(sheet, of, numbers),
        lambda of: figures.balance(sheet, of), lambda of: figures.standing(sheet, of)[0],
        lambda of: figures.standing(sheet, of)[1], lambda of: figures.lost(sheet, of, numbers),
        lambda of: figures.load(sheet, of), lambda of: figures.flights(of),
        lambda of: figures.squawk_trades(sheet, of), lambda of: pd.DataFrame([middle_run(sheet, of)])]
    runs = tables_of_runs(sheet, demo.runs)
    for one in made:
        at_once = one(dict(runs))
        assert len(at_once)
        for parts in (TablesOfRuns(sheet, demo.runs), TablesOfFolder(written(demo, tmp_path))):
            equal(at_once, one(parts))


def test_a_table_of_which_nothing_is_kept_is_written(tmp_path: Path) -> None:
    """Segments are kept of the first runs only."""
    paths = written(linesim.run(linesim.read(DEMO.with_name("tiny.yaml")), only=40), tmp_path)
    assert list(pd.read_parquet(paths["segments"]).columns) == ["run"]
    assert len(pd.read_parquet(paths["visits"]))


def test_a_part_without_deliveries_keeps_the_types(demo: linesim.Result) -> None:
    """So that it can stand in one file with the others."""
    empty = tables_of_runs(Sheet(demo.plant), [run.with_delivered({}) for run in demo.runs])
    pd.testing.assert_series_equal(empty["deliveries"].dtypes,
                                   tables_of_runs(Sheet(demo.plant), demo.runs)["deliveries"].dtypes)
