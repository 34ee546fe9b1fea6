"""Tables as Parquet files: written part by part and read for some runs at a time, since all rows of many runs would not
fit in memory."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import IO, Any

import pandas as pd
import pyarrow as pa
from pyarrow.parquet import ParquetWriter

from .folder import PART, SUMMED


def write_parts(file: IO[bytes], parts: Iterable[pd.DataFrame]) -> int:
    """Write the rows of all parts one behind the other; gives how many they are. Parts of which nothing is kept (they
    have no column but the run) are left out, unless there is no other."""
    writer, rows, empty = None, 0, None
    for part in parts:
        if len(part.columns) == 1:
            empty = part
            continue
        table = _with_wide_codes(pa.Table.from_pandas(part, preserve_index=False))
        if writer is None:
            writer = ParquetWriter(file, table.schema, compression="zstd")
        writer.write_table(table.replace_schema_metadata(writer.schema.metadata))
        rows += len(part)
    if writer is not None:
        writer.close()
    elif empty is not None:
        empty.to_parquet(file, compression="zstd", index=False)
    return rows


def _with_wide_codes(table: pa.Table) -> pa.Table:
    """Codes of categories get the same width in every part, however many categories it has."""
    for n, column in enumerate(table.schema):
        if pa.types.is_dictionary(column.type):
            wide = column.with_type(pa.dictionary(pa.int32(), column.type.value_type))
            table = table.set_column(n, wide, table.column(n).cast(wide.type))
    return table


class TablesOfFolder(Mapping[str, pd.DataFrame]):
    """The tables of a finished run folder by name, of all runs or only of some, each read when it is asked for."""

    def __init__(self, paths: Mapping[str, Path], numbers: Sequence[int] | None = None) -> None:
        self._paths, self._numbers = paths, numbers
        self._read: dict[str, pd.DataFrame] = {}

    def __getitem__(self, name: str) -> pd.DataFrame:
        if name not in self._read:
            some: list[Any] | None = None
            if self._numbers is not None and name != SUMMED:
                some = [("run", ">=", min(self._numbers)), ("run", "<=", max(self._numbers))]
            self._read[name] = pd.read_parquet(self._paths[name], filters=some)
        return self._read[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._paths)

    def __len__(self) -> int:
        return len(self._paths)

    def parts(self) -> Iterator[TablesOfFolder]:
        """The tables of PART runs at a time."""
        numbers = sorted(self["runs"]["run"].tolist())
        for first in range(0, len(numbers), PART):
            yield TablesOfFolder(self._paths, numbers[first:first + PART])
