"""Hours of a package: people x what they do in an hour x their working time (F6, F26, F33, F52, F62)."""

from __future__ import annotations

from collections.abc import Iterator
from math import isclose

from recorded.able import Able
from recorded.run import AT_WORK, Broken
from spans import lasts

from linesim.line.records import Closing


class HoursOfWork(Able):
    """Packages and the hours put into them."""

    def hours(self) -> Iterator[Broken]:
        """F6, F26, F33, F52, F62: people x what they do in an hour x their working time is the work of the package."""
        bad, seen = [], 0
        for c, life in self.lives():
            asked = self._asked(c)
            if asked is None or (c.job not in self.packages and self.lent):
                continue
            package = self.packages.get(c.job)
            done = inspected = 0.0
            for s in (s for s in life if s.state in AT_WORK and s.people):
                worked = lasts(self.crew(s.shift, s.place), s.start, s.end)
                if not s.trade:
                    done += worked
                    continue
                rate = s.people * self.able(s.trade, s.shift, s.start) * worked
                if (package is not None and s.trade == (package.inspector or "INS") and package.kind == "work"
                        and s.trade != package.trade):
                    inspected += rate
                elif package is not None and package.trade and s.trade != package.trade and package.kind == "work":
                    done += rate * self.scenario.trades[package.trade].cover[s.trade]
                else:
                    done += rate
            seen += 1
            if not isclose(done, asked, abs_tol=1e-4):
                bad.append(f"{c}: {done} minutes of {asked}")
            if package is not None and not isclose(inspected, package.inspection_hours * 60, abs_tol=1e-4):
                bad.append(f"{c}: {inspected} minutes of inspection of {package.inspection_hours * 60}")
        yield "packages with other hours than planned", bad, seen

    def _asked(self, c: Closing) -> float | None:
        """Minutes of labour that a package takes, without its buy-off."""
        if c.job not in self.packages:
            if c.job.startswith("re-torque"):
                return self.scenario.tool_control.torque_recall.hours.mean * 60
            if c.job.startswith("fleet"):
                return next(h.hours for h in self.scenario.fleet_holds if c.job.endswith(f"{h.day}")) * 60
            return None
        package = self.packages[c.job]
        minutes = package.hours.mean * 60
        for entry in self.scenario.on_the_line:
            if self.records.serials.index(entry.serial) == c.serial and self.where[c.job].id in entry.at:
                return None
        travel = self.first_travel.get((c.serial, c.job))
        if travel is not None and travel.before:
            minutes += travel.after - travel.before
        return minutes
