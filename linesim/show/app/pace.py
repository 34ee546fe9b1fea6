"""How soon the first numbers of a question come: as long as they took the last time on this machine, or an estimate
from the size of the scenario where the question was never asked of it.
"""

from __future__ import annotations

import json
import math
from pathlib import Path

from ...scenario.scenario import Scenario
from ..whole_files import write_whole
from .wish import ASKED, Wish

PACE = "pace.json"  # seconds by question and scenario, in the folder of all wishes
TO_BEGIN = 1.2      # seconds until a process is there and has read what it needs
PER_JOB = 2e-4      # seconds of one package on one aircraft, in a run and the reading of it
MOST = 200          # questions that are remembered


def remember(results: Path, wish: Wish, seconds: float) -> None:
    """The first numbers of a wish came so many seconds after the button."""
    found = _known(results)
    found.pop(_key(wish), None)
    found[_key(wish)] = round(seconds, 1)
    kept = dict(list(found.items())[-MOST:])
    write_whole(results / ASKED / PACE, json.dumps(kept, indent=1).encode())


def first_numbers(results: Path, wish: Wish, scenario: Scenario) -> int:
    """Whole seconds until first numbers, at least one."""
    jobs = sum(len(position.packages) for position in scenario.positions) * len(scenario.orders or (None,))
    return max(1, math.ceil(_known(results).get(_key(wish), TO_BEGIN + PER_JOB * jobs)))


def _key(wish: Wish) -> str:
    return f"{wish.question} {wish.digest[:8]}"


def _known(results: Path) -> dict[str, float]:
    try:
        found = json.loads((results / ASKED / PACE).read_bytes())
    except (OSError, ValueError):
        return {}
    return {str(name): float(value) for name, value in found.items()} if isinstance(found, dict) else {}
