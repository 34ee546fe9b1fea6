"""How many people of a trade: crews tried on common luck, the days that 8 in 10 aircraft keep within, and the smallest
crew that keeps a target, with a bound on the chance that the choice is wrong.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from ..line.cautions import cautions_of
from ..line.sheet import Sheet
from ..measures.estimates import chance, paired_difference, percentile
from ..measures.run import RunNumbers
from ..measures.window import window_of
from ..scenario.faults import did_you_mean
from .amounts import mean_of
from .baseline import Answer
from .choice import HIGH, LOW, Choice
from .compare import deliveries
from .crew_days import NOT_BY_THE_END, days_by_month, first_place_of, waiting
from .crew_plans import Crew, Range

IN_TEN = 0.8  # share of the aircraft, and of the runs
KINDS = {"days": "<=", "deliveries": ">=", "waiting": "<="}
UNITS = {"days": "work days", "deliveries": "aircraft in the window", "waiting": "jobs on average"}


@dataclass(frozen=True, slots=True)
class Target:
    """What a run is to keep: days of 8 in 10 aircraft or jobs waiting for the first trade at most, deliveries at
    least."""

    kind: str
    value: float

    @classmethod
    def of(cls, text: str) -> Target:
        """Of words such as "days <= 15", "deliveries >= 48", "waiting <= 2", or days alone. Raises ValueError."""
        found = re.fullmatch(r"\s*(?:([a-z]+)\s*(<=|>=)\s*)?(\d+(?:\.\d+)?)\s*", text.lower())
        if found is None:
            raise ValueError(f"{text!r} is no target; write \"days <= 15\", \"deliveries >= 48\" or \"waiting <= 2\"")
        kind, sign = found[1] or "days", found[2]
        if kind not in KINDS:
            raise ValueError(f"nothing is called {kind!r}{did_you_mean(kind, list(KINDS)) or '; there is '}"
                             f"{'' if did_you_mean(kind, list(KINDS)) else ', '.join(KINDS)}")
        if sign is not None and sign != KINDS[kind]:
            raise ValueError(f"{kind} is asked for with {KINDS[kind]}, found {sign}")
        return cls(kind, float(found[3]))

    def kept_by(self, run: CrewRun) -> bool:
        """Whether a run keeps it."""
        value = {"days": run.days_of_8_in_10, "deliveries": run.deliveries,
                 "waiting": next(iter(run.waiting.values()))[1]}[self.kind]
        return value >= self.value if KINDS[self.kind] == ">=" else value <= self.value

    @property
    def words(self) -> str:
        """As a sentence says it."""
        return f"{self.kind} {'at least' if KINDS[self.kind] == '>=' else 'at most'} {self.value:g} {UNITS[self.kind]}"


@dataclass(frozen=True, slots=True)
class CrewRun:
    """What is read off one run of a crew; `waiting` by trade: hours, and jobs on average."""

    run: int
    days: dict[str, list[float]]
    deliveries: float
    waiting: dict[str, tuple[float, float]]
    squawks: float
    flying_days: dict[str, int]

    @property
    def days_of_8_in_10(self) -> float:
        """Work days within which 8 in 10 aircraft of this run keep."""
        every = [day for of_month in self.days.values() for day in of_month]
        return percentile(every, IN_TEN) if every else NOT_BY_THE_END


def read_run(sheet: Sheet, run: RunNumbers, trades: Sequence[str], place: int) -> CrewRun:
    """Read a run; `place` is where the days begin."""
    return CrewRun(run.run, days_by_month(sheet, run, place), deliveries(sheet, run),
                   {trade: waiting(sheet, run, trade) for trade in trades}, run.open_squawks,
                   dict(run.flying_days))


def place_of(sheet: Sheet, ranges: Sequence[Range], named: str | None) -> int:
    """Where the days begin: the place named, else the first at which one of the trades works. Raises ValueError."""
    if named is None:
        return first_place_of(sheet, [one.trade for one in ranges])
    known = [place.id for place in sheet.places]
    if named not in known:
        raise ValueError(f"nothing is called {named!r}{did_you_mean(named, known) or '; there is ' + ', '.join(known)}")
    return known.index(named)


def answer_of(ground: Sheet, ranges: Sequence[Range], crews: Sequence[Crew], measured: Sequence[Sequence[CrewRun]],
              place: int, seed: int, target: Target | None, choice: Choice | None) -> Answer:
    """The answer from the crews that were run, cheapest first; `choice` of the search, where a target is given."""
    from .crew_words import sentences

    here = ground.places[place]
    rows = [_row(crew, ranges, runs, target) for crew, runs in zip(crews, measured, strict=True)]
    for n, verdict in enumerate(choice.verdicts if choice else ()):
        rows[n]["decided"] = {"keeps": verdict.keeps, "after runs": verdict.runs}
    numbers: dict[str, Any] = {
        "scenario": ground.scenario.name, "seed": seed, "runs": min(len(runs) for runs in measured),
        "window": [str(day) for day in window_of(ground.scenario)],
        "trades": [{"trade": one.trade, "shift": one.shift, "path": one.path, "people": list(one.people),
                    "name": ground.scenario.trades[one.trade].name} for one in ranges],
        "days from": {"place": here.id, "name": here.position.name},
        "target": None if target is None else {"kind": target.kind, "value": target.value, "words": target.words},
        "crews": rows, "choice": None if choice is None else _choice(rows, choice),
        "one more": _one_more(ranges, crews, measured), "assumed": _assumed(ground, ranges, target),
        "cautions": [str(caution) for caution in cautions_of(ground.scenario)]}
    return Answer(numbers, sentences(numbers))


def _row(crew: Crew, ranges: Sequence[Range], runs: Sequence[CrewRun], target: Target | None) -> dict[str, Any]:
    months = {month: [day for run in runs for day in run.days[month]] for month in runs[0].days}
    every = [day for of_month in months.values() for day in of_month]
    kept = None if target is None else sum(map(target.kept_by, runs))
    trades = runs[0].waiting
    row: dict[str, Any] = {
        "crew": crew.name(ranges), "changes": {one.path: n for one, n in zip(ranges, crew.people, strict=True)},
        "runs": len(runs), "cost order": round(crew.cost, 2), "aircraft": len(every),
        "days of 8 in 10 aircraft by month": {month: _days(days) for month, days in months.items()},
        "half": _percentile(every, 0.5), "8 in 10": _percentile(every, IN_TEN),
        "waiting": {trade: {"hours": mean_of([run.waiting[trade][0] for run in runs], 1),
                            "jobs on average": mean_of([run.waiting[trade][1] for run in runs], 2)}
                    for trade in trades},
        "open squawks": mean_of([run.squawks for run in runs], 2),
        "deliveries in the window": mean_of([run.deliveries for run in runs], 2),
        "flying days": {why: round(sum(run.flying_days.get(why, 0) for run in runs) / len(runs), 2)
                        for why in runs[0].flying_days}}
    if kept is not None:
        found = chance(kept, len(runs))
        row["keeps the target"] = {"runs": kept, "of": len(runs), "share from": round(found.low, 4),
                                   "to": round(found.high, 4)}
    return row


def _days(days: Sequence[float]) -> dict[str, Any]:
    return {"aircraft": len(days), "half": _percentile(days, 0.5), "8 in 10": _percentile(days, IN_TEN)}


def _percentile(days: Sequence[float], share: float) -> float | str | None:
    """Work days; "not by the end" where the runs end first, None without an aircraft."""
    if not days:
        return None
    found = percentile(days, share)
    return "not by the end" if found == NOT_BY_THE_END else round(found, 2)


def _choice(rows: Sequence[dict[str, Any]], choice: Choice) -> dict[str, Any]:
    """The crew that the test chose; where it could not, the one that the counts of the runs point to."""
    first = next((n for n, row in enumerate(rows)
                  if row["keeps the target"]["runs"] >= IN_TEN * row["keeps the target"]["of"]), None)
    chosen = choice.chosen if choice.settled else first
    return {"crew": None if chosen is None else rows[chosen]["crew"], "number": chosen, "settled": choice.settled,
            "wrong at most": choice.wrong if choice.settled else None, "indifferent between": [LOW, HIGH],
            "method": "Wald's sequential test of each crew, cheapest first, chances added up"}


def _one_more(ranges: Sequence[Range], crews: Sequence[Crew],
              measured: Sequence[Sequence[CrewRun]]) -> list[dict[str, Any]]:
    """What the next person of each range brings to the smallest crew, everything else as there: paired differences."""
    people = [crew.people for crew in crews]
    least = tuple(one.people[0] for one in ranges)
    found = []
    for n, one in enumerate(ranges):
        if len(one.people) < 2 or (more := (*least[:n], one.people[1], *least[n + 1:])) not in people:
            continue
        a, b = measured[people.index(more)], measured[people.index(least)]
        found.append({"trade": one.trade, "shift": one.shift, "from": least[n], "to": one.people[1],
                      "deliveries": _difference([(x.deliveries, y.deliveries) for x, y in zip(a, b, strict=False)]),
                      "days of 8 in 10": _difference([(x.days_of_8_in_10, y.days_of_8_in_10)
                                                      for x, y in zip(a, b, strict=False)])})
    return found


def _difference(pairs: Iterable[tuple[float, float]]) -> dict[str, Any] | None:
    """None where a run has no such number."""
    known = list(pairs)
    if not known or any(NOT_BY_THE_END in pair for pair in known):
        return None
    found = paired_difference([a for a, _ in known], [b for _, b in known])
    limits = {} if found.n == 1 else {"low": round(found.low, 3), "high": round(found.high, 3)}
    return {"mean": round(found.mean, 3), **limits, "more in": found.better_in,
            "less in": sum(a < b for a, b in known), "of": found.n}


def _assumed(ground: Sheet, ranges: Sequence[Range], target: Target | None) -> list[str]:
    said = ["Everything but the people tried is as the file says. Whoever is tried is there from the first day, fully "
            "able, and is absent, on leave and leaves like the others."]
    said += [f"{one.trade} has dated changes of its people in the file: they stay, and the numbers tried hold until "
             "then." for one in ranges if ground.scenario.trades[one.trade].headcount_steps]
    if target is not None and target.kind == "days":
        said.append("A run keeps the target if 8 in 10 of its aircraft that arrive inside the window keep the days; "
                    "one that is not delivered when the runs end does not.")
    return said
