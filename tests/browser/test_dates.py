"""The page on dates in a browser: asked, one aircraft picked without a run, its picture taken, its story opened."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

pytestmark = [pytest.mark.browser, pytest.mark.shared]


def test_from_all_aircraft_to_one(look: Callable[..., Any]) -> None:
    """The link names the aircraft that was picked; the picture holds it; its story opens from here."""
    seen = look()
    seen.open("/dates?scenario=tiny&runs=30")
    seen.press("Run 30")
    seen.says("May be promised")
    seen.page.locator('[data-testid="stVegaLiteChart"] canvas, [data-testid="stVegaLiteChart"] svg').first.wait_for(
        timeout=90_000)
    seen.settle()
    seen.page.locator(".st-key-serial_of_dates input").click()
    seen.page.get_by_role("option", name="S2", exact=True).click()
    seen.page.locator("h1.say", has_text="S2: half the runs deliver by").wait_for(timeout=90_000)
    seen.settle()
    assert "serial_of_dates=S2" in seen.page.url
    with seen.page.expect_download(timeout=90_000) as taken:
        seen.click("Picture, SVG")
    assert "S2" in Path(taken.value.path()).read_text(encoding="utf-8")
    seen.go("What happened to S2 in one run")
    seen.page.locator("h1.say", has_text="S2").wait_for(timeout=90_000)
    assert seen.errors == []
