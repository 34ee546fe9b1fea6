"""Queues: places with docks, fixed and spread times, priorities, machine repair, and places behind a weather gate."""

from __future__ import annotations

import random
from collections.abc import Iterator
from functools import partial
from math import fsum
from typing import Any

from ...line.records import Records, State
from ...line.sheet import Sheet
from ...measures.ledger import Ledger
from .check import Check, each, exact, of_runs, within
from .listed import Proof, value
from .plants import EVERY_DAY, ROUND_THE_CLOCK, all_hours, erlang, place, plant, run
from .queue_chains import gated, queue, repair, waiting_at_noon

CHAIN = "exact Markov chain (in this package)"


def waiting(sheet: Sheet, records: Records, begin: float = 0.0) -> float:
    """Mean number of aircraft that are due to be launched and find no dock, from an hour on."""
    return _mean_between(records.planned, {entry.serial: entry.made for entry in records.launches}, begin * 60,
                         sheet.calendar.end)


def present(sheet: Sheet, records: Records, begin: float = 0.0) -> float:
    """Mean number of aircraft from the planned launch to delivery, from an hour on."""
    return _mean_between(records.planned, records.delivered, begin * 60, sheet.calendar.end)


def _mean_between(came: list[tuple[int, float]], left: dict[int, float], begin: float, end: float) -> float:
    spans = ((max(since, begin), min(left.get(serial, end), end)) for serial, since in came)
    return fsum(max(0.0, until - since) for since, until in spans) / (end - begin)


def markov(docks: int, load: float, printed: str, phases: int = 1) -> Iterator[Check]:
    """Poisson (or Erlang) arrivals and exponential times in a place with docks: mean number waiting."""
    rate = 3.0
    service = load * docks / rate
    chain = queue(rate, 1 / service, docks, phases)
    known, name = value(printed), f"{'M' if phases == 1 else f'E{phases}'}/M/{docks} at load {load}"
    scale = 1.0 if phases == 1 else load * docks  # printed is a wait in service times
    scenario = plant([place("A", {"exponential": service}, docks)], 4380,
                     launches={"between_hours": erlang(1 / rate, phases)})
    sheet, records = run(scenario, seed=21)

    def queued(state: tuple[int, int, int]) -> int:
        return max(0, state[0] - docks)

    yield exact(f"{name}: exact number waiting against the printed value", known.source, known.number * scale,
                chain.average(queued).mean, max(1e-6, known.rounding * scale))
    mean, error = chain.average(queued).over(all_hours(sheet))
    yield within(f"{name}: number waiting", f"{known.source}; {CHAIN}", mean, waiting(sheet, records), error)
    mean, error = chain.average(lambda state: state[0]).over(all_hours(sheet))
    yield within(f"{name}: number there", CHAIN, mean, present(sheet, records), error)


def one_server(name: str, hours: Any, docks: int, waits: float, source: str) -> Iterator[Check]:
    """Poisson arrivals at load 0.8 and times that are not exponential; `waits`: mean number waiting."""
    scenario = plant([place("A", hours, docks)], 192, launches={"between_hours": {"exponential": 0.125}})
    yield of_runs(f"{name} at load 0.8: number waiting", source, waits,
                  [waiting(*run(scenario, number, seed=22), begin=24) for number in range(16)])


def priorities() -> Iterator[Check]:
    """Three kinds of aircraft wait for one person; the earlier promised date is served first."""
    for kind, values in enumerate(waits_by_priority(12)):
        known = value(f"Cobham {kind + 1}")
        yield of_runs(f"one person, priority {kind + 1}: wait, hours", known.source, known.number, values)


def waits_by_priority(runs: int) -> list[list[float]]:
    """Mean wait of each kind in each run: 0.2, 0.6 and 1.2 an hour come, 3 an hour are served, nobody is taken off a
    job. An hour is run as 0.005 h, since work is dealt anew at each midnight."""
    unit, shares, aircraft = 0.005, (0.1, 0.3, 0.6), 3500
    waits: list[list[float]] = [[], [], []]
    for number in range(runs):
        draw = random.Random(number)
        kinds = draw.choices((0, 1, 2), shares, k=aircraft)
        orders = [{"serial": f"S{k:05d}", "promised": f"2027-02-0{1 + kind}"} for k, kind in enumerate(kinds)]
        _, records = run(plant(
            [{"id": "A", "docks": 400, "packages": [{"id": "a", "trade": "T", "hours": {"exponential": unit / 3}}]}],
            24 * 3, shifts=ROUND_THE_CLOCK, calendar={"work_weekdays": EVERY_DAY}, trades={"T": {"people": 1}},
            orders=orders, launches={"between_hours": {"exponential": unit / 2}}), number)
        began: dict[int, float] = {}
        for s in records.segments:
            if s.state == State.WORK:
                began[s.serial] = min(s.start, began.get(s.serial, s.start))
        wait = {entry.serial: (began[entry.serial] - entry.made) / 60 / unit for entry in records.launches
                if 300 <= entry.serial < 3300 and entry.serial in began}
        for kind in range(3):
            of = [hours for serial, hours in wait.items() if kinds[serial] == kind]
            waits[kind].append(fsum(of) / len(of))
    return waits


def machine_repair() -> Iterator[Check]:
    """Five aircraft that run 3 h and are mended for 0.3 h in two docks: a fixed number on the line."""
    chain, known = repair(5, 2, 1 / 3, 1 / 0.3), value("repair down")
    scenario = plant([place("A", {"exponential": 3}, 5), place("B", {"exponential": 0.3}, 2)], 8760,
                     launches={"saturated": True, "most_on_line": 5, "most_on_line_until": "B"})
    sheet, records = run(scenario, seed=23)
    yield exact("machine repair: exact number down against the printed value", known.source, known.number,
                chain.average(float).mean, 1e-6)
    mean, error = chain.average(lambda down: 5 - down).over(all_hours(sheet))
    yield within("machine repair, 5 machines, 2 docks: number running", f"{known.source}; {CHAIN}", mean,
                 float(Ledger(sheet, records).of_places()[0, State.WORK]) / all_hours(sheet), error)
    mean, error = chain.departures().over(all_hours(sheet))
    yield within("machine repair: mended an hour", CHAIN, mean, len(records.delivered) / all_hours(sheet), error)


def gate() -> Iterator[Check]:
    """Work that is interrupted while the place is out of service and goes on after it."""
    chain, known = gated(0.5, 1, 0.1, 0.4), value("gate")
    scenario = plant([place("A", {"exponential": 1}, out_of_service={
        "hours_up": {"exponential": 10}, "hours_down": {"exponential": 2.5}})], 3 * 8760,
        launches={"between_hours": {"exponential": 2}})
    sheet, records = run(scenario, seed=24)
    yield exact("place out of service: exact number there against the printed value", known.source, known.number,
                chain.average(lambda state: state[0]).mean, 1e-6)
    mean, error = chain.average(lambda state: state[0]).over(all_hours(sheet))
    yield within("place out of service, work interrupted: number there", f"{known.source}; {CHAIN}", mean,
                 present(sheet, records), error)


def weather_gate() -> Iterator[Check]:
    """A flight begins on a flyable day only, one a day, and good days hang together."""
    days, runs, a_day, good, correlation = 364, 48, 0.5, 0.7, 0.5
    scenario = plant(
        [{"id": "FL", "docks": 300, "flights": {"pilots": "FTP", "pilot_hours": 4, "flight_hours": 2}}], days * 24,
        launches={"between_hours": {"exponential": 24 / a_day}}, shifts={"noon": {"work": ["12:00-16:00"]}},
        trades={"FTP": {"people": 1}}, calendar={"work_weekdays": EVERY_DAY},
        weather={"flyable_share_by_month": {str(month): good for month in range(1, 13)},
                 "day_to_day_correlation": correlation})
    found = []
    for number in range(runs):
        _, records = run(scenario, number)
        noons = [1440 * day + 720 for day in range(days)]
        ready = [sum(t <= noon for _, t in records.planned) for noon in noons]
        flown = [sum(flight.start < noon for flight in records.flights) for noon in noons]
        found.append((sum(ready) - sum(flown)) / days)
    yield of_runs("weather gate, flights on good days only: aircraft ready at noon",
                  "exact day-by-day chain of queue and weather (arithmetic)",
                  waiting_at_noon(a_day, good, correlation, days), found)


def smallest_free_time(docks: int = 3, aircraft: int = 80) -> Iterator[Check]:
    """Given times and launches: an aircraft begins at the smallest free time of the docks."""
    draw = random.Random(5)
    times = [draw.randint(1, 640) / 64 for _ in range(aircraft)]
    moments = sorted(draw.randrange(0, 150 * 60) for _ in range(aircraft))
    launched = [f"2027-01-{1 + m // 1440:02d} {m // 60 % 24:02d}:{m % 60:02d}" for m in moments]
    _, records = run(plant([place("A", 1, docks)], 24 * 60, launches={"moments": launched},
                           orders=[{"serial": f"S{k:03d}"} for k in range(aircraft)],
                           known={"hours": [{"serial": f"S{k:03d}", "package": "A work", "hours": hours}
                                            for k, hours in enumerate(times)]}))
    free, expected = [0.0] * docks, []
    for moment, hours in zip(moments, times, strict=True):
        dock = free.index(min(free))
        free[dock] = max(free[dock], moment) + hours * 60
        expected.append(free[dock])
    yield each(f"given launches and times, {docks} docks: instant of every delivery, minutes",
               "recursion: start = max(arrival, smallest free time) (Kiefer & Wolfowitz 1955; from memory)", expected,
               [records.delivered.get(k, float("nan")) for k in range(aircraft)])


POLLACZEK = "Pollaczek-Khinchine: load^2 (1 + cv^2) / (2 (1 - load)) (from memory)"
PROOFS = (
    Proof("given launches, 3 docks", smallest_free_time),
    Proof("M/M/1", partial(markov, 1, 0.8, "M/M/1 0.8")),
    Proof("M/M/2", partial(markov, 2, 0.8, "M/M/2 0.8")),
    Proof("M/M/3", partial(markov, 3, 0.8, "M/M/3 0.8")),
    Proof("E2/M/3", partial(markov, 3, 0.8, "E2/M/3 0.8", 2)),
    Proof("M/D/1", partial(one_server, "M/D/1", 0.1, 1, 1.6, POLLACZEK)),
    Proof("M/D/3", partial(one_server, "M/D/3", 0.3, 3, 2.4 * value("M/D/3 0.8").number, value("M/D/3 0.8").source)),
    Proof("M/G/1", partial(one_server, "M/G/1 (lognormal, cv 0.5)", {"lognormal": {"mean": 0.1, "cv": 0.5}}, 1, 2.0,
                           POLLACZEK)),
    Proof("priorities", priorities),
    Proof("machine repair", machine_repair),
    Proof("place out of service", gate),
    Proof("weather gate", weather_gate),
)
