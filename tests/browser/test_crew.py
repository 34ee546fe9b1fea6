"""The page on crews in a browser, on a phone with dark pages: asked, drawn, nothing wider than the page."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

pytestmark = [pytest.mark.browser, pytest.mark.shared]


def test_asked_on_a_phone(look: Callable[..., Any]) -> None:
    """The answer comes by itself after the button; the cells are drawn; nobody has to move the page sideways."""
    seen = look(390, "dark")
    seen.open("/crew?scenario=tiny&runs=2&people=1-2&within=2")
    assert seen.answer().startswith("No run yet.")
    seen.press("Run 2")
    seen.says("Smallest so far, unsettled")
    seen.settle()
    assert "within 2 work days from A to delivery" in seen.answer()
    drawn = seen.page.locator('[data-testid="stVegaLiteChart"] canvas, [data-testid="stVegaLiteChart"] svg')
    drawn.first.wait_for(timeout=90_000)
    assert drawn.first.bounding_box()["height"] > 60
    assert seen.page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    assert seen.errors == []
