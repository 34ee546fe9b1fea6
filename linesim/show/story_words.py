"""The life of one aircraft in words: stay by stay what happened, then what set its date and where its hours went."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from ..questions.reason_words import lost_to
from .words import WIDTH, wrapped

DAY_HOURS = 24.0
INDENT = 20
SQUAWK = re.compile(r"(?:acceptance (\d+) )?squawk (\d+)\.(\d+)")
READ_SO = ("Hours worked are hours of people. Waiting for people, an inspector or a pilot counts in their working "
           "time, all else day and night.")


def in_words(numbers: dict[str, Any]) -> list[str]:
    """The whole story, in lines of 88 columns."""
    lines = wrapped(opening(numbers))
    if numbers["begins"] is None:
        return [*lines, "", *_cautions(numbers)]
    lines += [*wrapped(set_by(numbers)), "", *wrapped(READ_SO)]
    lines += ["", *_life(numbers), "", *_stays(numbers), "", *_set_its_date(numbers), "", *_hours_went(numbers), ""]
    lines += _cautions(numbers)
    if numbers.get("picture"):
        lines.append(f"Drawn in {numbers['picture']}")
    return lines


def opening(numbers: dict[str, Any]) -> str:
    """One sentence: from when to when, how long, and against which promise."""
    serial, run = numbers["serial"], numbers["run"]
    if numbers["begins"] is None:
        planned = numbers["launch planned"]
        return f"{serial} is never launched in run {run}" + (
            f": its launch was planned for {planned} and is still owed at the end." if planned else ".")
    begin = ("stood on the line at the start, " if numbers["on the line at the start"] else "was launched ")
    days = numbers["flow, hours"] / DAY_HOURS
    ended = {"delivered": f"delivered {numbers['ends']}, {days:.1f} calendar days later",
             "finished stock": f"finished as stock {numbers['ends']}, {days:.1f} calendar days later",
             "open at the end": f"is not delivered when the run ends, {numbers['ends']}"}[numbers["state"]]
    changed = "".join(f" {_order_change(one)}" for one in numbers["order changes"])
    return f"In run {run} {serial} {begin}{numbers['begins']}, and {_was(numbers)}{ended}{_promise(numbers)}.{changed}"


def _order_change(change: dict[str, Any]) -> str:
    """One sentence of what became of its order before the launch."""
    if change["what"] == "swapped":
        return f"On {change['date']} {' and '.join(change['serials'])} changed places in the order book."
    by = f" by {_count(change['days'], 'day')}" if change["days"] is not None else ""
    return f"Its order was {change['what']}{by} on {change['date']}."


def _was(numbers: dict[str, Any]) -> str:
    return "" if numbers["state"] == "open at the end" or not numbers["on the line at the start"] else "was "


def _promise(numbers: dict[str, Any]) -> str:
    promised, late = numbers["promised"], numbers["days late"]
    if promised is None:
        return ""
    if late is None:
        return f"; promised {promised}"
    if late == 0:
        return f"; promised {promised}, kept to the day"
    return f"; promised {promised}, {_count(abs(late), 'day')} {'late' if late > 0 else 'early'}"


def set_by(numbers: dict[str, Any]) -> str:
    """What set its date, the three longest, in work days."""
    rows = {reason: row["work days"] for reason, row in numbers["what set its date"]["reasons"].items()}
    longest = sorted((reason for reason in rows if rows[reason] >= 0.05), key=lambda reason: -rows[reason])[:3]
    parts = [f"{lost_to(reason)} {rows[reason]:.1f}" for reason in longest]
    return f"What set its date, in work days: {', '.join(parts) or 'nothing'}, of {sum(rows.values()):.1f} in all."


# the life --------------------------------------------------------------------------------------------------------
def _life(numbers: dict[str, Any]) -> Iterator[str]:
    events = numbers["events"]
    yield from _lines(events, ("launched", "on the line"))
    for n, stay in enumerate(numbers["stays"]):
        yield ""
        yield from wrapped(_heading(stay))
        for event in events:
            if event.get("stay") == n and event["what"] not in ("arrived", "parked"):
                yield from _line(event)
    yield ""
    yield from _lines(events, ("delivered", "finished stock", "end of the run"))


def _lines(events: list[dict[str, Any]], what: tuple[str, ...]) -> Iterator[str]:
    for event in events:
        if event["what"] in what:
            yield from _line(event)


def _line(event: dict[str, Any]) -> Iterator[str]:
    yield from wrapped(f"  {event['at']}  {said(event)}", INDENT)


def _heading(stay: dict[str, Any]) -> str:
    """Where, from when to when, and the summary of the stay."""
    where = f"{stay['place']} {stay['name']}".strip() + (f", {stay['half']}" if stay["half"] else "")
    where = f"Parked before {where}" if stay["parked"] else where
    return f"{where}: {stay['arrived']} to {stay['left']}, {summary(stay)}"


def summary(stay: dict[str, Any]) -> str:
    """Days here, hours worked, largest wait."""
    worked = f", {stay['worked, hours of people']:.1f} hours worked" if not stay["parked"] else ""
    wait = stay["largest wait"]
    longest = f", largest wait: {wait['reason']}, {wait['hours']:.1f} h" if wait and not stay["parked"] else ""
    return f"{stay['hours'] / DAY_HOURS:.1f} days{worked}{longest}"


def said(event: dict[str, Any]) -> str:
    """One event in words; hours to a tenth."""
    code = package_words(event.get("package", ""))
    name = f"{code} {event.get('name', '')}".strip()
    again = " again" if event.get("number") and event["what"] in ("begun", "buy-off begun") else ""
    trade, hours = event.get("trade", ""), event.get("hours")
    match event["what"]:
        case "launched":
            late = "" if event["planned"] == event["at"] else f", planned {event['planned']}"
            return f"launched{late}"
        case "on the line":
            return "stands on the line at the start"
        case "begun" | "taken up" | "buy-off begun":
            words = {"taken up": "taken up where it stands"}.get(event["what"], event["what"])
            return f"{name}: {words}{again}{_by(event)}"
        case "done" | "put down" | "bought off":
            verb = {"done": "work done", "put down": "put down unfinished", "bought off": "bought off"}[event["what"]]
            if (found := event.get("defects")):
                verb = "looked through" if event["what"] == "bought off" else verb
                return f"{code}: {verb}, {hours:.1f} h{_by(event)}; {_count(found, 'defect')} found"
            return f"{code}: {verb}, {hours:.1f} h{_by(event)}"
        case "closed":
            return f"{name}: closed without work"
        case "waited" | "held":
            return _waited(event, name)
        case "flown":
            squawks = _count(event["number"], "squawk") if "number" in event else "no squawk"
            return f"{name} until {event['until']}, {hours:.1f} h{_by(event)}; {squawks} written up"
        case "written up":
            return f"{name}: written up{f', for {trade} to fix' if trade else ''}"
        case "appointment":
            return f"{name}: appointment until {event['until']}"
        case "certificate":
            return f"{name}: given"
        case "moved open":
            before = event["hours before"]
            return f"{name}: came here unfinished, {hours:.1f} h left" + (
                f" ({before:.1f} h before it travelled)" if before != hours else "")
        case "stopped the line":
            return f"the pulse is due and it may not move: it holds the line until {event['until']}"
        case "end of the run":
            return "the run ends; it is not delivered"
    return str(event["what"])


def package_words(package: str) -> str:
    """Squawks by flight or acceptance and number, other packages by their names."""
    found = SQUAWK.fullmatch(package)
    if found is None:
        return package
    tries, flight, number = found.groups()
    if tries is not None:
        return f"squawk {number} at acceptance" + (f" {tries}" if tries != "1" else "")
    return f"squawk {number} of flight {flight}" if flight != "0" else f"squawk {number}, open at the start"


def _waited(event: dict[str, Any], name: str) -> str:
    reason, hours, until = event["reason"], event["hours"], event["until"]
    who = f" ({event['trade']})" if event.get("trade") and reason in ("people", "inspector", "pilot") else ""
    of = f"{name}: " if name and name != "parking" else ""
    words = {"hold": "hold", "blocked": "blocked: no place beyond is free", "line stop": "the line stands",
             "pulse": "waits for the pulse", "other half": "waits for its other half", "parts": "waits for a late part",
             "tool stop": "stopped for a missing tool"}.get(reason, f"waits for {reason}{who}")
    return f"{of}{words} until {until}, {hours:.1f} h"


def _by(event: dict[str, Any]) -> str:
    if not event.get("trade") or event.get("people") is None:
        return ""
    least, most = event["people"]
    return f" by {least} {event['trade']}" if least == most else f" by {least} to {most} {event['trade']}"


def _count(number: int, what: str) -> str:
    return f"{number} {what}" + ("" if number == 1 else "s")


# the sums --------------------------------------------------------------------------------------------------------
def _stays(numbers: dict[str, Any]) -> Iterator[str]:
    yield f"{'place':<16}{'':<10}{'arrived':<18}{'days here':>10}{'h worked':>10}  largest wait"
    for stay in numbers["stays"]:
        wait = stay["largest wait"]
        said_wait = f"{_short(wait['reason'])}, {wait['hours']:.1f} h" if wait else ""
        part = "parked" if stay["parked"] else stay["half"] or ""
        yield (f"{stay['place'][:15]:<16}{part:<10}{stay['arrived']:<18}{stay['hours'] / DAY_HOURS:>10.1f}"
               f"{stay['worked, hours of people']:>10.1f}  {said_wait}")[:WIDTH].rstrip()
    yield f"{'all':<44}{'':>10}{numbers['worked, hours of people']:>10.1f}"


def _short(reason: str) -> str:
    return {"appointment or customer's date": "a date", "weather or daylight": "weather"}.get(reason, reason)


def _set_its_date(numbers: dict[str, Any]) -> Iterator[str]:
    chain = numbers["what set its date"]
    yield from wrapped("What set its date: from delivery back, what closed last in each place, what that waited for, "
                       "and so on. Work days of the reference shift, and clock hours outside it (nights, meals, other "
                       f"shifts); together they are the time from {_from_to(numbers)}.")
    yield f"{'':<34}{'work days':>12}{'h outside':>12}{'hours':>12}"
    for reason, row in sorted(chain["reasons"].items(), key=lambda one: -one[1]["hours"]):
        yield f"{reason:<34}{row['work days']:>12.1f}{row['hours outside']:>12.1f}{row['hours']:>12.1f}"
    later = chain["before its slower half was launched, hours"]
    if later:
        yield f"{'before its slower half was launched':<46}{'':>12}{later:>12.1f}"
    days = sum(row["work days"] for row in chain["reasons"].values())
    outside = sum(row["hours outside"] for row in chain["reasons"].values())
    yield f"{'sum':<34}{days:>12.1f}{outside:>12.1f}{_whole(chain['sum, hours']):>12.1f}"
    yield f"{_from_to(numbers):<34}{'':>24}{_whole(numbers['flow, hours']):>12.1f}"


def _hours_went(numbers: dict[str, Any]) -> Iterator[str]:
    went = numbers["where its hours went"]
    yield from wrapped("Where its hours went: each clock hour has the first of these reasons that was true of anything "
                       "on it, day and night.")
    for reason, hours in sorted(went["hours"].items(), key=lambda one: -one[1]):
        yield f"{reason:<34}{'':>24}{hours:>12.1f}"
    yield f"{'sum':<34}{'':>24}{_whole(went['sum']):>12.1f}"
    yield f"{_from_to(numbers):<34}{'':>24}{_whole(numbers['flow, hours']):>12.1f}"


def _end(numbers: dict[str, Any]) -> str:
    return {"delivered": "delivery", "finished stock": "finished stock"}.get(numbers["state"], "the end of the run")


def _whole(hours: float) -> float:
    """Hours without the last digits, in which sums of the same hours in another order differ."""
    return round(hours, 6)


def _from_to(numbers: dict[str, Any]) -> str:
    return f"{'start' if numbers['on the line at the start'] else 'launch'} to {_end(numbers)}"


def _cautions(numbers: dict[str, Any]) -> Iterator[str]:
    for caution in numbers["cautions"]:
        yield from wrapped(f"Caution  {caution}", 9)


