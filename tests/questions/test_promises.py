"""Promises that change in a run: each run is held against its own promised date, and a cancelled one against none."""

from __future__ import annotations

from typing import Any

import linesim
from linesim.line.sheet import Sheet
from linesim.questions import figures
from linesim.scenario.reading import parse_scenario
from linesim.show.folder import tables_of_runs

PLANT = """
name: Two days each
start: 2027-01-04
end: 2027-02-26
shifts: {day: {start: "06:00", end: "14:00"}}
trades: {ASM: {people: {day: 1}}}
positions: [{id: A, packages: [{id: a, trade: ASM, hours: 16, crew: 1}]}]
launches: {takt_work_days: 2}
orders:
  - {serial: S1, promised: 2027-01-05}
  - {serial: S2, promised: 2027-01-06}
  - {serial: S3, promised: 2027-01-12}
"""


def serials(changes: str) -> dict[str, dict[str, Any]]:
    """The rows of the answer by serial."""
    found = linesim.run(parse_scenario(f"{PLANT}{changes}"), runs=4)
    changed = {run.delivered["S3"][:10] > "2027-01-12" for run in found.runs if "deferred" in changes}
    assert changed <= {True}
    return {row["serial"]: row for row in found.answer.numbers["serials"]}


def test_without_changes_the_order_book_counts() -> None:
    """Delivered on the 5th, the 7th and the 11th."""
    assert {name: row["runs that keep it"] for name, row in serials("").items()} == {"S1": 4, "S2": 0, "S3": 4}


def test_an_order_put_off_is_held_against_its_new_date() -> None:
    """S3 is put off by a week before its launch: too late for the date in the book, in time for its new one."""
    row = serials("order_changes: {stated: [{date: 2027-01-05, serial: S3, deferred_days: 7}]}")["S3"]
    assert (row["promised"], row["runs that keep it"]) == ("2027-01-12", 4)
    assert "runs that promise it" not in row


def test_a_cancelled_order_is_no_broken_promise() -> None:
    """S3 is cancelled in every run: nobody waits for it, and no chance is told."""
    assert "runs that keep it" not in serials(
        "order_changes: {stated: [{date: 2027-01-05, serial: S3, cancelled: true}]}")["S3"]


def test_runs_that_cancel_do_not_count() -> None:
    """Cancelled by chance in some runs: the chance is over the others, and so is the state."""
    plant = parse_scenario(f"{PLANT}  - {{serial: S4, promised: 2027-02-26}}\n"
                           "order_changes: {cancel_chance: 0.5}").model_copy(update={"seed": 3})
    late = plant.model_copy(update={"launches": plant.launches.model_copy(update={"takt_work_days": 10.0})})
    found = linesim.run(late, runs=12)
    numbers = {**found.answer.numbers, "sentences": found.answer.sentences}
    row, = (row for row in numbers["serials"] if row["serial"] == "S4")
    promised = [run for run in found.runs if run.promised.get("S4", "2027-02-26")]
    assert 0 < len(promised) < 12
    assert row["runs that promise it"] == len(promised)
    assert row["runs that keep it"] == sum(run.delivered.get("S4", "9")[:10] <= "2027-02-26" for run in promised)
    sheet = Sheet(late)
    table = figures.dates(sheet, tables_of_runs(sheet, found.runs), numbers).set_index("serial")
    assert table.loc["S4", "runs"] == len(promised)
    assert table.loc["S4", "state"] == figures.state_of(row["runs that keep it"], len(promised))
