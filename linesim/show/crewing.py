"""`linesim crew`: crews tried on common luck, and the smallest one that keeps a target."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from ..line.sheet import Sheet
from ..questions.choice import WRONG, search
from ..questions.crew import CrewRun, Target, answer_of, place_of, read_run
from ..questions.crew_plans import Crew, NoCrew, Range, crews_to_try, range_of
from ..questions.crew_words import days_words
from ..scenario.reading import read_scenario
from . import words
from .answered import faults_of, show, stopped_before
from .asking import EXIT_FAULTS, EXIT_STOPPED, Asking, Variant, Where, asking, most_runs

if TYPE_CHECKING:
    from .report.blocks import Section, Table

MOST_TO_SETTLE = 1000  # runs of one crew


class Tried:
    """The crews with what was read of their runs, so that no run is read twice."""

    def __init__(self, ask: Asking, ranges: Sequence[Range], crews: Sequence[Crew], place: int) -> None:
        self.ask, self.ranges, self.place = ask, ranges, place
        self.variants = [Variant(crew.name(ranges), crew.scenario) for crew in crews]
        self.runs: list[list[CrewRun]] = [[] for _ in crews]

    def do(self, which: Sequence[int], runs: int, until_precision: float | None = None) -> None:
        """Runs 0 to `runs` - 1 of some crews, read as far as they are there."""
        trades = list(dict.fromkeys(one.trade for one in self.ranges))
        some = [self.variants[n] for n in which]
        for n, numbers in zip(which, self.ask.do(some, runs, until_precision), strict=True):
            new = numbers[len(self.runs[n]):]
            if new:
                sheet = Sheet(self.variants[n].scenario)
                self.runs[n] += [read_run(sheet, run, trades, self.place)
                                 for run in self.ask.read(self.variants[n], new)]

    def kept(self, target: Target, crew: int, runs: int) -> list[bool]:
        """Whether each of the first runs of a crew keeps a target; they are done if they are missing."""
        if len(self.runs[crew]) < runs and not self.ask.stopped:
            self.do([crew], runs)
        return [target.kept_by(run) for run in self.runs[crew][:runs]]


def crew_of_file(file: str, *, trades: Sequence[str], people: Sequence[str], target: str | None, days_from: str | None,
                 settle: bool, runs: int | None, until_precision: float | None, seed: int | None, jobs: int,
                 out: str | None, as_json: bool, picture: str | None, page: str | None) -> int:
    """Try the crews asked for."""
    if (wrong := faults_of(picture, page)) is not None:
        print(wrong, file=sys.stderr)
        return EXIT_FAULTS
    scenario = read_scenario(file)
    try:
        ranges, crews = _asked(trades, people, scenario)
        most = most_runs(scenario, runs, until_precision)
        asked = None if target is None else _named("--target", Target.of, target)
        ground = Sheet(scenario)
        place = _named("--from", lambda name: place_of(ground, ranges, name), days_from)
        if settle and asked is None:
            raise ValueError("--settle needs a --target")
    except ValueError as why:
        print(why, file=sys.stderr)
        return EXIT_FAULTS
    where = Where.of(file, scenario, seed, jobs, out)
    with asking(where) as ask:
        tried = Tried(ask, ranges, crews, place)
        tried.do(range(len(crews)), most, until_precision)
        there = [n for n, done in enumerate(tried.runs) if done]
        if len(there) < len(crews):
            stopped_before("every crew had a run")
            return EXIT_STOPPED
        least = min(map(len, tried.runs))
        choice = None if asked is None else search(
            len(crews), lambda crew, number: tried.kept(asked, crew, number), step=least,
            most=max(MOST_TO_SETTLE, least) if settle and not ask.stopped else least, wrong=WRONG)
    answer = answer_of(ground, ranges, crews, tried.runs, place, where.seed, asked, choice)
    answer.numbers.update({"stopped": ask.stopped, "sentences": answer.sentences})
    show(section(answer.numbers), answer.numbers, ground, as_json=as_json, picture=picture, page=page)
    return EXIT_STOPPED if ask.stopped else 0


def _named(option: str, read: Any, text: Any) -> Any:
    try:
        return read(text)
    except ValueError as why:
        raise ValueError(f"{option}: {why}") from None


def _asked(trades: Sequence[str], people: Sequence[str], scenario: Any) -> tuple[list[Range], list[Crew]]:
    if not trades:
        raise NoCrew("--trade: name the trade whose people are to be tried, as in --trade FLM --people 2-5")
    if len(people) not in (1, len(trades)):
        raise NoCrew(f"--people: {len(trades)} trades need one range of people or {len(trades)}, found {len(people)}")
    each = people if len(people) == len(trades) else list(people) * len(trades)
    ranges = [range_of(scenario, trade, text) for trade, text in zip(trades, each, strict=True)]
    return ranges, crews_to_try(scenario, ranges)


# the answer laid out -------------------------------------------------------------------------------------------------
def section(numbers: Mapping[str, Any]) -> Section:
    """The answer as a section: sentences, figure, tables, cautions."""
    from .charts import crew
    from .palette import LIGHT
    from .report import cautions
    from .report.blocks import Section, picture

    flown = any(any(row["flying days"].values()) for row in numbers["crews"])
    tables = [_days(numbers), _queue(numbers)] + ([_flying(numbers)] if flown else [])
    return Section("crew", words.PAGES["crew"], numbers["sentences"],
                   [picture(crew.plate(LIGHT, numbers), "crew", crew.finding(numbers))], tables,
                   [cautions.CREW, *([cautions.FLIGHT] if flown else [])])


def _days(numbers: Mapping[str, Any]) -> Table:
    from .report.blocks import Table

    rows, here = numbers["crews"], numbers["days from"]
    months = list(rows[0]["days of 8 in 10 aircraft by month"])
    printed = tuple((row["crew"], *(_cell(row["days of 8 in 10 aircraft by month"][month]["8 in 10"])
                                    for month in months), _cell(row["8 in 10"]), _cell(row["half"])) for row in rows)
    return Table(f"Work days from arrival at {words.named(here['place'], here['name'])} to delivery within which 8 in "
                 "10 aircraft keep, by month of that arrival, and half of them over the whole window.",
                 ("Crew", *months, "Whole window", "Half"), printed, fits=False)


def _cell(value: float | str | None) -> str:
    return "" if value is None else days_words(value)


def _queue(numbers: Mapping[str, Any]) -> Table:
    from .report.blocks import Table

    trades = list(numbers["crews"][0]["waiting"])
    target = numbers["target"]
    head = ["Crew", *(f"Jobs waiting, {trade}" for trade in trades), *(f"Hours waited, {trade}" for trade in trades),
            "Open squawks", "Delivered", *(("Keeps the target",) if target else ())]
    rows = []
    for row in numbers["crews"]:
        kept = row.get("keeps the target")
        squawks = row["open squawks"]
        rows.append((row["crew"], *(words.tenths(row["waiting"][trade]["jobs on average"]["mean"]) for trade in trades),
                     *(words.hours(row["waiting"][trade]["hours"]["mean"]) for trade in trades),
                     words.tenths(squawks["mean"]) if squawks else "",
                     words.tenths(row["deliveries in the window"]["mean"]),
                     *((words.chance(kept["runs"], kept["of"]),) if kept else ())))
    few = next((row["open squawks"]["runs"] for row in numbers["crews"] if row["open squawks"]), 0)
    return Table("Means of the runs in the window: jobs that wait for the trade (average over working time, hours), "
                 f"squawks open (of the first {words.runs(few)}), aircraft delivered.", tuple(head), tuple(rows))


def _flying(numbers: Mapping[str, Any]) -> Table:
    from .report.blocks import Table

    reasons = [why for why in numbers["crews"][0]["flying days"]
               if any(row["flying days"].get(why) for row in numbers["crews"])]
    rows = tuple((row["crew"], *(words.tenths(row["flying days"].get(why, 0.0)) for why in reasons))
                 for row in numbers["crews"])
    head = ("Crew", *(words.sentence(why)[:-1] for why in reasons))
    return Table("Why was not flown: days of the window with pilots on shift, mean of the runs. A day without a flight "
                 "counts by what took most of its hours.", head, rows)
