"""`linesim language`: the reference of the scenario language, a part of it, or its JSON Schema for editors."""

from __future__ import annotations

import json
import sys
from pathlib import Path

from ..scenario.reference import reference
from ..scenario.schema import json_schema

EXIT_FAULTS = 2


def print_language(only: str | None, *, schema: bool) -> int:
    """Print what is asked for; an unknown name is said with what is near."""
    if schema:
        print(json.dumps(json_schema(), indent=1))
        return 0
    try:
        print(reference(only))
    except LookupError as error:
        print(error.args[0], file=sys.stderr)
        return EXIT_FAULTS
    return 0


def published(folder: Path) -> dict[Path, str]:
    """The files of the language that stand beside the shipped scenarios, as they must be."""
    return {folder / "REFERENCE.md": reference() + "\n",
            folder / "linesim.schema.json": json.dumps(json_schema(), indent=1) + "\n"}
