"""`linesim next`: what moves, flies and is handed over in the next work days, who is short, and what may be decided."""

from __future__ import annotations

import sys
import time
from collections.abc import Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import date
from typing import Any

from ..line.sheet import Sheet
from ..measures.run import RunNumbers
from ..questions.buys_so_far import SO_FAR
from ..questions.dates import UnknownSerial
from ..questions.next_decisions import ahead, decisions, looked_at, named_dates, outcome, swapped
from ..questions.recover import OTHER_LUCK, NoRecovery, check, recover
from ..questions.recover import sentences as of_recovery
from ..questions.ten_days import DAYS, Days, TooShort, runs_of, work_days
from ..questions.ten_days_answer import answer
from ..scenario.faults import ScenarioFaults
from ..scenario.reading import read_scenario
from ..scenario.scenario import Scenario
from . import words
from .answered import faults_of, show, stopped_before
from .asking import (
    EXIT_FAULTS,
    EXIT_STOPPED,
    Answered,
    Asking,
    Far,
    Variant,
    Where,
    WrongOption,
    asking,
    most_runs,
)
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

    @classmethod
    def of(cls, options: Mapping[str, Any]) -> Asked:
        """As the options say: `days`, `decide`, `swap` (two serials), `recover` (a serial) and `by` (a date)."""
        swap = options.get("swap")
        return cls(int(options.get("days") or DAYS), bool(options.get("decide")), (swap[0], swap[1]) if swap else None,
                   options.get("recover"), options.get("by"))

    @property
    def alone(self) -> bool:
        """Whether the days are all that is asked."""
        return not (self.decide or self.swap or self.recover)

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
        checked(scenario, asked)
    except (TooShort, UnknownSerial, NoRecovery, ValueError) as why:
        text = str(why)
        print(text if text.startswith("--") else f"--{_option(why)}: {text}", file=sys.stderr)
        return EXIT_FAULTS
    with asking(where) as ask:
        found = _answered(ask, scenario, asked, number)
    if found is None:
        stopped_before("the first run was done")
        return EXIT_STOPPED
    from .ten_days_section import section

    if "logged in" in found.numbers:
        print(f"Logged in {found.numbers['logged in']}", file=sys.stderr)
    show(section(found.numbers), found.numbers, Sheet(scenario), as_json=as_json, picture=picture, page=page)
    return EXIT_STOPPED if found.numbers["stopped"] else 0


def answered(ask: Asking, scenario: Scenario, options: Mapping[str, Any], runs: int) -> Answered | None:
    """The answer from so many runs; None if it was stopped before the first. `options` as Asked.of takes them. Raises
    WrongOption, and ScenarioFaults where two serials cannot change places."""
    asked = Asked.of(options)
    try:
        checked(scenario, asked)
    except (TooShort, UnknownSerial, NoRecovery, ValueError) as why:
        text = str(why).removeprefix("--")
        raise WrongOption("" if text != str(why) else _option(why), text) from None
    return _answered(ask, scenario, asked, runs)


def checked(scenario: Scenario, asked: Asked) -> None:
    """Raises TooShort, UnknownSerial, NoRecovery or ValueError where what is asked makes no sense."""
    deadline = asked.deadline()
    work_days(scenario, asked.days)
    if asked.recover is not None and deadline is not None:
        check(scenario, asked.recover, deadline)


def wrong(scenario: Scenario, options: Mapping[str, Any]) -> str:
    """What is wrong with what is asked, in one line; "" if nothing is."""
    asked = Asked.of(options)
    try:
        checked(scenario, asked)
        if asked.swap is not None:
            swapped(scenario, *asked.swap)
    except ScenarioFaults as faults:
        return words.sentence(faults.faults[0].message)
    except ValueError as why:
        text = str(why)
        return words.sentence(text.removeprefix("--") if text.startswith("--") else f"{_option(why)}: {text}")
    return ""


def _answered(ask: Asking, scenario: Scenario, asked: Asked, number: int) -> Answered | None:
    tried = decisions(scenario, asked.days, asked.swap) if asked.decide or asked.swap else []
    done = _done(ask, scenario, asked, number)
    if not done:
        return None
    found = answer(scenario, done, asked.days, ask.where.seed)
    end = {"stopped": ask.stopped, "sentences": found.sentences, "assumed": _assumed(scenario, asked)}
    if ask.partly is not None and not asked.alone:
        ask.partly(Answered({**found.numbers, **end, SO_FAR: "the days"}))
    if asked.decide or asked.swap:
        chosen = [one for one in tried if asked.decide or one.question == "swap"]
        _decide(ask, scenario, chosen, asked, number, found.numbers, found.sentences)
    deadline = asked.deadline()
    if asked.recover is not None and deadline is not None:
        currency = scenario.money.currency if scenario.money else "USD"
        found.numbers["recover"] = recover(scenario, asked.recover, deadline, _doing(ask, number))
        found.sentences.extend(of_recovery(found.numbers["recover"], currency))
    if asked.log:
        _log(ask, scenario, number, found.numbers)
    found.numbers.update({**end, "stopped": ask.stopped})
    return Answered(found.numbers)


def _option(why: Exception) -> str:
    return "days" if isinstance(why, TooShort) else "recover"


def _done(ask: Asking, scenario: Scenario, asked: Asked, number: int) -> list[Days]:
    """Runs over the days, in the order of their numbers, without a gap from 0; those of an earlier step are there."""
    found: dict[int, Days] = ask.beside.setdefault(("days", asked.days), {})
    missing = [n for n in range(number) if n not in found]
    began = time.monotonic()
    with closing(runs_of(scenario, asked.days, ask.where.seed, number, ask.where.jobs, ask.stop, set(found))) as chunks:
        for chunk in chunks:
            found.update({run.run: run for run in chunk})
            left = sum(n not in found for n in missing)
            if asked.alone:
                ask.tell(Far(1, number, len(missing), len(missing) - left, time.monotonic() - began, "next work days"))
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
        from .ten_days_section import NONE_TRIED

        sentences.append(NONE_TRIED)
        return
    able = [one for one in chosen if one.scenario is not None]
    end = ahead(scenario, serials)
    shorter = [end, *(_until(one.scenario, end) for one in able)]
    variants = [Variant(words, one, segments=False) for words, one in zip(
        ["today's plant", *(one.words for one in able)], shorter, strict=True)]
    there = ask.do(variants, number)
    done: dict[str, tuple[Sheet, list[RunNumbers]]] = {
        variant.name: (Sheet(variant.scenario), ask.hold(variant, of))
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
        keep_forecast(ask.where, Sheet(scenario), ask.hold(whole, there), numbers)


def _until(scenario: Scenario, end: Scenario) -> Scenario:
    return scenario.model_copy(update={"end": end.end, "run_on_months": end.run_on_months, "window": end.window})


def _doing(ask: Asking, number: int) -> Any:
    """Runs of named scenarios for the question of recovery."""
    def do(named: Sequence[tuple[str, Scenario]], other: bool) -> list[list[RunNumbers]]:
        at = ask.on_other_luck(OTHER_LUCK) if other else ask
        variants = [Variant(name, scenario, segments=False) for name, scenario in named]
        there = at.do(variants, number)
        return [at.hold(variant, of) if of else [] for variant, of in zip(variants, there, strict=True)]

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
