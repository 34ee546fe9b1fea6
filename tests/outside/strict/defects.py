"""What a gate finds is mended in the hours found, then the gate is done again (F70, F71)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from math import isclose
from typing import Any

from recorded.able import Able
from recorded.run import TINY, Broken
from spans import lasts

from linesim.line.records import Closing


class Defects(Able):
    """Defects found and mended."""

    def repairs(self) -> Iterator[Broken]:
        """F70, F71: what a gate finds is mended in one package for each trade, in the hours found; then it is done
        again; known defects are found where it is known."""
        if self.scenario.quality is None:
            return
        bad, seen = [], 0
        by_gate: dict[tuple[int, float], list[Any]] = defaultdict(list)
        for f in self.records.found:
            by_gate[f.serial, f.at].append(f)
        for c in self.closings:
            package = self.packages.get(c.job)
            if package is None or not package.gate or c.serial in self.records.standing:
                continue
            found = by_gate.pop((c.serial, c.closed), []) if not c.repeat else []
            again = self.closed.get((c.serial, c.job, c.repeat + 1))
            seen += 1
            hours: dict[str, float] = defaultdict(float)
            for f in found:
                hours[self.packages[f.package].trade or ""] += f.hours
                if f.gate != package.gate or (f.gate == "position" and self.names[f.place] != self.where[c.job].id):
                    bad.append(f"{f} at {c}")
                price = 1 if f.place == c.place else 2
                if not self.scenario.known.defects and not 0.5 * price - TINY <= f.hours <= 3 * price + TINY:
                    bad.append(f"{f}: hours at {c}")
            if not found and not c.repeat and again is not None:
                bad.append(f"{c} is done again, nothing found")
            bad += self._mended(c, hours, again)
        bad += [f"found at no gate: {of}" for of in by_gate.values()]
        yield "repairs of other hours, or gates not done again", bad, seen
        if self.scenario.known.defects:
            yield self._known_defects()

    def _mended(self, c: Closing, hours: dict[str, float], again: float | None) -> Iterator[str]:
        for trade, h in hours.items():
            job = f"{c.job} repair {trade}"
            done = self.closed.get((c.serial, job, 0))
            if done is None:
                continue  # still open at the end
            life = [s for s in self.of_job[c.serial, job] if s.people and s.end <= done]
            worked = sum(s.people * self.able(s.trade, s.shift, s.start) * lasts(self.crew(s.shift, s.place), s.start,
                                                                                 s.end) for s in life)
            if not self.lent and not isclose(worked, h * 60, abs_tol=1e-4):
                yield f"{job} of {c}: {worked} minutes of {h * 60}"
            if again is not None and again < done:
                yield f"{c} is done again before {job}"

    def _known_defects(self) -> Broken:
        bad, seen = [], 0
        for n, name in enumerate(self.records.serials):
            facts = [d for d in self.scenario.known.defects if d.serial == name and d.found_by != "none"]
            for d in facts:
                gates = [p for p in self.packages.values() if p.gate == d.found_by and (
                    d.found_by != "position" or self.where[p.id] is self.where[d.package])]
                done = [self.closed.get((n, gate.id, 0)) for gate in gates]
                if not gates or done[0] is None:
                    continue
                seen += 1
                same = [f for f in self.records.found if f.serial == n and f.package == d.package
                        and f.gate == d.found_by and f.hours == d.hours and f.at == done[0]]
                if not same:
                    bad.append(f"{d} is not found")
        return "known defects that are not found", bad, seen
