"""What the checks found, as a table that a command prints and a file keeps, and the summary that others show."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from .check import BAND, Check

KEPT = Path("results") / "proof.json"


def row_of(subject: str, check: Check) -> dict[str, Any]:
    """One line of the table."""
    away = check.away
    return {"subject": subject, "check": check.name, "source": check.source, "expected": check.expected,
            "got": check.got if math.isfinite(check.got) else None,
            "standard errors away": None if away is None or not math.isfinite(away) else round(away, 3),
            "holds": check.holds}


def numbers_of(rows: list[dict[str, Any]]) -> dict[str, Any]:
    """Counts over the rows: all, by subject, and how the random ones lie."""
    subjects: dict[str, list[dict[str, Any]]] = {}
    for row in rows:
        subjects.setdefault(row["subject"], []).append(row)
    away = [abs(row["standard errors away"]) for row in rows if row["standard errors away"] is not None]
    return {"checks": len(rows), "hold": sum(row["holds"] for row in rows), "random": len(away), "band": BAND,
            "within 1": sum(one <= 1 for one in away), "within 2": sum(one <= 2 for one in away),
            "furthest": max(away, default=0.0),
            "subjects": [{"subject": name, "checks": len(of), "hold": sum(row["holds"] for row in of)}
                         for name, of in subjects.items()]}


def sentences_of(numbers: dict[str, Any]) -> list[str]:
    """The summary in words."""
    exactly = numbers["checks"] - numbers["random"]
    found = [f"{numbers['hold']} of {numbers['checks']} checks against values from outside hold: "
             + ", ".join(f"{one['subject']} {one['hold']} of {one['checks']}" for one in numbers["subjects"]) + "."]
    if numbers["random"]:
        found.append(
            f"{exactly} of them are exact. The other {numbers['random']} are random and lie at most "
            f"{numbers['furthest']:.1f} standard errors away; {numbers['within 1'] / numbers['random']:.0%} lie within "
            f"one and {numbers['within 2'] / numbers['random']:.0%} within two, where luck alone gives about 68 % and "
            "95 %.")
    return found


def summary(file: Path | None = None) -> dict[str, Any] | None:
    """Numbers and `sentences` of the last generated table: `file`, else results/proof.json here, else the one beside
    the package; None, if there is none."""
    beside = Path(__file__).parents[3] / KEPT
    for path in [file] if file else [KEPT, beside]:
        try:
            kept = json.loads(path.read_text(encoding="utf-8"))
            return {"made with": kept["linesim"], "slow part too": kept["slow part too"], **kept["summary"],
                    "sentences": sentences_of(kept["summary"])}
        except (OSError, ValueError, KeyError, TypeError):
            continue
    return None


def failing(rows: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """Rows that do not hold."""
    return [row for row in rows if not row["holds"]]
