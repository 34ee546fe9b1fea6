"""One run done again for the replay: the same scenario, seed and number give the same run as in the batch."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from functools import cached_property

from ....line.runs import run_chunk
from ....line.sheet import Sheet
from ....measures.moment import Floor, Jam, first_jam, floor_of
from ....scenario.scenario import Scenario
from ...folder_check import Identity
from .strip import Worst
from .telling import document_of


def key_of(scenario: Scenario, seed: int, run: int) -> str:
    """What names a run: all of the scenario, with the words in it, the seed and the number."""
    return f"{hashlib.sha256(Identity.of(scenario, seed).as_run).hexdigest()[:16]}-{seed}-{run}"


@dataclass(frozen=True)
class OneRun:
    """One run, with all that the page asks of it."""

    key: str
    seed: int
    floor: Floor
    document: str      # what the page's picture reads, as JSON
    until: int         # last minute of the replay
    first_step: int    # first minute of it at which somebody works
    worst: Worst | None  # when most stand blocked at once

    @property
    def sheet(self) -> Sheet:
        """The plant."""
        return self.floor.sheet

    @property
    def number(self) -> int:
        """Which run it is."""
        return self.floor.records.replication

    @cached_property
    def jam(self) -> Jam | None:
        """The first jam."""
        return first_jam(self.floor)


def done_again(scenario: Scenario, seed: int, run: int) -> OneRun:
    """Do one run, in this process."""
    floor, = run_chunk(Sheet(scenario), seed, [run], floor_of)
    told = document_of(floor)
    return OneRun(key_of(scenario, seed, run), seed, floor, json.dumps(told, separators=(",", ":"), ensure_ascii=False),
                  told["until"], told["steps"][0], Worst(**told["worst"]) if told["worst"] else None)


def digest_of(one: OneRun) -> str:
    """First digits of the digest of what the run acts on, as in the name of its folder."""
    return Identity.of(one.sheet.scenario, one.seed).digest[:8]


def came_from(name: str, one: OneRun) -> str:
    """Where what is shown came from."""
    return " · ".join([name, f"file {digest_of(one)}", f"run {one.number}", f"seed {one.seed}",
                       "one possible course of events, not a forecast"])


def marked_in(one: OneRun) -> list[str]:
    """What is underlined in the sentence of the first jam: its day, and the place that stops the line."""
    jam = one.jam
    if jam is None:
        return []
    front = [] if jam.front is None else [f"{(place := one.sheet.places[jam.front]).id} {place.position.name}".strip()]
    return [one.sheet.calendar.wall_text(jam.at)[:10], *front]


def jam_words(one: OneRun) -> list[str]:
    """How the sentence of the first jam is to be read; nothing where there is none."""
    if one.jam is None:
        return []
    return [f"That is when {one.jam.serial} has stood there for a work day; the reason is what held the place ahead "
            "for most of it."]


def worst_words(one: OneRun) -> list[str]:
    """One sentence on when most stand blocked at once; none where none ever does."""
    worst = one.worst
    if worst is None:
        return []
    moment = one.sheet.calendar.wall_text(float(worst.minute))
    return [f"Most stand blocked at once on {moment}: {worst.blocked} of the {worst.standing} on the floor."]
