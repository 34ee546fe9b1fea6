"""What stands in a field of a scenario as one cell of a table on the screen, and back again.

A cell reads as it does in a table beside a file: names parted by semicolons. A list that is there and empty is `none`,
shares by name are `RIG 0.8; FIN 0.5`, a spread is written as in the file.
"""

from __future__ import annotations

from typing import Any, Literal, get_origin

from pydantic.fields import FieldInfo

from ....scenario.faults import ScenarioFaults
from ....scenario.spread import Spread
from ....scenario.tree import Unread, number_in, read_tree
from ....scenario.units import opened, readers_in
from ....scenario.written import written

Form = Literal["text", "whole", "number", "yes", "spread", "names", "name or names", "shares", "choice", "words"]
NONE = "none"
_PLAIN: dict[Any, Form] = {bool: "yes", int: "whole", float: "number", Spread: "spread"}


def form_of(field: FieldInfo) -> Form:
    """How a declared field is written in a cell."""
    kind, metadata, parts = opened(field.annotation, field.metadata)
    if parts:
        return "words"
    if get_origin(kind) is Literal:
        return "choice"
    if get_origin(kind) is tuple:
        return "name or names" if "_places" in readers_in(metadata) else "names"
    return "shares" if get_origin(kind) is dict else _PLAIN.get(kind, "text")


def shown(value: Any, form: Form) -> Any:
    """A value as its cell: a number, true or false, text, or None where nothing is said."""
    if value is None or isinstance(value, Unread):
        return None
    if form == "yes":
        return value if isinstance(value, bool) else None
    if form in ("whole", "number") and isinstance(value, int | float):
        return value
    if isinstance(value, list) and not any(isinstance(one, dict | list) for one in value):
        return "; ".join(_one(one) for one in value) if value else NONE
    if form == "shares" and isinstance(value, dict):
        return "; ".join(f"{name} {_one(share)}" for name, share in value.items()) or NONE
    return _one(value)


def _one(value: Any) -> str:
    if isinstance(value, str):
        return value
    if isinstance(value, Unread):
        return "?"
    return written(value)


def meant(cell: Any, form: Form, before: Any = None) -> Any:
    """The value that a cell means; None where it is empty. What does not fit is left as it is, for the reader."""
    if cell is None or cell != cell or (isinstance(cell, str) and not cell.strip()):  # no number is not itself
        return None
    if isinstance(cell, bool) or form == "yes":
        return cell
    if isinstance(cell, int | float):
        return int(cell) if float(cell).is_integer() else float(cell)
    text = str(cell).strip()
    if form in ("whole", "number", "spread"):
        return _number_or_spread(text)
    if form in ("names", "name or names"):
        names = [] if text == NONE else [part.strip() for part in text.split(";") if part.strip()]
        return names[0] if form == "name or names" and len(names) == 1 and not isinstance(before, list) else names
    return _shares(text) if form == "shares" else text


def _number_or_spread(text: str) -> Any:
    found = number_in(text)
    if found is not None:
        return text if isinstance(found, Unread) else found
    if text.startswith("{"):
        try:
            tree = read_tree(f"x: {text}", "")
        except ScenarioFaults:
            return text
        return tree.values["x"] if list(tree.values) == ["x"] and not tree.faults else text
    return text


def _shares(text: str) -> Any:
    """Shares by name; what is written otherwise stays text, which the reader refuses."""
    found: dict[str, Any] = {}
    for part in text.split(";") if text != NONE else ():
        name, _, share = part.strip().rpartition(" ")
        number = number_in(share)
        if not name.strip() or number is None or isinstance(number, Unread):
            return text
        found[name.strip().rstrip(":")] = number
    return found
