"""`linesim crew`: crews tried on common luck, and the smallest one that keeps a target."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, TypeVar

from ..line.sheet import Sheet
from ..measures.not_flown import NO_MECHANIC, NO_PILOT
from ..questions.choice import WRONG, search
from ..questions.crew import CrewRun, Target, answer_of, place_of, read_run
from ..questions.crew_plans import Crew, NoCrew, Range, crews_to_try, range_of
from ..questions.crew_words import days_words
from ..scenario.reading import read_scenario
from ..scenario.scenario import Scenario
from . import words
from .answered import faults_of, show, stopped_before
from .asking import EXIT_FAULTS, EXIT_STOPPED, Answered, Asking, Variant, Where, WrongOption, asking, most_runs

if TYPE_CHECKING:
    from .report.blocks import Section, Table

T = TypeVar("T")
MOST_TO_SETTLE = 1000  # runs of one crew
SETTLES = "--settle runs on until it has"  # in the sentence of a choice that is not settled


class Tried:
    """The crews with what was read of their runs, so that no run is read twice."""

    def __init__(self, ask: Asking, ground: Scenario, ranges: Sequence[Range], crews: Sequence[Crew],
                 place: int) -> None:
        self.ask, self.ranges, self.place = ask, ranges, place
        self.variants = [Variant(crew.name(ranges), crew.scenario, crew.scenario == ground) for crew in crews]
        self.runs: list[list[CrewRun]] = [[] for _ in crews]

    def do(self, which: Sequence[int], runs: int, until_precision: float | None = None) -> None:
        """Runs 0 to `runs` - 1 of some crews, read as far as they are there."""
        trades = list(dict.fromkeys(one.trade for one in self.ranges))
        some = [self.variants[n] for n in which]
        for n, numbers in zip(which, self.ask.do(some, runs, until_precision), strict=True):
            new = numbers[len(self.runs[n]):]
            if new:
                sheet = self.ask.sheet(self.variants[n].scenario)
                self.runs[n] += [read_run(sheet, run, trades, self.place)
                                 for run in self.ask.read(self.variants[n], new)]

    def kept(self, target: Target, crew: int, runs: int) -> list[bool]:
        """Whether each of the first runs of a crew keeps a target; they are done if they are missing."""
        if len(self.runs[crew]) < runs and not self.ask.stopped:
            self.do([crew], runs)
        return [target.kept_by(run) for run in self.runs[crew][:runs]]


@dataclass(frozen=True, slots=True)
class Asked:
    """What is to be tried and kept: the crews of some ranges of people, the place where the days begin, the target."""

    ranges: list[Range]
    crews: list[Crew]
    place: int
    target: Target | None

    @classmethod
    def once(cls, ask: Asking, scenario: Scenario, options: Mapping[str, Any]) -> Asked:
        """As the options of `answered` say; made once for all steps. Raises WrongOption."""
        if cls not in ask.beside:
            ask.beside[cls] = cls.of(ask, scenario, options)
        found: Asked = ask.beside[cls]
        return found

    @classmethod
    def of(cls, ask: Asking, scenario: Scenario, options: Mapping[str, Any]) -> Asked:
        """As the options of `answered` say. Raises WrongOption."""
        try:
            ranges, crews = _asked(options["trades"], options["people"], scenario)
        except NoCrew as why:
            option, _, said = str(why).removeprefix("--").partition(": ")
            raise WrongOption(option, said) from None
        text = options.get("target")
        target = None if text is None else _named("target", Target.of, text)
        ground = ask.sheet(scenario)
        place = _named("from", lambda name: place_of(ground, ranges, name), options.get("from"))
        if options.get("settle") and target is None:
            raise WrongOption("", "--settle needs a --target")
        return cls(ranges, crews, place, target)


def crew_of_file(file: str, *, trades: Sequence[str], people: Sequence[str], target: str | None, days_from: str | None,
                 settle: bool, runs: int | None, until_precision: float | None, seed: int | None, jobs: int,
                 out: str | None, as_json: bool, picture: str | None, page: str | None,
                 cluster: str | None = None) -> int:
    """Try the crews asked for."""
    if (wrong := faults_of(picture, page)) is not None:
        print(wrong, file=sys.stderr)
        return EXIT_FAULTS
    scenario = read_scenario(file)
    options = {"trades": list(trades), "people": list(people), "target": target, "from": days_from, "settle": settle}
    try:
        most = most_runs(scenario, runs, until_precision)
    except ValueError as why:
        print(why, file=sys.stderr)
        return EXIT_FAULTS
    try:
        with asking(Where.of(file, scenario, seed, jobs, out, cluster)) as ask:
            found = answered(ask, scenario, options, most, until_precision)
    except WrongOption as refused:
        print(f"--{refused.option}: {refused}" if refused.option else refused, file=sys.stderr)
        return EXIT_FAULTS
    if found is None:
        stopped_before("every crew had a run")
        return EXIT_STOPPED
    show(section(found.numbers), found.numbers, Sheet(scenario), as_json=as_json, picture=picture, page=page)
    return EXIT_STOPPED if ask.stopped else 0


def answered(ask: Asking, scenario: Scenario, options: Mapping[str, Any], runs: int,
             until_precision: float | None = None) -> Answered | None:
    """The answer from so many runs of each crew; None if it was stopped before every crew had one. `options`: `trades`
    and `people` (lists of texts as the command takes them), `target`, `from`, `settle`. Raises WrongOption."""
    asked = Asked.once(ask, scenario, options)
    ask.first_part(len(asked.crews), lambda first: _of_crews(first, scenario, replace(
        asked, crews=asked.crews[:1], target=None), runs))
    return _of_crews(ask, scenario, asked, runs, until_precision, settle=bool(options.get("settle")))


def _of_crews(ask: Asking, scenario: Scenario, asked: Asked, runs: int, until_precision: float | None = None,
              settle: bool = False) -> Answered | None:
    tried = Tried(ask, scenario, asked.ranges, asked.crews, asked.place)
    tried.do(range(len(asked.crews)), runs, until_precision)
    if not all(tried.runs):
        return None
    target, least = asked.target, min(map(len, tried.runs))
    most = max(MOST_TO_SETTLE, least) if settle and not ask.stopped else least
    choice = None if target is None else search(
        len(asked.crews), lambda crew, number: tried.kept(target, crew, number), step=least, most=most, wrong=WRONG)
    answer = answer_of(ask.sheet(scenario), asked.ranges, asked.crews, tried.runs, asked.place, ask.where.seed, target,
                       choice)
    answer.numbers.update({"stopped": ask.stopped, "sentences": answer.sentences})
    return Answered(answer.numbers)


def _named(option: str, read: Callable[[Any], T], text: Any) -> T:
    try:
        return read(text)
    except ValueError as why:
        raise WrongOption(option, str(why)) from None


def _asked(trades: Sequence[str], people: Sequence[str], scenario: Scenario) -> tuple[list[Range], list[Crew]]:
    if not trades:
        raise NoCrew("--trade: name the trade whose people are to be tried, as in --trade FLM --people 2-5")
    if len(people) not in (1, len(trades)):
        raise NoCrew(f"--people: {len(trades)} trades need one range of people or {len(trades)}, found {len(people)}")
    each = people if len(people) == len(trades) else list(people) * len(trades)
    ranges = [range_of(scenario, trade, text) for trade, text in zip(trades, each, strict=True)]
    return ranges, crews_to_try(scenario, ranges)


# what a page begins with ---------------------------------------------------------------------------------------------
def first_trade(scenario: Scenario) -> str | None:
    """Whom a page asks about first: the mechanics of the flight line, who prepare and mend there, else the first."""
    flown_by = [place.flights.mechanics for place in scenario.positions if place.flights and place.flights.mechanics]
    return next((trade for trade in [*flown_by, *scenario.trades] if trade in scenario.trades), None)


def shifts_of(scenario: Scenario, trade: str) -> list[str]:
    """Shifts on which people of a trade can be tried; none where they are there without one."""
    return [] if set(scenario.trades[trade].people) == {""} else list(scenario.shifts)


def people_now(scenario: Scenario, trade: str, shift: str) -> int:
    """People of a trade on a shift as the file says."""
    return scenario.trades[trade].people.get(shift, 0)


def usual_people(scenario: Scenario, trade: str, shift: str, more: int) -> str:
    """The people there now, and one by one more of them."""
    now = people_now(scenario, trade, shift)
    return f"{now}-{now + more}"


def wanted_for_flying(scenario: Scenario, trade: str) -> str | None:
    """The reason why is not flown that is for want of this trade; None where it has no work on the flight line."""
    lines = [place for place in scenario.positions if place.flights]
    if any(place.flights.pilots == trade for place in lines if place.flights):
        return NO_PILOT
    there = {place.flights.mechanics for place in lines if place.flights}
    there |= {job.trade for place in lines for job in place.packages}
    return NO_MECHANIC if trade in there else None


def for_screen(numbers: Mapping[str, Any]) -> dict[str, Any]:
    """The answer without an option of the command line in its sentences; a choice that is not settled says so first,
    since it may turn with the next runs."""
    said = [one.replace(SETTLES, "more runs may give it one").replace(" 1 runs ", " 1 run ")
            for one in numbers["sentences"]]
    if numbers["choice"] and not numbers["choice"]["settled"]:
        said[0] = f"By these runs, not settled yet: {said[0][:1].lower()}{said[0][1:]}"
    return {**numbers, "sentences": said}


# the answer laid out -------------------------------------------------------------------------------------------------
def section(numbers: Mapping[str, Any]) -> Section:
    """The answer as a section: sentences, figure, tables, cautions."""
    from .charts import crew
    from .palette import LIGHT
    from .report import cautions
    from .report.blocks import Section, picture

    return Section("crew", words.PAGES["crew"], numbers["sentences"],
                   [picture(crew.plate(LIGHT, numbers), "crew", crew.finding(numbers))], tables(numbers),
                   [cautions.CREW, *([cautions.FLIGHT] if flown(numbers) else [])])


def tables(numbers: Mapping[str, Any]) -> list[Table]:
    """Days by month, what waits, and why was not flown."""
    return [_days(numbers), _queue(numbers), *([_flying(numbers)] if flown(numbers) else [])]


def flown(numbers: Mapping[str, Any]) -> bool:
    """Whether there is a flight line with pilots on shift."""
    return any(any(row["flying days"].values()) for row in numbers["crews"])


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
        rows.append((row["crew"], *(words.tenths(row["waiting"][trade]["jobs on average"]["mean"]) for trade in trades),
                     *(words.hours(row["waiting"][trade]["hours"]["mean"]) for trade in trades),
                     words.tenths(row["open squawks"]["mean"]),
                     words.tenths(row["deliveries in the window"]["mean"]),
                     *((words.chance(kept["runs"], kept["of"]),) if kept else ())))
    return Table("Means of the runs in the window: jobs that wait for the trade (average over working time, hours), "
                 "squawks open, aircraft delivered.", tuple(head), tuple(rows))


def _flying(numbers: Mapping[str, Any]) -> Table:
    from .report.blocks import Table

    reasons = [why for why in numbers["crews"][0]["flying days"]
               if any(row["flying days"].get(why) for row in numbers["crews"])]
    rows = tuple((row["crew"], *(words.tenths(row["flying days"].get(why, 0.0)) for why in reasons))
                 for row in numbers["crews"])
    head = ("Crew", *(words.sentence(why)[:-1] for why in reasons))
    return Table("Why was not flown: days of the window with pilots on shift, mean of the runs. A day without a flight "
                 "counts by what took most of its hours.", head, rows)
