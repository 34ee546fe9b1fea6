"""Feedback, an aircraft-like network, a fixed number of aircraft on the line, rounds and flights, and Little's law."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from functools import partial
from math import fsum, prod
from typing import Any

from ...line.records import Records, State
from ...measures.paper import flights_per_aircraft
from ...measures.run import in_process
from .chains import Chain
from .check import Check, each, exact, within
from .listed import Proof, table, value
from .plants import EVERY_DAY, ROUND_THE_CLOCK, all_hours, place, plant, run
from .queue_chains import queue, ring, two_with_return
from .queues import CHAIN, present, waiting

JACKSON = "Jackson 1957 (from memory)"
GEOMETRIC = "geometric number of rounds (arithmetic)"
BY_TURNS = "Hopp & Spearman, Factory Physics, ch. 7: the worst case 1/T0 (formulas seen)"


def feedback() -> Iterator[Check]:
    """One in five goes back to its own place and its work is drawn anew."""
    known, chain = value("feedback L"), queue(0.5, 0.8)
    scenario = plant([place("A", {"exponential": 1}, back_to={"position": "A", "chance": 0.2})], 2 * 8760,
                     launches={"between_hours": {"exponential": 2}})
    sheet, records = run(scenario, seed=31)
    yield exact("feedback: exact number there against the printed value", known.source, known.number,
                chain.average(lambda state: state[0]).mean, 1e-6)
    mean, error = chain.average(lambda state: state[0]).over(all_hours(sheet))
    yield within("feedback 0.2: number there", f"{JACKSON}; {CHAIN}", mean, present(sheet, records), error)
    made = {entry.serial: entry.made for entry in records.launches}
    stays = [(left - made[serial]) / 60 for serial, left in records.delivered.items()]
    anew = "a geometric number of exponential times is exponential (Feller; from memory)"
    yield within("feedback 0.2: mean stay, hours", anew, 1.25, fsum(stays) / len(stays), 1.25 / len(stays) ** 0.5)
    yield within("feedback 0.2: mean square of a stay (drawn anew, not repeated), hours^2", anew, 3.125,
                 fsum(stay * stay for stay in stays) / len(stays), 1.5625 * (20 / len(stays)) ** 0.5)


def returning() -> Iterator[Check]:
    """From the second place 30 in 100 go back to the first."""
    chain = two_with_return(0.35, (1.0, 1.25), 0.3)
    scenario = plant([place("A", {"exponential": 1}, parking=900), place("B", {"exponential": 0.8}, parking=900,
                     back_to={"position": "A", "chance": 0.3})], 8760,
                     launches={"between_hours": {"exponential": 1 / 0.35}})
    sheet, records = run(scenario, seed=32)
    load = [0.5, 0.4]
    yield exact("network with a return: exact number there against the product form", JACKSON,
                sum(one / (1 - one) for one in load), chain.average(sum).mean, 1e-5)
    mean, error = chain.average(sum).over(all_hours(sheet))
    yield within("network with a return 0.3: number there", f"{JACKSON}; {CHAIN}", mean, present(sheet, records), error)


def plant_network() -> Iterator[Check]:
    """Poisson launches through assembly with two docks, a booth with touch-up, and three flight-line spots."""
    rate = 0.6
    stations: list[tuple[str, int, float, Chain]] = [
        ("assembly, 2 docks", 2, 2.0, queue(rate, 1 / 2.0, 2)),
        ("booth with touch-up 0.15", 1, 1.0, queue(rate, 0.85, 1)),
        ("flight line, 3 spots", 3, 3.0, queue(rate, 1 / 3.0, 3))]
    positions = [place(name, {"exponential": hours}, docks, 900) for name, docks, hours, _ in stations]
    positions[1]["back_to"] = {"position": stations[1][0], "chance": 0.15}
    sheet, records = run(plant(positions, 2 * 8760, launches={"between_hours": {"exponential": 1 / rate}}), seed=33)
    there = in_process(sheet, records, 0.0, sheet.calendar.end)
    there[stations[0][0]] += waiting(sheet, records)  # outside, until a dock is free
    for name, _, _, chain in stations:
        mean, error = chain.average(lambda state: state[0]).over(all_hours(sheet))
        yield within(f"network, {name}: number there", f"{JACKSON}; {CHAIN}", mean, there[name], error)


def capped(hours: Sequence[Any], most: int, length: float = 8760, **parts: Any) -> tuple[float, list[float]]:
    """Hours of a run with a launch cap, and the instants of its deliveries (hours)."""
    positions = [place(f"P{n}", one, 1, 0 if n == 0 else most) for n, one in enumerate(hours)]
    last = positions[-1]["id"]
    sheet, records = run(plant(positions, length, launches={
        "saturated": True, "most_on_line": most, "most_on_line_until": last}, **parts), seed=34)
    return all_hours(sheet), sorted(t / 60 for t in records.delivered.values())


def best_case() -> Iterator[Check]:
    """Fixed times and a launch cap: output is the least of w/T0 and the rate of the slowest place, exactly."""
    values, source = table("constant on the line")
    for most in range(1, 13):
        _, delivered = capped([2, 2, 2, 2], most, 24 * 30)
        later = [w / (b - a) for w, a, b in zip([most] * 40, delivered[30:], delivered[30 + most:], strict=False)]
        yield each(f"launch cap {most}, fixed times: aircraft an hour", source, [values[str(most)]["best"]] * 40,
                   later, 1e-9)


def worst_case(most: int = 4) -> Iterator[Check]:
    """One long aircraft and then short ones by turns: all wait for the long one, output 1/T0."""
    aircraft = 120
    known = [{"serial": f"S{k:03d}", "package": f"P{n} work", "hours": 0 if k % most else 2 * most}
             for k in range(aircraft) for n in range(4)]
    _, delivered = capped([1] * 4, most, 24 * 180, known={"hours": known},
                          orders=[{"serial": f"S{k:03d}"} for k in range(aircraft)])
    gaps = [(b - a) / most for a, b in zip(delivered, delivered[most:], strict=False)]
    yield each(f"launch cap {most}, long and short by turns: hours between deliveries", BY_TURNS,
               [8.0] * len(gaps[most:]), gaps[most:], 1e-9)


def practical_worst_case(most: int) -> Iterator[Check]:
    """Exponential times at equal places with a launch cap."""
    values, source = table("constant on the line")
    chain = ring([0.5] * 4, most)
    hours, delivered = capped([{"exponential": 2}] * 4, most)
    yield exact(f"launch cap {most}, exponential: exact output against the printed value", source,
                values[str(most)]["pwc"], chain.departures().mean, 1e-9)
    mean, error = chain.departures().over(hours)
    yield within(f"launch cap {most}, exponential: aircraft an hour", f"{source}; {CHAIN}", mean,
                 len(delivered) / hours, error)


def unequal(most: int) -> Iterator[Check]:
    """Exponential times at unequal places with a launch cap: exact mean value analysis."""
    values, source = table("mean value analysis")
    chain = ring([1.0, 2.0, 3.0], most)
    hours, delivered = capped([{"exponential": 1}, {"exponential": 1 / 2}, {"exponential": 1 / 3}], most, 4380)
    yield exact(f"launch cap {most}, unequal places: exact output against the printed value", source,
                values[str(most)], chain.departures().mean, 1e-9)
    mean, error = chain.departures().over(hours)
    yield within(f"launch cap {most}, unequal places: aircraft an hour", f"{source}; {CHAIN}", mean,
                 len(delivered) / hours, error)


def littles_law() -> Iterator[Check]:
    """Over a run that begins and ends empty, aircraft on the line x time = sum of flow times, on every path."""
    for number in range(6):
        sheet, records = run(plant(
            [place("A", {"exponential": 1}), place("B", {"lognormal": {"mean": 2, "cv": 1}}, 2, 1),
             place("C", {"erlang": {"mean": 1, "k": 3}}, 1, 2, back_to={"position": "C", "chance": 0.2})], 24 * 40,
            launches={"between_hours": {"exponential": 2}},
            orders=[{"serial": f"S{k:03d}"} for k in range(150)]), number)
        made = {entry.serial: entry.made for entry in records.launches}
        flow = fsum(left - made[serial] for serial, left in records.delivered.items()) / 60
        there = fsum(in_process(sheet, records, 0.0, sheet.calendar.end).values()) * all_hours(sheet)
        yield exact(f"Little's law, run {number}: aircraft hours on the line", "Little 1961 (exact on every path)",
                    flow, there if len(records.delivered) == 150 else float("nan"), 1e-9 * flow)


def rounds() -> Iterator[Check]:
    """Touch-up rounds of paint and repeated engine runs: drawn anew after each round."""
    people = {"shifts": ROUND_THE_CLOCK, "calendar": {"work_weekdays": EVERY_DAY}, "trades": {"T": {"people": 900}}}
    for what, chance, hours, more in (
            ("engine run repeated", 0.3, 0.25, {"repeat_chance": 0.3}),
            ("paint touch-up", 0.4, 0.5, {"repaint": {
                "chance": 0.4, "trade": "T", "hours": 0.25, "cure_hours": 0.25}})):
        base = 0.25
        _, records = run(plant([{"id": "A", "docks": 900, "packages": [{"id": "a", "trade": "T", "hours": base}],
                                 **more}], 24 * 90, launches={"between_hours": {"exponential": 0.5}}, **people))
        made = {entry.serial: entry.made for entry in records.launches}
        # work is dealt anew at midnight and loses nothing, so a stay is a whole number of rounds
        stays = [((left - made[serial]) / 60 - base) / hours for serial, left in records.delivered.items()]
        yield exact(f"{what}: a stay is a whole number of rounds, worst remainder", "arithmetic", 0.0,
                    max(abs(stay - round(stay)) for stay in stays), 1e-6)
        yield within(f"{what}: extra rounds", GEOMETRIC, chance / (1 - chance), fsum(stays) / len(stays),
                     (chance / (1 - chance) ** 2 / len(stays)) ** 0.5)
        yield within(f"{what}: share with two extra rounds or more", GEOMETRIC, chance**2,
                     sum(stay > 1.5 for stay in stays) / len(stays), (chance**2 * (1 - chance**2) / len(stays)) ** 0.5)


def flights() -> Iterator[Check]:
    """Flights of each aircraft: another is due while a squawk needs it; squawks are drawn anew on every flight."""
    means, share, k = (3.0, 2.0, 1.0), 0.3, 4.0
    sheet, records = run(plant([{"id": "FL", "docks": 900, "flights": {
        "pilots": "FTP", "pilot_hours": 0.2, "flight_hours": 0.1, "squawks": {
            "mean_by_flight": list(means), "k": k,
            "needs_reflight_share": share, "needs_part_share": 0.2,
            "part_delay_work_days": 0.25, "fix_hours": {"exponential": 0.1}, "trades": {"T": 0.6, "U": 0.4}}}}],
        24 * 120, shifts=ROUND_THE_CLOCK, calendar={"work_weekdays": EVERY_DAY},
        trades={"T": {"people": 900}, "U": {"people": 900}, "FTP": {"people": 30}},
        launches={"between_hours": {"exponential": 0.5}}))
    again = [1 - (1 + means[min(n, 2)] * share / k) ** -k for n in range(60)]
    beyond = [prod(again[:n]) for n in range(60)]  # chance of more than n flights
    mean = fsum(beyond)
    square = fsum((2 * n + 1) * chance for n, chance in enumerate(beyond))
    flown = Counter(flight.serial for flight in records.flights if flight.serial in records.delivered)
    n = len(flown)
    source = "thinned negative binomial counts, one flight after the other (arithmetic)"
    yield within("flights of an aircraft", source, mean, flown.total() / n, ((square - mean**2) / n) ** 0.5)
    declared = sheet.scenario.positions[0].flights
    assert declared is not None
    yield exact("flights of an aircraft on paper", source, mean, fsum(flights_per_aircraft(declared)), 1e-6)
    for number in (1, 2, 3):
        counts = [flight.squawks for flight in records.flights if flight.number == number]
        yield within(f"squawks on flight {number}", "negative binomial: variance m + m^2/k (from memory)",
                     means[number - 1], fsum(counts) / len(counts),
                     ((means[number - 1] + means[number - 1] ** 2 / k) / len(counts)) ** 0.5)
    first = [flight.squawks for flight in records.flights if flight.number == 1]
    none = (1 + means[0] / k) ** -k
    yield within("share of first flights without a squawk", source, none, first.count(0) / len(first),
                 (none * (1 - none) / len(first)) ** 0.5)
    yield from _traits(records)


def _traits(records: Records) -> Iterator[Check]:
    """Trade, hours and missing part of each squawk, by their own draws."""
    hours: dict[tuple[int, str, str], float] = defaultdict(float)
    for s in records.segments:
        if s.state == State.REWORK:
            hours[s.serial, s.job, s.trade] += (s.end - s.start) / 60
    short = {(s.serial, s.job) for s in records.segments if s.state == State.PARTS and s.job}
    n = len(hours)
    yield within("share of squawks that the first trade fixes", "binomial (arithmetic)", 0.6,
                 sum(trade == "T" for _, _, trade in hours) / n, (0.24 / n) ** 0.5)
    yield within("share of squawks that wait for a part", "binomial (arithmetic)", 0.2, len(short) / n,
                 (0.16 / n) ** 0.5)
    yield within("hours to fix a squawk", "exponential (arithmetic)", 0.1, fsum(hours.values()) / n, 0.1 / n**0.5)
    yield within("hours to fix those of the first trade", "draws apart (arithmetic)", 0.1,
                 fsum(one for key, one in hours.items() if key[2] == "T") / sum(key[2] == "T" for key in hours),
                 0.1 / (0.6 * n) ** 0.5)


PROOFS = (
    Proof("best case with a launch cap", best_case), Proof("worst case with a launch cap", worst_case),
    Proof("Little's law", littles_law), Proof("rounds of paint and engine run", rounds), Proof("flights", flights),
    Proof("feedback", feedback), Proof("network with a return", returning),
    Proof("network like a plant", plant_network),
    *(Proof(f"launch cap {most}, exponential", partial(practical_worst_case, most)) for most in (1, 4, 8)),
    *(Proof(f"launch cap {most}, unequal", partial(unequal, most)) for most in (2, 5)),
    *(Proof(f"launch cap {most}, exponential, all", partial(practical_worst_case, most), slow=True)
      for most in (2, 3, 5, 6, 7, 9, 10, 11, 12)),
    *(Proof(f"launch cap {most}, unequal, all", partial(unequal, most), slow=True) for most in (1, 3, 4)),
)
