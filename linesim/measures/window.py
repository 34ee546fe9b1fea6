"""The measuring window: its days, months and quarters, and what a count in it means.

Rates and loads are read over a window in which the start-up is over and the orders do not run out. A quarter that is
not wholly inside is refused by name; the local date of a delivery decides where it counts.
"""

from __future__ import annotations

from datetime import date, timedelta

from ..scenario.calendar import months_on
from ..scenario.scenario import Scenario

BACKLOG_MONTHS = 6


def window_of(scenario: Scenario) -> tuple[date, date]:
    """The measuring window: declared, or the whole run."""
    window = scenario.window
    return (window.first, window.last) if window else (scenario.start, scenario.end)


def up_to_the_window(scenario: Scenario) -> Scenario:
    """The scenario ended with its window: nothing later changes what happens in it, and a run takes as much less time.
    For questions that look at the window only."""
    _, last = window_of(scenario)
    return scenario.model_copy(update={"end": min(last, scenario.end), "run_on_months": 0})


def months_between(first: date, last: date) -> list[date]:
    """First days of the months from one date to another."""
    return [date(n // 12, n % 12 + 1, 1)
            for n in range(first.year * 12 + first.month - 1, last.year * 12 + last.month)]


def periods_of(scenario: Scenario) -> list[tuple[date, bool]]:
    """First days of the stretches of a run cut at months and at the window's edges, and whether each lies in it."""
    first, last = window_of(scenario)
    edges = {scenario.start, first, last + timedelta(days=1), *months_between(scenario.start, scenario.end)}
    return [(day, first <= day <= last) for day in sorted(edges) if scenario.start <= day <= scenario.end]


def quarters_of(window: tuple[date, date]) -> dict[str, bool]:
    """Quarters touched by the window, and whether each lies wholly inside it."""
    first, last = window
    quarters: dict[str, bool] = {}
    day = date(first.year, 3 * ((first.month - 1) // 3) + 1, 1)
    while day <= last:
        after = months_on(day, 3)
        quarters[f"{day.year} Q{(day.month + 2) // 3}"] = first <= day and after - timedelta(days=1) <= last
        day = after
    return quarters


def quarter_of(day: str) -> str:
    """Quarter of a local date YYYY-MM-DD..."""
    return f"{day[:4]} Q{(int(day[5:7]) + 2) // 3}"


def deliveries_by_quarter(delivered: list[str], window: tuple[date, date]) -> dict[str, int | None]:
    """Deliveries in each quarter of the window by local date; None where the quarter is not wholly inside it."""
    counts: dict[str, int | None] = {name: 0 if whole else None for name, whole in quarters_of(window).items()}
    for moment in delivered:
        count = counts.get(quarter_of(moment))
        if count is not None:
            counts[quarter_of(moment)] = count + 1
    return counts


def backlog_months(window: tuple[date, date]) -> tuple[date, date]:
    """The last six months of the window: first and last day (all of it, if it is shorter)."""
    first = months_on(window[1] + timedelta(days=1), -BACKLOG_MONTHS)
    return max(first, window[0]), window[1]
