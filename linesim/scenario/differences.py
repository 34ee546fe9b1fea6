"""What differs between two scenarios, in the words of a file: the path of each value, and what each says there."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from .changing import changed
from .paths import NAMES, plain
from .scenario import Scenario

NOT_SAID = "left out"
NOT_COMPARED = ("comparisons", "plans", "name", "about", "runs", "seed", "assumed", "invented")
Difference = tuple[str, Any, Any]  # path, value in the first, value in the second


def differences(ground: Scenario, other: Scenario) -> list[Difference]:
    """Values that are not the same, in the order of the file; what only describes or asks is left out."""
    first, second = plain(ground), plain(other)
    keys = [key for key in dict.fromkeys([*first, *second]) if key not in NOT_COMPARED]
    return [found for key in keys for found in _between(key, first.get(key, NOT_SAID), second.get(key, NOT_SAID))]


def _between(path: str, first: Any, second: Any) -> Iterator[Difference]:
    if first == second:
        return
    if isinstance(first, list) and isinstance(second, list):
        first, second = _by_name(first), _by_name(second)
    if isinstance(first, dict) and isinstance(second, dict):
        for key in dict.fromkeys([*first, *second]):
            yield from _between(f"{path}.{key}", first.get(key, NOT_SAID), second.get(key, NOT_SAID))
    else:
        yield path, first, second


def _by_name(entries: list[Any]) -> Any:
    """Entries by the name that a path calls them by; the list itself where they have none."""
    names = [next((str(entry[key]) for key in NAMES if key in entry), None) if isinstance(entry, dict) else None
             for entry in entries]
    if any(name is None for name in names) or len(set(names)) < len(names):
        return entries
    return dict(zip(names, entries, strict=True))


def with_plan(scenario: Scenario, name: str) -> Scenario:
    """The scenario with a named rate plan in place of its launches' steps. Raises LookupError for an unknown name."""
    plan = next((plan for plan in scenario.plans if plan.name == name), None)
    if plan is None:
        raise LookupError(f"no rate plan is called {name!r}; there is {', '.join(p.name for p in scenario.plans)}")
    return scenario.model_copy(update={"launches": scenario.launches.model_copy(update={"steps": plan.steps})})


def compared(scenario: Scenario, name: str) -> Scenario:
    """The scenario of one of its declared comparisons. Raises LookupError for an unknown name."""
    comparison = next((one for one in scenario.comparisons if one.name == name), None)
    if comparison is None:
        raise LookupError(name)
    found = scenario if comparison.plan is None else with_plan(scenario, comparison.plan)
    found = changed(found, comparison.changes) if comparison.changes else found
    return found.model_copy(update={"name": name})
