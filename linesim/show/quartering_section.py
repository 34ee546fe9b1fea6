"""The answer on quarters as a section for a page: sentences, figures, tables, caution."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import pandas as pd
from matplotlib.figure import Figure

from ..questions.amounts import REACH
from ..questions.quarter_words import amount, million
from ..questions.quarters import models_of
from ..scenario.scenario import Scenario
from . import words
from .charts import findings, quarters_money
from .charts import quarters as circles_chart
from .charts.findings import Finding
from .palette import LIGHT
from .report import cautions
from .report.blocks import Section, Table, picture

SO_FAR = ("9 in 10 reach", "5 in 10 reach", "1 in 10 reach")  # least, middle and most of 8 in 10 runs


def section(numbers: Mapping[str, Any], circles: pd.DataFrame) -> Section:
    """`circles` of questions.figures.quarters."""
    return Section("quarters", words.PAGES["quarters"], numbers["sentences"],
                   [picture(figure, key, finding) for key, (figure, finding) in figures_of(numbers, circles).items()],
                   tables(numbers), [cautions.PROMISE])


def figures_of(numbers: Mapping[str, Any], circles: pd.DataFrame) -> dict[str, tuple[Figure, Finding]]:
    """The figures by their keys: deliveries, where there is a whole quarter, and money, where it is declared."""
    drawn = {}
    if len(circles):
        drawn["quarters"] = (circles_chart.plate(LIGHT, circles), findings.quarters(circles))
    if numbers["money"]:
        drawn["money"] = (quarters_money.plate(LIGHT, numbers), quarters_money.finding(numbers))
    return drawn


def tables(numbers: Mapping[str, Any]) -> list[Table]:
    """Quarters, months, models, revenue, chances of so many; those that have rows."""
    found = [_quarters(numbers), _revenue(numbers), _months(numbers), _chances(numbers), _models(numbers)]
    return [table for table in found if table.rows]


def _quarters(numbers: Mapping[str, Any]) -> Table:
    few = "note" in numbers["deliveries in the window"]
    head = ("Quarter", "Plan", *(("Delivered in each run",) if few else tuple(f"{n} in 10 reach" for n in REACH)),
            "Late, mean", "Keeps the plan")
    rows = []
    for name, row in numbers["quarters"].items():
        if isinstance(row, str):
            rows.append((name, *[""] * (len(head) - 2), row))
            continue
        reach = (", ".join(map(str, row["each run"])),) if few else tuple(
            words.count(row[f"{n} in 10 reach"]) for n in REACH)
        rows.append((name, str(row["plan"]), *reach, words.tenths(numbers["late, mean"][name]),
                     words.chance(row["runs that keep the plan"], numbers["runs"])))
    return Table("Aircraft delivered in the quarter; counts are read \"at least\".", head, tuple(rows))


def _revenue(numbers: Mapping[str, Any]) -> Table:
    money = numbers["money"] if numbers["model"] is None else None
    few = "note" in numbers["deliveries in the window"]
    head = ("Quarter", "Mean", *(() if few else tuple(f"{n} in 10 reach" for n in REACH)), "Late concessions, mean",
            "Carrying cost, mean")
    if not money:
        return Table("", head, ())
    rows = []
    for name, row in {**money["revenue by quarter"], "window": money["revenue in the window"]}.items():
        lost = [(money[of]["in the window"] if name == "window" else money[of]["by quarter"][name])["mean"]
                for of in ("late concessions", "carrying cost")]
        rows.append((name, million(row["mean"]), *(() if few else tuple(million(row[f"{n} in 10 reach"])
                                                                       for n in REACH)), *map(million, lost)))
    return Table(f"Revenue at acceptance, {money['currency']} million.", head, tuple(rows))


def _months(numbers: Mapping[str, Any]) -> Table:
    so_far = numbers["delivered by the end of the month"]
    rows = [(month, words.count(row["promised"]), words.tenths(row["mean"]),
             words.tenths(row["low"]) if "low" in row else "", words.tenths(row["high"]) if "high" in row else "",
             words.count(so_far[month]["promised"]), *(
                 words.count(so_far[month][name]) if name in so_far[month] else "" for name in SO_FAR))
            for month, row in numbers["deliveries by month"].items()]
    return Table("Aircraft by month: promised, and delivered in the mean of the runs with its 95 % interval; then "
                 "those of the window so far, at the end of the month.",
                 ("Month", "Promised", "Delivered, mean", "from", "to", "Promised so far", *(
                     f"{name} so far" for name in SO_FAR)), tuple(rows))


def _chances(numbers: Mapping[str, Any]) -> Table:
    table, of = numbers["runs that deliver at least"], numbers["runs"]
    names = list(next(iter(table.values()))) if table else []
    return Table("Runs that deliver at least so many in the quarter.", ("At least", *names), tuple(
        (count, *(words.chance(row[name], of) for name in names)) for count, row in that_say_something(numbers)))


def that_say_something(numbers: Mapping[str, Any]) -> list[tuple[str, Mapping[str, int]]]:
    """The counts from what nearly all runs reach in every quarter to what hardly any does in one, with the runs that
    reach each."""
    of, rows = numbers["runs"], list(numbers["runs that deliver at least"].items())
    first = max((n for n, (_, row) in enumerate(rows) if all(20 * kept > 19 * of for kept in row.values())), default=0)
    last = min((n for n, (_, row) in enumerate(rows) if all(20 * kept < of for kept in row.values())),
               default=len(rows) - 1)
    return rows[first:last + 1]


def _models(numbers: Mapping[str, Any]) -> Table:
    models = numbers["deliveries by model"]
    names = list(next(iter(models.values()))) if len(models) > 1 else []
    return Table("Delivered by model, mean of the runs.", ("Model", *names), tuple(
        (model, *(words.tenths(row[name]["mean"]) for name in names)) for model, row in models.items() if names))


def circles_said(circles: pd.DataFrame) -> str:
    """The circles in words."""
    return " ".join(f"{row['quarter']}: planned {row['plan']}, {words.chance(row['kept'], row['runs'])} reach it."
                    for _, row in circles.drop_duplicates("quarter").iterrows())


def short_money(money: Mapping[str, Any]) -> Callable[[float], str]:
    """An amount in a few letters, in the currency of the scenario."""
    return lambda value: amount(value, money["currency"])


def models(scenario: Scenario) -> list[str]:
    """Models of the order book."""
    return models_of(scenario)
