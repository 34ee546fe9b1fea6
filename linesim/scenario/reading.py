"""Reads a scenario file: a scenario, or all its faults at once with file, line and column.

A long list may stand in a CSV table beside the file, one row an entry, one column a field. A cell is read by what its
field holds, so the text 0249 stays text; several names in one cell are parted by semicolons.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from copy import deepcopy
from pathlib import Path
from typing import Any, get_args, get_origin

from pydantic import ValidationError

from .declared import fields_of, kind_at, kind_of
from .extending import extend
from .faults import ScenarioFaults, did_you_mean
from .known import Known
from .rules import faults_of
from .scenario import Scenario
from .spread import Spread
from .tree import Path_, Source, Unread, number_in, read_text, read_tree, too_long, value_at

MOST_TABLE_BYTES = 5_000_000
MOST_ROUNDS = 60
MOST_EXTENDED = 5
# Tried one after the other in the place of a needed value that is wrong, so that the rest can still be judged.
_STAND_INS: tuple[Any, ...] = ("?", 0.5, 1, "2000-01-01", "2000-01-01 00:00", "00:00", "00:00-24:00", True, [], {},
                               [{}], ["?"], [1], "Mon")
_CELL_END = re.compile("[,\n]")
Cell = tuple[str, int, int]  # its text, line and column


def read_scenario(path: str | Path) -> Scenario:
    """The scenario of a file; raises ScenarioFaults with every fault found."""
    path = Path(path)
    return parse_scenario(read_text(path), str(path), path.parent)


def parse_scenario(text: str, file: str = "scenario", folder: Path | None = None) -> Scenario:
    """The scenario of a YAML text; tables beside it are looked for in `folder`. Raises ScenarioFaults."""
    source = _source(text, file, folder or Path(), ())
    scenario: Scenario | None
    spoilt: set[Path_] = set(source.unread)
    try:
        scenario = Scenario.model_validate(source.values)
    except ValidationError as error:
        _add_errors(error, source)
        scenario, spoilt = _mended(error, source)
    for path, message in faults_of(scenario, spoilt) if scenario else ():
        source.add(path, message)
    if scenario is None or source.faults:
        raise ScenarioFaults(file, list(dict.fromkeys(source.faults)))
    return scenario


def _source(text: str, file: str, folder: Path, inside: tuple[Path, ...]) -> Source:
    """Values of a file with its tables, laid over those of the file that it extends."""
    source = read_tree(text, file)
    if "extends" not in source.values:
        _read_tables(source, folder)
        return source
    name = source.values["extends"]
    _read_tables(source, folder)
    try:
        base = beside(name, folder)
        if base in inside or len(inside) >= MOST_EXTENDED:
            raise ValueError("files extend each other in a ring" if base in inside else
                             f"at most {MOST_EXTENDED} files extend one another")
    except (OSError, ValueError, RuntimeError) as error:
        source.add(("extends",), f"{str(name)[:80]!r} cannot be extended: {getattr(error, 'strerror', None) or error}")
        raise ScenarioFaults(file, source.faults) from None
    below = _source(read_text(base), str(folder / str(name)), base.parent, (*inside, base))
    return extend(below, source)


# tables beside the file -----------------------------------------------------------------------------------------
def _read_tables(source: Source, folder: Path) -> None:
    """Put the rows of each table in the place of its `{csv: file.csv}`."""
    for path in [*_first_places(), *_package_places(source)]:
        given = value_at(path, source.values)
        if isinstance(given, dict) and "csv" in given:
            rows = _table(given, path, source, folder)
            if rows is None:
                source.unread.append(path)
            value_at(path[:-1], source.values)[path[-1]] = rows or []


def _first_places() -> list[Path_]:
    return [("positions",), ("orders",), ("on_the_line",), *(("known", name) for name in Known.model_fields)]


def _package_places(source: Source) -> list[Path_]:
    positions = source.values.get("positions")
    return [("positions", n, "packages") for n in range(len(positions) if isinstance(positions, list) else 0)]


def _table(given: dict[Any, Any], path: Path_, source: Source, folder: Path) -> list[dict[str, Any]] | None:
    at, name = (*path, "csv"), given["csv"]
    for extra in given:
        if extra != "csv":
            source.add(path, f"a table is written {{csv: file.csv}}; unknown field {str(extra)[:80]!r}", (*path, extra))
            return None
    if isinstance(name, Unread):
        return None
    try:
        text = _text_of(name, folder)
    except (OSError, ValueError, RuntimeError) as error:
        said = "it is not UTF-8 text" if isinstance(error, UnicodeDecodeError) else \
            getattr(error, "strerror", None) or error
        source.add(path, f"table {str(name)[:80]!r} cannot be read: {said}", at)
        return None
    source.marks[path], source.files[path] = (1, 1), str(folder / name)
    try:
        records = list(_records(text))
    except _Unclosed as quote:
        source.marks[(*path, "quote")] = quote.args[0]
        source.add(path, "a quotation mark is not closed", (*path, "quote"))
        return None
    return _rows(records, path, source)


def beside(name: Any, folder: Path) -> Path:
    """A file in the folder of the scenario file, or below it."""
    if not isinstance(name, str) or not name.strip():
        raise ValueError("it needs the name of a file that stands beside the scenario file")
    if "\0" in name:
        raise ValueError("its name holds a character that no file name may hold")
    found = (folder / name).resolve()
    if Path(name).is_absolute() or not found.is_relative_to(folder.resolve()):
        raise ValueError("it must stand beside the scenario file, not outside its folder")
    found.stat()
    if not found.is_file():
        raise ValueError("it is no file")
    return found


def _text_of(name: Any, folder: Path) -> str:
    table = beside(name, folder)
    size = table.stat().st_size
    if size > MOST_TABLE_BYTES:
        raise ValueError(f"it has {size:,} bytes; at most {MOST_TABLE_BYTES:,} are read")
    return table.read_text(encoding="utf-8-sig")


class _Unclosed(Exception):
    """A quotation mark that is not closed, with its line and column."""


def _records(text: str) -> Iterator[list[Cell]]:
    """Rows of a CSV text (RFC 4180) with the place of each cell; rows without any text are left out."""
    cells: list[Cell] = []
    at, line, line_start = 0, 1, 0
    while at < len(text):
        first = (line, at - line_start + 1)
        if text[at] == '"':
            parts, at = [], at + 1
            while True:
                close = text.find('"', at)
                if close < 0:
                    raise _Unclosed(first)
                parts.append(text[at:close])
                at = close + 1
                if text[at:at + 1] != '"':
                    break
                parts.append('"')
                at += 1
            cell = "".join(parts)
            if "\n" in cell:
                line, line_start = line + cell.count("\n"), text.rindex("\n", 0, at) + 1
        else:
            cell = ""
        mark = _CELL_END.search(text, at)
        stop = mark.start() if mark else len(text)
        cells.append(((cell + text[at:stop]).strip(), *first))
        at = stop + 1
        if stop == len(text) or text[stop] == "\n":
            if any(found for found, _, _ in cells):
                yield cells
            cells, line, line_start = [], line + 1, at
    if cells:  # the text ended behind a comma
        yield cells


def _rows(records: list[list[Cell]], path: Path_, source: Source) -> list[dict[str, Any]] | None:
    allowed = _columns(path)
    head = list(records[0]) if records else []
    while head and not head[-1][0]:  # spreadsheets write empty columns at the end
        head.pop()
    header = [name for name, _, _ in head]
    if not _header_is_right(head, allowed, path, source):
        return None
    rows: list[dict[str, Any]] = []
    value_at(path[:-1], source.values)[path[-1]] = rows  # so that a fault in a cell can name its row
    for record in records[1:]:
        at = (*path, len(rows))
        rows.append({})
        source.marks[at] = record[0][1:]
        for name, (cell, *mark) in zip(header, record, strict=False):
            source.marks[(*at, name)] = (mark[0], mark[1])
            if cell:
                rows[-1][name] = _cell(allowed[name][0], cell, (*at, name), source)
        if any(cell for cell, _, _ in record[len(header):]):
            source.marks[(*at, "")] = record[len(header)][1:]
            source.add(path, f"this row has {len(record)} cells and the header {len(header)}", (*at, ""))
    return rows


def _columns(path: Path_) -> dict[str, Any]:
    """Fields of an entry that fit into one cell, with their kinds."""
    fields = {name: (kind_of(field.annotation), field.is_required())
              for name, field in fields_of(kind_at(Scenario, (*path, 0))).items()}
    return {name: (kind, needed) for name, (kind, needed) in fields.items()
            if not fields_of(kind) and get_origin(kind) is not dict
            and not (get_origin(kind) is tuple and fields_of(kind_of(get_args(kind)[0])))}


def _header_is_right(header: list[Cell], allowed: dict[str, Any], path: Path_, source: Source) -> bool:
    """Whether the columns are right; a wrong one is a fault once, not in every row."""
    names = [name for name, _, _ in header]
    before = len(source.faults)
    allow = f"the columns may be {', '.join(allowed)}"
    for n, (name, line, column) in enumerate(header):
        source.marks[(*path, "header", n)] = (line, column)
        if name in names[:n]:
            source.add(path, f"column {name[:80]!r} is written twice", (*path, "header", n))
        elif name not in allowed:
            found = f"unknown column {name[:80]!r}" + did_you_mean(name, allowed)
            source.add(path, f"{found.rstrip('?')}? {allow}" if found.endswith("?") else f"{found}; {allow}",
                       (*path, "header", n))
    if len(source.faults) > before:
        return False  # a needed column that is missing is then most likely the one written wrongly
    missing = [name for name, (_, needed) in allowed.items() if needed and name not in names]
    if missing:
        source.add(path, f"the table has no column {', '.join(map(repr, missing))}; it has "
                         f"{', '.join(names)[:200] or 'none'}; {allow}")
    return not missing


def _cell(kind: Any, cell: str, path: Path_, source: Source) -> Any:
    """A cell as the value that its column holds; what does not fit is left as it stands and refused later."""
    if get_origin(kind) is tuple:
        return [part.strip() for part in cell.split(";") if part.strip()]
    if kind is bool:
        return {"true": True, "false": False}.get(cell.lower(), cell)
    if kind not in (int, float, Spread):
        return cell
    found = number_in(cell)
    if isinstance(found, Unread):
        source.add(path, too_long(cell))
    return cell if found is None else found


# the rest of a file with faults ---------------------------------------------------------------------------------
def _mended(error: ValidationError, source: Source) -> tuple[Scenario | None, set[Path_]]:
    """The file with every wrong value left out or stood in for, and the places where that was done.

    It never runs: it only lets the rules be read over everything that is not wrong by itself.
    """
    values: dict[str, Any] = deepcopy(source.values)
    spoilt, tries = set(source.unread), Counter[Path_]()
    for _ in range(MOST_ROUNDS):
        wrong = {_wrong_place(details, values): details for details in error.errors(include_url=False)
                 if not _by_its_entries(details)}
        for path in sorted(wrong, key=len):
            spoilt.add(path)
            if wrong[path]["type"] == "extra_forbidden":
                spoilt.update(_meant(path, values))
            _mend(path, values, tries)
        try:
            return Scenario.model_validate(values), spoilt
        except ValidationError as again:
            error = again
    return None, spoilt


def _by_its_entries(details: Any) -> bool:
    """A list whose entries are wrong is also called too short: the entries' own faults say more."""
    return details["type"] == "too_short" and bool(details["input"])


def _wrong_place(details: Any, values: Any) -> Path_:
    path = _walked(details["loc"], values)
    return (*path, details["loc"][-1]) if details["type"] == "missing" else path


def _meant(path: Path_, values: Any) -> list[Path_]:
    """The field that an unknown one was most likely meant to be."""
    known, given = fields_of(kind_at(Scenario, path[:-1])), value_at(path[:-1], values) or {}
    said = did_you_mean(path[-1], known)
    return [(*path[:-1], name) for name in known if f"mean {name!r}?" in said and name not in given]


def _mend(path: Path_, values: Any, tries: Counter[Path_]) -> None:
    holder = value_at(path[:-1], values)
    if not path or not isinstance(holder, dict | list):
        return
    if len(path) == 2 and path[0] in ("trades", "shifts"):
        holder[path[-1]] = {}  # its name is still declared
        return
    if isinstance(holder, dict) and path[-1] in holder and not tries[path]:
        del holder[path[-1]]
        return
    holder[path[-1]] = deepcopy(_STAND_INS[tries[path] % len(_STAND_INS)])
    tries[path] += 1


# faults in words ------------------------------------------------------------------------------------------------
def _add_errors(error: ValidationError, source: Source) -> None:
    """Add what the declarations refuse, each thing once."""
    for details in error.errors(include_url=False):
        path = _walked(details["loc"], source.values)
        found, kind, last = value_at(path, source.values), details["type"], details["loc"][-1]
        if _holds_unread(found) or path in source.unread or _by_its_entries(details):
            continue
        if kind == "missing":
            source.add(path, f"{last!r} is missing")
        elif kind == "extra_forbidden":
            source.add(path[:-1], f"unknown field {str(last)[:80]!r}" + _allowed(last, path[:-1]), path)
        else:
            source.add(path, _words(details, found))


def _walked(loc: Path_, values: Any) -> Path_:
    """The part of a place that is in the file: the declarations also name the alternatives that they tried."""
    path: Path_ = ()
    for step in loc:
        here = value_at(path, values)
        if (isinstance(here, dict) and step in here) or (isinstance(here, list) and isinstance(step, int)
                                                        and step < len(here)):
            path = (*path, step)
    return path


def _holds_unread(found: Any) -> bool:
    if isinstance(found, dict | list):
        return any(map(_holds_unread, found.values() if isinstance(found, dict) else found))
    return isinstance(found, Unread)


def _allowed(found: Any, path: Path_) -> str:
    known = list(fields_of(kind_at(Scenario, path)))
    return did_you_mean(found, known) or f"; allowed are {', '.join(known)}"


def _words(details: Any, found: Any) -> str:
    kind, given, shown = details["type"], details.get("ctx", {}), _shown(found)
    limits = {"greater_than_equal": ("ge", "{} or more"), "greater_than": ("gt", "above {}"),
              "less_than_equal": ("le", "at most {}"), "less_than": ("lt", "below {}")}
    if kind in limits:
        name, text = limits[kind]
        return f"must be {text.format(f'{given[name]:,.15g}')}, found {shown}"
    if kind == "literal_error":
        allowed = [str(part).strip("'") for part in given["expected"].replace(" or ", ", ").split(", ")]
        return f"must be one of {', '.join(allowed)}; found {shown}" + did_you_mean(found, allowed)
    if kind == "value_error":
        said = str(given["error"])
        return f"{said if len(said) < 400 else said[:400] + '...'}; found {shown}"
    what = {"float_type": "a number", "int_type": "a whole number", "bool_type": "true or false",
            "string_type": "text", "dict_type": "fields `name: value`", "tuple_type": "a list",
            "model_type": "fields `name: value`", "string_too_short": "some text", "too_short": "at least one entry",
            "finite_number": "a finite number", "int_from_float": "a whole number",
            "string_too_long": f"text of at most {given.get('max_length')} characters",
            }.get(kind, "another kind of value")
    is_number = isinstance(found, int | float) and not isinstance(found, bool)
    return f"must be {what}, found {shown}" + ("; put it in quotes" if kind == "string_type" and is_number else "")


def _shown(found: Any) -> str:
    if found is None or isinstance(found, bool):
        return {None: "nothing", True: "true", False: "false"}[found]
    if isinstance(found, list | dict):
        return ("a list" if isinstance(found, list) else "fields") if found else "nothing"
    text = repr(found)
    return text if len(text) <= 80 else text[:80] + "..."
