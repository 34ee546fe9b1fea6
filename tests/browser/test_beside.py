"""Scenarios beside each other in the browser, on a phone: what differs, the panels drawn, nothing wider than the
screen.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

pytestmark = [pytest.mark.browser, pytest.mark.shared]
DRAWN = '[data-testid="stVegaLiteChart"] canvas, [data-testid="stVegaLiteChart"] svg'


def test_a_typed_change_is_held_beside_on_a_phone(look: Callable[..., Any]) -> None:
    """Two actions to the answer; what was typed stands in the link."""
    one = look(390, "dark")
    one.open("/beside?scenario=tiny&runs=3")
    one.says("Nothing is held beside Tiny yet.")
    one.fill("Or with a change, PATH=VALUE", "trades.ASM.people.day=1")
    one.says("No run yet.")
    one.press("Run 3")
    one.says("Difference from Tiny on the same luck.")
    one.page.locator(DRAWN).first.wait_for(timeout=90_000)
    one.settle()
    assert one.answer().startswith("trades.ASM.people.day=1:")
    assert one.actions == 2
    one.page.wait_for_url("**change=trades.ASM.people.day%3D1*")  # the page's own writing of the link comes later
    assert one.page.evaluate("document.documentElement.scrollWidth") <= 390
    assert one.errors == []
