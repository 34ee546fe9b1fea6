"""The reference of the scenario language: every field with its meaning, unit, default and an example, from the
declarations. Examples are taken from the shipped scenarios where a field is used there.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from datetime import date, datetime
from functools import lru_cache
from pathlib import Path
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BeforeValidator, TypeAdapter
from pydantic.fields import FieldInfo

from .declared import Declared, fields_of
from .faults import did_you_mean
from .schema import every_field
from .spread import Spread

Key = tuple[str, str]
LONGEST = 120  # characters of an example that are printed
_BY_READER = {
    "_day": "date",
    "_moment": "date and clock time",
    "_clock_time": "clock time",
    "_clock_span": "clock times",
    "_weekday": "weekdays",
}
# fields that no shipped scenario uses, and whose default shows nothing
_EXAMPLES: dict[Key, Any] = {
    ("Scenario", "daylight"): {"rule": "civil twilight"},
    ("Scenario", "fleet_holds"): [{"from": "2027-03-01", "serials": ["S12"], "hours": 2}],
    ("Scenario", "common_luck"): {"squawk_level_cv": 0.2},
    ("Scenario", "known"): {"flyable": [{"date": "2027-03-02", "flyable": False}]},
    ("Shift", "meal"): "10:00-10:30",
    ("Shift", "breaks"): ["08:00-08:15", "12:15-12:30"],
    ("Shift", "work"): ["06:00-10:00", "10:30-14:30"],
    ("Shift", "weekdays"): ["Mon", "Tue", "Wed", "Thu"],
    ("Trade", "headcount_steps"): [{"from": "2027-05-03", "shift": "day", "people": 4}],
    ("Trade", "dispatch"): {"places": ["ER", "FL"]},
    ("Trade", "note"): "two of them are new",
    ("HeadcountStep", "from"): "2027-05-03",
    ("HeadcountStep", "shift"): "day",
    ("HeadcountStep", "people"): 4,
    ("ByPlaces", "places"): ["ER", "FL"],
    ("Leave", "weeks"): 5,
    ("Overtime", "trigger_launches_behind_work_days"): 5,
    ("Overtime", "people"): 2,
    ("ToolControl", "torque_recall"): {"chance": 0.001, "hours": 2},
    ("TorqueRecall", "chance"): 0.001,
    ("TorqueRecall", "hours"): 2,
    ("TorqueRecall", "trades"): ["RIG"],
    ("WorkTime", "scheme_factors"): {"two_tone": 1.2},
    ("Learning", "hours_stated_at_unit"): 249,
    ("Learning", "configuration_changes"): [{"serial": "S40", "share_reset": 0.3}],
    ("ConfigurationChange", "serial"): "S40",
    ("ConfigurationChange", "share_reset"): 0.3,
    ("LongLead", "packages"): ["P2-10"],
    ("Position", "next"): "PB",
    ("Repaint", "crew"): 2,
    ("OutOfService", "hours_up"): {"exponential": 200},
    ("OutOfService", "hours_down"): {"lognormal": {"mean": 4, "cv": 1}},
    ("Package", "crew"): 3,
    ("Package", "inspector"): "INS",
    ("Package", "models"): ["D4T"],
    ("Package", "latest_position"): "P6",
    ("Squawks", "learning_slope"): 0.9,
    ("Acceptance", "earliest_days_before_promise"): 10,
    ("AcceptanceSquawks", "k"): 4,
    ("AcceptanceSquawks", "fix_hours"): {"lognormal": {"mean": 2, "cv": 1}},
    ("AcceptanceSquawks", "needs_part_share"): 0.1,
    ("AcceptanceSquawks", "part_delay_work_days"): 3,
    ("Weather", "bad_after_bad"): dict.fromkeys(range(1, 13), 0.5),
    ("Weather", "hourly_file"): "weather.csv",
    ("Weather", "runway_deg"): 240,
    ("Daylight", "by_month"): dict.fromkeys(range(1, 13), "07:00-18:00"),
    ("Launches", "steps"): [{"from": "2027-05-03", "takt_work_days": 4}],
    ("Launches", "first"): "2027-01-05 06:00",
    ("Launches", "moments"): ["2027-01-04 06:00", "2027-01-06 06:00"],
    ("Launches", "most_on_line"): 12,
    ("Launches", "most_on_line_until"): "P8",
    ("Pulse", "takt_work_days"): 4.5,
    ("Pulse", "first"): "2027-01-05 06:00",
    ("Order", "launch"): "2027-02-01",
    ("OnTheLine", "notice_given"): "2026-12-21",
    ("FleetHold", "from"): "2027-03-01",
    ("FleetHold", "serials"): ["S12", "S13"],
    ("FleetHold", "hours"): 2,
    ("CommonLuck", "supplier_spells"): [{"item": "engine", "from": "2027-04-01", "days": 60, "share": 0.3}],
    ("SupplierSpell", "item"): "engine",
    ("SupplierSpell", "from"): "2027-04-01",
    ("SupplierSpell", "days"): 60,
    ("SupplierSpell", "share"): 0.3,
    ("Known", "present"): [{"trade": "ASM", "date": "2027-01-04", "people": 2}],
    ("Known", "hours"): [{"serial": "S12", "package": "P2-10", "hours": 30}],
    ("Known", "packages"): [{"serial": "S12", "package": "IA-20", "exists": True}],
    ("Known", "late_parts"): [{"serial": "S12", "package": "P2-10", "work_days": 3}],
    ("Known", "tool_locks"): [{"serial": "S12", "from": "2027-01-04 14:15", "to": "2027-01-05 08:00"}],
    ("Known", "flyable"): [{"date": "2027-03-02", "flyable": False}],
    ("Known", "out_of_service"): [{"position": "PB", "date": "2027-03-02"}],
    ("Known", "squawks"): [{"serial": "S12", "flight": 1, "squawks": [{"trade": "FLM", "hours": 2}]}],
    **{
        ("Known", name): [{"serial": "S12", "times": 1}]
        for name in ("repeats", "repaints", "returns", "refusals", "goings_back")
    },
    ("KnownPresent", "trade"): "ASM",
    ("KnownPresent", "shift"): "day",
    ("KnownPresent", "date"): "2027-01-04",
    ("KnownPresent", "people"): 2,
    ("KnownHours", "package"): "P2-10",
    ("KnownHours", "hours"): 30,
    ("KnownPackage", "package"): "IA-20",
    ("KnownPackage", "exists"): True,
    ("KnownLatePart", "package"): "P2-10",
    ("KnownLatePart", "work_days"): 3,
    ("KnownLock", "from"): "2027-01-04 14:15",
    ("KnownLock", "to"): "2027-01-05 08:00",
    ("KnownFlyable", "date"): "2027-03-02",
    ("KnownFlyable", "hour"): 9,
    ("KnownFlyable", "flyable"): False,
    ("KnownOutage", "position"): "PB",
    ("KnownOutage", "date"): "2027-03-02",
    ("KnownOutage", "from"): "2027-03-02 06:00",
    ("KnownOutage", "to"): "2027-03-02 10:00",
    ("KnownSquawks", "flight"): 1,
    ("KnownSquawks", "acceptance"): 1,
    ("KnownSquawks", "squawks"): [{"trade": "FLM", "hours": 2}],
    ("KnownSquawk", "trade"): "FLM",
    ("KnownSquawk", "hours"): 2,
    ("KnownTimes", "position"): "ER",
    ("KnownTimes", "times"): 1,
    **{
        (kind, "serial"): "S12"
        for kind in ("KnownHours", "KnownPackage", "KnownLatePart", "KnownLock", "KnownSquawks", "KnownTimes")
    },
}


def unit_of(field: FieldInfo) -> str:
    """The unit of a field: as declared, else by what it holds."""
    extra = field.json_schema_extra
    if isinstance(extra, dict) and extra.get("unit"):
        varies = field.annotation is Spread or Spread in get_args(field.annotation)
        return f"{extra['unit']}, a number or a spread" if varies else str(extra["unit"])
    return _unit(field.annotation, field.metadata, str(extra.get("names", "")) if isinstance(extra, dict) else "")


def _unit(annotation: Any, metadata: list[Any], names: str) -> str:
    if get_origin(annotation) is Annotated:
        inner, *more = get_args(annotation)
        return _unit(inner, [*more, *metadata], names)
    for item in metadata:
        if isinstance(item, BeforeValidator) and item.func.__name__ in _BY_READER:
            return _BY_READER[item.func.__name__]
    if names:
        return f"name of a {names.split('/')[0]}"
    parts = [part for part in get_args(annotation) if part not in (NoneType, Ellipsis)]
    if get_origin(annotation) is Literal:
        return "one of the words"
    if get_origin(annotation) in (Union, UnionType, tuple, dict) and parts:
        kinds = [part for part in parts if fields_of(part)] if get_origin(annotation) is not dict else parts[1:]
        return _unit((kinds or parts)[0], [], names)
    if fields_of(annotation):
        return "its own fields"
    return {
        bool: "yes or no",
        str: "text",
        date: "date",
        datetime: "date and clock time",
        int: "number",
        float: "number",
        Spread: "number or spread",
    }.get(annotation, "any value of the field that it changes")


def allowed(annotation: Any) -> str:
    """Words or limits of a field, where there are any."""
    words = [str(word) for literal in _literals(annotation) for word in literal]
    return ", ".join(words)


def _literals(annotation: Any) -> Iterator[tuple[Any, ...]]:
    if get_origin(annotation) is Literal:
        yield get_args(annotation)
    for part in get_args(annotation):
        if not isinstance(part, str):
            yield from _literals(part)


def default_of(field: FieldInfo) -> str:
    """What a field is when it is left out."""
    if field.is_required():
        return "must be given"
    value = field.get_default(call_default_factory=True)
    if value is None or value == "" or value == () or value == {} or isinstance(value, Declared):
        return "left out"
    return _written(value.as_declared() if isinstance(value, Spread) else value)


def _written(value: Any) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {_written(item)}" for key, item in value.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(_written, value)) + "]"
    if isinstance(value, str):
        return value if re.fullmatch(r"[A-Za-z][\w /.-]*", value) else json.dumps(value, ensure_ascii=False)
    if isinstance(value, datetime):
        return f'"{value:%Y-%m-%d %H:%M}"'
    return (
        f"{value:g}" if isinstance(value, float) else json.dumps(value) if isinstance(value, bool | int) else str(value)
    )


def examples() -> dict[Key, Any]:
    """A value of each field as a file writes it, by declaration and field: of a shipped scenario, else its default,
    else of the table."""
    from .paths import plain
    from .reading import read_scenario

    found: dict[Key, Any] = {}
    for file in shipped():
        for part in _parts(read_scenario(file)):
            for name, field in fields_of(type(part)).items():
                attribute = next(key for key, one in type(part).model_fields.items() if one is field)
                value = getattr(part, attribute)
                if attribute in part.model_fields_set and value not in (None, (), {}, ""):
                    found.setdefault((type(part).__name__, name), _short(plain(value)))
    for kind, name, field in every_field():
        default = None if field.is_required() else field.get_default(call_default_factory=True)
        if (
            (kind.__name__, name) not in found
            and default not in (None, (), {}, "")
            and not isinstance(default, Declared)
        ):
            found[kind.__name__, name] = plain(default)
    return {**found, **_EXAMPLES}


def shipped() -> list[Path]:
    """Scenario files that examples are taken from: those beside the package in a checkout, else the starter."""
    folder = Path(__file__).parents[2] / "scenarios"
    names = ("birchwater.yaml", "birchwater-pulse.yaml", "textbook-feedback.yaml", "textbook-line.yaml")
    return [folder / name for name in names if (folder / name).is_file()] or [Path(__file__).with_name("starter.yaml")]


def _short(value: Any) -> Any:
    """Of long lists the first two entries, of mappings by name the first three."""
    if isinstance(value, list):
        return value[:2]
    if isinstance(value, dict) and len(value) > 3 and all(isinstance(item, dict) for item in value.values()):
        return {key: value[key] for key in list(value)[:3]}
    return value


def _parts(here: Any) -> Iterator[Declared]:
    if isinstance(here, Declared):
        yield here
        for name in type(here).model_fields:
            yield from _parts(getattr(here, name))
    elif isinstance(here, tuple | list):
        for item in here:
            yield from _parts(item)
    elif isinstance(here, dict):
        yield from (part for item in here.values() for part in _parts(item))


def accepts(kind: type[Declared], field: FieldInfo, value: Any) -> bool:
    """Whether a declared field takes a value as a file writes it."""
    adapter = _adapter(kind, next(key for key, one in kind.model_fields.items() if one is field))
    try:
        adapter.validate_python(value)
    except ValueError:
        return False
    return True


@lru_cache(maxsize=1024)
def _adapter(kind: type[Declared], name: str) -> TypeAdapter[Any]:
    field = kind.model_fields[name]
    whole: Any = Annotated[field.annotation, *field.metadata] if field.metadata else field.annotation
    return TypeAdapter(whole)


def reference(only: str | None = None) -> str:
    """The reference as Markdown; `only`: of one declaration, section or field. LookupError for an unknown one."""
    shown = examples()
    rows: dict[str, list[tuple[type[Declared], str, FieldInfo]]] = {}
    for kind, name, field in every_field():
        rows.setdefault(kind.__name__, []).append((kind, name, field))
    chosen = rows if only is None else _chosen(rows, only)
    lines = (
        []
        if only
        else [
            "# The scenario language",
            "",
            "Made from the declarations by `linesim language`; do not edit. Labour hours are hours "
            "of one person; elapsed hours run day and night; work days are lengths of the reference shift's productive "
            "time; clock times stand in quotes. Lists of positions, packages, orders, aircraft on the line and facts "
            "may stand in a table: `{csv: FILE}` or `{xlsx: FILE, sheet: NAME}`. Where a unit says *or "
            "a spread*, the value may vary: `{lognormal: {mean: 2, cv: 0.5}}`, "
            "`{triangular: {low: 1, mode: 2, high: 4}}`.",
            "",
        ]
    )
    for name, fields in chosen.items():
        kind = fields[0][0]
        lines += [
            f"## {title_of(name)}",
            "",
            (kind.__doc__ or "").strip().replace("\n    ", "\n"),
            "",
            "| field | meaning | unit | default | example |",
            "|---|---|---|---|---|",
        ]
        lines += [_row(kind, field_name, field, shown) for _, field_name, field in fields] + [""]
    return "\n".join(lines)


def title_of(name: str) -> str:
    """A declaration's name in words."""
    return re.sub(r"(?<!^)(?=[A-Z])", " ", name).capitalize()


def _chosen(rows: dict[str, list[Any]], only: str) -> dict[str, list[Any]]:
    last = only.split(".")[-1]
    by_title = {title_of(name).lower(): name for name in rows}
    if last.lower() in by_title or last in rows:
        name = by_title.get(last.lower(), last)
        return {name: rows[name]}
    found = {name: picked for name, fields in rows.items() if (picked := [row for row in fields if row[1] == last])}
    if not found:
        names = list(dict.fromkeys([*by_title, *(row[1] for fields in rows.values() for row in fields)]))
        raise LookupError(f"the language has no {last!r}{did_you_mean(last, names)}")
    return found


def _row(kind: type[Declared], name: str, field: FieldInfo, shown: dict[Key, Any]) -> str:
    words = allowed(field.annotation)
    meaning = (field.description or "") + (f" One of: {words}." if words else "")
    text = _written(shown[kind.__name__, name])
    text = text if len(text) <= LONGEST else text[:LONGEST].rsplit(" ", 1)[0] + " ..."
    cells = (f"`{name}`", meaning, unit_of(field), default_of(field), f"`{name}: {text}`")
    return "| " + " | ".join(cell.replace("|", "\\|").replace("\n", " ") for cell in cells) + " |"
