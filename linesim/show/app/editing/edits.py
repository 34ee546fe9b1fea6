"""Edits of a table on the screen carried over to the papers: changed cells, new rows, rows taken out.

Each edit gives new papers, or is refused with a reason that names table, row and column.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from ....scenario.tree import Path_, value_at
from .cells import meant
from .fixed import Refused, fixed_package_field, kept_package, lost_wait
from .nouns import PACKAGES, PEOPLE, POSITIONS, RATE, SHIFTS, Column, Noun, name_of
from .papers import Papers, read
from .writing import add, put, take_out

Cells = Mapping[str, Any]  # by the name of the column
BLOCK = ("A block of cells was pasted into one open cell. Press Escape first, so that the cell is only marked, then "
         "paste")
_BY_NAME = {PEOPLE.name: ("trades",), SHIFTS.name: ("shifts",)}


@dataclass(frozen=True, slots=True)
class Edits:
    """What was done in a table: cells by the number of their row (from 0), new rows, numbers of rows taken out."""

    cells: Mapping[int, Cells] = field(default_factory=dict)
    new: Sequence[Cells] = ()
    out: Sequence[int] = ()

    def __bool__(self) -> bool:
        return bool(self.cells or any(self.new) or self.out)

    @property
    def size(self) -> int:
        """How many cells were changed or are new."""
        return sum(map(len, [*self.cells.values(), *self.new]))


def since(before: Edits, now: Edits, rows: int) -> Edits:
    """What is new in the edits of a table that had so many rows: new rows seen before are changed in place."""
    cells = {row: {name: cell for name, cell in found.items() if before.cells.get(row, {}).get(name, ...) != cell}
             for row, found in now.cells.items()}
    known = [one for one in before.new if one]
    wanted = [one for one in now.new if one]
    for number, one in enumerate(wanted[:len(known)]):
        cells[rows + number] = {name: cell for name, cell in one.items() if known[number].get(name, ...) != cell}
        cells[rows + number] |= {name: None for name in known[number] if name not in one}
    return Edits({row: found for row, found in cells.items() if found}, wanted[len(known):],
                 tuple(row for row in now.out if row not in before.out))


def edited(papers: Papers, noun: Noun, edits: Edits) -> Papers:
    """The papers with all edits of one table; raises Refused, and then none of them is made."""
    for row, cells in [*edits.cells.items(), *((len(noun.rows(values_of(papers))), cells) for cells in edits.new)]:
        for name, cell in cells.items():
            if isinstance(cell, str) and ("\t" in cell or "\n" in cell):
                raise _said(noun, row, name, BLOCK)
    for row, cells in edits.cells.items():
        for name, cell in cells.items():
            papers = _with_cell(papers, noun, row, name, cell)
    for row in sorted(set(edits.out), reverse=True):
        papers = _without_row(papers, noun, row)
    new = [cells for cells in edits.new if any(cell is not None for cell in cells.values())]
    if new and noun.section:  # a block of rows that was pasted is written at once
        return _with_entries(papers, noun, new)
    for cells in new:
        papers = _with_row(papers, noun, cells)
    return papers


def values_of(papers: Papers) -> Any:
    """The values that the papers say; raises Refused where they cannot be read."""
    source = read(papers).source
    if source is None:
        raise Refused("The file cannot be read; put its faults right by hand first")
    return source.values


def _said(noun: Noun, row: int, name: str, why: str) -> Refused:
    column = f", {name}" if name else ""
    return Refused(f"{noun.name}, row {row + 1}{column}: {why.rstrip('.')}.")


# one cell -------------------------------------------------------------------------------------------------------
def _with_cell(papers: Papers, noun: Noun, row: int, name: str, cell: Any) -> Papers:
    values = values_of(papers)
    path, column = noun.rows(values)[row], next(one for one in noun.columns(values) if one.name == name)
    why = column.fixed
    if noun is PACKAGES and not why and column.at:
        why = _fixed_here(values, path, column, cell)
    if why:
        raise _said(noun, row, name, why)
    try:
        if noun is RATE:
            return _with_step_cell(papers, path, column, cell)
        if noun is PEOPLE and column.at[:1] == ("people",):
            return _with_people(papers, path, column, cell)
        place = (*path, *column.at)
        return put(papers, place, meant(cell, column.form, value_at(place, values)))
    except Refused as refused:
        raise _said(noun, row, name, str(refused)) from None


def _fixed_here(values: Any, path: Path_, column: Column, cell: Any) -> str:
    package, packages = value_at(path, values), value_at(path[:-1], values)
    name = str(column.at[-1])
    if name == "after":
        return lost_wait(packages, path[-1], meant(cell, column.form))
    return fixed_package_field(package, name)


def _with_people(papers: Papers, path: Path_, column: Column, cell: Any) -> Papers:
    """People of one shift; a single number stands for those of the first one."""
    place, people = (*path, "people"), meant(cell, column.form)
    values = values_of(papers)
    before, shifts = value_at(place, values), list(value_at(("shifts",), values) or ())
    if len(column.at) == 1 or (isinstance(before, int) and column.at[1] == shifts[0] and people is not None):
        return put(papers, place, people)
    if isinstance(before, int):
        return put(papers, place, {shifts[0]: before} | {column.at[1]: people} if people is not None else
                   {} if column.at[1] == shifts[0] else before)
    return put(papers, (*place, column.at[1]), people)


def _with_step_cell(papers: Papers, path: Path_, column: Column, cell: Any) -> Papers:
    value = meant(cell, column.form)
    if path == ("launches",) and column.at == ("from",):
        raise Refused("This takt holds from the start; a dated change is a row of its own")
    if path[0] == "plans" and len(path) == 2:
        return papers if value is None else add(papers, (*path, "steps"), 0, [{column.at[0]: value}])
    return put(papers, (*path, *column.at), value)


# whole rows -----------------------------------------------------------------------------------------------------
def _without_row(papers: Papers, noun: Noun, row: int) -> Papers:
    values = values_of(papers)
    path = noun.rows(values)[row]
    why = kept_package(value_at(path, values)) if noun is PACKAGES else ""
    if noun is POSITIONS:
        why = next((kept_package(one) for one in value_at((*path, "packages"), values) or ()
                    if isinstance(one, dict) and kept_package(one)), "")
    if path == ("launches",):
        why = "A plant without a takt launches nothing; change the number"
    try:
        if why:
            raise Refused(why)
        return take_out(papers, path)
    except Refused as refused:
        raise _said(noun, row, "", f"{name_of(noun, path, values)} stays. {refused}") from None


def _with_entries(papers: Papers, noun: Noun, new: Sequence[Cells]) -> Papers:
    values, where = values_of(papers), noun.section
    columns = noun.columns(values)
    try:
        return add(papers, where, len(value_at(where, values) or ()), [_entry(columns, cells) for cells in new])
    except Refused as refused:
        raise _said(noun, len(noun.rows(values)), "", str(refused)) from None


def _with_row(papers: Papers, noun: Noun, cells: Cells) -> Papers:
    values = values_of(papers)
    columns = noun.columns(values)
    entry = _entry(columns, cells)
    code = str(next((cells.get(column.name) for column in columns if not column.at), None) or "").strip()
    try:
        if noun is RATE:
            return _with_step(papers, values, code, entry)
        return _with_named(papers, values, _BY_NAME[noun.name], code, entry)
    except Refused as refused:
        raise _said(noun, len(noun.rows(values)), "", str(refused)) from None


def _entry(columns: Sequence[Column], cells: Cells) -> dict[str, Any]:
    entry: dict[str, Any] = {}
    for column in columns:
        value = meant(cells.get(column.name), column.form)
        if value is not None and column.at:
            _lay(entry, column.at, value)
    return entry


def _lay(entry: dict[str, Any], at: Path_, value: Any) -> None:
    for step in at[:-1]:
        entry = entry.setdefault(step, {})
    entry[at[-1]] = value


def _with_named(papers: Papers, values: Any, where: Path_, code: str, entry: dict[str, Any]) -> Papers:
    if not code:
        raise Refused("Begin a new row with its name in the first column")
    if code in (value_at(where, values) or {}):
        raise Refused(f"There is one called {code} already")
    return put(papers, (*where, code), entry)


def _with_step(papers: Papers, values: Any, plan: str, entry: dict[str, Any]) -> Papers:
    """A dated change of the takt, in the order of the dates; of a plan that is not there, the plan is begun."""
    if not plan:
        where: Path_ = ("launches", "steps")
    else:
        names = [one.get("name") for one in value_at(("plans",), values) or () if isinstance(one, dict)]
        if plan not in names:
            return add(papers, ("plans",), len(names), [{"name": plan} | ({"steps": [entry]} if entry else {})])
        where = ("plans", names.index(plan), "steps")
    steps = value_at(where, values) or []
    before = [n for n, step in enumerate(steps) if isinstance(step, dict) and str(step.get("from", "")) <= str(
        entry.get("from", "9"))]
    return add(papers, where, before[-1] + 1 if before else 0 if "from" in entry else len(steps), [entry])
