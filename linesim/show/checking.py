"""`linesim check`: the cautions of a file that can run."""

from __future__ import annotations

import json

from ..line.cautions import cautions_of
from ..scenario.reading import read_scenario


def check_file(file: str, *, as_json: bool) -> int:
    """Print what the file holds and its cautions; faults are raised."""
    scenario = read_scenario(file)
    cautions = [str(caution) for caution in cautions_of(scenario)]
    if as_json:
        print(json.dumps({"name": scenario.name, "faults": [], "cautions": cautions}, indent=2))
        return 0
    packages = sum(len(position.packages) for position in scenario.positions)
    ordered = "unlimited orders" if scenario.orders is None else f"{len(scenario.orders)} orders"
    print(f"{scenario.name}: no faults. {len(scenario.positions)} positions, {packages} packages, "
          f"{len(scenario.trades)} trades, {ordered}, {scenario.start} to {scenario.end}.\n")
    for caution in cautions:
        print(f"Caution  {caution}")
    return 0
