"""The plant edited in a real browser: from nothing to a plant of one's own that runs, with every comment kept."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from linesim.scenario.reading import read_scenario
from linesim.scenario.yaml_text import comments_of

from .conftest import PATIENCE, Seen, Served

pytestmark = pytest.mark.browser
ROW = 33          # pixels
SHIPPED = Path(__file__).parents[2] / "scenarios"


def _table(seen: Seen, name: str) -> Any:
    tab = seen.page.get_by_role("radio", name=name).or_(seen.page.get_by_role("button", name=name)).first
    if tab.get_attribute("aria-checked") != "true":
        with seen.drawn_anew():
            tab.click()
    seen.page.wait_for_timeout(1000)  # the table is drawn on its own time, on a canvas
    return seen.page.get_by_test_id("stDataFrame").first


def _type(seen: Seen, grid: Any, row: int, across: int, text: str, *, new: bool = False) -> None:
    """Type into the cell of a row (from 0) that lies so many pixels from the left; a new row opens at once."""
    grid.scroll_into_view_if_needed()
    at = grid.bounding_box()
    for place in (across,) if new else (60, across):  # the first click only leads the focus to the table
        seen.page.mouse.click(at["x"] + place, at["y"] + ROW * (row + 1) + ROW // 2)
        seen.page.wait_for_timeout(600)
    if not new:
        seen.page.keyboard.press("Enter")
    seen.page.locator("#portal input, #portal textarea").first.wait_for(timeout=PATIENCE)
    seen.page.keyboard.press("Control+a")
    seen.page.keyboard.type(text)
    seen.page.wait_for_timeout(200)
    with seen.drawn_anew():
        seen.page.keyboard.press("Tab")  # as Enter does, but no further row is opened


def _paste(seen: Seen, grid: Any, row: int, across: int, block: str) -> None:
    """Paste a block of cells at a cell, as it is copied from a spreadsheet."""
    seen.page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    seen.page.evaluate("text => navigator.clipboard.writeText(text)", block)
    grid.scroll_into_view_if_needed()
    at = grid.bounding_box()
    for place in (60, across):
        seen.page.mouse.click(at["x"] + place, at["y"] + ROW * (row + 1) + ROW // 2)
        seen.page.wait_for_timeout(600)
    with seen.drawn_anew():
        seen.page.keyboard.press("Control+v")


def _state(seen: Seen, text: str) -> None:
    seen.page.locator(".from").filter(has_text=text).wait_for(timeout=PATIENCE)


def test_a_plant_of_ones_own(served: Served, look: Callable[..., Seen]) -> None:
    """Begun like the starter, a package edited, undone and redone, a fault at its row, an aircraft typed onto the line,
    saved, found again after the page was left, opened anew with all comments, run, and its next ten days read."""
    seen = look()
    seen.open("/?scenario=tiny")
    seen.go("The plant")
    _state(seen, "tiny.yaml")  # what was chosen stays, in the first visit to a server, too
    seen.click("New plant")
    seen.fill("Name of the plant", "Mine")
    seen.press("Begin this plant")
    _state(seen, "mine.yaml")
    file = served.results / "plants" / "mine" / "mine.yaml"
    first = file.read_text(encoding="utf-8")

    grid = _table(seen, "Packages")
    _type(seen, grid, 0, 710, "0")
    seen.says("Packages, row 1 (FUS-1), crew min: 0 is below 1.")
    assert seen.answer() == "This file cannot run: 1 fault."
    seen.press("Undo")
    _state(seen, "as on the disk")
    _type(seen, _table(seen, "Packages"), 0, 615, "55")
    _state(seen, "1 line changed, not saved")
    seen.press("Undo")
    _state(seen, "as on the disk")
    seen.press("Redo")
    _state(seen, "1 line changed, not saved")

    seen.go("Rate")  # the page is left, and nothing is lost
    seen.go("The plant")
    _state(seen, "1 line changed, not saved")
    grid = _table(seen, "On the line")
    _type(seen, grid, 5, 120, "T-106", new=True)
    _type(seen, grid, 5, 220, "WNG; FUS")
    _state(seen, "2 lines changed, not saved")
    assert file.read_text(encoding="utf-8") == first
    seen.press("Save")
    _state(seen, "as on the disk")

    saved = file.read_text(encoding="utf-8")
    assert comments_of(saved) == comments_of(first)
    assert saved.replace(", {serial: T-106, at: [WNG, FUS]}", "").replace("hours: 55", "hours: 60", 1) == first
    scenario = read_scenario(file)
    assert scenario.positions[0].packages[0].hours.mean == 55
    assert scenario.on_the_line[-1].serial == "T-106"
    again = look(390)
    again.open("/plant?scenario=own-mine")
    _state(again, "as on the disk")
    seen.go("Rate")
    seen.fill("Runs", "2")
    seen.press("Run 2")
    seen.page.locator(".from").filter(has_text="2 runs").wait_for(timeout=PATIENCE)
    seen.go("Next ten days")  # what the aircraft just typed in will do
    seen.fill("Runs", "2")
    seen.press("Run 2")
    seen.page.locator(".from").filter(has_text="2 runs").wait_for(timeout=PATIENCE)
    seen.says("T-106")
    assert seen.errors == []


def test_a_shipped_scenario_is_copied(served: Served, look: Callable[..., Seen]) -> None:
    """A shipped one has no `Save`: what is edited goes into a copy with its table, and what may not move stays. A block
    of cells is pasted as it stands: 12,5 is refused and is not 125."""
    before = (SHIPPED / "birchwater.yaml").read_bytes()
    seen = look()
    seen.open("/plant?scenario=birchwater")
    assert seen.page.get_by_role("button", name="Save", exact=True).count() == 0
    _type(seen, _table(seen, "Packages"), 3, 615, "0.5")
    seen.says("Packages, row 4, hours: Inspections and buy-offs come from the approved quality system.")
    _state(seen, "as on the disk")
    _paste(seen, _table(seen, "Packages"), 4, 615, "20\n31\n27.5")
    _state(seen, "3 lines changed, not saved")
    seen.press("Undo")
    _state(seen, "as on the disk")
    _paste(seen, _table(seen, "Packages"), 4, 615, "12,5\n31")
    seen.says("Packages, row 5 (FB2-10), hours: '12,5' is no number")
    seen.press("Undo")
    _state(seen, "as on the disk")
    _type(seen, _table(seen, "Rate plan"), 0, 800, "3.8")
    seen.page.locator("h1.say").filter(has_text="At takt 3.8, P8 is over on paper.").wait_for(timeout=PATIENCE)
    seen.click("Save a copy")
    seen.fill("Name of the copy", "Faster")
    seen.press("Save this copy")
    _state(seen, "faster.yaml")
    copy = read_scenario(served.results / "plants" / "faster" / "faster.yaml")
    assert (copy.name, copy.launches.takt_work_days, len(copy.orders or ())) == ("Faster", 3.8, 80)
    assert (SHIPPED / "birchwater.yaml").read_bytes() == before
    assert seen.errors == []
