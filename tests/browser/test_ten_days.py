"""The next work days in the browser, on a phone: the days drawn, nothing wider than the screen."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

pytestmark = [pytest.mark.browser, pytest.mark.shared]
DRAWN = '[data-testid="stVegaLiteChart"] canvas, [data-testid="stVegaLiteChart"] svg'


def test_the_days_on_a_phone(look: Callable[..., Any]) -> None:
    """One press to the answer."""
    one = look(390)
    one.open("/next?scenario=tiny&runs=4")
    one.press("Run 4")
    one.says("What comes, day by day")
    one.page.locator(DRAWN).first.wait_for(timeout=90_000)
    one.settle()
    assert one.answer().startswith("From 2027-01-04 to 2027-01-15")
    assert one.page.evaluate("document.documentElement.scrollWidth") <= 390
    assert one.errors == []
