"""The page on dates: empty, asked, answered as the command answers, filtered at once, stale, and found by its link."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from linesim.show.commands import main

Opened, Finished, Text = Callable[..., AppTest], Callable[[AppTest], AppTest], Callable[[AppTest], str]
TINY = str(Path(__file__).parents[3] / "scenarios" / "tiny.yaml")


def cells(said: str) -> list[list[str]]:
    """The first table, cell by cell."""
    rows = re.findall(r"<tr>(.*?)</tr>", said[said.index("<tbody>"):said.index("</tbody>")])
    return [re.findall(r"<t[hd][^>]*>([^<]*)</t[hd]>", row) for row in rows]


def test_asked_answered_and_filtered_at_once(opened: Opened, finished: Finished, text: Text, results: Path,
                                             capsys: pytest.CaptureFixture[str]) -> None:
    """The dates of the command in the table; one aircraft, and only those in doubt, are shown without a run; another
    new order makes the numbers stale; the link brings the view back."""
    app = opened("dates", runs="30")
    assert "No run yet." in text(app)
    app = finished(app)
    assert not app.exception
    said = text(app)
    assert main(["dates", TINY, "--runs", "30", "--new", "--jobs", "1", "--out", str(results), "--json"]) == 0
    printed = capsys.readouterr()
    assert "All runs of 2 scenarios were there already." in printed.err
    numbers = json.loads(printed.out)
    assert f'<h1 class="say">{numbers["sentences"][0]}</h1>' in re.sub("</?b>", "", said)
    assert [row[:5] for row in cells(said)] == [
        [row["serial"], row["promised"], row["half by"], row["8 in 10 by"], row["19 in 20 by"]]
        for row in numbers["serials"]]
    new = numbers["new order"]
    assert f"<div class=\"v\">{new['safe to promise']}</div>" in said
    app.segmented_control(key="promise_with").set_value("19 in 20").run()
    assert f"<div class=\"v\">{new['19 in 20 by']}</div>" in text(app)
    app.selectbox(key="serial_of_dates").set_value("S2").run()
    assert '<h1 class="say">S2: half the runs deliver by' in text(app)
    assert [row[0] for row in cells(text(app))] == ["S2"]
    assert "Inputs have changed" not in text(app)
    app.selectbox(key="new_order").set_value("no new order").run()
    assert "Inputs have changed since these numbers were made." in text(app)
    again = text(opened("dates", runs="30", serial_of_dates="S3"))
    assert '<h1 class="say">S3: half the runs deliver by' in again
    assert "Inputs have changed" not in again
    assert "Since, d" not in again


def test_what_was_logged_is_compared(opened: Opened, finished: Finished, text: Text, results: Path) -> None:
    """A forecast that the command logged stands beside the dates of now: days moved since then."""
    assert main(["dates", TINY, "--runs", "30", "--log", "--jobs", "1", "--out", str(results)]) == 0
    log, = results.glob("*-forecasts.csv")
    rows = [line.split(",") for line in log.read_text(encoding="utf-8").splitlines()]
    eight = rows[0].index("eight")
    rows[1][eight] = str(date.fromisoformat(rows[1][eight]) - timedelta(days=3))
    log.write_text("".join(",".join(row) + "\n" for row in rows), encoding="utf-8")
    app = finished(opened("dates", runs="30", new_order="no new order"))
    said = text(app)
    assert "Since, d" in said
    assert cells(said)[0][5] == "+3"
    assert not app.exception


def test_too_few_runs_name_no_date(opened: Opened, finished: Finished, text: Text) -> None:
    """First and last run instead of percentiles, no date to promise, no chart, and it is said why."""
    app = finished(opened("dates", runs="2"))
    assert not app.exception
    said = text(app)
    assert "29 runs are needed" in said
    assert "First run" in said
    assert "8 in 10 by" not in said
    assert not app.get("vega_lite_chart")
    assert [one.label for one in app.get("download_button")] == ["Table, XLSX", "Table, CSV", "Report, HTML"]


def test_without_an_order_book(opened: Opened, finished: Finished, text: Text) -> None:
    """One sentence; no inputs about orders, nothing drawn."""
    app = finished(opened("dates", scenario="textbook-line", runs="1"))
    assert not app.exception
    assert "The scenario has no order book, so no aircraft has a date of its own." in text(app)
    assert "New order of" not in [one.label for one in app.selectbox]
    assert not app.get("vega_lite_chart")


def test_a_new_order_that_finds_no_slot_is_said(opened: Opened, finished: Finished, text: Text, results: Path) -> None:
    """The option and why; no traceback."""
    folder = results / "opened" / "12345678"
    folder.mkdir(parents=True)
    short = Path(TINY).read_text(encoding="utf-8")
    (folder / "short.yaml").write_text(re.sub(r"(?m)^end: .*$", "end: 2027-01-06", short))
    app = finished(opened("dates", scenario="short-12345678", runs="1"))
    assert "It could not be carried out: new: the next open launch slot" in text(app)
    assert not app.exception
