"""What the next work days bring, over all runs: moves, flights, the order at the booth, acceptances, people by trade
and day, each with its chance. The answer of `linesim next`.

A date of a move is read as by: half the runs have made it by then. People free are the hours in which those present had
no work, as whole days of one person; jobs waiting are the hours that jobs waited for the trade, against the working
hours of its shifts: 1 is one job that waited all day.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date, timedelta
from typing import Any

import numpy as np

from ..line.cautions import cautions_of
from ..line.sheet import HOUR, Sheet
from ..measures.columns import Numbers
from ..measures.estimates import percentile
from ..scenario.calendar import shift_day
from ..scenario.scenario import Scenario
from .amounts import FEW, mean_of, reached
from .baseline import LEAST_RUNS, Answer
from .ten_days import DELIVERED, Days, Move, horizon, work_days

HALF_A_JOB, A_PERSON = 0.5, 1.0  # from here on a trade is called short, or spare


def answer(whole: Scenario, runs: Sequence[Days], days: int, seed: int) -> Answer:
    """The answer from at least one run of the `whole` scenario's first days. Raises TooShort."""
    from .ten_days_words import sentences

    sheet, listed = Sheet(horizon(whole, days)), work_days(whole, days)
    numbers: dict[str, Any] = {
        "scenario": sheet.scenario.name, "runs": len(runs), "seed": seed, "work days": [str(day) for day in listed],
        "acceptances looked for until": str(sheet.scenario.end),
        "standing": [{"serial": one.serial, "at": list(one.at)} for one in sheet.scenario.on_the_line],
        "moves": moves(sheet, runs), "by day": by_day(sheet, runs, listed[-1]),
        "in all": {name: reached([count(run) for run in runs], 1) for name, count in COUNTS.items()},
        "booth": [turns(sheet, runs, place) for place in booths(sheet)],
        "acceptances": acceptances(sheet, runs), "people": people(sheet, runs, listed),
        "cautions": [str(caution) for caution in cautions_of(whole)]}
    if len(runs) < LEAST_RUNS:
        numbers["note"] = FEW
    return Answer(numbers, sentences(numbers))


COUNTS: dict[str, Callable[[Days], float]] = {
    "moves": lambda run: float(sum(not move.launched and move.place != DELIVERED for move in run.moves)),
    "launches": lambda run: float(len({move.serial for move in run.moves if move.launched})),
    "flights": lambda run: float(len(run.flights)),
    "deliveries": lambda run: float(sum(move.place == DELIVERED for move in run.moves))}


# what moves and flies ------------------------------------------------------------------------------------------------
def moves(sheet: Sheet, runs: Sequence[Days]) -> list[dict[str, Any]]:
    """Each move that any run makes: in how many runs, and when; the surest and earliest first."""
    first: dict[tuple[str, str, str, bool], dict[int, Move]] = defaultdict(dict)
    for run in runs:
        for move in run.moves:
            first[move.serial, move.half, move.place, move.parked].setdefault(run.run, move)
    rows = []
    for (serial, half, place, parked), found in first.items():
        launched = sum(move.launched for move in found.values())
        rows.append({"serial": serial, "half": half, "to": place, "parked before it": parked,
                     "launch": bool(launched), "runs": len(found), "of": len(runs),
                     **when(sheet, [move.at for move in found.values()], len(runs))})
    return sorted(rows, key=lambda row: (row["half by"] or "9999", -row["runs"], row["serial"]))


def when(sheet: Sheet, instants: Iterable[float], number: int) -> dict[str, str | None]:
    """Dates by which half and 8 in 10 of all runs have done it; None: not within the days, or too few runs."""
    days = [float(sheet.calendar.day_number(at)) for at in instants]
    days += [math.inf] * (number - len(days))
    found: dict[str, str | None] = {}
    for name, share in (("half by", 0.5), ("8 in 10 by", 0.8)):
        at = percentile(days, share)
        enough = share == 0.5 or number >= LEAST_RUNS
        found[name] = str(sheet.scenario.start + timedelta(days=int(at))) if enough and math.isfinite(at) else None
    return found


def by_day(sheet: Sheet, runs: Sequence[Days], last: date) -> list[dict[str, Any]]:
    """Mean number of moves, flights, launches and deliveries of each date on which any run has one, or that is
    worked; chance of a flight, and of an hour that can be flown."""
    start, calendar = sheet.scenario.start, sheet.calendar
    dates = (last - start).days + 1
    counted = {name: np.zeros((len(runs), dates)) for name in COUNTS}
    for n, run in enumerate(runs):
        for move in run.moves:
            name = "deliveries" if move.place == DELIVERED else "launches" if move.launched else "moves"
            counts_as = 0.5 if name == "launches" and move.half else 1.0
            counted[name][n, calendar.day_number(move.at)] += counts_as
        for _, _, at in run.flights:
            counted["flights"][n, calendar.day_number(at)] += 1
    reference, rows = calendar.shifts[calendar.reference_shift], []
    for day in range(dates):
        means = {name: round(float(of[:, day].mean()), 3) for name, of in counted.items()}
        if any(means.values()) or calendar.is_work_day(start + timedelta(days=day), reference):
            rows.append({"day": str(start + timedelta(days=day)), **means,
                         "runs with a flight": int((counted["flights"][:, day] > 0).sum()),
                         "runs in which it can be flown": sum(run.flyable[day] for run in runs), "of": len(runs)})
    return rows


# the booth and the customers -----------------------------------------------------------------------------------------
def booths(sheet: Sheet) -> list[str]:
    """Places that paint: those that may paint again or lay stripes."""
    return [place.id for place in sheet.places if place.repaint is not None
            or any(package.stripe for package in place.position.packages)]


def turns(sheet: Sheet, runs: Sequence[Days], place: str) -> dict[str, Any]:
    """Who comes into the booth in which order: for each turn the serial that has it in most runs, and its chance."""
    orders = [[move for move in run.moves if move.place == place and not move.parked] for run in runs]
    rows = []
    for turn in range(max(map(len, orders), default=0)):
        have = [order[turn] for order in orders if len(order) > turn]
        serial, count = Counter(move.serial for move in have).most_common(1)[0]
        rows.append({"turn": turn + 1, "serial": serial, "runs": count, "runs that come to this turn": len(have),
                     "of": len(runs), **when(sheet, [move.at for move in have if move.serial == serial], len(runs))})
    return {"place": place, "in it now": [entry.serial for entry in sheet.scenario.on_the_line if place in entry.at],
            "turns": rows}


def acceptances(sheet: Sheet, runs: Sequence[Days]) -> list[dict[str, Any]]:
    """Acceptances that begin in any run until the end of the horizon, with the date that is booked."""
    first: dict[str, dict[int, float]] = defaultdict(dict)
    for run in runs:
        for serial, at in run.acceptances:
            first[serial].setdefault(run.run, at)
    booked = {entry.serial: entry.acceptance_booked for entry in sheet.scenario.on_the_line}
    rows = []
    for serial, found in first.items():
        own = booked.get(serial)
        row = {"serial": serial, "booked": str(own) if own else None, "runs": len(found), "of": len(runs),
               **when(sheet, found.values(), len(runs))}
        if own:
            row["runs that keep it"] = sum(sheet.calendar.date_of(at) <= own for at in found.values())
        rows.append(row)
    return sorted(rows, key=lambda row: (str(row["half by"] or "9999"), -int(str(row["runs"])), str(row["serial"])))


# people --------------------------------------------------------------------------------------------------------------
def people(sheet: Sheet, runs: Sequence[Days], listed: Sequence[date]) -> list[dict[str, Any]]:
    """Each trade that is on a roster, day by day: people there, people free, jobs waiting, and in how many runs half a
    job or more waits, or a person or more is free."""
    rows = []
    for n, (trade, declared) in enumerate(sheet.scenario.trades.items()):
        shifts = [shift for shift in sheet.rostered(trade) if sheet.is_ever_manned(trade, shift)]
        if not shifts:
            continue
        each = [shift_day(sheet.calendar.shifts[shift], sheet.scenario.tool_control).work / HOUR for shift in shifts]
        days = []
        for day in listed:
            at = (day - sheet.scenario.start).days
            there, worked, waiting = (np.array([getattr(run, name)[n, at] for run in runs])
                                      for name in ("there", "worked", "waiting"))
            days.append(_of_day(str(day), there / each[0], np.maximum(there - worked, 0.0) / each[0],
                                waiting / sum(each)))
        rows.append({"trade": trade, "name": declared.name, "days": days})
    return rows


def _of_day(day: str, there: Numbers, free: Numbers, waiting: Numbers) -> dict[str, Any]:
    return {"day": day, "people there": round(float(there.mean()), 2), "people free": round(float(free.mean()), 2),
            "jobs waiting": round(float(waiting.mean()), 2),
            "runs short": int((waiting >= HALF_A_JOB).sum()), "runs spare": int((free >= A_PERSON - 1e-9).sum()),
            "free": mean_of(free.tolist(), 2), "waiting": mean_of(waiting.tolist(), 2), "of": len(there)}


def shortest(rows: Sequence[Mapping[str, Any]]) -> tuple[Mapping[str, Any], Mapping[str, Any]] | None:
    """The trade and day with most jobs waiting; None where none waits."""
    cells = [(row, day) for row in rows for day in row["days"] if day["jobs waiting"] > 0]
    return max(cells, key=lambda one: one[1]["jobs waiting"]) if cells else None


def most_free(rows: Sequence[Mapping[str, Any]]) -> Mapping[str, Any] | None:
    """The trade of which most people are free over the days, as a share of those there."""
    def share(row: Mapping[str, Any]) -> float:
        there = sum(day["people there"] for day in row["days"])
        return float(sum(day["people free"] for day in row["days"])) / there if there else 0.0

    found = max(rows, key=share, default=None)
    return found if found is not None and share(found) > 0 else None
