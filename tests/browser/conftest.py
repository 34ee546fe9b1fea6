"""The app as it is served, looked at in a real browser: a server on a free port, a fresh folder of results, and a page
whose console and requests are kept.

Without a browser these tests are left out and say so; with LINESIM_BROWSER=required they fail.
"""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Generator, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

TOP = Path(__file__).parents[2]
BROWSERS = ("chromium", "chromium-browser", "google-chrome")
SETTLED = '[data-testid="stApp"][data-test-script-state="notRunning"]'
OF_A_PAGE_OPENED_DIRECTLY = ("/_stcore/health", "/_stcore/host-config")  # asked for below the page's own address first
PATIENCE = 90_000  # ms
DRAWN_ANEW = """window.drawn = 0; new MutationObserver(changes => { for (const one of changes)
  if (one.oldValue !== "notRunning" && one.target.getAttribute(one.attributeName) === "notRunning") window.drawn += 1;
}).observe(document, {subtree: true, attributeFilter: ["data-test-script-state"], attributeOldValue: true})"""
A_MOMENT = 15_000  # ms; a drawing too short to be seen costs that much
FAILED = pytest.StashKey[bool]()


def browser_program() -> str:
    """The browser of this machine."""
    found = next((path for name in BROWSERS if (path := shutil.which(name))), None)
    if found is None:
        if os.environ.get("LINESIM_BROWSER") == "required":
            pytest.fail("no chromium is installed, and LINESIM_BROWSER=required")
        pytest.skip("no chromium is installed")
    return found


class Served:
    """The app, served to this machine; it can be killed and served again at the same address."""

    def __init__(self, results: Path) -> None:
        self.results = results
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.address = f"http://127.0.0.1:{self.port}"
        self.start()

    def start(self) -> None:
        """Serve, and wait until it answers."""
        self._process = subprocess.Popen(
            [sys.executable, "-m", "streamlit", "run", "app.py", "--server.port", str(self.port)], cwd=TOP,
            env={**os.environ, "LINESIM_RESULTS": str(self.results), "PYTHONPATH": str(TOP)},
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        last = time.monotonic() + PATIENCE / 1000
        while not self._answers():
            assert time.monotonic() < last
            assert self._process.poll() is None
            time.sleep(0.1)

    def kill(self) -> None:
        """End it at once, as a crash would."""
        self._process.kill()
        self._process.wait()

    def _answers(self) -> bool:
        try:
            with urllib.request.urlopen(f"{self.address}/_stcore/health", timeout=2) as answer:
                return bool(answer.status == 200)
        except OSError:
            return False


@dataclass
class Seen:
    """A page of the browser, with what its console said and what it asked of other hosts."""

    page: Any
    address: str
    errors: list[str] = field(default_factory=list)
    outside: list[str] = field(default_factory=list)
    actions: int = 0

    def open(self, path: str = "/") -> None:
        """Open an address of the app."""
        self.page.goto(self.address + path)
        self.page.wait_for_function("window.drawn > 0", timeout=PATIENCE)
        self.settle()

    def settle(self) -> None:
        """Wait until the page is drawn."""
        self.page.wait_for_selector(SETTLED, timeout=PATIENCE)
        self.page.wait_for_function("!document.querySelector('[data-testid=\"stSkeleton\"]')", timeout=PATIENCE)

    @contextmanager
    def drawn_anew(self) -> Iterator[None]:
        """What is done within has the page drawn anew, and that is waited for: just after a click the page of before
        still stands there, settled, and would take what comes next."""
        self.settle()  # what meets the page being drawn is lost
        from playwright.sync_api import TimeoutError as NotSeen

        self.page.evaluate("window.drawn = 0")
        yield
        with suppress(NotSeen):
            self.page.wait_for_function("window.drawn > 0", timeout=A_MOMENT)
        self.settle()

    def press(self, name: str) -> None:
        """Press a button that has the page drawn anew; one action."""
        with self.drawn_anew():
            self.click(name)

    def click(self, name: str) -> None:
        """Click a button that only opens something or hands it out; one action."""
        self.actions += 1
        self.page.get_by_role("button", name=name, exact=True).click(timeout=PATIENCE)

    def go(self, name: str) -> None:
        """Follow a link to another page; one action."""
        self.actions += 1
        with self.drawn_anew():
            self.page.get_by_role("link", name=name).click(timeout=PATIENCE)

    def fill(self, label: str, text: str) -> None:
        """Type into a field and leave it; one action."""
        self.actions += 1
        field_ = self.page.get_by_label(label, exact=True)
        if field_.input_value(timeout=PATIENCE) == text:
            return
        with self.drawn_anew():
            field_.fill(text, timeout=PATIENCE)
            field_.press("Enter")

    def open_files(self, texts: dict[str, str]) -> None:
        """Open files together, at the side."""
        self.click("Open a file")
        with self.drawn_anew():
            self.page.locator('[data-testid="stFileUploader"] input[type="file"]').set_input_files([
                {"name": name, "mimeType": "text/plain", "buffer": text.encode()} for name, text in texts.items()])

    def says(self, text: str) -> None:
        """Wait until a text stands on the page."""
        self.page.get_by_text(text).first.wait_for(timeout=PATIENCE)

    def answer(self) -> str:
        """The answer sentence."""
        return str(self.page.locator("h1.say").inner_text(timeout=PATIENCE))


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """One browser for all tests of this process."""
    program = browser_program()
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        found = play.chromium.launch(executable_path=program)
        yield found
        found.close()


@pytest.fixture(scope="session")
def one_for_all(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The app, served once for tests that ask each for something else."""
    browser_program()
    app = Served(tmp_path_factory.mktemp("served") / "results")
    yield app
    app.kill()


@pytest.fixture
def served(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Served]:
    """The app with an empty folder of results; for tests that are marked `shared`, the one of all of them."""
    if request.node.get_closest_marker("shared"):
        yield request.getfixturevalue("one_for_all")
        return
    browser_program()
    app = Served(tmp_path / "results")
    yield app
    app.kill()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Remember that a test has failed, for what it looked at."""
    report = yield
    item.stash[FAILED] = item.stash.get(FAILED, False) or report.failed
    return report


@pytest.fixture
def look(served: Served, browser: Any, request: pytest.FixtureRequest) -> Iterator[Callable[..., Seen]]:
    """`look()`: a fresh page (another tab); `look(390, "dark")`: so wide, for a reader who has dark pages. When a test
    fails, what stood on its pages is told."""
    seen: list[Seen] = []

    def fresh(width: int = 1280, scheme: str = "light") -> Seen:
        page = browser.new_page(viewport={"width": width, "height": 1600}, color_scheme=scheme)
        one = Seen(page, served.address)
        page.on("console", lambda said: _hear(one, said))
        page.on("request", lambda asked: _outside(one, asked.url))
        page.add_init_script(DRAWN_ANEW)
        seen.append(one)
        return one

    yield fresh
    for one in seen:
        if request.node.stash.get(FAILED, False):
            print(f"{one.page.url}\n{one.page.locator('body').inner_text(timeout=PATIENCE)[:3000]}\n{one.errors}")
        one.page.close()
        assert one.outside == []


def _hear(seen: Seen, said: Any) -> None:
    if said.type == "error" and not str(said.location.get("url", "")).endswith(OF_A_PAGE_OPENED_DIRECTLY):
        seen.errors.append(said.text)


def _outside(seen: Seen, url: str) -> None:
    if not url.startswith((seen.address, seen.address.replace("http", "ws"), "data:", "blob:")):
        seen.outside.append(url)
