"""`linesim next` and `linesim log`: what is printed, drawn, kept and refused."""

from __future__ import annotations

import csv
import json
from datetime import datetime
from pathlib import Path

import pytest

from linesim.line.sheet import Sheet
from linesim.questions.forecast_log import TooFew
from linesim.scenario.reading import read_scenario
from linesim.show.asking import Where
from linesim.show.commands import main
from linesim.show.forecast_logging import add_forecast, log_path, read_log
from linesim.show.whole_files import FolderRefused

TINY = Path(__file__).parents[2] / "scenarios" / "tiny.yaml"
LINE = "\non_the_line: {csv: floor.csv}\n"
FLOOR = "serial,at,remaining_share\nS1,B,0.5\n"


def asked(capsys: pytest.CaptureFixture[str], folder: Path, *options: str, file: Path = TINY, runs: int = 30) -> str:
    assert main(["next", str(file), "--runs", str(runs), "--jobs", "1", "--out", str(folder), *options]) == 0
    return capsys.readouterr().out


def refused(capsys: pytest.CaptureFixture[str], *given: str) -> str:
    assert main(list(given)) == 2
    found = capsys.readouterr()
    assert found.out == ""
    assert "Traceback" not in found.err
    return " ".join(found.err.split())


@pytest.fixture
def on_the_floor(tmp_path: Path) -> Path:
    """Today's floor in a table beside the file."""
    file = tmp_path / "today.yaml"
    file.write_text(TINY.read_text() + LINE)
    (tmp_path / "floor.csv").write_text(FLOOR)
    return file


# next ----------------------------------------------------------------------------------------------------------------
def test_the_answer(capsys: pytest.CaptureFixture[str], tmp_path: Path, on_the_floor: Path) -> None:
    """Sentences, days, moves and people; the same numbers as JSON; nothing is wider than the screen or kept."""
    out = tmp_path / "out"
    text = asked(capsys, out, file=on_the_floor)
    numbers = json.loads(asked(capsys, out, "--json", file=on_the_floor))
    assert text.startswith("From 2027-01-04 to 2027-01-15 (10 work days) 8 in 10 runs reach, each count by itself:")
    assert "today's floor is what the file says under on_the_line (1 aircraft), on 2027-01-04" in " ".join(text.split())
    assert max(map(len, text.splitlines())) <= 88
    printed = [line.split() for line in text.splitlines() if line.startswith(("S1 ", "S2 ", "S3 "))]
    rows = [row for row in numbers["moves"] if row["runs"] >= 15]
    assert [(cells[0], cells[1]) for cells in printed] == [(row["serial"], row["to"]) for row in rows]
    assert [row["half by"] in cells for row, cells in zip(rows, printed, strict=True)] == [True] * len(rows)
    assert not out.exists()


def test_picture_and_page(capsys: pytest.CaptureFixture[str], tmp_path: Path, on_the_floor: Path) -> None:
    """Both are written, the page with its caution."""
    asked(capsys, tmp_path, "--picture", str(tmp_path / "n.svg"), "--page", str(tmp_path / "n.html"), file=on_the_floor)
    assert "no day is a trade short" in (tmp_path / "n.svg").read_text() or "Jobs wait for" in (
        tmp_path / "n.svg").read_text()
    page = (tmp_path / "n.html").read_text()
    assert "What moves, flies and is handed over" in page
    assert "Before this becomes a promise." in page


def test_decisions_and_recovery_are_kept_and_not_run_again(capsys: pytest.CaptureFixture[str], tmp_path: Path,
                                                           on_the_floor: Path) -> None:
    """One command answers all of it; the same command finds its runs there and says the same."""
    given = ("--decide", "--swap", "S2", "S3", "--recover", "S2", "--by", "2027-01-05", "--json")
    first = asked(capsys, tmp_path / "out", *given, file=on_the_floor)
    numbers = json.loads(first)
    assert [row["question"] for row in numbers["decisions"]["rows"]] == [
        "launch or hold", "lend", "Saturday or not", "swap"]
    assert {row["serial"] for row in numbers["decisions"]["named"]} == {"S2", "S3"}
    assert numbers["recover"]["tried"][0]["changes"] == []
    assert asked(capsys, tmp_path / "out", *given, file=on_the_floor) == first
    text = asked(capsys, tmp_path / "out", *given[:-1], file=on_the_floor)
    assert "S2 and S3 change places in the order book" in text
    assert "Today's plant delivers S2 by 2027-01-05 in" in " ".join(text.split())


def test_no_aircraft_whose_date_counts(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """An empty floor that is launched without a takt: it says so instead of trying anything."""
    text = asked(capsys, tmp_path / "out", "--decide", "--days", "2", file=TINY.with_name("textbook-line.yaml"), runs=2)
    assert "No decision was tried: no aircraft stands on the floor" in " ".join(text.split())
    assert "the floor is empty on 2027-01-01" in " ".join(text.split())
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(("options", "says"), [
    (("--days", "60"), "--days: the scenario has 40 work days from 2027-01-04 to 2027-02-26; found 60 asked for"),
    (("--days", "0"), "--days must be 1 to 60, found 0"),
    (("--recover", "S2"), "--recover SERIAL and --by DATE belong together"),
    (("--recover", "S2", "--by", "soon"), "--by needs a date like 2027-01-21, found 'soon'"),
    (("--recover", "S2", "--by", "2028-01-01"), "--by must be 2027-01-04 to 2027-02-26, found 2028-01-01"),
    (("--recover", "S7", "--by", "2027-01-21"), "--recover: the order book has no serial 'S7'"),
    (("--swap", "S2", "S9"), "unknown serial 'S9'"),
    (("--picture", "n.gif"), "--picture: n.gif: the name must end in")])
def test_options_that_make_no_sense(capsys: pytest.CaptureFixture[str], tmp_path: Path, options: tuple[str, ...],
                                    says: str) -> None:
    """One clear error each, before any run."""
    assert says in refused(capsys, "next", str(TINY), "--out", str(tmp_path), *options)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(("line", "says"), [
    ("{serial: S1, at: C}", "on_the_line"), ("{serial: S9, at: B}", "unknown serial 'S9'"),
    ("{serial: S1, at: B}, {serial: S2, at: B}", "B has 1 dock")])
def test_an_impossible_floor_is_a_fault_with_its_place(capsys: pytest.CaptureFixture[str], tmp_path: Path, line: str,
                                                       says: str) -> None:
    """File and line, place, and what is allowed."""
    file = tmp_path / "today.yaml"
    file.write_text(f"{TINY.read_text()}\non_the_line: [{line}]\n")
    told = refused(capsys, "next", str(file), "--out", str(tmp_path))
    assert f"{file}:" in told
    assert says in told


# log -----------------------------------------------------------------------------------------------------------------
def test_the_log_grows_only_where_it_is_asked_for(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Without --log nothing is added; `dates` and `next` add one row for each order, and keep those before."""
    given = [str(TINY), "--runs", "30", "--jobs", "1", "--out", str(tmp_path)]
    assert main(["dates", *given]) == 0
    assert not log_path(tmp_path, "tiny").exists()
    assert main(["dates", *given, "--log"]) == 0
    before = log_path(tmp_path, "tiny").read_text()
    assert "tiny-forecasts.csv" in capsys.readouterr().out
    assert main(["next", *given, "--log"]) == 0
    after = log_path(tmp_path, "tiny").read_text()
    assert after.startswith(before)
    assert [row["serial"] for row in csv.DictReader(after.splitlines())] == ["S1", "S2", "S3"] * 2


def keep(folder: Path, made: str, runs: int = 30) -> None:
    """Add what runs of the small plant say, as of a date."""
    from linesim.line.runs import run_many
    from linesim.measures.run import numbers_of

    scenario = read_scenario(str(TINY))
    done = [run for chunk in run_many(scenario, 1, range(runs), numbers_of) for run in chunk]
    add_forecast(Where("tiny", 1, 1, folder), Sheet(scenario), done, datetime.fromisoformat(made))


def test_what_was_said_and_how_it_came_out(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """By scenario file, by log and by folder alike; nothing moves between equal runs; actual dates are scored."""
    keep(tmp_path, "2027-01-04 08:00")
    keep(tmp_path, "2027-02-04 08:00")
    actual = tmp_path / "actual.csv"
    actual.write_text("serial,delivered\nS1,2027-01-20\nS2,\n")
    texts = []
    for named in (str(TINY), str(log_path(tmp_path, "tiny")), str(tmp_path)):
        assert main(["log", named, "--out", str(tmp_path), "--actual", str(actual)]) == 0
        texts.append(capsys.readouterr().out)
    assert texts[0] == texts[1] == texts[2]
    said = " ".join(texts[0].split())
    assert "2 forecasts from 2027-01-04 08:00:00 to 2027-02-04 08:00:00." in said
    assert "Since a month ago (2027-01-04 08:00:00) 0 of 3 aircraft have moved later and 0 earlier." in said
    assert max(map(len, texts[0].splitlines()[:-1])) <= 88  # the last line is a path
    assert main(["log", str(tmp_path), "--actual", str(actual), "--json"]) == 0
    score = json.loads(capsys.readouterr().out)["scores"][0]
    half = read_log(log_path(tmp_path, "tiny"))[0].half
    days = (datetime(2027, 1, 20) - datetime.fromisoformat(half)).days
    assert score["half by"] == {"loss, days": 0.5 * days, "came by then": 0, "of": 1}
    assert score["promises"]["kept"] == 0


def test_a_log_is_refused_where_it_is_none(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """What stands there is not touched; too few runs are no forecast; a missing log says how one is kept."""
    assert "no forecast is kept yet" in refused(capsys, "log", str(TINY), "--out", str(tmp_path))
    assert "needs exactly one log" in refused(capsys, "log", str(tmp_path))
    with pytest.raises(TooFew, match="from 29 runs on, found 5"):
        keep(tmp_path, "2027-01-04", runs=5)
    path = log_path(tmp_path, "tiny")
    path.write_text("my,own,table\n")
    with pytest.raises(FolderRefused, match="it is no log of forecasts"):
        keep(tmp_path, "2027-01-04")
    assert path.read_text() == "my,own,table\n"
    assert "it is no log of forecasts (line 1" in refused(capsys, "log", str(tmp_path))


def test_too_few_runs_add_nothing(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """The answer is given all the same, and says why."""
    assert main(["dates", str(TINY), "--runs", "5", "--jobs", "1", "--out", str(tmp_path), "--log"]) == 0
    assert "a forecast is kept from 29 runs on, found 5; nothing was added" in capsys.readouterr().err
    assert not log_path(tmp_path, "tiny").exists()


def test_a_wrong_table_of_actual_dates(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """The line and what is allowed; a file that is not there."""
    keep(tmp_path, "2027-01-04")
    actual = tmp_path / "actual.csv"
    actual.write_text("serial,delivered\nS1,late\n")
    told = refused(capsys, "log", str(tmp_path), "--actual", str(actual))
    assert "actual.csv: line 2, delivered: needs a date like 2027-01-21, found 'late'" in told
    assert "it cannot be read" in refused(capsys, "log", str(tmp_path), "--actual", str(tmp_path / "none.csv"))
