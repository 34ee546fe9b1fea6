"""The page on what buys most in a browser: changes unticked by area, the answer, drawn on a phone."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

pytestmark = [pytest.mark.browser, pytest.mark.shared]


def test_ticked_and_asked_on_a_phone(look: Callable[..., Any]) -> None:
    """One tick leaves out an area and stays open for the next; the link names what is left out; the answer comes by
    itself after the button; nobody has to move the page sideways."""
    seen = look(390, "dark")
    seen.open("/buys?scenario=tiny&each=1")
    assert seen.answer().startswith("No run yet.")
    seen.click("Changes: all 5")
    seen.page.get_by_text("Docks, spots, booths").click(timeout=90_000)
    seen.says("Changes: 3 of 5")
    seen.settle()
    assert seen.page.get_by_text("A second dock in A", exact=True).is_visible()
    assert "without=dock+A&without=dock+B" in seen.page.url
    seen.page.keyboard.press("Escape")
    seen.press("Run 1")
    seen.says("Changes tried")
    seen.says("2 further changes were not chosen and not tried.")
    seen.settle()
    assert seen.answer() == "None of the 3 changes tried shows a gain in deliveries that 1 run can show."
    drawn = seen.page.locator('[data-testid="stVegaLiteChart"] canvas, [data-testid="stVegaLiteChart"] svg')
    drawn.first.wait_for(timeout=90_000)
    assert drawn.first.bounding_box()["height"] > 120
    assert seen.page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    assert seen.errors == []
