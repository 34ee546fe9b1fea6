"""`linesim change`: changes values of a scenario file by path and shows the lines that differ, and the cautions."""

from __future__ import annotations

from typing import Any

from ..line.cautions import cautions_of
from ..scenario.faults import Fault, NotChanged, ScenarioFaults
from ..scenario.saving import ChangedText, change_file
from ..scenario.tree import STEP, read_tree
from .words import wrapped


def change_scenario(file: str, given: list[str], to: str | None) -> int:
    """Change a file, or write what it becomes under another name; faults are raised and nothing is written."""
    try:
        found = change_file(file, changes_of(given), to)
    except ScenarioFaults as faults:
        raise NotChanged(faults.file, faults.faults) from None
    print("\n".join(_in_words(found, file, to)))
    return 0


def changes_of(given: list[str]) -> dict[str, Any]:
    """Values by path, of words PATH=VALUE; raises ScenarioFaults that name the word."""
    changes: dict[str, Any] = {}
    faults: list[Fault] = []
    for n, word in enumerate(given, 1):
        place, equals, text = word.partition("=")
        try:
            if not (place.strip() and equals):
                raise ValueError("a change is written PATH=VALUE, as in positions.PB.docks=2")
            if place.strip() in changes:
                raise ValueError("the same path is changed twice")
            changes[place.strip()] = _value(text.strip())
        except ValueError as error:
            faults.append(Fault("command line", 1, n, word[:80], str(error)))
    if faults:
        raise ScenarioFaults("command line", faults)
    return changes


def _value(text: str) -> Any:
    if STEP.fullmatch(text):
        return text
    try:
        tree = read_tree(f"value: {text}", "")
    except ScenarioFaults as faults:
        raise ValueError(faults.faults[0].message) from None
    if tree.faults or list(tree.values) != ["value"]:
        raise ValueError(tree.faults[0].message if tree.faults else "one value is written as in the file, on one line")
    return tree.values["value"]


def _in_words(found: ChangedText, file: str, to: str | None) -> list[str]:
    count = sum(max(len(old), len(new)) for _, old, new in found.lines)
    if not count:
        lines = [f"{file} says so already; nothing changes." + (f" Written as {to}." if to else "")]
    else:
        lines = [f"{to or file}: {count} line{'s' * (count != 1)} {'differ' + 's' * (count == 1) if to else 'changed'}"
                 f"{f' from {file}' if to else ''}.", ""]
    for number, old, new in found.lines:
        lines += [f"line {number}", *(f"   - {line}" for line in old), *(f"  -> {line}" for line in new)]
    return [*lines, "", *(line for caution in cautions_of(found.scenario)
                          for line in wrapped(f"Caution  {caution}", 9))]
