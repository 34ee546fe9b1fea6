"""The page on where the days go in a browser: asked, drawn, and on to the story of an aircraft."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

pytestmark = [pytest.mark.browser, pytest.mark.shared]


def test_asked_and_on_to_a_story(look: Callable[..., Any]) -> None:
    """The answer comes by itself after the button; a link of the table opens what happened to that aircraft in that
    run, of the same scenario."""
    seen = look()
    seen.open("/late?scenario=tiny&runs=1")
    assert seen.answer().startswith("No run yet.")
    seen.press("Run 1")
    seen.says("Each aircraft, most days lost first")
    seen.settle()
    assert seen.answer() == "Aircraft lose no time on the chain that sets their dates."
    drawn = seen.page.locator('[data-testid="stVegaLiteChart"] canvas, [data-testid="stVegaLiteChart"] svg')
    drawn.first.wait_for(timeout=90_000)
    seen.page.get_by_role("row", name="S2").get_by_role("link").first.click(timeout=90_000)
    seen.says("What happened to one aircraft")
    seen.settle()
    assert seen.answer().startswith("In run 0 S2 was launched ")
    assert "scenario=tiny" in seen.page.url
    assert seen.errors == []
