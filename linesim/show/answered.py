"""The answer to a question as it leaves the command: sentences, tables, what was assumed, cautions; the same numbers as
JSON; its figures as files; and a page to print or send. All of them are set from one section.
"""

from __future__ import annotations

import json
import sys
import textwrap
from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from ..line.sheet import Sheet
from .palette import LIGHT
from .story import PICTURES
from .whole_files import FolderRefused, write_whole
from .words import runs, width, wrapped

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from .report.blocks import Section, Table

GAP = 2  # blanks between columns
PAGE = ".html"


def faults_of(picture: str | None, page: str | None) -> str | None:
    """What is wrong with the names of the files asked for."""
    if picture is not None and Path(picture).suffix not in PICTURES:
        return f"--picture: {picture}: the name must end in {' or '.join(PICTURES)}"
    if page is not None and Path(page).suffix != PAGE:
        return f"--page: {page}: the name must end in {PAGE}"
    return None


def show(section: Section, numbers: dict[str, Any], sheet: Sheet, *, as_json: bool, picture: str | None,
         page: str | None) -> None:
    """Write the files asked for and print the answer. Raises FolderRefused where a file cannot be written."""
    files = written(section, numbers, sheet, picture, page)
    if files:
        numbers["files"] = files
    if as_json:
        print(json.dumps(numbers, indent=2))
        return
    print("\n".join(in_words(section, numbers)))


def written(section: Section, numbers: Mapping[str, Any], sheet: Sheet, picture: str | None,
            page: str | None) -> list[str]:
    """Write the files asked for; their names. Raises FolderRefused where one cannot be written."""
    return [*(_pictures(section, Path(picture)) if picture else ()),
            *([_page(section, numbers, sheet, Path(page))] if page else ())]


def in_words(section: Section, numbers: Mapping[str, Any]) -> list[str]:
    """As it is printed."""
    lines = ["Stopped: this answer is from the runs that are kept; the same command goes on.", ""] \
        if numbers["stopped"] else []
    lines += [line for sentence in section.answer for line in wrapped(sentence)]
    for table in section.tables:
        lines += ["", *wrapped(table.note), *columns(table)]
    lines += ["", *(line for text in numbers["assumed"] for line in wrapped(f"Assumed  {text}", 9))]
    cautions = [f"{one.head} {one.text}" for one in section.cautions] + list(numbers["cautions"])
    lines += [line for text in cautions for line in wrapped(f"Caution  {text}", 9)]
    lines += [line for file in numbers.get("files", ()) for line in wrapped(f"Written  {file}", 9)]
    return [*lines, f"From {runs(numbers['runs'])} of each, seed {numbers['seed']}, if the inputs are right."]


def columns(table: Table) -> Iterator[str]:
    """A table in columns; heads stand in as many lines as they need. Too wide a table goes on below, first column
    again."""
    used = table.columns
    wide = {n: max([*(len(row[n]) for row in table.rows), *map(len, table.head[n].split()), 1]) for n in used}
    airy = {n: max(wide[n], min(9, len(table.head[n]))) for n in used}
    if sum(airy.values()) + GAP * (len(used) - 1) <= width():
        wide = airy
    heads = {n: textwrap.wrap(table.head[n], wide[n]) or [""] for n in used}
    rest = used[1:]
    while rest:
        part, taken = [used[0]], wide[used[0]]
        while rest and (len(part) == 1 or taken + GAP + wide[rest[0]] <= width()):
            taken += GAP + wide[rest[0]]
            part.append(rest.pop(0))
        high = max(len(heads[n]) for n in part)
        stacked = [[([""] * (high - len(heads[n])) + heads[n])[line] for n in part] for line in range(high)]
        for cells in [*stacked, *([row[n] for n in part] for row in table.rows)]:
            yield (" " * GAP).join(cell.rjust(wide[n]) if table.right(n) else cell.ljust(wide[n])
                                   for n, cell in zip(part, cells, strict=True)).rstrip()
        if rest:
            yield ""


def stopped_before(what: str) -> None:
    """Say that nothing can be answered yet."""
    print(f"Stopped before {what}; the same command goes on from there.", file=sys.stderr)


def _pictures(section: Section, picture: Path) -> list[str]:
    """Each figure in a file: the first under the name asked for, others beside it by their own."""
    found = []
    for n, one in enumerate(section.pictures):
        path = picture if n == 0 else picture.with_stem(f"{picture.stem}-{one.key}")
        save(path, one.figure, one.title, one.reading)
        found.append(str(path))
    return found


def save(path: Path, figure: Figure, title: str, reading: str) -> None:
    """A figure with its heading in a file of its own, SVG or PNG: the same bytes each time. Raises FolderRefused where
    it cannot be written."""
    from .charts.settings import headed
    from .charts.svg import alone, pixels

    drawn = headed(figure, LIGHT, title, reading)
    _write(path, pixels(drawn) if path.suffix == ".png" else alone(drawn, title, reading).encode())


def _page(section: Section, numbers: Mapping[str, Any], sheet: Sheet, page: Path) -> str:
    _write(page, page_text(section, numbers, sheet, datetime.now().strftime("%Y-%m-%d %H:%M")).encode())
    return str(page)


def page_text(section: Section, numbers: Mapping[str, Any], sheet: Sheet, made: str) -> str:
    """The answer as a page to print or send; `made` is the moment of the runs as text."""
    from .report.page import page_of

    assumed = Markup("<div class=\"note\"><b>Assumed in this answer</b><ul>{}</ul></div>").format(
        Markup("").join(Markup("<li>{}</li>").format(text) for text in numbers.get("assumed", ())))
    after = assumed if numbers.get("assumed") else Markup("")
    return page_of(sheet, [replace(section, after=after)], {"never moving on": [], **numbers}, made)


def _write(path: Path, content: bytes) -> None:
    try:
        write_whole(path, content)
    except OSError as error:
        raise FolderRefused(path, f"it cannot be written ({error.strerror or error})", "") from None
