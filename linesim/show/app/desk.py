"""The desk on which a plant is edited: the draft of the chosen file in the session, and what was typed since.

A table on the screen forgets what was typed when the page is left, and jumps when it is drawn anew after each cell. So
it is drawn from the papers as they were when it appeared, what is typed goes into the draft at once, and it is drawn
anew only when rows change places, an edit is refused, or something is undone.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import streamlit as st

from .editing.draft import Draft, begun, keep
from .editing.edits import Edits, edited, since
from .editing.fixed import Refused
from .editing.nouns import NOUNS, RATE, Noun
from .editing.papers import Papers, opened, read
from .grid import typed

DESK = "plant_desk"


@dataclass
class Desk:
    """The draft, the table that is open, and the papers and edits that it shows."""

    path: Path
    results: Path
    draft: Draft
    noun: Noun = NOUNS[0]
    base: Papers = field(init=False)
    seen: Edits = field(default_factory=Edits)
    drawn: int = 0
    untaken: str = ""            # why what was typed last was not taken in
    refused: str = ""            # why what was asked for last was not done
    unadded: str = ""            # why what a form said last was not added
    told: str = ""
    sound: Papers | None = None  # the last state that could run

    def __post_init__(self) -> None:
        self.base = self.draft.now

    @property
    def key(self) -> str:
        """Key of the table as it is drawn now."""
        return f"plant_{self.noun.name}_{self.drawn}"

    def anew(self) -> None:
        """Draw the table from the draft as it is now."""
        self.base, self.seen, self.drawn = self.draft.now, Edits(), self.drawn + 1

    def show(self, noun: Noun) -> None:
        """Open another table."""
        if noun is not self.noun:
            self.noun, self.untaken = noun, ""
            self.anew()

    def to(self, draft: Draft) -> None:
        """Take another state of the draft."""
        self.draft = draft
        self.untaken = self.refused = self.unadded = self.told = ""
        keep(draft, self.path, self.results)
        self.anew()

    def add(self, papers: Papers) -> None:
        """One step on, by a form."""
        self.to(self.draft.to(papers))

    def take_in(self) -> None:
        """What was typed in the table since the last time goes into the draft."""
        now = typed(st.session_state.get(self.key))
        if self.seen and not now:  # the page was left, and the table forgot
            self.anew()
            return
        fresh = since(self.seen, now, len(self.noun.rows(_values(self.base))))
        if not fresh:
            return
        self.untaken = self.refused = self.told = ""
        try:
            self.draft = self.draft.to(edited(self.draft.now, self.noun, fresh))
        except Refused as refused:
            self.untaken = f"{refused}{'' if fresh.size < 2 else f' None of the {fresh.size} cells is taken over.'}"
            self.anew()
            return
        self.seen = now
        keep(self.draft, self.path, self.results)
        if fresh.out or (fresh.new and self.noun is RATE):
            self.anew()


def _values(papers: Papers) -> object:
    source = read(papers).source
    return source.values if source else {}


def desk(path: Path, results: Path) -> Desk:
    """The desk of a file; begun anew for another file, or where the file on the disk is no longer the one opened."""
    found = st.session_state.get(DESK)
    papers = opened(path)
    if not isinstance(found, Desk) or found.path != path or (papers != found.draft.saved and not found.draft.changed):
        found = Desk(path, results, begun(papers, path, results))
        st.session_state[DESK] = found
        found.drawn = int(st.session_state.get("plant_drawn", 0)) + 1
    found.take_in()
    if not read(found.draft.now).faults:
        found.sound = found.draft.now
    st.session_state["plant_drawn"] = found.drawn
    return found
