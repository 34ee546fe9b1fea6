"""`python -m tests.bench [PART ...]`: measures what linesim costs and prints it as a table.

Without parts all but the long ones; `--all` with those. `--keep` writes the rows into the table of DEVELOPERS.md; rows
of other parts stay.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path

from .measured import TREE, Row, machine
from .parts import LONG, PARTS

KEPT, NOTES = Path(__file__).parent / "kept.json", TREE / "DEVELOPERS.md"
BEGIN, END = "<!-- from tests/bench -->", "<!-- end of tests/bench -->"


def main(arguments: Sequence[str]) -> None:
    """Measure and print; keep, if asked to."""
    options = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    options.add_argument("parts", nargs="*", choices=[[], *PARTS], metavar="PART", help=", ".join(PARTS))
    options.add_argument("--all", action="store_true", help=f"the long ones, too: {', '.join(LONG)}")
    options.add_argument("--keep", action="store_true", help="write the rows into DEVELOPERS.md")
    given = options.parse_args(arguments)
    kept = json.loads(KEPT.read_text()) if KEPT.exists() else {}
    for part in given.parts or [name for name in PARTS if given.all or name not in LONG]:
        rows = []
        for row in PARTS[part]():
            print(_as_line(row), flush=True)
            rows.append([row.what, row.figure, row.note])
        kept[part] = {"rows": rows, "machine": machine(), "on": str(datetime.now(UTC).date())}
        if given.keep:
            KEPT.write_text(json.dumps(kept, indent=1) + "\n")
            NOTES.write_text(with_table(NOTES.read_text(), kept))


def _as_line(row: Row) -> str:
    return f"| {row.what} | {row.figure} | {row.note} |"


def with_table(text: str, kept: Mapping[str, Mapping[str, object]]) -> str:
    """DEVELOPERS.md with its table made anew; raises ValueError where the place for it is missing."""
    before, begin, rest = text.partition(BEGIN)
    _, end, after = rest.partition(END)
    if not begin or not end:
        raise ValueError(f"{NOTES.name} has no {BEGIN} ... {END}")
    return f"{before}{BEGIN}\n{table(kept)}{END}{after}"


def table(kept: Mapping[str, Mapping[str, object]]) -> str:
    """All kept rows, and the machines they were measured on."""
    parts = [kept[name] for name in PARTS if name in kept]
    rows = [_as_line(Row(*row)) for part in parts for row in part["rows"]]  # type: ignore[attr-defined]
    machines = dict.fromkeys(f"{part['on']}: {part['machine']}." for part in parts)
    return "\n".join(["| what | figure | |", "|---|---|---|", *rows, "", *(f"- {one}" for one in machines), ""])


if __name__ == "__main__":
    main(sys.argv[1:])
