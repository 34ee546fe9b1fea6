"""Reads a scenario file: a scenario, or all its faults at once with file, line and column."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any, get_args, get_origin

from pydantic import BaseModel, ValidationError

from .faults import Fault, ScenarioFaults, did_you_mean
from .rules import faults_of
from .scenario import Scenario
from .tree import Marks, Path_, read_text, read_tree

_TABLES = (("orders",), ("on_the_line",))


def read_scenario(path: str | Path) -> Scenario:
    """The scenario of a file; raises ScenarioFaults with every fault found."""
    path = Path(path)
    return parse_scenario(read_text(path), str(path), path.parent)


def parse_scenario(text: str, file: str = "scenario", folder: Path | None = None) -> Scenario:
    """The scenario of a YAML text; tables beside it are looked for in `folder`. Raises ScenarioFaults."""
    values, marks = read_tree(text, file)
    files: dict[Path_, str] = {}
    faults = _read_tables(values, marks, files, file, folder)
    try:
        scenario = Scenario.model_validate(values)
    except ValidationError as error:
        # a list whose entries are wrong is also called too short: the entries' own faults say more
        found = [_fault(details, values, marks, files, file) for details in error.errors(include_url=False)
                 if details["type"] != "too_short" or not details["input"]]
        raise ScenarioFaults(file, faults + list(dict.fromkeys(found))) from None
    for path, message in faults_of(scenario):
        line, column, at = _mark(path, marks, files, file)
        faults.append(Fault(at, line, column, _place(path, values), message))
    if faults:
        raise ScenarioFaults(file, faults)
    return scenario


# tables beside the file -----------------------------------------------------------------------------------------
def _read_tables(values: dict[str, Any], marks: Marks, files: dict[Path_, str], file: str,
                 folder: Path | None) -> list[Fault]:
    faults: list[Fault] = []
    tables: list[Path_] = list(_TABLES)
    if isinstance(values.get("positions"), list):
        tables += [("positions", n, "packages") for n in range(len(values["positions"]))]
    for path in tables:
        holder: Any = values
        for step in path[:-1]:
            holder = holder[step]
        given = holder.get(path[-1]) if isinstance(holder, dict) else None
        if not (isinstance(given, dict) and set(given) == {"csv"}):
            continue
        name = str(given["csv"])
        if Path(name).is_absolute() or ".." in Path(name).parts:
            faults.append(Fault(file, *marks[(*path, "csv")], path[-1], "a table stands beside the scenario file"))
        else:
            holder[path[-1]] = _rows((folder or Path()) / name, path, marks, files, faults, file)
    return faults


def _rows(table: Path, path: Path_, marks: Marks, files: dict[Path_, str], faults: list[Fault],
          file: str) -> list[dict[str, Any]]:
    try:
        with table.open(newline="", encoding="utf-8") as source:
            reader = csv.DictReader(source)
            rows = [{key: _cell(key, cell) for key, cell in row.items() if key and cell not in (None, "")}
                    for row in reader]
            header = [key for key in reader.fieldnames or [] if key]
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        faults.append(Fault(file, *marks[(*path, "csv")], str(path[-1]), f"table {table.name} cannot be read: {error}"))
        return []
    marks[path] = (1, 1)
    files[path] = str(table)
    for n, row in enumerate(rows):
        marks[(*path, n)] = (n + 2, 1)
        for key in row:
            marks[(*path, n, key)] = (n + 2, header.index(key) + 1)
    needed = {"orders": "serial", "packages": "id", "on_the_line": "serial"}[str(path[-1])]
    if needed not in header:
        faults.append(Fault(str(table), 1, 1, str(path[-1]), f"the table has no column {needed!r}; it has: "
                                                            f"{', '.join(header) or 'none'}"))
        return []
    return rows


def _cell(key: str, cell: str) -> Any:
    cell = cell.strip()
    if key in ("after", "models", "schemes", "weekdays", "at", "packages_done"):
        return [part.strip() for part in cell.split(";") if part.strip()]
    if cell in ("true", "false"):
        return cell == "true"
    if key in ("serial", "id", "model", "scheme", "trade"):
        return cell
    for kind in (int, float):
        try:
            return kind(cell)
        except ValueError:
            continue
    return cell


# faults in words ------------------------------------------------------------------------------------------------
def _fault(details: Any, values: Any, marks: Marks, files: dict[Path_, str], file: str) -> Fault:
    path: Path_ = ()
    here: Any = values
    for step in details["loc"]:
        if (isinstance(here, dict) and step in here) or (isinstance(here, list) and isinstance(step, int) \
                and step < len(here)):
            here, path = here[step], (*path, step)
    line, column, at = _mark(path, marks, files, file)
    kind, last = details["type"], details["loc"][-1]
    if kind == "missing":
        return Fault(at, line, column, _place(path, values), f"{last!r} is missing")
    if kind == "extra_forbidden":
        known = _fields_at(details["loc"][:-1])
        return Fault(at, line, column, _place(path[:-1], values),
                     f"unknown field {last!r}" + did_you_mean(last, known))
    return Fault(at, line, column, _place(path, values), _words(details, here))


def _words(details: Any, found: Any) -> str:
    kind, given = details["type"], details.get("ctx", {})
    shown = found if isinstance(found, str | int | float | bool) or found is None else "a list" if isinstance(
        found, list) else "fields"
    limits = {"greater_than_equal": ("ge", "{} or more"), "greater_than": ("gt", "above {}"),
              "less_than_equal": ("le", "at most {}"), "less_than": ("lt", "below {}")}
    if kind in limits:
        name, text = limits[kind]
        return f"must be {text.format(given[name])}, found {shown!r}"
    if kind == "literal_error":
        allowed = [str(part).strip("'") for part in given["expected"].replace(" or ", ", ").split(", ")]
        return f"must be one of {', '.join(allowed)}; found {shown!r}" + did_you_mean(shown, allowed)
    if kind == "value_error":
        return f"{given['error']}; found {shown!r}"
    what = {"float_type": "a number", "int_type": "a whole number", "bool_type": "true or false",
            "string_type": "text", "dict_type": "fields `name: value`", "tuple_type": "a list",
            "model_type": "fields `name: value`", "string_too_short": "some text", "too_short": "at least one entry",
            "finite_number": "a finite number", "int_from_float": "a whole number"}.get(kind, "another kind of value")
    return f"must be {what}, found {shown!r}"


def _fields_at(loc: Path_) -> list[str]:
    """Names of the fields that are allowed at a place of the declarations."""
    here: Any = Scenario
    for step in loc:
        if isinstance(here, type) and issubclass(here, BaseModel):
            names = {(field.alias or name): field.annotation for name, field in here.model_fields.items()}
            here = names.get(str(step), here)
        here = _model_in(here) or here
    model = _model_in(here)
    return [field.alias or name for name, field in model.model_fields.items()] if model else []


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and get_origin(annotation) is None:
        return annotation if issubclass(annotation, BaseModel) else None
    for part in get_args(annotation):
        found = _model_in(part)
        if found:
            return found
    return None


def _mark(path: Path_, marks: Marks, files: dict[Path_, str], file: str) -> tuple[int, int, str]:
    at = next((files[path[:n]] for n in range(len(path), -1, -1) if path[:n] in files), file)
    for n in range(len(path), -1, -1):
        if path[:n] in marks:
            return (*marks[path[:n]], at)
    return 1, 1, at


def _place(path: Path_, values: Any) -> str:
    """The place by name: list entries by their id, serial or name."""
    words: list[str] = []
    here = values
    for step in path:
        here = here[step] if (isinstance(here, dict) and step in here) or (isinstance(here, list) and step < len(
            here)) else None
        if isinstance(step, int):
            named = next((str(here[key]) for key in ("id", "serial", "name", "item") if isinstance(here, dict)
                          and key in here), f"entry {step + 1}")
            words[-1:] = [f"{words[-1]} {named}" if words else named]
        else:
            words.append(str(step))
    return ", ".join(words)
