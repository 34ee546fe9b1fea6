"""What moves, flies and is handed over in the next ten work days, and who is short?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any
from urllib.parse import quote

import streamlit as st
from markupsafe import Markup

from ....questions.ten_days import DAYS
from ....questions.ten_days_answer import shortest
from ....scenario.scenario import Scenario
from ... import ten_days, ten_days_section, words
from ...charts import ten_days as figure
from ...report import cautions
from ...report.blocks import Table
from .. import chosen, downloads, following, memo
from ..charts import ten_days as chart
from ..memo import Number
from ..replay.address import story_of
from ..wish import wished

COMES, DECIDE, SWAP, RECOVER = "what comes", "what may be decided", "two serials change places", "recover a serial"
MOST_DAYS = 60


def page() -> None:
    """The days, and what may be decided today; then what comes, who is short, and the list of moves."""
    here = chosen.here("next")
    parts = memo.parts("next")
    with parts.inputs:
        days = int(st.number_input("Work days", 1, MOST_DAYS, DAYS, key="days", bind="query-params", width=120))
        what = st.selectbox("Ask", [COMES, DECIDE, SWAP, RECOVER], key="ask", bind="query-params", width=230)
        more, missing = _asked(what, here.scenario)
        runs = memo.runs_input(here)
    with parts.margin:
        memo.caution(cautions.FLIGHT if what == COMES else cautions.CREW)
        memo.assumed(here.scenario)
    options = {"days": days, **more}
    wrong = missing or ten_days.wrong(here.scenario, options)
    if wrong:
        memo.say(parts, "This cannot be asked yet.")
        with parts.progress:
            memo.fault_lines([wrong])
        return
    wish = wished("next", here.path, here.scenario, options, runs)
    found = following.follow(wish, parts, here)
    if found is None:
        return
    numbers = found.numbers
    said = ten_days_section.asked_first(numbers)
    memo.answer(parts, found, said)
    with parts.numbers:
        memo.numbers(_of_decisions(numbers) or _of_recovery(numbers) or _numbers(numbers))
        if what == COMES:
            _events(numbers)
        _decisions(numbers)
    with parts.body:
        first, rest = ten_days_section.asked_tables(numbers)
        for table in first:
            memo.table(_told(table))
        if what != COMES:
            _events(numbers)
        _people(numbers)
        memo.more(said)
        memo.caution(cautions.PROMISE)
        for table in rest:
            memo.table(_told(table))
        memo.note("Assumed in this answer", [words.sentence(one) for one in numbers["assumed"]])
        downloads.row(found, here, lambda: ten_days_section.section(numbers))


def _asked(what: str, scenario: Scenario) -> tuple[dict[str, Any], str]:
    """The inputs of what is asked; the options, and what is missing among them."""
    standing = {one.serial for one in scenario.on_the_line}
    book = [order.serial for order in scenario.orders or ()]
    if what == DECIDE:
        return {"decide": True}, ""
    if what == SWAP:
        able = [serial for serial in book if serial not in standing]
        pair = st.multiselect("Two serials that are not launched yet", able, key="swap", bind="query-params",
                              max_selections=2, width=300, placeholder="two serials")
        missing = "" if len(pair) == 2 else "Choose two serials that are to change places in the order book."
        return {"swap": list(pair)}, missing
    if what == RECOVER:
        serial = st.selectbox("Serial", book, key="recover", bind="query-params", width=150) if book else None
        by = st.text_input("To be delivered by", key="by", bind="query-params", width=150,
                           placeholder=str(scenario.start))
        missing = "This scenario has no order book, so no serial can be named." if serial is None else \
            "" if by else "Give the date by which it is to be delivered, like 2027-01-21."
        return {"recover": serial, "by": (by or "").strip()}, missing
    return {}, ""


def _told(table: Table) -> Table:
    """The table as it stands on the page: a serial leads to its story in run 0."""
    at = table.head.index("Serial") if "Serial" in table.head else None
    if at is None or not table.rows:
        return table
    way = story_of(st.session_state.get(chosen.IN_ADDRESS), 0)
    rows = tuple((*row[:at], Markup('<a href="{}" target="_self">{}</a>').format(way + quote(row[at]), row[at]),
                  *row[at + 1:]) for row in table.rows)
    return replace(table, note=f"{table.note} A serial leads to its story in run 0.", rows=rows)


def _decisions(numbers: Mapping[str, Any]) -> None:
    """What may be decided, drawn."""
    drawn = chart.decided(memo.mode(), numbers)
    if drawn is not None:
        memo.chart("What each decision gives", "On the same luck as today's plant, mean of the aircraft looked at. "
                   "Line: 95 % interval for all decisions together. Open dot: no difference seen.", *drawn)


def _events(numbers: Mapping[str, Any]) -> None:
    memo.chart("What comes, day by day", f"Mean of {words.runs(numbers['runs'])}. The pointer on a cell says it in "
               "words, and the chance of a flight.", *chart.events(memo.mode(), numbers))


def _people(numbers: Mapping[str, Any]) -> None:
    """Jobs that wait, and people who are free."""
    mode, said = memo.mode(), figure.finding(numbers)
    short, spare = chart.waiting(mode, numbers), chart.free(mode, numbers)
    if short is not None:
        memo.chart(said.title, "Jobs that wait for a trade over the day, mean of the runs: the more, the deeper. "
                   "Outlined: half a job or more waits in half the runs.", *short)
    else:
        memo.head(said.title)
    if spare is not None:
        memo.chart("Who is free, day by day", "Days of people without work, mean of the runs. Outlined: a whole day of "
                   "one or more is free in half the runs.", *spare)


def _of_decisions(numbers: Mapping[str, Any]) -> list[Number]:
    """What was tried, and the decision that gives most; nothing where none was tried."""
    found = numbers.get("decisions")
    tried = [row for row in found["rows"] if "verdict" in row] if found else []
    if not found or not tried:
        return []
    seen = {name: [row for row in tried if row["verdict"] == name] for name in ("earlier", "later")}
    head = [Number("Aircraft looked at", words.count(len(found["looked at"])), "", f"until {found['until']}"),
            Number("Decisions tried", words.count(len(tried)), "", f"earlier {len(seen['earlier'])}, later "
                   f"{len(seen['later'])}, not seen {len(tried) - sum(map(len, seen.values()))}")]
    if not seen["earlier"]:
        return [*head, Number("Seen to be earlier", "none", "", f"from {words.runs(found['runs'])}")]
    most = max(seen["earlier"], key=lambda row: float(row["days earlier"]["mean"]))
    days, more = most["days earlier"], most["deliveries more"]
    gain = f"{words.difference(days['mean'])} days earlier, deliveries {words.difference(more['mean'])}"
    return [*head, Number("Most is gained with", most["decision"], "", gain),
            Number("It is earlier in", words.chance(days["more in"], days["of"]),
                   circles=(days["more in"], days["of"]))]


def _of_recovery(numbers: Mapping[str, Any]) -> list[Number]:
    """Today's chance, the set that is chosen, its price and its chance on other luck; nothing where none was tried."""
    found = numbers.get("recover")
    if not found or not found["tried"]:
        return []
    today, chosen, fresh = found["tried"][0], found["chosen"], found.get("on other luck")
    numbers_of = [Number("As it is today", words.chance(today["runs"], today["of"]),
                         circles=(today["runs"], today["of"]))]
    if chosen is not None:
        price = words.hours(chosen["paid hours"]) if chosen["cost"] is None else words.money(chosen["cost"])
        numbers_of += [Number("Cheapest that reaches it", words.chance(chosen["runs"], chosen["of"]),
                              circles=(chosen["runs"], chosen["of"])),
                       Number("More to pay by then", price, "paid hours" if chosen["cost"] is None else "wages",
                              " + ".join(chosen["changes"]) or "nothing changed")]
    if fresh is not None:
        numbers_of.append(Number("The same on other luck", words.chance(fresh["runs"], fresh["of"]),
                                 circles=(fresh["runs"], fresh["of"])))
    return numbers_of


def _numbers(numbers: Mapping[str, Any]) -> list[Number]:
    """Moves, flights, deliveries, and the trade that is most waited for."""
    found = [_count(numbers, name) for name in ("moves", "flights", "deliveries")]
    most = shortest(numbers["people"])
    if most is None:
        return [*found, Number("Most waited for", "nobody", "", "in these days")]
    row, day = most
    return [*found, Number("Most waited for", row["trade"], f"{words.tenths(day['jobs waiting'])} jobs",
                           f"on {day['day']}, {words.named(row['trade'], row['name'])}")]


def _count(numbers: Mapping[str, Any], name: str) -> Number:
    row, label = numbers["in all"][name], name.capitalize()
    if "8 in 10 reach" not in row:
        return Number(label, words.tenths(row["mean"]), "mean", f"of {words.runs(numbers['runs'])}")
    return Number(label, words.count(row["8 in 10 reach"]), "or more",
                  f"8 in 10 runs; half reach {words.count(row['5 in 10 reach'])}")
