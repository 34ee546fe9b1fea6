"""Luck that many aircraft share, drawn once for all of them: bad times of suppliers, a quarter's level of squawks,
waves of sickness, a bad or good weather year. Off unless declared; all other draws stay as they are.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..scenario.risks import CommonLuck
from ..scenario.spread import Spread
from .luck import Luck

PARTS: Final = "parts"  # a spell of every package's own shortage


class Common:
    """Shared luck of one run. Days are numbers from the start."""

    def __init__(self, rules: CommonLuck | None, luck: Luck, start: date, days: int) -> None:
        self.rules, self.luck, self.start, self.days = rules or CommonLuck(), luck, start, days
        self._levels: dict[tuple[int, int], float] = {}
        self._spells: dict[str, list[tuple[int, int, float]]] = {}
        for spell in self.rules.supplier_spells:
            first = (spell.day - start).days
            self._spells.setdefault(spell.item, []).append((first, first + spell.days, spell.share))

    # suppliers ---------------------------------------------------------------------------------------------------
    def has_spells(self, item: str) -> bool:
        """Whether an item has bad times at all."""
        return item in self._spells

    def short_chance(self, item: str, day: int, own: float) -> float:
        """Chance of a shortage discovered on a day: the item's own, or that of the spell it falls in (the last one
        declared, if several do)."""
        return next((share for first, end, share in reversed(self._spells.get(item, ())) if first <= day < end), own)

    def most_short(self, item: str, own: float) -> float:
        """Highest chance of a shortage on any day."""
        return max((own, *(share for _, _, share in self._spells.get(item, ()))))

    # levels ------------------------------------------------------------------------------------------------------
    def squawk_level(self, day: int) -> float:
        """Level of squawks of a day's quarter, mean 1: a lognormal spread, one draw a quarter."""
        if not self.rules.squawk_level_cv:
            return 1.0
        of = self.start + timedelta(days=day)
        key = (of.year, (of.month + 2) // 3)
        if key not in self._levels:
            uniform = self.luck.uniform("squawk level", *key)
            self._levels[key] = Spread("lognormal", (1.0, self.rules.squawk_level_cv)).value(uniform)
        return self._levels[key]

    def bad_day_factors(self, days: Sequence[date]) -> list[float] | None:
        """Factor on the share of bad days by date, one draw a calendar year with mean 1; None: always 1."""
        if not self.rules.weather_year_cv:
            return None
        spread = Spread("lognormal", (1.0, self.rules.weather_year_cv))
        by_year = {year: spread.value(self.luck.uniform("weather year", year)) for year in {day.year for day in days}}
        return [by_year[day.year] for day in days]

    def sickness_factors(self) -> NDArray[np.float64] | None:
        """Factor on absence by day of the run: inside a wave the declared one; None: always 1.

        A wave begins on a date with chance waves a year / 365; one that begins inside another lengthens it.
        """
        rules = self.rules
        if not (rules.sickness_waves_per_year and rules.sickness_wave_days):
            return None
        first = self.start - timedelta(days=rules.sickness_wave_days)  # waves that have begun before the start
        drawn = self.luck.dates(["sickness wave"], first, self.days + rules.sickness_wave_days)[0]
        begins = np.flatnonzero(drawn < min(1.0, rules.sickness_waves_per_year / 365)) - rules.sickness_wave_days
        factors = np.ones(self.days)
        for day in begins.tolist():
            factors[max(0, day):max(0, day + rules.sickness_wave_days)] = rules.sickness_wave_factor
        return factors
