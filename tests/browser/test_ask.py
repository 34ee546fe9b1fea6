"""Asking a question in the browser, from the first page to a picture in the hand, and what survives a crash."""

from __future__ import annotations

import time
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

import openpyxl
import pytest

pytestmark = pytest.mark.browser
TINY = Path(__file__).parents[2] / "scenarios" / "tiny.yaml"


def test_ask_stop_go_on_share_and_hand_out(look: Callable[[], Any]) -> None:
    """The demo is opened, a rate changed, run, stopped and kept, run to the end; a link and a reload show the same; the
    picture and the workbook are had. At most 4 actions to the first answer, 2 from the answer to the picture."""
    one = look()
    one.open()
    assert one.answer().startswith("No run yet.")
    one.fill("Takts to try, work days", "5")
    one.fill("Runs", "12")
    one.press("Run 12")
    one.says("The numbers below are from")
    assert one.actions <= 4
    first = one.answer()
    assert "takt of 5 work days" in first
    one.press("Stop and keep")
    one.says("Stopped at ")
    stopped = one.page.get_by_text("Stopped at ").inner_text()
    kept = int(stopped.split()[2])
    assert 0 < kept < 12
    one.page.reload()
    one.settle()
    one.says(stopped)
    one.press(f"Run the other {12 - kept}")
    one.says("12 runs")
    one.page.get_by_role("button", name="Run 12", exact=True).wait_for(timeout=180_000)
    one.settle()  # a press that meets the page being drawn anew is lost
    answer, link = one.answer(), one.page.url.removeprefix(one.address)
    one.actions = 0
    with one.page.expect_download() as picture:
        one.click("Picture, SVG")
    assert one.actions <= 2
    assert "<svg" in Path(picture.value.path()).read_text()
    assert picture.value.suggested_filename.startswith("birchwater_rate_")
    with one.page.expect_download() as table:
        one.click("Table, XLSX")
    book = openpyxl.load_workbook(BytesIO(Path(table.value.path()).read_bytes()))
    about = {row[0].value: row[1].value for row in book["About"].iter_rows()}
    assert (about["Question"], about["Runs"]) == ("What rate can the line hold?", 12)
    other = look()
    other.open(link)
    assert other.answer() == answer
    other.fill("Takts to try, work days", "4.5")
    other.says("Inputs have changed since these numbers were made.")
    assert other.answer() == answer
    assert one.errors == []
    assert other.errors == []


def test_a_killed_server_loses_nothing(served: Any, look: Callable[[], Any]) -> None:
    """The server is killed during a run; served again, the run has gone on and its answer is there."""
    one = look()
    one.open("/quarters?scenario=birchwater&runs=12")
    one.press("Run 12")
    one.says("Stop and keep")
    served.kill()
    time.sleep(1)
    served.start()
    again = look()
    again.open("/quarters?scenario=birchwater&runs=12")
    again.page.get_by_role("button", name="Run 12", exact=True).wait_for(timeout=180_000)
    again.says("12 runs")
    assert "12 runs deliver" in again.answer() or "runs" in again.answer()
    assert again.errors == []


def test_a_broken_file_shows_its_faults_and_a_good_one_runs(look: Callable[[], Any]) -> None:
    """Opened at the side: faults with their places and no button; put right and opened with its table, it can be run,
    and the choice outlives the session."""
    one = look()
    one.open("/?scenario=tiny")
    text = TINY.read_text()
    a, rows = text.index("orders:"), "serial,promised\nS1,2027-01-07\nS2,2027-01-08\n"
    one.open_files({"mine.yaml": text.replace("takt_work_days: 1", "takt_work_days: soon")})
    one.says("This file cannot run: 1 fault.")
    one.says("mine.yaml:")
    assert one.page.get_by_role("button", name="Run", exact=False).count() == 0
    one.open_files({"mine.yaml": text[:a] + "orders: {csv: mine.csv}\n"})
    one.says("mine.csv")
    one.says("This file cannot run: ")
    one.open_files({"mine.yaml": text[:a] + "orders: {csv: mine.csv}\n", "mine.csv": rows})
    one.says("2 positions, 1 trade, 2 aircraft.")
    one.says("No run yet.")
    again = look()
    again.open("/")
    again.says("2 positions, 1 trade, 2 aircraft.")
    assert one.errors == []
    assert again.errors == []
