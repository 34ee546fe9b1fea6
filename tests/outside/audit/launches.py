"""Launches: planned by takt, made in turn, never more on the line than the cap (F40, F41)."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import isclose

from recorded.run import TINY, Recorded, Row
from spans import most_at_once

from linesim.scenario.plan import planned_moments


class Launches(Recorded):
    """Aircraft that come onto the line."""

    def launches(self) -> Iterator[Row]:
        """F40, F41: planned by takt, made at the plan or later, in the order of the book, one by one."""
        made = self.records.launches
        late = [entry.made < entry.planned - TINY for entry in made]
        yield "launched before the plan", sum(late), len(made)
        order = [a.made > b.made or a.planned >= b.planned for a, b in pairwise(made)]
        yield "launched out of turn", sum(order), len(order)
        launches = self.scenario.launches
        if launches.takt_work_days and not (self.scenario.pulse and self.scenario.pulse.in_force):
            plan = planned_moments(self.calendar, launches.takt_work_days, launches.steps, None)
            wrong = [not isclose(entry.planned, t, abs_tol=TINY) for entry, t in zip(made, plan, strict=False)]
            yield "planned launches that are not those of the takt", sum(wrong), len(made)
            first = self.sheet.first
            open_docks = [(entry.planned, entry.made) for entry in made if entry.made > entry.planned + TINY]
            idle = 0
            for a, b in open_docks if launches.most_on_line is None else ():
                idle += all(sum(min(v.left, b) - max(v.arrived, a) for v in self.stays if v.place == n and not v.parked
                                and v.left > a and v.arrived < b) < self.sheet.places[n].docks * (b - a) - TINY
                            for n in first) and len(first) == 1
            yield "launch owed while the first place stands empty", idle, len(made)
        if launches.most_on_line:
            last = launches.most_on_line_until
            here = {place.index for place in self.sheet.places}
            until = self.names.index(str(last))
            beyond = {n for n in here if self.sheet.places[n].rank > self.sheet.places[until].rank}
            spans = []
            for n in {*self.launched, *self.records.standing}:
                stays = [v for v in self.stays if v.serial == n]
                out = min([v.arrived for v in stays if v.place in beyond], default=self.records.ended)
                if all(v.place not in beyond for v in stays) or out > min(v.arrived for v in stays):
                    spans.append((min(v.arrived for v in stays), out, 1))
            yield "more aircraft on the line than the cap", int(most_at_once(spans) > launches.most_on_line), len(spans)
