"""Markov chains of queues, of a line with a fixed number of aircraft on it, and the daily weather gate."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import exp

import numpy as np

from .chains import Chain

ROOM = 400  # a queue longer than this has no weight at the loads of the checks


def queue(arrivals: float, service: float, docks: int = 1, arrival_phases: int = 1, service_phases: int = 1) -> Chain:
    """Poisson or Erlang arrivals, exponential service in docks (Erlang with one dock); state (number, phase of the
    arrival, phase of the service)."""

    def steps(state: tuple[int, int, int]) -> Iterator[tuple[float, tuple[int, int, int], int]]:
        number, coming, going = state
        if coming + 1 < arrival_phases:
            yield arrivals * arrival_phases, (number, coming + 1, going), 0
        elif number < ROOM:
            yield arrivals * arrival_phases, (number + 1, 0, going), 0
        if number and going + 1 < service_phases:
            yield service * service_phases, (number, coming, going + 1), 0
        elif number:
            yield service * service_phases * min(number, docks), (number - 1, coming, 0), 1

    return Chain((0, 0, 0), steps)


def gated(arrivals: float, service: float, closing: float, opening: float) -> Chain:
    """A place that goes out of service whether it is busy or not, and goes on where it was; state (number, open)."""

    def steps(state: tuple[int, bool]) -> Iterator[tuple[float, tuple[int, bool], int]]:
        number, is_open = state
        if number < ROOM:
            yield arrivals, (number + 1, is_open), 0
        if is_open:
            yield closing, (number, False), 0
            if number:
                yield service, (number - 1, True), 1
        else:
            yield opening, (number, True), 0

    return Chain((0, True), steps)


def repair(machines: int, people: int, failing: float, mending: float) -> Chain:
    """Machines that run until they fail and wait for people to mend them; the state is the number that is down."""

    def steps(down: int) -> Iterator[tuple[float, int, int]]:
        if down < machines:
            yield (machines - down) * failing, down + 1, 0
        if down:
            yield min(down, people) * mending, down - 1, 1

    return Chain(0, steps)


def ring(rates: Sequence[float], number: int) -> Chain:
    """Single docks in a row with always the same number of aircraft; the last departure launches the next."""

    def steps(state: tuple[int, ...]) -> Iterator[tuple[float, tuple[int, ...], int]]:
        for n, here in enumerate(state):
            if here:
                after, beyond = list(state), (n + 1) % len(state)
                after[n] -= 1
                after[beyond] += 1
                yield rates[n], tuple(after), int(beyond == 0)

    return Chain((number, *(0 for _ in rates[1:])), steps)


def two_with_return(arrivals: float, rates: tuple[float, float], back: float, room: int = 60) -> Chain:
    """Two places in a row; from the second a share goes back to the first (Jackson's network, cut at `room`)."""

    def steps(state: tuple[int, int]) -> Iterator[tuple[float, tuple[int, int], int]]:
        first, second = state
        if first < room:
            yield arrivals, (first + 1, second), 0
        if first and second < room:
            yield rates[0], (first - 1, second + 1), 0
        if second:
            yield rates[1] * (1 - back), (first, second - 1), 1
            if first < room:
                yield rates[1] * back, (first + 1, second - 1), 0

    return Chain((0, 0), steps)


def waiting_at_noon(a_day: float, good: float, correlation: float, days: int, room: int = 120) -> float:
    """Aircraft ready at noon, on the average of the days: Poisson arrivals, one flight on each good day, good days
    that hang together; exact from the first day on."""
    def poisson(mean: float) -> np.ndarray:
        found = [exp(-mean)]
        for n in range(1, room):
            found.append(found[-1] * mean / n)
        return np.array(found)

    def come(number: np.ndarray, mean: float) -> np.ndarray:
        return np.convolve(number, poisson(mean))[:room]

    share = np.array([1 - good, good])
    after = np.array([[1 - good * (1 - correlation), good * (1 - correlation)],
                      [(1 - good) * (1 - correlation), good + correlation * (1 - good)]])
    at_noon = np.outer(share, come(np.eye(1, room)[0], a_day / 2))
    total = 0.0
    for _ in range(days):
        total += float(at_noon.sum(axis=0) @ np.arange(room))
        flown = np.concatenate(([at_noon[1, 0] + at_noon[1, 1]], at_noon[1, 2:], [0.0]))
        at_noon = after.T @ np.array([come(at_noon[0], a_day), come(flown, a_day)])
    return total / days
