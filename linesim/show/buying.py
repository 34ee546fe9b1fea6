"""`linesim buys`: every change tried by itself on common luck, the largest once more on fresh luck, and what then."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from ..line.sheet import Sheet
from ..questions.buy_levers import Candidate
from ..questions.buy_words import answer_of, cautions_needed, gained, signed
from ..questions.buys import FRESH_SEED, RUNS, NoMeasure, Read, Stopped, measure_of, read_run, what_buys_most
from ..scenario.reading import read_scenario
from . import words
from .answered import faults_of, show, stopped_before
from .asking import EXIT_FAULTS, EXIT_STOPPED, Asking, Variant, Where, asking

if TYPE_CHECKING:
    from .report.blocks import Section, Table


class Runs:
    """Runs of changed scenarios, each read once; done where they are missing."""

    def __init__(self, ask: Asking) -> None:
        self.asks = {False: ask, True: Asking(replace(ask.where, seed=ask.where.seed + FRESH_SEED), ask.stop)}
        self._read: dict[tuple[int, bool], list[Read]] = {}
        self._held: list[Candidate] = []  # so that no other can have the same identity

    def more(self, candidates: Sequence[Candidate], runs: int, fresh: bool) -> list[list[Read]]:
        """The first runs of each, on the seed or on fresh luck."""
        ask = self.asks[fresh]
        changes = words.counted(len(candidates) - 1, "change")
        print(f"{changes}{' on fresh luck' if fresh else ''}, {words.runs(runs)} of each.", file=sys.stderr)
        variants = [Variant(one.change.words, one.scenario) for one in candidates]
        there = ask.do(variants, runs)
        return [self._all(ask, candidate, variant, numbers, fresh)[:runs]
                for candidate, variant, numbers in zip(candidates, variants, there, strict=True)]

    def _all(self, ask: Asking, candidate: Candidate, variant: Variant, numbers: range, fresh: bool) -> list[Read]:
        self._held.append(candidate)
        found = self._read.setdefault((id(candidate.scenario), fresh), [])
        if new := numbers[len(found):]:
            sheet = Sheet(candidate.scenario)
            found += [read_run(sheet, run) for run in ask.read(variant, new)]
        return found


def buys_of_file(file: str, *, by: str, runs: int | None, seed: int | None, jobs: int, out: str | None, as_json: bool,
                 picture: str | None, page: str | None) -> int:
    """Answer the question of a scenario file."""
    if (wrong := faults_of(picture, page)) is not None:
        print(wrong, file=sys.stderr)
        return EXIT_FAULTS
    scenario = read_scenario(file)
    where = Where.of(file, scenario, seed, jobs, out)
    try:
        measure = measure_of(scenario, by)
        with asking(where) as ask:
            found = what_buys_most(scenario, measure, runs or RUNS, Runs(ask).more)
            stopped = ask.stopped
    except NoMeasure as why:
        print(f"{file}: {why}", file=sys.stderr)
        return EXIT_FAULTS
    except Stopped:
        stopped_before("every change was tried and the largest were run again")
        return EXIT_STOPPED
    answer = answer_of(found, scenario, where.seed)
    answer.numbers.update({"stopped": stopped, "sentences": answer.sentences})
    show(section(answer.numbers), answer.numbers, Sheet(scenario), as_json=as_json, picture=picture, page=page)
    return EXIT_STOPPED if stopped else 0


# the answer laid out -------------------------------------------------------------------------------------------------
def section(numbers: Mapping[str, Any]) -> Section:
    """The answer as a section: sentences, figure, tables, cautions."""
    from .charts import buys
    from .palette import LIGHT
    from .report import cautions
    from .report.blocks import Section, picture

    kinds = cautions_needed(numbers)
    beside = [("people", cautions.CREW), ("travel", cautions.TRAVEL), ("flight", cautions.FLIGHT)]
    tables = [_again(numbers, numbers["first"], "Each change by itself.")]
    if numbers["second"]:
        tables.append(_again(numbers, numbers["second"], f"On top of {numbers['second']['on top of']}."))
    return Section("buys", words.PAGES["buys"], numbers["sentences"],
                   [picture(buys.plate(LIGHT, numbers), "buys", buys.finding(numbers))],
                   [*tables, _tried(numbers)], [*(text for kind, text in beside if kind in kinds), cautions.NOT_DEAD])


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
    said = [f"{path}: {value}" if len(str(value)) <= 60 else path for path, value in changes.items()]
    return "; ".join(said)
