"""Every page in light and dark, wide and narrow: texts that can be read, nothing wider than the page, charts in words,
all of it within reach of the keyboard, no errors, no other host."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from linesim.scenario.reading import read_scenario
from linesim.show.app import main, work
from linesim.show.app.wish import found_in, put_wish, wished

pytestmark = [pytest.mark.browser, pytest.mark.shared]
TINY = Path(__file__).parents[2] / "scenarios" / "tiny.yaml"
PAGES = [place for place in main.PAGES if (Path(main.__file__).parent / "pages" / f"{place.module}.py").exists()]
ASKED: dict[str, dict[str, Any]] = {
    "rate": {"takts": "2,1"}, "quarters": {"model": None, "at least": None},
    "crew": {"trades": ["ASM"], "people": ["2-3"], "from": None, "target": None}, "dates": {"new": True, "model": None},
    "late": {"serial": None}, "buys": {"by": "deliveries", "changes": None},
    "beside": {"files": {}, "digests": [], "with": [], "changes": ["trades.ASM.people.day=1"]}}
RUNS = 4
AS_ASKED = f"scenario=tiny&runs={RUNS}&takts=2,1&people=2-3&each={RUNS}&change=trades.ASM.people.day%3D1"
FAINT = (Path(__file__).parent / "faint.js").read_text()
REACHED = """() => { const e = document.activeElement;
  return `${e.getAttribute("aria-label") || ""} ${e.innerText || e.labels?.[0]?.innerText || ""}` }"""


@pytest.fixture
def answered(served: Any) -> None:
    """The answers of the tiny plant stand there."""
    for question, options in ASKED.items():
        wish = wished(question, TINY, read_scenario(TINY), options, RUNS)
        folder = wish.folder(served.results)
        if found_in(folder) is None:  # of the test before, in the same app
            put_wish(folder, wish)
            assert work.main(folder) == 0


def test_every_page_can_be_read(answered: None, look: Callable[..., Any]) -> None:
    """Light at 1280, dark at 390: contrast of 4.5 (3 for large texts), no page wider than the window, no error."""
    for width, scheme in ((1280, "light"), (390, "dark")):
        one = look(width, scheme)
        for place in PAGES:
            one.open(f"/{place.url}?{AS_ASKED}")
            one.page.wait_for_timeout(300)  # colours fade in
            where = (place.link, width)
            assert (where, one.page.evaluate(FAINT)) == (where, [])
            wide = one.page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
            assert (where, wide) == (where, 0)
            assert (where, one.page.locator("h1").count()) == (where, 1)
            for chart in one.page.locator('[data-testid="stVegaLiteChart"]').all():
                assert chart.get_attribute("aria-label")
            if place.module in ASKED:
                assert (where, one.page.locator(".from").count()) == (where, 1)
                assert (where, one.page.get_by_text("What to look at").count()) == (where, 1)  # the cautions
            assert (where, one.errors) == (where, [])
        one.page.evaluate("document.body.insertAdjacentHTML('beforeend', '<p style=\"color:#808080\">grey</p>')")
        assert [text.split(":")[0] for text in one.page.evaluate(FAINT)] == ["grey"]  # it does see such a text


def test_the_keyboard_reaches_everything(answered: None, look: Callable[..., Any]) -> None:
    """Links, inputs, the button, the table and the downloads, in the order of the page."""
    one = look()
    one.open(f"/?scenario=tiny&runs={RUNS}&takts=2,1")
    reached = ""
    for _ in range(40):
        one.page.keyboard.press("Tab")
        reached += f"{one.page.evaluate(REACHED)}|"
    at = [reached.find(name) for name in ("Rate", "Takts to try, work days", f"Run {RUNS}", "Rates tried",
                                          "Table, XLSX", "Report, HTML")]
    assert -1 not in at
    assert at == sorted(at)
