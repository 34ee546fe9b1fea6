"""A draft: the papers as they stand on the disk, every state since they were opened, and where one stands among those
(undo, redo)."""

from __future__ import annotations

import base64
import hashlib
import json
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from pathlib import Path

from ...whole_files import write_whole
from .papers import Papers

MOST_KEPT = 200  # states that can be undone
DRAFTS = "drafts"


@dataclass(frozen=True, slots=True)
class Draft:
    """States of the papers, the first as opened; `at` is the one that is looked at, `saved` what is on the disk."""

    saved: Papers
    states: tuple[Papers, ...]
    at: int = 0

    @classmethod
    def of(cls, papers: Papers) -> Draft:
        """The draft of papers that were just opened."""
        return cls(papers, (papers,))

    @property
    def now(self) -> Papers:
        """The papers as they are edited."""
        return self.states[self.at]

    @property
    def changed(self) -> bool:
        """Whether anything differs from what stands on the disk."""
        return self.now != self.saved

    @property
    def can_undo(self) -> bool:
        """Whether there is a state before this one."""
        return self.at > 0

    @property
    def can_redo(self) -> bool:
        """Whether something was undone."""
        return self.at + 1 < len(self.states)

    def lines_changed(self) -> int:
        """Lines of all files that differ from what stands on the disk; of more and fewer lines the more."""
        there = dict(self.saved.files)
        return sum(_differing(there.get(name, b""), content) for name, content in self.now.files)

    def to(self, papers: Papers) -> Draft:
        """One step on; what was undone before is let go."""
        if papers == self.now:
            return self
        states = (*self.states[:self.at + 1], papers)
        if len(states) > MOST_KEPT:
            states = (states[0], *states[-MOST_KEPT + 1:])
        return Draft(self.saved, states, len(states) - 1)

    def undone(self) -> Draft:
        """One step back."""
        return replace(self, at=max(0, self.at - 1))

    def redone(self) -> Draft:
        """One step on again."""
        return replace(self, at=min(len(self.states) - 1, self.at + 1))


def _differing(old: bytes, new: bytes) -> int:
    if old == new:
        return 0
    blocks = SequenceMatcher(None, old.splitlines(), new.splitlines(), autojunk=False).get_opcodes()
    return sum(max(b - a, d - c) for kind, a, b, c, d in blocks if kind != "equal")


# between two visits ---------------------------------------------------------------------------------------------
def keep(draft: Draft, path: Path, results: Path) -> None:
    """Keep what differs from the disk, so that a reload of the page does not lose it."""
    kept = _kept_in(path, results)
    if not draft.changed:
        kept.unlink(missing_ok=True)
        return
    before = dict(draft.saved.files)
    content = {"saved": _digest(draft.saved), "files": {
        name: base64.b64encode(text).decode() for name, text in draft.now.files if before.get(name) != text}}
    kept.parent.mkdir(parents=True, exist_ok=True)
    write_whole(kept, json.dumps(content).encode())


def begun(opened: Papers, path: Path, results: Path) -> Draft:
    """The draft of a file: what was kept of it, if the file on the disk is still the one that was opened then."""
    draft = Draft.of(opened)
    try:
        content = json.loads(_kept_in(path, results).read_bytes())
        if content["saved"] != _digest(opened):
            return draft
        changed = {name: base64.b64decode(text) for name, text in content["files"].items()}
    except (OSError, ValueError, KeyError, AttributeError):
        return draft
    return draft.to(Papers(tuple((name, changed.get(name, text)) for name, text in opened.files)))


def _kept_in(path: Path, results: Path) -> Path:
    return results / DRAFTS / f"{hashlib.sha256(str(path.resolve()).encode()).hexdigest()[:12]}.json"


def _digest(papers: Papers) -> str:
    digest = hashlib.sha256()
    for name, content in papers.files:
        digest.update(f"{name}\0{len(content)}\0".encode() + content)
    return digest.hexdigest()
