"""The log of forecasts: it keeps what was said, says what has moved, and scores it against planted dates by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from linesim.questions.forecast_log import Forecast, NotALog, as_text, pinball, read, read_actual, scores, since

ONE = Forecast("2027-01-04 08:00:00", "2027-01-04", "P", "0123abcd", 1, 100, "S1", "2027-02-01", 80, 100, "2027-01-28",
               "2027-02-01", "2027-02-10")
TWO = replace(ONE, serial="S2", promised="2027-02-05", kept=30, half="2027-02-08", eight="2027-02-12",
              nineteen="after 2027-02-28")


def test_a_log_comes_back_as_it_was_written() -> None:
    """Names with commas, too."""
    rows = [replace(ONE, scenario="Plant, new"), TWO]
    assert read(as_text(rows)) == rows


def test_what_has_moved() -> None:
    """Against the run before, and the last one a calendar month old, by the 8-in-10 date; unknown beyond the end."""
    month = replace(ONE, made="2027-01-10 09:00:00", eight="2027-01-30")
    before = replace(ONE, made="2027-02-09 09:00:00", eight="2027-02-04")
    now = replace(ONE, made="2027-02-12 09:00:00", eight="2027-02-03")
    found = since([ONE, TWO, month, before, now, replace(TWO, made=now.made)])
    assert (found["forecasts"], found["run before"], found["a month ago"]) == (4, before.made, month.made)
    first, second = found["serials"]
    assert first["days later than the run before"] == -1
    assert first["days later than a month ago"] == 4
    assert first["a month ago, 8 in 10 by"] == "2027-01-30"
    assert second["days later than the run before"] is None


def test_pinball_loss_by_hand() -> None:
    """Too late by 10 days costs the share, too early the rest; exact costs nothing."""
    said = date(2027, 2, 1)
    assert pinball(said, date(2027, 2, 11), 0.8) == pytest.approx(8)
    assert pinball(said, date(2027, 1, 22), 0.8) == pytest.approx(2)
    assert pinball(said, said, 0.5) == 0


def test_scores_of_planted_dates_by_hand() -> None:
    """S1 came on 2027-02-03, two days after its promise; S2 on 2027-02-05, its promise."""
    row, = scores([ONE, TWO], {"S1": date(2027, 2, 3), "S2": date(2027, 2, 5), "S9": date(2027, 2, 5)})
    assert row["aircraft"] == 2
    # half: S1 6 days late -> 3.0, S2 3 days early -> 1.5
    assert row["half by"] == {"loss, days": 2.25, "came by then": 1, "of": 2}
    # 8 in 10: S1 2 late -> 1.6, S2 7 early -> 1.4
    assert row["8 in 10 by"] == {"loss, days": 1.5, "came by then": 1, "of": 2}
    # 19 in 20: S1 7 early -> 0.35; that of S2 lies beyond the runs
    assert row["19 in 20 by"] == {"loss, days": 0.35, "came by then": 1, "of": 1}
    # (0.8 - 0)^2 and (0.3 - 1)^2
    assert row["promises"] == {"brier": round((0.64 + 0.49) / 2, 4), "of": 2, "kept": 1, "expected": 1.1}


def test_what_was_delivered_before_a_forecast_is_not_scored() -> None:
    """It was no forecast any more."""
    assert scores([ONE], {"S1": date(2027, 1, 3)}) == []


@pytest.mark.parametrize(("text", "says"), [
    ("a,b\n1,2\n", "line 1: the columns must be made,floor"),
    (as_text([ONE]).replace("2027-01-28", "soon"), "line 2: .*soon"),
    (as_text([ONE]).replace(",80,", ",many,"), "line 2: .*many")])
def test_a_log_that_is_none_is_refused_with_its_line(text: str, says: str) -> None:
    """Nothing is read off it."""
    with pytest.raises(NotALog, match=says):
        read(text)


def test_actual_dates() -> None:
    """A row without a date is not delivered yet; a wrong date and a serial that stands there twice say where."""
    assert read_actual("serial,delivered\nS1,2027-02-03\nS2,\n") == {"S1": date(2027, 2, 3)}
    with pytest.raises(NotALog, match=r"line 2, delivered: needs a date like 2027-01-21, found '3 Feb'"):
        read_actual("serial,delivered\nS1,3 Feb\n")
    with pytest.raises(NotALog, match="line 3, serial: 'S1' stands there twice"):
        read_actual("serial,delivered\nS1,2027-02-03\nS1,2027-02-04\n")
    with pytest.raises(NotALog, match="needs the columns serial and delivered, found serial,date"):
        read_actual("serial,date\n")
