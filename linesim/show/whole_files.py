"""Files written whole or not at all: a kill or a full disk leaves the file as it was before, never half of it."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

PART = ".part"  # ends the name of a file that is being written


class FolderRefused(Exception):
    """A folder that is not written to or read from: which, why, and what can be done."""

    def __init__(self, folder: Path, why: str, then: str = "") -> None:
        super().__init__(folder, why, then)
        self.folder, self.why, self.then = folder, why, then

    def __str__(self) -> str:
        return f"{self.folder}: {self.why}." + (f"\n{self.then}" if self.then else "")


class FolderBusy(FolderRefused):
    """A folder that another process is writing at this moment."""


def write_whole(path: Path, content: bytes) -> str:
    """Write a file whose content is at hand; gives its SHA-256 in hex digits."""
    with whole(path) as file:
        file.write(content)
    return hashlib.sha256(content).hexdigest()


@contextmanager
def whole(path: Path) -> Iterator[IO[bytes]]:
    """A file to be written piece by piece, by another name; it gets its own when it is safe on the disk."""
    part = path.with_name(path.name + PART)
    try:
        with part.open("wb") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
        settle(path.parent)
    except OSError:
        part.unlink(missing_ok=True)
        raise


def settle(folder: Path) -> None:
    """Names that were changed in a folder are safe on the disk, too (a system without such a call does it itself)."""
    if os.name != "posix":
        return
    number = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(number)
    finally:
        os.close(number)


def digest_of(path: Path) -> str:
    """SHA-256 of a file in hex digits."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
