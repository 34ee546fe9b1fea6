"""What stands before the numbers of a run: where they came from, how to read them, what they do not contain."""

from __future__ import annotations

import platform
from collections.abc import Mapping, Sequence
from datetime import date
from importlib.metadata import version
from pathlib import Path
from typing import Any

from .. import __version__
from ..line.sheet import Sheet
from ..questions.baseline import LEAST_RUNS, Answer
from ..scenario.calendar import months_on
from . import words
from .folder_check import acted_on_digest
from .workbook_tables import Cell, Column, Table, day

PROMISE = "Dates and counts go to a customer only when their owner releases them."
LIBRARIES = ("simpy", "numpy", "scipy", "pandas")
READING = (
    "Counts are read as at least: \"8 in 10 reach 44\" says that 8 in 10 runs deliver 44 aircraft or more.",
    "Dates are read as by: \"8 in 10 by 2027-09-14\" says that 8 in 10 runs deliver on that day or earlier.",
    "A chance is the number of runs in which it holds, of all runs. Each run is one possible course of events.",
    "From and to beside a mean are its 95 % interval: how well these runs know the mean, not how far one year may be "
    "from it.",
    "\"after\" and a date: the runs end on that date, and so many of them do not deliver the aircraft within it.",
    "Cells hold the numbers as kept in answer.json and the tables beside it; their format shows no more digits than "
    "the runs know.",
    f"Under {LEAST_RUNS} runs no 8-in-10 range is given.")


def about(folder: Path, sheet: Sheet, answer: Answer, made: date | None) -> Table:
    """The first sheet. The digest is that of the scenario as run in `folder`."""
    numbers = answer.numbers
    rows: list[tuple[Cell, ...]] = [*_scenario(folder, sheet), *_run(numbers, made)]
    rows += [("Answer", None, text) for text in answer.sentences]
    rows += [("How to read it", None, text) for text in READING]
    rows += [(_subject(text), None, text) for text in numbers["cautions"]]
    rows += [("Never moving on", None, text) for text in numbers["never moving on"]]
    rows.append(("Before this becomes a promise", None, PROMISE))
    return Table("About this run", "about-this-run", [
        Column("Subject", "What the row is about."), Column("What", "Which value it is."),
        Column("Value", "The value.")], rows)


def columns_of(tables: Sequence[Table]) -> Table:
    """Every column of the other tables, with how to read it: the notes of the heads, to print and to search."""
    return Table("Columns", "columns", [
        Column("Sheet", "Sheet of the workbook."), Column("CSV file", "The same table in the folder csv."),
        Column("Column", "Head, with its unit."), Column("How to read it", "As in the note of the head.")],
        [(table.title, f"{table.file}.csv", column.head, column.note) for table in tables for column in table.columns])


def _scenario(folder: Path, sheet: Sheet) -> list[tuple[Cell, ...]]:
    scenario = sheet.scenario
    digest = acted_on_digest((folder / "scenario.json").read_bytes())[:8]
    return [("Scenario", "Name", scenario.name),
            *([("Scenario", "What it covers", scenario.about)] if scenario.about else []),
            *([("Scenario", "Data", "invented")] if scenario.invented else []),
            ("Scenario", "Digits by which its run folder is known", digest),
            ("Scenario", "First day", scenario.start), ("Scenario", "Last day", scenario.end),
            ("Scenario", "The runs go on until", months_on(scenario.end, scenario.run_on_months))]


def _run(numbers: Mapping[str, Any], made: date | None) -> list[tuple[Cell, ...]]:
    first, last = numbers["window"]
    return [*([("Run", "Run on", made)] if made else []),
            ("Run", "Runs", numbers["runs"]), ("Run", "Seed", numbers["seed"]),
            *([("Run", "Stopped", f"Stopped at {words.runs(numbers['runs'])}; these are kept.")]
              if numbers.get("stopped") else []),
            ("Run", "Measuring window, first day", day(first)), ("Run", "Measuring window, last day", day(last)),
            ("Run", "linesim", __version__), ("Run", "Python", platform.python_version()),
            *(("Run", name, version(name)) for name in LIBRARIES)]


def _subject(caution: str) -> str:
    """Cautions by what they say: what is left out, what is assumed, what to look at."""
    if "not in these numbers" in caution:
        return "Not in these numbers"
    return "Assumed" if caution.startswith("assumed, ") or "invented" in caution else "Look at"
