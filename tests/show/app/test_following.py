"""A page that is drawn while a question is being answered."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from linesim.scenario.reading import read_scenario
from linesim.show.app import following, work
from linesim.show.app.wish import ANSWER, PROGRESS, RUNNING, Found, Progress, found_in, put_progress, put_wish, wished
from linesim.show.folder_lock import FolderLock

TINY = Path(__file__).parents[3] / "scenarios" / "tiny.yaml"
Opened, Text = Callable[..., AppTest], Callable[[AppTest], str]


@pytest.mark.parametrize("after", range(1, 3))
def test_what_ends_while_the_page_is_drawn_stands_there(opened: Opened, text: Text, results: Path, after: int,
                                                        monkeypatch: pytest.MonkeyPatch) -> None:
    """The question ends just after the page has looked for an answer, by itself or in what it looks at again and again:
    then the page is drawn with it, and does not say for ever that numbers will come."""
    wish = wished("rate", TINY, read_scenario(TINY), {"takts": "2,1"}, 3)
    folder = wish.folder(results)
    put_wish(folder, wish)
    assert work.main(folder) == 0
    ended = {file: file.read_bytes() for file in (folder / ANSWER, folder / PROGRESS)}
    (folder / ANSWER).unlink()
    put_progress(folder, Progress(RUNNING))
    lock, looks = FolderLock(folder), 0  # of the process that is at it

    def looked(where: Path) -> Found | None:
        nonlocal looks
        looks += 1
        found = found_in(where)
        if looks == after:
            for file, content in ended.items():
                file.write_bytes(content)
            lock.release()
        return found

    monkeypatch.setattr(following, "found_in", looked)
    app = opened("rate", runs="3", takts="2,1")
    if after > 1:  # the next look of the page at how far it is
        app = app.run()
    assert looks > after
    assert not app.exception
    assert "The first numbers come in" not in text(app)
    assert text(app).count("<table>") == 2
