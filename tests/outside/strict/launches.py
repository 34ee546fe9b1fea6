"""A launch that is owed is made as soon as the first places are free and the cap allows (F40, F41, F113)."""

from __future__ import annotations

from collections.abc import Iterator

from recorded.run import TINY, Broken
from recorded.ways import Ways
from spans import Spans, common


class LaunchesInTurn(Ways):
    """Aircraft that come onto the line."""

    def launches_in_turn(self) -> Iterator[Broken]:
        """F40, F41, F113: an owed launch is made in the first instant at which the first places are free and the cap is
        not reached; never more on the line than the cap."""
        launches, made = self.scenario.launches, self.records.launches
        bad, seen = [], 0
        last, most = launches.most_on_line_until, launches.most_on_line
        spans: Spans = []
        if most is not None and last is not None:
            until = {self.names.index(last)}
            for _ in self.names:
                until |= {p.index for p in self.sheet.places if p.next in until}
            for n in {*self.launched, *self.records.standing}:
                stays = [v for v in self.stays if v.serial == n and v.place in until
                         and not (v.parked and self.names[v.place] not in {self.names[m] for m in until})]
                if stays:
                    spans.append((min(v.arrived for v in stays), max(v.left for v in stays)))
            seen += len(spans)
            over = self._room(spans, most + 1, 0.0, self.records.ended)
            if sum(b - a for a, b in over) < self.records.ended - TINY and not self._goes_back:
                bad.append("more on the line than the cap")
        if self.pulse_on or self.rules.halves != "together" or self._goes_back or self.scenario.order_changes:
            yield "launches that are late for nothing, or over the cap", bad, seen
            return
        before = 0.0
        for entry in made:
            begin, end = max(entry.planned, before), entry.made
            before = entry.made
            seen += 1
            if end - begin < TINY:
                continue
            free = common([(begin, end)], self.allowed())
            for place in self.sheet.first:
                docked = [(v.arrived, v.left) for v in self.stays if v.place == place and not v.parked]
                free = common(free, self._room(docked, self.sheet.places[place].docks, begin, end))
            if most is not None and spans:
                others = [span for span in spans if span[0] != entry.made or span[0] < begin]
                free = common(free, self._room(others, most, begin, end))
            if sum(b - a for a, b in free) > TINY:
                bad.append(f"{entry}: could be made in {free}")
        yield "launches that are late for nothing, or over the cap", bad, seen
