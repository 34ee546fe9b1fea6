"""The tables of a run as values with their units: what the workbook and the CSV files hold, cell by cell.

Numbers are those of the answer, never worked out here. A head carries its unit; the note of a column says how to read
it. A count or date never stands without the number of runs that it comes from.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import pandas as pd

from ..line.sheet import Sheet
from ..measures.labour import ACCOUNT
from ..measures.run import RunNumbers
from ..questions import figures
from ..questions.baseline import MAY_GROW
from ..questions.by_run import deliveries_by_run, whole_quarters
from ..questions.decimals import PERCENT, decimals
from ..questions.inputs import inputs_of
from . import words

Cell = str | int | float | date | None

TEXT, COUNT, HOURS = "", "#,##0", "[>100]#,##0;#,##0.0"
DATE, MONTH = "yyyy-mm-dd", "yyyy-mm"
REACH = (9, 8, 5, 1)
MEAN = "Mean of the runs, as precise as they know it."
FROM = "95 % interval of the mean: how well these runs know the mean, not how far one year may be from it."

OF_A_PLACE = {
    "worked": "Hands-on work, rework and flight.",
    "holds and appointments": "Cures, holds and appointments, which nobody may shorten.",
    "waiting for people": "Waiting for people, an inspector or a pilot.",
    "waiting for weather, parts, customer, other half": "Waiting for anything else.",
    "off shift": "Its people are not on shift.",
    "blocked": "Ready to leave, and the next place is taken; or the line stands.",
    "empty": "No aircraft in it."}
OF_PAID_HOURS = {
    "paid": "Paid hours in the window; the columns to its right sum to it.",
    "worked": "Hands-on work, rework, buy-offs and flights.",
    "checked": "Tool checks at both ends of a shift.",
    "breaks and meetings": "Paid breaks, meetings, clean-down.",
    "trained": "In training.",
    "absent": "Paid leave and absence.",
    "idle": "There, and without work that they could do."}


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its head with the unit, how to read it, and the format of its numbers or dates."""

    head: str
    note: str
    form: str = TEXT


@dataclass(frozen=True, slots=True)
class Table:
    """One subject: a sheet of the workbook and a CSV file."""

    title: str
    file: str
    columns: Sequence[Column]
    rows: Sequence[tuple[Cell, ...]]


def number(digits: int) -> str:
    """Format of a number with so many decimals."""
    return "#,##0" + ("." + "0" * digits if digits else "")


def share(digits: int) -> str:
    """Format of a share as percent."""
    return f"0{'.' + '0' * digits if digits else ''}%"


def mean_of(row: Mapping[str, float] | None) -> tuple[Cell, Cell, Cell]:
    """Mean, low and high of an interval; empty where there is none, as of a single run."""
    return (None, None, None) if row is None else (row["mean"], row.get("low"), row.get("high"))


def mean_columns(what: str, unit: str, form: str, note: str = "") -> list[Column]:
    """The columns of `mean_of`."""
    return [Column(f"{what}, {unit}", f"{note} {MEAN}".strip(), form), Column(f"{what} from, {unit}", FROM, form),
            Column(f"{what} to, {unit}", FROM, form)]


def tables_of_answer(sheet: Sheet, runs: Sequence[RunNumbers], tables: Mapping[str, pd.DataFrame],
                     numbers: Mapping[str, Any]) -> list[Table]:
    """All tables in the order in which they are read; what a plant does not have gives one without rows. `tables` are
    those of a run folder."""
    return [window(numbers), quarters(numbers), months(numbers), dates(sheet, numbers), by_run(sheet, runs),
            line(numbers), hours(numbers), chain(numbers), places(numbers), trades(numbers), flights(tables),
            squawks(sheet, tables), *pulse(numbers), inputs(sheet)]


def reached() -> list[Column]:
    """Counts that so many runs reach."""
    return [Column(f"{n} in 10 reach, aircraft", f"Read as at least: {n} in 10 runs deliver this number or more (the "
                   f"{10 * (10 - n)}th percentile of the runs). Such counts of quarters do not add up to that of the "
                   "year.", COUNT) for n in REACH]


def window(numbers: Mapping[str, Any]) -> Table:
    """Deliveries in the whole window, and whether the plan holds."""
    counts, keeps = numbers["deliveries in the window"], numbers["keeps the plan"]
    enough = "note" not in counts
    columns = [Column("First day", "The measuring window, both days included.", DATE),
               Column("Last day", "The measuring window, both days included.", DATE)]
    row: list[Cell] = [day(text) for text in numbers["window"]]
    if enough:
        columns += reached()
        row += [counts[f"{n} in 10 reach"] for n in REACH]
    if keeps:
        columns += [Column("Runs that keep up with the launches", "Runs whose backlog (launches planned less "
                           f"deliveries) grows by at most {MAY_GROW} aircraft in the last six months of the window.",
                           COUNT), Column("of Runs", "Runs in all.", COUNT),
                    Column("The plan holds", "yes: at least 8 in 10 runs keep up.")]
        row += [keeps["runs"], keeps["of"], "yes" if keeps["holds"] else "no"]
    if not enough:
        columns.append(Column("Remark", "Why no range is given; the counts stand in Deliveries by run."))
        row.append(counts["note"])
    return Table("Deliveries in the window", "deliveries-in-the-window", columns, [tuple(row)])


def quarters(numbers: Mapping[str, Any]) -> Table:
    """What each quarter yields."""
    enough = "note" not in numbers["deliveries in the window"]
    refused = any(isinstance(row, str) for row in numbers["quarters"].values())
    rows: list[tuple[Cell, ...]] = []
    for name, row in numbers["quarters"].items():
        if isinstance(row, str):
            cells: list[Cell] = [name, None, *([None] * len(REACH) if enough else []), None, numbers["runs"], None, row]
        else:
            kept = row["runs that keep the plan"]
            cells = [name, row["plan"], *(row[f"{n} in 10 reach"] for n in REACH if enough), kept, numbers["runs"],
                     words.chance(kept, numbers["runs"]), *([None] if refused else [])]
        rows.append(tuple(cells))
    columns = [Column("Quarter", "By the local date of delivery; only quarters wholly in the window are counted."),
               Column("Promised, aircraft", "Orders promised in the quarter: the plan.", COUNT),
               *(reached() if enough else []),
               Column("Runs that keep the plan", "Runs that deliver at least as many as are promised.", COUNT),
               Column("Runs", "Runs in all.", COUNT),
               Column("Keeps the plan", "The same as a chance in words, no finer than tenths."),
               *([Column("Remark", "Why no number is given.")] if refused else [])]
    return Table("Deliveries by quarter", "deliveries-by-quarter", columns, rows)


def months(numbers: Mapping[str, Any]) -> Table:
    """Deliveries by month, with what is promised in it."""
    found = numbers["deliveries by month"]
    form = number(decimals(found.values(), least=1))
    columns = [Column("Month", "By the local date of delivery; the days of it that lie in the window.", MONTH),
               Column("Promised, aircraft", "Orders promised in the month.", COUNT),
               *mean_columns("Delivered", "aircraft", form, "One month of one run spreads far wider.")]
    return Table("Deliveries by month", "deliveries-by-month", columns, [
        (date.fromisoformat(f"{month}-01"), row["plan"], *mean_of(row if "mean" in row else None))
        for month, row in found.items()])


def dates(sheet: Sheet, numbers: Mapping[str, Any]) -> Table:
    """Each ordered serial."""
    models = {order.serial: order.model for order in sheet.scenario.orders or ()}
    asked = [one for one in ("half by", "8 in 10 by", "19 in 20 by") if any(one in row for row in numbers["serials"])]
    rows: list[tuple[Cell, ...]] = []
    for row in numbers["serials"]:
        kept, runs = row.get("runs that keep it"), row.get("runs that promise it", numbers["runs"])
        said = (None, None) if kept is None else (words.chance(kept, runs), figures.state_of(kept, runs))
        rows.append((row["serial"], models.get(row["serial"]), day(row["promised"]),
                     *(day(row[one]) for one in asked), kept, runs, *said))
    return Table("Dates by serial", "dates-by-serial", [
        Column("Serial", "As in the order book."), Column("Model", "As in the order book."),
        Column("Promised", "Promised date of the order book.", DATE),
        *(Column(_capital(one), f"{_capital(one.removesuffix(' by')).replace('Half', 'Half the')} runs deliver it on "
                 "this date or earlier. A text \"after\" and a date: the runs end before so many have delivered it. "
                 "Dates go to a customer only when their owner releases them.", DATE) for one in asked),
        Column("Runs that keep it", "Runs that deliver it on the promised date or earlier.", COUNT),
        Column("Runs", "Runs in which it is promised: all, unless orders change.", COUNT),
        Column("Keeps it", "The same as a chance in words, no finer than tenths."),
        Column("State", "on time: 8 in 10 runs or more keep the promise; late: fewer than half do; at risk: between. "
               "By the count of runs, not by the rounded words.")],
        rows)


def by_run(sheet: Sheet, runs: Sequence[RunNumbers]) -> Table:
    """What each single run delivers."""
    names = whole_quarters(sheet.scenario)
    return Table("Deliveries by run", "deliveries-by-run", [
        Column("Run", "Number of the run, counted from 0; `linesim run FILE --only` with it repeats it alone.", COUNT),
        *(Column(f"{name}, aircraft", "Aircraft that this run delivers in the quarter.", COUNT) for name in names),
        Column("In the window, aircraft", "Aircraft that this run delivers in the measuring window.", COUNT),
        Column("In all, aircraft", "Aircraft that this run delivers from its start to its end.", COUNT),
        Column("Backlog growth, aircraft", "Launches planned less deliveries in the last six months of the window. "
               f"A run keeps up if it is at most {MAY_GROW}.", COUNT)],
        [tuple(row.values()) for row in deliveries_by_run(sheet.scenario, runs)])


def line(numbers: Mapping[str, Any]) -> Table:
    """The line as a whole."""
    found: list[tuple[str, str, Mapping[str, float] | None]] = [
        ("Work days between deliveries", "work days", numbers["work days between deliveries"]),
        ("Flow time, launch to delivery", "calendar days", numbers["flow, calendar days"])]
    found += [(f"In process: {area}", "aircraft", row) for area, row in numbers["aircraft in process"].items()]
    keeps = numbers["keeps the plan"]
    if keeps:
        found.append(("Backlog growth, last six months", "aircraft", keeps["backlog growth in the last six months"]))
    form = number(decimals((row for *_, row in found), least=1))
    return Table("Line as a whole", "line-as-a-whole", [
        Column("What", "Read over the window."), Column("Unit", "Unit of the numbers beside it."),
        Column("Mean", MEAN, form), Column("Mean from", FROM, form), Column("Mean to", FROM, form)],
        [(what, unit, *mean_of(row)) for what, unit, row in found if row is not None])


def hours(numbers: Mapping[str, Any]) -> Table:
    """Every hour of an aircraft by its reason."""
    table = figures.ledger(numbers)
    return Table("Where the hours go", "where-the-hours-go", [
        Column("Reason", "Every hour from launch to delivery has exactly one reason."),
        Column("As one reads it", "The reason in words."),
        Column("Hours per delivered aircraft", "Clock hours, mean over the aircraft launched in a run and delivered in "
               "the window. They sum to their flow time.", HOURS),
        Column("Days per delivered aircraft", "The same in calendar days.", number(1))],
        [(str(row["reason"]), words.reason(str(row["reason"])), float(row["hours"]), float(row["days"]))
         for _, row in table.iterrows()])


def chain(numbers: Mapping[str, Any]) -> Table:
    """What set the dates, by area and reason."""
    found = numbers["what set the dates"] or {}
    days, outside = (found.get(f"{name} by area and reason", {}) for name in (
        "work days", "hours outside the reference shift"))
    rows = [(area, reason, words.reason(reason), days[area].get(reason, 0.0), outside[area].get(reason, 0.0))
            for area in days for reason in dict.fromkeys((*days[area], *outside[area]))]
    return Table("What set the dates", "what-set-the-dates", [
        Column("Area", "In order of flow; a place without an area stands for itself."),
        Column("Reason", "What each stay waited for last, followed back from leaving to arriving."),
        Column("As one reads it", "The reason in words."),
        Column("Work days per delivered aircraft", "Of the reference shift; mean over the aircraft of all runs that "
               "were launched in a run and delivered in the window.", number(2)),
        Column("Hours outside per delivered aircraft", "Clock hours outside the reference shift (nights, meals, other "
               "shifts) on the same chain. With the work days they are launch to delivery.", HOURS)], rows)


def places(numbers: Mapping[str, Any]) -> Table:
    """Where each place's working hours go."""
    full = [row["at work or waiting"] for row in numbers["places"]]
    digits = decimals(full, least=PERCENT, most=PERCENT + 1) - PERCENT
    whole = "Share of the working hours of all docks of the place; worked, held, waiting, off shift, blocked and " \
            "empty sum to 1."
    return Table("Places", "places", [
        *(Column(head, "As in the scenario.") for head in ("Place", "Name", "Area")),
        Column("Docks, aircraft", "Aircraft that can stand in it at once.", COUNT),
        *mean_columns("At work or waiting", "share", share(digits), "Neither blocked nor empty: the fullest place is "
                                                                    "the tightest."),
        *(Column(f"{_capital(name)}, share", f"{note} {whole}", share(digits)) for name, note in OF_A_PLACE.items()),
        Column("Most waited for", "Trade that its jobs wait for most."),
        Column("Most waited for, besides people", "The largest of weather, parts, dates, other half and tools.")],
        [(row["place"], row["name"] or None, row["area"], row["docks"], *mean_of(row["at work or waiting"]),
          *(row[name] for name in OF_A_PLACE), row["most waited for"], row["most waited for, besides people"])
         for row in numbers["places"]])


def trades(numbers: Mapping[str, Any]) -> Table:
    """The account of paid hours."""
    digits = decimals((row["load"] for row in numbers["trades"]), least=PERCENT, most=PERCENT + 1) - PERCENT
    return Table("Trades", "trades", [
        Column("Trade", "As in the scenario."), Column("Name", "As in the scenario."),
        *mean_columns("Load", "share", share(digits), "Hours worked, of hours worked and idle."),
        *(Column(f"{_capital(name)}, hours", f"{OF_PAID_HOURS[name]} Mean of the runs.", HOURS) for name in ACCOUNT)],
        [(row["trade"], row["name"] or None, *mean_of(row["load"]), *(row[f"{name} hours"] for name in ACCOUNT))
         for row in numbers["trades"]])


def flights(tables: Mapping[str, pd.DataFrame]) -> Table:
    """Flights and squawks by flight number."""
    table = figures.flights(tables)
    means = [{"low": row["low"], "high": row["high"]} for _, row in table.iterrows() if not pd.isna(row["low"])]
    return Table("Flights", "flights", [
        Column("Flight", "Number of the flight of an aircraft; over the aircraft launched in a run and delivered in "
               "the window.", COUNT),
        Column("Fly it, share", "Share of the aircraft that fly it.", share(0)),
        *mean_columns("Squawks", "a flight", number(decimals(means, least=1)), "Written up on the flight.")],
        [(int(row["flight"]), float(row["flew"]), float(row["squawks"]), _known(row["low"]), _known(row["high"]))
         for _, row in table.iterrows()])


def squawks(sheet: Sheet, tables: Mapping[str, pd.DataFrame]) -> Table:
    """Squawks by where they are found and who clears them."""
    table = figures.squawk_trades(sheet, tables)
    return Table("Squawks", "squawks", [
        Column("Found at", "Flight test, or the customer's acceptance."), Column("Trade", "Trade that clears them."),
        Column("Name", "As in the scenario."),
        Column("Squawks per aircraft", "Mean over aircraft launched in a run and delivered in the window.", number(2)),
        Column("Runs", "Runs of which all work is kept; the mean is over these.", COUNT)],
        [(row["where"], row["trade"], row["name"] or None, float(row["squawks"]), int(row["runs"]))
         for _, row in table.iterrows()])


def pulse(numbers: Mapping[str, Any]) -> list[Table]:
    """Line stops and travelled work of a pulse line; nothing in free flow."""
    if "pulse line" not in numbers:
        return []
    found = numbers["pulse line"]
    stops = {"line stops in the window": "stops", "working hours it stood": "working hours"}
    form = number(decimals((found[name] for name in stops), least=1))
    return [Table("Line stops", "line-stops", [
        Column("What", "Of the pulse line."), Column("Unit", "Unit of the numbers beside it."),
        Column("Mean", MEAN, form), Column("Mean from", FROM, form), Column("Mean to", FROM, form)],
        [(_capital(name), unit, *mean_of(found[name])) for name, unit in stops.items()]),
        Table("Stopped for", "stopped-for", [
            Column("Place", "Where the aircraft stood that held the line."),
            Column("Reason", "What it was in there."),
            Column("Working hours in the window", "Hours of the reference shift in which the line stood for it; mean "
                   "of the runs.", HOURS)],
            [(one["place"], one["reason"], one["hours"]) for one in found["working hours it stood, by who held it"]]),
        Table("Travelled work", "travelled-work", [
            Column("Planned at", "Place where the work was planned; it moved on unfinished with its aircraft."),
            Column("Packages a run", "Mean of the runs, over all of a run.", number(1)),
            Column("Labour hours a run", "Hours left when it first moved on, at the price of travel.", HOURS),
            Column("Of which price of travel, labour hours", "What the move adds to the hours.", HOURS)],
            [(place, row["packages"], row["hours"], row["of which price of travel"])
             for place, row in found["travelled, by where the work was planned"].items()])]


def inputs(sheet: Sheet) -> Table:
    """What the scenario says."""
    return Table("Inputs", "inputs", [
        Column("Path", "Where it stands in the scenario; `linesim change FILE path=value` changes it."),
        Column("Value", "As in the file; orders, packages and other long lists are counted. The scenario as run stands "
               "whole in scenario.json."),
        Column("Unit", "Unit of the value."), Column("Meaning", "What the value is.")],
        [(one.path, one.value, one.unit or None, one.meaning) for one in inputs_of(sheet.scenario)])


def day(text: str | None) -> Cell:
    """An ISO date as a date; "after 2028-06-30" stays a text."""
    return date.fromisoformat(text) if text and re.fullmatch(r"\d{4}-\d\d-\d\d", text) else text


def _known(value: float) -> float | None:
    return None if pd.isna(value) else float(value)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
