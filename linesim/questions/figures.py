"""The small tables behind the figures of the report and the screen.

Each is worked out from the tables of a run folder (`tables`) and the numbers of the answer (`numbers`, as `--json`
prints them), one row per mark. Figures only draw them. The tables of many runs are taken part by part.
"""

from __future__ import annotations

from array import array
from collections import defaultdict
from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

import numpy as np
import pandas as pd

from ..line.records import REASON_WORDS, State
from ..line.sheet import Sheet
from ..measures.balance import SetBacks, control_points, needed, passings, past
from ..measures.by_parts import Tables, parts_of
from ..measures.estimates import mean_interval, percentile
from ..measures.in_areas import areas_in_order, by_week, weeks_of
from ..measures.moment import FAMILIES
from ..measures.squawks import by_flight, by_trade
from ..measures.squawks import counted as counted_aircraft
from ..measures.window import deliveries_by_quarter, quarters_of, window_of
from ..scenario.calendar import months_on
from .baseline import LEAST_RUNS
from .spread import spread, ten_of

ON_TIME, AT_RISK, LATE = "on time", "at risk", "late"
KEEPS_IN, RISK_IN = 0.8, 0.5  # least share of runs that keep a promise: on time, at risk


def quarters(sheet: Sheet, tables: Tables, numbers: Mapping[str, Any]) -> pd.DataFrame:
    """Ten runs stand for all: quarter, plan, kept, runs, circle (0 is the least), deliveries, keeps."""
    window, each = window_of(sheet.scenario), []
    for part in parts_of(tables):
        moments = part["deliveries"]
        text = moments["delivered"].dt.strftime("%Y-%m-%d")
        each += [deliveries_by_quarter(text[moments["run"] == run].tolist(), window) for run in part["runs"]["run"]]
    rows = []
    for name, whole in quarters_of(window).items():
        if not whole:
            continue
        row = numbers["quarters"][name]
        counts = [float(count) for of_run in each if (count := of_run[name]) is not None]
        rows += [(name, row["plan"], row["runs that keep the plan"], len(counts), n, int(count), count >= row["plan"])
                 for n, count in enumerate(ten_of(counts))]
    return pd.DataFrame(rows, columns=["quarter", "plan", "kept", "runs", "circle", "deliveries", "keeps"])


def dates(sheet: Sheet, tables: Tables, numbers: Mapping[str, Any]) -> pd.DataFrame:
    """Promised serials in promised order: serial, model, promised, early, half, eight, nine (days since the start: the
    promise, and the 10th, 50th, 80th and 90th percentile; inf is after the end), kept, runs, state. The percentiles are
    nan under LEAST_RUNS runs; `runs` are those that promise the serial."""
    start, runs = sheet.scenario.start, numbers["runs"]
    days: dict[str, array[float]] = defaultdict(lambda: array("d"))
    for part in parts_of(tables):
        found = part["deliveries"]
        each = (found["delivered"].dt.normalize() - pd.Timestamp(start)).dt.days.astype(float)
        for (name, _), day in each.groupby([found["serial"].astype(str), found["run"]]).min().items():
            days[name].append(day)
    models = {order.serial: order.model for order in sheet.scenario.orders or ()}
    rows = []
    for row in numbers["serials"]:
        if "runs that keep it" not in row:
            continue
        name, kept, of = row["serial"], row["runs that keep it"], row.get("runs that promise it", runs)
        every = [*days[name], *[float("inf")] * (runs - len(days[name]))]
        known = runs >= LEAST_RUNS
        rows.append((name, models.get(name) or "", (date.fromisoformat(row["promised"]) - start).days, *(
            percentile(every, share) if known else np.nan for share in (0.1, 0.5, 0.8, 0.9)), kept, of,
            state_of(kept, of)))
    return pd.DataFrame(rows, columns=["serial", "model", "promised", "early", "half", "eight", "nine", "kept",
                                       "runs", "state"]).sort_values("promised", kind="stable", ignore_index=True)


def state_of(kept: int, runs: int) -> str:
    """On time, at risk or late, by the share of runs that keep the promise."""
    return ON_TIME if kept >= KEEPS_IN * runs else AT_RISK if kept >= RISK_IN * runs else LATE


def balance(sheet: Sheet, tables: Tables) -> pd.DataFrame:
    """Line of balance at the ends of quarters: on, point, set_back (days), needed, low, half, high. Empty without
    promised dates; only delivery where no serial is launched and delivered in every run."""
    columns = ["on", "point", "set_back", "needed", "low", "half", "high"]
    if not any(order.promised for order in sheet.scenario.orders or ()):
        return pd.DataFrame(columns=columns)
    days = {day: (day - sheet.scenario.start).days for day in _ends_of_quarters(sheet)}
    points, gathered = [point.name for point in control_points(sheet)], SetBacks()
    counts: dict[tuple[date, str], list[float]] = {(day, point): [] for day in days for point in points}
    for part in parts_of(tables):
        passed = passings(sheet, part)
        gathered.add(passed)
        for day, point in counts:
            counts[day, point] += map(float, past(passed, point, days[day]))
    backs, rows = gathered.found(), []
    for (day, point), each in counts.items():
        if (back := backs.get(point)) is not None:
            found = spread(each)
            rows.append((day, point, back, needed(sheet, back, days[day]), int(found.low), int(found.half),
                         int(found.high)))
    return pd.DataFrame(rows, columns=columns)


def _ends_of_quarters(sheet: Sheet) -> list[date]:
    window = window_of(sheet.scenario)
    ends = [months_on(date(int(name[:4]), 3 * int(name[-1]) - 2, 1), 3) - timedelta(days=1)
            for name, whole in quarters_of(window).items() if whole]
    return [day for day in ends if day <= sheet.scenario.end] or [window[1]]


def standing(sheet: Sheet, tables: Tables) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Aircraft in each area by week: (week, area, mean of the runs), and of all areas (week, low, half, high)."""
    weeks, names = weeks_of(sheet), areas_in_order(sheet)
    standing, every, runs = np.zeros((len(names), len(weeks))), [array("d") for _ in weeks], 0
    for part in parts_of(tables):
        _, found = by_week(sheet, part)
        runs += len(found)
        standing = sum(found, standing)
        for w, in_all in enumerate(every):
            in_all.extend(found[:, :, w].sum(axis=1).tolist())
    areas = pd.DataFrame([(week, area, float(standing[a, w] / runs)) for a, area in enumerate(names)
                          for w, week in enumerate(weeks)], columns=["week", "area", "mean"])
    total = [spread(in_all) for in_all in every]
    return areas, pd.DataFrame([(week, one.low, one.half, one.high) for week, one in zip(weeks, total, strict=True)],
                               columns=["week", "low", "half", "high"])


def lost(sheet: Sheet, tables: Tables, numbers: Mapping[str, Any]) -> pd.DataFrame:
    """Shares of the working hours of each place, most waiting and blocked first: place, name, docks, people (waiting
    for them), other (waiting for weather, parts, customer, other half), blocked, rework, empty, worked, held,
    waits_for, waits_else (besides people), full (at work or waiting). Rework is taken out of `worked` of the answer."""
    done = [REASON_WORDS[state] for state in (State.FLIGHT, State.WORK, State.REWORK)]
    hours = pd.concat([part["places"][["place", *done]] for part in parts_of(tables)]).groupby("place", sort=False)
    rework, worked = hours[REASON_WORDS[State.REWORK]].mean(), hours[done].mean().sum(axis=1)
    rows = []
    for row in numbers["places"]:
        share = float(rework[row["place"]] / worked[row["place"]]) if worked[row["place"]] > 0 else 0.0
        rows.append((row["place"], row["name"] or "", row["docks"], row["waiting for people"],
                     row["waiting for weather, parts, customer, other half"], row["blocked"], row["worked"] * share,
                     row["empty"], row["worked"] * (1 - share), row["holds and appointments"],
                     row["most waited for"] or "", row["most waited for, besides people"] or "",
                     row["at work or waiting"]["mean"]))
    table = pd.DataFrame(rows, columns=["place", "name", "docks", "people", "other", "blocked", "rework", "empty",
                                        "worked", "held", "waits_for", "waits_else", "full"])
    return table.assign(order=table["people"] + table["other"] + table["blocked"]).sort_values(
        "order", ascending=False, kind="stable", ignore_index=True).drop(columns="order")


def chain(numbers: Mapping[str, Any]) -> pd.DataFrame:
    """What set the dates: work days per delivered aircraft by area in order of flow and reason: area, reason, family,
    days. Empty if nothing is delivered."""
    found = (numbers["what set the dates"] or {}).get("work days by area and reason", {})
    rows = [(area, word, FAMILIES[state], days.get(word, 0.0)) for area, days in found.items()
            for state, word in REASON_WORDS.items()]
    return pd.DataFrame(rows, columns=["area", "reason", "family", "days"])


def ledger(numbers: Mapping[str, Any]) -> pd.DataFrame:
    """Calendar days per delivered aircraft by reason, most first: reason, family, hours, days; they sum to the flow."""
    states = {words: state for state, words in REASON_WORDS.items()}
    rows = [(words, FAMILIES[states[words]], hours, hours / 24)
            for words, hours in numbers["hours per delivered aircraft by reason"].items()]
    return pd.DataFrame(rows, columns=["reason", "family", "hours", "days"])


def load(sheet: Sheet, tables: Tables) -> pd.DataFrame:
    """Load of each trade by month: trade, name, month, load (worked of worked and idle, mean of the runs), low, high
    (95 % interval of the mean; nan of one run). Months in which nobody has working time are left out."""
    shares: dict[tuple[str, str], array[float]] = defaultdict(lambda: array("d"))
    for part in parts_of(tables):
        labour = part["labour"].assign(month=part["labour"]["from"].str[:7])
        hours = labour.groupby(["trade", "month", "run"], sort=False)[["worked_hours", "idle_hours"]].sum()
        could = hours["worked_hours"] + hours["idle_hours"]
        of_part = (hours["worked_hours"] / could)[could > 0].sort_index()
        for trade, month, of_run in zip(*map(of_part.index.get_level_values, ("trade", "month")), of_part, strict=True):
            shares[trade, month].append(of_run)
    rows = []
    for trade, declared in sheet.scenario.trades.items():
        for month in sorted(month for of, month in shares if of == trade):
            found = mean_interval(shares[trade, month])
            low, high = np.clip((found.low, found.high), 0.0, 1.0)
            rows.append((trade, declared.name or "", month, found.point, float(low), float(high)))
    return pd.DataFrame(rows, columns=["trade", "name", "month", "load", "low", "high"])


def load_by_week(sheet: Sheet, tables: Tables) -> pd.DataFrame:
    """Load of each trade by week: trade, name, week (its first date), load (worked of the working time of those there,
    all runs together). Weeks in which nobody has working time are left out."""
    hours = tables["load_by_week"]
    hours = hours[hours["working_hours"] > 0]
    names = {trade: declared.name or "" for trade, declared in sheet.scenario.trades.items()}
    return pd.DataFrame({"trade": hours["trade"], "name": hours["trade"].map(names), "week": hours["from"],
                         "load": hours["worked_hours"] / hours["working_hours"]}).reset_index(drop=True)


def flights(tables: Tables) -> pd.DataFrame:
    """By flight number: flight, flew (share of the aircraft), squawks (mean per flight), low, high (95 % interval of
    the mean over the runs). Over the aircraft launched in the run and delivered in the window."""
    each = [(by_flight(part), len(counted_aircraft(part))) for part in parts_of(tables)]
    found, aircraft = pd.concat([of_part for of_part, _ in each]), sum(number for _, number in each)
    rows = []
    for number, here in found.groupby("flight"):
        per_flight = mean_interval((here["squawks"] / here["flew"]).to_numpy())
        rows.append((int(str(number)), here["flew"].sum() / aircraft, per_flight.point, float(np.fmax(
            0.0, per_flight.low)) if per_flight.n > 1 else np.nan, per_flight.high))
    return pd.DataFrame(rows, columns=["flight", "flew", "squawks", "low", "high"])


def squawk_trades(sheet: Sheet, tables: Tables) -> pd.DataFrame:
    """Squawks per aircraft by where they are found and who clears them: where, trade, name, squawks, runs."""
    found, kept, of = [], 0, 0
    for part in parts_of(tables):
        if len(cleared := by_trade(part)):
            found.append(cleared)
        runs = part["segments"]["run"].unique()
        kept, of = kept + len(runs), of + int(counted_aircraft(part)["run"].isin(runs).sum())
    if not found:
        return pd.DataFrame(columns=["where", "trade", "name", "squawks", "runs"])
    accepts = {place.id for place in sheet.places if place.position.acceptance}
    rows = []
    for (place, trade), here in pd.concat(found).groupby(["place", "trade"]):
        name = sheet.scenario.trades[trade].name if trade in sheet.scenario.trades else ""
        where = "acceptance" if place in accepts else "flight test"
        rows.append((where, trade, name or "", here["squawks"].sum() / of, kept))
    table = pd.DataFrame(rows, columns=["where", "trade", "name", "squawks", "runs"])
    return table.sort_values(["where", "squawks"], ascending=[False, False], ignore_index=True)
