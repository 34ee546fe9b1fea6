"""The answer on dates in sentences; the first one is the answer itself."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ..measures.estimates import chance_words
from .reason_words import lost_to


def sentences(numbers: Mapping[str, Any]) -> list[str]:
    """How many are late, of one serial when, and what may be promised."""
    rows = numbers["serials"]
    said = _one(rows[0], numbers) if len(rows) == 1 else _all(rows, numbers)
    return said + ([] if numbers["new order"] is None else [_new(numbers["new order"], numbers)])


def _all(rows: list[Mapping[str, Any]], numbers: Mapping[str, Any]) -> list[str]:
    of = sum("state" in row for row in rows)
    late, risk = numbers["states"]["late"], numbers["states"]["at risk"]
    if not rows:
        return ["The scenario has no order book, so no aircraft has a date of its own."]
    if not of:
        return ["No aircraft of the order book has a promised date."]
    if late:
        said = f"{late} of {of} aircraft {'is' if late == 1 else 'are'} late in more than half the runs"
        said += f", {risk} more {'is' if risk == 1 else 'are'} at risk" if risk else ""
    elif risk:
        said = (f"{risk} of {of} aircraft {'is' if risk == 1 else 'are'} at risk; none is late in more than half the "
                "runs")
    else:
        said = f"All {of} aircraft keep their promised date in 8 in 10 runs or more"
    return [f"{said}.", *_mostly(rows)]


def _mostly(rows: list[Mapping[str, Any]]) -> list[str]:
    """What the late ones lose most days to, all of them together."""
    total: dict[str, float] = {}
    late = [row for row in rows if row.get("state") == "late"]
    for row in late:
        for lost in row["work days lost"]:
            total[where(lost)] = total.get(where(lost), 0.0) + lost["work days"]
    if not total:
        return []
    most, days = max(total.items(), key=lambda item: item[1])
    return [f"The late ones lose most days to {most}: {days / len(late):.1f} work days each, "
            "mean of the runs."]


def _one(row: Mapping[str, Any], numbers: Mapping[str, Any]) -> list[str]:
    if "note" in numbers:
        span = f"from {row['first']} to {row['last']}" if row["first"] != row["last"] else f"on {row['first']}"
        said = [f"{row['serial']} is delivered {span} in {_runs(numbers['runs'])}; {numbers['note']}."]
    else:
        said = [f"{row['serial']}: half the runs deliver by {row['half by']}, 8 in 10 by {row['8 in 10 by']}, "
                f"19 in 20 by {row['19 in 20 by']}."]
    if "state" in row:
        kept = chance_words(row["runs that keep it"], row["of"])
        runs = kept if kept.endswith(("run", "runs")) else f"{kept} runs"
        keep = "keeps" if numbers["runs"] == 1 else "keep"
        said.append(f"Promised {row['promised']}: {runs} {keep} it; it is {row['state']}.")
    if row["work days lost"]:
        most = row["work days lost"][0]
        said.append(f"Most days are lost to {where(most)}: {most['work days']:.1f} work "
                    f"days, mean of {_runs(numbers['runs'])}.")
    return said


def _new(row: Mapping[str, Any], numbers: Mapping[str, Any]) -> str:
    what = f"A new {row['model']} order" if row["model"] else "A new order"
    slot = f"launched on {row['launch slot']}" if row["launch slot"] else "at the end of the order book"
    if "note" in row:
        return f"{what} {slot}: {row['note']} to name a date."
    if row["safe to promise"] is None:
        return (f"{what} {slot} cannot be promised: fewer than 8 in 10 runs deliver it by "
                f"{numbers['last date of the runs']}, when the runs end.")
    return (f"{what} {slot} may be promised for {row['safe to promise']}: 8 in 10 runs deliver by then, so 1 in 5 such "
            "promises will be missed.")


def where(lost: Mapping[str, Any]) -> str:
    """What days are lost to, and where: in a place, or parked before it."""
    place = f"{lost['name']} ({lost['place']})" if lost["name"] else str(lost["place"])
    if lost["parked before it"] and lost["reason"] == "blocked":
        return f"waiting for room in {place}"
    return f"{lost_to(lost['reason'])} {'before' if lost['parked before it'] else 'at'} {place}"


def _runs(number: int) -> str:
    return "1 run" if number == 1 else f"{number} runs"
