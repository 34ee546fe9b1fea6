"""Judges the values of a file: a scenario, or all that is wrong with them, each thing once and in its place."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from copy import deepcopy
from typing import Any

from pydantic import ValidationError

from .declared import fields_of, kind_at
from .faults import ScenarioFaults, did_you_mean
from .rules import faults_of
from .scenario import Scenario
from .tree import Path_, Source, Unread, value_at

MOST_ROUNDS = 60
# Tried one after the other in the place of a needed value that is wrong, so that the rest can still be judged.
_STAND_INS: tuple[Any, ...] = ("?", 0.5, 1, "2000-01-01", "2000-01-01 00:00", "00:00", "00:00-24:00", True, [], {},
                               [{}], ["?"], [1], "Mon")


def judge(source: Source) -> Scenario:
    """The scenario that the values of a file say; raises ScenarioFaults with every fault found."""
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
        raise ScenarioFaults(source.file, list(dict.fromkeys(source.faults)))
    return scenario


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
    for path, place, message in refused(error, source.values):
        if path not in source.unread:
            source.add(place, message, path)


def refused(error: ValidationError, values: Any) -> Iterator[tuple[Path_, Path_, str]]:
    """What the declarations refuse, each thing once: where it stands, the place to be named, and what is wrong."""
    for details in error.errors(include_url=False):
        path = _walked(details["loc"], values)
        found, kind, last = value_at(path, values), details["type"], details["loc"][-1]
        if _holds_unread(found) or _by_its_entries(details):
            continue
        if kind == "missing":
            yield path, path, f"{last!r} is missing"
        elif kind == "extra_forbidden":
            yield path, path[:-1], f"unknown field {str(last)[:80]!r}" + _allowed(last, path[:-1])
        else:
            yield path, path, _words(details, found)


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
