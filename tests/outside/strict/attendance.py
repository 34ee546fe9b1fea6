"""People on the roll by dated steps, and those known to be there (F60)."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from recorded.run import Broken, Recorded


class Numbers(Recorded):
    """Numbers of people."""

    def numbers(self) -> Iterator[Broken]:
        """F60: those on the roll by the dated steps; those known to be there."""
        bad, seen = [], 0
        rules = self.scenario.attendance
        known = {(f.trade, f.shift or self.calendar.reference_shift, (f.day - self.scenario.start).days): f.people
                 for f in self.scenario.known.present}
        for (trade, shift), a in self.records.attended.items():
            declared = self.scenario.trades[trade]
            roster = {name or self.calendar.reference_shift: n for name, n in declared.people.items()}.get(shift, 0)
            for n, day in enumerate(a.days):
                date = self.scenario.start + timedelta(days=day)
                steps = [s.people for s in declared.headcount_steps if s.shift == shift and s.day <= date]
                heads = steps[-1] if steps else roster
                seen += 1
                if (trade, shift, day) in known:
                    if a.present[n] != known[trade, shift, day]:
                        bad.append(f"{trade} {shift} {day}: {a.present[n]} there, known {known[trade, shift, day]}")
                elif not (rules and rules.turnover) and a.employed[n] != heads:
                    bad.append(f"{trade} {shift} {day}: {a.employed[n]} on the roll of {heads}")
                elif a.present[n] + a.on_leave[n] + a.absent[n] + a.in_training[n] != a.employed[n]:
                    bad.append(f"{trade} {shift} {day}: somebody is nowhere")
                elif not rules and a.present[n] != heads:
                    bad.append(f"{trade} {shift} {day}: {a.present[n]} there of {heads}")
        yield "other numbers than declared", bad, seen
