"""A wish is found again by what is asked, carried out step by step, and never by two processes."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from threading import Thread
from time import sleep

import pytest

from linesim.questions.rate_plans import plans_to_try
from linesim.scenario.reading import read_scenario
from linesim.show.app import work
from linesim.show.app.wish import (
    DONE,
    FAILED,
    RUNNING,
    STOPPED,
    WAITING,
    Progress,
    Wish,
    busy,
    found_in,
    progress_in,
    put_progress,
    put_wish,
    scenario_of,
    state_of,
    wish_in,
    wished,
)
from linesim.show.commands import main
from linesim.show.folder_lock import FolderLock
from linesim.show.run_folder import RunFolder

TINY = Path(__file__).parents[3] / "scenarios" / "tiny.yaml"


@pytest.fixture
def wish() -> Wish:
    """Two takts of the tiny plant."""
    return wished("rate", TINY, read_scenario(TINY), {"takts": "2,1"}, 3)


def test_the_same_question_has_the_same_folder(wish: Wish) -> None:
    """Neither the place nor the name of the file matters; whatever changes an answer does."""
    assert replace(wish, file="elsewhere.yaml", name="Another name").id == wish.id
    others = [replace(wish, runs=4), replace(wish, seed=2), replace(wish, options={"takts": "2"}),
              replace(wish, question="quarters"), replace(wish, changes=("trades.ASM.people.day=4",)),
              wished("rate", TINY, scenario_of(TINY, ["trades.ASM.people.day=4"]), {"takts": "2,1"}, 3)]
    assert len({wish.id, *(one.id for one in others)}) == 1 + len(others)


def test_what_is_asked_comes_back_from_its_folder(wish: Wish, tmp_path: Path) -> None:
    """Written and read; a file of another form is nothing."""
    put_wish(tmp_path / "one", wish)
    assert wish_in(tmp_path / "one") == wish
    (tmp_path / "one" / "wish.json").write_text('{"question": "rate"}')
    assert wish_in(tmp_path / "one") is None
    assert wish_in(tmp_path / "none") is None


def test_few_runs_first_then_more(wish: Wish) -> None:
    """First a few, then enough for a range, doubled until all."""
    assert work.steps_to(200, 1) == [1, 8, 30, 60, 120, 200]
    assert work.steps_to(30, 4) == [4, 8, 30]
    assert work.steps_to(2, 4) == [2]


def test_carried_out_it_is_the_answer_of_the_command(wish: Wish, tmp_path: Path,
                                                     capsys: pytest.CaptureFixture[str]) -> None:
    """The numbers are those that `linesim rate` gives; its runs are there already, and are not done again."""
    folder = wish.folder(tmp_path)
    put_wish(folder, wish)
    assert work.main(folder) == 0
    found = found_in(folder)
    assert found is not None
    assert state_of(folder) == Progress(DONE, 6, 6)
    capsys.readouterr()
    command = ["rate", str(TINY), "--takts", "2,1", "--runs", "3", "--jobs", "1", "--json", "--out", str(tmp_path)]
    assert main(command) == 0
    told = capsys.readouterr()
    assert json.loads(told.out) == found.numbers
    assert "All runs of 2 scenarios were there already." in told.err
    assert not found.outdated
    assert list(found.table("lost")["place"]) == ["A", "B"] * 2
    assert list(found.table("lost")["plan"]) == ["2", "2", "1", "1"]


def test_what_cannot_be_carried_out_says_why(wish: Wish, tmp_path: Path) -> None:
    """An option that is none, and a file that went away."""
    for bad, why in ((replace(wish, options={"takts": "soon"}), "takts: 'soon' is no takt"),
                     (replace(wish, file=str(tmp_path / "gone.yaml")), "gone.yaml")):
        put_wish(bad.folder(tmp_path), bad)
        assert work.main(bad.folder(tmp_path)) == 1
        progress = state_of(bad.folder(tmp_path))
        assert progress is not None
        assert progress.state == FAILED
        assert why in progress.why


def test_a_file_that_changed_meanwhile_is_not_answered_for_the_old_one(wish: Wish, tmp_path: Path) -> None:
    """What is asked is of the file as it was shown: another content under its name gives no number."""
    file = tmp_path / "mine.yaml"
    file.write_text(TINY.read_text().replace("hours: 8", "hours: 9"))
    changed = replace(wish, file=str(file))
    put_wish(changed.folder(tmp_path), changed)
    assert work.main(changed.folder(tmp_path)) == 1
    progress = state_of(changed.folder(tmp_path))
    assert progress is not None
    assert progress.why == "the file has changed since the button was pressed; press it again"
    assert found_in(changed.folder(tmp_path)) is None


def test_another_question_of_the_same_scenario_is_waited_for(wish: Wish, tmp_path: Path) -> None:
    """While its run folder is held, this waits; let go of, it goes on and answers."""
    folder = wish.folder(tmp_path)
    put_wish(folder, wish)
    slow, *_ = plans_to_try(read_scenario(TINY), [2.0, 1.0])
    with RunFolder(tmp_path, "tiny", slow.scenario, 1):
        thread = Thread(target=work.main, args=(folder,))
        thread.start()
        while (progress := progress_in(folder)) is None or progress.what != WAITING:
            assert thread.is_alive()
            sleep(0.02)
    thread.join()
    assert found_in(folder) is not None


def test_a_process_that_ended_without_a_word_is_stopped(wish: Wish, tmp_path: Path) -> None:
    """While its lock is held it runs; let go of by a kill, it is stopped with what was done."""
    folder = wish.folder(tmp_path)
    put_wish(folder, wish)
    put_progress(folder, Progress(RUNNING, 2, 6, 9.0))
    lock = FolderLock(folder)
    assert state_of(folder) == Progress(RUNNING, 2, 6, 9.0)
    assert busy(folder)
    lock.release()
    assert state_of(folder) == Progress(STOPPED, 2, 6)
    assert state_of(tmp_path / "asked" / "none") is None


def test_one_process_at_a_time(wish: Wish, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The second leaves everything as it is."""
    monkeypatch.setattr(work, "PATIENCE", 0.1)
    folder = wish.folder(tmp_path)
    put_wish(folder, wish)
    lock = FolderLock(folder)
    assert work.main(folder) == 0
    lock.release()
    assert progress_in(folder) is None
    assert found_in(folder) is None
