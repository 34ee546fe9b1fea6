"""The tables of a run folder, one row for each delivery, stay, flight ... of every run."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
from pandas.api.types import union_categoricals

from ..line.records import REASON_WORDS, State
from ..line.sheet import Sheet
from ..measures.labour import ACCOUNT, weeks_of
from ..measures.run import RunNumbers
from ..measures.tables import Words
from ..measures.window import periods_of

RECORDS = ("visits", "flights", "launches", "reasons", "place_reasons", "segments")
STARVED_WORD = "starved"  # in a place's own ledger: nothing stands there while it is open for work
HALF_NAMES = ["whole", "fuselage", "wing"]


def tables_of_runs(sheet: Sheet, runs: Sequence[RunNumbers]) -> dict[str, pd.DataFrame]:
    """All tables by name. Times in them are minutes since 00:00 of the start, but for dates of delivery."""
    deliveries = pd.DataFrame([(run.run, serial, moment) for run in runs for serial, moment in run.delivered.items()],
                              columns=["run", "serial", "delivered"])
    found = {"deliveries": deliveries.assign(delivered=pd.to_datetime(deliveries["delivered"])),
             "runs": _runs(runs), "places": places_of(sheet, runs), "labour": _labour(sheet, runs),
             "load_by_week": _weeks(sheet, runs),
             "chain": _chain(sheet, runs)}
    for name in RECORDS:
        parts = [(run.run, table) for run in runs if (table := getattr(run.tables, name)) is not None]
        found[name] = _joined(sheet, parts)
    return found


def _runs(runs: Sequence[RunNumbers]) -> pd.DataFrame:
    return pd.DataFrame([{
        "run": run.run, "delivered": len(run.delivered), "stock": run.stock, "flights": run.flights,
        "squawks": run.squawks, "line_stops": run.line_stops, "stop_hours": run.stop_hours,
        "backlog_growth": run.backlog_growth, "aircraft_counted": run.counted,
        **{f"hours: {reason}": hours for reason, hours in run.reasons.items()},
        **{f"in process: {area}": mean for area, mean in run.in_process.items()}} for run in runs])


def places_of(sheet: Sheet, runs: Sequence[RunNumbers]) -> pd.DataFrame:
    """Hours of each place of each run, by what it did in them."""
    names = [place.id for place in sheet.places]
    return pd.DataFrame([{"run": run.run, "place": name, **{
        REASON_WORDS[state]: run.places[n, state] for state in State}} for run in runs for n, name in enumerate(names)])


def _chain(sheet: Sheet, runs: Sequence[RunNumbers]) -> pd.DataFrame:
    """What set the dates, summed over the aircraft of each run: by place and reason, where there is any."""
    names = [place.id for place in sheet.places]
    rows = [(run.run, names[place], REASON_WORDS[State(rank)], *run.chain[:, place, rank]) for run in runs
            for place, rank in zip(*run.chain.sum(axis=0).nonzero(), strict=True)]
    return pd.DataFrame(rows, columns=["run", "place", "reason", "work_days", "outside_hours"])


def _labour(sheet: Sheet, runs: Sequence[RunNumbers]) -> pd.DataFrame:
    trades, periods = list(sheet.scenario.trades), periods_of(sheet.scenario)
    rows = [(run.run, trade, str(first), inside, *run.labour[n, m])
            for run in runs for n, trade in enumerate(trades) for m, (first, inside) in enumerate(periods)]
    return pd.DataFrame(rows, columns=["run", "trade", "from", "in_window", *(f"{name}_hours" for name in ACCOUNT)])


def _weeks(sheet: Sheet, runs: Sequence[RunNumbers]) -> pd.DataFrame:
    """Hours worked and working hours of those there, by trade and week (its first date), summed over the runs."""
    total = sum((run.load_by_week for run in runs[1:]), start=runs[0].load_by_week)
    rows = [(trade, str(first), *total[:, n, m]) for n, trade in enumerate(sheet.scenario.trades)
            for m, first in enumerate(weeks_of(sheet.scenario))]
    return pd.DataFrame(rows, columns=["trade", "from", "worked_hours", "working_hours"])


def _joined(sheet: Sheet, parts: list[tuple[int, dict[str, Any]]]) -> pd.DataFrame:
    if not parts:
        return pd.DataFrame({"run": []})
    columns = {column: _concatenated([table[column] for _, table in parts]) for column in parts[0][1]}
    run = np.repeat([number for number, _ in parts], [len(next(iter(table.values()))) for _, table in parts])
    table = pd.DataFrame({"run": run, **columns})
    if "serial" in columns:
        serials = [order.serial for order in sheet.scenario.orders or ()]
        table["serial"] = _named(table["serial"], _serial_names(serials, table["serial"]))
    if "place" in columns:
        table["place"] = _named(table["place"], [place.id for place in sheet.places])
    if "half" in columns:
        table["half"] = _named(table["half"], HALF_NAMES)
    for column in ("state", "reason"):
        if column in columns:
            table[column] = _named(table[column], [STARVED_WORD, *(REASON_WORDS[state] for state in State)])
    return table


def _concatenated(parts: list[Any]) -> Any:
    if isinstance(parts[0], Words):
        return union_categoricals([_named(part.codes, part.words) for part in parts])
    return np.concatenate(parts)


def _named(codes: Any, names: list[str]) -> Any:
    return pd.Categorical.from_codes(codes, names)  # type: ignore[call-overload]


def _serial_names(serials: list[str], numbers: Any) -> list[str]:
    """Names of the serials; those past the order book are stock (or of unlimited orders) and get a number."""
    most = int(numbers.max()) + 1 if len(numbers) else 0
    return [*serials, *(f"past the book {n + 1}" for n in range(most - len(serials)))]
