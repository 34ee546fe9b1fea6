"""`linesim dates`: every aircraft by date against its promise, and what may be promised for a new order."""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from ..line.sheet import Sheet
from ..measures.run import RunNumbers
from ..questions.date_words import where
from ..questions.dates import UnknownSerial, dates
from ..questions.new_order import NewOrder, NoOpenSlot, with_new_order
from ..scenario.reading import read_scenario
from ..scenario.scenario import Scenario
from .answered import save, stopped_before
from .asking import EXIT_FAULTS, EXIT_STOPPED, Answered, Asking, Variant, Where, WrongOption, asking, most_runs
from .forecast_logging import keep_forecast
from .palette import LIGHT
from .story import PICTURES
from .words import BEFORE_A_PROMISE, runs, tenths, wrapped

DATES = "dates"  # the table of the figure
SHORT = {"appointment or customer's date": "customer", "weather or daylight": "weather"}


def dates_of_file(file: str, *, serial: str | None, new: bool, model: str | None, number: int | None, seed: int | None,
                  jobs: int, out: str | None, as_json: bool, picture: str | None, log: bool = False,
                  cluster: str | None = None) -> int:
    """Answer the question of a scenario file; its runs are those of `linesim run`. With a new order the scenario that
    has it is run, too, in a folder of its own."""
    if picture is not None and Path(picture).suffix not in PICTURES:
        print(f"--picture: {picture}: the name must end in {' or '.join(PICTURES)}", file=sys.stderr)
        return EXIT_FAULTS
    scenario = read_scenario(file)
    options = {"serial": serial, "new": new, "model": model}
    try:
        with asking(Where.of(file, scenario, seed, jobs, out, cluster)) as ask:
            found = answered(ask, scenario, options, most_runs(scenario, number, None))
    except WrongOption as wrong:
        print(f"--{wrong.option}: {wrong}", file=sys.stderr)
        return EXIT_FAULTS
    if found is None:
        stopped_before("the first run was done")
        return EXIT_STOPPED
    if log:
        keep_forecast(ask.where, Sheet(scenario), runs_of(ask, scenario, found.numbers["runs"]), found.numbers)
    if picture is not None:
        found.numbers["pictures"] = draw(Path(picture), found, scenario.start)
    print(json.dumps(found.numbers, indent=2) if as_json else "\n".join(in_words(found.numbers)))
    return EXIT_STOPPED if found.numbers["stopped"] else 0


def answered(ask: Asking, scenario: Scenario, options: Mapping[str, Any], runs: int) -> Answered | None:
    """The answer from so many runs, with the table of its figure; None if it was stopped before the first. `options`:
    `serial` (None: all), `new` (a new order, too), `model` of the new order (None: the most ordered one). Raises
    WrongOption."""
    serial, known = options.get("serial"), [order.serial for order in scenario.orders or ()]
    if serial is not None and serial not in known:
        raise WrongOption("serial", str(UnknownSerial(serial, known)))
    sheet = ask.sheet(scenario)
    try:
        order = with_new_order(sheet, options.get("model")) if options.get("new") else None
    except NoOpenSlot as why:
        raise WrongOption("new", str(why)) from None
    ask.first_part(1 if order is None else 2, lambda first: _answered(first, sheet, serial, None, runs))
    return _answered(ask, sheet, serial, order, runs)


def _answered(ask: Asking, sheet: Sheet, serial: str | None, order: NewOrder | None, runs: int) -> Answered | None:
    from ..questions import figures
    from .folder import tables_of_runs

    done, of_new = _done(ask, sheet.scenario, order, runs)
    if not done:
        return None
    answer = dates(sheet, done, ask.where.seed, serial, (order, of_new) if order and of_new else None)
    answer.numbers.update({"stopped": ask.stopped, "sentences": answer.sentences})
    return Answered(answer.numbers, {DATES: figures.dates(sheet, tables_of_runs(sheet, done), answer.numbers)})


def runs_of(ask: Asking, scenario: Scenario, number: int) -> list[RunNumbers]:
    """The first runs of a scenario, which are there."""
    return ask.hold(Variant(scenario.name, scenario), range(number))


def _done(ask: Asking, scenario: Scenario, order: NewOrder | None,
          number: int) -> tuple[list[RunNumbers], list[RunNumbers]]:
    """The runs of the scenario, and those of it with the new order."""
    variants = [Variant(scenario.name, scenario)]
    if order is not None:
        variants.append(Variant(f"{scenario.name} with {order.serial}", order.scenario, segments=False))
    there = ask.do(variants, number)
    found = [ask.hold(variant, numbers) if numbers else [] for variant, numbers in zip(variants, there,
                                                                                          strict=True)]
    return found[0], found[1] if order is not None else []


def draw(picture: Path, found: Answered, start: date) -> list[str]:
    """Draw the dates into a file; gives its name, or none where the runs are too few for a range or nothing is
    promised. Raises FolderRefused where it cannot be written."""
    from .charts import dates as chart
    from .charts import findings

    table = found.tables[DATES]
    if "note" in found.numbers or not len(table):
        return []
    rows = chart.shown(table)
    finding = findings.dates(table, len(rows))
    save(picture, chart.plate(LIGHT, rows, start), finding.title, finding.reading)
    return [str(picture)]


# in words ------------------------------------------------------------------------------------------------------------
def in_words(numbers: Mapping[str, Any]) -> list[str]:
    """Sentences, a table of the serials or the story of one, cautions."""
    lines = [f"Stopped: this answer is from the first {runs(numbers['runs'])}.", ""] if numbers["stopped"] else []
    lines += [line for sentence in numbers["sentences"] for line in wrapped(sentence)]
    rows = numbers["serials"]
    if rows:
        lines += ["", *(_lost(rows[0], numbers) if len(rows) == 1 else _table(rows, numbers))]
    if numbers["new order"]:
        lines += ["", *_new(numbers["new order"])]
    lines += ["", *(line for caution in [" ".join(BEFORE_A_PROMISE), *numbers["cautions"]]
                    for line in wrapped(f"Caution  {caution}", 9))]
    if numbers.get("pictures"):
        lines += wrapped(f"Drawn in {', '.join(numbers['pictures'])}", 9)
    elif "pictures" in numbers:
        lines.append("Drawn    nothing: the runs are too few for a range, or nothing is promised")
    if numbers.get("logged in"):
        lines += wrapped(f"Logged   {numbers['logged in']}", 9)
    return [*lines, *wrapped(f"From {runs(numbers['runs'])}, seed {numbers['seed']}, if the inputs are right.")]


def _table(rows: Sequence[Mapping[str, Any]], numbers: Mapping[str, Any]) -> list[str]:
    few = "note" in numbers
    names = ("first", "last") if few else ("half by", "8 in 10 by", "19 in 20 by")
    wide = max([6, *(len(row["serial"]) for row in rows)])
    head = (f"{'serial':<{wide}}  {'promised':<10}  " + "  ".join(f"{name:<{_width(name, rows)}}" for name in names)
            + "  keep it  most days lost to")
    lines = [head.rstrip()]
    for row in sorted(rows, key=lambda one: one["promised"] or "9999"):
        kept = f"{row['runs that keep it']}/{row['of']}" if "of" in row else ""
        cells = "  ".join(f"{row[name]:<{_width(name, rows)}}" for name in names)
        lines.append(f"{row['serial']:<{wide}}  {row['promised'] or '':<10}  {cells}  {kept:<7}  {_most(row)}".rstrip())
    return [*lines, *wrapped("Keep it: runs that deliver by the promised date, of all. Lost: work days on the chain "
                             f"that set the date, mean of {runs(numbers['runs'])}; a place by its code, before it: "
                             "parked until it has room.")]


def _width(name: str, rows: Sequence[Mapping[str, Any]]) -> int:
    return max(len(name), *(len(row[name]) for row in rows))


def _most(row: Mapping[str, Any]) -> str:
    if not row["work days lost"]:
        return ""
    most = row["work days lost"][0]
    return f"{_where(most)} {tenths(most['work days'])}"


def _where(lost: Mapping[str, Any]) -> str:
    if lost["parked before it"] and lost["reason"] == "blocked":
        return f"before {lost['place']}"
    return f"{lost['place']} {SHORT.get(lost['reason'], lost['reason'])}"


def _lost(row: Mapping[str, Any], numbers: Mapping[str, Any]) -> list[str]:
    """All that one serial loses days to."""
    lines = [f"Work days lost on the chain that set its date, mean of {runs(numbers['runs'])}:"]
    lines += [f"{tenths(lost['work days']):>6}   {where(lost)}" for lost in row["work days lost"]]
    return lines if row["work days lost"] else ["No day is lost on the chain that set its date."]


def _new(row: Mapping[str, Any]) -> list[str]:
    """The new order by more and less careful dates."""
    what = ", ".join(part for part in (row["model"], row["scheme"]) if part)
    lines = [f"New order {row['serial']}" + (f" ({what})" if what else "") +
             (f", planned launch {row['launch slot']}" if row["launch slot"] else "")]
    if "note" in row:
        return [*lines, f"delivered {row['first']} to {row['last']} in {runs(row['runs'])}; {row['note']}"]
    lines += [f"  {name:<12}{row[name]}" for name in ("half by", "8 in 10 by", "9 in 10 by", "19 in 20 by")
              if name in row]
    low, high = row["8 in 10 by, 95 % interval"]
    lines += wrapped(f"The 8-in-10 date is known to {low} to {high} (95 % interval of {runs(row['runs'])}).")
    if row["safe to promise"]:
        lines += wrapped(f"{row['runs that miss it']} of {row['runs']} runs deliver after it.")
    return lines
