"""Everybody employed is somewhere: at work, on leave, absent or in training (F60)."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from recorded.run import Recorded, Row


class Attendance(Recorded):
    """Who is there."""

    def attendance(self) -> Iterator[Row]:
        """F60: everybody employed is there, on leave, absent or in training; effectiveness is between 0 and 1; the
        shares of the year lie within 6 standard errors of what is declared (spells and weeks widen the binomial)."""
        rules = self.scenario.attendance
        if rules is None:
            return
        bad = seen = 0
        total = np.zeros(5)
        for a in self.records.attended.values():
            rows = np.array([a.present, a.on_leave, a.absent, a.in_training, a.employed], dtype=float)
            bad += int((rows[:4].sum(axis=0) != rows[4]).sum()) + sum(not 0 < e <= 1 for e in a.effectiveness)
            seen += len(a.days)
            total += rows.sum(axis=1)
        yield "people employed who are nowhere, or effectiveness outside 0 to 1", bad, seen
        of = total[4]
        wide = 6 * np.sqrt(0.06 * 6 / of) + 0.004
        declared = ((1, rules.leave.rate if rules.leave and rules.leave.rate else 0.06),
                    (3, rules.training_share * 0.91))
        yield "shares on leave and in training far from what is declared", sum(
            abs(total[k] / of - share) > wide for k, share in declared), len(declared)
