"""Words and number forms: one form for one thing, and nothing small is called nothing."""

from __future__ import annotations

from datetime import date

import pytest

from linesim.show import words


@pytest.mark.parametrize(("value", "said"), [
    (4.66, "4.7"), (0.0, "0.0"), (0.04, "0.04"), (-0.04, "−0.04"), (-0.001, "0.00"), (1234.56, "1,234.6"),
    (-2.0, "−2.0")])
def test_tenths(value: float, said: str) -> None:
    """One decimal, a true minus; two decimals under a tenth."""
    assert words.tenths(value) == said


@pytest.mark.parametrize(("value", "said"), [(99.94, "99.9"), (100.4, "100"), (1897.3, "1,897"), (0.0, "0.0")])
def test_hours_are_whole_over_a_hundred(value: float, said: str) -> None:
    """0.1 up to 100, then whole."""
    assert words.hours(value) == said


@pytest.mark.parametrize(("share", "said"), [
    (0.24, "24\u202f%"), (0.004, "under 1\u202f%"), (0.0, "0\u202f%"), (1.0, "100\u202f%")])
def test_percent(share: float, said: str) -> None:
    """A thin space before the sign; what is there but small is never 0 %."""
    assert words.percent(share) == said


@pytest.mark.parametrize(("value", "digits", "said"), [
    (0.24, 1, "+0.2"), (-3.0, 0, "−3"), (0.0, 0, "0"), (0.04, 1, "0.0"), (-0.04, 1, "0.0")])
def test_differences_have_their_sign(value: float, digits: int, said: str) -> None:
    """Plus or minus always; nought has none."""
    assert words.difference(value, digits) == said


@pytest.mark.parametrize(("value", "table", "said"), [
    (31_200_000, False, "$31.2\u202fM"), (707_500, False, "$707,500"), (31_200_000, True, "$31,200,000"),
    (-5e6, False, "−$5.0\u202fM")])
def test_money(value: float, table: bool, said: str) -> None:
    """Millions in a sentence, all digits in a table."""
    assert words.money(value, table=table) == said


@pytest.mark.parametrize(("kept", "of", "said"), [
    (0, 200, "none of 200 runs"), (7, 200, "fewer than 1 in 20"), (60, 200, "3 in 10"), (23, 30, "7 in 10"),
    (195, 200, "more than 19 in 20"), (200, 200, "all 200 runs"), (1, 4, "1 of 4 runs"), (1, 1, "1 of 1 run")])
def test_chance(kept: int, of: int, said: str) -> None:
    """From the true count; under ten runs the count itself, because a tenth of 4 runs is nothing."""
    assert words.chance(kept, of) == said


def test_a_chance_as_subject_names_the_runs_once() -> None:
    """Never "none of 200 runs runs"."""
    assert words.share_of_runs(0, 200) == "none of 200 runs"
    assert words.share_of_runs(60, 200) == "3 in 10 runs"
    assert words.share_of_runs(1, 1) == "1 of 1 run"


def test_days_read_as_dates() -> None:
    """Days since the start; not reached is after the end; unknown is empty."""
    start = date(2027, 1, 4)
    assert words.day(start, 0.0) == "2027-01-04"
    assert words.day(start, 31.0) == "2027-02-04"
    assert words.day(start, float("inf"), "2029-03-31") == "after 2029-03-31"
    assert words.day(start, float("nan")) == ""


def test_neighbours_are_drawn_together() -> None:
    """Three or more in a row are a stretch; two are named."""
    names = [f"S{n}" for n in range(9)]
    assert words.stretches(names, [0, 1, 3, 4, 5, 8]) == ["S0", "S1", "S3 to S5", "S8"]
    assert words.stretches(names, []) == []
    assert words.listed(["A", "B", "C"]) == "A, B and C"


def test_where_numbers_came_from() -> None:
    """Scenario, file, runs, seed, moment."""
    assert words.came_from("Tiny", "4f2a91c0", 1, 7, "2027-01-04 08:40") == \
        "Tiny · file 4f2a91c0 · 1 run · seed 7 · run 2027-01-04 08:40"
