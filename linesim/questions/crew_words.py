"""The answer to "How many people, where and when?" in sentences."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from ..measures.estimates import chance_words
from ..measures.not_flown import FLOWN, NO_MECHANIC, NO_PILOT
from .shares import percent

UNSETTLED = "these runs cannot settle it"


def sentences(numbers: Mapping[str, Any]) -> list[str]:
    """The crew for the target and how sure that is, what the next person brings, why was not flown."""
    return [*_choice(numbers), *_span(numbers), *_one_more(numbers), *_flying(numbers)]


def days_words(found: float | str | None) -> str:
    """Days within which 8 in 10 aircraft keep."""
    if found is None:
        return "no aircraft"
    return found if isinstance(found, str) else f"{found:.1f}"


def _share(row: Mapping[str, Any]) -> str:
    words = chance_words(row["keeps the target"]["runs"], row["keeps the target"]["of"])
    return words if words.endswith(("runs", "run")) else f"{words} runs"


def _place(numbers: Mapping[str, Any]) -> str:
    here = numbers["days from"]
    return f"{here['name']} ({here['place']})" if here["name"] else str(here["place"])


def _asked(numbers: Mapping[str, Any]) -> str:
    target = numbers["target"]
    value = f"{target['value']:g}"
    if target["kind"] == "days":
        return f"8 in 10 aircraft within {value} work days from {_place(numbers)} to delivery"
    if target["kind"] == "deliveries":
        return f"at least {value} deliveries in the window"
    return f"at most {value} jobs waiting for {numbers['trades'][0]['trade']} on average"


def _choice(numbers: Mapping[str, Any]) -> Iterator[str]:
    choice, rows = numbers["choice"], numbers["crews"]
    if choice is None:
        return
    asked = _asked(numbers)
    low, high = choice["indifferent between"]
    if choice["crew"] is None:
        yield (f"None of the crews tried keeps {asked} in 8 in 10 runs: {rows[-1]['crew']}, the largest, does in "
               f"{_share(rows[-1])}.")
    else:
        before = f"; {rows[choice['number'] - 1]['crew']} in {_share(rows[choice['number'] - 1])}" \
            if choice["number"] else ""
        which = "smallest" if len(numbers["trades"]) == 1 else "cheapest"
        fewer = "" if choice["number"] else " No smaller one was tried."
        yield (f"The {which} crew tried that keeps {asked}: {choice['crew']}, in "
               f"{_share(rows[choice['number']])}{before}.{fewer}")
    if choice["settled"]:
        yield (f"The chance that this choice is wrong is at most {percent(choice['wrong at most'])} (a crew that keeps "
               f"the target in {percent(low)} to {percent(high)} of all runs may count either way).")
    else:
        open_ones = [row["crew"] for row in rows if row.get("decided", {"keeps": True})["keeps"] is None]
        yield (f"How sure: {UNSETTLED} for {' and '.join(open_ones)}, so the chance that this choice is wrong has no "
               "bound; --settle runs on until it has.")


def _span(numbers: Mapping[str, Any]) -> Iterator[str]:
    rows = numbers["crews"]
    first, last = rows[0], rows[-1]
    first_days, last_days = days_words(first["8 in 10"]), days_words(last["8 in 10"])
    if len(rows) > 1:
        yield (f"From {_place(numbers)} to delivery 8 in 10 aircraft keep within {first_days} work days with "
               f"{first['crew']}, within {last_days} with {last['crew']}.")
    else:
        yield (f"With {first['crew']} 8 in 10 aircraft keep within {first_days} work days from {_place(numbers)} to "
               "delivery.")


def _one_more(numbers: Mapping[str, Any]) -> Iterator[str]:
    """Which trade is the limit: what the next person of each brings to the smallest crew."""
    for one in numbers["one more"]:
        found, days = one["deliveries"], one["days of 8 in 10"]
        shift = f" on {one['shift']}" if one["shift"] else ""
        brings = [_difference(found, "deliveries", more=True)]
        brings += [_difference(days, "work days", more=False)] if days else []
        yield f"{one['to']} {one['trade']}{shift} instead of {one['from']}: {'; '.join(brings)}."
    helped = [one["trade"] for one in numbers["one more"]
              if _shows(one["deliveries"]) or _shows(one["days of 8 in 10"])]
    others = [one["trade"] for one in numbers["one more"] if one["trade"] not in helped]
    if helped and others:
        yield f"{' and '.join(dict.fromkeys(others))} {'is' if len(set(others)) == 1 else 'are'} not the limit here."


def _shows(found: Mapping[str, Any] | None) -> bool:
    return found is not None and "low" in found and (found["low"] > 0 or found["high"] < 0)


def _difference(found: Mapping[str, Any] | None, unit: str, *, more: bool) -> str:
    if found is None:
        return f"{unit}: no difference to name"
    if not _shows(found):
        return f"no difference in {unit} that {found['of']} run{'s' * (found['of'] != 1)} can show"
    gains = found["more in"] if more else found["less in"]
    sign = "+" if found["mean"] > 0 else "\N{MINUS SIGN}"
    return (f"{sign}{abs(found['mean']):.1f} {unit} (95 % interval {found['low']:+.1f} to {found['high']:+.1f}), "
            f"{'more' if more else 'fewer'} in {gains} of {found['of']} runs").replace("-", "\N{MINUS SIGN}")


def _flying(numbers: Mapping[str, Any]) -> Iterator[str]:
    row = numbers["crews"][0]
    days = {why: n for why, n in row["flying days"].items() if n}
    lost = {why: n for why, n in days.items() if why != FLOWN}
    if not lost:
        return
    every = sum(days.values())
    top: Sequence[str] = sorted(lost, key=lambda why: -lost[why])[:3]
    yield (f"With {row['crew']} {days.get(FLOWN, 0.0):.0f} of {every:.0f} days with pilots on shift are flown; not "
           "flown: " + ", ".join(f"{why} {lost[why]:.0f}" for why in top) + ".")
    pilots, mechanics = lost.get(NO_PILOT, 0.0), lost.get(NO_MECHANIC, 0.0)
    if max(pilots, mechanics) >= 1:
        more = "mechanics and inspectors" if mechanics > pilots else "pilots"
        days_of = f"{pilots:.0f} day{'s' * (round(pilots) != 1)}"
        yield (f"For want of people: {days_of} without a free pilot, {mechanics:.0f} without a free mechanic or "
               f"inspector; {more} are the shorter of the two.")
