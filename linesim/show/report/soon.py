"""The next work days of a scenario with aircraft on the line at the start: the beginning of its first runs, made again.

Runs over a few days are not kept, and the tables of a run folder do not say what moves where. A run over the days is
the beginning of the run of the same number, so that this section and the others are of the same courses of events.
"""

from __future__ import annotations

from dataclasses import replace

from ...line.sheet import Sheet
from ...questions.baseline import LEAST_RUNS
from ...questions.ten_days import DAYS, TooShort, runs_of, work_days
from ...questions.ten_days_answer import answer
from ...scenario.scenario import Scenario
from .. import words
from .blocks import Section

MOST = LEAST_RUNS + 1  # runs made again: enough for a range, and made in a moment
HEAD = "The next ten work days"


def soon_section(sheet: Sheet, seed: int, runs: int) -> Section | None:
    """The section from the first of so many runs; nothing where no aircraft stands on the line at the start."""
    from ..ten_days_section import section  # which itself is set from the blocks of a report

    scenario = sheet.scenario
    days = days_there(scenario)
    if not scenario.on_the_line or not days:
        return None
    number = min(runs, MOST)
    done = [run for chunk in runs_of(scenario, days, seed, number, 1) for run in chunk]
    found = answer(scenario, done, days, seed)
    made = f"These are the first {words.runs(number)} of the {runs:,}, made again over these days." \
        if number < runs else f"These are the same {words.runs(number)}, made again over these days."
    head = HEAD if days == DAYS else f"The next {words.counted(days, 'work day')}"
    of_days = section({**found.numbers, "sentences": found.sentences})
    return replace(of_days, question=f"{head}: {of_days.question[0].lower()}{of_days.question[1:]}",
                   answer=[*of_days.answer, made])


def days_there(scenario: Scenario) -> int:
    """Ten work days, or as many as the scenario has."""
    try:
        return len(work_days(scenario, DAYS))
    except TooShort:
        return next((days for days in range(DAYS - 1, 0, -1) if _has(scenario, days)), 0)


def _has(scenario: Scenario, days: int) -> bool:
    try:
        return bool(work_days(scenario, days))
    except TooShort:
        return False
