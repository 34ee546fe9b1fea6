"""The tables of the plant, each by its noun: which rows it has in a scenario, and which fields are its columns.

Meaning, unit and what a cell may hold come from the declarations of the language.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, get_args

from ....scenario.declared import fields_of, kind_at
from ....scenario.scenario import Scenario
from ....scenario.tree import Path_, value_at
from ....scenario.units import opened, unit_of
from .cells import Form, form_of
from .fixed import CODE, fixed_field

Values = Any  # of a scenario file, as read


@dataclass(frozen=True, slots=True)
class Column:
    """A field of every row. `at` is its place inside the entry; none: it stands in the place of the entry itself."""

    name: str                 # on the screen, and in a fault
    at: Path_
    form: Form
    about: str
    choices: tuple[str, ...] = ()
    fixed: str = ""           # why it may not be moved here


@dataclass(frozen=True, slots=True)
class Noun:
    """A table: what it is called, the places of its rows, its columns, and what one of its rows is called."""

    name: str
    one: str
    rows: Callable[[Values], list[Path_]]
    columns: Callable[[Values], list[Column]]
    adds: bool = True         # rows are added in the table itself
    section: Path_ = ()       # the list of the file that all its rows are entries of, if it is one


def _entries(*path: Any) -> Callable[[Values], list[Path_]]:
    def rows(values: Values) -> list[Path_]:
        found = value_at(path, values)
        if isinstance(found, list):
            return [(*path, n) for n, one in enumerate(found) if isinstance(one, dict)]
        return [(*path, key) for key, one in found.items() if isinstance(one, dict)] if isinstance(found, dict) else []

    return rows


def _packages(values: Values) -> list[Path_]:
    return [row for position in _entries("positions")(values) for row in _entries(*position, "packages")(values)]


def _rate(values: Values) -> list[Path_]:
    """The takt, its dated changes, and those of every plan; a plan without any is a row of its own."""
    found: list[Path_] = [("launches",)] if value_at(("launches", "takt_work_days"), values) is not None else []
    found += _entries("launches", "steps")(values)
    for plan in _entries("plans")(values):
        found += _entries(*plan, "steps")(values) or [plan]
    return found


def _columns(entry: Path_, names: str, first: tuple[Column, ...] = ()) -> Callable[[Values], list[Column]]:
    return lambda values: [*first, *(column(entry, tuple(name.split(".")), values) for name in names.split())]


def column(entry: Path_, at: Path_, values: Values, name: str = "") -> Column:
    """The column of a declared field of an entry (its place, with any number for a list entry)."""
    kind = kind_at(Scenario, (*entry, *at[:-1]))
    field = fields_of(kind)[at[-1]]
    form, extra = form_of(field), field.json_schema_extra
    named = str(extra.get("names", "")) if isinstance(extra, dict) else ""
    choices = tuple(map(str, get_args(opened(field.annotation, field.metadata)[0]))) if form == "choice" else ()
    if form == "text" and named == "trade":
        form, choices = "choice", tuple(map(str, value_at(("trades",), values) or ()))
    about = f"{field.description} Unit: {unit_of(field)}.".replace("`", "")
    return Column(name or " ".join(at).replace("_", " "), at, form, about, choices, fixed_field(kind.__name__, at[-1]))


def _people(values: Values) -> list[Column]:
    """Trades with a column for every shift."""
    entry, shifts = ("trades", "?"), list(value_at(("shifts",), values) or ())
    by_shift = [Column(f"people, {shift}", ("people", shift), "whole", f"People on the shift {shift}. Unit: people.")
                for shift in shifts] or [Column("people", ("people",), "whole", "People, round the clock.")]
    return [_code("trade", "Short name of the trade."), column(entry, ("name",), values), *by_shift,
            *(column(entry, (name,), values) for name in ("usd_per_hour", "cover"))]


def _code(name: str, about: str) -> Column:
    return Column(name, (), "text", about, fixed=CODE)


def _plan_columns(values: Values) -> list[Column]:
    step = ("launches", "steps", 0)
    return [Column("plan", (), "text", "Empty: the launches of the plant. A name: a rate plan to choose from.",
                   fixed=CODE),
            column(step, ("from",), values), column(step, ("takt_work_days",), values)]


POSITIONS = Noun("Positions", "position", _entries("positions"), _columns(
    ("positions", 0), "id name area half docks parking shifts next cure_bays stripe_bays"),
    adds=False, section=("positions",))
PACKAGES = Noun("Packages", "package", _packages, _columns(
    ("positions", 0, "packages", 0), "id name trade hours crew crew_min crew_max after kind inspection_hours "
    "elapsed_hours cure_hours can_travel gate chance models schemes",
    (Column("position", (), "text", "Position in which it is planned.",
            fixed="A package stays in its position here; take it out and add it to another one."),)), adds=False)
PEOPLE = Noun("People", "trade", _entries("trades"), _people)
SHIFTS = Noun("Shifts", "shift", _entries("shifts"), _columns(
    ("shifts", "?"), "start end meal_minutes paid_break_minutes meeting_minutes clean_down_minutes productivity "
    "weekdays", (_code("shift", "Name of the shift; the first one is the reference shift."),)))
RATE = Noun("Rate plan", "step", _rate, _plan_columns)
ORDERS = Noun("Orders", "order", _entries("orders"), _columns(
    ("orders", 0), "serial model scheme promised launch customer price_usd deposit_usd"),
    section=("orders",))
ON_THE_LINE = Noun("On the line", "aircraft", _entries("on_the_line"), _columns(
    ("on_the_line", 0), "serial at remaining_share packages_done hours_left curing.package curing.until flights_flown "
    "open_squawks notice_given acceptance_booked"), section=("on_the_line",))
NOUNS = (POSITIONS, PACKAGES, PEOPLE, SHIFTS, RATE, ORDERS, ON_THE_LINE)


def code_of(noun: Noun, path: Path_, values: Values) -> str:
    """What stands in the column without a field: the key of an entry, or the entry that it belongs to."""
    if noun is PACKAGES:
        return str((value_at(path[:2], values) or {}).get("id", f"entry {path[1] + 1}"))
    if noun is RATE:
        return str((value_at(path[:2], values) or {}).get("name", "")) if path[0] == "plans" else ""
    return str(path[-1])


def name_of(noun: Noun, path: Path_, values: Values) -> str:
    """What a row is called in words: its code or serial; "" where it has none."""
    entry = value_at(path, values)
    named = next((entry[key] for key in ("id", "serial", "from") if isinstance(entry, dict) and key in entry), None)
    return str(named) if named is not None else "" if isinstance(path[-1], int) else code_of(noun, path, values)
