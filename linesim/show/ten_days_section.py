"""The next work days laid out: sentences, the strip by day, and tables of what comes, people and decisions."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from . import words
from .charts import ten_days as chart
from .palette import LIGHT
from .report import cautions
from .report.blocks import Section, Table, picture

NONE_TRIED = "No decision was tried: no aircraft stands on the floor or is launched by takt in these days."
FINE = 0.1    # days: nearer to none, the limit of an interval is given to a hundredth
LIKELY = 0.5  # share of the runs from which a move stands in the table


def section(numbers: Mapping[str, Any]) -> Section:
    """The answer as a section."""
    return Section("next", words.PAGES["next"], said(numbers), [picture(chart.plate(LIGHT, numbers), "next",
                                                                        chart.finding(numbers))],
                   [*tables(numbers), *decided(numbers)], [cautions.CREW, cautions.FLIGHT, cautions.PROMISE])


def said(numbers: Mapping[str, Any]) -> list[str]:
    """All sentences of the answer."""
    return [*numbers["sentences"], *([_verdicts(numbers["decisions"])] if "decisions" in numbers else [])]


def asked_first(numbers: Mapping[str, Any]) -> list[str]:
    """The same, beginning with what was asked about a decision, where one was."""
    *before, last = every = said(numbers)
    if "decisions" in numbers or last == NONE_TRIED:
        return [last, *before]
    if (numbers.get("recover") or {}).get("tried"):
        return [*of_recovery(last), *before]
    return every


def of_recovery(text: str) -> list[str]:
    """The sentences on a recovery, the set of changes before today's plant."""
    today, *more = re.split(r"(?<=\.) (?=[A-Z])", text)
    return [more[0], today, *more[1:]] if len(more) > 1 else [today, *more]


def asked_tables(numbers: Mapping[str, Any]) -> tuple[list[Table], list[Table]]:
    """Tables of what was asked about a decision; all others, the moves first."""
    return decided(numbers), [*_moves(numbers), _days(numbers["by day"]), *_further(numbers)]


def tables(numbers: Mapping[str, Any]) -> list[Table]:
    """What comes by day, moves, the booth, acceptances, people who are short and free."""
    return [_days(numbers["by day"]), *_moves(numbers), *_further(numbers)]


def _further(numbers: Mapping[str, Any]) -> list[Table]:
    found = [_booth(one) for one in numbers["booth"] if one["turns"]]
    found += [_acceptances(numbers)] if numbers["acceptances"] else []
    return [*found, _people(numbers["people"], "jobs waiting", "runs short", "Jobs waiting for each trade, mean of the "
                            "runs (1: one job waits all day), and in how many of them half a job or more waits."),
            _people(numbers["people"], "people free", "runs spare", "Days of people free of each trade (their "
                    "hours without work), mean of the runs, and in how many of them a whole day or more.")]


def decided(numbers: Mapping[str, Any]) -> list[Table]:
    """What was asked about decisions."""
    found = []
    if "decisions" in numbers:
        found.append(_decisions(numbers["decisions"]))
        found += [_named(numbers["decisions"]["named"])] if numbers["decisions"].get("named") else []
    if numbers.get("recover"):
        found += [_recover(numbers["recover"])] if numbers["recover"]["tried"] else []
    return found


def _days(rows: Sequence[Mapping[str, Any]]) -> Table:
    head = ("Day", "Moves", "Launches", "Flights", "A flight in", "Can be flown in", "Deliveries")
    return Table("By day, mean of the runs.", head, tuple(
        (row["day"], words.tenths(row["moves"]), words.tenths(row["launches"]), words.tenths(row["flights"]),
         words.chance(row["runs with a flight"], row["of"]),
         words.chance(row["runs in which it can be flown"], row["of"]), words.tenths(row["deliveries"]))
        for row in rows))


def _moves(numbers: Mapping[str, Any]) -> list[Table]:
    rows = [row for row in numbers["moves"] if row["runs"] >= LIKELY * row["of"]]
    if not rows:
        return []
    eight = any(row["8 in 10 by"] for row in rows)
    head = ("Serial", "Moves to", "Half by", *(("8 in 10 by",) if eight else ()), "Within these days")
    return [Table("Moves that half the runs or more make, in order of date. A place by its code; a half is named.",
                  head, tuple((row["serial"], _to(row), row["half by"] or "",
                               *((row["8 in 10 by"] or "",) if eight else ()),
                               words.chance(row["runs"], row["of"])) for row in rows))]


def _to(row: Mapping[str, Any]) -> str:
    where = f"before {row['to']}" if row["parked before it"] else row["to"]
    half = f", {row['half']}" if row["half"] else ""
    return f"{where}{half}" + (" (launch)" if row["launch"] else "")


def _booth(booth: Mapping[str, Any]) -> Table:
    now = words.listed(list(booth["in it now"])) or "nobody"
    return Table(f"Order at {booth['place']} (in it now: {now}): who has each turn in most runs.",
                 ("Turn", "Serial", "Has it in", "Comes to it in", "Half by"), tuple(
                     (str(row["turn"]), row["serial"], words.chance(row["runs"], row["of"]),
                      words.chance(row["runs that come to this turn"], row["of"]), row["half by"] or "")
                     for row in booth["turns"]))


def _acceptances(numbers: Mapping[str, Any]) -> Table:
    rows = numbers["acceptances"]
    head = ("Serial", "Booked", "Booked day kept in", "Begins, half by", "8 in 10 by", "Begins by then in")
    return Table(f"Acceptances to confirm: those that begin by {numbers['acceptances looked for until']}, as far as "
                 "customers must have notice.", head, tuple(
                     (row["serial"], row["booked"] or "",
                      words.chance(row["runs that keep it"], row["of"]) if row["booked"] else "",
                      row["half by"] or "", row["8 in 10 by"] or "", words.chance(row["runs"], row["of"]))
                     for row in rows))


def _people(rows: Sequence[Mapping[str, Any]], mean: str, runs: str, note: str) -> Table:
    """Trades across, days down: a cell is the mean and, in tenths of the runs, how often."""
    kept = [row for row in rows if any(day[mean] > 0 for day in row["days"])]
    if not kept:
        return Table(f"{note} None.", ("Day",), ())
    days = [day["day"] for day in kept[0]["days"]]
    return Table(f"{note} In brackets: runs in ten.", ("Day", *(row["trade"] for row in kept)), tuple(
        (day[5:], *(f"{words.tenths(row['days'][n][mean])} "
                    f"({words.tenths_full(row['days'][n][runs], row['days'][n]['of'])})" for row in kept))
        for n, day in enumerate(days)))


def _decisions(found: Mapping[str, Any]) -> Table:
    head = ("Decision", "Days earlier", "Earlier in", "Deliveries", "Gains most", "Loses most", "Verdict")
    return Table(f"Decisions on the same luck as today's plant, to {found['until']}: calendar days by which the "
                 f"{words.counted(len(found['looked at']), 'aircraft', 'aircraft')} looked at deliver earlier (mean, "
                 "95 % interval for all decisions together) and deliveries more.", head, tuple(
                     _decision(row) for row in found["rows"]))


def _decision(row: Mapping[str, Any]) -> tuple[str, ...]:
    if "not tried" in row:
        return (row["decision"], "", "", "", "", "", f"not tried: {row['not tried']}")
    days, more = row["days earlier"], row["deliveries more"]
    limits = ""
    if "low" in days:
        digits = 1 if min(abs(days["low"]), abs(days["high"])) >= FINE else 2
        limits = f" ({words.between(words.difference(days['low'], digits), words.difference(days['high'], digits))})"
    return (row["decision"], words.difference(days["mean"]) + limits, words.chance(days["more in"], days["of"]),
            words.difference(more["mean"]), _serial(row["gains most"]), _serial(row["loses most"]), row["verdict"])


def _serial(found: Mapping[str, Any] | None) -> str:
    return f"{found['serial']} {words.difference(found['days'])} d" if found else ""


def _verdicts(found: Mapping[str, Any]) -> str:
    """What the decisions come to."""
    tried = [row for row in found["rows"] if "verdict" in row]
    seen = [f"\N{LEFT DOUBLE QUOTATION MARK}{row['decision']}\N{RIGHT DOUBLE QUOTATION MARK} "
            f"{words.tenths(abs(row['days earlier']['mean']))} days {row['verdict']}"
            for row in tried if row["verdict"] != "no difference seen"]
    none = len(tried) - len(seen)
    aircraft = words.counted(len(found["looked at"]), "aircraft", "aircraft")
    rest = (f"for the other{'s' if none > 1 else ''} ({none} of {len(tried)})" if seen else "for any decision tried")
    parts = [f"The {aircraft} looked at deliver on average with {words.listed(seen)}"] if seen else []
    parts += [f"no difference that {words.runs(found['runs'])} can show {rest}"] if none else []
    return words.sentence("; ".join(parts)) if parts else "No decision could be tried."


def _named(rows: Sequence[Mapping[str, Any]]) -> Table:
    few = "first" in rows[0]
    names = ("first", "last") if few else ("half by", "8 in 10 by", "19 in 20 by")
    return Table("The serials that change places, by decision.", ("Serial", "With", *map(str.capitalize, names)),
                 tuple((row["serial"], row["decision"], *(str(row[name]) for name in names)) for row in rows))


def _recover(row: Mapping[str, Any]) -> Table:
    """Each change has a letter, so that a set of them fits a cell."""
    letters = {change: chr(ord("a") + n) for n, change in enumerate(row.get("permitted", ()))}
    key = "; ".join(f"{letter}: {change}" for change, letter in letters.items())
    return Table(f"Sets of permitted changes that might deliver {row['serial']} by {row['by']} ({key}): wages more by "
                 "then than today's plant pays, paid hours more (with premiums).",
                 ("Changes", "Delivers in", "Runs", "Reaches 8 in 10", "Wages more", "Paid hours more"), tuple(
                     (" + ".join(letters[change] for change in one["changes"]) or "none",
                      words.chance(one["runs"], one["of"]), f"{one['runs']} of {one['of']}",
                      "yes" if one["reaches"] else "no",
                      "" if one["cost"] is None else words.money(one["cost"], table=True),
                      words.hours(one["paid hours"])) for one in row["tried"]))
