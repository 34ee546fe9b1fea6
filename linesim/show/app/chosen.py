"""The scenario that is chosen at the side: one that is shipped, one that was opened here, or the one that the command
named. The choice stands in the address and, for the next time, on the disk.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import streamlit as st
from markupsafe import Markup

from ...scenario.faults import ScenarioFaults
from ...scenario.reading import read_scenario
from ...scenario.scenario import Scenario
from ...scenario.shipped import SHIPPED
from .. import words
from ..whole_files import write_whole
from .editing.plants import own_files
from .places import given, results

OPENED, LAST = "opened", "last.txt"  # in the folder of the results
FIRST = "birchwater"
STARTER = Path(__file__).parents[2] / "scenario" / "starter.yaml"  # where no scenarios are installed
KINDS = ["yaml", "yml", "csv", "xlsx"]
IN_ADDRESS = "scenario"


@dataclass(frozen=True, slots=True)
class Chosen:
    """The chosen file and what it says."""

    path: Path
    scenario: Scenario

    @property
    def name(self) -> str:
        """Name of the scenario."""
        return self.scenario.name

    @property
    def stem(self) -> str:
        """How names of downloads begin."""
        return self.path.stem


def files() -> dict[str, Path]:
    """What may be chosen, by the name that stands in the address."""
    found = {path.stem: path for path in sorted(SHIPPED.glob("*.yaml")) or [STARTER]}
    named_one = given()
    if named_one is not None:
        found[named_one.stem] = named_one
    for folder in sorted((results() / OPENED).glob("*/"), key=lambda one: one.stat().st_mtime, reverse=True):
        main = main_file(folder)
        if main is not None:
            found[f"{main.stem}-{folder.name}"] = main
    return found | own_files(results())


def choose(key: str) -> None:
    """Choose a file by its name in `files`, from the next time the page is drawn."""
    st.session_state["choose"] = key


def path() -> Path:
    """The chosen file, whether it can run or not; where there is none, that is said and the page ends here."""
    found = files().get(st.session_state.get(IN_ADDRESS) or FIRST)
    if found is None:
        st.html("<p>No scenario is here. Open a file at the side.</p>")
        st.stop()
    return found


def here(page: str = "rate") -> Chosen:
    """The chosen scenario; where it cannot run, its faults are shown and the page ends here."""
    file = path()
    found = _read(str(file), stamp(file))
    if isinstance(found, Scenario):
        return Chosen(file, found)
    from . import memo

    memo.faults(page, f"This file cannot run: {words.counted(len(found), 'fault')}.", found)
    st.stop()


def sidebar() -> None:
    """The list of scenarios, one caption, and `Open a file`."""
    known = files()
    wanted = st.session_state.pop("choose", None) or (
        None if IN_ADDRESS in st.session_state else st.query_params.get(IN_ADDRESS) or _begins_with())
    if wanted in known:
        st.session_state[IN_ADDRESS] = wanted
    elif st.session_state.get(IN_ADDRESS) not in known:
        st.session_state[IN_ADDRESS] = FIRST if FIRST in known else next(iter(known), None)
    else:  # set anew, so that no list forgets it and begins at its first entry
        st.session_state[IN_ADDRESS] = st.session_state[IN_ADDRESS]
    with st.sidebar:
        key = st.selectbox("Scenario", list(known), format_func=labels(known).__getitem__, key=IN_ADDRESS)
        if key is not None:
            _caption(known[key])
        nth = st.session_state.get("opened", 0)  # a new one is closed, and holds no file
        with st.popover("Open a file", width="stretch", key=f"opening{nth}"):
            several = st.file_uploader("A scenario file, with the tables that stand beside it", KINDS,
                                     accept_multiple_files=True, key=f"open{nth}")
            if several:
                _open([(one.name, one.getvalue()) for one in several])
    if key is not None:
        st.query_params[IN_ADDRESS] = key
        _keep_last(key)


def labels(known: Mapping[str, Path]) -> dict[str, str]:
    """What each file is called in the list; no two alike, for the list tells them apart by what they are called."""
    names = {key: named(path, key) for key, path in known.items()}
    often = Counter(names.values())
    return {key: name if often[name] == 1 else f"{name} ({key})" for key, name in names.items()}


def named(path: Path, key: str) -> str:
    """The name that stands in a file, or its own where there is none."""
    found = re.search(r"^name:\s*(.+?)\s*$", _head(str(path), stamp(path)), re.MULTILINE)
    return found[1].strip("'\"") if found else key


def main_file(folder: Path) -> Path | None:
    """The scenario among files that were opened together: the one that no other extends."""
    texts = {path: path.read_text(encoding="utf-8", errors="replace")
             for path in sorted(folder.iterdir()) if path.suffix in (".yaml", ".yml")}
    below = {found[1].strip("'\"") for text in texts.values()
             if (found := re.search(r"^extends:\s*(\S+)", text, re.MULTILINE))}
    return next((path for path in texts if path.name not in below), next(iter(texts), None))


def keep(together: Sequence[tuple[str, bytes]]) -> str | None:
    """Keep files that were opened together (name, content); gives the name to choose them by, None without any
    scenario among them."""
    digest = hashlib.sha256()
    for name, content in sorted(together):
        digest.update(name.encode() + b"\0" + content)
    folder = results() / OPENED / digest.hexdigest()[:8]
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in together:
        write_whole(folder / Path(name).name, content)
    main = main_file(folder)
    return None if main is None else f"{main.stem}-{folder.name}"


def stamp(path: Path) -> tuple[tuple[str, int, int], ...]:
    """What tells whether a file, or one beside it that it may read, was changed."""
    found = []
    for one in sorted(path.parent.iterdir()):
        if one.suffix.lstrip(".") in KINDS and one.is_file():
            at = one.stat()
            found.append((one.name, at.st_mtime_ns, at.st_size))
    return tuple(found)


def _open(together: Sequence[tuple[str, bytes]]) -> None:
    try:
        key = keep(together)
    except OSError as error:
        st.html(Markup('<p class="fault">{}: it cannot be written ({}).</p>').format(
            results() / OPENED, error.strerror or error))
        return
    if key is None:
        st.html('<p class="fault">No scenario file is among them: its name ends in .yaml.</p>')
        return
    st.session_state["opened"] = st.session_state.get("opened", 0) + 1
    choose(key)
    st.rerun()


def _caption(path: Path) -> None:
    found = _read(str(path), stamp(path))
    if not isinstance(found, Scenario):
        st.html('<p class="cap">This file has faults.</p>')
        return
    sizes = [words.counted(len(found.positions), "position"), words.counted(len(found.trades), "trade"),
             words.counted(len(found.orders), "aircraft", "aircraft") if found.orders else "orders without end"]
    whose = "Invented plant. " if found.invented else ""
    st.html(f'<p class="cap">{whose}{", ".join(sizes).capitalize()}.<br><time>{found.start}</time> to '
            f"<time>{found.end}</time></p>")


@st.cache_resource(show_spinner=False, max_entries=20)
def _read(path: str, stamped: tuple[tuple[str, int, int], ...]) -> Scenario | list[str]:
    """The scenario of a file, or its faults in words."""
    try:
        return read_scenario(path)
    except ScenarioFaults as faults:
        return [str(fault).replace(f"{Path(path).parent}{os.sep}", "") for fault in faults.faults]


@st.cache_data(show_spinner=False, max_entries=200)
def _head(path: str, stamped: tuple[tuple[str, int, int], ...]) -> str:
    with open(path, encoding="utf-8", errors="replace") as file:
        return file.read(20_000)


def _begins_with() -> str | None:
    """What a new session begins with: the file that the command named, else what was chosen last."""
    named_one = given()
    return _last() if named_one is None else named_one.stem


def _last() -> str | None:
    try:
        return (results() / OPENED / LAST).read_text().strip()
    except OSError:
        return None


def _keep_last(key: str) -> None:
    """For the next time; where nothing can be written, the next time begins with the first."""
    if _last() != key:
        with suppress(OSError):
            (results() / OPENED).mkdir(parents=True, exist_ok=True)
            write_whole(results() / OPENED / LAST, key.encode())
