"""A long list in a table beside the scenario file: one row an entry, one column a field.

The table is a CSV file, `orders: {csv: orders.csv}`, or a sheet of an XLSX file, `orders: {xlsx: plant.xlsx, sheet:
Orders}`; without a name it is the first sheet. A cell is read by what its field holds, so the text 0249 stays text;
several names in one cell are parted by semicolons; an empty cell leaves its field out.
"""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import Any, get_args, get_origin

from .csv_table import NotClosed, csv_rows
from .declared import Declared, fields_of, kind_at, kind_of
from .faults import did_you_mean
from .known import Known
from .plant import Position
from .risks import Weather
from .scenario import Scenario
from .spread import Spread
from .tree import Cell, Path_, Source, Unread, number_in, too_long, value_at
from .xlsx_table import Moment, NotText, Unfit, xlsx_rows

MOST_TABLE_BYTES = 5_000_000
FORMS = ("csv", "xlsx")


def read_tables(source: Source, folder: Path) -> None:
    """Put the rows of each table in the place of its `{csv: FILE}` or `{xlsx: FILE, sheet: NAME}`."""
    for path in [*_first_places(), *_package_places(source)]:
        given = value_at(path, source.values)
        if is_table(given):
            rows = _table(given, path, source, folder)
            if rows is None:
                source.unread.append(path)
            value_at(path[:-1], source.values)[path[-1]] = rows or []


def table_fields() -> set[tuple[type[Declared], str]]:
    """Fields whose list may stand in a table."""
    return {(Scenario, "positions"), (Scenario, "orders"), (Scenario, "on_the_line"), (Position, "packages"),
            (Weather, "hourly"),
            *((Known, name) for name in Known.model_fields)}


def is_table(given: Any) -> bool:
    """Whether a value of a scenario file stands for a table beside it."""
    return isinstance(given, dict) and any(form in given for form in FORMS)


def _first_places() -> list[Path_]:
    return [("positions",), ("orders",), ("on_the_line",), ("weather", "hourly"),
            *(("known", name) for name in Known.model_fields)]


def _package_places(source: Source) -> list[Path_]:
    positions = source.values.get("positions")
    return [("positions", n, "packages") for n in range(len(positions) if isinstance(positions, list) else 0)]


def _table(given: dict[Any, Any], path: Path_, source: Source, folder: Path) -> list[dict[str, Any]] | None:
    form = next(form for form in FORMS if form in given)
    at, name, sheet = (*path, form), given[form], given.get("sheet")
    written = {"csv": "{csv: file.csv}", "xlsx": "{xlsx: file.xlsx, sheet: name}"}[form]
    for extra in given:
        if extra != form and (form, extra) != ("xlsx", "sheet"):
            source.add(path, f"a table is written {written}; unknown field {str(extra)[:80]!r}", (*path, extra))
            return None
    if isinstance(name, Unread) or isinstance(sheet, Unread):
        return None
    if "sheet" in given and not (isinstance(sheet, str) and sheet.strip()):
        source.add(path, "`sheet` must be the name of a sheet, as text", (*path, "sheet"))
        return None
    try:
        table = _beside_and_small(name, folder)
        sheet, records = xlsx_rows(table, sheet) if form == "xlsx" else ("", csv_rows(table))
    except NotClosed as quote:
        source.marks[(*path, "quote")], source.files[path] = quote.args[0], (str(folder / name), "")
        source.add(path, "a quotation mark is not closed", (*path, "quote"))
        return None
    except (OSError, ValueError, RuntimeError) as error:
        mark = (*path, "sheet") if isinstance(error, LookupError) else at
        source.add(path, f"table {str(name)[:80]!r} cannot be read: {getattr(error, 'strerror', None) or error}", mark)
        return None
    source.marks[path], source.files[path] = (1, 1), (str(folder / name), sheet)
    return _rows(records, path, source)


def beside(name: Any, folder: Path) -> Path:
    """A file in the folder of the scenario file, or below it; raises OSError, ValueError or RuntimeError."""
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


def _beside_and_small(name: Any, folder: Path) -> Path:
    table = beside(name, folder)
    size = table.stat().st_size
    if size > MOST_TABLE_BYTES:
        raise ValueError(f"it has {size:,} bytes; at most {MOST_TABLE_BYTES:,} are read")
    return table


def _rows(records: list[list[Cell]], path: Path_, source: Source) -> list[dict[str, Any]] | None:
    allowed = _columns(path)
    head = list(records[0]) if records else []
    while head and head[-1][0] == "":  # spreadsheets write empty columns at the end
        head.pop()
    for name, line, column in head:
        if isinstance(name, Unfit):
            source.marks[(*path, "header")] = (line, column)
            source.add(path, name.why, (*path, "header"))
            return None
    header = [(str(name).strip(), line, column) for name, line, column in head]
    if not _header_is_right(header, allowed, path, source):
        return None
    rows: list[dict[str, Any]] = []
    value_at(path[:-1], source.values)[path[-1]] = rows  # so that a fault in a cell can name its row
    for record in records[1:]:
        at = (*path, len(rows))
        rows.append({})
        source.marks[at] = record[0][1:]
        for (name, _, _), (cell, *mark) in zip(header, record, strict=False):
            source.marks[(*at, name)] = (mark[0], mark[1])
            if cell != "":
                rows[-1][name] = _cell(allowed[name][0], cell, (*at, name), source)
        beyond = next((cell for cell in record[len(header):] if cell[0] != ""), None)
        if beyond:
            source.marks[(*at, "")] = beyond[1:]
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


def _cell(kind: Any, cell: Any, path: Path_, source: Source) -> Any:
    """A cell as the value that its column holds; what does not fit is left as it stands and refused later."""
    if isinstance(cell, Unfit):
        source.add(path, cell.why)
        return Unread()
    if isinstance(cell, Moment):
        return _day_or_moment(kind, cell, path, source)
    if isinstance(cell, NotText):
        if cell.text is None and kind not in (int, float, Spread, bool, date, datetime):
            source.add(path, f"must be text, found the number {cell.number!r}, which the sheet may show otherwise; "
                             "write it as text")
            return Unread()
        cell = cell.number if cell.text is None or kind in (int, float, Spread) else cell.text
    if not isinstance(cell, str):  # a number, true or false
        return cell
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


def _day_or_moment(kind: Any, cell: Moment, path: Path_, source: Source) -> Any:
    if kind in (date, datetime):
        return cell.text
    source.add(path, f"must not be a date, found the date {cell.text}")
    return Unread()
