"""What the plant as declared delivers, by when, and what stops it: the answer of `linesim run`."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np

from ..line.cautions import cautions_of
from ..line.records import REASON_WORDS, State
from ..line.sheet import Sheet
from ..measures.estimates import at_least, chance_words, mean_interval, percentile
from ..measures.labour import ACCOUNT
from ..measures.present import DRAWS, people_present
from ..measures.run import RunNumbers, area_of, deliveries_by_month, promise_in, window_instants
from ..measures.window import deliveries_by_quarter, periods_of, quarter_of, quarters_of, window_of
from ..scenario.calendar import months_on
from ..scenario.scenario import Scenario
from .lost_by_serial import losses
from .shares import percent
from .why_late import what_set_the_dates

LEAST_RUNS = 29  # a two-sided 95 % rank interval for the 10th or 90th percentile needs so many
MAY_GROW = 2    # aircraft by which the backlog of a run that keeps the plan may grow
HOLDS_IN = 0.8  # share of the runs that must keep the plan if a rate is to hold
WAITING = (State.PEOPLE, State.INSPECTOR, State.PILOT, State.WEATHER, State.PARTS, State.CUSTOMER)
FOR_PEOPLE = (State.PEOPLE, State.INSPECTOR, State.PILOT)
ELSE = (State.WEATHER, State.PARTS, State.CUSTOMER, State.OTHER_HALF, State.LOCKED)  # waited for, besides people
FOR_ELSE = "waiting for weather, parts, customer, other half"
FOR_OTHER = {
    REASON_WORDS[State.WEATHER]: "weather or daylight", REASON_WORDS[State.PARTS]: "parts",
    REASON_WORDS[State.CUSTOMER]: "an appointment or the customer's date", REASON_WORDS[State.LOCKED]: "a missing tool",
    REASON_WORDS[State.OTHER_HALF]: "its other half"}
LOSSES = ("waiting for people", FOR_ELSE, "blocked")
HELD_UP = (State.LINE_STOP, State.PULSE, State.BLOCKED)  # closed, and kept in the dock by others


@dataclass(frozen=True, slots=True)
class Answer:
    """The numbers as plain values (what `--json` prints) and the sentences that explain them."""

    numbers: dict[str, Any]
    sentences: list[str]


def baseline(sheet: Sheet, runs: Sequence[RunNumbers], seed: int) -> Answer:
    """The answer from at least one run."""
    from .late import losses_in_short  # these need what stands here
    from .money import money_of

    scenario, window = sheet.scenario, window_of(sheet.scenario)
    in_window, standing = _in_window(runs, window), [run.in_process for run in runs]
    numbers = {
        "scenario": scenario.name, "runs": len(runs), "seed": seed, "window": [str(window[0]), str(window[1])],
        **deliveries_of(sheet, runs),
        "deliveries by month": _months(scenario, runs, window),
        "work days between deliveries": _takt(sheet, in_window),
        "keeps the plan": _keeps(runs),
        "flow, calendar days": _interval([sum(flow.values()) / len(flow) / 24
                                          for run in runs if (flow := run.flow_hours)], 2),
        "aircraft in process": {area: _interval([of_run[area] for of_run in standing], 2) for area in standing[0]},
        "hours per delivered aircraft by reason": _reasons(runs),
        "what set the dates": what_set_the_dates(sheet, runs),
        "largest losses": losses_in_short(sheet, runs),
        **_pulse(sheet, runs),
        "days on the flight line": _means([run.flying_days for run in runs]),
        "defects, whole run": _means([run.defects for run in runs]),
        "places": _places(sheet, runs), "trades": _trades(sheet, runs),
        **_people_there(sheet, seed, len(runs)),
        "serials": _serials(sheet, runs),
        "money": money_of(sheet, runs),
        "never moving on": sorted({why for run in runs for why in run.stuck}),
        "cautions": [str(caution) for caution in cautions_of(scenario)]}
    return Answer(numbers, [_how_many(numbers, scenario), *_what_stops(numbers, sheet)])


def verdict(sheet: Sheet, runs: Sequence[RunNumbers]) -> Answer:
    """Of the answer only what a rate is judged by: deliveries, whether the plan is kept, what stops it."""
    numbers = {**deliveries_of(sheet, runs), "keeps the plan": _keeps(runs), **_pulse(sheet, runs),
               "places": _places(sheet, runs)}
    return Answer(numbers, _what_stops(numbers, sheet))


def deliveries_of(sheet: Sheet, runs: Sequence[RunNumbers]) -> dict[str, Any]:
    """How many aircraft the runs deliver in the window and in each quarter."""
    window = window_of(sheet.scenario)
    return {"deliveries in the window": _reach(_in_window(runs, window)),
            "quarters": _quarters(sheet.scenario, runs, window)}


def _in_window(runs: Sequence[RunNumbers], window: tuple[date, date]) -> list[int]:
    return [sum(str(window[0]) <= moment[:10] <= str(window[1]) for moment in run.delivered.values()) for run in runs]


def _interval(values: Sequence[float], digits: int, *, least: float = 0.0,
              most: float = math.inf) -> dict[str, float] | None:
    """Mean of the runs with its 95 % t interval, which ends where the values can only end; without one for a single
    run."""
    if not values:
        return None
    found = mean_interval(values)
    mean = {"mean": round(found.point, digits)}
    return mean if found.n == 1 else {**mean, "low": round(max(least, found.low), digits),
                                      "high": round(min(most, found.high), digits)}


def _reach(counts: list[int]) -> dict[str, Any]:
    """What share of the runs reach at least; refused where the runs are too few."""
    if len(counts) < LEAST_RUNS:
        return {"each run": counts, "note": f"too few runs for an 8-in-10 range; {LEAST_RUNS} are needed"}
    return {f"{n} in 10 reach": int(at_least(counts, n / 10)) for n in (9, 8, 5, 1)}


def _quarters(scenario: Scenario, runs: Sequence[RunNumbers], window: tuple[date, date]) -> dict[str, Any]:
    each = [deliveries_by_quarter(list(run.delivered.values()), window) for run in runs]
    table: dict[str, Any] = {}
    for name, whole in quarters_of(window).items():
        if not whole:
            table[name] = f"not counted: the window ({window[0]} to {window[1]}) holds only a part of this quarter"
            continue
        counts = [count for run in each if (count := run[name]) is not None]
        plan = sum(quarter_of(str(order.promised)) == name for order in scenario.orders or () if order.promised)
        table[name] = {"plan": plan, **_reach(counts), "runs that keep the plan": sum(n >= plan for n in counts)}
    return table


def _months(scenario: Scenario, runs: Sequence[RunNumbers], window: tuple[date, date]) -> dict[str, Any]:
    months = sorted({str(first)[:7] for first, inside in periods_of(scenario) if inside} | {str(window[0])[:7]})
    each = [deliveries_by_month({s: m for s, m in run.delivered.items()
                                 if str(window[0]) <= m[:10] <= str(window[1])}, months) for run in runs]
    promised = [str(order.promised)[:7] for order in scenario.orders or () if order.promised]
    return {month: {"plan": promised.count(month), **(_interval([run[month] for run in each], 2) or {})}
            for month in months}


def _takt(sheet: Sheet, in_window: list[int]) -> dict[str, float] | None:
    begin, end = window_instants(sheet)
    calendar = sheet.calendar
    work_days = (calendar.reference.reading(end) - calendar.reference.reading(begin)) / calendar.work_day
    return _interval([work_days / n for n in in_window], 2) if all(in_window) and in_window else None


def _keeps(runs: Sequence[RunNumbers]) -> dict[str, Any] | None:
    growth = [run.backlog_growth for run in runs if run.backlog_growth is not None]
    if not growth:
        return None
    kept = sum(n <= MAY_GROW for n in growth)
    return {"runs": kept, "of": len(growth), "holds": kept >= HOLDS_IN * len(growth),
            "backlog growth in the last six months": _interval(
                [float(n) for n in growth], 2, least=-math.inf)}


def _reasons(runs: Sequence[RunNumbers]) -> dict[str, float]:
    counted = sum(run.counted for run in runs)
    totals: dict[str, float] = {}
    for run in runs:
        for reason, hours in run.reasons.items():
            totals[reason] = totals.get(reason, 0.0) + hours
    return {reason: round(hours / counted, 2) for reason, hours in sorted(totals.items(), key=lambda item: -item[1])}


def _means(rows: Sequence[Mapping[str, float]]) -> dict[str, float]:
    """Mean of the runs of each number, in the order in which they stand."""
    names = list(dict.fromkeys(name for row in rows for name in row))
    return {name: round(sum(row.get(name, 0.0) for row in rows) / len(rows), 2) for name in names}


def _pulse(sheet: Sheet, runs: Sequence[RunNumbers]) -> dict[str, Any]:
    """Line stops and travelled work, mean of the runs; nothing in free flow."""
    rules = sheet.scenario.pulse
    if rules is None or not rules.in_force:
        return {}
    travelled = [run.travelled for run in runs]
    origins = sorted({place for of_run in travelled for place in of_run})
    causes = sum((run.stop_causes for run in runs), np.zeros_like(runs[0].stop_causes)) / len(runs)
    by_cause = sorted(((float(causes[n, state]), place.id, REASON_WORDS[state]) for n, place in enumerate(sheet.places)
                       for state in State if causes[n, state] > 0), reverse=True)
    n = len(runs)
    return {"pulse line": {
        "line stops in the window": _interval([float(run.line_stops) for run in runs], 2),
        "working hours it stood": _interval([run.stop_hours for run in runs], 2),
        "working hours it stood, by who held it": [
            {"place": place, "reason": reason, "hours": round(hours, 2)} for hours, place, reason in by_cause],
        "cost of travel, USD a run": round(sum(one.cost for of_run in travelled for one in of_run.values()) / n, 0),
        "travelled, by where the work was planned": {place: {
            "packages": round(sum(of_run[place].packages for of_run in travelled if place in of_run) / n, 2),
            "hours": round(sum(of_run[place].hours for of_run in travelled if place in of_run) / n, 2),
            "of which price of travel": round(sum(of_run[place].extra for of_run in travelled
                                                  if place in of_run) / n, 2)} for place in origins}}}


def _places(sheet: Sheet, runs: Sequence[RunNumbers]) -> list[dict[str, Any]]:
    """Shares of the working hours of all docks of a place, mean of the runs."""
    begin, end = window_instants(sheet)
    plant = sheet.manned_clock()
    hours = (plant.reading(end) - plant.reading(begin)) / 60
    trades = ["", *sheet.scenario.trades]
    spent = np.array([run.places for run in runs])
    waited = sum((run.waits for run in runs), np.zeros_like(runs[0].waits)) / len(runs)
    rows = []
    for n, place in enumerate(sheet.places):
        each = spent[:, n] / max(hours * place.docks, 1e-9)
        full = each[:, 1:].sum(axis=1) - each[:, list(HELD_UP)].sum(axis=1)
        waits = waited[n]
        rows.append({
            "place": place.id, "name": place.position.name, "area": area_of(sheet, n), "docks": place.docks,
            "at work or waiting": _interval(full.tolist(), 4, most=1.0),
            "worked": round(float(each[:, [State.FLIGHT, State.WORK, State.REWORK]].sum(axis=1).mean()), 4),
            "holds and appointments": round(float(each[:, [State.HOLD, State.APPOINTMENT]].sum(axis=1).mean()), 4),
            "waiting for people": round(float(each[:, list(FOR_PEOPLE)].sum(axis=1).mean()), 4),
            FOR_ELSE: round(float(each[:, list(ELSE)].sum(axis=1).mean()), 4),
            "off shift": round(float(each[:, State.OFF_SHIFT].mean()), 4),
            "blocked": round(float(each[:, list(HELD_UP)].sum(axis=1).mean()), 4),
            "empty": round(float(1 - each[:, 1:].sum(axis=1).mean()), 4),
            "most waited for": trades[int(waits.argmax())] if waits.sum() > 0 else None,
            "most waited for, besides people": REASON_WORDS[max(ELSE, key=lambda state: each[:, state].mean())]
            if each[:, list(ELSE)].any() else None})
    return rows


def _trades(sheet: Sheet, runs: Sequence[RunNumbers]) -> list[dict[str, Any]]:
    """The account of paid hours in the window, mean of the runs, and the load: worked of worked and idle."""
    inside = [n for n, (_, within) in enumerate(periods_of(sheet.scenario)) if within]
    account = np.array([run.labour[:, inside].sum(axis=1) for run in runs])
    rows = []
    for n, (trade, declared) in enumerate(sheet.scenario.trades.items()):
        each = account[:, n]
        worked, idle = each[:, ACCOUNT.index("worked")], each[:, ACCOUNT.index("idle")]
        could = worked + idle
        rows.append({"trade": trade, "name": declared.name,
                     "load": _interval((worked / could).tolist(), 4, most=1.0) if could.all() else None,
                     **{f"{name} hours": round(float(each[:, i].mean()), 1) for i, name in enumerate(ACCOUNT)}})
    return rows


def _people_there(sheet: Sheet, seed: int, runs: int) -> dict[str, Any]:
    """Small trades, where one person missing is much: on which share of the shift dates 0, 1, 2 ... people are there,
    as drawn in the first runs. Nothing where everybody always comes."""
    if sheet.scenario.attendance is None:
        return {}
    small = people_present(sheet, seed, min(DRAWS, runs), small_only=True)
    return {"people there, small trades": [
        {"trade": one.trade, "name": sheet.scenario.trades[one.trade].name, "planned": round(one.roster, 2),
         "there": round(one.present, 2),
         "share of days with 0, 1, 2 ... there": [round(share, 4) for share in one.days_with or ()]} for one in small]}


def _serials(sheet: Sheet, runs: Sequence[RunNumbers]) -> list[dict[str, Any]]:
    """Dates by serial: half, 8 in 10 and 19 in 20 of the runs deliver by then; the chance of keeping the promise; what
    most days are lost to."""
    scenario, lost = sheet.scenario, losses(sheet, runs)
    rows = []
    for order in scenario.orders or ():
        days = [float(date.fromisoformat(run.delivered[order.serial][:10]).toordinal())
                if order.serial in run.delivered else float("inf") for run in runs]
        row: dict[str, Any] = {"serial": order.serial, "promised": str(order.promised) if order.promised else None}
        for words, share in (("half by", 0.5), ("8 in 10 by", 0.8), ("19 in 20 by", 0.95)):
            if len(runs) >= LEAST_RUNS:
                row[words] = _day(percentile(days, share), scenario)
        promises = [promise_in(run, order) for run in runs]
        if order.promised and any(promises):  # a run may cancel or put off an order
            row["runs that keep it"] = sum(bool(promise) and run.delivered.get(order.serial, "9999")[:10] <= promise
                                           for run, promise in zip(runs, promises, strict=True))
            if not all(promises):
                row["runs that promise it"] = sum(map(bool, promises))
        row["most days lost to"] = next(iter(lost.get(order.serial, [])), None)
        rows.append(row)
    return rows


def _day(ordinal: float, scenario: Scenario) -> str:
    if ordinal == float("inf"):
        return f"after {months_on(scenario.end, scenario.run_on_months)}"
    return str(date.fromordinal(int(ordinal)))


# sentences -----------------------------------------------------------------------------------------------------------
def _how_many(numbers: dict[str, Any], scenario: Scenario) -> str:
    counts, (first, last) = numbers["deliveries in the window"], numbers["window"]
    when = f"in {first[:4]}" if first[5:] == "01-01" and last == f"{first[:4]}-12-31" else f"from {first} to {last}"
    promised = sum(first <= str(order.promised) <= last for order in scenario.orders or () if order.promised)
    plan = f"; {promised} are promised" if promised else ""
    if "note" in counts:
        each = counts["each run"]
        if len(each) == 1:
            return f"1 run delivers {each[0]} aircraft {when}{plan}; {counts['note']}."
        return f"{len(each)} runs deliver {min(each)} to {max(each)} aircraft {when}{plan}; {counts['note']}."
    return (f"8 in 10 runs deliver at least {counts['8 in 10 reach']} aircraft {when}, "
            f"half the runs at least {counts['5 in 10 reach']}{plan}.")


def _runs_in_words(kept: int, of: int) -> str:
    if of == 1:
        return f"the run {'keeps' if kept else 'does not keep'} up"
    words = chance_words(kept, of)
    return f"{words} keep up" if words.endswith("runs") else f"{words} runs keep up"


def _what_stops(numbers: dict[str, Any], sheet: Sheet) -> list[str]:
    """Whether the planned launches are kept up with; the fullest place; the place that loses most."""
    keeps = numbers["keeps the plan"]
    sentences = []
    if keeps:
        verdict = "holds" if keeps["holds"] else "does not hold"
        takt = sheet.scenario.launches.takt_work_days
        steady = takt and not sheet.scenario.launches.steps
        rate = f"The planned takt of {takt:g} work day{'s' * (takt != 1)}" if steady else "The plan"
        sentences.append(f"{rate} {verdict}: {_runs_in_words(keeps['runs'], keeps['of'])} with the launches to the end "
                         "of the window.")
    if "pulse line" in numbers:
        line = numbers["pulse line"]
        hours = sum(row["hours"] for row in line["travelled, by where the work was planned"].values())
        sentences.append(
            f"The pulse line stops {line['line stops in the window']['mean']:.0f} times in the window and stands "
            f"{line['working hours it stood']['mean']:.0f} working hours; {hours:.0f} labour hours travel in a run.")
        held = line["working hours it stood, by who held it"]
        if held:
            sentences.append("It stood longest for aircraft at " + ", ".join(
                f"{one['place']} ({one['reason']}, {one['hours']:.0f} h)" for one in held[:3]) + ".")
    places = [row for row in numbers["places"] if row["at work or waiting"] and row["at work or waiting"]["mean"] > 0]
    if places:
        sentences += full_and_losing(places, sheet, stops=bool(keeps) and not keeps["holds"])
    return sentences


def full_and_losing(places: list[dict[str, Any]], sheet: Sheet, *, stops: bool) -> list[str]:
    """The place that has no room left is not the one that loses most: that one would have room if it did not wait."""
    fullest = max(places, key=lambda row: row["at work or waiting"]["mean"])
    loser = max(places, key=lost_share)
    first = "What stops the line first is its fullest place," if stops else "The fullest place is"
    full = fullest["at work or waiting"]["mean"]
    rest = ", blocked or empty in the rest" if full < 0.995 else ""
    said = [f"{first} {_named(fullest)}: at work or waiting in {percent(full)} of its working hours{rest}."]
    if lost_share(loser) >= 0.005:
        who = "It also loses" if loser is fullest else f"{_named(loser)} loses"
        said.append(f"{who} most hours: {_loses(loser, sheet)}.")
    return said


def lost_share(row: Mapping[str, Any]) -> float:
    """Share of a place's working hours that it waits or stands blocked."""
    return float(sum(row[part] for part in LOSSES))


def _loses(row: Mapping[str, Any], sheet: Sheet) -> str:
    code = row["most waited for"]
    trade = sheet.scenario.trades.get(code or "")
    people = "waits for people" + (f" (mostly {trade.name}, {code})" if trade and trade.name else
                                   f" (mostly {code})" if code else "")
    other = f"waits for {FOR_OTHER.get(row['most waited for, besides people'], 'other things')}"
    parts = [f"{does} in {percent(row[part])} of its hours" for part, does in zip(
        LOSSES, (people, other, "stands blocked"), strict=True) if row[part] >= 0.005]
    return "it " + (parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}")


def _named(row: Mapping[str, Any]) -> str:
    return f"{row['name']} ({row['place']})" if row["name"] else str(row["place"])
