"""Saturated lines: exponential and Erlang places, unequal ones, parallel docks, a line backwards, the ramp-up."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import pairwise
from math import fsum

from ...line.records import State
from ...measures.ledger import STARVED, Ledger
from ...measures.run import in_process
from .check import Check, each, exact, within
from .line_chains import LineChain
from .listed import Proof, value
from .plants import all_hours, erlang, line, plant, run

CHAIN = "exact Markov chain of the line (in this package)"
BACKWARDS = "Yamazaki & Sakasegawa 1975, Muth 1979 (from memory): a line and its reverse have one output; " + CHAIN
FIXED = "a line of fixed times departs one aircraft per longest time (blocking after service; arithmetic)"


@dataclass(frozen=True, slots=True)
class Line:
    """A saturated line: mean hours of the places, parking between neighbours, docks, phases of the Erlang times."""

    means: tuple[float, ...]
    parking: tuple[int, ...]
    docks: tuple[int, ...] = ()
    phases: int = 1

    def __str__(self) -> str:
        even = len(set(self.means)) == 1 and len(set(self.parking)) == 1
        text = f"{len(self.means)} places, parking {self.parking[0]}" if even else (
            f"places of {', '.join(f'{mean:g}' for mean in self.means)} h, parking "
            + ", ".join(map(str, self.parking)))
        text += f", docks {', '.join(map(str, self.docks))}" if self.docks else ""
        return text + (f", Erlang-{self.phases}" if self.phases > 1 else "")

    @property
    def chain(self) -> LineChain:
        """Its exact chain."""
        return LineChain(self.means, self.parking, self.docks, self.phases)

    @property
    def positions(self) -> list[dict[str, object]]:
        """Its places in the scenario language."""
        return line([erlang(mean, self.phases) for mean in self.means], self.parking, self.docks or None)


def even(places: int, parking: int, phases: int = 1) -> Line:
    """Places of one hour each."""
    return Line((1.0,) * places, (parking,) * (places - 1), (), phases)


def long_run(of: Line, hours: float, published: str = "", seed: int = 11) -> Iterator[Check]:
    """Output, aircraft on the line, blocked and starved shares of every place."""
    chain, docks = of.chain, of.docks or (1,) * len(of.means)
    sheet, records = run(plant(of.positions, hours), seed=seed)
    hours = all_hours(sheet)
    source = f"{value(published).source}; {CHAIN}" if published else CHAIN
    if published:
        yield exact(f"{of}: exact output against the printed value", source, value(published).number,
                    chain.departures().mean, value(published).rounding)
    mean, error = chain.departures().over(hours)
    yield within(f"{of}: aircraft an hour", source, mean, len(records.delivered) / hours, error)
    mean, error = chain.average(chain.wip).over(hours)
    on_line = fsum(in_process(sheet, records, 0.0, sheet.calendar.end).values())
    yield within(f"{of}: aircraft on the line", source, mean, on_line, error)
    spent = Ledger(sheet, records).of_places() / hours
    for n, docked in enumerate(docks):
        for what, rank, reward in (("blocked", State.BLOCKED, _blocked(n)), ("starved", STARVED, _starved(n, docked))):
            if (n, what) not in ((0, "starved"), (len(docks) - 1, "blocked")):
                mean, error = chain.average(reward).over(hours)
                yield within(f"{of}: docks {what} at place {n + 1}", CHAIN, mean, spent[n, rank], error)


def _blocked(n: int):  # type: ignore[no-untyped-def]
    return lambda state: state[n][2]


def _starved(n: int, docks: int):  # type: ignore[no-untyped-def]
    return lambda state: docks - sum(state[n][1]) - state[n][2]


def backwards(of: Line, hours: float) -> Iterator[Check]:
    """The reverse of a line has the same output, and not the same number of aircraft on it."""
    reverse = Line(of.means[::-1], of.parking[::-1], of.docks[::-1], of.phases)
    yield exact(f"{reverse}: exact output against that of the reverse", BACKWARDS, of.chain.departures().mean,
                reverse.chain.departures().mean, 1e-9)
    for one in (of, reverse):
        sheet, records = run(plant(one.positions, hours), seed=12)
        _, error = one.chain.departures().over(all_hours(sheet))
        start = one.chain.departures().start / all_hours(sheet)
        yield within(f"{one}: aircraft an hour, as its reverse", BACKWARDS, of.chain.departures().mean + start,
                     len(records.delivered) / all_hours(sheet), error)


def ramp_up(of: Line, counts: Sequence[int], runs: int) -> Iterator[Check]:
    """Mean instant of the n-th delivery of a line that begins empty."""
    last, chain = max(counts), of.chain
    orders = [{"serial": f"S{n:03d}"} for n in range(last)]
    scenario = plant(of.positions, 24 * 40, orders=orders)
    delivered = [run(scenario, number)[1].delivered for number in range(runs)]
    for count in counts:
        mean, variance = chain.time_of_departure(count)
        got = fsum(sorted(one.values())[count - 1] for one in delivered) / 60 / runs
        yield within(f"{of}: hours to delivery {count} from an empty line ({runs} runs)",
                     "exact Markov chain: first passages (phase-type times, Neuts 1981; from memory)", mean, got,
                     (variance / runs) ** 0.5)


def fixed_times(hours: tuple[float, ...], parking: int) -> Iterator[Check]:
    """Fixed times: the gap between deliveries is the longest time to the last digit, whatever the parking."""
    _, records = run(plant(line(list(hours), [parking] * (len(hours) - 1)), 24 * 30))
    moments = sorted(records.delivered.values())[20:120]
    gaps = [(b - a) / 60 for a, b in pairwise(moments)]
    yield each(f"fixed times of {', '.join(f'{one:g}' for one in hours)} h, parking {parking}: hours between "
               "deliveries", FIXED, [max(hours)] * 99, gaps, 1e-9)


def recursion(places: int, parking: int, aircraft: int = 60) -> Iterator[Check]:
    """A table of given times against C_i(k) = max(max(D_(i-1)(k), D_i(k-1)) + S_i(k), D_(i+1)(k-b-1))."""
    import random

    draw = random.Random(1000 + 10 * places + parking)
    times = [[draw.randint(1, 640) / 64 for _ in range(aircraft)] for _ in range(places)]
    known = [{"serial": f"S{k:03d}", "package": f"P{i} work", "hours": times[i][k]}
             for i in range(places) for k in range(aircraft)]
    _, records = run(plant(line([1] * places, [parking] * (places - 1)), 24 * 365, known={"hours": known},
                           orders=[{"serial": f"S{k:03d}"} for k in range(aircraft)]))
    left = [[0.0] * aircraft for _ in times]
    for k in range(aircraft):
        for i in range(places):
            left[i][k] = max(left[i - 1][k] if i else 0.0, left[i][k - 1] if k else 0.0) + times[i][k]
            if i + 1 < places and k > parking:
                left[i][k] = max(left[i][k], left[i + 1][k - parking - 1])
    yield each(f"given times, {places} places, parking {parking}: instant of every delivery, hours",
               "max-plus recursion (Baccelli, Cohen, Olsder & Quadrat 1992; from memory)", left[-1],
               [records.delivered.get(k, float("nan")) / 60 for k in range(aircraft)])


def _proofs() -> Iterator[Proof]:
    for places, parking in ((3, 0), (3, 1), (3, 3), (4, 2), (6, 0)):
        yield Proof(f"recursion of {places} places, parking {parking}", partial(recursion, places, parking))
    for hours, parking in (((2.0, 3.0, 5.0, 4.0), 0), ((5.0, 1.0, 5.0), 0), ((4.0, 4.0, 4.0), 2)):
        yield Proof(f"fixed times {hours} parking {parking}", partial(fixed_times, hours, parking))
    year = 8760
    for places, parking in ((2, 0), (3, 0), (3, 1), (3, 2), (4, 0), (5, 0), (6, 0)):
        published = f"line {places} {parking}"
        yield Proof(f"line of {places}, parking {parking}", partial(long_run, even(places, parking), year, published))
    for one in (even(2, 3), even(4, 1), even(5, 1)):
        yield Proof(f"line: {one}", partial(long_run, one, year))
    for places, parking in ((2, 0), (3, 0), (3, 1)):
        yield Proof(f"Erlang line of {places}, parking {parking}",
                    partial(long_run, even(places, parking, 2), year, f"Erlang line {places} {parking}"))
    for one in (Line((1.0, 2.0), (0,), (1, 2)), Line((1.0, 2.0, 1.0), (1, 1), (1, 2, 1))):
        yield Proof(f"docks: {one}", partial(long_run, one, year))
    yield Proof("line backwards", partial(backwards, Line((1.0, 1.25, 1 / 1.2), (2, 1)), year / 2))
    yield Proof("ramp-up of 3 places, parking 1", partial(ramp_up, even(3, 1), (1, 2, 5, 10, 20), 250))
    yield Proof("ramp-up of 2 places, parking 0", partial(ramp_up, even(2, 0), (1, 10), 250))
    for places, parking in ((2, 4), (2, 5), (3, 4), (3, 5), (4, 3), (4, 5), (5, 2), (5, 3), (6, 1), (6, 2)):
        yield Proof(f"line of {places}, parking {parking}", partial(long_run, even(places, parking), year), slow=True)
    for one in (even(4, 0, 2), even(4, 1, 2), even(3, 2, 4), Line((1.0, 0.8, 1.0, 1.2), (3, 0, 1)),
                Line((2.0, 1.0, 3.0), (1, 2), (2, 1, 3))):
        yield Proof(f"line: {one}", partial(long_run, one, year), slow=True)
    yield Proof("ramp-up of 4 places", partial(ramp_up, even(4, 2), (1, 5, 20), 400), slow=True)


PROOFS = tuple(_proofs())
