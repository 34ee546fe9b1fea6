"""What differs between these scenarios?"""

from __future__ import annotations

import os
import textwrap
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import streamlit as st

from ....scenario.differences import differences
from ....scenario.faults import ScenarioFaults
from ....scenario.reading import read_scenario
from ....scenario.scenario import Scenario
from ... import comparing, words
from ...asking import WrongOption
from ...charts import beside as figure
from ...folder_check import Identity
from ...report import cautions
from ...report.blocks import Table
from .. import chosen, downloads, following, memo
from ..charts import beside as chart
from ..chosen import Chosen
from ..memo import Number
from ..wish import Wish, wished

MOST = 3           # scenarios beside the ground
SEVERAL = ";"      # between changes that are made together
MOST_INPUTS = 12   # of each scenario in the table; the workbook has all
LETTERS = 27       # of a label
OF_THE_RATE = "launches"
FILE = "file "
TYPED = ("command line", "changes")  # where a fault lies in a change that was typed
Kept = tuple[str, tuple[tuple[str, int, int], ...]]  # a path, and what tells whether the file was changed


def page() -> None:
    """What is held beside the chosen scenario; the inputs that differ, then each measure."""
    here = chosen.here("beside")
    parts = memo.parts("beside")
    files = {f"{FILE}{key}": path for key, path in chosen.files().items() if path != here.path}
    with parts.inputs:
        names = st.multiselect(
            "Beside it: comparisons of the file, other files", [*(one.name for one in here.scenario.comparisons),
                                                                *files],
            key="with", bind="query-params", max_selections=MOST, width=700, placeholder="one to three")
        typed = st.text_input("Or with a change, PATH=VALUE", key="change", bind="query-params", width=330,
                              placeholder="trades.FLM.people.day=+1")
        runs = memo.runs_input(here)
    changes = [one.strip() for one in (typed or "").split(SEVERAL) if one.strip()]
    found = _others(here, {name: files[name] for name in names if name in files},
                    [name for name in names if name not in files], changes)
    if not found:
        memo.say(parts, f"Nothing is held beside {here.name} yet.", [
            f"Choose up to {MOST} scenarios, or write a change as PATH=VALUE (several of them with {SEVERAL} between). "
            "All run on the same luck."])
        return
    if isinstance(found, str):
        memo.say(parts, "These scenarios cannot be held beside each other yet.")
        with parts.progress:
            memo.fault_lines([found])
        return
    others, options = found
    differ = [(name, *one) for name, other in others.items() for one in differences(here.scenario, other)]
    with parts.margin:
        memo.caution(cautions.RATE if any(row[1].startswith(OF_THE_RATE) for row in differ) else cautions.CREW)
        memo.assumed(here.scenario)
    _beside(parts, here, differ, wished("beside", here.path, here.scenario, options, runs))


def _beside(parts: memo.Parts, here: Chosen, differ: Sequence[tuple[str, str, Any, Any]], wish: Wish) -> None:
    found = following.follow(wish, parts, here)
    if found is None:
        with parts.numbers:
            memo.table(_shortened(comparing.inputs_table(differ)))
        return
    numbers = found.numbers
    memo.answer(parts, found, numbers["sentences"])
    with parts.numbers:
        memo.numbers(_numbers(numbers))
        inputs, *measured = comparing.tables(numbers)
        memo.table(_shortened(inputs))
    with parts.body:
        said = figure.finding(numbers)
        memo.head(said.title, said.reading)
        for pair in _pairs(chart.panels(memo.mode(), numbers)):
            for column, (title, drawn, text) in zip(st.columns(2, gap="medium"), pair, strict=False):
                with column:
                    memo.head(title)
                    memo.drawing(drawn, text)
        memo.more(numbers["sentences"])
        for table in measured:
            memo.table(table)
        downloads.row(found, here, lambda: comparing.section(numbers))


def _pairs(panels: Sequence[Any]) -> list[Sequence[Any]]:
    return [panels[n:n + 2] for n in range(0, len(panels), 2)]


def _others(here: Chosen, files: Mapping[str, Path], names: Sequence[str],
            changes: Sequence[str]) -> tuple[dict[str, Scenario], dict[str, Any]] | str:
    """The scenarios beside the ground and the options that name them; or what is wrong with them; "" if none is
    chosen."""
    if not (files or names or changes):
        return ""
    if len(files) + len(names) + bool(changes) > MOST:
        return f"{MOST} scenarios beside the ground are the most; found {len(files) + len(names)} and a change."
    found = _read(_kept(here.path), {name.removeprefix(FILE): _kept(path) for name, path in files.items()},
                  tuple(names), tuple(changes))
    if isinstance(found, str):
        return found
    named = {key: str(path) for key, path in zip(found[1], files.values(), strict=True)}
    digests = [Identity.of(found[0][key], here.scenario.seed).digest for key in named]
    return found[0], {"files": named, "digests": digests, "with": list(names), "changes": list(changes)}


def _kept(path: Path) -> Kept:
    return str(path), chosen.stamp(path)


@st.cache_resource(show_spinner=False, max_entries=20)
def _read(ground: Kept, files: Mapping[str, Kept], names: tuple[str, ...],
          changes: tuple[str, ...]) -> tuple[dict[str, Scenario], list[str]] | str:
    """The scenarios by the names that they have in the answer, and which of these are files; or the first fault. A file
    is called as it calls itself, unless another is called so, too."""
    try:
        scenario = read_scenario(ground[0])
        own = {key: read_scenario(path).name for key, (path, _) in files.items()}
        called = [scenario.name, *own.values(), *names]
        keys = {key: name if called.count(name) == 1 else key for key, name in own.items()}
        others = comparing.others_of(scenario, {"files": {keys[key]: path for key, (path, _) in files.items()},
                                                "with": names, "changes": changes})
        return others, list(keys.values())
    except ScenarioFaults as faults:
        first = faults.faults[0]
        if first.file in TYPED:
            return f"{first.place}: {first.message}"
        more = len(faults.faults) - 1
        rest = f" ({words.counted(more, 'fault')} more)" if more else ""
        return str(first).replace(f"{Path(first.file).parent}{os.sep}", "") + rest
    except WrongOption as why:
        return words.sentence(f"{why.option}: {why}")


def _shortened(table: Table) -> Table:
    """The first rows of each scenario; the workbook has all."""
    rows, more = list[tuple[str, ...]](), 0
    for row in table.rows:
        if sum(one[0] == row[0] for one in rows) < MOST_INPUTS:
            rows.append(row)
        else:
            more += 1
    note = f"{table.note} {words.counted(more, 'more stands', 'more stand')} in the workbook." if more else table.note
    return Table(note, table.head, tuple(rows), fits=False)


def _numbers(numbers: Mapping[str, Any]) -> list[Number]:
    """Deliveries of the ground, and by how many the others differ; of a single other what it delivers, too."""
    name = next(iter(numbers["measures"]))
    ground, *others = numbers["scenarios"]
    found = [Number(_label(ground["name"]), words.tenths(ground["measures"][name]["mean"]), "delivered",
                    "mean of the window")]
    if len(others) == 1:
        of = others[0]["measures"][name]
        found.append(Number(_label(others[0]["name"]), words.tenths(of["mean"]), "delivered", "mean of the window"))
    for row in others:
        one = row["measures"][name]["difference"]
        if one is None:
            continue
        label = "Difference" if len(others) == 1 else _label(row["name"])
        span = f"95 % interval {words.difference(one['low'])} to {words.difference(one['high'])}" \
            if "low" in one else "one run tells no interval"
        found.append(Number(label, words.difference(one["mean"]), "delivered", span))
        if len(others) == 1:
            found.append(Number("Delivers more in", words.chance(one["more in"], one["of"]),
                                circles=(one["more in"], one["of"])))
    return found


def _label(name: str) -> str:
    return textwrap.shorten(name, LETTERS, placeholder=" …", break_on_hyphens=False)
