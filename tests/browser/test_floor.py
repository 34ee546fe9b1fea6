"""The floor in a real browser: it plays without the server, steps fast, jumps to the first jam, and opens a story."""

from __future__ import annotations

import re
from collections.abc import Callable
from itertools import pairwise
from math import ceil
from pathlib import Path
from typing import Any

import pytest

from linesim.line.floor import run_once
from linesim.line.sheet import Sheet
from linesim.measures.moment import Floor, first_jam, floor_of
from linesim.scenario.reading import read_scenario
from linesim.show.floor_words import marks

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def floor() -> Floor:
    """Run 0 of the demo, done here."""
    sheet = Sheet(read_scenario(Path(__file__).parents[2] / "scenarios" / "birchwater.yaml"))
    return floor_of(sheet, run_once(sheet, sheet.scenario.seed, 0))


class Opened:
    """The floor page of run 0 of the demo in a tab, with what the tab sends."""

    def __init__(self, seen: Any) -> None:
        self.seen, self.page = seen, seen.page
        self.sent: list[Any] = []
        self.page.on("request", lambda request: self.sent.append(request.url))
        self.page.on("websocket", lambda socket: socket.on("framesent", lambda frame: self.sent.append(frame)))
        seen.open("/floor?scenario=birchwater&run=0")
        self.page.locator(".replay .now .at").wait_for(timeout=90_000)
        self.settled()

    def press(self, name: str) -> None:
        """Press a button of the picture; the tab answers it alone."""
        self.page.get_by_role("button", name=name, exact=True).click()

    def settled(self) -> None:
        """Until what the tab had to tell the server is told, and the page is drawn."""
        self.page.wait_for_timeout(1000)
        self.seen.settle()

    def go_to(self, text: str) -> None:
        """Go to a date."""
        field = self.page.get_by_label("Go to date")
        field.fill(text)
        field.press("Enter")

    @property
    def minute(self) -> int:
        """The minute that is shown."""
        return int(self.page.locator(".replay").get_attribute("data-minute"))

    def titles(self) -> list[str]:
        """The sentences of what stands in the picture."""
        return sorted(self.page.locator(".replay .aircraft title").all_text_contents())


def sentences(floor: Floor, minute: int) -> list[str]:
    """What the floor of the records says of a minute."""
    return sorted(mark.sentence for mark in marks(floor.sheet, floor.at(float(minute))))


def test_the_floor_is_replayed(look: Callable[[], Any], floor: Floor) -> None:
    """One visit: the first jam, dates, steps, play, counts, and a serial's story; nothing is asked of another host."""
    opened = Opened(look())
    the_first_jam(opened, floor)
    dates(opened, floor)
    steps(opened, floor)
    plays_without_the_server(opened, floor)
    counts(opened, floor)
    a_story(opened)
    assert opened.seen.errors == []


def the_first_jam(opened: Opened, floor: Floor) -> None:
    """The answer names its day; `First jam` leads there from anywhere; the picture says what the records say."""
    jam = first_jam(floor)
    assert jam is not None
    assert opened.minute == ceil(jam.at)
    assert floor.sheet.calendar.wall_text(jam.at)[:10] in opened.page.locator("h1.say").inner_text()
    assert opened.titles() == sentences(floor, ceil(jam.at))
    opened.press("On a day")
    assert opened.minute > ceil(jam.at)
    opened.press("First jam")
    assert opened.minute == ceil(jam.at)


def dates(opened: Opened, floor: Floor) -> None:
    """Words, days and the table of the moment are those of the records; the address holds it."""
    when = floor.sheet.calendar
    for text in ("2027-10-13 10:00", "2027-03-28 14:00", "2028-02-07 07:13"):
        with opened.seen.drawn_anew():  # the tab tells the server, which draws the tables
            opened.go_to(text)
        assert when.wall_text(float(opened.minute)) == text
        assert opened.titles() == sentences(floor, opened.minute)
        opened.page.locator(".wide table").wait_for(timeout=90_000)
        opened.page.wait_for_function("count => document.querySelectorAll('.wide table tbody tr').length == count",
                                      arg=len(floor.at(float(opened.minute))), timeout=90_000)
        assert text.replace(" ", "T") in opened.page.url.replace("%3A", ":")
    opened.go_to("2027-02-30")
    assert "YYYY-MM-DD" in opened.page.locator(".fault").inner_text()
    opened.press("First jam")


def steps(opened: Opened, floor: Floor) -> None:
    """Two hours and a day, by button and by key; the slider goes to the end and the picture still says the truth."""
    opened.go_to("2027-06-09 10:30")
    start = opened.minute
    opened.press("On 2 h")
    assert opened.minute == start + 90
    opened.press("Back 2 h")
    opened.press("On a day")
    assert opened.minute == start + 1440
    opened.press("Back a day")
    assert opened.minute == start
    opened.page.locator(".replay .picture").focus()
    opened.page.keyboard.press("ArrowRight")
    assert opened.minute == start + 90
    opened.page.keyboard.press("Shift+ArrowLeft")
    assert opened.minute < start
    opened.page.get_by_label("Moment shown").press("End")
    assert opened.titles() == sentences(floor, opened.minute)


def plays_without_the_server(opened: Opened, floor: Floor) -> None:
    """While it plays nothing is sent; on the pause the server hears of it."""
    with opened.seen.drawn_anew():
        opened.go_to("2027-02-01")
    opened.page.get_by_label("Speed").select_option(index=2)
    begin, sent = opened.minute, len(opened.sent)
    opened.page.locator(".replay .picture").focus()
    opened.page.keyboard.press("Space")
    opened.page.wait_for_timeout(3000)
    assert len(opened.sent) == sent
    with opened.seen.drawn_anew():
        opened.page.keyboard.press("Space")
    assert opened.minute > begin + 5 * 1440
    assert opened.titles() == sentences(floor, opened.minute)
    assert len(opened.sent) > sent


def counts(opened: Opened, floor: Floor) -> None:
    """The counts beside the moment are those of the shapes in the picture, and of the column of the strip."""
    with opened.seen.drawn_anew():
        opened.go_to("2028-02-07")
    said = opened.page.locator(".replay .now").inner_text()
    column = opened.page.get_by_label("Moment shown").get_attribute("aria-valuetext")
    for state in ("work", "waiting", "blocked", "off shift"):
        shapes = opened.page.locator(f'.replay .aircraft[data-state="{state}"]').count()
        assert re.search(rf"\b{shapes}\s+{state}", said), said
        assert not shapes or f"{shapes} {state}" in column, column
    assert len(floor.at(float(opened.minute))) == opened.page.locator(".replay .aircraft").count()
    dates = [one.bounding_box() for one in opened.page.locator(".replay .axis span").all()]
    assert all(one["x"] + one["width"] <= other["x"] for one, other in pairwise(dates)), dates
    opened.page.locator(".replay .columns").hover(position={"x": 5, "y": 50})
    assert "work" in str(opened.page.locator(".replay .columns").get_attribute("title"))


def a_story(opened: Opened) -> None:
    """From the table to the story of the same run."""
    link = opened.page.locator(".wide table tbody a").first
    serial = link.inner_text().split()[0]
    link.click()
    opened.page.locator("h1.say", has_text=serial).wait_for(timeout=90_000)
    assert "In run 0" in opened.page.locator("h1.say").inner_text()
    opened.page.locator('img[alt*="tables below"]').wait_for(timeout=90_000)


def test_on_a_phone_without_motion(look: Callable[[], Any], floor: Floor) -> None:
    """At 390 pixels the strip stands above the picture, nothing is wider than the page, and nothing slides."""
    seen = look()
    seen.page.set_viewport_size({"width": 390, "height": 844})
    seen.page.emulate_media(reduced_motion="reduce")
    opened = Opened(seen)
    strip, picture = (opened.page.locator(f".replay .{name}").bounding_box() for name in ("strip", "picture"))
    assert strip["y"] < picture["y"]
    assert opened.page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    slide = opened.page.locator(".replay .aircraft").first.evaluate("one => getComputedStyle(one).transitionDuration")
    assert slide == "0s"
    assert opened.titles() == sentences(floor, opened.minute)
    assert seen.errors == []
