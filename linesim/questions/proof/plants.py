"""Textbook plants in the scenario language, and one run of them.

A plant is written as the values of a scenario file and read by the reader of scenario files, so that a check has no way
into the engine that a user does not have. Hours are the unit of time.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from ...line.floor import run_once
from ...line.records import Records
from ...line.sheet import Sheet
from ...scenario.reading import parse_scenario, read_scenario
from ...scenario.scenario import Scenario
from ...scenario.shipped import SHIPPED

SEED = 20270104
START = date(2027, 1, 1)
EVERY_DAY = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
ROUND_THE_CLOCK = {"all": {"work": ["00:00-24:00"]}}
DEMO = SHIPPED / "birchwater.yaml"


def plant(positions: list[dict[str, Any]], hours: float = 8760, **parts: Any) -> Scenario:
    """A round-the-clock plant that runs for so many hours (whole days) and launches whenever the first place is
    free."""
    last = START + timedelta(days=max(1, round(hours / 24)) - 1)
    values = {"name": "outside check", "start": START.isoformat(), "end": last.isoformat(), "orders": "unlimited",
              "launches": {"saturated": True}, "positions": positions, **parts}
    return parse_scenario(json.dumps(values))


def run(scenario: Scenario, number: int = 0, seed: int = SEED) -> tuple[Sheet, Records]:
    """Run number `number`."""
    sheet = Sheet(scenario)
    return sheet, run_once(sheet, seed, number)


def place(name: str, hours: Any, docks: int = 1, parking: int = 0, **more: Any) -> dict[str, Any]:
    """A place with one package that needs nobody."""
    packages = [{"id": f"{name} work", "hours": hours}]
    return {"id": name, "docks": docks, "parking": parking, "packages": packages, **more}


def line(hours: Sequence[Any], parking: Sequence[int], docks: Sequence[int] | None = None) -> list[dict[str, Any]]:
    """Places in a row: hours of each, parking between neighbours."""
    docks = docks or [1] * len(hours)
    return [place(f"P{n}", each, docks[n], 0 if n == 0 else parking[n - 1]) for n, each in enumerate(hours)]


def erlang(mean: float, phases: int) -> dict[str, Any]:
    """Erlang hours, or exponential ones for a single phase."""
    return {"exponential": mean} if phases == 1 else {"erlang": {"mean": mean, "k": phases}}


def all_hours(sheet: Sheet) -> float:
    """Length of a run."""
    return sheet.calendar.end / 60


def demo() -> Scenario | None:
    """The shipped demo, whose data are invented; None in a copy that was installed without it."""
    return read_scenario(DEMO) if demo_is_here() else None


def demo_is_here() -> bool:
    """Whether the demo stands beside the package or was installed with it."""
    return DEMO.exists()
