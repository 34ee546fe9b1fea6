"""What the textbook model and the engine say of one plant, instant by instant, and the first on which they part."""

from __future__ import annotations

from collections import Counter
from datetime import datetime, timedelta
from typing import Any

import plants
import textbook
from plain_numbers import plain
from textbook_plant import Closing, Plant, Stay, Stop, Told, Travelled

from linesim.line.floor import run_once
from linesim.line.records import Records
from linesim.line.sheet import Sheet
from linesim.scenario.scenario import Scenario

TOLERANCE = 1e-6        # minutes
THIRDS = 1e-4           # where crews change by thirds
Key = tuple[Any, ...]


def compare(scenario: plants.Scenario) -> None:
    """Both models on one plant."""
    assert difference(scenario) is None


def difference(scenario: plants.Scenario) -> str | None:
    """The earliest instant on which the two models of a plant do not agree, in words."""
    expected, found = by_textbook(plain(scenario)), by_engine(scenario)
    return first_difference(expected, found, THIRDS if plants.wide(scenario) else TOLERANCE)


def by_textbook(plant: Plant) -> dict[Key, float]:
    """Instants by what happened, as the textbook model says."""
    return instants(textbook.told(plant), len(plant.orders))


def by_engine(scenario: plants.Scenario) -> dict[Key, float]:
    """The same, as the engine says."""
    sheet = Sheet(Scenario.model_validate(scenario))
    records = run_once(sheet, 1, 0)
    return instants(_as_told(scenario, sheet, records), len(records.serials))


def _as_told(scenario: plants.Scenario, sheet: Sheet, records: Records) -> Told:
    """Records of the engine in the words of the textbook model; a closing stands where the work was planned."""
    name, place = records.serials, [place.id for place in sheet.places]
    planned = {p["id"]: (position.get("half", ""), position["id"]) for position in scenario["positions"]
               for p in position["packages"]}
    return Told(
        closings=[Closing(name[c.serial], *planned[c.job], c.job, c.repeat, c.closed) for c in records.closings],
        launched={name[n.serial]: n.made for n in records.launches},
        delivered={name[serial]: t for serial, t in records.delivered.items()},
        stays=[Stay(name[v.serial], v.half, place[v.place], v.arrived, v.left)
               for v in records.visits if not v.parked],
        pulses=[(pulse.due, pulse.made) for pulse in records.pulses],
        stops=[Stop(s.start, s.end, tuple(sorted(name[n] for n in s.caused_by))) for s in records.stops],
        travelled=[Travelled(name[t.serial], t.job, place[t.origin], place[t.to], t.at, t.before, t.after)
                   for t in records.travelled])


def instants(told: Told, many: int) -> dict[Key, float]:
    """Instants by what happened. An empty line goes on moving after the last delivery: that is not compared."""
    over = max(told.delivered.values()) if len(told.delivered) == many else plants.DAYS * 1440
    found: dict[Key, Any] = {c[:-1]: c.closed for c in told.closings}
    found |= {("launched", serial): t for serial, t in told.launched.items()}
    found |= {("delivered", serial): t for serial, t in told.delivered.items()}
    for n, (due, made) in enumerate(pulse for pulse in told.pulses if pulse[1] < over):
        found |= {("pulse", n): made, ("pulse due", n): due}
    for n, stop in enumerate(stop for stop in told.stops if stop.due < stop.made < over):
        found |= {("line stop", n, stop.causes): stop.made, ("stop since", n): stop.due}
    for t in told.travelled:
        found |= {("travels", *t[:4]): t.at, ("hours before", *t[:4]): t.before, ("hours after", *t[:4]): t.after}
    return {key: float(t) for key, t in (found | _stays(told.stays)).items()}


def _stays(stays: list[Stay]) -> dict[Key, Any]:
    """Arrivals and departures of docks, the nth of an aircraft in a place."""
    seen: Counter[Key] = Counter()
    found: dict[Key, Any] = {}
    for serial, half, place, arrived, left in sorted(stays, key=lambda s: (s.arrived, s.left)):
        seen[serial, half, place] += 1
        nth = (serial, half, place, seen[serial, half, place])
        found |= {("arrived", *nth): arrived, ("left", *nth): left}
    return found


def first_difference(expected: dict[Key, float], found: dict[Key, float], tolerance: float) -> str | None:
    """The earliest instant by what happened that only one of the two has."""
    apart = [(min(expected.get(key, 1e9), found.get(key, 1e9)), str(key), expected.get(key), found.get(key))
             for key in expected.keys() | found.keys()
             if key not in expected or key not in found or abs(expected[key] - found[key]) > tolerance]
    if not apart:
        return None
    _, key, textbook_says, engine_says = min(apart, key=lambda a: a[:2])
    return f"{key}: textbook {textbook_says}, engine {engine_says} ({len(apart)} of {len(expected)} apart)"


def wall(scenario: plants.Scenario, t: Any) -> str:
    """Wall-clock time of an instant."""
    at = datetime.fromisoformat(scenario["start"]) + timedelta(minutes=float(t))
    return f"{at:%Y-%m-%d %H:%M}"
