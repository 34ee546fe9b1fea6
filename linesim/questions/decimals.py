"""How many digits of a column of means are worth showing: no finer than the runs know them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from ..measures.estimates import digits_for

PERCENT = 2  # decimals that a share loses when it is shown as percent


def decimals(intervals: Iterable[Mapping[str, float] | None], least: int = 0, most: int = 2) -> int:
    """Decimals for all means of a column, by the widest of their 95 % intervals `low` to `high` (about four standard
    errors); `least` where no interval is known, as of a single run."""
    widths = [one["high"] - one["low"] for one in intervals if one and "low" in one]
    if not any(widths):
        return least
    return min(most, max(least, digits_for(max(widths) / 4)))
