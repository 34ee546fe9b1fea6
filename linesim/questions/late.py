"""Why late: the largest losses on the chain that sets the dates, and what a permitted change to each gives.

The change is run on common luck and held against the scenario run by run: deliveries, flow, the loss itself and all
losses together, for a loss is often only moved to the next place.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ..line.cautions import cautions_of
from ..line.records import REASON_WORDS, State
from ..line.sheet import Sheet
from ..measures.estimates import Difference, at_least, paired_difference
from ..measures.run import RunNumbers
from ..measures.window import window_of
from ..scenario.changing import changed
from ..scenario.faults import ScenarioFaults
from ..scenario.scenario import Scenario
from .baseline import Answer
from .compare import deliveries
from .dates import UnknownSerial, delivery_days
from .levers import FOR_PEOPLE, Lever, Plant, lever
from .losses import LEAST, Key, Loss, all_of_run, content, of_run, of_serial, ranked
from .why_late import what_set_the_dates

LARGEST = 3  # losses that are named, and then further ones until so many have a lever
Values = list[float | None]  # one of each run; None where it has no such number
ASSUMED = ("A change holds from the first day; whoever is added is fully able, and is absent, on leave and leaves like "
           "the others. No price is set on it.",
           "Which people are added is chosen by the hours that jobs waited for them in that place. Where a place has "
           "no room, the change is to the fullest place from there on, as far as aircraft stand blocked.")
KINDS = {State.WORK: "hands-on work", State.FLIGHT: "flights", State.HOLD: "holds and cures",
         State.APPOINTMENT: "appointments"}


@dataclass(frozen=True, slots=True)
class Named:
    """A loss with what may be changed about it; `scenario` is the changed one, `fault` why it cannot be run."""

    loss: Loss
    lever: Lever
    scenario: Scenario | None
    fault: str = ""


def largest(plant: Plant, losses: Sequence[Loss]) -> list[Named]:
    """The LARGEST losses, and the next ones until so many have a lever."""
    found: list[Named] = []
    for loss in losses:
        if len(found) >= LARGEST and sum(one.scenario is not None for one in found) >= LARGEST:
            break
        found.append(_named(plant, loss))
    while len(found) > LARGEST and found[-1].scenario is None:
        found.pop()
    return found


def _named(plant: Plant, loss: Loss) -> Named:
    found = lever(plant, loss.key)
    if not found.there:
        return Named(loss, found, None)
    try:
        return Named(loss, found, changed(plant.scenario, found.changes))
    except ScenarioFaults as faults:  # leave for one person more may find no room, say
        return Named(loss, found, None, str(faults.faults[0]))


# all aircraft --------------------------------------------------------------------------------------------------------
def losses_in_short(sheet: Sheet, runs: Sequence[RunNumbers]) -> dict[str, Any] | None:
    """What a run's own answer says: the largest losses with what may be changed, not run; None if nothing is
    delivered."""
    losses = ranked(sheet, runs)
    if not losses:
        return None
    return {**_chain(sheet, runs), "largest": [_row(sheet, one) for one in largest(Plant(sheet, runs), losses)]}


def late(sheet: Sheet, runs: Sequence[RunNumbers], seed: int, named: Sequence[Named] | None = None,
         tried: Mapping[Key, Tried] | None = None) -> Answer:
    """The answer from at least one run, with what was `tried` (nothing: the changes are named and not run)."""
    from .late_words import sentences

    named = largest(Plant(sheet, runs), ranked(sheet, runs)) if named is None else named
    rows = [_row(sheet, one, (tried or {}).get(one.loss.key)) for one in named]
    numbers: dict[str, Any] = {**_head(sheet, runs, seed), "serial": None, **_chain(sheet, runs), "largest": rows,
                               "what set the dates": what_set_the_dates(sheet, runs)}
    return Answer(numbers, sentences(numbers))


def _head(sheet: Sheet, runs: Sequence[RunNumbers], seed: int) -> dict[str, Any]:
    return {"scenario": sheet.scenario.name, "seed": seed, "runs": len(runs),
            "window": [str(day) for day in window_of(sheet.scenario)], "assumed": list(ASSUMED),
            "cautions": [str(caution) for caution in cautions_of(sheet.scenario)]}


def _chain(sheet: Sheet, runs: Sequence[RunNumbers]) -> dict[str, Any]:
    """Work days per delivered aircraft: all, lost, and what is no loss by kind."""
    aircraft = sum(run.counted for run in runs)
    total = sum(float(run.chain[0].sum()) for run in runs) / max(aircraft, 1)
    kinds = content(sheet, runs)
    return {"aircraft": aircraft, "work days on the chain": round(total, 3),
            "work days lost": round(total - sum(kinds.values()), 3),
            "no loss": {KINDS[state]: round(days, 3) for state, days in kinds.items() if days > 0}}


def _row(sheet: Sheet, one: Named, tried: Tried | None = None) -> dict[str, Any]:
    place, trade = sheet.places[one.loss.place], None
    if one.loss.state in FOR_PEOPLE and one.lever.there:
        trade = next(iter(one.lever.changes)).split(".")[1]
    return {"place": place.id, "name": place.position.name, "reason": REASON_WORDS[one.loss.state],
            "mostly for": None if trade is None else {"trade": trade, "name": sheet.scenario.trades[trade].name},
            "work days": round(one.loss.days, 3), "change": one.lever.words, "changes": dict(one.lever.changes),
            "lever": one.lever.there, "cannot be run": one.fault or None,
            "gives": None if tried is None else tried.gives(one.loss.key)}


class Tried:
    """Runs of the scenario and of a change of it, held against each other run by run."""

    def __init__(self, sheet: Sheet, ground: Sequence[RunNumbers], other: Sheet, runs: Sequence[RunNumbers]) -> None:
        mine = {run.run: run for run in ground}
        self.sheet, self.other = sheet, other
        self.pairs = [(mine[run.run], run) for run in runs if run.run in mine]

    def gives(self, key: Key) -> dict[str, Any]:
        """Differences of the change: aircraft in the window, calendar days of flow, work days of this loss, of all."""
        return {"deliveries": self.difference(deliveries),
                "flow, calendar days": self.difference(_flow),
                "work days of this loss": self.difference(lambda sheet, run: of_run(sheet, run, key)),
                "work days lost": self.difference(all_of_run)}

    def difference(self, of: Callable[[Sheet, RunNumbers], float | None]) -> dict[str, Any] | None:
        """Of a number of each run, the changed scenario less the scenario, with its paired 95 % interval."""
        return difference([of(self.sheet, ground) for ground, _ in self.pairs],
                          [of(self.other, run) for _, run in self.pairs])


def difference(before: Values, after: Values) -> dict[str, Any] | None:
    """Paired difference over the runs that have both; None without any."""
    known = [(a, b) for a, b in zip(after, before, strict=True) if a is not None and b is not None]
    if not known:
        return None
    found: Difference = paired_difference([a for a, _ in known], [b for _, b in known])
    limits = {} if math.isnan(found.low) else {"low": round(found.low, 3), "high": round(found.high, 3)}
    return {"mean": round(found.mean, 3), **limits, "of": found.n}


def _flow(_: Sheet, run: RunNumbers) -> float | None:
    return sum(run.flow_hours.values()) / len(run.flow_hours) / 24 if run.flow_hours else None


# one aircraft --------------------------------------------------------------------------------------------------------
class Serial:
    """What one aircraft of the order book loses in each run. Raises UnknownSerial."""

    def __init__(self, sheet: Sheet, runs: Sequence[RunNumbers], serial: str) -> None:
        known = [order.serial for order in sheet.scenario.orders or ()]
        if serial not in known:
            raise UnknownSerial(serial, known)
        self.sheet, self.name, self.number = sheet, serial, known.index(serial)
        self.runs = runs
        self.lost = [of_serial(sheet, run, self.number) for run in runs]

    def ranked(self) -> list[Loss]:
        """Its losses, largest first: mean of the runs."""
        keys = dict.fromkeys(key for of in self.lost for key in of)
        found = [Loss(*key, sum(self._of(key)) / len(self.runs)) for key in keys]
        return sorted((loss for loss in found if loss.days >= LEAST), key=lambda loss: -loss.days)

    def _of(self, key: Key) -> list[float]:
        return [of.get(key, 0.0) for of in self.lost]

    def row(self, key: Key) -> dict[str, Any]:
        """How one of its losses differs between the runs: half of them lose so much or more, 2 in 10 so much."""
        days, most = self._of(key), Counter(max(of, key=lambda one: of[one]) for of in self.lost if of)
        return {"half the runs": round(at_least(days, 0.5), 3), "2 in 10 runs": round(at_least(days, 0.2), 3),
                "largest in": most[key]}

    def gives(self, changed_: Serial, key: Key) -> dict[str, Any]:
        """What a change gives it, over the runs that both have: calendar days of its date (of the runs that deliver it
        both ways), work days of this loss and of all it loses."""
        mine = {run.run: n for n, run in enumerate(self.runs)}
        pairs = [(mine[run.run], n) for n, run in enumerate(changed_.runs) if run.run in mine]
        dates = [[day if math.isfinite(day) else None for day in delivery_days(self.name, one.runs)]
                 for one in (self, changed_)]
        return {"delivery, calendar days": difference([dates[0][a] for a, _ in pairs], [dates[1][b] for _, b in pairs]),
                "work days of this loss": difference(_days(self.lost, key, (a for a, _ in pairs)),
                                                     _days(changed_.lost, key, (b for _, b in pairs))),
                "work days lost": difference(_days(self.lost, None, (a for a, _ in pairs)),
                                             _days(changed_.lost, None, (b for _, b in pairs)))}


def _days(lost: Sequence[Mapping[Key, float]], key: Key | None, runs: Iterable[int]) -> Values:
    return [sum(lost[n].values()) if key is None else lost[n].get(key, 0.0) for n in runs]


def late_serial(one: Serial, seed: int, named: Sequence[Named] | None = None,
                tried: Mapping[Key, Serial] | None = None) -> Answer:
    """The answer on one aircraft."""
    from .late_words import sentences

    sheet, runs = one.sheet, one.runs
    named = largest(Plant(sheet, runs), one.ranked()) if named is None else named
    rows = []
    for entry in named:
        key = entry.loss.key
        other = (tried or {}).get(key)
        rows.append({**_row(sheet, entry), **one.row(key), "gives": None if other is None else one.gives(other, key)})
    lost = [sum(of.values()) for of in one.lost]
    numbers: dict[str, Any] = {
        **_head(sheet, runs, seed), "serial": one.name,
        "delivered in": sum(one.name in run.delivered for run in runs),
        "work days lost": round(sum(lost) / len(lost), 3), "half the runs lose": round(at_least(lost, 0.5), 3),
        "largest": rows}
    return Answer(numbers, sentences(numbers))
