"""Where the days go: what set the dates, by area; and every hour of an aircraft by its reason."""

from __future__ import annotations

import pandas as pd
from matplotlib.figure import Figure

from .. import words
from ..palette import Mode
from .lost import bar, legend
from .settings import drawn, label, rows_axis, sheet_of

FAMILIES = {"waiting": "Waiting for people, parts, dates, weather", "blocked": "Blocked", "rework": "Rework",
            "off shift": "Place closed"}


def by_family(table: pd.DataFrame) -> pd.DataFrame:
    """Days by area (in order of flow) and family."""
    found = table.pivot_table(index="area", columns="family", values="days", aggfunc="sum", sort=False)
    return found.reindex(columns=[*FAMILIES, "work", "hold"], fill_value=0.0)


@drawn
def chain(mode: Mode, table: pd.DataFrame) -> Figure:
    """`table` of questions.figures.chain."""
    days = by_family(table)
    figure = sheet_of(0.3 * len(days) + 0.9)
    axes = figure.add_subplot()
    rows_axis(axes, [f"{area}: {words.tenths(row['work'])} worked, {words.tenths(row['hold'])} hold"
                     for area, row in days.iterrows()])
    for n, (_, row) in enumerate(days.iterrows()):
        bar(axes, mode, n, [(family, float(row[family])) for family in FAMILIES], "{:.1f}", 0.45)
    axes.set_xlim(0, max(1.0, float(days[list(FAMILIES)].sum(axis=1).max())))
    axes.set_xlabel("Work days lost per aircraft on what set its date")
    legend(axes, mode, {family: text for family, text in FAMILIES.items() if days[family].sum() >= 0.05})
    return figure


@drawn
def ledger(mode: Mode, table: pd.DataFrame) -> Figure:
    """`table` of questions.figures.ledger."""
    figure = sheet_of(0.235 * len(table) + 0.55)
    axes = figure.add_subplot()
    rows_axis(axes, [words.reason(one) for one in table["reason"]])
    most = float(table["days"].max())
    for n, row in table.iterrows():
        hollow = row["family"] == "off shift"
        axes.barh(int(str(n)), row["days"], height=0.66, color="none" if hollow else mode[row["family"]], clip_on=False,
                  edgecolor=mode["rule"] if hollow else mode["page"], linewidth=0.8)
        label(axes, row["days"], int(str(n)), words.tenths(row["days"]))
    axes.set_xlim(0, most * 1.04)
    axes.set_xlabel("Calendar days per delivered aircraft")
    return figure
