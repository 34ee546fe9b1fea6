"""Aircraft in each area, week by week."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

import pandas as pd
from recorded.run import Broken

from linesim.measures.in_areas import areas_in_order, by_week

from .by_reason import Hours, differ
from .pieces import Pieces


class InAreas(Pieces):
    """Weeks in the areas."""

    def weeks_in_areas(self) -> Iterator[Broken]:
        """Mean number of aircraft in each area, week by week from Monday; a half counts a half."""
        rows = self.stays
        table = pd.DataFrame({
            "run": 0, "place": [self.names[v.place] for v in rows], "half": [v.half or "whole" for v in rows],
            "arrived": [v.arrived for v in rows], "left": [v.left for v in rows]})
        weeks, found = by_week(self.sheet, {"visits": table})
        areas, bad = areas_in_order(self.sheet), []
        expected = (self.scenario.end - self.scenario.start).days // 7 + (
            (self.scenario.end - self.scenario.start).days % 7 == 6)
        if len(weeks) != expected:
            bad.append(f"{len(weeks)} weeks for {expected}")
        for n, monday in enumerate(weeks):
            begin = self.calendar.instant(monday)
            stood: Hours = defaultdict(float)
            for v in rows:
                position = self.sheet.places[v.place].position
                stood[position.area or position.id] += (0.5 if v.half else 1.0) * max(
                    0.0, min(v.left, begin + 10080) - max(v.arrived, begin)) / 10080
            bad += differ(f"week {n}", stood, dict(zip(areas, found[0, :, n].tolist(), strict=True)))
        yield "aircraft in the areas by week", bad, len(weeks)
