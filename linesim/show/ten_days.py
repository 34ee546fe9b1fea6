"""`linesim next`: what moves, flies and is handed over in the next work days, who is short, and what may be decided."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from ..line.sheet import Sheet
from ..measures.run import RunNumbers
from ..questions.dates import UnknownSerial
from ..questions.next_decisions import ahead, decisions, looked_at, named_dates, outcome
from ..questions.recover import OTHER_LUCK, NoRecovery, check, recover
from ..questions.recover import sentences as of_recovery
from ..questions.ten_days import Days, TooShort, runs_of, work_days
from ..questions.ten_days_answer import answer
from ..scenario.reading import read_scenario
from ..scenario.scenario import Scenario
from .answered import faults_of, show, stopped_before
from .asking import EXIT_FAULTS, EXIT_STOPPED, Asking, Variant, Where, asking, most_runs
from .forecast_logging import keep_forecast


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of the next work days."""

    days: int
    decide: bool = False
    swap: tuple[str, str] | None = None
    recover: str | None = None
    by: str | None = None
    log: bool = False

    def deadline(self) -> date | None:
        """The date of --by. Raises ValueError."""
        if (self.recover is None) != (self.by is None):
            raise ValueError("--recover SERIAL and --by DATE belong together: give both")
        try:
            return None if self.by is None else date.fromisoformat(self.by)
        except ValueError:
            raise ValueError(f"--by needs a date like 2027-01-21, found {self.by!r}") from None


def next_of_file(file: str, asked: Asked, *, runs: int | None, seed: int | None, jobs: int, out: str | None,
                 as_json: bool, picture: str | None, page: str | None) -> int:
    """Answer the question of a scenario file. The runs over the days are done anew each time, those of decisions are
    kept in run folders like all others."""
    if (wrong := faults_of(picture, page)) is not None:
        print(wrong, file=sys.stderr)
        return EXIT_FAULTS
    scenario = read_scenario(file)
    where, number = Where.of(file, scenario, seed, jobs, out), most_runs(scenario, runs, None)
    try:
        deadline = asked.deadline()
        work_days(scenario, asked.days)
        if asked.recover is not None and deadline is not None:
            check(scenario, asked.recover, deadline)
    except (TooShort, UnknownSerial, NoRecovery, ValueError) as why:
        text = str(why)
        print(text if text.startswith("--") else f"{_option(why)}: {text}", file=sys.stderr)
        return EXIT_FAULTS
    tried = decisions(scenario, asked.days, asked.swap) if asked.decide or asked.swap else []
    with asking(where) as ask:
        done = _done(ask, scenario, asked.days, number)
        if not done:
            stopped_before("the first run was done")
            return EXIT_STOPPED
        found = answer(scenario, done, asked.days, where.seed)
        if asked.decide or asked.swap:
            chosen = [one for one in tried if asked.decide or one.question == "swap"]
            _decide(ask, scenario, chosen, asked, number, found.numbers, found.sentences)
        if asked.recover is not None and deadline is not None:
            currency = scenario.money.currency if scenario.money else "USD"
            found.numbers["recover"] = recover(scenario, asked.recover, deadline, _doing(ask, number))
            found.sentences.extend(of_recovery(found.numbers["recover"], currency))
        if asked.log:
            _log(ask, scenario, number, found.numbers)
        found.numbers.update({"stopped": ask.stopped, "sentences": found.sentences,
                              "assumed": _assumed(scenario, asked)})
    from .ten_days_section import section

    if "logged in" in found.numbers:
        print(f"Logged in {found.numbers['logged in']}", file=sys.stderr)
    show(section(found.numbers), found.numbers, Sheet(scenario), as_json=as_json, picture=picture, page=page)
    return EXIT_STOPPED if found.numbers["stopped"] else 0


def _option(why: Exception) -> str:
    return "--days" if isinstance(why, TooShort) else "--recover"


def _done(ask: Asking, scenario: Scenario, days: int, number: int) -> list[Days]:
    """Runs over the days, in the order of their numbers, without a gap from 0."""
    found: dict[int, Days] = {}
    with closing(runs_of(scenario, days, ask.where.seed, number, ask.where.jobs, ask.stop)) as chunks:
        for chunk in chunks:
            found.update({run.run: run for run in chunk})
            if sys.stderr.isatty():
                print(f"\rRun {len(found)} of {number}   Ctrl-C stops", end="", file=sys.stderr, flush=True)
    if sys.stderr.isatty():
        print(file=sys.stderr)
    return [found[n] for n in range(next((n for n in range(number) if n not in found), number))]


def _decide(ask: Asking, scenario: Scenario, chosen: Sequence[Any], asked: Asked, number: int,
            numbers: dict[str, Any], sentences: list[str]) -> None:
    """Run today's plant and each decision on the same luck, up to the deliveries that count."""
    serials = looked_at(scenario, asked.days, asked.swap or ())
    if not serials:
        sentences.append("No decision was tried: no aircraft stands on the floor or is launched by takt in these days.")
        return
    able = [one for one in chosen if one.scenario is not None]
    end = ahead(scenario, serials)
    shorter = [end, *(_until(one.scenario, end) for one in able)]
    variants = [Variant(words, one) for words, one in zip(["today's plant", *(one.words for one in able)], shorter,
                                                          strict=True)]
    there = ask.do(variants, number)
    done: dict[str, tuple[Sheet, list[RunNumbers]]] = {
        variant.name: (Sheet(variant.scenario), list(ask.read(variant, of)))
        for variant, of in zip(variants, there, strict=True) if of}
    ground = done.get("today's plant")
    if ground is None:
        return
    numbers["decisions"] = {
        "until": str(end.end), "looked at": serials, "runs": len(ground[1]),
        "rows": [outcome(one, serials, ground, done.get(one.words), len(able)) for one in chosen]}
    if asked.swap:
        kept = {words: of for words, of in done.items() if words == "today's plant" or "change places" in words}
        numbers["decisions"]["named"] = named_dates(asked.swap, kept)


def _log(ask: Asking, scenario: Scenario, number: int, numbers: dict[str, Any]) -> None:
    """The dates of all aircraft, from the runs of the whole scenario; of those that were all done."""
    whole = Variant(scenario.name, scenario)
    there, = ask.do([whole], number)
    if len(there) == number:
        keep_forecast(ask.where, Sheet(scenario), list(ask.read(whole, there)), numbers)


def _until(scenario: Scenario, end: Scenario) -> Scenario:
    return scenario.model_copy(update={"end": end.end, "run_on_months": end.run_on_months, "window": end.window})


def _doing(ask: Asking, number: int) -> Any:
    """Runs of named scenarios for the question of recovery."""
    def do(named: Sequence[tuple[str, Scenario]], other: bool) -> list[list[RunNumbers]]:
        at = ask if not other else Asking(replace(ask.where, seed=ask.where.seed + OTHER_LUCK), ask.stop)
        variants = [Variant(name, scenario) for name, scenario in named]
        there = at.do(variants, number)
        return [list(at.read(variant, of)) if of else [] for variant, of in zip(variants, there, strict=True)]

    return do


def _assumed(scenario: Scenario, asked: Asked) -> list[str]:
    standing = len(scenario.on_the_line)
    said = [f"today's floor is what the file says under on_the_line ({standing} aircraft), on {scenario.start}"
            if standing else f"the floor is empty on {scenario.start}: the file has no on_the_line"]
    if asked.decide or asked.swap:
        said.append("a decision stays in force over all of the days looked at, not only the next ones: help between "
                    "trades and overtime go on, and launches held shift all those after them")
    if asked.recover:
        said.append(f"people who are added are there, and fully able, from {scenario.start} on")
    return said
