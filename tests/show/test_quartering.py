"""`linesim quarters`: what is printed stands in the numbers, its runs are those of `linesim run`, and it draws."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from linesim.questions.quarter_words import amount
from linesim.show.commands import main

SCENARIOS = Path(__file__).parents[2] / "scenarios"
DEMO, TINY = str(SCENARIOS / "birchwater.yaml"), str(SCENARIOS / "tiny.yaml")


@pytest.fixture(scope="module")
def results(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two runs of the demo as `linesim run` keeps them."""
    folder = tmp_path_factory.mktemp("results")
    assert main(["run", DEMO, "--runs", "2", "--jobs", "1", "--no-report", "--out", str(folder)]) == 0
    return folder


def asked(capsys: pytest.CaptureFixture[str], results: Path, *options: str) -> tuple[str, str]:
    capsys.readouterr()
    assert main(["quarters", DEMO, "--runs", "2", "--jobs", "1", "--out", str(results), *options]) == 0
    found = capsys.readouterr()
    return found.out, found.err


def numbers_of(capsys: pytest.CaptureFixture[str], results: Path, *options: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(asked(capsys, results, "--json", *options)[0])
    return found


def test_no_run_is_done_twice_and_the_counts_are_the_same(capsys: pytest.CaptureFixture[str], results: Path) -> None:
    """The runs of `run` are taken from their folder; the counts differ by 0."""
    capsys.readouterr()
    main(["run", DEMO, "--runs", "2", "--jobs", "1", "--no-report", "--out", str(results), "--json"])
    theirs = json.loads(capsys.readouterr().out)
    out, err = asked(capsys, results, "--json")
    ours = json.loads(out)
    assert "All runs of 1 scenario were there already." in err
    for name in ("deliveries in the window", "quarters"):
        assert ours[name] == theirs[name]


def test_every_printed_amount_is_a_number_of_the_answer(capsys: pytest.CaptureFixture[str], results: Path) -> None:
    """The rows of cash, of value and of revenue, in millions; months and the window."""
    text, _ = asked(capsys, results)
    money = numbers_of(capsys, results)["money"]
    lines = [line.replace("−", "-").split() for line in text.splitlines()]
    cash, of_window = money["cash"]["by month"], money["cash"]["in the window"]
    kinds = [kind for kind in of_window if kind != "net"]
    printed = [line for line in lines if len(line) == 8 and (line[0] in cash or line[0] == "window")]
    assert len(printed) == 13
    for line in printed:
        row = cash.get(line[0], of_window)
        said = dict(zip(("balances at acceptance", "late concessions", "bought-out material", "other material", "wages",
                         "fixed cost"), map(float, line[1:7]), strict=True))
        assert said == {kind: pytest.approx(row[kind] / 1e6, abs=0.0051) for kind in kinds}
        assert float(line[7]) == pytest.approx(row["net"]["mean"] / 1e6, abs=0.0051)
    value = money["value in the plant"]["at the end of"]
    stood = {line[0]: float(line[1]) for line in lines if len(line) == 2 and line[0] in value}
    assert stood == {month: pytest.approx(row["mean"] / 1e6, abs=0.0051) for month, row in value.items()}
    by_month = {line[0]: float(line[-1]) for line in lines if len(line) == 7 and line[0] in value and line[4] == "to"}
    assert by_month == {month: pytest.approx(row["mean"] / 1e6, abs=0.0051)
                        for month, row in money["revenue by month"].items()}
    revenue = {" ".join(line[:2]): float(line[2]) for line in lines if len(line) == 5 and line[1][:1] == "Q"}
    assert revenue == {name: pytest.approx(row["mean"] / 1e6, abs=0.0051)
                       for name, row in money["revenue by quarter"].items()}


def test_text_has_answer_counted_and_cautions(capsys: pytest.CaptureFixture[str], results: Path) -> None:
    """The sentence first, the words for what is left open, the promise and the quarter-end policy; 88 columns."""
    text, _ = asked(capsys, results, "--at-least", "40")
    assert text.startswith("2 runs deliver ")
    for part in ("At least 40:", "Counted  carrying cost", "Before this becomes a promise.", "no quarter-end policy",
                 "From 2 runs, seed 20270104, if the inputs are right."):
        assert part in text
    assert max(map(len, text.splitlines())) <= 88


def test_one_model_alone(capsys: pytest.CaptureFixture[str], results: Path) -> None:
    """Only its aircraft are counted; the money stays that of all."""
    all_of, one = numbers_of(capsys, results), numbers_of(capsys, results, "--model", "D4T")
    assert sum(one["deliveries in the window"]["each run"]) < sum(all_of["deliveries in the window"]["each run"])
    assert one["money"] == all_of["money"]


def test_pictures(capsys: pytest.CaptureFixture[str], results: Path, tmp_path: Path) -> None:
    """The deliveries, and the money beside them; the title is a finding of these runs."""
    numbers = numbers_of(capsys, results, "--picture", str(tmp_path / "q.svg"))
    assert numbers["pictures"] == [str(tmp_path / "q.svg"), str(tmp_path / "q-money.svg")]
    assert "2027 Q1" in (tmp_path / "q.svg").read_text(encoding="utf-8")
    drawn = (tmp_path / "q-money.svg").read_text(encoding="utf-8")
    assert "Cash" in drawn
    assert "In the plant at cost, USD million" in drawn
    assert "<title>Half the runs are" in drawn  # as every other figure in a file of its own
    numbers_of(capsys, results, "--picture", str(tmp_path / "q.svg"))
    assert (tmp_path / "q-money.svg").read_text(encoding="utf-8") == drawn


def test_without_money(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Aircraft only, and how to declare money; without a whole quarter in the window there is nothing to draw."""
    assert main(["quarters", TINY, "--runs", "2", "--jobs", "1", "--out", str(tmp_path), "--picture",
                 str(tmp_path / "q.png")]) == 0
    text = capsys.readouterr().out
    assert "Money is not declared" in text
    assert "Cash by month" not in text
    assert "2027 Q1 is not counted" in text
    assert not (tmp_path / "q.png").exists()


@pytest.mark.parametrize(("options", "message"), [
    (["--model", "D5"], "--model: no order is of model 'D5'; the order book has D4, D4T"),
    (["--picture", "q.bmp"], "--picture: q.bmp: the name must end in .svg or .png"),
    (["--at-least", "-1"], "--at-least must be 0 to 1000000, found -1"),
    (["--picture", "/no/such/folder/q.svg"], "it cannot be written (No such file or directory)")])
def test_wrong_options(capsys: pytest.CaptureFixture[str], results: Path, options: list[str], message: str) -> None:
    """One clear message, and nothing else."""
    capsys.readouterr()
    assert main(["quarters", DEMO, "--runs", "2", "--jobs", "1", "--out", str(results), *options]) == 2
    found = capsys.readouterr()
    assert message in found.err
    assert not found.out


@pytest.mark.parametrize(("value", "words"), [
    (31_240_000, "$31.2\u202fM"), (650_400, "$0.65\u202fM"), (9_500, "$9,500"), (-3_060_000, "−$3.1\u202fM"),
    (0, "$0")])
def test_amounts_in_words(value: float, words: str) -> None:
    """Digits by size; a true minus; another currency by its name; a difference with its sign."""
    assert amount(value) == words
    assert amount(2_000_000, "EUR", sign=True) == "+EUR 2.0\u202fM"
