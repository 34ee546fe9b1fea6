"""The changes of each comparison, looked at when the scenario is read: a slip is found before anything is run.

Every path and value is looked at; the rules that tie parts together are read over several comparisons at once, as far
as these do not change the same place, and over each by itself where that finds something.
"""

from __future__ import annotations

from typing import Any

from pydantic import ValidationError

from .faults import Fault
from .judging import refused
from .paths import path_of, put_apart, stepped
from .rules import faults_of
from .scenario import Scenario
from .tree import Path_, Source, place_of

Change = tuple[Path_, Path_, Any]  # where it stands in the file, the place that it changes, and the value there


def add_comparison_faults(scenario: Scenario, source: Source) -> None:
    """Add what is wrong with the changes of the comparisons of a scenario that has no other fault."""
    each = [found for n, _ in enumerate(scenario.comparisons) if (found := _changes(scenario, n, source))]
    if source.faults or not each:
        return
    unions: list[list[Change]] = []
    for changes in each:
        together = next((union for union in unions if not _meet(union, changes)), None)
        if together is None:
            unions.append(list(changes))
        else:
            together += changes
    if any(_faults(scenario, source, union) for union in unions):
        for changes in each:
            source.faults += _faults(scenario, source, changes)


def _changes(scenario: Scenario, n: int, source: Source) -> list[Change]:
    values, found = dict(source.values), []
    for place, given in scenario.comparisons[n].changes.items():
        mark = ("comparisons", n, "changes", place)
        try:
            path = path_of(values, place)
            if path[0] == "comparisons":
                raise LookupError("a comparison cannot change comparisons")
            value = stepped(values, path, given)
        except (LookupError, ValueError) as error:
            source.add(mark, str(error.args[0]))
            continue
        put_apart(values, path, value)
        found.append((mark, path, value))
    return found


def _meet(some: list[Change], others: list[Change]) -> bool:
    """Whether two sets of changes give one place different values, or one changes inside what the other replaces."""
    return any(one[:len(other)] == other[:len(one)] and (one != other or value != wanted)
               for _, one, value in some for _, other, wanted in others)


def _faults(scenario: Scenario, source: Source, changes: list[Change]) -> list[Fault]:
    """Faults of the changed scenario, each at the change to which it is nearest."""
    values: dict[str, Any] = {field.alias or name: getattr(scenario, name) for name, field in
                              Scenario.model_fields.items() if name in scenario.model_fields_set}
    values["orders"] = "unlimited" if scenario.orders is None else scenario.orders
    for section in {path[0] for _, path, _ in changes}:
        values[section] = source.values.get(section)
    for _, path, value in changes:
        put_apart(values, path, value)
    try:
        wrong = [(path, message) for path, message in faults_of(Scenario.model_validate(values))]
    except ValidationError as error:
        wrong = [(place, message) for _, place, message in refused(error, values)]
    return [source.fault_at(_nearest(path, changes), f"{place_of(path, values)}: {message}") for path, message in wrong]


def _nearest(path: Path_, changes: list[Change]) -> Path_:
    def shared(change: Change) -> int:
        return next((n for n, (a, b) in enumerate(zip(path, change[1], strict=False)) if a != b),
                    min(len(path), len(change[1])))

    return max(changes, key=shared)[0]
