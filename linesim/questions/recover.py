"""To have one aircraft delivered by a date: the cheapest set of permitted changes that does it, and its chance.

Permitted is what may be begun today with people: help that the file declares, overtime on Saturdays, one more person of
a trade. Nothing is taken from cures, holds, inspections, limits of flight or the most people of a package. What a set
costs is read off the runs: wages up to the date, against those of today's plant on the same luck.

The set is chosen from one set of runs and its chance is that of runs on other luck: a chance read off the runs that
chose it would be too good.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations
from typing import Any

import numpy as np

from ..line.sheet import Sheet
from ..measures.estimates import chance, chance_words
from ..measures.run import RunNumbers
from ..scenario.changing import changed
from ..scenario.faults import ScenarioFaults
from ..scenario.scenario import Scenario
from .dates import UnknownSerial
from .ten_days import shortened

ENOUGH = 0.8      # share of the runs that are to deliver by the date
MORE_PEOPLE = 3   # trades of which one more is tried: those most waited for
OTHER_LUCK = 1    # added to the seed for the chance of the set that is chosen

Changes = Mapping[str, object]
Do = Callable[[Sequence[tuple[str, Scenario]], bool], list[list[RunNumbers]]]


class NoRecovery(ValueError):
    """A serial or date for which the question makes no sense; says why and what is allowed."""


@dataclass(frozen=True, slots=True)
class Change:
    """One permitted change: in words, and by paths of the scenario."""

    words: str
    changes: Changes


@dataclass(frozen=True, slots=True)
class Tried:
    """A set of changes: in how many runs the aircraft is delivered by the date, and what it costs more in wages (None:
    the file has no rates), in paid hours, both means of the runs."""

    words: tuple[str, ...]
    runs: int
    of: int
    cost: float | None
    hours: float

    @property
    def reaches(self) -> bool:
        """Whether 8 in 10 runs deliver by the date."""
        return self.runs >= ENOUGH * self.of

    @property
    def price(self) -> tuple[float, int]:
        """By which sets are ordered: cost, or paid hours where there are no rates; then fewer changes."""
        return (self.hours if self.cost is None else self.cost, len(self.words))


def check(scenario: Scenario, serial: str, by: date) -> None:
    """Raises UnknownSerial or NoRecovery."""
    known = [order.serial for order in scenario.orders or ()]
    if serial not in known:
        raise UnknownSerial(serial, known)
    if not scenario.start <= by <= scenario.end:
        raise NoRecovery(f"--by must be {scenario.start} to {scenario.end}, found {by}")


def permitted(scenario: Scenario, waits: Sequence[str]) -> list[Change]:
    """Changes that may be begun today; `waits`: trades in the order in which they are waited for."""
    found = []
    if not scenario.work_rules.cover_in_force and any(trade.cover for trade in scenario.trades.values()):
        found.append(Change("the declared help between trades", {"work_rules.cover_in_force": True}))
    rules = scenario.attendance.overtime if scenario.attendance else None
    if rules is not None and rules.when != "Saturday":
        found.append(Change("overtime on Saturdays instead of daily",
                            {"attendance.overtime.when": "Saturday"}))
    for trade in waits[:MORE_PEOPLE]:
        people = scenario.trades[trade].people
        shift = next((name for name, number in people.items() if number), next(iter(people), None))
        if shift is not None and not scenario.trades[trade].headcount_steps:
            named = f" on the {shift} shift" if len(people) > 1 else ""
            found.append(Change(f"one more {trade}{named}",
                                {f"trades.{trade}.people" + (f".{shift}" if shift else ""): "+1"}))
    return found


def recover(scenario: Scenario, serial: str, by: date, do: Do) -> dict[str, Any]:
    """Try the sets. `do` gives the runs of named scenarios (fewer where it was stopped), on the chosen seed or, with
    True, on other luck. Raises UnknownSerial and NoRecovery."""
    check(scenario, serial, by)
    until = shortened(scenario, by)
    ground = do([(f"{serial} by {by}: today's plant", until)], False)[0]
    row: dict[str, Any] = {"serial": serial, "by": str(by), "enough": ENOUGH}
    if not ground:
        return {**row, "stopped": True, "tried": [], "chosen": None}
    today = _tried((), scenario, serial, ground, ground)
    singles = permitted(scenario, waited_for(until, ground, serial))
    tried = [today]
    if not today.reaches:
        tried += _all(scenario, serial, by, [(one,) for one in singles], ground, do)
        tried += _all(scenario, serial, by, _pairs(singles, tried[1:]), ground, do)
    chosen = cheapest(tried)
    row |= {"stopped": any(one.of < len(ground) for one in tried), "tried": [as_row(one) for one in tried],
            "permitted": [one.words for one in singles], "chosen": None if chosen is None else as_row(chosen)}
    nearest = max(tried, key=lambda one: (one.runs / one.of, -one.price[0]))
    of_words = chosen or nearest
    changes = [one for one in singles if one.words in of_words.words]
    fresh = do([(_named(serial, by, changes), _until(scenario, by, changes))], True)[0]
    if fresh:
        kept = delivered_by(fresh, serial)
        share = chance(kept, len(fresh))
        row["on other luck"] = {"changes": list(of_words.words), "runs": kept, "of": len(fresh),
                                "low": round(share.low, 3), "high": round(share.high, 3)}
    return row


def _pairs(singles: Sequence[Change], tried: Sequence[Tried]) -> list[tuple[Change, ...]]:
    """All pairs, if none of its own reaches the date; else those that may be cheaper than the cheapest that does."""
    best, price = cheapest(tried), {one.words[0]: one.price[0] for one in tried}
    pairs = [pair for pair in combinations(singles, 2) if all(one.words in price for one in pair)]
    return [pair for pair in pairs if best is None or sum(price[one.words] for one in pair) < best.price[0]]


def cheapest(tried: Sequence[Tried]) -> Tried | None:
    """The cheapest set of those with which 8 in 10 runs deliver by the date; None: no set does."""
    return min((one for one in tried if one.reaches), key=lambda one: one.price, default=None)


def waited_for(scenario: Scenario, runs: Sequence[RunNumbers], serial: str) -> list[str]:
    """Trades that jobs waited for up to the date, most first, in the places that the aircraft still has before it; then
    those that work there with fewer people than a job might take: nothing waits for them, yet more would help."""
    sheet = Sheet(scenario)
    at = [entry.at for entry in scenario.on_the_line if entry.serial == serial]
    rank = min((place.rank for place in sheet.places if at and place.id in at[0]), default=0)
    places = [n for n, place in enumerate(sheet.places) if place.rank >= rank]
    hours = np.sum([run.waits[places].sum(axis=0) for run in runs], axis=0)[1:]
    order = sorted(range(len(hours)), key=lambda n: (-hours[n], n))
    waited = [list(scenario.trades)[n] for n in order if hours[n] > 0]
    jobs = [job for n in places for job in sheet.places[n].jobs if job.kind == "work"]
    thin = [job.trade for job in jobs if job.trade in scenario.trades and 0 < sum(
        scenario.trades[job.trade].people.values()) < job.crew_max]
    return list(dict.fromkeys([*waited, *thin]))


def delivered_by(runs: Sequence[RunNumbers], serial: str) -> int:
    """Runs, which end with the date, that deliver the aircraft."""
    return sum(serial in run.delivered for run in runs)


def as_row(one: Tried) -> dict[str, Any]:
    """A set as numbers."""
    return {"changes": list(one.words), "runs": one.runs, "of": one.of, "reaches": one.reaches,
            "cost": None if one.cost is None else round(one.cost), "paid hours": round(one.hours, 1)}


def _until(scenario: Scenario, by: date, changes: Sequence[Change]) -> Scenario:
    together: dict[str, object] = {}
    for one in changes:
        together |= one.changes
    return shortened(changed(scenario, together) if together else scenario, by)


def _named(serial: str, by: date, changes: Sequence[Change]) -> str:
    return f"{serial} by {by}: " + (" + ".join(one.words for one in changes) or "today's plant")


def _all(scenario: Scenario, serial: str, by: date, sets: Sequence[tuple[Change, ...]], ground: Sequence[RunNumbers],
         do: Do) -> list[Tried]:
    """Each set that the file allows, on the luck of today's plant."""
    able = []
    for changes in sets:
        try:
            able.append((changes, _until(scenario, by, changes)))
        except ScenarioFaults:
            continue  # the changes exclude each other
    done = do([(_named(serial, by, changes), one) for changes, one in able], False) if able else []
    return [_tried(tuple(change.words for change in changes), scenario, serial, ground, runs)
            for (changes, _), runs in zip(able, done, strict=True) if runs]


def _tried(words: tuple[str, ...], scenario: Scenario, serial: str, ground: Sequence[RunNumbers],
           runs: Sequence[RunNumbers]) -> Tried:
    rates = [trade.usd_per_hour for trade in scenario.trades.values()]
    pairs = list(zip(ground, runs, strict=False))
    more = np.mean([(b.wage_hours - a.wage_hours).sum(axis=1) for a, b in pairs], axis=0)
    known = [float(rate) for rate in rates if rate is not None]
    cost = float(more @ np.array(known)) + 0.0 if len(known) == len(rates) else None
    return Tried(words, delivered_by(runs, serial), len(runs), cost, float(more.sum()) + 0.0)


# in words ------------------------------------------------------------------------------------------------------------
def sentences(row: Mapping[str, Any], currency: str = "USD") -> list[str]:
    """What has the aircraft delivered by the date, what it costs, and with which chance on other luck."""
    if not row["tried"]:
        return []
    today, chosen = row["tried"][0], row["chosen"]
    head = f"Today's plant delivers {row['serial']} by {row['by']} in {_runs(today['runs'], today['of'])}"
    if today["reaches"]:
        return [f"{head}: nothing need be changed for it.{_fresh(row)}"]
    if chosen is None:
        best = max(row["tried"], key=lambda one: one["runs"] / one["of"])
        none = f"{head}. None of the {len(row['tried']) - 1} sets of permitted changes tried reaches 8 in 10"
        if not best["changes"]:
            return [f"{none} or does better than no change.{_fresh(row)}"]
        return [f"{none}; nearest comes {' and '.join(best['changes'])}, with {_runs(best['runs'], best['of'])}."
                f"{_fresh(row)}"]
    cost = f"{chosen['paid hours']:,.0f} paid hours" if chosen["cost"] is None else f"{chosen['cost']:,.0f} {currency}"
    return [f"{head}. The cheapest of {len(row['tried']) - 1} sets of permitted changes tried that reaches 8 in 10 is "
            f"{' and '.join(chosen['changes'])}, for {cost} of wages more by then.{_fresh(row)}"]


def _fresh(row: Mapping[str, Any]) -> str:
    found = row.get("on other luck")
    if found is None:
        return ""
    doubt = row["chosen"] is not None and found["runs"] < row["enough"] * found["of"]
    return f" On other luck: {_runs(found['runs'], found['of'])}" + (
        ", so that it is not sure to reach 8 in 10: more runs would tell." if doubt else ".")


def _runs(count: int, of: int) -> str:
    words = chance_words(count, of)
    return words if words.endswith(("runs", "run")) else f"{words} runs"
