"""Changes of a scenario by dotted paths, each laid on what the one before it made; see `paths.py` for the language."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from .comparisons import add_comparison_faults
from .extending import extend
from .faults import ScenarioFaults
from .judging import judge
from .paths import plain
from .reading import source_of
from .scenario import Scenario
from .tree import Source


def changed(scenario: Scenario | str, changes: Mapping[str, object], *, folder: Path | None = None) -> Scenario:
    """A new scenario with changes by path: `{"positions.PB.docks": 2, "trades.FLM.people.day": "+1"}`.

    A text is a scenario file; its tables are looked for in `folder`. Raises ScenarioFaults: what is wrong with a change
    stands in the file `changes`, the first one in line 1; what is wrong elsewhere in the text stands in `scenario`.
    """
    base = Source("scenario", plain(scenario)) if isinstance(scenario, Scenario) else \
        source_of(scenario, "scenario", folder or Path())
    own = Source("changes", {"changes": dict(changes)})
    own.marks = {("changes", place): (n, 1) for n, place in enumerate(changes, 1)}
    source = extend(base, own)
    found = judge(source)
    if any(place.split(".")[0] == "comparisons" for place in changes):
        add_comparison_faults(found, source)
        if source.faults:
            raise ScenarioFaults(source.file, source.faults)
    return found
