"""What can be said of changes before all are tried: a first look, from which no figure is given.

The largest of many is lucky, too. So this says which come first so far and whether they show a gain; what they gain is
said only after they were run again on fresh luck.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from ..line.cautions import cautions_of
from ..scenario.scenario import Scenario
from .baseline import Answer
from .buy_levers import Candidate
from .buy_words import amount, change_of, difference_of, gained, head_of, what
from .buys import Measure, Read, gains, in_order, interval, verdict

SO_FAR = "so far"
UNSAID = ("This is a first look and no answer yet: the largest of many is lucky, too. The largest gains are run again "
          "on fresh luck, and what they gain is said from those runs alone.")


def so_far(scenario: Scenario, seed: int, by: Measure, base: Sequence[Read],
           tried: Sequence[tuple[Candidate, Sequence[Read]]], coming: Sequence[Candidate]) -> Answer:
    """The first look at the changes that are tried, each with its runs; `base` are those of the plant as it is."""
    many = len(tried) + len(coming)
    found = [interval(by, runs, base, many) for _, runs in tried]
    order = in_order([gains(by, runs, base) for _, runs in tried])
    rows = [{**change_of(tried[n][0].change), "first look": verdict(found[n], by),
             by.name: difference_of(by.name, found[n])} for n in order]
    known = [value for run in base if (value := by.of(run)) is not None]
    numbers: dict[str, Any] = {
        **head_of(scenario, seed, by, len(base)),
        SO_FAR: {"changes": many, "tried": rows, "coming": [one.change.words for one in coming],
                 "as it is": round(sum(known) / len(known), 4) if known else None},
        "assumed": [], "cautions": [str(caution) for caution in cautions_of(scenario)]}
    return Answer(numbers, list(_sentences(numbers)))


def _sentences(numbers: Mapping[str, Any]) -> Iterator[str]:
    part, runs = numbers[SO_FAR], numbers["runs"]
    of = "1 run" if runs == 1 else f"{runs} runs"
    if not part["tried"]:
        yield f"No change is tried yet. {_as_it_is(numbers, of)}"
        return
    row, done = part["tried"][0], len(part["tried"])
    head = f"First look, {done} of {part['changes']} changes on {of} each:"
    if not gained(numbers, row):
        yield f"{head} none shows a gain in {what(numbers)} so far."
    else:
        yield f"{head} {row['change']} comes first{' so far' if part['coming'] else ''}."
    yield _as_it_is(numbers, of)
    yield UNSAID if part["coming"] else UNSAID.replace("are run again", "are now run again")


def _as_it_is(numbers: Mapping[str, Any], of: str) -> str:
    mean = numbers[SO_FAR]["as it is"]
    if mean is None:
        return "As the file says, no run delivers an aircraft in the window."
    size = amount(numbers, mean)
    said = {"deliveries": f"{size} aircraft in the window", "days": f"{size} calendar days from launch to delivery",
            "money": f"{size} left in the window"}[numbers["by"]]
    return f"As the file says: {said}, {'' if of == '1 run' else 'mean of '}{of}."
