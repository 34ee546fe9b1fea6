"""Larger plants for measuring: the demo over more years and aircraft, and plants of many places and packages. Invented.

`python -m tests.bench.plants years FILE` and `... places FILE` write them as scenario files.
"""

from __future__ import annotations

import csv
import json
import sys
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import yaml

from linesim.scenario.reading import parse_scenario
from linesim.scenario.scenario import Scenario

from .measured import BIRCHWATER

TAKT = 4.5          # work days, of the demo
WORK_DAYS = 250     # of a year


def over_years(folder: Path, years: float, aircraft: int) -> Path:
    """The demo over so many years from its start, with so many aircraft ordered, launched evenly; a scenario file with
    its orders in `folder`."""
    values = yaml.safe_load(BIRCHWATER.read_text())
    start = date.fromisoformat(str(values["start"]))
    end = start + timedelta(days=round(365.25 * years))
    for name in ("plans", "comparisons", "on_the_line", "known"):
        values.pop(name, None)
    takt = round(min(TAKT, WORK_DAYS * years / aircraft), 2)
    values |= {"name": f"{years:g} years, {aircraft} aircraft", "end": str(end), "orders": {"csv": "orders.csv"},
               "window": {"from": str(start), "to": str(end)}, "launches": {"takt_work_days": takt}}
    with (BIRCHWATER.parent / "birchwater-orders.csv").open() as file:
        kinds = list(csv.DictReader(file))
    with (folder / "orders.csv").open("w", newline="") as file:
        table = csv.DictWriter(file, kinds[0])
        table.writeheader()
        for n in range(aircraft):
            promised = start + timedelta(days=round(150 + takt * 365 / WORK_DAYS * n))
            table.writerow(kinds[n % len(kinds)] | {"serial": f"DN4-{n + 233:04d}", "promised": promised})
    found = folder / "years.yaml"
    found.write_text(yaml.safe_dump(values, sort_keys=False, allow_unicode=True))
    return found


def of_places(places: int, packages: int, aircraft: int = 60, days: int = 365) -> Scenario:
    """A plant of so many places and packages."""
    return parse_scenario(text_of_places(places, packages, aircraft, days))


def text_of_places(places: int, packages: int, aircraft: int = 60, days: int = 365) -> str:
    """Places in a row, packages spread evenly over them in chains of two, six trades on two shifts, some parking; as a
    scenario file."""
    trades = [f"T{n}" for n in range(6)]
    each = [packages // places + (n < packages % places) for n in range(places)]
    positions: list[dict[str, Any]] = []
    for n, many in enumerate(each):
        work = [{"id": f"p{n}-{k}", "trade": trades[(n + k) % 6], "hours": 32 / max(1, many), "crew_max": 2,
                 **({"after": []} if k % 2 == 0 else {})} for k in range(many)]
        positions.append({"id": f"P{n}", "parking": int(n > 0), "packages": work})
    people = max(2, round(places * 32 / 40))
    start = date(2027, 1, 4)
    return json.dumps({
        "name": f"{places} places, {packages} packages", "invented": True, "start": str(start),
        "end": str(start + timedelta(days=days)), "positions": positions, "launches": {"takt_work_days": 4},
        "work_time": {"spread": {"lognormal": {"mean": 1, "cv": 0.2}}},
        "shifts": {"day": {"start": "06:00", "end": "14:30", "meal_minutes": 30},
                   "evening": {"start": "14:30", "end": "23:00", "meal_minutes": 30}},
        "trades": {name: {"people": {"day": people, "evening": people // 2}} for name in trades},
        "orders": [{"serial": f"S{k:04d}"} for k in range(aircraft)]}, indent=1)


def write(what: str, file: str) -> None:
    """Write one of the large plants."""
    if what == "years":
        over_years(Path(file).parent, 10, 700).replace(file)
    else:
        Path(file).write_text(text_of_places(60, 1000))


if __name__ == "__main__":
    write(sys.argv[1], sys.argv[2])
