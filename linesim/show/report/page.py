"""The report as one HTML file: answers, how far to trust them, one section for each question, the floor, the input."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

import pandas as pd
from jinja2 import Environment, PackageLoader
from markupsafe import Markup, escape

from ...line.sheet import Sheet
from ...measures.run import RunNumbers
from ...questions.baseline import LEAST_RUNS, Answer
from ...questions.proof.summary import summary
from ...scenario.scenario import Scenario
from .. import words
from ..folder import tables_of_runs
from ..folder_check import Identity
from ..palette import DARK, FONTS, LIGHT, variables
from ..unbroken import unbroken
from ..whole_files import write_whole
from . import tables as set_tables
from .again import made_again
from .blocks import Section, Table
from .files import write_figures
from .floors import floor_section, floor_style
from .losses import tried_in
from .sections import Given, sections
from .soon import soon_section

FILE = "report.html"


def write_report(folder: Path, sheet: Sheet, runs: Sequence[RunNumbers], answer: Answer) -> None:
    """Write the page and its figures into a run folder; the page comes last, whole or not at all."""
    numbers = {**answer.numbers, "sentences": answer.sentences}
    put(folder, sheet, tables_of_runs(sheet, runs), numbers, datetime.now().strftime("%Y-%m-%d %H:%M"))


def put(folder: Path, sheet: Sheet, tables: Mapping[str, pd.DataFrame], numbers: Mapping[str, Any], made: str) -> Path:
    """Write figures and page; gives the path of the page."""
    numbers = {**numbers, "changes tried": tried_in(folder, sheet.scenario, numbers["seed"])}
    found = sections_of(sheet, tables, numbers)
    text = page_of(sheet, found, numbers, made)
    write_figures(folder, found)
    write_whole(folder / FILE, text.encode())
    return folder / FILE


def report_html(sheet: Sheet, tables: Mapping[str, pd.DataFrame], numbers: Mapping[str, Any], made: str) -> str:
    """The page alone. `tables` are those of a run folder, `numbers` the answer as `--json` prints it (with
    `sentences`), `made` the moment of the run as text."""
    return page_of(sheet, sections_of(sheet, tables, numbers), numbers, made)


def sections_of(sheet: Sheet, tables: Mapping[str, pd.DataFrame], numbers: Mapping[str, Any]) -> list[Section]:
    """All sections, the floor last. Those of runs made again are left out where these are others than the kept ones."""
    one_run = made_again(sheet, numbers["seed"], tables)
    found = sections(Given(sheet, tables, numbers))
    if one_run is None:
        return found
    soon = soon_section(sheet, numbers["seed"], numbers["runs"])
    floor = floor_section(sheet, one_run) if one_run.moments else None
    return [*found, *(one for one in (soon, floor) if one is not None)]


def page_of(sheet: Sheet, found: Sequence[Section], numbers: Mapping[str, Any], made: str) -> str:
    """The sections as one page."""
    identity = Identity.of(sheet.scenario, numbers["seed"])
    first, *_ = numbers["sentences"]
    environment = Environment(loader=PackageLoader("linesim.show.report", ""), autoescape=True, trim_blocks=True,
                              finalize=unbroken)
    scenario = sheet.scenario
    return environment.get_template("page.html").render(
        title=escape(f"{scenario.name}: {first}"),  # what is ready to be set stays without marks
        name=scenario.name, first=first, about=scenario.about, invented=scenario.invented, style=Markup(style()),
        came_from=words.came_from(scenario.name, identity.digest[:8], numbers["runs"], numbers["seed"], made),
        answers=[(one.question, one.key, one.answer) for one in found if one.key in ANSWERS],
        stuck=numbers["never moving on"], believe=words.PAGES["believe"], trust=trust(numbers),
        lists=lists(sheet.scenario, numbers), sections=found, plant=plant(sheet), plant_tables=plant_tables(sheet),
        as_run=Markup(escape(identity.as_run.decode())), aid=words.AID)


LEFT_OUT = " is declared and not in these numbers"
ANSWERS = ("rate", "quarters", "dates", "late", "crew")


def style() -> str:
    """The rules of the page: light, dark on a dark screen, always light on paper."""
    rules = (Path(__file__).parent / "page.css").read_text(encoding="utf-8")
    fonts = ",".join(f"'{font}'" if " " in font else font for font in FONTS)
    return (f":root{{{variables(LIGHT)}font-family:{fonts}}}@media screen and (prefers-color-scheme:dark){{:root{{"
            f"{variables(DARK)}}}}}{rules}{floor_style()}")


def trust(numbers: Mapping[str, Any]) -> list[str]:
    """What the ranges mean and from how many runs they come."""
    number = numbers["runs"]
    said = [f"{words.runs(number).capitalize()} of the same plant, each with other luck in hours, people, parts, "
            f"weather and squawks. Every range is the spread of these runs, and holds only {words.IF_RIGHT}."]
    if number < LEAST_RUNS:
        said.append(f"Too few runs for an 8-in-10 range; {LEAST_RUNS} are needed. Ranges here are the least and the "
                    "most of them.")
    said.append("Counts are read as at least, dates as by. An interval of the mean says how well these runs know the "
                "mean, not how far one year may be from it.")
    proved = summary()
    if proved is not None:
        said.append(f"The program itself: {proved['sentences'][0]} The command linesim proof makes that table anew.")
    if numbers.get("stopped"):
        said.append(f"Stopped at {words.runs(number)}; these are kept.")
    return said


def lists(scenario: Scenario, numbers: Mapping[str, Any]) -> list[tuple[str, list[str]]]:
    """What is assumed, what is left out, what to look at."""
    assumed = [words.sentence(text) for text in scenario.assumed]
    prefix = "assumed, not from the plant's records: "
    every = [str(text) for text in numbers["cautions"] if prefix not in text]
    out = [words.sentence(left_out(text)) for text in every if LEFT_OUT in text]
    look = [words.sentence(text) for text in every if LEFT_OUT not in text]
    return [("Assumed, not from the plant's records", assumed), ("Declared in the file, and not in these numbers", out),
            ("What to look at", look)]


def left_out(caution: str) -> str:
    """`place: absence 3% is declared and ...` as `absence 3% (place)`."""
    place, _, what = caution.partition(": ")
    return f"{what.removesuffix(LEFT_OUT).strip(' ,')} ({place})"


def plant(sheet: Sheet) -> list[str]:
    """The scenario in a few sentences."""
    scenario = sheet.scenario
    launches = scenario.launches
    said = [f"{scenario.name}, {scenario.start} to {scenario.end}."]
    if launches.takt_work_days:
        steps = "".join(f", from {step.day} every {step.takt_work_days:g}" for step in launches.steps)
        said.append(f"A launch every {launches.takt_work_days:g} work days{steps}.")
    promised = sorted(order.promised for order in scenario.orders or () if order.promised)
    if promised:
        said.append(words.sentence(set_tables.promises_of(promised[0], promised[-1], len(promised))))
    if scenario.on_the_line:
        said.append(f"{words.counted(len(scenario.on_the_line), 'aircraft', 'aircraft')} on the floor at the start.")
    return [" ".join(said)]


def plant_tables(sheet: Sheet) -> list[Table]:
    """People and places as declared."""
    found = [set_tables.people_of(sheet), set_tables.places_of(sheet)]
    return [table for table in found if table.rows]

