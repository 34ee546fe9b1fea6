"""Money in the section on quarters: the numbers of the answer, cell by cell, and its picture; nothing without money."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

import linesim
from linesim.measures.cash import KINDS
from linesim.show.report.money import money_parts
from linesim.show.words import MINUS

SCENARIOS = Path(__file__).parents[2] / "scenarios"


@pytest.fixture(scope="module")
def numbers() -> dict[str, Any]:
    """The answer of two runs of the demo."""
    return linesim.run(linesim.read(SCENARIOS / "birchwater.yaml"), runs=2).answer.numbers


def value(cell: str) -> float:
    return float(cell.replace(MINUS, "-").replace(",", ""))


def test_cells_are_the_numbers_of_the_answer(numbers: dict[str, Any]) -> None:
    """In millions, to two decimals: revenue, concessions and carrying cost, value in the plant, cash."""
    _, _, (revenue, plant, cash) = money_parts(numbers)
    money = numbers["money"]
    for name, mean, late, carrying in revenue.rows:
        whole = name == "window"
        sold = money["revenue in the window"] if whole else money["revenue by quarter"][name]
        assert value(mean) == pytest.approx(sold["mean"] / 1e6, abs=0.00501)
        for cell, of in ((late, "late concessions"), (carrying, "carrying cost")):
            row = money[of]["in the window"] if whole else money[of]["by quarter"][name]
            assert value(cell) == pytest.approx(row["mean"] / 1e6, abs=0.00501)
    assert [row[0] for row in plant.rows[:-1]] == list(money["value in the plant"]["at the end of"])
    for month, *cells, net in cash.rows:
        row = money["cash"]["in the window"] if month == "window" else money["cash"]["by month"][month]
        assert [value(cell) for cell in cells] == [pytest.approx(row[kind] / 1e6, abs=0.00501) for kind in KINDS]
        assert value(net) == pytest.approx(row["net"]["mean"] / 1e6, abs=0.00501)


def test_the_picture_says_when_cash_is_lowest(numbers: dict[str, Any]) -> None:
    """Its title names the month end at which least is left, of what it draws."""
    said, (shown,), _ = money_parts(numbers)
    left = {month: row["since the window began"]["mean"] for month, row in numbers["money"]["cash"]["by month"].items()}
    assert min(left.values()) < 0
    assert f"by the end of {min(left, key=lambda month: left[month])}" in shown.title
    assert len(said) == 2


def test_without_payments_and_without_money(numbers: dict[str, Any]) -> None:
    """No cash table where nothing says when money moves; nothing at all without money."""
    said, (shown,), tables = money_parts({**numbers, "money": {**numbers["money"], "cash": None}})
    assert (len(said), len(tables)) == (1, 2)
    assert "worth" in shown.title
    assert money_parts({**numbers, "money": None}) == ([], [], [])
