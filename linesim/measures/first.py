"""The first numbers of a run: deliveries and their dates, flow, achieved takt, where the time goes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from ..line.records import REASON_WORDS, Records
from ..line.sheet import Sheet
from ..scenario.scenario import Scenario
from .ledger import Ledger


@dataclass(frozen=True, slots=True)
class RunNumbers:
    """One run. Dates are local; hours by reason are summed over the aircraft delivered in the window."""

    run: int
    delivered: dict[str, str]      # serial -> wall time of delivery
    flow_hours: dict[str, float]   # serial -> launch to delivery, aircraft launched in the run only
    reasons: dict[str, float]
    counted: int                   # aircraft whose hours are in `reasons`
    flights: int
    squawks: int
    stock: int
    stuck: tuple[str, ...]


def window_of(scenario: Scenario) -> tuple[date, date]:
    """The measuring window: declared, or the whole run."""
    window = scenario.window
    return (window.first, window.last) if window else (scenario.start, scenario.end)


def quarters_of(window: tuple[date, date], start: date) -> dict[str, bool]:
    """Quarters touched by the window, and whether each lies wholly inside it.

    A window may begin before the start where nothing is worked in between; then the start does not cut it.
    """
    first, last = window
    quarters: dict[str, bool] = {}
    day = date(first.year, 3 * ((first.month - 1) // 3) + 1, 1)
    while day <= last:
        after = date(day.year + (day.month == 10), (day.month + 2) % 12 + 1, 1)
        quarters[f"{day.year} Q{(day.month + 2) // 3}"] = first <= day and after - timedelta(days=1) <= last
        day = after
    del start
    return quarters


def quarter_of(day: str) -> str:
    """Quarter of a local date YYYY-MM-DD..."""
    return f"{day[:4]} Q{(int(day[5:7]) + 2) // 3}"


def deliveries_by_quarter(delivered: list[str], window: tuple[date, date]) -> dict[str, int | None]:
    """Deliveries in each quarter of the window by local date; None where the quarter is not wholly inside it."""
    counts: dict[str, int | None] = {
        name: 0 if whole else None for name, whole in quarters_of(window, window[0]).items()}
    for moment in delivered:
        count = counts.get(quarter_of(moment))
        if count is not None:
            counts[quarter_of(moment)] = count + 1
    return counts


def numbers_of(sheet: Sheet, records: Records) -> RunNumbers:
    """The numbers of one run."""
    calendar, ledger = sheet.calendar, Ledger(sheet, records)
    first, last = window_of(sheet.scenario)
    begin, end = calendar.instant(first), calendar.instant(last + timedelta(days=1))
    counted = [n for n, t in records.delivered.items() if begin <= t < end and n not in records.standing]
    hours = ledger.by_aircraft(counted).sum(axis=0)
    reasons = {words: float(hours[state]) for state, words in REASON_WORDS.items() if hours[state]}
    names = records.serials
    flow = {names[n]: (t - ledger.span(n)[0]) / 60 for n, t in records.delivered.items() if n not in records.standing}
    return RunNumbers(records.replication, {names[n]: calendar.wall_text(t) for n, t in records.delivered.items()},
                      flow, reasons, len(counted), len(records.flights), sum(f.squawks for f in records.flights),
                      len(records.stock_ready), tuple(sorted({stuck.why for stuck in records.stuck})))
