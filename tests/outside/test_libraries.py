"""A second opinion from general libraries: Ciw on lines that block, feedback and priorities; statsmodels and scipy on
intervals; `holidays` on federal holidays; `pvlib` (solar position algorithm of NREL) on where the sun stands."""

from __future__ import annotations

import math
import random
from statistics import fmean

import ciw
import holidays
import pandas as pd
import pytest
from pvlib.solarposition import get_solarposition
from scipy import stats
from statsmodels.stats.proportion import proportion_confint
from statsmodels.stats.weightstats import CompareMeans, DescrStatsW

from linesim.measures.estimates import (
    batch_means,
    chance,
    mean_interval,
    paired_difference,
    percentile,
    welch_difference,
)
from linesim.questions.proof.calendar_and_sun import YEARS, light, observed
from linesim.questions.proof.check import FALSE_ALARM
from linesim.questions.proof.plants import line, place, plant, run
from linesim.questions.proof.queues import waits_by_priority
from linesim.scenario.laws import negative_binomial

RUNS = 8
HOURS = 1200.0
WARM_UP = 100.0
EXPONENTIAL = ciw.dists.Exponential


def by_ciw(network: ciw.network.Network, seed: int, hours: float = HOURS) -> list[ciw.data_record.DataRecord]:
    """Records of one run of Ciw."""
    ciw.seed(seed)
    simulation = ciw.Simulation(network)
    simulation.simulate_until_max_time(hours)
    return simulation.get_all_records()


def stays_by_ciw(network: ciw.network.Network, seed: int) -> float:
    """Mean hours from arrival to leaving, of those that came after the start-up."""
    came: dict[int, float] = {}
    left: dict[int, float] = {}
    for record in by_ciw(network, seed):
        came[record.id_number] = min(record.arrival_date, came.get(record.id_number, math.inf))
        if record.destination == -1:
            left[record.id_number] = record.exit_date
    return fmean(left[number] - came[number] for number in left if came[number] > WARM_UP)


def stays_by_linesim(positions: list[dict[str, object]], rate: float, seed: int) -> float:
    """The same of one run of linesim, from the planned launch on."""
    _, records = run(plant(positions, HOURS, launches={"between_hours": {"exponential": 1 / rate}}), seed, seed=77)
    planned = {serial: t / 60 for serial, t in records.planned}
    return fmean(left / 60 - planned[serial] for serial, left in records.delivered.items()
                 if planned[serial] > WARM_UP)


def agree(ours: list[float], theirs: list[float]) -> None:
    """Two sets of runs have one mean (Welch's t at the false alarm of the checks)."""
    assert stats.ttest_ind(ours, theirs, equal_var=False).pvalue > FALSE_ALARM


def test_a_line_that_blocks_agrees_with_ciw() -> None:
    """Three places, one parking place between them, blocking after service, Poisson launches of 0.5 an hour."""
    network = ciw.create_network(
        arrival_distributions=[EXPONENTIAL(0.5), None, None], service_distributions=[EXPONENTIAL(1.0)] * 3,
        routing=[[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [0.0, 0.0, 0.0]], number_of_servers=[1, 1, 1],
        queue_capacities=[math.inf, 1, 1])
    agree([stays_by_linesim(line([{"exponential": 1}] * 3, [1, 1]), 0.5, n) for n in range(RUNS)],
          [stays_by_ciw(network, n) for n in range(RUNS)])


def test_feedback_agrees_with_ciw() -> None:
    """One in four goes back; two docks."""
    network = ciw.create_network(arrival_distributions=[EXPONENTIAL(1.0)], service_distributions=[EXPONENTIAL(1.0)],
                                 routing=[[0.25]], number_of_servers=[2])
    positions = [place("A", {"exponential": 1}, 2, back_to={"position": "A", "chance": 0.25})]
    agree([stays_by_linesim(positions, 1.0, n) for n in range(RUNS)], [stays_by_ciw(network, n) for n in range(RUNS)])


def test_priorities_agree_with_ciw() -> None:
    """Three kinds, one person, served by promised date: waits of each kind."""
    kinds = ("first", "second", "third")
    network = ciw.create_network(
        arrival_distributions={kind: [EXPONENTIAL(rate)] for kind, rate in zip(kinds, (0.2, 0.6, 1.2), strict=True)},
        service_distributions={kind: [EXPONENTIAL(3.0)] for kind in kinds},
        priority_classes={kind: n for n, kind in enumerate(kinds)}, routing={kind: [[0.0]] for kind in kinds},
        number_of_servers=[1])
    theirs = [by_ciw(network, n) for n in range(RUNS)]
    for kind, ours in zip(kinds, waits_by_priority(RUNS), strict=True):
        agree(ours, [fmean(r.waiting_time for r in records if r.customer_class == kind and r.arrival_date > WARM_UP)
                     for records in theirs])


@pytest.mark.parametrize("n", [5, 30, 101])
def test_intervals_agree_with_statsmodels_and_scipy(n: int) -> None:
    """Means, paired and unpaired differences, shares, percentiles."""
    draw = random.Random(n)
    a, b = ([draw.lognormvariate(1, 0.5) for _ in range(n)] for _ in range(2))
    mean = mean_interval(a, 0.9)
    assert (mean.low, mean.high) == pytest.approx(DescrStatsW(a).tconfint_mean(0.1), rel=1e-9)
    welch = welch_difference(a, b)
    low, high = CompareMeans(DescrStatsW(a), DescrStatsW(b)).tconfint_diff(0.05, usevar="unequal")
    assert (welch.low, welch.high) == pytest.approx((low, high), rel=1e-9)
    paired = paired_difference(a, b)
    interval = stats.ttest_rel(a, b).confidence_interval(0.95)
    assert (paired.low, paired.high) == pytest.approx((interval.low, interval.high), rel=1e-9)
    for successes in (0, 1, n // 3, n):
        share = chance(successes, n)
        assert (share.low, share.high) == pytest.approx(proportion_confint(successes, n, method="beta"), abs=1e-9)
    for p in (0.1, 0.5, 0.9):
        assert percentile(a, p) == stats.scoreatpercentile(sorted(a), 100 * p, interpolation_method="higher") or \
            percentile(a, p) == pd.Series(a).quantile(p, interpolation="lower")


def test_batch_means_hold_the_variance_of_a_series_that_is_known() -> None:
    """A first-order series x' = 0.6 x + e has the variance of the mean 1 / (1 - 0.6)^2 / n (Box & Jenkins; from
    memory); 2,000 batches of 50 know it to 4 standard errors of their own (2 / 1999)^0.5, and a bias under 4 %."""
    draw, x, series = random.Random(1), 0.0, []
    for _ in range(100_000):
        x = 0.6 * x + draw.gauss(0, 1)
        series.append(x)
    assert batch_means(series, 50) * len(series) == pytest.approx(6.25, rel=0.04 + 4 * (2 / 1999) ** 0.5)


def test_federal_holidays_agree_with_the_holidays_library() -> None:
    """All observed federal holidays of 2024 to 2032."""
    theirs = set(holidays.US(years=range(YEARS.start, YEARS.stop + 1), observed=True))
    ours = {day for day in observed(YEARS) if day.year in YEARS}
    weekdays = {day for day in theirs if day.year in YEARS and day.weekday() < 5}
    assert ours == weekdays


@pytest.mark.parametrize(("latitude", "longitude", "zone"), [(47.0, -122.0, -8), (35.0, -97.0, -6), (42.2, -85.0, -5),
                                                             (-34.0, 151.0, 10)])
def test_the_sun_stands_at_the_horizon_by_pvlib(latitude: float, longitude: float, zone: int) -> None:
    """At the first and last minute of daylight its centre stands 0.833 degrees below the horizon (its radius and the
    bending of light), at those of civil twilight 6 degrees; to 0.1 degrees, half a minute."""
    for rule, depression in (("sunrise to sunset", 0.833), ("civil twilight", 6.0)):
        for month in (1, 3, 5, 6, 8, 9, 11, 12):
            day = f"2027-{month:02d}-17"
            begins = pd.Timestamp(day, tz=f"Etc/GMT{-zone:+d}")
            found = [begins + pd.Timedelta(minutes=t) for t in light(latitude, longitude, zone, day, rule)]
            heights = get_solarposition(pd.DatetimeIndex(found), latitude, longitude)["elevation"]
            assert list(heights) == pytest.approx([-depression] * 2, abs=0.1), day


@pytest.mark.parametrize("k", [None, 0.01, 0.5, 3.0, 400.0, 1e5])
@pytest.mark.parametrize("mean", [0.01, 0.5, 7.0, 300.0, 640.0, 650.0, 800.0, 5000.0, 1e6])
def test_counts_agree_with_scipy(mean: float, k: float | None) -> None:
    """Counts of defects and squawks are the inverse of Poisson's or the negative binomial law, however large."""
    luck = random.Random(f"{mean} {k}")
    uniforms = [*(luck.random() for _ in range(10)), 0.001, 0.5, 0.999]
    law = stats.poisson(mean) if k is None else stats.nbinom(k, k / (k + mean))
    assert [negative_binomial(mean, k, uniform) for uniform in uniforms] == [law.ppf(uniform) for uniform in uniforms]
