"""What stands in a run folder before a command goes on in it: all of it written by linesim, whole, of this very task.

A folder that is not so is refused with the reason, and nothing in it is touched.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from .. import __version__
from ..line.desk import code_digest
from ..measures.run import SEGMENTS_OF_RUNS
from ..scenario.acted_on import NOT_ACTED_ON
from ..scenario.scenario import Scenario
from .folder_lock import NAME as LOCK
from .stored_runs import FORM, NotRuns, head_of
from .whole_files import PART, FolderRefused, digest_of

SCENARIO, ANSWER, MANIFEST, BATCHES, ENDING = "scenario.json", "answer.json", "manifest.json", "batches", ".runs"
LOSSES = "losses.json"  # what changes to the largest losses gave; it holds its own origin
TABLES = ("deliveries", "runs", "places", "labour", "load_by_week", "chain", "visits", "flights", "launches", "reasons",
          "place_reasons", "segments")
OURS = {SCENARIO, ANSWER, MANIFEST, BATCHES, LOCK, LOSSES, *(f"{name}.parquet" for name in TABLES)}
FROM_THE_DESKTOP = re.compile(r"\.DS_Store|Thumbs\.db|desktop\.ini|~\$.*|\.~lock\..*")  # left by those that only look
LEAN = ".lean"  # in the name of a file of runs without segments
BATCH = re.compile(rf"\d{{4,}}-\d{{4,}}({LEAN})?{ENDING}")
RUNS_COME_FROM = ("scenario", "line", "measures")  # other code reads runs; its change does not make kept runs wrong
ELSEWHERE = "Nothing there was touched. Give another folder with --out, or remove this one."


@dataclass(frozen=True, slots=True)
class Identity:
    """What a folder is of: what the scenario as run acts on, the seed, and the linesim that makes its runs."""

    as_run: bytes
    seed: int

    @classmethod
    def of(cls, scenario: Scenario, seed: int) -> Identity:
        """Of a scenario and a seed."""
        text = scenario.model_dump_json(indent=1, by_alias=True, fallback=lambda value: value.as_declared())
        return cls(text.encode(), seed)

    @property
    def digest(self) -> str:
        """SHA-256 of what is acted on; its first 8 digits stand in the name of the folder."""
        return acted_on_digest(self.as_run)

    def head(self) -> dict[str, Any]:
        """As it stands in the manifest and in every file of runs."""
        return {"linesim": __version__, "code": code_digest(RUNS_COME_FROM), "form": FORM,
                "scenario sha256": self.digest, "seed": self.seed}


@dataclass(slots=True)
class Found:
    """What a folder holds: the manifest of a finished one, the file in which each run is kept, and which runs are kept
    without the segments that belong to them."""

    manifest: dict[str, Any] | None = None
    file_of: dict[int, Path] = field(default_factory=dict)
    lean: set[int] = field(default_factory=set)
    made_with: set[str] = field(default_factory=set)

    def holds(self, numbers: Iterable[int], path: Path, *, lean: bool) -> None:
        """These runs are in a file; of a run that is kept both ways, the one with its segments counts."""
        new = {number for number in numbers if not lean or number not in self.file_of or number in self.lean}
        self.file_of.update(dict.fromkeys(new, path))
        self.lean = self.lean | {n for n in new if n < SEGMENTS_OF_RUNS} if lean else self.lean - new


@cache
def acted_on_digest(as_run: bytes) -> str:
    """SHA-256 of what is acted on in a scenario as run: the same for two that differ in name, note or question only.
    Raises ValueError for what is no scenario."""
    values = json.loads(as_run)
    if not isinstance(values, dict):
        raise ValueError("no scenario")
    plain = {name: value for name, value in values.items() if name not in NOT_ACTED_ON}
    return hashlib.sha256(json.dumps(plain, separators=(",", ":")).encode()).hexdigest()


def only_ours(folder: Path) -> None:
    """Refuse a folder in which something stands that linesim does not write."""
    if not folder.exists():
        return
    if not folder.is_dir():
        raise FolderRefused(folder, "it is a file, not a folder", ELSEWHERE)
    ours = OURS | made_from_it(folder)
    strange = [name for name in _names(folder) if name not in ours]
    strange += [f"{BATCHES}/{name}" for name in _names(folder / BATCHES) if not BATCH.fullmatch(name)]
    if strange:
        more = f" and {len(strange) - 3} more" if len(strange) > 3 else ""
        raise FolderRefused(folder, f"it holds what linesim did not write: {', '.join(strange[:3])}{more}",
                            "Nothing there was touched. Move that elsewhere, or give another folder with --out.")


def made_from_it(folder: Path) -> set[str]:
    """Names of files that are set from a finished folder: out of date as soon as its answer is another."""
    return {"report.html", "figures", f"{folder.resolve().name}.xlsx", "csv"}


def found_in(folder: Path, identity: Identity) -> Found:
    """What the folder holds, checked; raises FolderRefused."""
    found = Found(_manifest(folder, identity))
    for path in sorted((folder / BATCHES).glob(f"*{ENDING}")):
        try:
            head = head_of(path.read_bytes())
        except NotRuns as why:
            raise FolderRefused(folder, f"{BATCHES}/{path.name} is damaged: {why}", "Nothing there was touched. Remove "
                                "that file and repeat the command: only its runs are done again.") from None
        _same_origin(folder, head, identity, f"{BATCHES}/{path.name}")
        found.holds(head["runs"], path, lean=path.stem.endswith(LEAN))
        found.made_with.update(head.get("made with", ()))
    _same_scenario(folder, identity, found)
    return found


def _names(folder: Path) -> list[str]:
    if not folder.is_dir():
        return []
    names = sorted(path.name for path in folder.iterdir())
    return [name.removesuffix(PART) for name in names if not FROM_THE_DESKTOP.fullmatch(name)]


def _manifest(folder: Path, identity: Identity) -> dict[str, Any] | None:
    path = folder / MANIFEST
    if not path.exists():
        return None
    try:
        manifest = json.loads(path.read_bytes())
        files = dict(manifest.get("files", {}))
    except (ValueError, TypeError, AttributeError):
        raise FolderRefused(folder, f"{MANIFEST} is damaged: it cannot be read", _again(MANIFEST)) from None
    _same_origin(folder, manifest, identity, MANIFEST)
    for name, digest in files.items():
        if name not in OURS or not (folder / name).is_file():
            raise FolderRefused(folder, f"{name} is missing, and {MANIFEST} names it", _again(MANIFEST))
        if digest_of(folder / name) != digest:
            raise FolderRefused(folder, f"{name} is not as linesim wrote it: its checksum differs", _again(MANIFEST))
    return dict(manifest)


def _again(name: str) -> str:
    return (f"Nothing there was touched. Remove {name} and repeat the command: the runs are kept, tables and answer "
            "are written anew.")


def _same_origin(folder: Path, head: dict[str, Any], identity: Identity, where: str) -> None:
    """Refuse runs of another linesim, scenario or seed."""
    ours = identity.head()
    if any(head.get(key) != ours[key] for key in ("linesim", "code", "form")):
        theirs, this = (", ".join(f"{key} {one.get(key, 'unknown')}" for key in ("linesim", "code", "form"))
                        for one in (head, ours))
        raise FolderRefused(folder, f"{where} was made by another version ({theirs}; this is {this}), and runs of two "
                            "versions are never mixed", ELSEWHERE)
    for key, what in (("scenario sha256", "scenario"), ("seed", "seed")):
        if head.get(key) != ours[key]:
            raise FolderRefused(folder, f"{where} is of another {what} ({str(head.get(key))[:16]}, not "
                                f"{str(ours[key])[:16]})", ELSEWHERE)


def _same_scenario(folder: Path, identity: Identity, found: Found) -> None:
    """The scenario as run is the first file that is written; it stands there before any run is put away."""
    path = folder / SCENARIO
    if path.exists():
        try:
            same = acted_on_digest(path.read_bytes()) == identity.digest
        except ValueError:
            same = False
        if not same:
            raise FolderRefused(folder, f"{SCENARIO} there is another scenario, or was changed", ELSEWHERE)
    elif found.file_of or found.manifest is not None:
        raise FolderRefused(folder, f"{SCENARIO} is missing", ELSEWHERE)


def left_over(folder: Path) -> Iterable[Path]:
    """Files that a killed command was about to write."""
    return [*folder.glob(f"*{PART}"), *(folder / BATCHES).glob(f"*{PART}")]
