"""The largest losses on the chain with what a permitted change gives, as a table; what was tried, from the folder."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from ...questions.late_words import largest_sentences, most_gained, seen, short, signed
from ...scenario.scenario import Scenario
from .. import words
from ..folder_check import LOSSES, Identity
from .blocks import Table

HEADS = {"deliveries": "Aircraft in the window", "flow, calendar days": "Flow, calendar days",
         "delivery, calendar days": "Its delivery, calendar days", "work days of this loss": "This loss, work days",
         "work days lost": "All losses, work days"}
NOT_RUN = "not run yet"


def losses_part(numbers: Mapping[str, Any]) -> tuple[list[str], list[Table]]:
    """Sentences and table of the report; nothing, where nothing is delivered or lost."""
    found = numbers.get("largest losses")
    if not found or not found["largest"]:
        return [], []
    rows = with_what_was_tried(found["largest"], numbers.get("changes tried"))
    said = [*largest_sentences({**found, "largest": rows}), *filter(None, [most_gained(rows)])]
    if any(row["lever"] and not row["gives"] for row in rows):
        said.append(f"What the permitted changes give is run by `linesim late FILE --runs {numbers['runs']} --seed "
                    f"{numbers['seed']}` of the same file; `linesim report` of the run folder then sets it in here.")
    return said, [table(found, rows)]


def table(numbers: Mapping[str, Any], rows: Sequence[Mapping[str, Any]]) -> Table:
    """One row for each loss: work days, the change, and what it gives with its paired 95 % interval."""
    tried = [row["gives"] for row in rows if row["gives"]]
    names = [name for name in HEADS if tried and name in tried[0]]
    printed = tuple((short(row), words.tenths(row["work days"]), _change(row), *(_cell(row, name) for name in names))
                    for row in rows)
    runs = max((found["of"] for one in tried for found in one.values() if found), default=0)
    gives = (f" What it gives: the changed scenario less this one on the same luck, {words.runs(runs)} of each, in "
             "brackets the 95 % interval; none seen: the interval holds 0.") if tried else ""
    whose = "of the aircraft, mean of the runs," if numbers.get("serial") else "per aircraft"
    return Table(f"Work days lost {whose} on the chain that sets the date, and a permitted change.{gives}",
                 ("Lost to", "Work days", "Permitted change", *(HEADS[name] for name in names)), printed, fits=False)


def _change(row: Mapping[str, Any]) -> str:
    return str(row["change"]) if not row["cannot be run"] else f"{row['change']} (a fault of the file)"


def _cell(row: Mapping[str, Any], name: str) -> str:
    if not row["lever"] or row["cannot be run"]:
        return ""
    found = row["gives"] and row["gives"].get(name)
    if not found:
        return NOT_RUN
    span = f" ({signed(found['low'])} to {signed(found['high'])})" if "low" in found else ""
    return f"{signed(found['mean'])}{span}" if seen(found) else f"none seen{span}"


def tried_in(folder: Path, scenario: Scenario, seed: int) -> dict[str, Any] | None:
    """What `linesim late` put into a run folder; None where nothing stands there, or what another version, scenario or
    seed gave."""
    try:
        found = json.loads((folder / LOSSES).read_bytes())
        head = Identity.of(scenario, seed).head()
        same = all(found[name] == value for name, value in head.items())
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return dict(found) if same else None


def with_what_was_tried(rows: Sequence[Mapping[str, Any]], tried: Mapping[str, Any] | None) -> list[dict[str, Any]]:
    """The losses of a report, each with what the same change gave where it was run."""
    given = {(one["place"], one["reason"], json.dumps(one["changes"])): one["gives"]
             for one in (tried or {}).get("largest", ())}
    return [{**row, "gives": given.get((row["place"], row["reason"], json.dumps(row["changes"])))} for row in rows]
