"""The report of a run folder that was kept: read back, and set anew."""

from __future__ import annotations

import json
import re
from datetime import datetime
from pathlib import Path
from typing import Any

from ...line.sheet import Sheet
from ...scenario.scenario import Scenario
from ...scenario.spread import Spread
from ..folder_check import ANSWER, MANIFEST, SCENARIO, Identity
from ..table_files import TablesOfFolder
from ..whole_files import FolderRefused, digest_of
from .page import put

_MOMENT = re.compile(r"(\d{4}-\d\d-\d\d)T(\d\d:\d\d):00")
ANEW = "Repeat the command that made it, or give another folder."


def report_of_folder(folder: Path) -> Path:
    """Write the report of a finished run folder anew; gives its path. Raises FolderRefused."""
    manifest = folder / MANIFEST
    if not manifest.is_file():
        raise FolderRefused(folder, f"no finished run is here ({MANIFEST} is missing)", "`linesim run` writes one.")
    try:
        files = dict(json.loads(manifest.read_bytes())["files"])
    except (ValueError, TypeError, KeyError):
        raise FolderRefused(folder, f"{MANIFEST} cannot be read", ANEW) from None
    for name, digest in files.items():
        if not (folder / name).is_file() or digest_of(folder / name) != digest:
            raise FolderRefused(folder, f"{name} is missing or not as linesim wrote it", ANEW)
    scenario = scenario_of(folder)
    numbers = json.loads((folder / ANSWER).read_bytes())
    tables = TablesOfFolder({path.stem: path for name in files if (path := folder / name).suffix == ".parquet"})
    made = datetime.fromtimestamp(manifest.stat().st_mtime).strftime("%Y-%m-%d %H:%M")
    return put(folder, Sheet(scenario), tables, numbers, made)


def scenario_of(folder: Path) -> Scenario:
    """The scenario as run; it must give the same text again, to the last value. Raises FolderRefused."""
    content = (folder / SCENARIO).read_bytes()
    declared = _as_declared(json.loads(content))
    try:
        scenario = Scenario.model_validate({**declared, "orders": declared.get("orders") or "unlimited"})
    except ValueError as fault:
        raise FolderRefused(folder, f"{SCENARIO}: this version cannot read it back ({fault})", ANEW) from None
    if Identity.of(scenario, 0).as_run != content:
        raise FolderRefused(folder, f"{SCENARIO}: this version reads it differently", ANEW)
    return scenario


def _as_declared(value: Any) -> Any:
    """A value as a scenario file writes it; what was left out stays out."""
    if isinstance(value, dict):
        if set(value) == {"kind", "parts"}:
            return Spread(value["kind"], tuple(value["parts"])).as_declared()
        return {key: _as_declared(one) for key, one in value.items() if one is not None}
    if isinstance(value, list):
        return [_as_declared(one) for one in value]
    return _MOMENT.sub(r"\1 \2", value) if isinstance(value, str) else value
