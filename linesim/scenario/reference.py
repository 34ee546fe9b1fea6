"""The reference of the scenario language: every field with its meaning, unit, limits, default and an example, in the
order of a file and made from the declarations.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, get_args, get_origin

from pydantic.fields import FieldInfo

from .declared import Declared, fields_of
from .examples import Key, examples
from .faults import did_you_mean
from .known import Known
from .scenario import Scenario
from .schema import EXTENDING, TABLE, every_field
from .tables import table_fields
from .units import allowed, declared_in, default_of, title_of, unit_of, written

ABOUT = """# The scenario language

Made from the declarations by `linesim language`; do not edit.

Units are never mixed. *Labour hours* are hours of one person: two people do four of them in two hours. *Elapsed
hours* run day and night, closed dates too. *Working hours* and *working minutes* run only in working time. A *work
day*, as a length, is the productive time of one reference shift (the first shift of the file); *calendar* days, weeks
and months are those of the calendar. *Clock times* stand in quotes, dates need none. Names are words of your own; in
*entries by name* they are the keys. Where a unit says *or a spread*, the value may vary from one time to the next (see
[Spread](#spread)). Long lists may stand in a [table](#table-beside-the-file), and a file may
[extend another](#a-file-that-extends-another)."""
_HEADER = ["| field | meaning | unit | allowed | default | example |", "|---|---|---|---|---|---|"]


@dataclass(frozen=True, slots=True)
class Row:
    """One field as it is printed: its name and the other columns, in order."""

    name: str
    meaning: str
    unit: str
    allowed: str
    default: str
    example: str

    def text(self) -> str:
        """The row of a Markdown table."""
        example = f"`{self.example}`" if self.example else ""
        cells = (f"`{self.name}`", self.meaning, self.unit, _linked(self.allowed), self.default, example)
        return "| " + " | ".join(cell.replace("|", "\\|").replace("\n", " ") for cell in cells) + " |"


@dataclass(frozen=True, slots=True)
class Section:
    """What may stand in one place of a file; `kind` is its declaration, if it has one of its own."""

    title: str
    about: str
    where: str
    rows: tuple[Row, ...]
    kind: type[Declared] | None = None

    def text(self) -> str:
        """Its heading and rows, as Markdown."""
        where = ["", f"Stands in {_linked(self.where)}."] if self.where else []
        lines = [f"## {self.title}", "", _linked(self.about), *where, "", *_HEADER, *(row.text() for row in self.rows)]
        return "\n".join(lines) + "\n"


Part = tuple[Section, tuple[Row, ...]]


def reference() -> str:
    """The whole reference as Markdown."""
    return "\n".join([f"{ABOUT}\n", *(section.text() for section in sections())])


def part(asked: str) -> list[Part]:
    """A section, a field, or a path to one: sections with those of their rows. LookupError for an unknown one."""
    return _at_path(asked.split(".")) if "." in asked else _by_name(asked)


@lru_cache(maxsize=1)
def sections() -> tuple[Section, ...]:
    """All sections, in the order of a file; then what may stand in more than one of them."""
    shown, fields = examples(), dict[type[Declared], list[tuple[str, FieldInfo]]]()
    for kind, name, field in every_field():
        fields.setdefault(kind, []).append((name, field))
    where = _places(fields)
    return (*(Section(title_of(kind.__name__), " ".join((kind.__doc__ or "").split()), where.get(kind, ""),
                      tuple(_row(kind, name, field, shown) for name, field in rows), kind)
              for kind, rows in fields.items()), _EXTENDING, _TABLE, _SPREAD)


def _places(fields: dict[type[Declared], list[tuple[str, FieldInfo]]]) -> dict[type[Declared], str]:
    """Of each declaration the fields in which it may stand, with their own declaration."""
    found: dict[type[Declared], list[str]] = {}
    for kind, rows in fields.items():
        for name, field in rows:
            for inner in dict.fromkeys(declared_in(field.annotation)):
                found.setdefault(inner, []).append(_place(kind, name))
    return {kind: ", ".join(places) for kind, places in found.items()}


def _place(kind: type[Declared], name: str) -> str:
    """A field with the declaration that it belongs to."""
    return f"`{name}`" if kind is Scenario else f"`{name}` of *{title_of(kind.__name__)}*"


def _row(kind: type[Declared], name: str, field: FieldInfo, shown: dict[Key, Any]) -> Row:
    may = allowed(field) + ("; or a table (see *Table beside the file*)" if (kind, name) in table_fields() else "")
    example = f"{name}: {written(shown[kind.__name__, name])}" if (kind.__name__, name) in shown else ""
    return Row(name, field.description or "", unit_of(field), may, default_of(field), example)


def _linked(text: str) -> str:
    """Names of sections as links to them."""
    return re.sub(r"\*([^*]+)\*", lambda found: f"[{found[1]}](#{found[1].lower().replace(' ', '-')})", text)


# a part ---------------------------------------------------------------------------------------------------------
def _by_name(name: str) -> list[Part]:
    """Rows of that name, and whole sections of that title or that stand in a field of that name."""
    title, found = name.replace("_", " ").lower(), list[Part]()
    inside = {kind for section in sections() if section.kind for field_name, field in fields_of(section.kind).items()
              if field_name == name for kind in declared_in(field.annotation)}
    for section in sections():
        whole = section.title.lower() == title or section.kind in inside
        rows = section.rows if whole else tuple(row for row in section.rows if row.name == name)
        if rows:
            found.append((section, rows))
    if not found:
        names = [row.name for section in sections() for row in section.rows] + [one.title.lower() for one in sections()]
        raise LookupError(f"the language has no {name!r}{did_you_mean(name, dict.fromkeys(names))}")
    return found


def _at_path(steps: list[str]) -> list[Part]:
    """The field at a path such as positions.PB.docks, with the sections that stand in it."""
    kinds: tuple[type[Declared], ...] = (Scenario,)
    at: tuple[type[Declared], str] | None = None
    named = False  # whether the next step may be the name of an entry
    for step in steps:
        kind = next((kind for kind in kinds if step in fields_of(kind)), None)
        if kind is not None:
            at, field = (kind, step), fields_of(kind)[step]
            kinds, named = tuple(declared_in(field.annotation)), _has_entries(field.annotation)
        elif named:
            named = False
        else:
            known = [name for kind in kinds for name in fields_of(kind)]
            raise LookupError(f"the language has no {step!r} in {'.'.join(steps)}{did_you_mean(step, known)}")
    assert at is not None
    section = next(one for one in sections() if one.kind is at[0])
    return [(section, tuple(row for row in section.rows if row.name == at[1])),
            *((one, one.rows) for one in sections() if one.kind in kinds)]


def _has_entries(annotation: Any) -> bool:
    return get_origin(annotation) in (tuple, dict) or any(map(_has_entries, get_args(annotation)))


# what may stand in more than one section ------------------------------------------------------------------------
_BESIDE = "beside this file or in a folder below"
_EXTENDING = Section(
    "A file that extends another", "It names the other file and says only what differs: fields are laid over fields of "
    "the same name, lists and single values are replaced as a whole, and `changes` name single values by path.",
    "the file itself",
    (Row("extends", str(EXTENDING["extends"]["description"]), "name of a file", f"{_BESIDE}; at most 5 files in a row",
         "left out", "extends: birchwater.yaml"),
     Row("changes", str(EXTENDING["changes"]["description"]), "that of the field that is changed",
         "paths with values; only beside `extends`", "left out",
         "changes: {positions.PB.docks: 2, trades.FLM.people.day: +1}")))
_TABLE = Section(
    "Table beside the file", "A long list may stand in a table instead: one row an entry, one column a field. Several "
    "names in one cell are parted by semicolons; an empty cell leaves its field out.",
    ", ".join([*(_place(kind, name) for kind, name, _ in every_field()
                 if kind is not Known and (kind, name) in table_fields()), "every field of *Known*"]),
    (Row("csv", str(TABLE["csv"]["description"]), "name of a file", _BESIDE, "must be given, or `xlsx`",
         "orders: {csv: orders.csv}"),
     Row("xlsx", str(TABLE["xlsx"]["description"]), "name of a file", _BESIDE, "must be given, or `csv`",
         "orders: {xlsx: plant.xlsx}"),
     Row("sheet", str(TABLE["sheet"]["description"]), "name of a sheet", "only beside `xlsx`", "left out",
         "orders: {xlsx: plant.xlsx, sheet: Orders}")))
_SPREAD = Section(
    "Spread", "How a value varies from one time to the next. `mean`, `low`, `mode` and `high` are in the unit of the "
    "field and 0 or more; `cv` is the standard deviation over the mean, of the value itself.",
    'fields whose unit says "or a spread"',
    tuple(Row(name, meaning, "that of the field", may, "none: one kind is given", f"hours: {{{name}: {example}}}")
          for name, meaning, may, example in (
        ("fixed", "Always the same; a number alone says it too.", "0 or more", "8"),
        ("exponential", "Exponential, by its mean.", "0 or more", "8"),
        ("erlang", "Erlang: the sum of k equal exponentials.", "k a whole number of 1 or more", "{mean: 8, k: 3}"),
        ("gamma", "Gamma, by its mean and cv.", "cv 0 or more", "{mean: 8, cv: 0.5}"),
        ("lognormal", "Lognormal, by its mean and cv.", "cv 0 or more", "{mean: 8, cv: 0.5}"),
        ("triangular", "Triangular.", "low at most mode, mode at most high", "{low: 6, mode: 8, high: 12}"),
        ("uniform", "All values between two limits are as likely.", "low at most high", "{low: 6, high: 10}"),
        ("column", "One of the values listed, as from records; all are as likely.",
         "list of one or more; each 0 or more", "[7.5, 8, 8, 11]"))))
