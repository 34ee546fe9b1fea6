"""What may not be moved in the tables, with the reason in words; what holds for one row holds whatever the screen says.

A cure or hold is not shortened, a buy-off not skipped, and what may not travel stays. A new package brings its own of
these; they are set once, when it is added. Caps of overtime and duty and limits of flight stand in no table.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

CURE = ("A cure or hold is elapsed time, day and night, from the process specification. Nobody may shorten it; what it "
        "is stands in the file.")
INSPECTION = ("Inspections and buy-offs come from the approved quality system. They are not skipped, shortened or "
              "given to another trade here; what they are stands in the file.")
TRAVEL = "Which work may move on unfinished is decided by engineering and quality; it stands in the file."
CODE = "This name is used all over the file; change it there, in every place."
WAITS = "waits for {}, a {}: that wait stays. Another order of work is a matter for engineering, in the file"
_FIELDS = {("Package", "cure_hours"): CURE, ("Package", "elapsed_hours"): CURE,
           ("Package", "kind"): INSPECTION, ("Package", "inspection_hours"): INSPECTION,
           ("Package", "inspector"): INSPECTION, ("Package", "gate"): INSPECTION, ("Package", "can_travel"): TRAVEL,
           ("OnTheLine", "open_squawks"): "Open squawks hold fields of their own; they are written in the file."}
_OF_A_BUY_OFF = ("trade", "hours", "crew", "crew_min", "crew_max", "chance", "models", "schemes")
_OF_A_HOLD = ("chance", "models", "schemes")

Entry = dict[str, Any]


class Refused(Exception):
    """An edit that is not made, with the reason in words."""


def fixed_field(kind: str, name: str) -> str:
    """Why a field of a declaration may not be moved here; "" where it may."""
    return _FIELDS.get((kind, name), "")


def fixed_package_field(package: Entry, name: str) -> str:
    """Why a field of this one package may not be moved, though others of its kind may."""
    if package.get("kind") in ("buy-off", "appointment") and name in _OF_A_BUY_OFF:
        return INSPECTION
    if _is_wait(package) and name in _OF_A_HOLD:
        return CURE
    return ""


def kept_package(package: Entry) -> str:
    """Why a package may not be taken out; "" where it may."""
    if package.get("kind") in ("buy-off", "appointment") or package.get("gate"):
        return INSPECTION
    return CURE if _is_wait(package) else ""


def lost_wait(packages: Sequence[Any], number: int, after: Any) -> str:
    """What a package would no longer wait for, if it waited for others than before; "" where nothing is lost."""
    here = packages[number]
    before = _after(here.get("after"), packages, number)
    now = _after(after, packages, number)
    waits = {one.get("id"): one for one in packages if isinstance(one, dict) and what_it_is(one)}
    lost = [name for name in before if name in waits and name not in _reached(now, packages)]
    return f"{here.get('id')} {WAITS.format(lost[0], what_it_is(waits[lost[0]]))}" if lost else ""


def what_it_is(package: Entry) -> str:
    """The wait that a package is for those behind it: hold, buy-off, step with a cure; "" for other work."""
    if package.get("kind") in ("hold", "buy-off", "appointment"):
        return str(package["kind"])
    return "step with a cure" if package.get("cure_hours") else ""


def _is_wait(package: Entry) -> bool:
    return package.get("kind") == "hold" or bool(package.get("cure_hours")) or package.get("elapsed_hours") is not None


def _after(after: Any, packages: Sequence[Any], number: int) -> list[str]:
    """Packages that one waits for; left out: the one above it."""
    if after is None:
        above = packages[number - 1] if number else None
        return [str(above.get("id"))] if isinstance(above, dict) else []
    return [after] if isinstance(after, str) else [str(one) for one in after] if isinstance(after, list) else []


def _reached(names: list[str], packages: Sequence[Any]) -> set[str]:
    """Those packages, and all that they wait for themselves."""
    numbers = {str(one.get("id")): n for n, one in enumerate(packages) if isinstance(one, dict)}
    found, ahead = set[str](), list(names)
    while ahead:
        name = ahead.pop()
        if name not in found:
            found.add(name)
            if name in numbers:
                ahead += _after(packages[numbers[name]].get("after"), packages, numbers[name])
    return found
