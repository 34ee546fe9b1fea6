"""The sections of the report, one for each question: answer, figure, table, caution. A section that says nothing of
this run is left out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd
from markupsafe import Markup

from ...line.sheet import Sheet
from ...questions import figures
from ...questions.baseline import LEAST_RUNS
from ...questions.spread import range_words
from .. import words
from ..charts import balance, dates, days, findings, flights, load, lost, quarters, standing
from ..palette import LIGHT
from . import cautions
from . import tables as set_tables
from .blocks import Caution, Picture, Section, circles, picture
from .losses import losses_part
from .money import money_parts


@dataclass(frozen=True, slots=True, eq=False)
class Given:
    """All that the report is made of."""

    sheet: Sheet
    tables: Mapping[str, pd.DataFrame]
    numbers: Mapping[str, Any]

    @property
    def runs(self) -> int:
        """How many runs the answer holds."""
        return int(self.numbers["runs"])


def sections(given: Given) -> list[Section]:
    """All that this run has something to say on, in order."""
    found = (rate, quarterly, dated, late, crew, flown, stood, pulsed)
    return [section for one in found if (section := one(given)) is not None]


def rate(given: Given) -> Section:
    """What comes out, and what stops it."""
    numbers, sheet = given.numbers, given.sheet
    table = figures.lost(sheet, given.tables, numbers)
    shown = [picture(lost.plate(LIGHT, table), "lost", findings.lost(table))]
    printed = [set_tables.lost(table, numbers)]
    line = figures.balance(sheet, given.tables)
    if len(line):
        shown.append(picture(balance.plate(LIGHT, line), "balance", findings.balance(line, given.runs)))
        printed.append(set_tables.balance(line, given.runs))
    keeps = numbers["keeps the plan"]
    extra = Markup()
    if keeps:
        said = f"{words.share_of_runs(keeps['runs'], keeps['of'])} keep up with the planned launches."
        extra = circles(keeps["runs"], keeps["of"], said) + Markup(" {}").format(said)
    return Section("rate", words.PAGES["rate"], list(rate_sentences(numbers, sheet)), shown, printed, [cautions.RATE],
                   extra)


def rate_sentences(numbers: Mapping[str, Any], sheet: Sheet) -> Iterator[str]:
    """The verdict, what comes out, and what is tightest."""
    yield from numbers["sentences"][1:2]
    takt = numbers["work days between deliveries"]
    if takt:
        planned = sheet.scenario.launches.takt_work_days
        plan = f"; launches are planned every {planned:g}" if planned and not sheet.scenario.launches.steps else ""
        span = f" (95 % interval of the mean {words.tenths(takt['low'])} to {words.tenths(takt['high'])})" \
            if "low" in takt else ""
        yield f"The line delivers one aircraft every {words.tenths(takt['mean'])} work days{span}{plan}."
    yield from numbers["sentences"][2:]


def quarterly(given: Given) -> Section | None:
    """Deliveries by quarter."""
    table = figures.quarters(given.sheet, given.tables, given.numbers)
    printed = [set_tables.quarters(given.numbers)] if given.numbers["quarters"] else []
    both = set_tables.both_ways(given.numbers)
    printed += [both] if both else []
    printed += [set_tables.months(given.numbers)]
    answer = [given.numbers["sentences"][0]]
    shown = []
    if len(table):
        finding = findings.quarters(table)
        answer.append(words.sentence(finding.title))
        shown.append(picture(quarters.plate(LIGHT, table), "quarters", finding))
    answer[1:1] = sure_sentences(given.numbers)
    if both:
        _, _, shared, plain, *_ = both.rows[-1]
        answer.append(f"In the window 8 in 10 runs deliver {shared}; without the luck that aircraft share, {plain}.")
    said, drawn, tables = money_parts(given.numbers)
    return Section("quarters", words.PAGES["quarters"], [*answer, *said], [*shown, *drawn], [*printed, *tables],
                   [cautions.PROMISE])


def sure_sentences(numbers: Mapping[str, Any]) -> list[str]:
    """What each quarter yields in 8 in 10 runs; nothing where the runs are too few."""
    sure = [f"{row['8 in 10 reach']} in {name}" for name, row in numbers["quarters"].items() if "8 in 10 reach" in row]
    return [f"8 in 10 runs deliver at least {words.listed(sure)}."] if sure else []


def dated(given: Given) -> Section | None:
    """Dates by serial."""
    table = figures.dates(given.sheet, given.tables, given.numbers)
    if not len(table):
        return None
    few = dates.shown(table)
    finding = findings.dates(table, len(few))
    shown = [picture(dates.plate(LIGHT, few, given.sheet.scenario.start), "dates", finding)] \
        if given.runs >= LEAST_RUNS else []
    return Section("dates", words.PAGES["dates"], dates_sentences(table), shown,
                   [set_tables.dates(table, given.numbers)], [cautions.PROMISE])


def dates_sentences(table: pd.DataFrame) -> list[str]:
    """How many are late, and which."""
    counts = {state: int((table["state"] == state).sum()) for state in (figures.ON_TIME, figures.AT_RISK, figures.LATE)}
    each = words.listed([f"{count} {state}" for state, count in counts.items() if count])
    said = [f"Of {words.counted(len(table), 'promised aircraft', 'promised aircraft')}: {each}."]
    names = table["serial"].tolist()
    for state in (figures.LATE, figures.AT_RISK):
        rows = table.index[table["state"] == state].tolist()
        if rows:
            said.append(f"{state.capitalize()}: {words.listed(words.stretches(names, rows))}.")
    return said


def late(given: Given) -> Section | None:
    """Where the days go."""
    table = figures.ledger(given.numbers)
    if not len(table):
        return None
    flow = given.numbers["flow, calendar days"]
    finding = findings.ledger(table)
    shown: list[Picture] = []
    printed = []
    answer = [late_sentence(flow, given.runs)]
    chain = figures.chain(given.numbers)
    if len(chain):
        said = findings.chain(chain, given.numbers["what set the dates"]["aircraft"], given.runs)
        answer.append(words.sentence(said.title))
        shown.append(picture(days.chain(LIGHT, chain), "chain", said))
        printed.append(set_tables.chain(chain, given.runs))
    largest, tried = losses_part(given.numbers)
    answer += largest
    printed[:0] = tried
    shown.append(picture(days.ledger(LIGHT, table), "ledger", finding))
    printed.append(set_tables.ledger(table, flow, given.runs))
    return Section("late", words.PAGES["late"], answer, shown, printed, [cautions.NOT_DEAD])


def late_sentence(flow: Mapping[str, float], runs: int) -> str:
    """How long an aircraft takes."""
    mean, low, high = set_tables.interval(flow)
    span = f" (95 % interval of the mean {low} to {high}, {words.runs(runs)})" if low else ""
    return f"An aircraft is {mean} calendar days in the plant, launch to delivery{span}."


def crew(given: Given) -> Section | None:
    """How full the trades are."""
    table = figures.load(given.sheet, given.tables)
    if not len(table):
        return None
    finding = findings.load(table)
    there = set_tables.people_there(given.numbers)
    printed = [set_tables.trades(given.sheet, given.numbers), set_tables.load(table), *([there] if there else [])]
    weeks = figures.load_by_week(given.sheet, given.tables)
    printed.append(set_tables.load_by_week(weeks))
    return Section("crew", words.PAGES["crew"], [crew_sentence(given.numbers)],
                   [picture(load.plate(LIGHT, table), "load", finding),
                    picture(load.weeks(LIGHT, weeks), "load-by-week", findings.load_by_week(weeks))],
                   printed, [cautions.CREW])


def crew_sentence(numbers: Mapping[str, Any]) -> str:
    """The two fullest trades over the window."""
    known = [row for row in numbers["trades"] if row["load"]]
    top = sorted(known, key=lambda row: -float(row["load"]["mean"]))[:2]
    said = []
    for row in top:
        mean, low, high = set_tables.interval(row["load"], set_tables.share)
        span = f" (95 % interval of the mean {low} to {high})" if low else ""
        said.append(f"{words.named(row['trade'], row['name'])}, {mean}{words.THIN}%{span} of the working time")
    are = "The fullest trades in the window are" if len(top) > 1 else "The fullest trade in the window is"
    return f"{are} {words.listed(said)}."


def flown(given: Given) -> Section | None:
    """Flights and squawks."""
    table = figures.flights(given.tables)
    if not len(table):
        return None
    finding = findings.flights(table)
    by_trade = figures.squawk_trades(given.sheet, given.tables)
    printed = [set_tables.flights(table, given.runs)]
    printed += [set_tables.squawks(by_trade)] if len(by_trade) else []
    days = given.numbers["days on the flight line"]
    printed += [set_tables.flying_days(days)] if sum(days.values()) else []
    printed += [set_tables.defects(given.numbers["defects, whole run"])] if given.numbers["defects, whole run"] else []
    found = (table["flew"] * table["squawks"]).sum()
    said = (f"An aircraft flies {words.tenths(table['flew'].sum())} times before finishing, and {words.tenths(found)} "
            f"squawks are written up on these flights, mean of {words.runs(given.runs)}.{_not_flown(days)}")
    return Section("flights", words.PAGES["flights"], [said],
                   [picture(flights.plate(LIGHT, table), "flights", finding)], printed, [cautions.FLIGHT])


def _not_flown(days: Mapping[str, float]) -> str:
    """Of the days with a pilots' shift, how many see no flight, and most often why."""
    whole, flown = sum(days.values()), days.get("flown", 0.0)
    others = {why: number for why, number in days.items() if why != "flown"}
    if not whole or whole == flown:
        return ""
    why = max(others, key=lambda name: others[name])
    return (f" Nobody flies on {words.hours(whole - flown)} of the window's {words.hours(whole)} days with a pilots' "
            f"shift, most often for this: {why} ({words.hours(others[why])} days).")


def stood(given: Given) -> Section | None:
    """Work in process by area."""
    areas, total = figures.standing(given.sheet, given.tables)
    if len(total) < 2:
        return None
    finding = findings.standing(given.numbers["aircraft in process"], given.runs)
    total_mean = sum(row["mean"] for row in given.numbers["aircraft in process"].values())
    said = (f"{words.tenths(total_mean)} aircraft stand in the plant, mean of the window and of "
            f"{words.runs(given.runs)}.")
    return Section("standing", words.PAGES["standing"], [said],
                   [picture(standing.plate(LIGHT, areas, total), "standing", finding)],
                   [set_tables.in_process(given.numbers), set_tables.standing(areas, total, range_words(given.runs))])


def pulsed(given: Given) -> Section | None:
    """The pulse line; nothing in free flow."""
    line = given.numbers.get("pulse line")
    if line is None:
        return None
    stops, stood_for = line["line stops in the window"], line["working hours it stood"]
    said = (f"The line stops {words.tenths(stops['mean'])} times in the window and stands "
            f"{words.hours(stood_for['mean'])} working hours, mean of {words.runs(given.runs)}.")
    table = set_tables.travelled(line)
    warned: list[Caution] = [cautions.TRAVEL]
    if (cost := line["cost of travel, USD a run"]):
        said += f" The price of travelled work is {cost:,.0f} USD a run."
    for_whom = set_tables.stopped_for(line)
    printed = [set_tables.stops(line), *(one for one in (for_whom, table) if one.rows)]
    return Section("pulse", words.PAGES["pulse"], [said], (), printed, warned)
