"""Where the days go, on the screen: of all aircraft what each area loses, of one aircraft its largest losses. The words
of a row stand above its bar, so that the bar has the whole width on a phone, too."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import altair as alt
import pandas as pd
from matplotlib.figure import Figure

from ....line.records import REASON_WORDS
from ....measures.moment import FAMILIES
from ....questions.late_words import short, where
from ... import words
from ...charts.days import FAMILIES as LOSSES
from ...charts.days import by_family
from ...charts.findings import Finding
from ...charts.lost import HOLLOW, bar, fill_of
from ...charts.settings import altair_config, drawn, label, rows_axis, sheet_of
from ...palette import Mode

ROW = 42     # pixels: the words, and the bar below them
BAR = 14
BELOW = 52   # the axis with its title, which the height of a chart takes in
ROOM = 1.04  # of the axis, beyond its longest row
LEAST = 0.07  # of the axis: shorter parts carry no number, so that none is written over another
OF = {word: FAMILIES[state] for state, word in REASON_WORDS.items()}


# all aircraft --------------------------------------------------------------------------------------------------------
def areas(mode: Mode, table: pd.DataFrame) -> Any:
    """What each area loses by family; `table` of questions.figures.chain."""
    frame = pd.DataFrame(_parts(table))
    far = ROOM * max(1.0, frame["end"].max())
    frame["number"] = frame["days"].map(words.tenths).where(frame["days"] >= LEAST * far, "")
    return _drawn(mode, frame, far, "Work days lost per aircraft on what set its date", [])


def areas_said(table: pd.DataFrame) -> str:
    """The same in words."""
    return " ".join(part["said"] for part in _parts(table) if part["end"] > part["begin"])


def key_of(mode: Mode, table: pd.DataFrame) -> list[tuple[str, str]]:
    """Words and colours of the families that are drawn."""
    shown = by_family(table)
    return [(text, fill_of(mode, family)) for family, text in LOSSES.items() if shown[family].sum() >= 0.05]


def _parts(table: pd.DataFrame) -> list[dict[str, Any]]:
    found = []
    for n, (area, row) in enumerate(by_family(table).iterrows()):
        end = 0.0
        name = f"{area}: {words.tenths(row['work'])} worked, {words.tenths(row['hold'])} hold"
        for family, text in LOSSES.items():
            begin, end = end, end + float(row[family])
            found.append({"row": n, "name": name, "family": family, "begin": begin, "end": end,
                          "days": float(row[family]), "beside": "",
                          "said": f"{area}: {words.tenths(row[family])} work days. {text}."})
    return found


# one aircraft --------------------------------------------------------------------------------------------------------
def finding(numbers: Mapping[str, Any]) -> Finding:
    """Whether one loss stands out."""
    row, of = numbers["largest"][0], numbers["runs"]
    title = f"{words.sentence(where(row)).rstrip('.')} is its largest loss in " + (
        f"{row['largest in']} of {words.runs(of)}")
    if row["largest in"] < of / 2:
        title = "No loss is the largest in half the runs"
    return Finding(title, "Work days that it loses on the chain that sets its date. Bar: mean of the runs. Tick: 2 in "
                          "10 runs lose at least so much.")


def chart(mode: Mode, numbers: Mapping[str, Any]) -> Any:
    """`numbers` of the answer on one aircraft."""
    frame = pd.DataFrame(_rows(numbers))
    far = ROOM * max(frame["end"].max(), frame["two"].max())
    return _drawn(mode, frame, far, "Work days lost", ["two"])


def said(numbers: Mapping[str, Any]) -> str:
    """The chart in words."""
    return " ".join(row["said"] for row in _rows(numbers))


def _rows(numbers: Mapping[str, Any]) -> list[dict[str, Any]]:
    of = numbers["runs"]
    return [{"row": n, "name": words.sentence(short(row)).rstrip("."), "family": OF[row["reason"]], "begin": 0.0,
             "end": row["work days"], "two": row["2 in 10 runs"], "number": "",
             "beside": f"{words.tenths(row['work days'])} d, largest in {words.chance(row['largest in'], of)}",
             "said": f"{words.sentence(where(row)).rstrip('.')}: {words.tenths(row['work days'])} work days, 2 in 10 "
                     f"runs lose {words.tenths(row['2 in 10 runs'])} or more."}
            for n, row in enumerate(numbers["largest"])]


@drawn
def plate(mode: Mode, numbers: Mapping[str, Any]) -> Figure:
    """The same to print."""
    rows = _rows(numbers)
    figure = sheet_of(0.42 * len(rows) + 0.7)
    axes = figure.add_subplot()
    rows_axis(axes, [row["name"] for row in rows])
    for n, row in enumerate(rows):
        bar(axes, mode, n, [(row["family"], row["end"])], "{:.1f}", float("inf"))
        axes.plot([row["two"]] * 2, [n - 0.33, n + 0.33], color=mode["ink"], lw=2.0)
        label(axes, max(row["two"], row["end"]), n, row["beside"])
    axes.set_xlim(0, 1.5 * max(max(row["two"], row["end"]) for row in rows))
    axes.set_xlabel("Work days lost")
    return figure


# drawing -------------------------------------------------------------------------------------------------------------
def _drawn(mode: Mode, frame: pd.DataFrame, far: float, title: str, ticks: list[str]) -> Any:
    """Bars in rows: row, name, family, begin, end, number (inside), beside (right of the name), said."""
    high = ROW * int(frame["row"].max() + 1)
    top = ROW * frame["row"]
    frame = frame.assign(top=top, upper=top + ROW - BAR - 7, lower=top + ROW - 7, at=top + ROW - 7 - BAR / 2,
                         middle=(frame["begin"] + frame["end"]) / 2)
    scale = alt.Scale(domain=[0, far], nice=False)

    def x(field: str) -> alt.X:
        axis = alt.Axis(grid=True, tickCount=6, titleAnchor="start")
        return alt.X(f"{field}:Q", scale=scale, title=title, axis=axis)

    def y(field: str) -> alt.Y:
        return alt.Y(f"{field}:Q", scale=alt.Scale(domain=[high, 0], nice=False), axis=None)

    families = list(dict.fromkeys(frame["family"]))
    fills = [fill_of(mode, one) or "transparent" for one in families]
    edges = [mode["rule"] if one in HOLLOW else mode["page"] for one in families]
    inks = [mode["ink"] if one in HOLLOW else mode["page"] for one in families]

    def of(kind: Any, colours: list[str]) -> Any:
        return kind("family:N", scale=alt.Scale(domain=families, range=colours))

    base = alt.Chart(frame)
    first = alt.Chart(frame.drop_duplicates("row"))
    bars = base.transform_filter("datum.end > datum.begin").mark_rect().encode(
        x=x("begin"), x2="end:Q", y=y("upper"), y2="lower:Q", fill=of(alt.Fill, fills), stroke=of(alt.Stroke, edges),
        tooltip=alt.Tooltip("said", title=" "))
    inside = base.mark_text(fontSize=11, baseline="middle").encode(
        x=x("middle"), y=y("at"), text="number", color=of(alt.Color, inks))
    marks = [base.mark_rule(color=mode["ink"], strokeWidth=2.4).encode(x=x(field), y=y("upper"), y2="lower:Q")
             for field in ticks]
    halo: dict[str, Any] = {"align": "left", "baseline": "top", "dy": 4}
    behind: dict[str, Any] = {"stroke": mode["page"], "strokeWidth": 4, "color": mode["page"]}
    names = [first.mark_text(**halo, **colour).encode(x=alt.value(0), y=y("top"), text="name")
             for colour in (behind, {"color": mode["ink"]})]
    beside = first.mark_text(align="right", baseline="top", dy=4, color=mode["soft"]).encode(
        x=alt.value("width"), y=y("top"), text="beside")
    return alt.layer(bars, inside, *marks, *names, beside).properties(width="container", height=high + BELOW).configure(
        **altair_config(mode))
