"""Luck: every draw is keyed by what it is for, so a change in one place leaves all other luck as it was.

A draw is a fixed function of (seed, replication, purpose, key): the BLAKE2b hash (RFC 7693) of their names, read as
uniforms. Nothing depends on the order of drawing, so any replication, aircraft or package can be drawn alone.
"""

from __future__ import annotations

from calendar import isleap
from collections.abc import Sequence
from datetime import date
from hashlib import blake2b, shake_128
from struct import Struct
from typing import Final

import numpy as np
from numpy.typing import NDArray

_EIGHT: Final = Struct("<8Q")
_FOUR: Final = Struct("<4Q")
_ONE: Final = Struct("<Q")
_STEP: Final = 2.0**-53
_HALF_STEP: Final = 2.0**-54  # keeps uniforms strictly inside (0, 1)

Four = tuple[float, float, float, float]
Eight = tuple[float, float, float, float, float, float, float, float]


class Luck:
    """All luck of one replication."""

    __slots__ = ("_root",)

    def __init__(self, seed: int, replication: int) -> None:
        self._root = blake2b(f"{seed}/{replication}/".encode(), digest_size=64, person=b"linesim")

    def eight(self, purpose: str, *key: object) -> Eight:
        """Eight independent uniforms in (0, 1) for one purpose and key."""
        a, b, c, d, e, f, g, h = _EIGHT.unpack(self.digest("/".join((purpose, *map(str, key)))))
        return ((a >> 11) * _STEP + _HALF_STEP, (b >> 11) * _STEP + _HALF_STEP, (c >> 11) * _STEP + _HALF_STEP,
                (d >> 11) * _STEP + _HALF_STEP, (e >> 11) * _STEP + _HALF_STEP, (f >> 11) * _STEP + _HALF_STEP,
                (g >> 11) * _STEP + _HALF_STEP, (h >> 11) * _STEP + _HALF_STEP)

    def uniform(self, purpose: str, *key: object) -> float:
        """One uniform in (0, 1) for one purpose and key."""
        return self.first("/".join((purpose, *map(str, key))))

    def first(self, name: str) -> float:
        """The first of the eight by the whole name of the draw: purpose/key/key/..."""
        a: int = _ONE.unpack_from(self.digest(name))[0]
        return (a >> 11) * _STEP + _HALF_STEP

    def four(self, name: str) -> Four:
        """The first four of the eight by the whole name of the draw."""
        a, b, c, d = _FOUR.unpack_from(self.digest(name))
        return ((a >> 11) * _STEP + _HALF_STEP, (b >> 11) * _STEP + _HALF_STEP, (c >> 11) * _STEP + _HALF_STEP,
                (d >> 11) * _STEP + _HALF_STEP)

    def year(self, name: str, year: int) -> NDArray[np.float64]:
        """One uniform in (0, 1) for each day of a year: as many draws by date (SHAKE128, FIPS 202), read at once."""
        return self.dates([name], date(year, 1, 1), 366 if isleap(year) else 365)[0]

    def dates(self, names: Sequence[str], start: date, days: int) -> NDArray[np.float64]:
        """The uniforms of so many dates from `start`, each the one that `year` has for it: shape (names, days)."""
        spans: list[tuple[bytes, int, int]] = []  # year, and the first and one past the last of its dates
        first = start.timetuple().tm_yday - 1
        year, left = start.year, days
        while left > 0:
            last = min(first + left, 366 if isleap(year) else 365)
            spans.append((f"/{year}".encode(), 8 * first, 8 * last))
            year, left, first = year + 1, left - (last - first), 0
        root = self._root.digest()
        drawn = b"".join([shake_128(root + name.encode() + of).digest(end)[begin:]
                          for name in names for of, begin, end in spans])
        whole = np.frombuffer(drawn, dtype="<u8").reshape(len(names), max(0, days))
        return np.asarray((whole >> 11) * _STEP + _HALF_STEP, dtype=np.float64)

    def digest(self, name: str) -> bytes:
        """The 64 bytes of a draw by its whole name."""
        mixed = self._root.copy()
        mixed.update(name.encode())
        return mixed.digest()
