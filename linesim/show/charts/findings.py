"""What a figure says: its title is the finding of this run, the line below says what is drawn and how to read it.

One template for each verdict; where the finding is not true of a run another one stands there.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd

from ...line.records import REASON_WORDS, State
from ...questions.baseline import FOR_OTHER
from ...questions.figures import AT_RISK, KEEPS_IN, LATE
from ...questions.spread import range_words
from .. import words

LOSSES = ("waiting", "blocked", "rework")
HANDS_ON = REASON_WORDS[State.WORK]


@dataclass(frozen=True, slots=True)
class Finding:
    """Title and reading line of a figure."""

    title: str
    reading: str


def quarters(table: pd.DataFrame) -> Finding:
    """How sure the plan of each quarter is; `table` of questions.figures.quarters."""
    each = table.drop_duplicates("quarter")
    runs = int(each["runs"].iloc[0])
    worst = each.iloc[int((each["kept"] / each["runs"]).to_numpy().argmin())]
    if worst["kept"] >= KEEPS_IN * runs:
        only = f"{worst['quarter']} keeps" if len(each) == 1 else "Every quarter keeps"
        title = f"{only} its plan in 8 in 10 runs or more"
    else:
        title = (f"{worst['quarter']} is the least sure: {words.share_of_runs(worst['kept'], runs)} "
                 f"reach{'es' * (runs == 1)} its plan of {worst['plan']}")
    ten = len(table) == 10 * len(each) and runs > 10
    stand = "Ten circles stand for all runs: what more than 19 in 20, 9 in 10 ... 1 in 10 runs reach." if ten else \
        "Each circle is one run."
    return Finding(title, f"{stand} Filled: keeps the quarter's plan. Open: short of it. Bar: the plan.")


def dates(table: pd.DataFrame, shown: int) -> Finding:
    """How many serials are late or at risk; `table` of questions.figures.dates, of which so many rows are drawn."""
    late, risk, of = (table["state"] == LATE).sum(), (table["state"] == AT_RISK).sum(), len(table)
    if late:
        title = f"{late} of {of} aircraft {'is' if late == 1 else 'are'} late in more than half the runs"
        title += f"; {risk} more {'is' if risk == 1 else 'are'} at risk" if risk else ""
    elif risk:
        title = f"{risk} of {of} aircraft {'is' if risk == 1 else 'are'} at risk"
        title += "; none is late in more than half the runs"
    else:
        title = f"All {of} aircraft keep their date in 8 in 10 runs or more"
    first = f"The first {shown} late or at risk" if late + risk >= shown else f"The {shown} with the smallest chance"
    which = f"{first}, in promised order. " if shown < of else ""
    beyond = " An arrow: after the end of the runs." if (table["nine"] == float("inf")).any() else ""
    return Finding(title, f"{which}Thin line: 8 in 10 runs (10th to 90th). Thick: half by to 8 in 10 by. Dot: half the "
                          "runs deliver by then. Tick: the promised date. On time: 8 in 10 runs keep it; late: fewer "
                          f"than half do.{beyond}")


def balance(table: pd.DataFrame, runs: int) -> Finding:
    """Where the line is behind; `table` of questions.figures.balance."""
    gap = table["half"] - table["needed"]
    worst = table.iloc[int(gap.to_numpy().argmin())]
    if gap.min() < 0:
        title = f"Behind at {worst['point']} on {worst['on']}: {worst['half']} past, {worst['needed']} needed"
    elif (table["low"] < table["needed"]).any():
        title = "No control point is behind in half the runs; in the slower ones some are"
    else:
        title = "No control point is behind"
    return Finding(title, "Aircraft past each point less aircraft needed there for the promised dates. Dot: half the "
                          f"runs; line: {range_words(runs)}; ink line: as needed. Right: past in half the runs, of "
                          "needed.")


def standing(areas: Mapping[str, Any], runs: int) -> Finding:
    """Which area holds most; `areas` is `aircraft in process` of the answer."""
    total = sum(row["mean"] for row in areas.values())
    most = max(areas, key=lambda area: areas[area]["mean"])
    return Finding(f"Most aircraft stand in {most}: {words.tenths(areas[most]['mean'])} of {words.tenths(total)}",
                   "Aircraft on the floor by area, docks and parking, mean of each week and of the runs; early areas "
                   f"pale, at the foot. Dotted: all areas together, {range_words(runs)}. The title is the mean of the "
                   "window.")


def lost(table: pd.DataFrame) -> Finding:
    """Which place loses most; `table` of questions.figures.lost."""
    top = table.iloc[0]
    name = words.named(top["place"], top["name"])
    largest = max(("people", "other", "blocked"), key=lambda part: top[part])
    if top["people"] + top["other"] + top["blocked"] < 0.005:
        title = "No place waits or stands blocked"
    else:
        does = {"people": "waits for people", "blocked": "stands blocked",
                "other": f"waits for {FOR_OTHER.get(top['waits_else'], 'other things')}"}[largest]
        title = f"{name} loses most: it {does} in {words.percent(top[largest])} of its hours"
    return Finding(title, "Share of each place's working hours, mean of the runs; most waiting and blocked on top. The "
                          "rest was work, and holds that nobody may shorten. The fullest place is another matter: the "
                          "one that is least often blocked or empty.")


def chain(table: pd.DataFrame, aircraft: int, runs: int) -> Finding:
    """What set the dates; `table` of questions.figures.chain."""
    total = table["days"].sum()
    by_reason = table[table["family"].isin(LOSSES)].groupby("reason")["days"].sum()
    worked = table.loc[table["reason"] == HANDS_ON, "days"].sum()
    title = f"Of {words.tenths(total)} work days that set the dates, {words.tenths(worked)} are hands-on"
    if len(by_reason) and by_reason.max() >= 0.05:
        most = str(by_reason.idxmax())
        title += f"; {_takes(most)} {words.tenths(by_reason.max())}"
    return Finding(title, "Work days per delivered aircraft on the chain: what each stay waited for last, followed "
                          "back from leaving to arriving. Bars: days lost, by area in order of flow; flights count as "
                          "worked. Mean of "
                          f"{words.counted(aircraft, 'aircraft', 'aircraft')} in {words.runs(runs)}.")


def _takes(reason: str) -> str:
    said = {"blocked": "being blocked takes", "line stop": "line stops take"}
    return said.get(reason, f"{words.reason(reason)} takes")


def ledger(table: pd.DataFrame) -> Finding:
    """Where calendar time goes; `table` of questions.figures.ledger."""
    worked = table.loc[table["reason"] == HANDS_ON, "days"].sum()
    off = table.loc[table["family"] == "off shift", "days"].sum()
    title = f"Of {words.tenths(table['days'].sum())} calendar days in the plant, {words.tenths(worked)} are hands-on"
    title += f" and {words.tenths(off)} nights, breaks and days off" if off >= 0.05 else ""
    return Finding(title, "Calendar days per delivered aircraft, launch to delivery. Every hour has one reason, the "
                          "first that is true: work done on it, holds, waiting in working time, off shift, then parts, "
                          "dates and places that are taken. So the reasons add up.")


def load(table: pd.DataFrame) -> Finding:
    """The fullest trade and month; `table` of questions.figures.load."""
    top = table.iloc[int(table["load"].to_numpy().argmax())]
    return Finding(f"The fullest trade is {words.named(top['trade'], top['name'])}: {words.percent(top['load'])} of "
                   f"its working time in {top['month']}",
                   "Hours worked, percent of the working time of the people who are there, mean of the runs. The rest "
                   "of their time is spent waiting for work.")


def load_by_week(table: pd.DataFrame) -> Finding:
    """The fullest trade and week; `table` of questions.figures.load_by_week."""
    top = table.iloc[int(table["load"].to_numpy().argmax())]
    return Finding(f"The fullest week is that of {top['week']}: {words.named(top['trade'], top['name'])}, "
                   f"{words.percent(top['load'])} of the working time",
                   "Hours worked of the working time of the people who are there, week by week, all runs together. "
                   "Each row from 0 to 100 %; at the right its fullest week.")


def flights(table: pd.DataFrame) -> Finding:
    """Flights and squawks; `table` of questions.figures.flights."""
    first = table.iloc[0]
    title = f"The first flight writes up {words.tenths(first['squawks'])} squawks"
    if len(table) > 1:
        title += f", the second {words.tenths(table.iloc[1]['squawks'])}"
    beyond = table[table["flight"] == 3]
    if len(beyond):
        title += f"; {words.percent(float(beyond['flew'].iloc[0]))} of the aircraft fly a third time"
    return Finding(title, "Left: squawks on each flight, mean of the runs. Right: percent of the aircraft that fly so "
                          "often.")
