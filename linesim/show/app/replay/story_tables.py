"""One aircraft's story as tables and as pictures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from markupsafe import Markup

from ....line.sheet import Sheet
from ....questions.story import Story
from ... import words
from ...palette import LIGHT, Mode
from ...report.blocks import Table
from ...story_picture import draw_story
from ...story_words import DAY_HOURS, READ_SO, said

PLACES = ("Place", "Arrived", "Left", "Work days", "Hours worked", "Largest wait")
REASONS = ("Reason", "Set its date, d", "outside them, h", "Own hours, h")
EVENTS = ("When", "Where", "What")


def picture_of(sheet: Sheet, story: Story, numbers: dict[str, Any], kind: str, colours: Mode = LIGHT, *,
               titled: bool = True) -> bytes:
    """The life as one line; `kind` is svg or png. Without its title, it stands below one on the page."""
    with TemporaryDirectory() as folder:
        file = Path(folder) / f"story.{kind}"
        draw_story(file, sheet, story, numbers, colours, titled=titled)
        return file.read_bytes()


def places(numbers: Mapping[str, Any], floor: Sequence[str] = ()) -> Table:
    """Stay by stay; with addresses of the floor, one for each, an arrival leads to the floor as it stood then."""
    rows = []
    for n, stay in enumerate(numbers["stays"]):
        wait, parked = stay["largest wait"], stay["parked"]
        part = ", parked before it" if parked else f", {stay['half']}" if stay["half"] else ""
        rows.append((f"{stay['place']} {stay['name']}".strip() + part,
                     _linked(stay["arrived"], floor[n]) if floor else stay["arrived"], stay["left"],
                     words.tenths(stay["work days"]),
                     "" if parked else words.hours(stay["worked, hours of people"]),
                     f"{wait['reason']}, {words.hours(wait['hours'])} h" if wait else ""))
    return Table("Place by place. Work days are of the reference shift; hours worked are hours of people.", PLACES,
                 tuple(rows))


def _linked(text: str, address: str) -> str:
    return Markup('<a href="{}" target="_self">{}</a>').format(address, text)


def reasons(numbers: Mapping[str, Any]) -> Table:
    """What set its date, and where its hours went, reason by reason; the longest first."""
    chain, went = numbers["what set its date"], numbers["where its hours went"]
    order = sorted({**chain["reasons"], **went["hours"]},
                   key=lambda one: (-chain["reasons"].get(one, {}).get("work days", 0.0), -went["hours"].get(one, 0.0)))
    nothing = {"work days": 0.0, "hours outside": 0.0}
    rows = [(words.sentence(words.reason(one)).rstrip("."), words.tenths(row["work days"]),
             words.hours(row["hours outside"]), words.hours(went["hours"].get(one, 0.0)))
            for one in order for row in [chain["reasons"].get(one, nothing)]]
    total = chain["reasons"].values()
    rows.append(("Sum", words.tenths(sum(row["work days"] for row in total)),
                 words.hours(sum(row["hours outside"] for row in total)), words.hours(went["sum"])))
    return Table("What set its date, in work days (d) and in hours outside them (h): from delivery back, what closed "
                 "last in each place, what that waited for, and so on. Own hours, day and night: where they went, by "
                 "the first reason that was true of anything on it.", REASONS,
                 tuple(rows))


def events(numbers: Mapping[str, Any]) -> Table:
    """Everything that happened to it, in order of time."""
    rows = tuple((event["at"], f"{event.get('place', '')} {event.get('half', '')}".strip(), said(event))
                 for event in numbers["events"] if event["what"] not in ("arrived", "parked")
                 or event.get("place"))
    return Table(f"Everything that happened, in order of time. {READ_SO}", EVENTS, rows)


def days(numbers: Mapping[str, Any]) -> str:
    """Calendar days from launch, or the start, to its end."""
    return words.tenths(numbers["flow, hours"] / DAY_HOURS)


def against_promise(numbers: Mapping[str, Any]) -> tuple[str, str]:
    """How it stands to its promise, and the promise."""
    promised, late = numbers["promised"], numbers["days late"]
    if promised is None:
        return "none", ""
    if late is None:
        return "open", f"promised {promised}"
    text = "to the day" if late == 0 else f"{words.counted(abs(late), 'day')} {'late' if late > 0 else 'early'}"
    return text, f"promised {promised}"


def largest_wait(numbers: Mapping[str, Any]) -> tuple[str, str]:
    """The longest reason, beside hands-on work, of what set its date: work days, and which."""
    rows = {reason: row["work days"] for reason, row in numbers["what set its date"]["reasons"].items()
            if reason not in ("hands-on work", "flight", "off shift")}
    longest = max(rows, key=lambda reason: rows[reason], default=None)
    if longest is None or rows[longest] < 0.05:
        return "none", ""
    return words.tenths(rows[longest]), words.reason(longest)
