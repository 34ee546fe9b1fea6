"""The answer on dates as a section for a page: sentences, figure, tables, caution; of all aircraft or of one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import pandas as pd

from ..questions.date_words import sentences, where
from ..questions.forecast_log import BEYOND, Forecast
from ..scenario.scenario import Scenario
from . import words
from .charts import dates as chart
from .charts import findings
from .palette import LIGHT
from .report import cautions
from .report.blocks import Section, Table, picture

PROMISES = {"8 in 10": "8 in 10 by", "9 in 10": "9 in 10 by", "19 in 20": "19 in 20 by"}


def section(numbers: Mapping[str, Any], table: pd.DataFrame, start: date) -> Section:
    """`table` of questions.figures.dates; its days count from `start`."""
    drawn = []
    if is_drawn(numbers, table):
        rows = chart.shown(table)
        drawn.append(picture(chart.plate(LIGHT, rows, start), "dates", findings.dates(table, len(rows))))
    return Section("dates", words.PAGES["dates"], numbers["sentences"], drawn, tables(numbers), [cautions.PROMISE])


def is_drawn(numbers: Mapping[str, Any], table: pd.DataFrame) -> bool:
    """Whether there is a figure: not of too few runs, nor where nothing is promised."""
    return "note" not in numbers and len(table) > 0


def tables(numbers: Mapping[str, Any]) -> list[Table]:
    """Every aircraft, the new order, and of one aircraft all that it loses days to; those that have rows."""
    rows = numbers["serials"]
    found = [_serials(rows, numbers), _new(numbers["new order"])]
    if len(rows) == 1:
        found.append(_lost(rows[0], numbers["runs"]))
    return [table for table in found if table.rows]


def only(numbers: Mapping[str, Any], serial: str) -> dict[str, Any]:
    """The answer on one aircraft, out of that on all."""
    of_one = {**numbers, "serials": [row for row in numbers["serials"] if row["serial"] == serial], "new order": None}
    return {**of_one, "sentences": sentences(of_one)}


def kept(numbers: Mapping[str, Any], model: str | None, doubtful: bool) -> dict[str, Any]:
    """The same answer with fewer rows: of one model, only those that are late or at risk."""
    rows = [row for row in numbers["serials"] if (model is None or row["model"] == model)
            and (not doubtful or row.get("state") in ("late", "at risk"))]
    return {**numbers, "serials": rows}


def with_log(numbers: Mapping[str, Any], log: Sequence[Forecast]) -> dict[str, Any]:
    """The answer with the days by which the 8-in-10 date of each aircraft has moved since the newest forecast of a
    log; without one, or of too few runs, as it is."""
    if not log or "note" in numbers:
        return dict(numbers)
    newest = max(row.made for row in log)
    then = {row.serial: row.eight for row in log if row.made == newest}
    pairs = {row["serial"]: (row["8 in 10 by"], then[row["serial"]]) for row in numbers["serials"]
             if row["serial"] in then}
    days = {serial: (date.fromisoformat(now) - date.fromisoformat(before)).days
            for serial, (now, before) in pairs.items() if not (now.startswith(BEYOND) or before.startswith(BEYOND))}
    return {**numbers, "moved": {"since": newest[:10], "days": days}}


def rows_of(table: pd.DataFrame, numbers: Mapping[str, Any]) -> pd.DataFrame:
    """The rows of the figure's table that the answer has."""
    return table[table["serial"].isin([row["serial"] for row in numbers["serials"]])].reset_index(drop=True)


def screens(table: pd.DataFrame, most: int = chart.MOST_ROWS) -> dict[str, pd.DataFrame]:
    """The rows of a table, so many at once, by their first and last serial."""
    parts = [table.iloc[n:n + most].reset_index(drop=True) for n in range(0, len(table), most)]
    return {f"{part['serial'].iloc[0]} to {part['serial'].iloc[-1]}": part for part in parts}


def models(scenario: Scenario) -> list[str]:
    """Models of the orders, in the order of the book."""
    return list(dict.fromkeys(order.model for order in scenario.orders or () if order.model))


def _serials(rows: Sequence[Mapping[str, Any]], numbers: Mapping[str, Any]) -> Table:
    few, of = "note" in numbers, words.runs(numbers["runs"])
    names = ("first", "last") if few else ("half by", "8 in 10 by", "19 in 20 by")
    heads = ("First run", "Last run") if few else ("Half by", "8 in 10 by", "19 in 20 by")
    moved = numbers.get("moved", {"since": "", "days": {}})
    printed = []
    for row in sorted(rows, key=lambda one: one["promised"] or "9999"):
        most, days = row["most days lost to"], moved["days"].get(row["serial"])
        printed.append((row["serial"], row["promised"] or "", *(row[name] for name in names),
                        *(("" if days is None else words.difference(days, 0),) if moved["days"] else ()),
                        words.chance(row["runs that keep it"], row["of"]) if "of" in row else "", row.get("state", ""),
                        *((words.tenths(most["work days"]), where({**most, "name": ""})) if most else ("", "")),
                        row["model"] or ""))
    since = f" Since: days by which the 8-in-10 date moved since it was logged on {moved['since']}." if moved["days"] \
        else ""
    return Table("Aircraft in promised order. Dates are read \"by\". Keeps it: runs that deliver by the promised date. "
                 f"Lost: work days on the chain that set the date, mean of {of}; a place by its code.{since}",
                 ("Serial", "Promised", *heads, *(("Since, d",) if moved["days"] else ()), "Keeps it", "State",
                  "Lost, d", "Most lost to", "Model"),
                 tuple(printed), fits=False)


def _new(row: Mapping[str, Any] | None) -> Table:
    head = ("New order", "Model", "Planned launch")
    if row is None:
        return Table("", head, ())
    first = (row["serial"], row["model"] or "", row["launch slot"] or "")
    if "note" in row:
        return Table(f"A new order at the end of the book: {row['note']} to name a date.",
                     (*head, "First run", "Last run"), ((*first, row["first"], row["last"]),))
    names = [name for name in ("half by", "8 in 10 by", "9 in 10 by", "19 in 20 by") if name in row]
    low, high = row["8 in 10 by, 95 % interval"]
    missed = f" {row['runs that miss it']} of {words.runs(row['runs'])} deliver after the 8-in-10 date." \
        if row["safe to promise"] else ""
    return Table(f"A new order in the next open launch slot.{missed} That date is known to {low} to {high} (95 % "
                 f"interval of {words.runs(row['runs'])}).",
                 (*head, *(name[0].upper() + name[1:] for name in names)), ((*first, *(row[name] for name in names)),))


def _lost(row: Mapping[str, Any], runs: int) -> Table:
    return Table(f"Work days that {row['serial']} loses on the chain that set its date, mean of {words.runs(runs)}.",
                 ("Lost to", "Work days"),
                 tuple((where(lost), words.tenths(lost["work days"])) for lost in row["work days lost"]))
