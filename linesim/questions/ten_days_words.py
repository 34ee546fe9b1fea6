"""The sentences of the next work days."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ..measures.estimates import chance_words
from .ten_days_answer import most_free, shortest

NAMES = {"moves": ("move", "moves"), "flights": ("flight", "flights"), "launches": ("launch", "launches"),
         "deliveries": ("delivery", "deliveries")}


def sentences(numbers: Mapping[str, Any]) -> list[str]:
    """What comes, who is painted next, who is short and who is free."""
    days = numbers["work days"]
    span = f"From {days[0]} to {days[-1]} ({len(days)} work days)" if len(days) > 1 else f"On {days[0]}"
    counts = ", ".join(_count(numbers["in all"][name], *NAMES[name]) for name in NAMES)
    few = "note" in numbers
    said = [f"{span} the runs have on average {counts}." if few else
            f"{span} 8 in 10 runs reach, each count by itself: {counts}."]
    return [*said, *_booth(numbers), *_short(numbers), *_free(numbers)]


def _count(found: Mapping[str, Any], one: str, many: str) -> str:
    value = found["mean"] if "note" in found else found["8 in 10 reach"]
    return f"{value:g} {one if value == 1 else many}"


def _booth(numbers: Mapping[str, Any]) -> list[str]:
    said = []
    for booth in numbers["booth"]:
        if booth["turns"]:
            row = booth["turns"][0]
            said.append(f"Next into {booth['place']} is {row['serial']} in {_runs(row['runs'], row['of'])}"
                        + (f", half the runs by {row['half by']}." if row["half by"] else "."))
        else:
            said.append(f"Nothing comes into {booth['place']} in these days.")
    return said


def _short(numbers: Mapping[str, Any]) -> list[str]:
    found = shortest(numbers["people"])
    if found is None:
        return ["No job waits for people in these days."]
    row, day = found
    return [f"The shortest trade is {_named(row)}, on {day['day']}: {day['jobs waiting']:.1f} jobs wait over the day, "
            f"half a job or more in {_runs(day['runs short'], day['of'])}."]


def _free(numbers: Mapping[str, Any]) -> list[str]:
    row = most_free(numbers["people"])
    if row is None:
        return []
    mean = sum(day["people free"] for day in row["days"]) / len(row["days"])
    there = sum(day["people there"] for day in row["days"]) / len(row["days"])
    return [f"The trade most free is {_named(row)}: {mean:.1f} of the {there:.1f} people there have no work on an "
            "average day."]


def _named(row: Mapping[str, Any]) -> str:
    return f"{row['name']} ({row['trade']})" if row["name"] else str(row["trade"])


def _runs(count: int, of: int) -> str:
    words = chance_words(count, of)
    return words if words.endswith(("runs", "run")) else f"{words} runs"
