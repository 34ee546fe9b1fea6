"""`linesim buys`: every change tried by itself on common luck, the largest once more on fresh luck, and what then."""

from __future__ import annotations

import sys
from collections.abc import Collection, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from ..line.sheet import Sheet
from ..measures.window import up_to_the_window
from ..questions.buy_levers import Candidate, changes_of
from ..questions.buy_words import amount, answer_of, cautions_needed, gained, signed
from ..questions.buys import (
    FRESH_SEED,
    NOTHING,
    RUNS,
    Found,
    Measure,
    NoMeasure,
    Read,
    Stopped,
    measure_of,
    read_run,
    what_buys_most,
)
from ..questions.buys_so_far import SO_FAR, UNSAID, so_far
from ..scenario.reading import read_scenario
from ..scenario.scenario import Scenario
from ..scenario.written import written
from . import words
from .answered import faults_of, show, stopped_before
from .asking import EXIT_FAULTS, EXIT_STOPPED, Answered, Asking, Variant, Where, WrongOption, asking
from .buying_course import Course

if TYPE_CHECKING:
    from .report.blocks import Caution, Section, Table


class Runs:
    """Runs of changed scenarios up to the end of the window, each read once; done where they are missing."""

    def __init__(self, ask: Asking) -> None:
        self.asks = {False: ask, True: ask.on_other_luck(FRESH_SEED)}
        self._read: dict[object, list[Read]] = ask.beside.setdefault("read", {})

    def more(self, candidates: Sequence[Candidate], runs: int, fresh: bool) -> list[list[Read]]:
        """The first runs of each, on the seed or on fresh luck."""
        ask = self.asks[fresh]
        changes = words.counted(len(candidates) - 1, "change")
        print(f"{changes}{' on fresh luck' if fresh else ''}, {words.runs(runs)} of each.", file=sys.stderr)
        there = ask.do([_variant(one) for one in candidates], runs)
        return [self.all(key, candidate, numbers, fresh)[:runs]
                for key, candidate, numbers in zip(keys_of(candidates, fresh), candidates, there, strict=True)]

    def all(self, key: object, candidate: Candidate, numbers: range, fresh: bool) -> list[Read]:
        """What was read of its runs, the new ones too."""
        found = self._read.setdefault(key, [])
        if new := numbers[len(found):]:
            variant = _variant(candidate)
            sheet = self.asks[fresh].sheet(variant.scenario)
            found += [read_run(sheet, run) for run in self.asks[fresh].read(variant, new)]
        return found


def keys_of(candidates: Sequence[Candidate], fresh: bool) -> list[object]:
    """What tells the scenarios of a step apart, the ground first: on top of what they are tried, and the luck."""
    return [(candidates[0].change.key, n > 0, one.change.key, fresh) for n, one in enumerate(candidates)]


def _variant(one: Candidate) -> Variant:
    """All that is read of a run lies in the window; where the file ends with it, its own runs are the ground's."""
    short = up_to_the_window(one.scenario)
    return Variant(one.change.words, short, segments=one.change is NOTHING and short == one.scenario)


class ToldRuns:
    """The same for somebody who follows: one scenario after the other, the ground first, and after each what can be
    said so far, until the first look is over."""

    def __init__(self, ask: Asking, scenario: Scenario, by: Measure, changes: int, runs: int) -> None:
        self._runs, self._ask, self._scenario, self._by = Runs(ask), ask, scenario, by
        self._course = Course(ask, changes, runs)
        self._first = True

    def more(self, candidates: Sequence[Candidate], runs: int, fresh: bool) -> list[list[Read]]:
        """The first runs of each, on the seed or on fresh luck."""
        keys = keys_of(candidates, fresh)
        self._course.begin(keys, runs)
        if self._first:
            self._tell(self._one(keys[0], candidates[0], 1, fresh), [], candidates[1:])
        found: list[list[Read]] = []
        for n, (key, candidate) in enumerate(zip(keys, candidates, strict=True)):
            found.append(self._one(key, candidate, runs, fresh))
            if len(found[-1]) < runs:
                break
            if self._first and n:
                self._tell(found[0], list(zip(candidates[1:], found[1:], strict=False)), candidates[n + 1:])
        self._first = False
        return found + [[] for _ in candidates[len(found):]]

    def _one(self, key: object, candidate: Candidate, runs: int, fresh: bool) -> list[Read]:
        numbers, = self._course.asking(self._runs.asks[fresh], key).do([_variant(candidate)], runs)
        return self._runs.all(key, candidate, numbers, fresh)[:runs]

    def _tell(self, base: Sequence[Read], tried: Sequence[tuple[Candidate, Sequence[Read]]],
              coming: Sequence[Candidate]) -> None:
        if self._ask.partly is not None and base:
            answer = so_far(self._scenario, self._ask.where.seed, self._by, base, tried, coming)
            answer.numbers.update({"stopped": self._ask.stopped, "sentences": answer.sentences})
            self._ask.partly(Answered(answer.numbers))


def buys_of_file(file: str, *, by: str, runs: int | None, seed: int | None, jobs: int, out: str | None, as_json: bool,
                 picture: str | None, page: str | None, cluster: str | None = None) -> int:
    """Answer the question of a scenario file."""
    if (wrong := faults_of(picture, page)) is not None:
        print(wrong, file=sys.stderr)
        return EXIT_FAULTS
    scenario = read_scenario(file)
    try:
        with asking(Where.of(file, scenario, seed, jobs, out, cluster)) as ask:
            found = answered(ask, scenario, {"by": by}, runs or RUNS)
    except WrongOption as why:
        print(f"{file}: {why}", file=sys.stderr)
        return EXIT_FAULTS
    if found is None:
        stopped_before("every change was tried and the largest were run again")
        return EXIT_STOPPED
    show(section(found.numbers), found.numbers, Sheet(scenario), as_json=as_json, picture=picture, page=page)
    return EXIT_STOPPED if ask.stopped else 0


def answered(ask: Asking, scenario: Scenario, options: Mapping[str, Any], runs: int,
             until_precision: float | None = None) -> Answered | None:
    """The answer from so many runs of each change; None if it was stopped before the first step was done. `options`:
    `by` (a measure), `changes` (keys of those that are tried; None or left out: all). Raises WrongOption."""
    assert until_precision is None
    only = options.get("changes")
    try:
        measure = measure_of(scenario, options.get("by") or "deliveries")
        tried = [change for change in changes_of(scenario) if only is None or change.key in only]
        more = Runs(ask).more if ask.partly is None else ToldRuns(ask, scenario, measure, len(tried), runs).more
        found = what_buys_most(scenario, measure, runs, more, only,
                               lambda first: _tell_first(ask, scenario, first, only))
    except NoMeasure as why:
        raise WrongOption("by" if "money" in str(why) else "", str(why)) from None
    except Stopped:
        return None
    return _answered(ask, scenario, found, only)


def _tell_first(ask: Asking, scenario: Scenario, found: Found, only: Collection[str] | None) -> None:
    """What the first step found, while it is tried what comes on top."""
    if ask.partly is not None:
        part = _answered(ask, scenario, found, only)
        ask.partly(Answered({**part.numbers, SO_FAR: {"on top of": found.first.first.candidate.change.words}}))


def _answered(ask: Asking, scenario: Scenario, found: Found, only: Collection[str] | None) -> Answered:
    answer = answer_of(found, scenario, ask.where.seed)
    if only is not None:
        out = [change.words for change in changes_of(scenario) if change.key not in only]
        answer.numbers["left out"] = out
        if out:
            answer.sentences.append(f"{words.counted(len(out), 'further change')} "
                                    f"{'was' if len(out) == 1 else 'were'} not chosen and not tried.")
    answer.numbers.update({"stopped": ask.stopped, "sentences": answer.sentences})
    return Answered(answer.numbers)


# the answer laid out -------------------------------------------------------------------------------------------------
def section(numbers: Mapping[str, Any]) -> Section:
    """The answer as a section: sentences, figure, tables, cautions."""
    from .charts import buys
    from .palette import LIGHT
    from .report.blocks import Section, picture

    return Section("buys", words.PAGES["buys"], numbers["sentences"],
                   [picture(buys.plate(LIGHT, numbers), "buys", buys.finding(numbers))], tables(numbers),
                   cautions_beside(cautions_needed(numbers)))


def cautions_beside(kinds: Collection[str]) -> list[Caution]:
    """The cautions that belong to changes of these kinds."""
    from .report import cautions

    beside = [("people", cautions.CREW), ("travel", cautions.TRAVEL), ("flight", cautions.FLIGHT)]
    return [*(text for kind, text in beside if kind in kinds), cautions.NOT_DEAD]


def tables(numbers: Mapping[str, Any]) -> list[Table]:
    """The largest run again, those on top of the first, and all that were tried."""
    found = [_again(numbers, numbers["first"], "Each change by itself.")]
    if numbers["second"]:
        found.append(_again(numbers, numbers["second"], f"On top of {numbers['second']['on top of']}."))
    return [*found, _tried(numbers)]


def table_so_far(numbers: Mapping[str, Any]) -> Table:
    """The changes tried so far, those that come first at the top."""
    from .report.blocks import Table

    rows = tuple((row["change"], row["takes"], row["first look"]) for row in numbers[SO_FAR]["tried"])
    return Table(f"Tried so far, {words.runs(numbers['runs'])} of each. {UNSAID}", ("Change", "Takes", "First look"),
                 rows, fits=False)


def as_it_is(numbers: Mapping[str, Any]) -> tuple[str, str]:
    """What is asked for as the file says, in a first look: the number and its unit."""
    mean = numbers[SO_FAR]["as it is"]
    unit = {"deliveries": "aircraft", "days": "days of flow", "money": ""}[numbers["by"]]
    return ("none delivered", "") if mean is None else (amount(numbers, mean), unit)


def _again(numbers: Mapping[str, Any], step: Mapping[str, Any], begins: str) -> Table:
    from .report.blocks import Table

    names = ["deliveries", "days", *(["money"] if numbers["money"] else [])]
    heads = {"deliveries": "Aircraft in the window", "days": "Flow, calendar days",
             "money": f"Money left, {numbers['currency']}"}
    by, others = numbers["by"], [name for name in names if name != numbers["by"]]
    rows = tuple((row["change"], _cell(numbers, row, by), _gains(numbers, row), _largest(numbers, step, row),
                  *(_cell(numbers, row, name) for name in others)) for row in step["run again"])
    return Table(f"{begins} The largest of the first look, run again on fresh luck: with the change less without it, "
                 f"{words.runs(numbers['runs'])} of each; in brackets the 95 % interval, which holds together with "
                 "those of the other rows. None seen: it holds 0.",
                 ("Change", heads[by], "Gains in", "Largest", *(heads[name] for name in others)), rows, fits=False)


def _cell(numbers: Mapping[str, Any], row: Mapping[str, Any], name: str) -> str:
    found = row[name]
    if found is None:
        return "not counted"
    limits = [signed(numbers, found[end], name) for end in ("low", "high") if end in found]
    span = f" ({' to '.join(limits)})" if limits else ""
    return f"{signed(numbers, found['mean'], name)}{span}" if found["seen"] else f"none seen{span}"


def _largest(numbers: Mapping[str, Any], step: Mapping[str, Any], row: Mapping[str, Any]) -> str:
    """Whether it gains most: yes, tied with others, no; nothing where the first shows no gain."""
    if not gained(numbers, step["run again"][0]):
        return ""
    may_be = sum(one["may be the largest"] for one in step["run again"])
    alone = may_be + len(step["not told from the first, not run again"]) == 1
    return ("yes" if alone else "tied") if row["may be the largest"] else "no"


def _gains(numbers: Mapping[str, Any], row: Mapping[str, Any]) -> str:
    found = row[numbers["by"]]
    return "" if found is None else f"{found['gains in']} of {found['of']}"


def _tried(numbers: Mapping[str, Any]) -> Table:
    from .report.blocks import Table

    head = ("Change", "Takes", "First look", "Runs", "As written in a file")
    rows = tuple((row["change"], row["takes"], row["first look"], str(row["runs"]), _written(row["changes"]))
                 for row in numbers["first"]["tried"])
    return Table("All changes tried by themselves, in the order of the first look. Its verdict is by an interval that "
                 "holds together with those of all others; it gives no figure, because the largest of many is lucky, "
                 "too.", head, rows, fits=False)


def _written(changes: Mapping[str, Any]) -> str:
    """As the changes of a file: long values by their paths alone."""
    values = {path: value if isinstance(value, str) else written(value) for path, value in changes.items()}
    return "; ".join(f"{path}: {value}" if len(value) <= 60 else path for path, value in values.items())
