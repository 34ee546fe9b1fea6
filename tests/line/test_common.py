"""F114: luck that many aircraft share. Each effect against its exact law, and without any size nothing changes."""

from __future__ import annotations

from datetime import date, timedelta
from math import sqrt
from typing import Any

import numpy as np
import pytest
from small_plants import plant, run, work

from linesim.line.common import Common
from linesim.line.luck import Luck
from linesim.line.sheet import Sheet
from linesim.measures.ledger import Ledger
from linesim.scenario.risks import CommonLuck
from linesim.scenario.scenario import Scenario

START = date(2027, 1, 1)


def common(run_number: int = 0, days: int = 730, **rules: Any) -> Common:
    return Common(CommonLuck.model_validate(rules), Luck(11, run_number), START, days)


# levels of a quarter and of a year ----------------------------------------------------------------------------------
def test_squawk_levels_have_mean_1_and_their_cv() -> None:
    """One draw a quarter: the same on all its dates, another in the next; over 2,000 runs mean 1 and variance cv^2 (the
    error of a variance from the fourth moment of the lognormal; Johnson, Kotz & Balakrishnan, ch. 14, from memory)."""
    one = common(squawk_level_cv=0.3)
    quarter = {one.squawk_level(day) for day in range(90)}
    assert len(quarter) == 1
    assert one.squawk_level(90) not in quarter
    levels = np.array([common(n, squawk_level_cv=0.3).squawk_level(0) for n in range(2000)])
    assert abs(levels.mean() - 1) / (0.3 / sqrt(2000)) < 4
    w = 1 + 0.09
    fourth = 0.09**2 * (w**4 + 2 * w**3 + 3 * w**2 - 3)
    assert abs(levels.var() - 0.09) / sqrt((fourth - 0.09**2) / 2000) < 4


def test_a_weather_year_has_one_factor_with_mean_1() -> None:
    days = [START + timedelta(n) for n in range(730)]
    factors = common(weather_year_cv=0.2).bad_day_factors(days)
    assert factors is not None
    assert len(set(factors[:365])) == len(set(factors[365:])) == 1
    assert factors[0] != factors[-1]
    first = [common(n, weather_year_cv=0.2).bad_day_factors(days[:1])[0] for n in range(2000)]  # type: ignore[index]
    assert abs(np.mean(first) - 1) / (0.2 / sqrt(2000)) < 4


def test_the_share_of_bad_days_keeps_its_mean_over_the_years() -> None:
    """Share 0.3 bad, correlation 0.4, years with cv 0.2 (a share over 1 is never drawn): the bad days of 300 runs of a
    year against the exact error: between years, and within one (Markov chain, variance ratio (1+r)/(1-r))."""
    table = {"flyable_share_by_month": dict.fromkeys(range(1, 13), 0.7), "day_to_day_correlation": 0.4}
    scenario = plant([{"id": "A", "packages": [work("a", "ASM", 1)]}], {"ASM": {"people": 1}}, end="2027-12-31",
                     weather=table, common_luck={"weather_year_cv": 0.2})
    bad = []
    for n in range(300):
        good = run(scenario, n)[1].good_days[:362]
        bad.append(1 - np.mean(good))
    spread = 0.3 * 0.2
    within = 0.21 / 362 * 1.4 / 0.6
    assert abs(np.mean(bad) - 0.3) / sqrt((spread**2 + within) / 300) < 4
    assert np.std(bad) > 0.8 * sqrt(spread**2 + within)


# sickness ----------------------------------------------------------------------------------------------------------
def test_waves_begin_as_often_as_declared_and_last_as_long() -> None:
    """Two a year of 21 days: the share of days inside one is 1 - (1 - 2/365)^21, each run's days far from independent;
    800 runs of one year, the error from the runs' own spread (at most 0.32 apiece)."""
    inside = np.array([np.mean(np.asarray(common(n, 365, sickness_waves_per_year=2, sickness_wave_days=21,
                                                 sickness_wave_factor=3).sickness_factors()) > 1) for n in range(800)])
    expected = 1 - (1 - 2 / 365) ** 21
    assert abs(inside.mean() - expected) / (inside.std(ddof=1) / sqrt(800)) < 4
    assert 0.05 < inside.std() < 0.32


def test_a_wave_multiplies_absence() -> None:
    """Waves every day: absence 0.05 becomes 0.15 on each date; 20 people, 100 shift dates, binomial."""
    def absent(factor: float) -> float:
        scenario = plant([{"id": "A", "packages": [work("a", "ASM", 1)]}], {"ASM": {"people": 20}}, end="2027-12-31",
                         attendance={"absence": {"share": 0.05}}, common_luck={
                             "sickness_waves_per_year": 365, "sickness_wave_days": 30, "sickness_wave_factor": factor})
        found = run(scenario)[1].attended["ASM", "day"]
        return sum(found.absent[:200]) / (20 * 200)

    assert abs(absent(3) - 0.15) / sqrt(0.15 * 0.85 / 4000) < 4
    assert abs(absent(1) - 0.05) / sqrt(0.05 * 0.95 / 4000) < 4


# suppliers ---------------------------------------------------------------------------------------------------------
def supplied(spells: list[dict[str, Any]], chance: float = 0.1) -> Scenario:
    """A launch each work day of 2027; an engine that is late with a chance, two work days."""
    return plant([{"id": "A", "docks": 20, "packages": [work("a", "ASM", 1)]}], {"ASM": {"people": 20}},
                 [{"serial": f"S{n}"} for n in range(240)], end="2027-12-31", launches={"takt_work_days": 1},
                 parts={"long_lead": [
                     {"item": "engine", "position": "A", "late_chance": chance, "delay_work_days": 2}]},
                 common_luck={"supplier_spells": spells})


def late(scenario: Scenario, number: int) -> list[bool]:
    """Of each aircraft in order whether it stood two days longer."""
    sheet, records = run(scenario, number)
    hours = Ledger(sheet, records)
    return [sum(hours.of(n).values()) > 20 for n in range(240)]


def test_a_spell_replaces_the_chance_and_reads_the_same_draw() -> None:
    """Inside the spell (60 calendar days from 1 March) the share is 0.6, outside 0.1; who is late by 0.1 is late inside
    the spell, too, and outside nothing changes."""
    spell = [{"item": "engine", "from": "2027-03-01", "days": 60, "share": 0.6}]
    sheet = Sheet(supplied([]))
    days = [sheet.calendar.day_number(t) for t in sorted(
        launch.made for launch in run(supplied([]), 0)[1].launches)]
    first = (date(2027, 3, 1) - date(2027, 1, 4)).days
    inside = [first <= day < first + 60 for day in days]
    counts = [0, 0]
    for number in range(6):
        without, with_it = late(supplied([]), number), late(supplied(spell), number)
        assert [b for a, b, here in zip(without, with_it, inside, strict=True) if a != b and not here] == []
        assert all(b for a, b in zip(without, with_it, strict=True) if a)
        counts[0] += sum(b for b, here in zip(with_it, inside, strict=True) if here)
        counts[1] += sum(b for b, here in zip(with_it, inside, strict=True) if not here)
    number = sum(inside) * 6
    assert abs(counts[0] - 0.6 * number) / sqrt(0.24 * number) < 4
    rest = 240 * 6 - number
    assert abs(counts[1] - 0.1 * rest) / sqrt(0.09 * rest) < 4


@pytest.mark.parametrize("nothing", [
    {"squawk_level_cv": 0.0}, {"weather_year_cv": 0.0}, {"supplier_spells": []}, {"sickness_waves_per_year": 0.0},
    {"sickness_waves_per_year": 3, "sickness_wave_days": 20, "sickness_wave_factor": 1.0}])
def test_without_size_the_run_is_as_before(nothing: dict[str, Any]) -> None:
    """Draw for draw: the records are the same, absences, weather and squawks among them."""
    def one(**more: Any) -> Scenario:
        return plant([{"id": "A", "packages": [work("a", "ASM", 3)]}, {"id": "FL", "flights": {
            "pilots": "FTP", "pilot_hours": 2, "flight_hours": 1, "squawks": {
                "mean_by_flight": [3], "trades": {"ASM": 1}, "fix_hours": 1}}}],
            {"ASM": {"people": 3}, "FTP": {"people": 1}}, [{"serial": f"S{n}"} for n in range(5)],
            launches={"takt_work_days": 1}, attendance={"absence": {"share": 0.2, "spell_shifts": 3}},
            weather={"flyable_share_by_month": dict.fromkeys(range(1, 13), 0.5)}, **more)

    assert run(one(common_luck=nothing), 3)[1] == run(one(), 3)[1]
