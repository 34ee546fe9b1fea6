"""The end of a run: no aircraft is lost, defects found have hours, fleet holds were kept."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from recorded.run import AT_WORK, TINY, Recorded, Row


class AllTold(Recorded):
    """What came and what left."""

    def all_told(self) -> Iterator[Row]:
        """In = out + there; orders that change; found defects are mended; fleet holds; the end of the run."""
        came = [entry.serial for entry in self.records.launches] + self.records.standing
        there = {v.serial for v in self.records.unfinished} - {*self.records.delivered, *self.records.stock_ready}
        yield "aircraft that are lost", abs(len(came) - len(self.records.delivered) - len(self.records.stock_ready)
                                            - len(there)) + len(came) - len(set(came)), len(came)
        gone, came_at = self.records.delivered, self.launched
        after = [n for n, t in gone.items() if t > self.records.ended or t < came_at.get(n, 0.0)]
        after += [n for n, t in self.launched.items() if t >= self.calendar.end]
        yield "delivered or launched outside the run", len(after), len(came)
        gates: dict[tuple[int, str], float] = defaultdict(float)
        for f in self.records.found:
            gates[f.serial, f.gate] += f.hours
        yield "found defects of no hours", sum(not h > 0 for h in gates.values()), len(gates) + 1
        escaped = self.records.escaped.values()
        yield "escapes below none, or none expected", sum(n < 0 or e <= 0 for n, e in escaped), len(escaped)
        named = [(self.records.serials.index(n), hold) for hold in self.scenario.fleet_holds for n in hold.serials
                 if n in self.records.serials]
        bad = seen = 0
        for serial, hold in named:
            begin = max(self.calendar.instant(hold.day), self.launched.get(serial, 0.0))
            done = min((c.closed for c in self.records.closings if c.serial == serial and c.job.startswith("fleet")),
                       default=None)
            if done is not None and serial in self.launched and done < self.records.ended:
                seen += 1
                bad += any(s.people and s.state in AT_WORK and s.start < done - TINY and s.end > begin + TINY
                           and not s.job.startswith("fleet") for s in self._of_serial[serial])
                bad += any(begin < v.left < done for v in self.records.visits if v.serial == serial and not v.half)
        yield "worked on or moved in a fleet hold", bad, seen + 1
