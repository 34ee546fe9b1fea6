"""`linesim report`: the report of a run folder, written anew."""

from __future__ import annotations

from pathlib import Path

from .report.kept import report_of_folder


def report_folder(folder: str) -> int:
    """Write it and say where it is; raises FolderRefused where the folder holds no finished run."""
    print(f"Kept in  {report_of_folder(Path(folder))}")
    return 0
