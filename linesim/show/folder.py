"""The tables of a run folder, one row for each delivery, stay, flight ... of every run."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
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
PART, FEW = 100, 5  # runs of which the tables are made at a time; of which every segment


class TablesOfRuns(Mapping[str, pd.DataFrame]):
    """All tables by name, each made when it is asked for. Times in them are minutes since 00:00 of the start, but for
    dates of delivery. Of many runs take the `parts`."""

    def __init__(self, sheet: Sheet, runs: Sequence[RunNumbers]) -> None:
        self._sheet, self._runs = sheet, runs
        self._made: dict[str, pd.DataFrame] = {}

    def __getitem__(self, name: str) -> pd.DataFrame:
        if name not in self._made:
            self._made[name] = MAKERS[name](self._sheet, self._runs)
        return self._made[name]

    def __iter__(self) -> Iterator[str]:
        return iter(MAKERS)

    def __len__(self) -> int:
        return len(MAKERS)

    def parts(self, runs: int | None = None) -> Iterator[TablesOfRuns]:
        """The tables of so many runs at a time; of PART, unless it is said."""
        of = runs or PART
        for first in range(0, len(self._runs), of):
            yield TablesOfRuns(self._sheet, self._runs[first:first + of])


def tables_of_runs(sheet: Sheet, runs: Sequence[RunNumbers]) -> TablesOfRuns:
    """All tables of some runs."""
    return TablesOfRuns(sheet, runs)


def _deliveries(_: Sheet, runs: Sequence[RunNumbers]) -> pd.DataFrame:
    moments = [moment for run in runs for moment in run.delivered.values()]
    return pd.DataFrame({
        "run": _each(runs, [len(run.delivered) for run in runs]),
        "serial": pd.Series([serial for run in runs for serial in run.delivered], dtype="str"),
        "delivered": np.array(moments, dtype="datetime64[us]")})


def _runs(_: Sheet, runs: Sequence[RunNumbers]) -> pd.DataFrame:
    return pd.DataFrame([{
        "run": run.run, "delivered": len(run.delivered), "stock": run.stock, "flights": run.flights,
        "squawks": run.squawks, "line_stops": run.line_stops, "stop_hours": run.stop_hours,
        "backlog_growth": run.backlog_growth, "aircraft_counted": run.counted,
        **{f"hours: {reason}": hours for reason, hours in run.reasons.items()},
        **{f"in process: {area}": mean for area, mean in run.in_process.items()}} for run in runs])


def places_of(sheet: Sheet, runs: Sequence[RunNumbers]) -> pd.DataFrame:
    """Hours of each place of each run, by what it did in them."""
    hours = np.array([run.places for run in runs])
    names = pd.Series([place.id for place in sheet.places], dtype="str")
    return pd.DataFrame({"run": _each(runs, len(names)), "place": names.iloc[_again(len(names), len(runs))].array, **{
        REASON_WORDS[state]: hours[:, :, state].ravel() for state in State}})


def _chain(sheet: Sheet, runs: Sequence[RunNumbers]) -> pd.DataFrame:
    """What set the dates, summed over the aircraft of each run: by place and reason, where there is any."""
    names = [place.id for place in sheet.places]
    rows = [(run.run, names[place], REASON_WORDS[State(rank)], *chain[:, place, rank]) for run in runs
            for chain in (run.chain,) for place, rank in zip(*chain.sum(axis=0).nonzero(), strict=True)]
    return pd.DataFrame(rows, columns=["run", "place", "reason", "work_days", "outside_hours"]).astype(
        {"run": np.int64, "place": "str", "reason": "str", "work_days": float, "outside_hours": float})


def _labour(sheet: Sheet, runs: Sequence[RunNumbers]) -> pd.DataFrame:
    trades, periods = list(sheet.scenario.trades), periods_of(sheet.scenario)
    cells = pd.DataFrame([(trade, str(first), inside) for trade in trades for first, inside in periods],
                         columns=["trade", "from", "in_window"]).astype({"trade": "str", "from": "str"})
    hours = np.array([run.labour for run in runs]).reshape(-1, len(ACCOUNT))
    found = cells.iloc[_again(len(cells), len(runs))].reset_index(drop=True)
    found.insert(0, "run", _each(runs, len(cells)))
    return found.assign(**{f"{name}_hours": hours[:, n] for n, name in enumerate(ACCOUNT)})


def _weeks(sheet: Sheet, runs: Sequence[RunNumbers]) -> pd.DataFrame:
    """Hours worked and working hours of those there, by trade and week (its first date), summed over the runs."""
    total = sum((run.load_by_week for run in runs[1:]), start=runs[0].load_by_week)
    rows = [(trade, str(first), *total[:, n, m]) for n, trade in enumerate(sheet.scenario.trades)
            for m, first in enumerate(weeks_of(sheet.scenario))]
    return pd.DataFrame(rows, columns=["trade", "from", "worked_hours", "working_hours"])


def _each(runs: Sequence[RunNumbers], rows: int | Sequence[int]) -> Any:
    """The number of each run in so many rows."""
    return np.repeat(np.array([run.run for run in runs], dtype=np.int64), rows)


def _again(rows: int, times: int) -> Any:
    """The same rows again and again."""
    return np.tile(np.arange(rows), times)


def _records(name: str) -> Callable[[Sheet, Sequence[RunNumbers]], pd.DataFrame]:
    def made(sheet: Sheet, runs: Sequence[RunNumbers]) -> pd.DataFrame:
        return _joined(sheet, [(run.run, table) for run in runs
                               if (table := getattr(run.tables, name)) is not None])

    return made


MAKERS: dict[str, Callable[[Sheet, Sequence[RunNumbers]], pd.DataFrame]] = {
    "deliveries": _deliveries, "runs": _runs, "places": places_of, "labour": _labour, "load_by_week": _weeks,
    "chain": _chain, **{name: _records(name) for name in RECORDS}}
SUMMED = "load_by_week"  # over all runs: it has no number of a run
WHOLE = ("runs", SUMMED)  # few rows, and which columns or values they have hangs on all runs


def tables_in_parts(sheet: Sheet, runs: Sequence[RunNumbers]) -> Iterator[tuple[str, Iterator[pd.DataFrame]]]:
    """All tables by name, each as the parts that are its rows one behind the other."""
    found = TablesOfRuns(sheet, runs)
    for name in MAKERS:
        yield name, _parts(found, name)


def _parts(of: TablesOfRuns, name: str) -> Iterator[pd.DataFrame]:
    if name in WHOLE:
        yield of[name]
        return
    for part in of.parts(FEW if name == "segments" else PART):
        yield part[name]


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
    return pd.Categorical.from_codes(codes, pd.Index(names, dtype="str"))


def _serial_names(serials: list[str], numbers: Any) -> list[str]:
    """Names of the serials; those past the order book are stock (or of unlimited orders) and get a number."""
    most = int(numbers.max()) + 1 if len(numbers) else 0
    return [*serials, *(f"past the book {n + 1}" for n in range(most - len(serials)))]
