"""`linesim app`: serve the front end to this machine, and say where it is."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from ..scenario.tree import read_text
from .app.places import FILE, RESULTS

SCRIPT = Path(__file__).parent / "app" / "start" / "served.py"


def serve(file: str | None, *, out: str | None, port: int) -> int:
    """Serve until it is stopped; the scenario of `file`, where one is given, stands among those to choose from.

    Settings stand in `.streamlit/config.toml` beside the script; one in the folder where the command is given, or in
    the home folder, goes over them. Raises ScenarioFaults for a file that cannot be read.
    """
    if file is not None:
        read_text(Path(file))
        os.environ[FILE] = str(Path(file).absolute())
    if out is not None:
        os.environ[RESULTS] = out
    print(f"linesim is at http://127.0.0.1:{port} (Ctrl-C ends it; runs go on)", file=sys.stderr, flush=True)
    return _served(port)


def _served(port: int) -> int:
    from streamlit.web import cli

    try:
        cli.main(["run", str(SCRIPT), "--server.port", str(port)], standalone_mode=False)
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else 1
    return 0
