"""The answer to "Which change buys most, and what then?" in numbers and sentences."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from ..line.cautions import cautions_of
from ..measures.estimates import Difference
from ..measures.window import window_of
from ..scenario.scenario import Scenario
from .baseline import Answer
from .buy_levers import FREE, Change
from .buys import FRESH_SEED, GAINS, MEASURES, WRONG, Again, Found, Measure, Step, Tried, has_money
from .shares import percent

MINUS = "\N{MINUS SIGN}"
UNITS = {"deliveries": "aircraft in the window", "days": "calendar days of flow", "money": "money left in the window"}
DIGITS = {"deliveries": 3, "days": 4, "money": 0}
MOST_NAMED = 4
NEVER = ("No change here shortens a cure or a hold, leaves out an inspection, a tool check or the certificate, lowers "
         "a weather limit, or puts more people on a job than it may have.")


def answer_of(found: Found, scenario: Scenario, seed: int) -> Answer:
    """The answer from all that was tried."""
    first, second = found.first, found.second
    numbers: dict[str, Any] = {
        **head_of(scenario, seed, found.by, found.runs),
        "first": _step(first), "second": None if second is None else _step(second),
        "cannot be run": [{**change_of(change), "why": why} for change, why in found.unable],
        "chance that the largest gain is not named at most": WRONG,
        "assumed": _assumed(found, scenario),
        "cautions": [str(caution) for caution in cautions_of(scenario)]}
    return Answer(numbers, sentences(numbers))


def head_of(scenario: Scenario, seed: int, by: Measure, runs: int) -> dict[str, Any]:
    """What every answer of this question begins with."""
    return {"scenario": scenario.name, "seed": seed, "fresh seed": seed + FRESH_SEED, "runs": runs,
            "window": [str(day) for day in window_of(scenario)], "by": by.name, "more is a gain": by.more,
            "units": {**UNITS, "money": f"{_currency(scenario)} left in the window"},
            "currency": _currency(scenario), "money": has_money(scenario)}


def _currency(scenario: Scenario) -> str:
    return scenario.money.currency if scenario.money else ""


def _step(step: Step) -> dict[str, Any]:
    return {"on top of": step.ground.change.words, "changes": dict(step.ground.change.changes),
            "tried": [_tried(one) for one in sorted(step.tried, key=lambda one: one.place)],
            "run again": [_again(one) for one in step.again],
            "not told from the first, not run again": [one.candidate.change.words for one in step.open]}


def change_of(change: Change) -> dict[str, Any]:
    """A change as numbers of the answer."""
    return {"change": change.words, "changes": dict(change.changes), "takes": change.takes}


def _tried(one: Tried) -> dict[str, Any]:
    return {**change_of(one.candidate.change), "first look": one.verdict, "runs": one.runs}


def _again(one: Again) -> dict[str, Any]:
    return {**change_of(one.candidate.change), "may be the largest": one.tied,
            **{name: difference_of(name, found) for name, found in one.differences.items()}}


def difference_of(name: str, found: Difference | None) -> dict[str, Any] | None:
    """A difference in a measure as numbers of the answer."""
    if found is None:
        return None
    digits = DIGITS[name]
    limits = {} if math.isnan(found.low) else {"low": round(found.low, digits) + 0.0,
                                               "high": round(found.high, digits) + 0.0}
    seen = found.low > 0 or found.high < 0
    return {"mean": round(found.mean, digits) + 0.0, **limits, "seen": bool(seen), "gains in": found.better_in,
            "of": found.n}


def _assumed(found: Found, scenario: Scenario) -> list[str]:
    said = [f"A change holds from the first day; whoever is added is fully able, and is absent, on leave and leaves "
            f"like the others. All are run on the same luck; the {len(found.first.again)} largest gains are run again "
            f"on fresh luck, and the figures are those of the fresh runs alone. Their 95 % intervals hold together "
            "(Bonferroni)."]
    if has_money(scenario):
        money = scenario.money
        booth = "" if money is None or money.second_booth_capital is None else (
            f"; a second booth costs {_amount(money.second_booth_capital, money.currency)} once")
        said.append("Money left: prices of the aircraft accepted in the window less their material, late concessions, "
                    "wages and the cost of the capital tied up. What a place, a booth or fewer squawks cost to get is "
                    f"not in it{booth}.")
    return [*said, NEVER]


# sentences -----------------------------------------------------------------------------------------------------------
def sentences(numbers: Mapping[str, Any]) -> list[str]:
    """What buys most, ties, what is free, what looked good and is not; what buys most after it."""
    return [*_first(numbers), *_ties(numbers, numbers["first"]), *_free(numbers), *_not_good(numbers),
            *_second(numbers), *_unable(numbers)]


def on_a_page(numbers: Mapping[str, Any]) -> list[str]:
    """The sentences for a page, whose first one stands large: short, where nothing shows a gain."""
    said, row = list(numbers["sentences"]), numbers["first"]["run again"][0]
    if not gained(numbers, row):
        short, _, rest = said[0].partition("; ")
        said[:1] = [f"{short}.", f"{_capital(rest)} More runs of each show smaller gains."]
    return said


def gained(numbers: Mapping[str, Any], row: Mapping[str, Any]) -> bool:
    """Whether a change run again shows a gain in what was asked for."""
    found = row[numbers["by"]]
    return bool(found and found["seen"] and (found["mean"] > 0) == numbers["more is a gain"])


def _first(numbers: Mapping[str, Any]) -> Iterator[str]:
    step = numbers["first"]
    row, tried = step["run again"][0], len(step["tried"])
    if not gained(numbers, row):
        yield (f"None of the {tried} changes tried shows a gain in {what(numbers)} that {_runs(numbers['runs'])} can "
               f"show; {row['change']} comes out first, with {_effect(numbers, row)}.")
        return
    alone = not (_tied(step) or step["not told from the first, not run again"])
    yield f"{_capital(row['change'])} {'buys most' if alone else 'comes first'}: {_effect(numbers, row)}."


def what(numbers: Mapping[str, Any]) -> str:
    """What was asked for, in the middle of a sentence."""
    return {"deliveries": "deliveries", "days": "days of flow", "money": "money left"}[numbers["by"]]


def _effect(numbers: Mapping[str, Any], row: Mapping[str, Any]) -> str:
    """The gain with its interval and the runs that gain."""
    by, found = numbers["by"], row[numbers["by"]]
    if found is None:
        return "nothing to compare"
    if not found["seen"]:
        return f"no difference that {_runs(found['of'])} can show"
    size = amount(numbers, abs(found["mean"]))
    more = found["mean"] > 0
    what = {"deliveries": f"{size} {'more' if more else 'fewer'} {_deliveries(size)} in the window",
            "days": f"{size} calendar days of flow {'more' if more else 'less'}",
            "money": f"{size} {'more' if more else 'less'} left in the window"}[by]
    gains = {"deliveries": "more", "days": "fewer", "money": "more"}[by]
    return (f"{what} (95 % interval {signed(numbers, found['low'])} to {signed(numbers, found['high'])}), {gains} in "
            f"{found['gains in']} of {_runs(found['of'])}")


def _deliveries(size: str) -> str:
    return "delivery" if size == "1.0" else "deliveries"


def amount(numbers: Mapping[str, Any], value: float, by: str = "") -> str:
    """A size without its sign: 3.1, or an amount of money."""
    if (by or numbers["by"]) == "money":
        return _amount(value, numbers["currency"])
    digits = next((n for n in (1, 2, 3) if value >= 0.1**n), 1)  # more of what is under a tenth
    return f"{value:.{digits}f}"


def signed(numbers: Mapping[str, Any], value: float, by: str = "") -> str:
    """The same with its sign; nothing has none."""
    size = amount(numbers, abs(value), by)
    sign = "+" if value > 0 else MINUS
    return f"{sign}{size}" if any(digit in "123456789" for digit in size) else size


def _amount(value: float, currency: str) -> str:
    size = f"{value:,.0f}" if value < 1e6 else f"{value / 1e6:,.2f} M"
    return f"${size}" if currency == "USD" else f"{currency} {size}"


def _tied(step: Mapping[str, Any]) -> list[str]:
    """Changes run again that these runs do not tell from the first."""
    return [one["change"] for one in step["run again"][1:] if one["may be the largest"]]


def _ties(numbers: Mapping[str, Any], step: Mapping[str, Any]) -> Iterator[str]:
    """Changes that these runs do not tell from the first."""
    row = step["run again"][0]
    if not gained(numbers, row):
        return
    tied = _tied(step)
    beyond = step["not told from the first, not run again"]
    if tied:
        yield (f"These runs do not tell it from {_listed(tied, 'or')}: "
               f"{'they are' if len(tied) > 1 else 'the two are'} tied.")
    if beyond:
        named = f": {_listed(beyond)}" if len(beyond) <= MOST_NAMED else ""
        yield (f"{len(beyond)} more {'is' if len(beyond) == 1 else 'are'} not told from it by the first look, and not "
               f"run again{named}.")
    if not tied and not beyond:
        yield (f"It is told apart from all {len(step['tried']) - 1} others: the chance that another of them buys more "
               f"is at most {percent(WRONG)}.")


def _free(numbers: Mapping[str, Any]) -> Iterator[str]:
    """What can be had for nothing."""
    step = numbers["first"]
    rows = step["run again"]
    free = [row for row in step["tried"] if row["takes"] == FREE]
    if not free or not gained(numbers, rows[0]) or rows[0]["takes"] == FREE:
        if free and gained(numbers, rows[0]):
            yield "It takes no person, place or hour more."
        return
    among = [row for row in rows if row["takes"] == FREE and gained(numbers, row)]
    if among:
        yield f"Of what costs nothing, {among[0]['change']} buys most: {_effect(numbers, among[0])}."
    elif all(row["first look"] != GAINS for row in free):
        yield (f"None of the {len(free)} changes that cost nothing shows a gain in the first look." if len(free) > 1
               else "The one change that costs nothing shows no gain in the first look.")


def _not_good(numbers: Mapping[str, Any]) -> Iterator[str]:
    """What showed a gain in the first look and shows none on fresh luck."""
    step = numbers["first"]
    looked = {row["change"] for row in step["tried"] if row["first look"] == GAINS}
    names = [row["change"] for row in step["run again"] if row["change"] in looked and not gained(numbers, row)]
    if names:
        yield (f"{_capital(_listed(names))} showed a gain in the first look and "
               f"{'shows' if len(names) == 1 else 'show'} none on fresh luck.")


def _second(numbers: Mapping[str, Any]) -> Iterator[str]:
    step = numbers["second"]
    if step is None:
        return
    row = step["run again"][0]
    if not gained(numbers, row):
        yield (f"After that, none of the {len(step['tried'])} changes that came next shows a further gain that "
               f"{_runs(numbers['runs'])} can show.")
        return
    alone = not (_tied(step) or step["not told from the first, not run again"])
    yield f"After that, {row['change']} {'adds most' if alone else 'comes first'}: {_effect(numbers, row)}."
    yield from _ties_of_second(step)


def _ties_of_second(step: Mapping[str, Any]) -> Iterator[str]:
    tied = _tied(step) + step["not told from the first, not run again"]
    if len(tied) > MOST_NAMED:
        yield f"Of the {len(step['tried'])} tried on top, {len(tied)} more are tied with it."
    elif tied:
        yield f"Tied with it: {_listed(tied)}."


def _unable(numbers: Mapping[str, Any]) -> Iterator[str]:
    for row in numbers["cannot be run"]:
        yield f"With {row['change']} the file has a fault, so it is not tried: {row['why']}."


def cautions_needed(numbers: Mapping[str, Any]) -> set[str]:
    """Which of people, travel and flight the changes shown touch."""
    rows = [row for step in (numbers["first"], numbers["second"]) if step for row in step["run again"]]
    return cautions_of_paths(path for row in rows for path in row["changes"])


def cautions_of_paths(changed: Iterable[str]) -> set[str]:
    """Which of people, travel and flight are touched by changes of these paths."""
    paths = list(changed)
    kinds = {"people"} if any(path.startswith("trades.") for path in paths) else set()
    if any(path.startswith("pulse.travel") for path in paths):
        kinds.add("travel")
    return kinds | ({"flight"} if any(".flights" in path for path in paths) else set())


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _listed(names: Sequence[str], last: str = "and") -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} {last} {names[-1]}"


def _runs(number: int) -> str:
    return "1 run" if number == 1 else f"{number} runs"


assert set(UNITS) == set(MEASURES)
