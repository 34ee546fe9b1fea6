"""What the quarters bring and cost, in the section on quarters; nothing of a scenario that declares no money."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ...measures.cash import KINDS
from ...questions.quarter_words import million, money_sentences
from .. import words
from ..charts import quarters_money
from ..palette import LIGHT
from .blocks import Picture, Table, picture

REACH = (9, 8, 5, 1)


def money_parts(numbers: Mapping[str, Any]) -> tuple[list[str], list[Picture], list[Table]]:
    """Sentences, picture and tables."""
    money = numbers.get("money")
    if not money:
        return [], [], []
    shown = picture(quarters_money.plate(LIGHT, numbers), "quarters-money", quarters_money.finding(numbers))
    tables = [revenue(money), plant(money), *([cash(money)] if money["cash"] else [])]
    return money_sentences(numbers, money), [shown], tables


def revenue(money: Mapping[str, Any]) -> Table:
    """Revenue by quarter, with what lateness and capital cost."""
    few = "note" in money["revenue in the window"]
    rows = []
    for name, row in [*money["revenue by quarter"].items(), ("window", money["revenue in the window"])]:
        late, carrying = ((money[of]["in the window"] if name == "window" else money[of]["by quarter"][name])["mean"]
                          for of in ("late concessions", "carrying cost"))
        reach = [] if few else [million(row[f"{n} in 10 reach"]) for n in REACH]
        rows.append((name, million(row["mean"]), *reach, million(late), million(carrying)))
    return Table(f"Revenue by quarter, {money['currency']} million. "
                 f"{_how(money, 'revenue', 'late concessions', 'carrying cost')}",
                 ("Quarter", "Revenue, mean", *(() if few else tuple(f"{n} in 10 reach" for n in REACH)),
                  "Conceded, mean", "Carrying cost, mean"), tuple(rows), fits=few)


def plant(money: Mapping[str, Any]) -> Table:
    """Value of what stands in the plant at the ends of months."""
    value = money["value in the plant"]
    rows = []
    for month, row in [*value["at the end of"].items(), ("mean of the window", value["mean of the window"])]:
        span = ("", "", "") if "note" in row else tuple(
            million(row[name]) for name in ("half the runs", "8 in 10 runs from", "to"))
        rows.append((month, million(row["mean"]), *span))
    return Table(f"In the plant at the end of the month, {money['currency']} million. "
                 f"{_how(money, 'value in the plant')}",
                 ("Month", "Mean", "Half the runs", "8 in 10 from", "to"), tuple(rows))


def cash(money: Mapping[str, Any]) -> Table:
    """Cash by month, means by kind; they add up."""
    found = money["cash"]
    rows = [(month, *(million(row[kind]) for kind in KINDS), million(row["net"]["mean"]))
            for month, row in [*found["by month"].items(), ("window", found["in the window"])]]
    return Table(f"Cash by month, {money['currency']} million, mean of the runs; in above 0, out below 0. "
                 f"{_how(money, *KINDS)}",
                 ("Month", *(kind[:1].upper() + kind[1:] for kind in KINDS), "Net"), tuple(rows), fits=False)


def _how(money: Mapping[str, Any], *of: str) -> str:
    """How these are counted, in sentences."""
    counted = money["how it is counted"]
    return " ".join(words.sentence(f"{what}: {counted[what]}") for what in of if what in counted)
