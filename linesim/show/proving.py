"""`linesim proof`: the engine against values from outside, as a table: check, source, expected, got, verdict."""

from __future__ import annotations

import json
import os
import sys
from itertools import groupby
from pathlib import Path
from typing import Any

from .. import __version__
from ..questions.proof.plants import demo_is_here
from ..questions.proof.registry import carry_out, proofs
from ..questions.proof.shipments import quarters
from ..questions.proof.summary import failing, numbers_of, row_of, sentences_of
from .whole_files import write_whole
from .words import wrapped

EXIT_FAILED = 1


def prove(*, slow: bool, jobs: int, out: str | None, as_json: bool) -> int:
    """Carry out the checks, print their table, and keep it in `out`; 1 if one does not hold."""
    rows: list[dict[str, Any]] = []
    total = len(proofs(slow=slow))
    if out is not None and not Path(out).parent.is_dir():
        print(f"there is no folder {Path(out).parent}; make it first", file=sys.stderr)
        return 2
    for done, (subject, checks) in enumerate(carry_out(slow=slow, jobs=jobs or os.cpu_count() or 1), 1):
        rows += [row_of(subject, check) for check in checks]
        _progress(done, total)
    found = {"linesim": __version__, "slow part too": slow, "left out": left_out(),
             "summary": numbers_of(rows), "checks": rows, "beside, never asserted": quarters()}
    text = json.dumps(found, indent=1) + "\n"
    if out is not None:
        write_whole(Path(out), text.encode())
    print(text if as_json else "\n".join(in_words(found)), end="" if as_json else "\n")
    return EXIT_FAILED if failing(rows) else 0


def left_out() -> list[str]:
    """What cannot be checked here."""
    return [] if demo_is_here() else ["the checks on runs of the demo, which is not installed here"]


def _progress(done: int, total: int) -> None:
    if sys.stderr.isatty():
        print(f"\r{done} of {total} groups of checks done", end="\n" * (done == total), file=sys.stderr, flush=True)


def in_words(found: dict[str, Any]) -> list[str]:
    """The table by subject, the numbered sources, what is shown beside, and the summary."""
    sources = list(dict.fromkeys(row["source"] for row in found["checks"]))
    lines: list[str] = []
    for subject, rows in groupby(found["checks"], lambda row: row["subject"]):
        lines += ["", subject.capitalize(), f"{'expected':>12}{'got':>12}{'SE away':>9}  verdict  check [source]"]
        for row in rows:
            lines += _row(row, sources.index(row["source"]) + 1)
    lines += ["", "SE away: standard errors between the two; `exact` where there is no luck. Sources:"]
    lines += [line for n, source in enumerate(sources, 1) for line in wrapped(f"[{n}] {source}", 5)]
    lines += ["", "Beside each other, never asserted: share of the year's deliveries by quarter, percent"]
    for row in found["beside, never asserted"]:
        cells = "".join("       -" if cell is None else f"{cell:8.1f}" for cell in row["quarters"])
        lines.append(f"{row['year']:<22}{cells}   {row['source']}")
    lines += [""] + [line for text in sentences_of(found["summary"]) for line in wrapped(text)]
    lines += [line for text in found["left out"] for line in wrapped(f"Left out: {text}.")]
    for row in failing(found["checks"]):
        lines += wrapped(f"DOES NOT HOLD  {row['check']}: expected {row['expected']:.6g}, got "
                         + ("no number" if row["got"] is None else f"{row['got']:.6g}"), 15)
    return lines[1:]


def _row(row: dict[str, Any], source: int) -> list[str]:
    away = row["standard errors away"]
    got = "none" if row["got"] is None else f"{row['got']:.6g}"
    head = (f"{row['expected']:>12.6g}{got:>12}" + ("    exact" if away is None else f"{away:>+9.2f}")
            + f"  {'holds' if row['holds'] else 'FAILS':<9}")
    text = wrapped(" " * len(head) + f"{row['check']} [{source}]", len(head))
    return [head + text[0][len(head):], *text[1:]]
