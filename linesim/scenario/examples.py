"""An example of every field of the language: from the shipped scenarios where one uses it, else its default, else of a
small table. Each is short enough for a line and is accepted as it stands.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from copy import deepcopy
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Any

from pydantic import TypeAdapter
from pydantic.fields import FieldInfo

from .declared import Declared, fields_of
from .paths import plain
from .reading import read_scenario
from .schema import every_field
from .shipped import SHIPPED
from .units import written

Key = tuple[str, str]
LONGEST = 120  # characters of an example, where it can be shortened
LONGEST_TEXT = 60
# fields that no shipped scenario uses, and whose default shows nothing
TABLE: dict[Key, Any] = {
    ("Scenario", "daylight"): {"rule": "civil twilight"},
    ("Scenario", "order_changes"): {"defer_chance": 0.02, "defer_days": 30},
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
    ("Quality", "engineering"): {"chance": 0.1, "work_days": {"lognormal": {"mean": 1.5, "cv": 1}}},
    ("Quality", "gates_left_out"): ["end of line"],
    ("Engineering", "chance"): 0.1,
    ("Engineering", "work_days"): {"lognormal": {"mean": 1.5, "cv": 1}},
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
    ("Weather", "hourly"): [{"time": "2026-01-04 09:53", "ceiling_ft": 2900, "visibility_sm": 10}],
    ("HourlyWeather", "time"): "2026-01-04 09:53",
    ("HourlyWeather", "ceiling_ft"): 2900,
    ("HourlyWeather", "visibility_sm"): 10,
    ("HourlyWeather", "wind_kt"): 12,
    ("HourlyWeather", "gust_kt"): 21,
    ("HourlyWeather", "wind_deg"): 240,
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
    ("OrderChanges", "stated"): [{"date": "2027-02-01", "serial": "S12", "deferred_days": 60}],
    ("OrderChange", "date"): "2027-02-01",
    ("OrderChange", "serial"): "S12",
    ("OrderChange", "deferred_days"): 60,
    ("OrderChange", "swapped_with"): "S14",
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
    ("Known", "defects"): [{"serial": "S12", "package": "P2-10", "found_by": "position", "hours": 2}],
    ("Known", "answers"): [{"serial": "S12", "package": "P2-10", "work_days": 2}],
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
    ("KnownDefect", "package"): "P2-10",
    ("KnownAnswer", "package"): "P2-10",
    ("KnownAnswer", "work_days"): 2,
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
        for kind in ("KnownHours", "KnownPackage", "KnownDefect", "KnownAnswer", "KnownLatePart", "KnownLock",
                     "KnownSquawks", "KnownTimes")
    },
}


def examples() -> dict[Key, Any]:
    """A value of each field as a file writes it, by declaration and field. Where the shipped scenarios are neither
    beside the package nor installed with it, some fields that must be given have none.
    """
    found: dict[Key, Any] = {}
    for file in files_of_examples():
        for part in _parts(read_scenario(file)):
            values = plain(part)
            for name, field in fields_of(type(part)).items():
                key = (type(part).__name__, name)
                if key not in found and values.get(name) not in (None, (), {}, [], ""):
                    found[key] = _fitted(type(part), field, values[name])
    for kind, name, field in every_field():
        key = (kind.__name__, name)
        default = None if field.is_required() else field.get_default(call_default_factory=True)
        if key not in found and default not in (None, (), {}, "") and not isinstance(default, Declared):
            found[key] = plain(default)
        if key not in found and key in TABLE:
            found[key] = TABLE[key]
    return found


def files_of_examples() -> list[Path]:
    """Scenario files that examples are taken from: those that come with the project, else the starter."""
    names = ("birchwater.yaml", "birchwater-pulse.yaml", "textbook-feedback.yaml", "textbook-line.yaml")
    found = [SHIPPED / name for name in names if (SHIPPED / name).is_file()]
    return found or [Path(__file__).with_name("starter.yaml")]


def _parts(here: Any) -> Iterator[Declared]:
    if isinstance(here, Declared):
        yield here
        for name in type(here).model_fields:
            yield from _parts(getattr(here, name))
    elif isinstance(here, tuple | list | dict):
        for item in here.values() if isinstance(here, dict) else here:
            yield from _parts(item)


# one line -------------------------------------------------------------------------------------------------------
def _fitted(kind: type[Declared], field: FieldInfo, value: Any) -> Any:
    """A value short enough for a line: parts of it are left out as long as it is accepted."""
    value = _two_of_each(value)
    while len(written(value)) > LONGEST:
        shorter = next((found for found in _without_one(value) if accepts(kind, field, found)), None)
        if shorter is None:
            break  # twelve months, say, are always twelve
        value = shorter
    return value


def _two_of_each(value: Any) -> Any:
    """Of lists the first two entries, of long texts what stands before the first stop."""
    if isinstance(value, list):
        return [_two_of_each(item) for item in value[:2]]
    if isinstance(value, dict):
        return {key: _two_of_each(item) for key, item in value.items()}
    if isinstance(value, str) and len(value) > LONGEST_TEXT:
        return re.split(r"[.,:;] ", value)[0]
    return value


def _without_one(value: Any) -> Iterator[Any]:
    """The value less one part of it: what is written last goes first, whole parts before parts of them."""
    last_first = list(_removable(value))[::-1]
    for place in sorted(last_first, key=len):
        found = deepcopy(value)
        del _at(found, place[:-1])[place[-1]]
        yield found


def _removable(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    if isinstance(value, dict | list):
        keys = list(value) if isinstance(value, dict) else list(range(len(value)))
        for n, key in enumerate(keys):
            if n > 0:
                yield (*path, key)
            yield from _removable(value[key], (*path, key))


def _at(value: Any, path: tuple[Any, ...]) -> Any:
    for step in path:
        value = value[step]
    return value


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
