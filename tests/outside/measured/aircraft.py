"""Hours of an aircraft and of its halves by reason, and its life span by span (F105)."""

from __future__ import annotations

from collections.abc import Iterator

from recorded.run import Broken

from linesim.measures.moment import spans_of

from .by_reason import Piece, by_reason, differ, lowest
from .pieces import Pieces


class Aircraft(Pieces):
    """Reasons of aircraft."""

    def reasons(self) -> Iterator[Broken]:
        """F105: hours of every aircraft and half by the first true reason, and its life span by span."""
        bad, serials = [], sorted({*self.launched, *self.records.standing})
        table = self.ledger.by_aircraft(serials)
        for serial, row in zip(serials, table, strict=True):
            begin, end = self.life(serial)
            pieces = [(max(a, begin), min(b, end), state) for a, b, state in lowest(self.pieces_of(serial))
                      if a < end and b > begin]
            bad += differ(f"{serial}", by_reason(pieces), {n: h for n, h in enumerate(row.tolist()) if h > 1e-9})
            found = [(span.start, span.end, int(span.state)) for span in spans_of(self.ledger, serial)]
            together: list[Piece] = []
            for a, b, state in pieces:
                if together and together[-1][2] == state and together[-1][1] == a:
                    together[-1] = (together[-1][0], b, state)
                else:
                    together.append((a, b, state))
            if found != together:
                bad.append(f"life of {serial}: {found[:9]} for {together[:9]}")
            for half in {v.half for v in self.stays if v.serial == serial and v.half}:
                left = [v.left for v in self.stays if v.serial == serial and v.half == half]
                mine = by_reason(lowest(self.pieces_of(serial, half)), begin, max(left))
                alone = [(span.start, span.end, int(span.state)) for span in spans_of(self.ledger, serial, half)]
                bad += differ(f"spans of {half} of {serial}", mine, by_reason(alone))
                bad += differ(f"{half} of {serial}", mine,
                              {int(n): h for n, h in self.ledger.of(serial, half).items()})
        yield "hours of an aircraft by reason", bad, len(serials)
