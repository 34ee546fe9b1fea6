"""Tables of many runs, some runs at a time: those of ten thousand runs would not fit in memory all at once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Protocol, runtime_checkable

import pandas as pd

Tables = Mapping[str, pd.DataFrame]


@runtime_checkable
class InParts(Protocol):
    """Tables that can be had for some runs at a time."""

    def parts(self) -> Iterator[Tables]:
        """The tables of the first runs, of the next ones and so on, each run whole in one part."""


def parts_of(tables: Tables) -> Iterator[Tables]:
    """The parts of such tables; of any others all of them at once."""
    yield from tables.parts() if isinstance(tables, InParts) else (tables,)
