"""What the checks found, as a table that a command prints and a file keeps, and the summary that others show."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable
from importlib.metadata import PackageNotFoundError
from importlib.metadata import files as distribution_files
from pathlib import Path
from typing import Any

from ..shares import percent
from .check import BAND, Check

KEPT = Path("results") / "proof.json"
INSTALLED = ("share", "linesim")  # where an installed package has it, below the folder of its data


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
    found = [f"{numbers['hold']} of {numbers['checks']} checks against values from outside the engine hold: "
             + ", ".join(f"{one['subject']} {one['hold']} of {one['checks']}" for one in numbers["subjects"]) + "."]
    if numbers["random"]:
        found.append(
            f"{exactly} of them are exact. The other {numbers['random']} are random and lie at most "
            f"{numbers['furthest']:.1f} standard errors away; {percent(numbers['within 1'] / numbers['random'])} lie "
            f"within one and {percent(numbers['within 2'] / numbers['random'])} within two, where luck alone gives "
            f"about {percent(0.68)} and {percent(0.95)}.")
    return found


def kept_table(file: Path | None = None) -> dict[str, Any] | None:
    """The last generated table: `file`, else results/proof.json here, else the one beside the package or installed with
    it; None, if there is none that can be read."""
    beside = Path(__file__).parents[3] / KEPT
    for path in [file] if file else [KEPT, beside, *installed()]:
        try:
            kept = json.loads(path.read_text(encoding="utf-8"))
            sentences_of(kept["summary"])
            if {"linesim", "slow part too", "checks"} <= set(kept):
                return dict(kept)
        except (OSError, ValueError, KeyError, TypeError):
            continue
    return None


def installed() -> list[Path]:
    """The table that came with an installed package."""
    try:
        listed = distribution_files("linesim") or []
    except PackageNotFoundError:
        return []
    return [Path(str(one.locate())) for one in listed if one.parts[-3:] == (*INSTALLED, KEPT.name)]


def summary(file: Path | None = None) -> dict[str, Any] | None:
    """Numbers and `sentences` of the last generated table, found as `kept_table` does; None, if there is none."""
    kept = kept_table(file)
    if kept is None:
        return None
    return {"made with": kept["linesim"], "slow part too": kept["slow part too"], **kept["summary"],
            "sentences": sentences_of(kept["summary"])}


def failing(rows: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """Rows that do not hold."""
    return [row for row in rows if not row["holds"]]
