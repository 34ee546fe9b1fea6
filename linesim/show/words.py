"""The words and figures of everything that a person sees: one form for one thing, in file, command, report and screen.

Minus is a true minus sign; a percent sign stands after a thin space that does not break; a date is ISO and
never breaks over two lines.
"""

from __future__ import annotations

import math
import shutil
import sys
import textwrap
from datetime import date, timedelta

from ..measures.estimates import chance_words
from ..questions.reason_words import REASONS

WIDTH = 88  # columns of the command line
NARROWEST = 40
THIN = "\u202f"  # thin space that does not break
MINUS = "−"
PAGES = {
    "rate": "What rate can the line hold?",
    "quarters": "How many deliveries in each quarter?",
    "dates": "When does each aircraft deliver, and what may be promised?",
    "next": "What moves, flies and is handed over in the next ten work days, and who is short?",
    "late": "Where do the days go?",
    "crew": "How many people, where and when?",
    "beside": "What differs between these scenarios?",
    "buys": "Which change buys most, and what then?",
    "flights": "How many flights and squawks does an aircraft take?",
    "standing": "Where does the work in process stand?",
    "pulse": "What stops the pulse line, and what travels?",
    "floor": "Where is every aircraft, and what is it waiting for?",
    "story": "What happened to one aircraft, and what set its date?",
    "plant": "What does the scenario say?",
    "believe": "How far can these numbers be trusted?"}
AID = "Planning aid. It approves no work, airworthiness, paint, flight or people."
IF_RIGHT = "if the inputs are right"
BEFORE_A_PROMISE = ("Before this becomes a promise.",
                    "Dates and counts go to a customer only when their owner releases them.")


def width() -> int:
    """Columns to write in: WIDTH, or those of a narrower terminal."""
    if not sys.stdout.isatty():
        return WIDTH
    return min(WIDTH, max(NARROWEST, shutil.get_terminal_size((WIDTH, 24)).columns))


def wrapped(text: str, indent: int = 0) -> list[str]:
    """A sentence in lines; the later ones indented."""
    return textwrap.wrap(text, width(), subsequent_indent=" " * indent, break_long_words=False, break_on_hyphens=False)


def count(value: float) -> str:
    """Aircraft, people, flights: whole, or "not reached"."""
    return "not reached" if math.isinf(value) else _signed(f"{value:,.0f}")


def tenths(value: float) -> str:
    """Rates, takts, aircraft in process, days: one decimal; two under a tenth, so that little is not called nothing."""
    return _signed(f"{value:,.{2 if 0 < abs(value) < 0.1 else 1}f}")


def hours(value: float) -> str:
    """Hours: one decimal, whole over 100."""
    return _signed(f"{value:,.0f}" if abs(value) > 100 else f"{value:,.1f}")


def percent(share: float) -> str:
    """A share as whole percent: 24 %. What is there, but not half a percent, is never called nothing."""
    if 0 < share < 0.005:
        return f"under 1{THIN}%"
    return f"{_signed(f'{100 * share:.0f}')}{THIN}%"


def reason(word: str) -> str:
    """A reason of the ledger as one reads it; the word itself, where it says enough."""
    return REASONS.get(word, word)


def money(value: float, *, table: bool = False) -> str:
    """US dollars: "$31.2 M" in a sentence, "$31,200,000" in a table."""
    size = f"${abs(value):,.0f}" if table or abs(value) < 1e6 else f"${abs(value) / 1e6:,.1f}{THIN}M"
    return (MINUS if value < 0 else "") + size


def difference(value: float, digits: int = 1) -> str:
    """A difference always has its sign; 0 has none."""
    text = f"{value:+,.{digits}f}"
    return _signed(text) if any(one in "123456789" for one in text) else text[1:]


def between(low: str, high: str) -> str:
    """A range of two printed numbers; one, if they are alike."""
    return low if low == high else f"{low} to {high}"


def chance(successes: int, of: int) -> str:
    """A chance as n of N runs, in words no finer than tenths and rounded down; the count itself under ten runs."""
    return chance_words(successes, of)


def tenths_full(successes: int, of: int) -> int:
    """How many of ten marks are full: as many as the words of the chance say."""
    return 10 if 20 * successes > 19 * of else 10 * successes // of


def share_of_runs(successes: int, of: int) -> str:
    """The same as the subject of a sentence: "3 in 10 runs", "none of 200 runs"."""
    words = chance(successes, of)
    return words if words.endswith(("runs", "run")) else f"{words} runs"


def runs(number: int) -> str:
    """1 run, 200 runs."""
    return counted(number, "run")


def counted(number: int, noun: str, plural: str = "") -> str:
    """1 day, 2 days."""
    return f"{number:,} {noun if number == 1 else plural or noun + 's'}"


def day(start: date, number: float, after: str = "") -> str:
    """A date as days since the start; inf is after the end of the runs."""
    if math.isnan(number):
        return ""
    return f"after {after}" if math.isinf(number) else str(start + timedelta(days=int(number)))


def week(monday: date) -> str:
    """Week by its Monday."""
    return f"week of {monday}"


def listed(names: list[str]) -> str:
    """A, B and C."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}" if names else ""


def stretches(names: list[str], rows: list[int]) -> list[str]:
    """Some of the names by their row numbers (rising), neighbours drawn together: "A", "C to F"."""
    found: list[list[int]] = []
    for row in rows:
        if found and found[-1][-1] == row - 1:
            found[-1].append(row)
        else:
            found.append([row])
    return [part for stretch in found for part in (
        [f"{names[stretch[0]]} to {names[stretch[-1]]}"] if len(stretch) > 2 else [names[row] for row in stretch])]


def named(code: str, name: str) -> str:
    """A place or trade: its name with its code."""
    return f"{name} ({code})" if name else code


def came_from(scenario: str, digest: str, number: int, seed: int, moment: str) -> str:
    """Where numbers came from."""
    return " · ".join([scenario, f"file {digest}", runs(number), f"seed {seed}", f"run {moment}"])


def sentence(text: str) -> str:
    """A text as a sentence: a capital first letter and a full stop."""
    text = text.strip()
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "?", "!")) else ".")


def _signed(text: str) -> str:
    text = text if any(one in "123456789" for one in text) else text.removeprefix("-")
    return text.replace("-", MINUS)
