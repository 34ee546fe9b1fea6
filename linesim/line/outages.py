"""When places are out of service in a run by chance: days on which the climate is out of limits, and breakdowns.

Hands-on work there stops, cures and holds run on. What is known before any run (weekly service, stated facts) stands on
the sheet.
"""

from __future__ import annotations

from datetime import timedelta

import numpy as np

from .luck import Luck
from .sheet import HOUR, Sheet, Spans


def outages_of(sheet: Sheet, luck: Luck) -> dict[str, Spans]:
    """By position the spans, in minutes since the start; without those that have none."""
    found: dict[str, Spans] = {}
    for position in sheet.scenario.positions:
        rules = position.out_of_service
        if rules is None:
            continue
        spans = climate_days(sheet, luck, rules.climate_share) if rules.climate_share else []
        if rules.hours_up is not None and rules.hours_down is not None:
            n, t = 0, 0.0
            while True:
                up, down, *_ = luck.four(f"outage/{position.id}/{n}")
                begins = t + rules.hours_up.value(up) * HOUR
                t, n = begins + rules.hours_down.value(down) * HOUR, n + 1
                if begins >= sheet.calendar.run_end:
                    break
                spans.append((begins, t))
        if spans:
            found[position.id] = sorted(spans)
    return found


def climate_days(sheet: Sheet, luck: Luck, share: float) -> Spans:
    """Work days on which the climate is out of limits, each from 00:00 to 24:00: one draw a date, the same for all
    places."""
    calendar, first = sheet.calendar, sheet.scenario.start
    drawn = luck.dates(["climate"], first, (calendar.last_day - first).days + 1)[0]
    hit = (first + timedelta(days=n) for n in np.flatnonzero(drawn < share).tolist())
    return [(calendar.instant(day), calendar.instant(day, 1440)) for day in hit if calendar.is_work_day(day)]
