"""What averages alone say of the draft: the load of every place on paper, and the answer sentence of the page."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from ....line.sheet import Sheet
from ....questions.on_paper import FULL, loads_on_paper
from ....scenario.scenario import Scenario
from ... import words
from ...report.blocks import Table
from .papers import Papers, read

NEARLY = 0.9
MOST_NAMED = 4  # places and trades in the answer


@dataclass(frozen=True, slots=True)
class PlaceLoad:
    """The load of a place on paper (None: more than can be said), and in a sentence what it is made of."""

    place: str
    share: float | None
    sentence: str

    @property
    def over(self) -> bool:
        """Whether more is asked of it than there is time."""
        return self.share is None or self.share > FULL


@dataclass(frozen=True, slots=True, eq=False)
class Paper:
    """The paper arithmetic of a draft that can run; `numbers` is None where no launch is planned ahead."""

    scenario: Scenario
    sheet: Sheet
    numbers: dict[str, Any] | None
    places: tuple[PlaceLoad, ...]


@lru_cache(maxsize=8)
def on_paper(papers: Papers) -> Paper | None:
    """The loads of the papers; None where they have faults."""
    scenario = read(papers).scenario
    if scenario is None:
        return None
    sheet = Sheet(scenario)
    numbers = loads_on_paper(sheet)
    return Paper(scenario, sheet, numbers, () if numbers is None else tuple(map(_load, numbers["places"])))


def _load(row: dict[str, Any]) -> PlaceLoad:
    """The fuller of two: stays against dock days, and the longest chain of work against the takt of its docks."""
    chain, load = row["critical path over takt"], row["load"]
    share = None if load is None else max(load, chain or 0.0)
    said = [f"{row['place']}: stays take {words.percent(load) if load is not None else 'more than all'} of its dock "
            "days on paper"]
    if chain is not None:
        said.append(f"its longest chain of work takes {words.percent(chain)} of the takt")
    said.append(f"fullest in {row['fullest month']}" + (
        "" if row["load in it"] is None else f", {words.percent(row['load in it'])}"))
    return PlaceLoad(row["place"], share, f"{'; '.join(said)}.")


def answer(papers: Papers) -> tuple[str, list[str]]:
    """The first sentence of the page, and those below it."""
    paper = on_paper(papers)
    if paper is None:
        count = len(read(papers).faults)
        return f"This file cannot run: {words.counted(count, 'fault')}.", []
    sizes = _sizes(paper.scenario)
    if paper.numbers is None:
        return f"{sizes} No launch is planned ahead here, so nothing can be said on paper.", []
    takt = paper.numbers["takt, work days"]
    at = f"At takt {takt:g}" if takt else "As it is launched"
    over = [load for load in paper.places if load.over]
    crews = [row for row in paper.numbers["trades"] if row["load"] is None or row["load"] > FULL]
    if over or crews:
        names = [load.place for load in over] + [str(row["trade"]) for row in crews]
        if len(names) > MOST_NAMED:
            names = [*names[:MOST_NAMED - 1], f"{len(names) - MOST_NAMED + 1} more"]
        return f"{sizes} {at}, {words.listed(names)} {'is' if len(names) == 1 else 'are'} over on paper.", \
            _would_change(paper.numbers, crews)
    fullest = max((load.share or 0.0 for load in paper.places), default=0.0)
    below = f"every load is under {words.percent(NEARLY)}" if fullest < NEARLY else \
        f"the fullest place is at {words.percent(fullest)}"
    return f"{sizes} {at}, {below}: nothing looks wrong on paper.", [
        *_fullest_month(paper.numbers),
        "Paper counts averages. The runs show what variation and shared people make of it."]


def _would_change(numbers: dict[str, Any], crews: list[dict[str, Any]]) -> list[str]:
    """What would change it; of a trade that is over at the takt and not over the whole run, what is asked of it."""
    said = list(numbers["what would change it"])
    more = [row for row in crews if not any(one.startswith(f"{row['trade']}: ") for one in said)]
    return said + [f"{row['trade']}: {words.percent(row['load'])} of its hours are asked for at the takt."
                   for row in more if row["load"] is not None]


def _fullest_month(numbers: dict[str, Any]) -> list[str]:
    """The month that asks most of a place or trade, where that is more than there is."""
    rows = [(row["load in it"], row.get("place") or row.get("trade"), row["fullest month"])
            for row in (*numbers["places"], *numbers["trades"]) if row["load in it"] is not None]
    most, name, month = max(rows, default=(0.0, "", ""))
    if most <= FULL:
        return []
    return [f"Not in every month: in {month} more is asked of {name} than there is, {words.percent(most)} of its time."]


def _sizes(scenario: Scenario) -> str:
    ordered = "orders without end" if scenario.orders is None else words.counted(
        len(scenario.orders), "aircraft", "aircraft")
    return (f"{words.counted(len(scenario.positions), 'position')}, {words.counted(len(scenario.trades), 'trade')}, "
            f"{ordered}.")


def trades_table(paper: Paper) -> Table | None:
    """Hours and loads of the trades on paper, the fullest first; None without a plan."""
    if paper.numbers is None:
        return None
    rows = tuple((row["trade"], "" if row["hours per aircraft"] is None else f"{row['hours per aircraft']:.1f}",
                  _cell(row["load"]), row["fullest month"], _cell(row["load in it"]))
                 for row in paper.numbers["trades"])
    return Table("Hours asked for against hours on shift; no absence, waiting or variation.",
                 ("Trade", "Hours per aircraft", "Load at the takt", "Fullest month", "Load in it"), rows)


def places_table(paper: Paper) -> Table | None:
    """Loads of the places on paper, in the order of the file: the picture as a table; None without a plan."""
    if paper.numbers is None:
        return None
    rows = tuple((row["place"], str(row["docks"]), f"{row['shortest stay, work days']:.1f}",
                  "" if row["critical path over takt"] is None else words.percent(row["critical path over takt"]),
                  _cell(row["load"]), row["fullest month"], _cell(row["load in it"]))
                 for row in paper.numbers["places"])
    return Table("Stay, chain of work and load of each place, averages only.",
                 ("Place", "Docks", "Shortest stay, d", "Chain of takt", "Load of docks", "Fullest month",
                  "Load in it"), rows)


def _cell(share: float | None) -> str:
    return "nobody" if share is None else words.percent(share)
