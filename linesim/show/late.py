"""`linesim late`: the largest losses on the chain that sets the dates, and what a permitted change to each gives."""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from ..line.sheet import Sheet
from ..measures.run import RunNumbers
from ..questions.baseline import Answer
from ..questions.dates import UnknownSerial
from ..questions.late import LARGEST, Named, Serial, Tried, largest, late, late_serial
from ..questions.late_each import EACH, of_each
from ..questions.late_words import short
from ..questions.levers import Plant
from ..questions.losses import Key, ranked
from ..scenario.reading import read_scenario
from ..scenario.scenario import Scenario
from . import words
from .answered import faults_of, show, stopped_before
from .asking import EXIT_FAULTS, EXIT_STOPPED, Answered, Asking, Far, Variant, Where, WrongOption, asking, most_runs
from .folder_check import LOSSES, MANIFEST, Identity
from .run_folder import RunFolder
from .whole_files import FolderRefused, write_whole

if TYPE_CHECKING:
    from .report.blocks import Section, Table


def late_of_file(file: str, *, serial: str | None, runs: int | None, until_precision: float | None, seed: int | None,
                 jobs: int, out: str | None, as_json: bool, picture: str | None, page: str | None,
                 cluster: str | None = None) -> int:
    """Answer the question of a scenario file; its runs are those of `linesim run`, and the changes' stand beside."""
    wrong = faults_of(picture, page)
    if wrong is None and picture is not None and serial is not None:
        wrong = "--picture draws what all aircraft lose: leave out --serial, or draw one with linesim story"
    if wrong is not None:
        print(wrong, file=sys.stderr)
        return EXIT_FAULTS
    scenario = read_scenario(file)
    where = Where.of(file, scenario, seed, jobs, out, cluster)
    try:
        most = most_runs(scenario, runs, until_precision)
    except ValueError as why:
        print(why, file=sys.stderr)
        return EXIT_FAULTS
    try:
        with asking(where) as ask:
            found = answered(ask, scenario, {"serial": serial}, most, until_precision)
    except WrongOption as why:
        print(f"--{why.option}: {why}", file=sys.stderr)
        return EXIT_FAULTS
    if found is None:
        stopped_before("the first run was done")
        return EXIT_STOPPED
    numbers = found.numbers
    if serial is None and not numbers["stopped"]:
        numbers["kept in"] = _keep(where, scenario, numbers)
    show(section(numbers), numbers, Sheet(scenario), as_json=as_json, picture=picture, page=page)
    return EXIT_STOPPED if ask.stopped else 0


def answered(ask: Asking, scenario: Scenario, options: Mapping[str, Any], runs: int,
             until_precision: float | None = None) -> Answered | None:
    """The answer from so many runs of the scenario and of each change; None if it was stopped before the first.
    `options`: `serial` (None: all aircraft). The table EACH holds what every serial loses. Raises WrongOption."""
    sheet, serial = ask.sheet(scenario), options.get("serial")
    try:
        if serial is not None:
            Serial(sheet, [], serial)
    except UnknownSerial as why:
        raise WrongOption("serial", str(why)) from None
    ground = Variant(scenario.name, scenario)
    there, = ask.telling(_with_changes_to_come).do([ground], runs, until_precision)
    if not there:
        return None
    done = ask.hold(ground, there)
    if serial is None:
        ask.first_part(1 + LARGEST, lambda first: _answered(first, sheet, done, late(sheet, done, ask.where.seed)))
    after = ask.telling(_after_the_ground)
    answer = _of_all(after, sheet, done) if serial is None else _of_one(after, Serial(sheet, done, serial))
    return _answered(ask, sheet, done, answer)


def _answered(ask: Asking, sheet: Sheet, done: Sequence[RunNumbers], answer: Answer) -> Answered:
    answer.numbers.update({"stopped": ask.stopped, "sentences": answer.sentences})
    return Answered(answer.numbers, {EACH: of_each(sheet, done)} if sheet.scenario.orders else {})


def _with_changes_to_come(far: Far) -> Far:
    """How far it is while the scenario itself is run: LARGEST changes are to come, as a rule."""
    return replace(far, variants=far.variants + LARGEST, missing=far.missing + LARGEST * far.runs)


def _after_the_ground(far: Far) -> Far:
    return replace(far, variants=far.variants + 1)


def _of_all(ask: Asking, sheet: Sheet, done: Sequence[RunNumbers]) -> Answer:
    named = largest(Plant(sheet, done), ranked(sheet, done))
    tried = {key: Tried(sheet, done, ask.sheet(one.scenario), runs)
             for key, one, runs in _tried(ask, named, len(done)) if one.scenario is not None}
    return late(sheet, done, ask.where.seed, named, tried)


def _of_one(ask: Asking, one: Serial) -> Answer:
    named = largest(Plant(one.sheet, one.runs), one.ranked())
    tried = {key: Serial(ask.sheet(of.scenario), runs, one.name)
             for key, of, runs in _tried(ask, named, len(one.runs)) if of.scenario is not None}
    return late_serial(one, ask.where.seed, named, tried)


def _tried(ask: Asking, named: Sequence[Named], number: int) -> list[tuple[Key, Named, list[RunNumbers]]]:
    """The runs of each changed scenario; a change that is named for two losses is run once."""
    able = [one for one in named if one.scenario is not None]
    changes = {json.dumps(dict(one.lever.changes)): one for one in able}
    variants = {text: Variant(one.lever.words, one.scenario, segments=False)
                for text, one in changes.items() if one.scenario}
    there = dict(zip(variants, ask.do(list(variants.values()), number), strict=True)) if variants else {}
    runs = {text: ask.hold(variants[text], numbers) for text, numbers in there.items() if numbers}
    texts = [json.dumps(dict(one.lever.changes)) for one in able]
    return [(one.loss.key, one, runs[text]) for one, text in zip(able, texts, strict=True) if text in runs]


def _keep(where: Where, scenario: Scenario, numbers: Mapping[str, Any]) -> str:
    """Put the answer into the run folder, for its report. Raises FolderRefused."""
    text = json.dumps({**Identity.of(scenario, where.seed).head(), **numbers}, indent=1)
    with RunFolder(where.results, where.stem, scenario, where.seed) as folder:
        try:
            write_whole(folder.path / LOSSES, text.encode())
        except OSError as error:
            raise FolderRefused(folder.path, f"it cannot be written ({error.strerror or error})", "") from None
        if (folder.path / MANIFEST).exists():
            print(f"`linesim report {folder.path}` puts what the changes give into its report.", file=sys.stderr)
    return str(folder.path)


# the answer laid out -------------------------------------------------------------------------------------------------
def section(numbers: Mapping[str, Any]) -> Section:
    """The answer as a section: sentences, figure (of all aircraft), tables, cautions."""
    from ..questions import figures
    from .charts import days, findings
    from .palette import LIGHT
    from .report import cautions
    from .report.blocks import Section, picture

    shown = []
    if numbers.get("what set the dates"):
        chain = figures.chain(numbers)
        finding = findings.chain(chain, numbers["aircraft"], numbers["runs"])
        shown.append(picture(days.chain(LIGHT, chain), "chain", finding))
    return Section("late", words.PAGES["late"], numbers["sentences"], shown, tables(numbers), [cautions.NOT_DEAD])


def tables(numbers: Mapping[str, Any]) -> list[Table]:
    """What is lost most, and what a permitted change to each gives."""
    from .report.losses import table

    if not numbers["largest"]:
        return []
    return [*([_of_serial(numbers)] if numbers["serial"] else []), table(numbers, numbers["largest"])]


def _of_serial(numbers: Mapping[str, Any]) -> Table:
    from .report.blocks import Table

    rows = tuple((short(row), words.tenths(row["work days"]), words.tenths(row["half the runs"]),
                  words.tenths(row["2 in 10 runs"]), words.chance(row["largest in"], numbers["runs"]))
                 for row in numbers["largest"])
    return Table(f"Work days that {numbers['serial']} loses on the chain that sets its date. Half the runs, and 2 in "
                 "10 of them, lose at least so much.", ("Lost to", "Mean", "Half the runs", "2 in 10", "Largest in"),
                 rows)
