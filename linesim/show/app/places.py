"""Where the pages find the folder of results and the file that the command named: in the environment of the server."""

from __future__ import annotations

import os
from pathlib import Path

RESULTS, FILE = "LINESIM_RESULTS", "LINESIM_SCENARIO"


def results() -> Path:
    """The folder of results; `results` where the server was started, unless given."""
    return Path(os.environ.get(RESULTS) or "results").absolute()


def given() -> Path | None:
    """The scenario file that the command named."""
    name = os.environ.get(FILE)
    return Path(name) if name else None
