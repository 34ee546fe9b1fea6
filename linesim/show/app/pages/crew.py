"""How many people, where and when?"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import streamlit as st

from ....questions.crew_words import days_words
from ....scenario.scenario import Scenario
from ... import crewing, words
from ...charts.crew import finding
from ...report import cautions
from .. import chosen, downloads, following, memo
from ..charts import crew as chart
from ..chosen import Chosen
from ..memo import Number
from ..wish import wished

FIRST = "its first place"
NO_OTHER = "no other trade"
TARGETS = {"days at most": "days <= {:g}", "deliveries at least": "deliveries >= {:g}",
           "jobs waiting at most": "waiting <= {:g}"}
MORE, MORE_OF_OTHER = 2, 1  # people tried beyond those there now


def page() -> None:
    """Inputs, the crews tried by month, what is not flown and why."""
    here = chosen.here("crew")
    parts = memo.parts("crew")
    if crewing.first_trade(here.scenario) is None:
        memo.say(parts, "This scenario has no trades, so there are no people to try.")
        return
    with parts.inputs:
        options = _options(here)
        runs = memo.runs_input(here)
    with parts.margin:
        memo.caution(cautions.CREW)
        memo.assumed(here.scenario)
    found = following.follow(wished("crew", here.path, here.scenario, options, runs), parts, here)
    if found is None:
        return
    numbers = crewing.for_screen(found.numbers)
    memo.answer(parts, found, numbers["sentences"], marked=_marked(numbers))
    with parts.numbers:
        memo.numbers(_numbers(numbers, here.scenario))
    with parts.body:
        said = finding(numbers)
        memo.chart(said.title, said.reading, chart.grid(memo.mode(), numbers), chart.said(numbers))
        if crewing.flown(numbers):
            why = chart.flying_finding(numbers)
            memo.chart(why.title, why.reading, chart.flying(memo.mode(), numbers), chart.flying_said(numbers))
            memo.caution(cautions.FLIGHT)
        memo.more(numbers["sentences"])
        memo.note("Assumed in this answer", numbers["assumed"])
        for table in crewing.tables(numbers):
            memo.table(table)
        downloads.row(found, here, lambda: crewing.section(numbers))


def _options(here: Chosen) -> dict[str, Any]:
    """The inputs, as the command takes them."""
    scenario = here.scenario
    trades = list(scenario.trades)
    trade, people = _trade_and_people(scenario, trades)
    others = [one for one in trades if one != trade.partition(".")[0]]
    other = st.selectbox("And with it", [NO_OTHER, *others], key="other_trade", bind="query-params", width=200,
                         format_func=lambda one: _named(scenario, one))
    asked_trades, asked_people = [trade], [people]
    if other != NO_OTHER:
        shift = next(iter(scenario.trades[other].people), "")
        usual = crewing.usual_people(scenario, other, shift, MORE_OF_OTHER)
        asked_trades.append(other)
        asked_people.append(_people(f"People, {other}", "other_people", usual))
    kind = st.selectbox("Target, in 8 in 10 runs", list(TARGETS), key="target", bind="query-params", width=165)
    value = st.number_input("Target value", 0.0, 100_000.0, None, key="within", bind="query-params", width=100,
                            format="%g", placeholder="none")
    places = {place.id: words.named(place.id, place.name) for place in scenario.positions}
    begin = st.selectbox("Days count from", [FIRST, *places], key="days_from", bind="query-params", width=170,
                         format_func=lambda one: places.get(one, one))
    return {"trades": asked_trades, "people": asked_people, "from": None if begin == FIRST else begin,
            "target": None if value is None else TARGETS[kind].format(value)}


def _trade_and_people(scenario: Scenario, trades: list[str]) -> tuple[str, str]:
    first = crewing.first_trade(scenario)
    trade = st.selectbox("Trade", trades, trades.index(first) if first else 0, key="trade", bind="query-params",
                         width=220, format_func=lambda one: _named(scenario, one))
    shifts = crewing.shifts_of(scenario, trade)
    now_on = next(iter(scenario.trades[trade].people), shifts[0] if shifts else "")
    shift = now_on
    if len(shifts) > 1:
        shift = st.selectbox("Shift", shifts, shifts.index(now_on), key="crew_shift", bind="query-params", width=100)
    people = _people(f"People, now {crewing.people_now(scenario, trade, shift)}", "people",
                     crewing.usual_people(scenario, trade, shift, MORE))
    return (trade if shift == now_on else f"{trade}.{shift}"), people


def _named(scenario: Scenario, trade: str) -> str:
    return words.named(trade, scenario.trades[trade].name) if trade in scenario.trades else trade


def _people(label: str, key: str, usual: str) -> str:
    return (st.text_input(label, key=key, bind="query-params", width=120, placeholder=usual) or "").strip() or usual


def _marked(numbers: Mapping[str, Any]) -> tuple[str, ...]:
    """The crew that was chosen; without a target the days of the smallest and of the largest."""
    rows, choice = numbers["crews"], numbers["choice"]
    if choice is None:
        few, many = (days_words(row["8 in 10"]) for row in (rows[0], rows[-1]))
        return f"{few} work days", f"{many} with {rows[-1]['crew']}"
    return (rows[choice["number"]]["crew"],) if choice["crew"] else (
        "none of the crews tried", "None of the crews tried")


def _numbers(numbers: Mapping[str, Any], scenario: Scenario) -> list[Number]:
    """The smallest crew and how sure it is, or the days of the smallest and the largest; what waits; what is not
    flown."""
    rows = numbers["crews"]
    few, many, trade = rows[0], rows[-1], numbers["trades"][0]["trade"]
    found = _of_target(numbers) if numbers["choice"] else [_days(row) for row in ([few, many] if len(rows) > 1
                                                                                   else [few])]
    found.append(Number(f"Hours waited for {trade}", *_both(
        rows, lambda row: words.hours(row["waiting"][trade]["hours"]["mean"]))))
    want = crewing.wanted_for_flying(scenario, trade)
    if want is not None and want in few["flying days"]:
        found.append(Number(f"Not flown: {want}", *_both(
            rows, lambda row: words.tenths(row["flying days"][want]), "days")))
    return found


def _days(row: Mapping[str, Any]) -> Number:
    return Number(f"8 in 10 keep, {row['crew']}", days_words(row["8 in 10"]), "work days",
                  f"half keep {days_words(row['half'])}")


def _of_target(numbers: Mapping[str, Any]) -> list[Number]:
    choice, rows = numbers["choice"], numbers["crews"]
    name = "Smallest" if len(numbers["trades"]) == 1 else "Cheapest"
    name += " that keeps it" if choice["settled"] else " so far, unsettled"
    if choice["crew"]:
        kept = rows[choice["number"]]["keeps the target"]
        crew = Number(name, choice["crew"], circles=(kept["runs"], kept["of"]))
    else:
        kept = rows[-1]["keeps the target"]
        crew = Number(name, "none", f"of {len(rows)} tried",
                      f"{rows[-1]['crew']}: {words.chance(kept['runs'], kept['of'])}")
    if not choice["settled"]:
        return [crew, Number("Chance this is wrong", "no bound", "", "more runs may give it one")]
    return [crew, Number("Chance this is wrong", words.percent(choice["wrong at most"]), "at most")]


def _both(rows: Sequence[Mapping[str, Any]], said: Callable[[Mapping[str, Any]], str],
          unit: str = "") -> tuple[str, str, str]:
    """A number of the smallest crew and of the largest."""
    if len(rows) == 1:
        return said(rows[0]), unit, f"with {rows[0]['crew']}"
    return said(rows[0]), f"to {said(rows[-1])} {unit}".strip(), f"{rows[0]['crew']} to {rows[-1]['crew']}"
