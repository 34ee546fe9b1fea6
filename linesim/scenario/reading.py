"""Reads a scenario file: a scenario, or all its faults at once with file, line and column.

A long list may stand in a table beside the file (`tables.py`), and a file may extend another (`extending.py`).
"""

from __future__ import annotations

from pathlib import Path

from .comparisons import add_comparison_faults
from .extending import extend
from .faults import ScenarioFaults
from .judging import judge
from .paths import put
from .scenario import Scenario
from .tables import beside, read_tables
from .tree import Source, read_text, read_tree

MOST_EXTENDED = 5


def read_scenario(path: str | Path) -> Scenario:
    """The scenario of a file; raises ScenarioFaults with every fault found."""
    path = Path(path)
    return parse_scenario(read_text(path), str(path), path.parent)


def parse_scenario(text: str, file: str = "scenario", folder: Path | None = None) -> Scenario:
    """The scenario of a YAML text; tables beside it are looked for in `folder`. Raises ScenarioFaults."""
    source = source_of(text, file, folder or Path())
    scenario = judge(source)
    add_comparison_faults(scenario, source)
    if source.faults:
        raise ScenarioFaults(file, source.faults)
    return scenario


def source_of(text: str, file: str, folder: Path, inside: tuple[Path, ...] = ()) -> Source:
    """Values of a file with its tables, laid over those of the file that it extends."""
    source = read_tree(text, file)
    _keep_steps(source)
    if "extends" not in source.values:
        read_tables(source, folder)
        return source
    name = source.values["extends"]
    read_tables(source, folder)
    try:
        base = beside(name, folder)
        if base in inside or len(inside) >= MOST_EXTENDED:
            raise ValueError("files extend each other in a ring" if base in inside else
                             f"at most {MOST_EXTENDED} files extend one another")
    except (OSError, ValueError, RuntimeError) as error:
        source.add(("extends",), f"{str(name)[:80]!r} cannot be extended: {getattr(error, 'strerror', None) or error}")
        raise ScenarioFaults(file, source.faults) from None
    below = source_of(read_text(base), str(folder / str(name)), base.parent, (*inside, base))
    return extend(below, source)


def _keep_steps(source: Source) -> None:
    """A signed number among changes is a step from what stands there, as on the command line."""
    for path, text in source.signed.items():
        if path[-2:-1] == ("changes",) and (len(path) == 2 or path[0] == "comparisons"):
            put(source.values, path, text)
