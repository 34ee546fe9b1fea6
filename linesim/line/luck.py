"""Luck: every draw is keyed by what it is for, so a change in one place leaves all other luck as it was.

A draw is a fixed function of (seed, replication, purpose, key): the BLAKE2b hash (RFC 7693) of their names, read as
uniforms. Nothing depends on the order of drawing, so any replication, aircraft or package can be drawn alone.
"""

from __future__ import annotations

from calendar import isleap
from hashlib import blake2b, shake_128
from struct import Struct

import numpy as np
from numpy.typing import NDArray

_EIGHT, _FOUR = Struct("<8Q"), Struct("<4Q")
_STEP = 2.0**-53
_HALF_STEP = 2.0**-54  # keeps uniforms strictly inside (0, 1)

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
        return self.four("/".join((purpose, *map(str, key))))[0]

    def four(self, name: str) -> Four:
        """The first four of the eight by the whole name of the draw: purpose/key/key/..."""
        a, b, c, d = _FOUR.unpack_from(self.digest(name))
        return ((a >> 11) * _STEP + _HALF_STEP, (b >> 11) * _STEP + _HALF_STEP, (c >> 11) * _STEP + _HALF_STEP,
                (d >> 11) * _STEP + _HALF_STEP)

    def year(self, name: str, year: int) -> NDArray[np.float64]:
        """One uniform in (0, 1) for each day of a year: as many draws by date (SHAKE128, FIPS 202), read at once."""
        days = 366 if isleap(year) else 365
        drawn = shake_128(self._root.digest() + f"{name}/{year}".encode()).digest(8 * days)
        return np.asarray((np.frombuffer(drawn, dtype="<u8") >> 11) * _STEP + _HALF_STEP, dtype=np.float64)

    def digest(self, name: str) -> bytes:
        """The 64 bytes of a draw by its whole name."""
        mixed = self._root.copy()
        mixed.update(name.encode())
        return mixed.digest()
