"""`linesim language`: the reference of the scenario language, a part of it, or its JSON Schema for editors."""

from __future__ import annotations

import json
import re
import shutil
import sys
import textwrap
from collections.abc import Iterator
from pathlib import Path

from ..scenario.reference import ABOUT, Part, part, reference, sections
from ..scenario.schema import json_schema

EXIT_FAULTS = 2
WIDEST = 100  # characters of a line on the screen: longer ones are hard to follow


def print_language(only: str | None, *, schema: bool) -> int:
    """Print what is asked for, the whole into a file as Markdown; an unknown name is said with what is near."""
    if schema:
        print(json.dumps(json_schema(), indent=1))
    elif only is None and not sys.stdout.isatty():
        print(reference())
    else:
        try:
            shown = part(only) if only else [(section, section.rows) for section in sections()]
        except LookupError as error:
            print(error.args[0], file=sys.stderr)
            return EXIT_FAULTS
        width = min(shutil.get_terminal_size().columns, WIDEST)
        about = [] if only else [*_wrapped(_plain(ABOUT.split("\n\n")[-1]), width), ""]
        print("\n".join([*about, *(line for one in shown for line in on_screen(one, width))]))
    return 0


def on_screen(shown: Part, width: int) -> Iterator[str]:
    """Lines of a section for a screen of so many characters: each field by itself, its columns one under another."""
    section, rows = shown
    yield section.title.upper()
    yield from _wrapped(_plain(section.about), width)
    if section.where:
        yield from _wrapped(_plain(f"Stands in {section.where}."), width)
    for row in rows:
        yield f"\n  {row.name}"
        yield from _wrapped(_plain(row.meaning), width, "    ")
        for label in ("unit", "allowed", "default", "example"):
            if said := getattr(row, label):
                yield from _wrapped(said if label == "example" else _plain(said), width, f"    {label:<9}")
    yield ""


def _wrapped(text: str, width: int, before: str = "") -> list[str]:
    """Text with its further lines under the first."""
    return textwrap.wrap(text, width, initial_indent=before, subsequent_indent=" " * len(before),
                         break_long_words=False, break_on_hyphens=False)


def _plain(text: str) -> str:
    """Text without the marks of Markdown: names of sections in quotes instead."""
    text = re.sub(r"\[([^]]+)\]\(#[^)]+\)", r"\1", text)
    return re.sub(r"\*([^*]+)\*", r'"\1"', text).replace("`", "")


def published(folder: Path) -> dict[Path, str]:
    """The files of the language that stand beside the shipped scenarios, as they must be."""
    return {folder / "REFERENCE.md": reference() + "\n",
            folder / "linesim.schema.json": json.dumps(json_schema(), indent=1) + "\n"}
