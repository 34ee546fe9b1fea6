"""The answer to "What rate can the line hold?" in sentences."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from ..measures.estimates import chance_words
from .baseline import HOLDS_IN
from .shares import percent

LATE = 1.05  # times the takt: deliveries that much further apart are said, also of a rate that holds


def sentences(numbers: Mapping[str, Any]) -> list[str]:
    """The verdict, what comes out, when and why it breaks, how sure that is, what no hire can help."""
    return [*_verdict(numbers), *_breaks(numbers), *_how_sure(numbers), *_no_hire(numbers), *_hire(numbers)]


def share_of(row: Mapping[str, Any]) -> str:
    """"9 in 10 runs keep the plan"."""
    kept, of = row["keeps the plan"]["runs"], row["keeps the plan"]["of"]
    words = chance_words(kept, of)
    return f"{words if words.endswith(('runs', 'run')) else words + ' runs'} keep{'s' * (of == 1)} the plan"


def _ordered(numbers: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    return sorted(numbers["plans"], key=lambda row: row["planned launches in the window"])


def _called(row: Mapping[str, Any]) -> str:
    return str(row["words"])


def _verdict(numbers: Mapping[str, Any]) -> Iterator[str]:
    rows = _ordered(numbers)
    best = next((row for row in rows if row["plan"] == numbers["highest that holds"]), None)
    after = None if best is rows[-1] else rows[0 if best is None else rows.index(best) + 1]
    deciding = [row for row in (best, after) if row is not None]
    by = "The" if all(row["keeps the plan"]["settled"] for row in deciding) else "By these runs, not settled yet, the"
    if best is None:
        yield f"{by} line holds none of the rates tried: at the slowest, {_called(rows[0])}, {share_of(rows[0])}."
    elif after is None:
        yield f"{by} line holds every rate tried, up to {_called(best)}: {share_of(best)}."
    else:
        yield (f"{by} highest rate tried that the line holds is {_called(best)}: {share_of(best)}; with "
               f"{_called(after)} {share_of(after)}.")
    if best is not None and _every(best) > (best["takt, work days"] or 0.0) * LATE:
        yield (f"Whether a rate holds is read from the last six months; over all of the window {_called(best)} "
               f"delivers one aircraft every {_every(best):.1f} work days, because it fell behind before.")
    short = _first_broken(numbers)
    if short is not None and short["takt, work days"] and short["work days between deliveries"]:
        yield (f"Planned at one aircraft every {short['takt, work days']:g} work days, the line delivers one every "
               f"{short['work days between deliveries']['mean']:.1f} in the window.")


def _every(row: Mapping[str, Any]) -> float:
    """Work days between deliveries; 0 where there is none, or the plan has no single takt to hold them against."""
    found = row["work days between deliveries"]
    return found["mean"] if found and row["takt, work days"] else 0.0


def _first_broken(numbers: Mapping[str, Any]) -> Mapping[str, Any] | None:
    return next((row for row in _ordered(numbers) if not row["keeps the plan"]["holds"]), None)


def _breaks(numbers: Mapping[str, Any]) -> Iterator[str]:
    broken = _first_broken(numbers)
    if broken is None:
        row = _ordered(numbers)[-1]
        yield from (text.replace("The fullest place is", "The first thing to run short would be") for text in
                    row["what stops it"])
        return
    behind = broken["falls behind"]
    if behind is not None:
        wide = "to" in behind and behind["8 in 10 from"] != behind["to"]
        span = f" (8 in 10 of them between {behind['8 in 10 from']} and {behind['to']})" if wide else ""
        words = chance_words(behind["runs"], broken["keeps the plan"]["of"])
        subject = words if words.endswith(("runs", "run")) else f"{words} runs"
        one = behind["runs"] == 1
        by = f"by {behind['half by']}" if one else f"half of these by {behind['half by']}"
        yield f"With {_called(broken)} {subject} {'falls' if one else 'fall'} behind for good, {by}{span}."
    yield from broken["what stops it"]


def _how_sure(numbers: Mapping[str, Any]) -> Iterator[str]:
    open_ones = [row for row in numbers["plans"] if not row["keeps the plan"]["settled"]]
    if not open_ones:
        return
    said = _listed([f"{_called(row)} ({kept['runs']} of {kept['of']} runs keep it; the chance is "
                    f"{percent(kept['share from'])} to {percent(kept['to'])})"
                    for row in open_ones for kept in [row["keeps the plan"]]])
    yield f"These runs cannot settle whether {percent(HOLDS_IN)} of all runs would keep {said}: more runs would."


def _no_hire(numbers: Mapping[str, Any]) -> Iterator[str]:
    for row in _ordered(numbers):
        for place in row["places under which no takt goes"]:
            name = f"{place['name']} ({place['place']})" if place["name"] else place["place"]
            days = place["chain of work over docks, work days" if place["work alone"] else
                         "shortest stay over docks, work days"]
            what = "longest chain of work at crew maximum" if place["work alone"] else \
                "shortest mean stay, with holds by the clock and what inspection finds,"
            yield (f"With {_called(row)} no hire can help {name}: its {what} takes {days:.1f} work days for each "
                   "aircraft; another dock or shorter packages would.")
        if row["places under which no takt goes"]:
            return


def _hire(numbers: Mapping[str, Any]) -> Iterator[str]:
    found = numbers["hire by"]
    if found:
        first = min(found, key=lambda one: one["ask for them by"] or one["start by"])
        more = first["people needed"] - first["people now"]
        when = f"ask for them by {first['ask for them by']}" if first["ask for them by"] else \
            f"they start by {first['start by']}"
        yield (f"On paper the first to find: {more} more {first['trade']} for the takt of "
               f"{first['takt, work days']:g} from {first['from']} ({first['plan']}): {when}.")
        early = [one for one in found if (one["ask for them by"] or one["start by"]) < numbers["start"]]
        if early:
            yield (f"For {_listed(list(dict.fromkeys(one['trade'] for one in early)))} that is before the start of the "
                   "scenario: the step comes sooner than people who are fully able for it.")


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
