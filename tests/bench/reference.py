"""The reference line four times: in linesim (as a scenario file), in textbook SimPy, in Ciw and in salabim."""

from __future__ import annotations

import math
import random
import time
from collections import defaultdict
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

from linesim.line.desk import run_chunk
from linesim.line.floor import run_once
from linesim.line.records import Records, State
from linesim.line.sheet import Sheet
from linesim.measures.run import numbers_of
from linesim.scenario.reading import read_scenario

from .textbook_line import Line

FILE = Path(__file__).parent / "reference_line.yaml"
STATIONS, BACK_TO, GOES_BACK = 10, 5, 0.1
WAITING = (0, 2, 2, 2, 2, 1000, 2, 2, 2, 2)
MEAN, BETWEEN, HOURS = 0.1, 0.2, 4000.0     # hours
LEAN = 30   # number of a run whose segments are not kept, as those of nearly all runs


@dataclass(frozen=True, slots=True)
class Timed:
    """Parts delivered, CPU seconds, and events where they can be counted."""

    parts: int
    seconds: float
    events: int = 0
    visits: int = 0

    @property
    def a_thousand(self) -> float:
        """CPU seconds for 1,000 parts."""
        return 1000 * self.seconds / self.parts


def sheet_of(days: int | None) -> Sheet:
    """The line over its first days, or over all of them."""
    scenario = read_scenario(FILE)
    return Sheet(scenario if days is None else scenario.model_copy(
        update={"end": scenario.start + timedelta(days=days - 1)}))


def by_linesim(sheet: Sheet, number: int = LEAN) -> Timed:
    """The way every run of the demo goes: records written, numbers read off them."""
    begun = time.process_time()
    done, = run_chunk(sheet, 1, [number], numbers_of)
    return Timed(len(done.delivered), time.process_time() - begun)


def engine_alone(sheet: Sheet, number: int = LEAN) -> Timed:
    """The run with its records, no numbers read."""
    begun = time.process_time()
    records, = run_chunk(sheet, 1, [number], _records)
    return Timed(len(records.delivered), time.process_time() - begun)


def _records(_sheet: Sheet, records: Records) -> Records:
    return records


def by_textbook(seed: int, hours: float = HOURS) -> Timed:
    """Times are drawn when they are needed."""
    draw = random.Random(seed)
    launches, t = [], 0.0
    while (t := t + draw.expovariate(1 / BETWEEN)) < hours:
        launches.append(t)
    begun = time.process_time()
    line = Line(launches, WAITING, lambda *_: draw.expovariate(1 / MEAN), lambda _, station, __: _beyond(draw, station))
    line.run(hours)
    seconds = time.process_time() - begun
    return Timed(len(line.delivered), seconds, line.events, line.visits)


def _beyond(draw: random.Random, station: int) -> int | None:
    if station < STATIONS - 1:
        return station + 1
    return BACK_TO if draw.random() < GOES_BACK else None


def by_ciw(seed: int, hours: float) -> Timed:
    """Its records are on: it has no other way."""
    import ciw

    routing = [[float(j == i + 1) for j in range(STATIONS)] for i in range(STATIONS)]
    routing[-1][BACK_TO] = GOES_BACK
    network = ciw.create_network(
        arrival_distributions=[ciw.dists.Exponential(1 / BETWEEN)] + [None] * (STATIONS - 1),
        service_distributions=[ciw.dists.Exponential(1 / MEAN)] * STATIONS, routing=routing,
        number_of_servers=[1] * STATIONS,
        queue_capacities=[math.inf if room in (0, 1000) else room for room in WAITING])
    ciw.seed(seed)
    begun = time.process_time()
    simulation = ciw.Simulation(network)
    simulation.simulate_until_max_time(hours)
    seconds = time.process_time() - begun
    return Timed(len(simulation.nodes[-1].all_individuals), seconds)


def by_salabim(seed: int, hours: float) -> Timed:
    """A component for each part, in its mode with `yield`; its own monitors of resources are off."""
    import salabim

    draw = random.Random(seed)
    salabim.yieldless(False)
    env = salabim.Environment(trace=False, yieldless=False, random_seed=seed)
    servers = [salabim.Resource(monitor=False) for _ in range(STATIONS)]
    places = [salabim.Resource(capacity=1 + room, monitor=False) if n else salabim.Resource(capacity=1, monitor=False)
              for n, room in enumerate(WAITING)]
    delivered = []

    class Part(salabim.Component):
        def process(self):  # type: ignore[no-untyped-def]
            station = 0
            yield self.request(places[0])
            while True:
                yield self.request(servers[station])
                yield self.hold(draw.expovariate(1 / MEAN))
                beyond = _beyond(draw, station)
                if beyond is not None:
                    yield self.request(places[beyond])
                self.release(servers[station])
                self.release(places[station])
                if beyond is None:
                    delivered.append(env.now())
                    return
                station = beyond

    class Source(salabim.Component):
        def process(self):  # type: ignore[no-untyped-def]
            while True:
                yield self.hold(draw.expovariate(1 / BETWEEN))
                Part()

    Source()
    begun = time.process_time()
    env.run(till=hours)
    return Timed(len(delivered), time.process_time() - begun)


# the same work -------------------------------------------------------------------------------------------------------
def both(days: int, number: int = 0) -> tuple[list[float], list[float], Line]:
    """Deliveries (minutes, in order) as the engine and as the textbook say on the same times, and the textbook line."""
    sheet = sheet_of(days)
    records = run_once(sheet, 1, number)
    worked: dict[int, dict[int, list[tuple[float, float]]]] = defaultdict(lambda: defaultdict(list))
    for segment in records.segments:
        if segment.state in (State.WORK, State.REWORK):
            worked[segment.serial][segment.place].append((segment.start, segment.end))
    times = {(serial, place, n): end - start for serial, places in worked.items() for place, spans in places.items()
             for n, (start, end) in enumerate(sorted(spans))}
    rounds = {serial: len(places[STATIONS - 1]) for serial, places in worked.items()}
    planned = dict(records.planned)

    def beyond(part: int, station: int, nth: int) -> int | None:
        if station < STATIONS - 1:
            return station + 1
        return BACK_TO if nth + 1 < rounds[part] or part not in records.delivered else None

    last = sheet.calendar.end
    line = Line([planned[serial] for serial in sorted(planned)], WAITING,
                lambda *visit: times.get(visit, 2 * last), beyond).run(last)
    return [records.delivered[n] for n in sorted(records.delivered)], \
        [line.delivered[n] for n in sorted(line.delivered)], line
