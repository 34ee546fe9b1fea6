"""One command at a time writes a run folder. The system lets go of the lock when its holder ends, however it ends."""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from pathlib import Path

NAME = "in-use.lock"


class InUse(Exception):
    """Another process holds the lock; `holder` is its number, as far as it can be read."""

    def __init__(self, holder: str) -> None:
        super().__init__(holder)
        self.holder = holder


class FolderLock:
    """The lock of a folder, held until `release`. Raises InUse at once if another holds it."""

    def __init__(self, folder: Path) -> None:
        self._path = folder / NAME
        while True:
            self._file = os.open(self._path, os.O_RDWR | os.O_CREAT, 0o644)
            try:
                _lock(self._file)
            except (BlockingIOError, PermissionError):
                os.close(self._file)
                raise InUse(self._holder()) from None
            if self._still_there():
                break
            os.close(self._file)  # its last holder removed it in between
        os.ftruncate(self._file, 0)
        os.write(self._file, str(os.getpid()).encode())

    def release(self) -> None:
        """Let go; the lock file is removed."""
        with suppress(OSError):  # where a file in use cannot be removed it stays, and holds nobody up
            self._path.unlink()
        os.close(self._file)

    def _still_there(self) -> bool:
        try:
            return os.path.samestat(os.fstat(self._file), self._path.stat())
        except FileNotFoundError:
            return False

    def _holder(self) -> str:
        try:
            return self._path.read_text()[:20] or "unknown"
        except OSError:
            return "unknown"


if sys.platform == "win32":
    import msvcrt

    def _lock(file: int) -> None:
        """Lock a byte far behind the text, which others may then still read."""
        os.lseek(file, 1 << 20, os.SEEK_SET)
        msvcrt.locking(file, msvcrt.LK_NBLCK, 1)
        os.lseek(file, 0, os.SEEK_SET)
else:
    import fcntl

    def _lock(file: int) -> None:
        """Lock the file or raise BlockingIOError."""
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
