"""The next work days on the screen, a cell for each day: what moves and flies, jobs that wait, people who are free."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

import altair as alt
import pandas as pd

from ... import words
from ...charts.settings import altair_config
from ...charts.ten_days import EVENTS, SHORT
from ...palette import MOST_INK, Mode

ROW = 25          # pixels
GAP = 7           # between a name and its first cell
LINE = 18         # of the second line of a label
DECISION = 40     # of a decision
LETTERS = 28      # of a decision in a line
SIGNED = "datum.value == 0 ? '0' : format(datum.value, '+.2~f')"
FAINT = 0.05      # smaller means are not written
WITH_NUMBERS = 15  # days: of more the cells are too narrow for a number
DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def events(mode: Mode, numbers: Mapping[str, Any]) -> tuple[Any, str]:
    """Moves, launches, flights and deliveries of each day, and the chart in words. `numbers` of the answer on the next
    work days."""
    by_day = {row["day"]: row for row in numbers["by day"]}
    rows = [_cell(name.capitalize(), day, by_day[day][name], False,
                  f"{day}: {words.tenths(by_day[day][name])} {name}, mean of {words.runs(numbers['runs'])}.")
            for name in EVENTS for day in numbers["work days"]]
    for row in rows:
        if row["name"] == "Flights":
            flown = by_day[row["date"]]
            row["said"] += (f" A flight in {words.share_of_runs(flown['runs with a flight'], flown['of'])}; an hour "
                            "that can be flown in "
                            f"{words.share_of_runs(flown['runs in which it can be flown'], flown['of'])}.")
    return _grid(mode, rows, "accent", max(1.0, *(row["value"] for row in rows)), len(numbers["work days"]))


def waiting(mode: Mode, numbers: Mapping[str, Any]) -> tuple[Any, str] | None:
    """Jobs that wait for each trade, day by day; None where none waits."""
    rows = [_cell(row["trade"], day["day"], day["jobs waiting"], day["runs short"] >= SHORT * day["of"],
                  f"{_named(row)}, {day['day']}: {words.tenths(day['jobs waiting'])} jobs wait over the day; half a "
                  f"job or more in {words.share_of_runs(day['runs short'], day['of'])}; "
                  f"{words.tenths(day['people there'])} people there.")
            for row in numbers["people"] if any(day["jobs waiting"] >= FAINT for day in row["days"])
            for day in row["days"]]
    if not rows:
        return None
    return _grid(mode, rows, "waiting", max(1.0, *(row["value"] for row in rows)), len(numbers["work days"]))


def free(mode: Mode, numbers: Mapping[str, Any]) -> tuple[Any, str] | None:
    """People of each trade who have no work, day by day; None where there are none."""
    rows = [_cell(row["trade"], day["day"], day["people free"], day["runs spare"] >= SHORT * day["of"],
                  f"{_named(row)}, {day['day']}: {words.tenths(day['people free'])} of "
                  f"{words.tenths(day['people there'])} people have no work; a whole day of one or more in "
                  f"{words.share_of_runs(day['runs spare'], day['of'])}.")
            for row in numbers["people"] if any(day["people free"] >= FAINT for day in row["days"])
            for day in row["days"]]
    if not rows:
        return None
    return _grid(mode, rows, "ontime", max(1.0, *(row["value"] for row in rows)), len(numbers["work days"]))


def _named(row: Mapping[str, Any]) -> str:
    return words.named(row["trade"], row["name"])


def _cell(name: str, day: str, value: float, often: bool, said: str) -> dict[str, Any]:
    return {"name": name, "date": day, "value": value, "often": often,
            "text": words.tenths(value) if value >= FAINT else "·", "said": said}


def _labels(dates: Iterable[str]) -> str:
    """Weekday and day of the month in two lines; the first day that is shown of a month with the month."""
    found, month = {}, ""
    for day in dates:
        named = DAYS[date.fromisoformat(day).weekday()]
        found[day] = [named, day[8:] if day[:7] == month else day[5:]]
        month = day[:7]
    return f"{json.dumps(found)}[datum.value]"


def _grid(mode: Mode, rows: list[dict[str, Any]], role: str, most: float, days: int) -> tuple[Any, str]:
    """Rows of names, columns of days; the more, the deeper; outlined: so in half the runs or more."""
    frame = pd.DataFrame(rows).assign(strength=lambda of: MOST_INK * of["value"].clip(upper=most) / most)
    base = alt.Chart(frame).encode(
        x=alt.X("date:N", sort=None, title=None, axis=alt.Axis(
            orient="top", labelAngle=0, domain=False, ticks=False, labelExpr=_labels(frame["date"].unique()),
            labelColor=mode["ink"], labelOverlap=days > WITH_NUMBERS, labelPadding=LINE)),
        y=alt.Y("name:N", sort=None, title=None, axis=alt.Axis(labelColor=mode["ink"], labelPadding=GAP)),
        tooltip=alt.Tooltip("said", title=" "))
    cells = base.mark_rect(color=mode[role], stroke=mode["page"]).encode(
        fillOpacity=alt.FillOpacity("strength:Q", scale=None))
    often = base.transform_filter("datum.often").mark_rect(filled=False, stroke=mode["ink"], strokeWidth=1.2)
    layers = cells + often
    if days <= WITH_NUMBERS:
        layers += base.mark_text(color=mode["ink"]).encode(text="text")
    drawn = layers.properties(width="container", height=ROW * frame["name"].nunique()).configure(
        **altair_config(mode))
    return drawn, " ".join(frame.loc[frame["value"] >= FAINT, "said"])


def decided(mode: Mode, numbers: Mapping[str, Any]) -> tuple[Any, str] | None:
    """Each decision that was tried: calendar days by which the aircraft looked at deliver earlier, and the interval;
    None where none was."""
    rows = [_tried(mode, row) for row in (numbers.get("decisions") or {"rows": ()})["rows"] if "not tried" not in row]
    if not rows:
        return None
    frame = pd.DataFrame(rows)
    base = alt.Chart(frame).encode(
        y=alt.Y("name:N", sort=None, title=None, axis=alt.Axis(
            labelColor=mode["ink"], labelPadding=GAP, labelLimit=220, labelExpr="split(datum.value, '\\n')",
            labelBaseline="middle")),
        tooltip=alt.Tooltip("said", title=" "))
    title = "Calendar days earlier (\N{MINUS SIGN}: later)"
    axis = alt.Axis(labelExpr=SIGNED, tickCount=6, title=title)
    zero = alt.Chart(pd.DataFrame({"at": [0.0]})).mark_rule(color=mode["ink"], strokeWidth=1).encode(
        x=alt.X("at:Q", axis=axis))
    colour = alt.Color("colour:N", scale=None)
    lines = base.mark_rule(strokeWidth=2).encode(x=alt.X("low:Q", axis=axis), x2="high:Q", color=colour)
    dots = base.mark_point(size=90, opacity=1, strokeWidth=2).encode(
        x=alt.X("mean:Q", axis=axis), stroke=colour, fill=alt.Fill("fill:N", scale=None))
    over = {"x": alt.X("mean:Q", axis=axis), "text": "short"}
    halo = base.mark_text(dy=-12, stroke=mode["page"], strokeWidth=4).encode(**over)  # the rule at zero stays off it
    text = base.mark_text(dy=-12).encode(**over)
    drawn = (zero + lines + dots + halo + text).properties(width="container", height=DECISION * len(rows)).configure(
        **altair_config(mode))
    return drawn, " ".join(frame["said"])


def _tried(mode: Mode, row: Mapping[str, Any]) -> dict[str, Any]:
    days = row["days earlier"]
    seen = row["verdict"] != "no difference seen"
    colour = mode["soft"] if not seen else mode["accent"] if days["mean"] > 0 else mode["late"]
    short = words.difference(days["mean"])
    span = f", 95 % interval {words.difference(days['low'])} to {words.difference(days['high'])}" \
        if "low" in days else ""
    return {"name": "\n".join(textwrap.wrap(row["decision"], LETTERS)), "mean": days["mean"],
            "low": days.get("low", days["mean"]), "high": days.get("high", days["mean"]), "colour": colour,
            "fill": colour if seen else mode["page"], "short": short,
            "said": f"{row['decision']}: {short} days earlier{span}; {row['verdict']}."}
