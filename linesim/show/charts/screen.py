"""The same figures for the screen, from the same small tables, with the exact numbers under the pointer."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import altair as alt
import pandas as pd

from .. import words
from ..palette import MOST_INK, STATES, Mode, area_roles
from .days import FAMILIES, by_family
from .lost import HOLLOW, PALE, PARTS, ROLES
from .quarters import BAND, stacked
from .settings import altair_config
from .standing import apart

DASH = [1, 2]
ROW = 24  # pixels of a row
NARROW = 520  # pixels of a chart on a phone
ON_A_PHONE = f"containerSize()[0] < {NARROW}"
CODE_FIRST = r"replace(datum.label, /^(.*) \(([^()]+)\)$/, '$2 $1')"  # a name may be cut there, its code may not
DIGIT = 8  # pixels: as wide as a digit of a number in a segment, with room


def _done(chart: Any, mode: Mode) -> Any:
    return chart.configure(**altair_config(mode))


def _tips(**named: str) -> list[alt.Tooltip]:
    return [alt.Tooltip(field, title=title.replace("_", " ")) for title, field in named.items()]


def _rows(mode: Mode, field: str) -> alt.Y:
    axis = alt.Axis(labelColor=mode["ink"], labelLimit=alt.ExprRef(f"{ON_A_PHONE} ? 118 : 280"), domain=False,
                    ticks=False, labelExpr=f"{ON_A_PHONE} ? {CODE_FIRST} : datum.label")
    return alt.Y(f"{field}:N", sort=None, title=None, axis=axis)


def quarters(mode: Mode, table: pd.DataFrame) -> Any:
    """Ten runs stand for all; `table` of questions.figures.quarters."""
    names = list(dict.fromkeys(table["quarter"]))
    place = {name: -BAND * n for n, name in enumerate(names)}
    circles = stacked(table)
    circles = circles.assign(y=circles["quarter"].map(place) + 0.6 + 0.95 * circles["level"])
    each = table.drop_duplicates("quarter")
    each = each.assign(foot=each["quarter"].map(place), top=each["quarter"].map(place) + BAND - 1.7,
                       head=each["quarter"].map(place) + BAND - 0.9, at=each["plan"] - 0.5,
                       planned=[f"plan {plan}" for plan in each["plan"]],
                       said=[f"{words.chance(k, of)} reach {plan}" for k, of, plan in zip(
                           each["kept"], each["runs"], each["plan"], strict=True)])
    left, right = min(circles["x"].min(), each["at"].min()) - 1.2, max(circles["x"].max(), each["plan"].max()) + 1.4
    scale = alt.Scale(domain=[left, right], nice=False)

    def x(field: str) -> alt.X:
        axis = alt.Axis(title="Aircraft delivered in the quarter", format="d", tickMinStep=1)
        return alt.X(f"{field}:Q", scale=scale, axis=axis)

    def y(field: str) -> alt.Y:
        return alt.Y(f"{field}:Q", axis=None)

    base = alt.Chart(each)
    feet = base.mark_rule(color=mode["line"]).encode(y=y("foot"))
    bars = base.mark_rule(color=mode["ink"], strokeWidth=2).encode(x=x("at"), y=y("foot"), y2="top:Q")
    plans = base.mark_text(align="right", dx=-4, color=mode["soft"]).encode(x=x("at"), y=y("top"), text="planned")
    heads = base.mark_text(align="left", fontWeight="bold", color=mode["ink"]).encode(
        x=alt.value(0), y=y("head"), text="quarter")
    said = base.mark_text(align="right", color=mode["ink"]).encode(x=alt.value("width"), y=y("head"), text="said")
    fill = alt.Scale(domain=[True, False], range=[mode["accent"], mode["page"]])
    marks = alt.Chart(circles).mark_point(size=90, stroke=mode["accent"], strokeWidth=1.6, opacity=1).encode(
        x=x("x"), y=y("y"), fill=alt.Fill("keeps:N", scale=fill),
        tooltip=_tips(Quarter="quarter", Delivered="deliveries", Plan="plan"))
    layers = feet + bars + plans + marks + heads + said
    return _done(layers.properties(width="container", height=99 * len(names)), mode)


def dates(mode: Mode, table: pd.DataFrame, start: date) -> Any:
    """Dates against the promise; the rows to be drawn of questions.figures.dates."""
    days = table[["promised", "early", "half", "eight", "nine"]].replace(float("inf"), float("nan"))
    last = int(days.max().max()) + 6
    ends = days.fillna(last)
    ends.loc[days["half"].isna(), "half"] = float("nan")  # no dot where half the runs do not deliver
    frame = table.assign(
        **{str(name): pd.Timestamp(start) + pd.to_timedelta(ends[name], unit="D") for name in ends},
        end=pd.Timestamp(start + timedelta(days=last)),
        **{f"{name}_said": [words.day(start, one, "the end of the runs") for one in table[name]]
           for name in ("promised", "half", "eight")},
        keeps=[words.chance(k, of) for k, of in zip(table["kept"], table["runs"], strict=True)])
    y = _rows(mode, "serial")
    tips = _tips(Serial="serial", Half_by="half_said", Eight_in_ten_by="eight_said", Promised="promised_said",
                 Keeps_it="keeps")
    base = alt.Chart(frame).encode(y=y, tooltip=tips)
    x = alt.X("early:T", title=None, axis=alt.Axis(format="%Y-%m", tickCount="month", grid=True))
    thin = base.mark_rule(color=mode["accent"], strokeWidth=1.3).encode(x=x, x2="nine:T")
    thick = base.mark_rule(color=mode["accent"], strokeWidth=5).encode(x="half:T", x2="eight:T")
    dot = base.mark_point(filled=True, size=60, color=mode["accent"], opacity=1).encode(x="half:T")
    tick = base.mark_tick(color=mode["ink"], thickness=2.4, height=15).encode(x="promised:T")
    states = alt.Scale(domain=list(STATES), range=[mode[role] for role in STATES.values()])
    shapes = alt.Scale(domain=list(STATES), range=["circle", "M0,-1A1,1,0,0,0,0,1Z", "triangle-up"])
    mark = base.mark_point(filled=True, size=80, opacity=1).encode(
        x="end:T", shape=alt.Shape("state:N", scale=shapes), color=alt.Color("state:N", scale=states))
    said = base.mark_text(align="left", dx=10, color=mode["ink"]).encode(x="end:T", text="state")
    layers = thin + thick + dot + tick + mark + said
    return _done(layers.properties(width="container", height=ROW * len(table)), mode)


def balance(mode: Mode, table: pd.DataFrame) -> Any:
    """Line of balance; `table` of questions.figures.balance."""
    frame = table.assign(on=table["on"].astype(str), behind=table["half"] < table["needed"], zero=0, **{
        f"{name}_less": table[name] - table["needed"] for name in ("low", "half", "high")})
    colour = alt.Color("behind:N", scale=alt.Scale(domain=[True, False], range=[mode["late"], mode["accent"]]))
    tips = _tips(Past="point", On="on", Half_the_runs="half", Needed="needed", From="low", To="high")
    base = alt.Chart(frame).encode(y=alt.Y("point:N", sort=None, title=None), tooltip=tips)
    x = alt.X("low_less:Q", title="ahead (+), behind (−)", axis=alt.Axis(format="+d", tickMinStep=1))
    line = base.mark_rule(strokeWidth=3).encode(x=x, x2="high_less:Q", color=colour)
    dot = base.mark_point(filled=True, size=90, opacity=1).encode(x="half_less:Q", color=colour)
    zero = alt.Chart(frame).mark_rule(color=mode["ink"], strokeWidth=1.4).encode(x="zero:Q")
    days = list(dict.fromkeys(frame["on"]))
    layers = (zero + line + dot).properties(width=170, height=ROW * frame["point"].nunique())
    return _done(layers.facet(column=alt.Column("on:N", sort=days)), mode)


def standing(mode: Mode, areas: pd.DataFrame, total: pd.DataFrame) -> Any:
    """Work in process; tables of questions.figures.standing."""
    names = list(dict.fromkeys(areas["area"]))
    frame = areas.assign(week=pd.to_datetime(areas["week"]), order=areas["area"].map(names.index))
    whole = total.assign(week=pd.to_datetime(total["week"]))
    last = frame[frame["week"] == frame["week"].max()].sort_values("order")
    middles = (last["mean"].cumsum() - last["mean"] / 2).tolist()
    most = float(max(whole["high"].max(), frame.groupby("week")["mean"].sum().max()))
    ends = last.assign(y=apart(middles, 0.062 * most), said=[
        f"{area} {words.tenths(mean)}" for area, mean in zip(last["area"], last["mean"], strict=True)])
    scale = alt.Scale(domain=names, range=[mode[role] for role in area_roles(len(names))])
    stack = alt.Chart(frame).mark_area(stroke=mode["rule"], strokeWidth=0.7).encode(
        x=alt.X("week:T", title=None, axis=alt.Axis(format="%Y-%m", tickCount={"interval": "month", "step": 2})),
        y=alt.Y("mean:Q", title="Aircraft", stack="zero"),
        color=alt.Color("area:N", scale=scale, sort=names), order="order:O",
        tooltip=_tips(Week_of="week", Area="area", Aircraft="mean"))
    lines = [alt.Chart(whole).mark_line(color=mode[colour], strokeWidth=size, strokeDash=dash).encode(
        x="week:T", y=f"{name}:Q") for name in ("low", "high") for colour, size, dash in (
            ("page", 3, [1, 0]), ("ink", 1.3, DASH))]
    said = alt.Chart(ends).mark_text(align="left", dx=6, color=mode["ink"]).encode(x="week:T", y="y:Q", text="said")
    layers = alt.layer(stack, *lines, said)
    return _done(layers.properties(width="container", height=320, padding={"right": 110}), mode)


def _losses(mode: Mode, frame: pd.DataFrame, parts: dict[str, str], title: str, form: str, least: float) -> Any:
    """Rows of losses from zero: frame with row, part, value, and where each begins and ends."""
    scale = alt.Scale(domain=list(parts), range=[
        "transparent" if part in HOLLOW else mode[ROLES.get(part, part)] for part in parts])
    edge = alt.Scale(domain=list(parts), range=[mode["rule"] if part in HOLLOW else mode[
        ROLES.get(part, part)] if part in PALE else mode["page"] for part in parts])
    ink = alt.Scale(domain=list(parts), range=[
        mode["ink"] if part in HOLLOW or part in PALE else mode["page"] for part in parts])
    frame = frame.assign(end=frame.groupby("row", sort=False)["value"].cumsum(), name=frame["part"].map(parts),
                         opacity=frame["part"].map(lambda part: PALE.get(part, 1.0)))
    frame = frame.assign(begin=frame["end"] - frame["value"], middle=frame["end"] - frame["value"] / 2)
    y = _rows(mode, "row")
    bars = alt.Chart(frame).mark_bar(height=16).encode(
        y=y, x=alt.X("begin:Q", title=title, axis=alt.Axis(grid=True)), x2="end:Q",
        fill=alt.Fill("part:N", scale=scale), fillOpacity=alt.FillOpacity("opacity:Q", scale=None),
        stroke=alt.Stroke("part:N", scale=edge),
        tooltip=[*_tips(Place="row", What="name"), alt.Tooltip("value", title=title, format=form)])
    most, room = float(frame["end"].max()), frame["value"].map(lambda value: DIGIT * len(format(value, form)))
    fits = f"datum.value * width > datum.room * {most}"
    numbers = alt.Chart(frame.assign(room=room)[frame["value"] >= least]).mark_text(
        fontSize=11, opacity=alt.ExprRef(f"{fits} ? 1 : 0")).encode(
        y=y, x="middle:Q", text=alt.Text("value:Q", format=form), color=alt.Color("part:N", scale=ink))
    rows = frame["row"].nunique()
    return _done((bars + numbers).properties(width="container", height=ROW * rows), mode)


def lost(mode: Mode, table: pd.DataFrame) -> Any:
    """Hours lost, place by place; `table` of questions.figures.lost."""
    rows = [(words.named(row["place"], row["name"]), part, 100 * row[part])
            for _, row in table.iterrows() for part in PARTS]
    frame = pd.DataFrame(rows, columns=["row", "part", "value"])
    return _losses(mode, frame, PARTS, "% of working hours lost", ".0f", 5)


def chain(mode: Mode, table: pd.DataFrame) -> Any:
    """What set the dates; `table` of questions.figures.chain."""
    rows = [(f"{area}: {words.tenths(row['work'])} worked, {words.tenths(row['hold'])} hold", family,
             float(row[family])) for area, row in by_family(table).iterrows() for family in FAMILIES]
    frame = pd.DataFrame(rows, columns=["row", "part", "value"])
    return _losses(mode, frame, FAMILIES, "Work days lost per aircraft on what set its date", ".1f", 0.45)


def ledger(mode: Mode, table: pd.DataFrame) -> Any:
    """Calendar days by reason; `table` of questions.figures.ledger."""
    frame = table.assign(row=[words.reason(one) for one in table["reason"]],
                         said=[words.tenths(days) for days in table["days"]])
    families = list(dict.fromkeys(table["family"]))
    scale = alt.Scale(domain=families, range=["transparent" if one in HOLLOW else mode[one] for one in families])
    edge = alt.Scale(domain=families, range=[mode["rule"] if one in HOLLOW else mode["page"] for one in families])
    y = _rows(mode, "row")
    x = alt.X("days:Q", title="Calendar days per delivered aircraft", axis=alt.Axis(grid=True))
    base = alt.Chart(frame).encode(y=y, x=x, tooltip=_tips(Reason="row", Days="days", Hours="hours"))
    bars = base.mark_bar(height=16).encode(fill=alt.Fill("family:N", scale=scale),
                                           stroke=alt.Stroke("family:N", scale=edge))
    said = base.mark_text(align="left", dx=4, color=mode["ink"]).encode(text="said")
    return _done((bars + said).properties(width="container", height=ROW * len(table)), mode)


def load(mode: Mode, table: pd.DataFrame) -> Any:
    """Load of the trades by month; `table` of questions.figures.load."""
    names = zip(table["trade"], table["name"], strict=True)
    frame = table.assign(row=[words.named(code, name) for code, name in names],
                         said=[f"{100 * one:.0f}" for one in table["load"]],
                         strength=MOST_INK * table["load"].clip(0, 1))
    base = alt.Chart(frame).encode(
        x=alt.X("month:O", title=None, axis=alt.Axis(labelAngle=-45, domain=False, ticks=False)),
        y=_rows(mode, "row"),
        tooltip=[*_tips(Trade="row", Month="month"), alt.Tooltip("load", format=".0%", title="Load")])
    cells = base.mark_rect(color=mode["accent"], stroke=mode["page"]).encode(
        fillOpacity=alt.FillOpacity("strength:Q", scale=alt.Scale(domain=[0, 1], range=[0, 1])))
    said = base.mark_text(color=mode["ink"]).encode(text="said")
    return _done((cells + said).properties(width="container", height=ROW * frame["row"].nunique()), mode)


def flights(mode: Mode, table: pd.DataFrame) -> Any:
    """Squawks and flights; `table` of questions.figures.flights."""
    frame = table.assign(row=[f"flight {number}" for number in table["flight"]], share=100 * table["flew"],
                         squawks_said=[words.tenths(one) for one in table["squawks"]],
                         share_said=[words.percent(one) for one in table["flew"]])

    def panel(field: str, title: str, colour: str) -> Any:
        base = alt.Chart(frame).encode(
            y=_rows(mode, "row"),
            x=alt.X(f"{field}:Q", title=title, axis=alt.Axis(grid=True)),
            tooltip=_tips(Flight="flight", Squawks="squawks", Percent_that_fly_it="share"))
        said = base.mark_text(align="left", dx=4, color=mode["ink"]).encode(text=f"{field}_said")
        return (base.mark_bar(height=16, color=mode[colour]) + said).properties(width=300, height=ROW * len(table))

    return _done(panel("squawks", "Squawks on the flight", "rework")
                 | panel("share", "% of the aircraft that fly it", "work"), mode)
