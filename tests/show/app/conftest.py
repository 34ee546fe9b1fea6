"""Pages drawn without a browser, each test session with a folder of results of its own."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from linesim.show.app.places import FILE, RESULTS
from linesim.show.app.wish import STARTED

SECONDS = 120.0  # after which a process that does not end is a failure of the test
Opened = Callable[..., AppTest]


@pytest.fixture
def results(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder of results."""
    monkeypatch.setenv(RESULTS, str(tmp_path / "results"))
    monkeypatch.delenv(FILE, raising=False)
    return tmp_path / "results"


@pytest.fixture(autouse=True)
def the_program_stays(monkeypatch: pytest.MonkeyPatch) -> None:
    """A page that is drawn makes its script the main module, which processes started later would begin with."""
    monkeypatch.setitem(sys.modules, "__main__", sys.modules["__main__"])


@pytest.fixture
def opened(results: Path) -> Iterator[Opened]:
    """`opened("rate", scenario="tiny", runs="4")`: the page of a module with that address, drawn once."""
    def open_page(module: str, **address: str) -> AppTest:
        app = AppTest.from_function(_script, kwargs={"module": module}, default_timeout=60)
        for name, value in {"scenario": "tiny", **address}.items():
            app.query_params[name] = value
        return app.run()

    yield open_page
    _wait()


@pytest.fixture
def finished() -> Callable[[AppTest], AppTest]:
    """`finished(app)`: presses the button that runs, waits for its process, draws the page again."""
    def finish(app: AppTest) -> AppTest:
        app.button(key="run").click().run()
        _wait()
        return app.run()

    return finish


@pytest.fixture
def text() -> Callable[[AppTest], str]:
    """All that stands on a page, as it is marked up."""
    return lambda app: "\n".join(one.proto.body for one in app.get("html"))


def _wait() -> None:
    last = time.monotonic() + SECONDS
    while any(one.poll() is None for one in STARTED):
        assert time.monotonic() < last
        time.sleep(0.05)
    STARTED.clear()


def _script(module: str) -> None:
    from linesim.show.app import main

    main.begin_page()
    main.draw(module)
