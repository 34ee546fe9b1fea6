"""The run folder: runs are put into it as they are done, so that a kill at any moment costs at most the unfinished.

`scenario.json` is written first; each batch of runs becomes one file under `batches/`; tables, answer and, last,
`manifest.json` follow when the runs asked for are done. Batches stay, because another command may ask for more runs or
fewer; at the end they are put in files of GROUP runs, so that a folder looks the same in however many goes it was made.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from shutil import rmtree
from types import TracebackType
from typing import TYPE_CHECKING, Any

from ..line.desk import code_digest, made_with
from ..line.sheet import Sheet
from ..measures.run import RunNumbers
from ..scenario.scenario import Scenario
from .folder_check import (
    ANSWER,
    BATCHES,
    ENDING,
    LEAN,
    MANIFEST,
    SCENARIO,
    Found,
    Identity,
    found_in,
    left_over,
    made_from_it,
    only_ours,
)
from .folder_lock import FolderLock, InUse
from .held_runs import hold
from .stored_runs import packed, unpacked
from .whole_files import FolderBusy, FolderRefused, digest_of, settle, whole, write_whole

if TYPE_CHECKING:
    from ..questions.baseline import Answer

GROUP = 25  # runs in a file when all is done


class RunFolder:
    """The folder of one scenario and seed under `results`, open for one command; a context manager.

    Opening it checks all that stands in it; raises FolderRefused with the reason, and whenever it cannot be written.
    `segments`: runs are wanted with the segments that belong to them; those that are kept without count as missing.
    """

    def __init__(self, results: Path, stem: str, scenario: Scenario, seed: int, only: int | None = None, *,
                 segments: bool = True) -> None:
        self._segments = segments
        self._identity = Identity.of(scenario, seed)
        alone = "" if only is None else f"-only-{only}"
        self.path = folder_for(results, stem, f"{self._identity.digest[:8]}-{seed}{alone}")
        with self._writing():
            only_ours(self.path)
            self.path.mkdir(parents=True, exist_ok=True)
            try:
                self._lock = FolderLock(self.path)
            except InUse as used:
                raise FolderBusy(self.path, f"another command is writing it (process {used.holder})",
                                 "Wait until that is done, or stop it; then repeat this one.") from None
        try:
            with self._writing():
                self._found = found_in(self.path, self._identity)
                for part in left_over(self.path):
                    part.unlink()
                (self.path / BATCHES).mkdir(exist_ok=True)
                if not (self.path / SCENARIO).exists():
                    write_whole(self.path / SCENARIO, self._identity.as_run)
        except BaseException:
            self._lock.release()
            raise

    def __enter__(self) -> RunFolder:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None,
                 trace: TracebackType | None) -> None:
        self._lock.release()

    @property
    def there(self) -> set[int]:
        """Numbers of the runs that are put away."""
        return _there(self._found, self._segments)

    def put(self, runs: Sequence[RunNumbers]) -> None:
        """Put some runs away; when it returns they are safe on the disk. Those that are there already stay."""
        there = self.there
        new = sorted((run for run in runs if run.run not in there), key=lambda run: run.run)
        if new:
            self._write_batch(new, {made_with()}, lean=not self._segments)

    def read(self, numbers: Iterable[int]) -> Iterator[RunNumbers]:
        """Runs by their numbers, in that order."""
        opened, runs = None, {}
        for number in numbers:
            if (path := self._found.file_of[number]) != opened:
                opened, runs = path, {run.run: run for run in unpacked(path.read_bytes())}
            yield runs[number]

    def hold(self, numbers: Iterable[int]) -> list[RunNumbers]:
        """The same, to be passed over as often as one likes: what is large of them lies beside the folder in a file
        without a name, so that they fit in memory however many they are."""
        with self._writing():
            return hold(self.read(numbers), self.path.parent)

    def gather(self) -> None:
        """Put the runs in files of GROUP runs, if they are not; for a folder that gets no answer of its own."""
        with self._writing():
            self._tidy({})

    def finish(self, sheet: Sheet, runs: Sequence[RunNumbers], answer: Answer) -> None:
        """Write tables and answer, the manifest last; nothing is written where all of that stands there already."""
        text = json.dumps(answer.numbers, indent=1).encode()
        numbers, code = [run.run for run in runs], code_digest()
        there = self._found.manifest or {}
        with self._writing():
            self._tidy({run.run: run for run in runs})
            if there.get("runs") == numbers and there.get("all code") == code \
                    and (self.path / ANSWER).read_bytes() == text \
                    and (self.path / SCENARIO).read_bytes() == self._identity.as_run:
                return
            for name in (MANIFEST, *made_from_it(self.path)):
                if (self.path / name).is_dir():
                    rmtree(self.path / name)
                else:
                    (self.path / name).unlink(missing_ok=True)
            settle(self.path)
            self._found.manifest = None
            self._found.manifest = self._write_answer(sheet, runs, text, {"runs": numbers, "all code": code})

    def _write_answer(self, sheet: Sheet, runs: Sequence[RunNumbers], text: bytes,
                      more: dict[str, Any]) -> dict[str, Any]:
        from .folder import tables_in_parts  # pandas: not before it is needed
        from .table_files import write_parts

        files, rows = {}, {}
        for name, parts in tables_in_parts(sheet, runs):
            path = self.path / f"{name}.parquet"
            with whole(path) as file:
                rows[name] = write_parts(file, parts)
            files[path.name] = digest_of(path)
        files[SCENARIO] = write_whole(self.path / SCENARIO, self._identity.as_run)  # of another name so far, perhaps
        files[ANSWER] = write_whole(self.path / ANSWER, text)
        manifest = {**self._identity.head(), "made with": sorted(self._found.made_with),
                    "scenario": sheet.scenario.name, "start": str(sheet.scenario.start), **more, "files": files,
                    "tables": rows}
        write_whole(self.path / MANIFEST, json.dumps(manifest, indent=1).encode())
        return manifest

    def _write_batch(self, runs: Sequence[RunNumbers], made_with: set[str], *, lean: bool) -> None:
        path = self._batch((run.run for run in runs), lean=lean)
        with self._writing():
            write_whole(path, packed(runs, {**self._identity.head(), "made with": sorted(made_with)}))
        self._found.holds([run.run for run in runs], path, lean=lean)
        self._found.made_with |= made_with

    def _batch(self, numbers: Iterable[int], *, lean: bool) -> Path:
        found = sorted(numbers)
        return self.path / BATCHES / f"{found[0]:04d}-{found[-1]:04d}{LEAN if lean else ''}{ENDING}"

    def _tidy(self, at_hand: Mapping[int, RunNumbers]) -> None:
        """One file for each GROUP of numbers, and no other; runs that are not `at_hand` are read."""
        groups: dict[tuple[int, bool], list[int]] = defaultdict(list)
        for number in sorted(self._found.file_of):
            groups[number // GROUP, number in self._found.lean].append(number)
        others = [(numbers, lean) for (_, lean), numbers in groups.items()
                  if {self._found.file_of[number] for number in numbers} != {self._batch(numbers, lean=lean)}]
        # Read in one go: a file may span groups.
        read = self.read([number for numbers, _ in others for number in numbers if number not in at_hand])
        for numbers, lean in others:
            self._write_batch([at_hand[n] if n in at_hand else next(read) for n in numbers], self._found.made_with,
                              lean=lean)
        for path in set((self.path / BATCHES).glob(f"*{ENDING}")) - set(self._found.file_of.values()):
            path.unlink()

    @contextmanager
    def _writing(self) -> Iterator[None]:
        try:
            yield
        except OSError as error:
            kept = len(self._found.file_of) if hasattr(self, "_found") else 0
            then = f"{kept} runs are kept there. When it can be written, the same command goes on." if kept else ""
            raise FolderRefused(self.path, f"it cannot be written ({error.strerror or error})", then) from None


def folder_for(results: Path, stem: str, ending: str) -> Path:
    """The folder of a digest and seed, whatever its file was called: the one that is there, or a new one by `stem`."""
    new = results / f"{stem}-{ending}"
    if new.exists() or not results.is_dir():
        return new
    return next((path for path in sorted(results.iterdir()) if path.name.endswith(f"-{ending}") and path.is_dir()), new)


def _there(found: Found, segments: bool) -> set[int]:
    return set(found.file_of) - (found.lean if segments else set())


def runs_there(results: Path, stem: str, scenario: Scenario, seed: int, segments: bool = True) -> set[int]:
    """Numbers of the runs of a scenario and seed that are put away under `results`, as in a folder opened; nothing is
    written. Raises FolderRefused."""
    identity = Identity.of(scenario, seed)
    path = folder_for(results, stem, f"{identity.digest[:8]}-{seed}")
    return _there(found_in(path, identity), segments) if path.is_dir() else set()
