"""How far the numbers can be trusted, laid out: the table of outside checks as it was kept, what a scenario assumes,
what is left out.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from ..line.cautions import cautions_of
from ..questions.inputs import inputs_of
from ..questions.proof.summary import sentences_of
from ..scenario.scenario import Scenario
from . import words
from .report.blocks import Table

NO_TABLE = ("The table of outside checks is not here. The command linesim proof --out results/proof.json makes it in a "
            "minute or two.")
OF_THE_PROGRAM = ("These checks are of the program. They cannot tell whether the inputs are those of your plant: every "
                  "range holds only if the inputs are right.")


def sentences(kept: Mapping[str, Any] | None, scenario: Scenario) -> list[str]:
    """Checks that hold, inputs that are assumed; `kept` is the table as `linesim proof --out` writes it."""
    count = len(scenario.assumed)
    own = (f"{words.counted(count, 'group')} of inputs of {scenario.name} {'is' if count == 1 else 'are'} assumed, not "
           "from a plant's records") if count else f"{scenario.name} names no input as assumed"
    invented = ["All data of this scenario are invented."] if scenario.invented else []
    if kept is None:
        return [f"{words.sentence(own)}", NO_TABLE, *invented, OF_THE_PROGRAM]
    of = kept["summary"]
    return [f"{of['hold']} of {of['checks']} checks against values from outside the engine hold; {own}.", *invented,
            OF_THE_PROGRAM, *sentences_of(of)[1:], *(words.sentence(f"left out: {one}") for one in
                                                     kept.get("left out", ()))]


def finding(kept: Mapping[str, Any]) -> tuple[str, str]:
    """How the checks with luck lie, and how the figure is read."""
    of = kept["summary"]
    return (f"{of['within 1']} of {of['random']} checks with luck lie within one standard error, {of['within 2']} "
            "within two",
            "Each stroke is a check whose result has luck; 0 is the value from outside. Luck alone puts 68 % within "
            f"one standard error and 95 % within two (dashed); beyond {of['band']:g} a check fails. Checks without "
            "luck must be exact and are not drawn.")


def subjects(kept: Mapping[str, Any]) -> Table:
    """Checks by subject."""
    rows = []
    for one in kept["summary"]["subjects"]:
        away = [abs(row["standard errors away"]) for row in kept["checks"]
                if row["subject"] == one["subject"] and row["standard errors away"] is not None]
        rows.append((one["subject"].capitalize(), words.count(one["checks"]), words.count(one["hold"]),
                     words.count(one["checks"] - len(away)), words.count(len(away)),
                     words.tenths(max(away)) if away else ""))
    return Table("Checks against values from outside, by subject. With luck: held against the outside value in "
                 "standard errors.", ("Subject", "Checks", "Hold", "Exact", "With luck", "Furthest, SE"), tuple(rows))


def checks(kept: Mapping[str, Any], subject: str | None = None) -> Table:
    """Each check of a subject, or all of them."""
    rows = [row for row in kept["checks"] if subject in (None, row["subject"])]
    return Table("Each check: what is expected from outside, what linesim gives, standard errors between the two.",
                 ("Check", "Expected", "Got", "SE away", "Verdict", "Source"), tuple(
                     (plainly(row["check"]), f"{row['expected']:.6g}",
                      "none" if row["got"] is None else f"{row['got']:.6g}",
                      "exact" if row["standard errors away"] is None else
                      words.difference(row["standard errors away"], 2),
                      "holds" if row["holds"] else "FAILS", row["source"]) for row in rows), fits=False)


def plainly(check: str) -> str:
    """The name of a check without the marks of the program: "crew {'crew_max': 3}" is "crew max 3"."""
    bare = re.sub(r"\bcrew \{'crew", "{'crew", check)
    bare = re.sub(r"\{([^{}]*)\}", lambda said: said[1].replace("'", "").replace(": ", " ").replace("_", " "), bare)
    bare = bare.replace("then [],", "then nobody more,")
    return re.sub(r"\[([^\[\]]*)\]", lambda found: found[1].replace("'", ""), bare).replace(" :", ":")


def quarters(kept: Mapping[str, Any]) -> Table | None:
    """The quarters of a year beside each other; None where the table has none."""
    rows = kept.get("beside, never asserted") or ()
    if not rows:
        return None
    return Table("Beside each other, never asserted: share of the year's deliveries by quarter, percent.",
                 ("Year", "Q1", "Q2", "Q3", "Q4", "Source"), tuple(
                     (row["year"], *("" if cell is None else words.tenths(cell) for cell in row["quarters"]),
                      row["source"]) for row in rows))


def lists(scenario: Scenario) -> list[tuple[str, list[str]]]:
    """What is assumed, what is declared and not in the numbers, what to look at."""
    from .report.page import lists as of_report

    return of_report(scenario, {"cautions": [str(one) for one in cautions_of(scenario)]})


def inputs(scenario: Scenario) -> Table:
    """Every value that the file gives."""
    rows: Sequence[Any] = inputs_of(scenario)
    return Table("Every input as run.", ("Path", "Value", "Unit", "Meaning"), tuple(
        (one.path, "" if one.value is None else str(one.value), one.unit, one.meaning) for one in rows))
