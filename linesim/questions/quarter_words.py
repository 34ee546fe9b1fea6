"""The answer on quarters in sentences; the first one is the answer itself."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ..measures.estimates import chance_words, zero_words
from .money import DECLARE
from .shares import THIN, percent

MINUS = "\N{MINUS SIGN}"


def amount(value: float, currency: str = "USD", *, sign: bool = False) -> str:
    """Money in a sentence: "$31.2 M", under a million "$0.65 M", under ten thousand "$9,500", other currencies by their
    name; `sign`: as a difference, which always has its sign."""
    size = abs(value)
    text = f"{size:,.0f}" if size < 1e4 else f"{size / 1e6:,.{2 if size < 1e6 else 1}f}{THIN}M"
    text = f"${text}" if currency == "USD" else f"{currency} {text}"
    before = MINUS if value < 0 and size >= 0.5 else "+" if sign and size >= 0.5 else ""
    return before + text


def million(value: float) -> str:
    """Money in a table: millions with two decimals."""
    text = f"{value / 1e6:,.2f}"
    return text.replace("-", MINUS) if any(one in "123456789" for one in text) else text.removeprefix("-")


def window_words(first: str, last: str) -> str:
    """A calendar year by its number, any other window by its dates."""
    return f"in {first[:4]}" if first[5:] == "01-01" and last == f"{first[:4]}-12-31" else f"from {first} to {last}"


def sentences(numbers: Mapping[str, Any]) -> list[str]:
    """The answer, how sure, when the gap opens, the money, the end of the quarter."""
    said = [_how_many(numbers), *_at_least(numbers), *_gap(numbers)]
    money = numbers["money"]
    said += [DECLARE] if money is None else money_sentences(numbers, money)
    return said + _last_weeks(numbers)


def _how_many(numbers: Mapping[str, Any]) -> str:
    counts, when = numbers["deliveries in the window"], window_words(*numbers["window"])
    what = f"{numbers['model']} aircraft" if numbers["model"] else "aircraft"
    money = numbers["money"] if numbers["model"] is None else None
    if "note" in counts:
        each = counts["each run"]
        some = f"{min(each)} to {max(each)}" if min(each) != max(each) else f"{each[0]}"
        runs = "1 run delivers" if len(each) == 1 else f"{len(each)} runs deliver"
        return f"{runs} {some} {what} {when}; {counts['note']}."
    said = f"8 in 10 runs deliver at least {counts['8 in 10 reach']} {what} {when}"
    if money and money["revenue in the window"]["mean"]:
        bring = amount(money["revenue in the window"]["8 in 10 reach"], money["currency"])
        return (f"{said}, half the runs at least {counts['5 in 10 reach']}; 8 in 10 bring at least {bring} at "
                "acceptance.")
    return f"{said}, half the runs at least {counts['5 in 10 reach']}."


def _at_least(numbers: Mapping[str, Any]) -> list[str]:
    row, promised = numbers["at least"], numbers["promised in the window"]
    if not row["aircraft"]:
        return []
    words = chance_words(row["runs"], row["of"])
    runs = words if words.endswith(("run", "runs")) else f"{words} runs"
    reach = "reaches" if row["of"] == 1 or runs.startswith("1 of") else "reach"
    sure = f" (95 % interval {percent(row['low'])} to {percent(row['high'])})"
    if row["runs"] == 0 and row["of"] >= 5:
        sure = f" (the chance is {zero_words(row['of'])})"
    if row["aircraft"] == promised:
        return [f"{promised} are promised; {runs} {reach} that{sure}."]
    plan = f"; {promised} are promised" if promised else ""
    return [f"At least {row['aircraft']}: {runs} {reach} it{sure}{plan}."]


def _gap(numbers: Mapping[str, Any]) -> list[str]:
    found = numbers["kept up with"]
    rows, opens = found["by the end of"], found["gap opens"]
    if not rows or not any(row["promised"] for row in rows.values()):
        return []
    last, row = list(rows.items())[-1]
    if opens is None:
        return [f"By the end of {last} half the runs have delivered {row['half the runs']} of the {row['promised']} "
                "promised since the window began, or more: no gap is left."]
    stays = "" if opens == last else " and does not close"
    return [f"Half the runs are short of the promised count from {opens} on: the gap opens there{stays}, and is "
            f"{row['promised'] - row['half the runs']} aircraft at the end of {last}."]


def money_sentences(numbers: Mapping[str, Any], money: Mapping[str, Any]) -> list[str]:
    """Value in the plant with what it costs, lateness, cash; `numbers` hold the window."""
    currency, when = money["currency"], window_words(*numbers["window"])

    def of(row: Mapping[str, Any], *, sign: bool = False) -> str:
        return _range(row, currency, sign=sign)

    value = money["value in the plant"]
    late, carrying = money["late concessions"]["in the window"], money["carrying cost"]["in the window"]
    said = [f"The aircraft in the plant are worth {of(value['mean of the window'])} at cost, mean of the window; that "
            f"capital costs {of(carrying)} {when}, and lateness {of(late)} in concessions."]
    if money["cash"]:
        net, low = money["cash"]["in the window"]["net"], money["cash"]["lowest since the window began"]
        said.append(f"Cash {when}, in less out: {of(net, sign=True)}; each run at its own lowest month end: "
                    f"{of(low, sign=True)}, counted from the beginning of the window.")
    return said


def _range(row: Mapping[str, Any], currency: str, *, sign: bool = False) -> str:
    if "note" in row:
        low, high = (amount(one(row["each run"]), currency, sign=sign) for one in (min, max))
        return low if low == high else f"{low} to {high}"
    low, half, high = (amount(row[name], currency, sign=sign) for name in ("8 in 10 runs from", "half the runs", "to"))
    return half if low == high else f"{half} in half the runs (8 in 10 runs: {low} to {high})"


def _last_weeks(numbers: Mapping[str, Any]) -> list[str]:
    rows = {name: row for name, row in numbers["last two weeks"].items() if row["share of the quarter"] is not None}
    if not rows:
        return []
    each = ", ".join(f"{percent(row['share of the quarter'])} in {name} (even pace {percent(row['even pace'])})"
                     for name, row in rows.items())
    return [f"The last two weeks of a quarter bring of its deliveries: {each}. No quarter-end policy is declared."]
