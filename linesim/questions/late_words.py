"""The answer to "Where do the days go?" in sentences: what is lost where, and what a permitted change gives."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from .reason_words import lost_to

MINUS = "\N{MINUS SIGN}"
LITTLE = 0.05  # work days: less is called nothing
UNIT = {"deliveries": ("aircraft in the window", " in deliveries"),
        "delivery, calendar days": ("calendar days to its delivery", " in its date")}
NEVER = "No cure, hold, inspection, tool check, weather limit or certificate is ever run with less of it."


def sentences(numbers: Mapping[str, Any]) -> list[str]:
    """The largest loss first, then the next, what changes give, and what is no loss."""
    rows = numbers["largest"]
    said = _one(numbers) if numbers["serial"] else _all(numbers)
    if rows:
        said += [*_gives(rows, numbers["runs"]), *_not_levers(rows)]
    return [*said, *_no_loss(numbers)]


def headline(numbers: Mapping[str, Any]) -> tuple[str, str]:
    """The first sentence in short, and what it counts."""
    rows, who = numbers["largest"], numbers["serial"]
    if not rows:
        return sentences(numbers)[0], ""
    lost = f"{days_text(rows[0]['work days'])} of the {days_text(numbers['work days lost'])} work days that"
    what = "Lost is what waits, stands blocked or is done again on the chain that sets the date, launch to delivery."
    if who:
        return f"{who} loses most to {where(rows[0])}: {lost} it loses.", f"{what} Mean of {_runs(numbers['runs'])}."
    return (f"Aircraft lose most to {where(rows[0])}: {lost} each loses.",
            f"{what} Mean of the {numbers['aircraft']:,} aircraft of {_runs(numbers['runs'])}.")


def where(row: Mapping[str, Any]) -> str:
    """What days are lost to, and where, in the middle of a sentence."""
    place = f"{row['name']} ({row['place']})" if row["name"] else str(row["place"])
    if row["reason"] == "blocked":
        return f"waiting for room in {place}"
    if row["mostly for"]:
        return f"waiting at {place} for {_trade(row['mostly for'])}"
    return f"{lost_to(row['reason'])} at {place}"


def short(row: Mapping[str, Any]) -> str:
    """The same for a table: "room in PP", "FLM at FL", "parts at FL"."""
    if row["reason"] == "blocked":
        return f"room in {row['place']}"
    if row["mostly for"]:
        return f"{row['mostly for']['trade']} at {row['place']}"
    what = {"appointment or customer's date": "appointment", "weather or daylight": "weather", "off shift": "closed"}
    return f"{what.get(row['reason'], row['reason'])} at {row['place']}"


def _trade(trade: Mapping[str, str]) -> str:
    return f"{trade['name']} ({trade['trade']})" if trade["name"] else trade["trade"]


def _all(numbers: Mapping[str, Any]) -> list[str]:
    if not numbers["aircraft"]:
        return ["No aircraft is launched in the runs and delivered in the window, so nothing can be said of what it "
                "loses."]
    return largest_sentences(numbers)


def largest_sentences(numbers: Mapping[str, Any]) -> list[str]:
    """What delivered aircraft lose most to, and then."""
    rows = numbers["largest"]
    if not rows:
        return ["Aircraft lose no time on the chain that sets their dates."]
    said = [f"Aircraft lose most to {where(rows[0])}: {days_text(rows[0]['work days'])} of the "
            f"{days_text(numbers['work days lost'])} work days that each loses on the chain that sets its date, launch "
            "to delivery."]
    if rows[1:3]:
        said.append(f"Then come {_listed([f'{where(row)} ({_days(row)})' for row in rows[1:3]])}.")
    return said


def _one(numbers: Mapping[str, Any]) -> list[str]:
    rows, runs = numbers["largest"], _runs(numbers["runs"])
    if not rows:
        return [f"{numbers['serial']} loses no time on the chain that sets its date."]
    first = rows[0]
    said = [f"{numbers['serial']} loses most to {where(first)}: {days_text(first['work days'])} of the "
            f"{days_text(numbers['work days lost'])} work days that it loses on the chain that sets its date, mean of "
            f"{runs}.",
            f"{_half(first)}; it is the largest loss in {first['largest in']} of {runs}."]
    if rows[1:3]:
        said.append(f"Then come {_listed([f'{where(row)} ({_days(row)})' for row in rows[1:3]])}.")
    if numbers["delivered in"] < numbers["runs"]:
        said.append(f"It is delivered in {numbers['delivered in']} of {runs}; in the others the days are those so far.")
    return said


def _half(row: Mapping[str, Any]) -> str:
    """What half the runs lose to it; where they lose nothing, what 2 in 10 lose."""
    if row["half the runs"] > LITTLE:
        return f"Half the runs lose {days_text(row['half the runs'])} work days or more to it"
    if row["2 in 10 runs"] > LITTLE:
        return f"Half the runs lose nothing to it, 2 in 10 lose {days_text(row['2 in 10 runs'])} work days or more"
    return "More than 8 in 10 runs lose nothing to it"


def _days(row: Mapping[str, Any]) -> str:
    return f"{days_text(row['work days'])} work days"


# what changes give ---------------------------------------------------------------------------------------------------
def _gives(rows: Sequence[Mapping[str, Any]], runs: int) -> Iterator[str]:
    """One sentence for each change that was run, whatever number of losses it is for."""
    said: list[Mapping[str, Any]] = []
    for row in rows:
        if row["gives"] and row["changes"] not in said:
            said.append(row["changes"])
            yield f"{_with(row)}: {effect_words(row)}."


def largest_gain(rows: Sequence[Mapping[str, Any]]) -> Mapping[str, Any] | None:
    """The row of the change that shows the largest gain in deliveries, or in its date; None where none shows one."""
    gains = []
    for row in rows:
        for name, more in (("deliveries", 1), ("delivery, calendar days", -1)):
            found = (row["gives"] or {}).get(name)
            if found and seen(found) and more * found["mean"] > 0:
                gains.append((more * float(found["mean"]), row))
    return max(gains, key=lambda one: one[0])[1] if gains else None


def most_gained(rows: Sequence[Mapping[str, Any]]) -> str | None:
    """Which of the changes that were run shows the largest gain in deliveries; None where none was run."""
    tried = [row for row in rows if row["gives"] and row["gives"].get("deliveries")]
    row = largest_gain(tried)
    if row is None:
        return "None of the changes run for these losses shows more deliveries." if tried else None
    return (f"Of the changes run for these losses {row['change']} shows the largest gain: "
            f"{change_words(row['gives']['deliveries'], *UNIT['deliveries'])}.")


def _with(row: Mapping[str, Any]) -> str:
    return f"With {row['change']}"


def effect_words(row: Mapping[str, Any]) -> str:
    """What the change to a loss gives: deliveries or the date, all losses together, and whether the loss only moves."""
    name = next(name for name in UNIT if name in row["gives"])
    found, this, every = row["gives"][name], row["gives"]["work days of this loss"], row["gives"]["work days lost"]
    said = "no date to compare" if found is None else change_words(found, *UNIT[name])
    if this is None or every is None:
        return said
    said += f"; all losses together: {change_words(every, 'work days')}"
    if seen(this) and this["mean"] < 0 and every.get("low", this["mean"]) > this["mean"] / 2:
        said += f"; {short(row)} alone: {signed(this['mean'])} work days, but most of it is lost again elsewhere"
    return said


def change_words(found: Mapping[str, Any], unit: str, of: str = "") -> str:
    """A difference with its sign and interval, or that these runs show none."""
    if not seen(found):
        return f"no difference{of} that {_runs(found['of'])} can show"
    return (f"{signed(found['mean'])} {unit} (95 % interval {signed(found['low'])} to {signed(found['high'])})")


def seen(found: Mapping[str, Any]) -> bool:
    """Whether the interval of a difference leaves out 0."""
    return "low" in found and (found["low"] > 0 or found["high"] < 0)


def signed(value: float) -> str:
    """One decimal, more of what is under a tenth, always with its sign."""
    text = f"{value:+.{_digits(value)}f}"
    return text.replace("-", MINUS) if any(digit in "123456789" for digit in text) else text[1:]


def days_text(value: float) -> str:
    """One decimal, more of what is under a tenth."""
    return f"{value:.{_digits(value)}f}"


def _digits(value: float) -> int:
    return next((n for n in (1, 2, 3) if abs(value) >= 0.1**n), 1)


def _not_levers(rows: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    for row in rows:
        if not row["lever"]:
            yield f"{_capital(where(row))} ({_days(row)}) is {row['change']}."
        elif row["cannot be run"]:
            yield f"{_with(row)} the file has a fault, so it is not run: {row['cannot be run']}."


def _no_loss(numbers: Mapping[str, Any]) -> Iterator[str]:
    kinds = numbers.get("no loss")
    if kinds:
        parts = [f"{days_text(days)} {name}" for name, days in sorted(kinds.items(), key=lambda item: -item[1])]
        yield (f"Of the {days_text(numbers['work days on the chain'])} work days on the chain {_listed(parts)} are "
               f"what an aircraft takes, and no loss. {NEVER}")
    else:
        yield NEVER


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _listed(parts: Sequence[str]) -> str:
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def _runs(number: int) -> str:
    return "1 run" if number == 1 else f"{number} runs"
